import { lookAnswer } from "../../../src/plan/http.ts";
import { cellAnswer, pathAnswer, skyAnswer } from "../../../src/plan/outputs/index.ts";
import type { Context } from "../context.ts";
import { lookQuery, pathQuery, placeQuery, planId, skyQuery } from "../inputs.ts";
import { errorsOf } from "../openapi.ts";
import { type Route, route } from "../route.ts";

/** Answers about one place, computed while the caller waits and dropped when the caller leaves. */
export function spotRoutes(ctx: Context): Route[] {
  const { store, desk, engine, gate, shelf } = ctx;
  return [
    route(
      {
        id: "look",
        method: "get",
        path: "/api/plans/{id}/look",
        tag: "spots",
        summary: "Look angles to the plan's satellites from a place, without terrain",
        params: planId,
        query: lookQuery,
        answers: {
          200: { description: "A row for each satellite", schema: lookAnswer },
          ...errorsOf(400, 404, 422, 429),
        },
      },
      async ({ params, query, signal }) => {
        const loaded = await desk.plan(params.id);
        return { body: await gate.run(signal, () => engine.look(loaded, query, query.heightM ?? 0)) };
      },
    ),
    route(
      {
        id: "sky",
        method: "get",
        path: "/api/plans/{id}/sky",
        tag: "spots",
        summary: "The sky from a place: satellites, what blocks them, the horizon, advice",
        params: planId,
        query: skyQuery,
        answers: {
          200: { description: "What `hardstand sky --json` prints", schema: skyAnswer },
          ...errorsOf(400, 404, 422, 429),
        },
      },
      async ({ params, query, signal }) => {
        const { loaded, scene } = await desk.get(params.id, undefined, signal);
        const place = { lng: query.lng, lat: query.lat };
        return { body: await gate.run(signal, () => engine.sky(loaded, scene, place, query.heightM)) };
      },
    ),
    route(
      {
        id: "path",
        method: "get",
        path: "/api/plans/{id}/path",
        tag: "spots",
        summary: "One path: profile, clearance, loss by part, budget both ways",
        params: planId,
        query: pathQuery,
        answers: {
          200: { description: "What `hardstand path --json` prints", schema: pathAnswer },
          ...errorsOf(400, 404, 422, 429),
        },
      },
      async ({ params, query, signal }) => {
        const { loaded, scene } = await desk.get(params.id, undefined, signal);
        const from = { lng: query.fromLng, lat: query.fromLat };
        const to = { lng: query.toLng, lat: query.toLat };
        return { body: await gate.run(signal, () => engine.path(loaded, scene, from, to, query.service, query.point)) };
      },
    ),
    route(
      {
        id: "trial",
        method: "get",
        path: "/api/plans/{id}/trial",
        tag: "spots",
        summary: "A trial spot while it is dragged: stand, sky and screening score of the cell, at once",
        params: planId,
        query: placeQuery,
        answers: { 200: { description: "The cell", schema: cellAnswer }, ...errorsOf(400, 404, 422, 429) },
      },
      async ({ params, query, signal }) => {
        const { revision } = await store.plan(params.id);
        const { loaded, scene } = await desk.get(params.id, revision, signal);
        const latest = await store.latestRank(params.id, revision);
        const result = latest === null ? null : await shelf.get(latest.runId);
        const surface = result?.kind === "rank" ? result.surface : null;
        return { body: await gate.run(signal, () => engine.cell(loaded, scene, surface, query, false, { signal })) };
      },
    ),
  ];
}
