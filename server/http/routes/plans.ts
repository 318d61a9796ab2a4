import { z } from "zod";
import { HardstandError } from "../../../src/errors/index.ts";
import { type DraftPlan, emptyPlan, parseDraft } from "../../../src/plan/draft.ts";
import {
  createdPlan,
  createPlanBody,
  type PlanAnswer,
  planAnswer,
  plansAnswer,
  revisionAnswer,
  revisionsAnswer,
  savedPlan,
  savePlanBody,
} from "../../../src/plan/http.ts";
import type { LoadedPlan } from "../../../src/plan/types.ts";
import type { Context } from "../context.ts";
import { planId } from "../inputs.ts";
import { errorsOf } from "../openapi.ts";
import { type Route, route } from "../route.ts";

const etag = (revision: number): string => `"${revision}"`;

/** The revision a save is made over: `If-Match: "3"` or `If-Match: 3`. */
function expectedRevision(header: string | undefined): number {
  const found = /^(?:W\/)?"?(\d{1,9})"?$/.exec(header ?? "");
  if (found !== null) return Number(found[1]);
  throw new HardstandError("http.bad-request", "a save must say which revision it changes", {
    where: "If-Match",
    received: header,
    hint: 'send If-Match with the revision that was loaded, as in If-Match: "3"',
  });
}

const NONE = { type: "FeatureCollection" as const, features: [] };
const inline = <T>(part: T | string | undefined): T =>
  part === undefined || typeof part === "string" ? (NONE as T) : part;

/** What can be told of a plan that cannot be loaded: whatever stands in the document itself. */
function unresolved(plan: DraftPlan): Omit<LoadedPlan, "plan" | "hashes"> {
  return {
    points: inline(plan.points),
    parking: inline(plan.parking),
    hazards: inline(plan.hazards),
    drops: inline(plan.backhaul?.drops),
    donors: inline(plan.backhaul?.donors),
    buildings: null,
    warnings: [],
  };
}

export function planRoutes(ctx: Context): Route[] {
  const { store, desk, queue } = ctx;

  async function answer(id: string): Promise<PlanAnswer> {
    const { revision, updatedAt, plan } = await store.plan(id);
    const latest = await store.latestRank(id);
    const problems: PlanAnswer["problems"] = [];
    const parts = await desk.plan(id, revision).catch((thrown: unknown) => {
      const error = HardstandError.from(thrown);
      if (error.kind !== "input") throw error;
      problems.push(error.body);
      return unresolved(plan);
    });
    return {
      id,
      revision,
      updatedAt,
      plan,
      points: parts.points,
      parking: parts.parking,
      hazards: parts.hazards,
      drops: parts.drops,
      donors: parts.donors,
      buildings: parts.buildings,
      warnings: parts.warnings,
      problems,
      latestRun: latest?.runId ?? null,
      latestRunRevision: latest?.planRevision ?? null,
    };
  }

  return [
    route(
      {
        id: "listPlans",
        method: "get",
        path: "/api/plans",
        tag: "plans",
        summary: "All plans, the one changed last first",
        answers: { 200: { description: "Plans", schema: plansAnswer } },
      },
      async () => ({ body: await store.plans() }),
    ),
    route(
      {
        id: "createPlan",
        method: "post",
        path: "/api/plans",
        tag: "plans",
        summary: "Makes a plan from a sample, from a document, or empty under a name",
        body: createPlanBody,
        answers: { 201: { description: "Made", schema: createdPlan }, ...errorsOf(400, 404, 413, 422, 507) },
      },
      async ({ body }) => {
        const made =
          "sample" in body
            ? await store.createFromSample(body.sample)
            : await store.createPlan("plan" in body ? parseDraft(body.plan) : emptyPlan(body.name));
        return { status: 201, body: made, headers: { Location: `/api/plans/${made.id}`, ETag: etag(made.revision) } };
      },
    ),
    route(
      {
        id: "readPlan",
        method: "get",
        path: "/api/plans/{id}",
        tag: "plans",
        summary: "A plan with everything its files hold, and what still keeps it from being run",
        params: planId,
        answers: { 200: { description: "The plan; ETag is its revision", schema: planAnswer }, ...errorsOf(404) },
      },
      async ({ params }) => {
        const body = await answer(params.id);
        return { body, headers: { ETag: etag(body.revision), "Cache-Control": "private, no-cache" } };
      },
    ),
    route(
      {
        id: "savePlan",
        method: "put",
        path: "/api/plans/{id}",
        tag: "plans",
        summary: "Saves a plan over the revision that was loaded, and over no other",
        params: planId,
        headers: { "If-Match": "the revision that was loaded" },
        body: savePlanBody,
        answers: { 200: { description: "Saved", schema: savedPlan }, ...errorsOf(400, 404, 409, 413, 422, 507) },
      },
      async ({ params, body, req }) => {
        const expected = expectedRevision(req.headers["if-match"]);
        const revision = await store.savePlan(params.id, expected, parseDraft(body.plan));
        return { body: { revision }, headers: { ETag: etag(revision) } };
      },
    ),
    route(
      {
        id: "deletePlan",
        method: "delete",
        path: "/api/plans/{id}",
        tag: "plans",
        summary: "Removes a plan with its files, runs and results",
        params: planId,
        answers: { 204: { description: "Removed" }, ...errorsOf(404) },
      },
      async ({ params }) => {
        await store.plan(params.id);
        await queue.cancelPlan(params.id);
        await store.deletePlan(params.id);
        desk.forget(params.id);
        ctx.shelf.forget();
        return { status: 204 };
      },
    ),
    route(
      {
        id: "listRevisions",
        method: "get",
        path: "/api/plans/{id}/revisions",
        tag: "plans",
        summary: "Every revision of a plan, newest first",
        params: planId,
        answers: { 200: { description: "Revisions", schema: revisionsAnswer }, ...errorsOf(404) },
      },
      async ({ params }) => ({ body: await store.revisions(params.id) }),
    ),
    route(
      {
        id: "readRevision",
        method: "get",
        path: "/api/plans/{id}/revisions/{revision}",
        tag: "plans",
        summary: "The plan document of one revision, to see what has changed between two runs",
        params: z.object({
          id: z.string(),
          revision: z
            .string()
            .regex(/^\d{1,9}$/, "a revision is a whole number")
            .transform(Number),
        }),
        answers: { 200: { description: "The document", schema: revisionAnswer }, ...errorsOf(400, 404) },
      },
      async ({ params }) => ({ body: await store.revision(params.id, params.revision) }),
    ),
  ];
}
