import { z } from "zod";
import { HardstandError } from "../../../src/errors/index.ts";
import { legendAnswer, runStatus, runsAnswer, startedRun, startRunBody } from "../../../src/plan/http.ts";
import { cellAnswer, coverAnswer, REJECT_REASONS, rankAnswer } from "../../../src/plan/outputs/index.ts";
import { COLOR_TABLES, type ColorTable, legend, tableOfCover } from "../../../src/report/color-tables.ts";
import { REASON_UNKNOWN } from "../../engine.ts";
import type { StoredResult } from "../../storage/types.ts";
import type { Context } from "../context.ts";
import { sendEvents } from "../events.ts";
import { cellQuery, planId, runId, themeQuery, tileParams } from "../inputs.ts";
import { errorsOf } from "../openapi.ts";
import { type Route, route } from "../route.ts";
import { unknownCells } from "../tiles/unknown-cells.ts";
import { valueTile } from "../tiles/value-tiles.ts";

function noLayer(layer: string, has: string): HardstandError {
  return new HardstandError("http.not-found", "the run has no such layer", {
    where: "layer",
    received: layer,
    hint: `this run has the layer ${has}`,
  });
}

/** What a layer of a result paints. */
function layerOf(
  result: StoredResult,
  layer: string,
): { table: ColorTable; values: Float32Array; reasons: Uint8Array } {
  if (result.kind === "rank") {
    if (layer !== "score") throw noLayer(layer, "score");
    return { table: COLOR_TABLES.score, values: result.surface.scorePct, reasons: result.surface.reason };
  }
  if (layer !== "value") throw noLayer(layer, "value");
  return { table: tableOfCover(result.answer.what), values: result.values, reasons: unknownCells(result) };
}

/** Reasons that occur, in the order they are tested. */
function reasonsIn(reasons: Uint8Array): ((typeof REJECT_REASONS)[number] | "unknown")[] {
  const seen = new Uint8Array(256);
  for (let i = 0; i < reasons.length; i++) seen[reasons[i]!] = 1;
  return [
    ...REJECT_REASONS.filter((_, k) => seen[k + 1] === 1),
    ...(seen[REASON_UNKNOWN] === 1 ? ["unknown" as const] : []),
  ];
}

export function runRoutes(ctx: Context): Route[] {
  const { store, desk, queue, shelf, engine, gate } = ctx;
  return [
    route(
      {
        id: "startRun",
        method: "post",
        path: "/api/plans/{id}/runs",
        tag: "runs",
        summary: "Puts a ranking or a coverage computation of the plan as it now is into the queue",
        params: planId,
        body: startRunBody,
        answers: { 202: { description: "Queued", schema: startedRun }, ...errorsOf(400, 404, 422, 429, 507) },
      },
      async ({ params, body }) => {
        const { revision } = await store.plan(params.id);
        // A plan that cannot be loaded is told here, at the button, and not by a run that ends at once.
        const loaded = await desk.plan(params.id, revision);
        if (body.kind === "cover" && !loaded.plan.unit.services.some((service) => service.id === body.service))
          throw new HardstandError("plan.unknown-reference", "the plan has no such service", {
            where: "service",
            received: body.service,
            hint: `it has: ${loaded.plan.unit.services.map((service) => service.id).join(", ")}`,
          });
        const id = await queue.add(params.id, revision, body);
        return { status: 202, body: { runId: id }, headers: { Location: `/api/runs/${id}` } };
      },
    ),
    route(
      {
        id: "listRuns",
        method: "get",
        path: "/api/plans/{id}/runs",
        tag: "runs",
        summary: "Runs of a plan, newest first",
        params: planId,
        answers: { 200: { description: "Runs", schema: runsAnswer }, ...errorsOf(404) },
      },
      async ({ params }) => {
        const rows = await store.runs(params.id);
        const body = await Promise.all(
          rows.map(async (run) => ({
            runId: run.runId,
            kind: run.kind,
            // A cancel holds before it is stored.
            state: run.finishedAt === null ? (await queue.status(run.runId)).state : run.state,
            planRevision: run.planRevision,
            createdAt: run.createdAt,
            finishedAt: run.finishedAt,
            summary: run.summary,
          })),
        );
        return { body };
      },
    ),
    route(
      {
        id: "readRun",
        method: "get",
        path: "/api/runs/{id}",
        tag: "runs",
        summary: "Where a run stands",
        params: runId,
        answers: { 200: { description: "State and progress", schema: runStatus }, ...errorsOf(404) },
      },
      async ({ params }) => ({ body: await queue.status(params.id) }),
    ),
    route(
      {
        id: "followRun",
        method: "get",
        path: "/api/runs/{id}/events",
        tag: "runs",
        summary:
          "Server-sent events: `progress` and at last `end`, each with the whole state; resumes by Last-Event-ID",
        params: runId,
        headers: { "Last-Event-ID": "id of the last event that was seen" },
        answers: { 200: { description: "Event stream", type: "text/event-stream" }, ...errorsOf(404) },
      },
      async ({ params, req, res }) => {
        const status = await queue.status(params.id);
        sendEvents(req, res, queue.feed(params.id), status);
        return null;
      },
    ),
    route(
      {
        id: "cancelRun",
        method: "delete",
        path: "/api/runs/{id}",
        tag: "runs",
        summary: "Cancels a run; one that has ended stays as it is",
        params: runId,
        answers: { 202: { description: "The state that now holds", schema: runStatus }, ...errorsOf(404) },
      },
      async ({ params }) => ({ status: 202, body: await queue.cancel(params.id) }),
    ),
    route(
      {
        id: "readResult",
        method: "get",
        path: "/api/runs/{id}/result",
        tag: "runs",
        summary: "What `hardstand rank --json` or `hardstand cover --json` prints",
        params: runId,
        answers: {
          200: { description: "The answer", schema: z.union([rankAnswer, coverAnswer]) },
          ...errorsOf(404, 409),
        },
      },
      async ({ params }) => ({
        body: await store.answer(params.id),
        headers: { "Cache-Control": "private, no-cache" },
      }),
    ),
    route(
      {
        id: "runTile",
        method: "get",
        path: "/api/runs/{id}/tiles/{layer}/{z}/{x}/{y}.png",
        tag: "runs",
        summary: "Computed cells in their classes, 256 pixels; layer `score` of a ranking, `value` of a coverage",
        params: tileParams,
        query: themeQuery,
        answers: { 200: { description: "PNG", type: "image/png" }, ...errorsOf(400, 404, 409) },
      },
      async ({ params, query }) => {
        const result = await shelf.get(params.id);
        const layer = layerOf(result, params.layer);
        const grid = result.kind === "rank" ? result.surface.grid : result.grid;
        const bytes = await valueTile(
          { frame: engine.frame(result.origin), grid, ...layer, theme: query.theme ?? "day" },
          params.z,
          params.x,
          params.y,
        );
        if (bytes === null) throw new HardstandError("http.not-found", "the tile lies outside the plan's ground");
        // A run's arrays never change.
        return { bytes, headers: { "Cache-Control": "private, max-age=31536000, immutable" } };
      },
    ),
    route(
      {
        id: "runLegend",
        method: "get",
        path: "/api/runs/{id}/legend/{layer}",
        tag: "runs",
        summary: "Classes, colours and patterns of a layer, from the table its tiles are painted with",
        params: z.object({ id: z.string(), layer: z.string() }),
        query: themeQuery,
        answers: { 200: { description: "Legend", schema: legendAnswer }, ...errorsOf(400, 404, 409) },
      },
      async ({ params, query }) => {
        const { table, reasons } = layerOf(await shelf.get(params.id), params.layer);
        return { body: legend(table, query.theme ?? "day", reasonsIn(reasons)) };
      },
    ),
    route(
      {
        id: "readCell",
        method: "get",
        path: "/api/runs/{id}/cell",
        tag: "runs",
        summary: "One cell of a ranking: its score or the reason it is struck out; full=1 computes it in full",
        params: runId,
        query: cellQuery,
        answers: { 200: { description: "The cell", schema: cellAnswer }, ...errorsOf(400, 404, 409, 422, 429) },
      },
      async ({ params, query, signal }) => {
        const run = await store.run(params.id);
        const result = await shelf.get(params.id);
        if (result.kind !== "rank")
          throw new HardstandError("http.not-found", "cells are kept of rankings only", {
            where: "run",
            received: result.kind,
          });
        const { loaded, scene } = await desk.get(run.planId, run.planRevision, signal);
        const place = { lng: query.lng, lat: query.lat };
        const full = query.full === "1";
        return {
          body: await gate.run(signal, () => engine.cell(loaded, scene, result.surface, place, full, { signal })),
        };
      },
    ),
  ];
}
