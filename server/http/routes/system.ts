import { HardstandError } from "../../../src/errors/index.ts";
import { healthAnswer, loginBody, modelsAnswer, samplesAnswer, sessionAnswer } from "../../../src/plan/http.ts";
import type { Context } from "../context.ts";
import { errorsOf } from "../openapi.ts";
import { type Route, route } from "../route.ts";

const HEALTH_EVERY_MS = 1000;

export function systemRoutes(ctx: Context): Route[] {
  let health: { at: number; ok: Promise<boolean> } | null = null;
  /** At most one read and write a second, however often somebody asks. */
  const healthy = (): Promise<boolean> => {
    const now = Date.now();
    if (health === null || Math.abs(now - health.at) > HEALTH_EVERY_MS)
      health = {
        at: now,
        ok: ctx.store.health().then(
          () => true,
          (thrown: unknown) => {
            const { code, message } = HardstandError.from(thrown);
            ctx.log({ level: "error", event: "not-healthy", code, message });
            return false;
          },
        ),
      };
    return health.ok;
  };
  return [
    route(
      {
        id: "health",
        method: "get",
        path: "/api/health",
        tag: "service",
        summary: "Whether the service answers and can read and write its data folder",
        open: true,
        answers: {
          200: { description: "All is well", schema: healthAnswer },
          503: { description: "The data folder cannot be read or written", schema: healthAnswer },
        },
      },
      async () => {
        const readWriteOk = await healthy();
        return { status: readWriteOk ? 200 : 503, body: { ok: readWriteOk, version: ctx.version, readWriteOk } };
      },
    ),
    route(
      {
        id: "session",
        method: "get",
        path: "/api/session",
        tag: "service",
        summary: "Whether a token is needed and whether the caller has shown it",
        open: true,
        answers: { 200: { description: "State of the session", schema: sessionAnswer } },
      },
      ({ req }) => ({ body: { tokenNeeded: ctx.gatekeeper.tokenNeeded, signedIn: ctx.gatekeeper.signedIn(req) } }),
    ),
    route(
      {
        id: "login",
        method: "post",
        path: "/api/login",
        tag: "service",
        summary: "Shows the token once and gets a cookie for it",
        open: true,
        body: loginBody,
        answers: { 200: { description: "Signed in", schema: sessionAnswer }, ...errorsOf(400, 401, 429) },
      },
      ({ req, res, body }) => {
        ctx.gatekeeper.login(req, res, body.token);
        return { body: { tokenNeeded: ctx.gatekeeper.tokenNeeded, signedIn: true } };
      },
    ),
    route(
      {
        id: "logout",
        method: "delete",
        path: "/api/login",
        tag: "service",
        summary: "Ends the session of the cookie",
        open: true,
        answers: { 204: { description: "Signed out" } },
      },
      ({ req, res }) => {
        ctx.gatekeeper.logout(req, res);
        return { status: 204 };
      },
    ),
    route(
      {
        id: "samples",
        method: "get",
        path: "/api/samples",
        tag: "plans",
        summary: "Invented plans to start from",
        answers: { 200: { description: "Samples", schema: samplesAnswer } },
      },
      async () => ({ body: await ctx.store.samples() }),
    ),
    route(
      {
        id: "models",
        method: "get",
        path: "/api/models",
        tag: "service",
        summary: "The models, their editions, where they hold and how they are verified",
        answers: { 200: { description: "Models", schema: modelsAnswer } },
      },
      () => ({ body: ctx.engine.models() }),
    ),
  ];
}
