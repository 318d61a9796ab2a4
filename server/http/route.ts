import express, { type Express, type Request, type Response } from "express";
import type { z } from "zod";
import { HardstandError } from "../../src/errors/index.ts";
import { schemaError } from "../../src/plan/draft.ts";

type Shape = z.ZodObject;
type Out<T> = T extends z.ZodType ? z.output<T> : undefined;

export interface AnswerSpec {
  description: string;
  /** JSON unless `type` says otherwise. */
  schema?: z.ZodType;
  type?: string;
}

export interface RouteSpec<P extends Shape | undefined, Q extends Shape | undefined, B extends z.ZodType | undefined> {
  id: string;
  method: "get" | "post" | "put" | "delete";
  /** OpenAPI form: /api/plans/{id}. */
  path: string;
  tag: string;
  summary: string;
  params?: P;
  query?: Q;
  body?: B;
  /** Media type of a body that is not JSON; the handler reads the stream itself. */
  stream?: string;
  headers?: Record<string, string>;
  answers: Record<number, AnswerSpec>;
  /** Open without a token. */
  open?: true;
}

export interface Call<P, Q, B> {
  params: P;
  query: Q;
  body: B;
  req: Request;
  res: Response;
  /** Aborted when whoever asked has gone away. */
  signal: AbortSignal;
}

export interface Reply {
  status?: number;
  headers?: Record<string, string>;
  /** JSON. */
  body?: unknown;
  bytes?: Uint8Array;
}
/** `null`: the handler has written the answer itself. */
export type Handled = Promise<Reply | null> | Reply | null;

export interface Route {
  spec: RouteSpec<Shape | undefined, Shape | undefined, z.ZodType | undefined>;
  handle(call: Call<unknown, unknown, unknown>): Handled;
}

export function route<
  P extends Shape | undefined = undefined,
  Q extends Shape | undefined = undefined,
  B extends z.ZodType | undefined = undefined,
>(spec: RouteSpec<P, Q, B>, handle: (call: Call<Out<P>, Out<Q>, Out<B>>) => Handled): Route {
  return { spec, handle: handle as Route["handle"] } as Route;
}

function parse(schema: z.ZodType | undefined, given: unknown, what: string): unknown {
  if (schema === undefined) return undefined;
  const found = schema.safeParse(given);
  if (found.success) return found.data;
  const error = schemaError(found.error, given, what);
  throw new HardstandError("http.bad-request", error.message, {
    where: [what, error.body.where].filter((part) => part !== "").join(" "),
    received: error.body.received,
    hint: "GET /api/openapi.json says what is expected",
  });
}

export interface RegisterOptions {
  jsonLimitBytes: number;
  /** Check every JSON answer against its schema before it leaves: for tests. */
  checkAnswers: boolean;
}

/** Puts routes into an app: input checked by schema, answers and aborts handled in one place. */
export function register(app: Express, routes: readonly Route[], options: RegisterOptions): void {
  const json = express.json({ limit: options.jsonLimitBytes, type: () => true });
  for (const { spec, handle } of routes) {
    const path = spec.path.replaceAll(/\{(\w+)\}/g, ":$1");
    const steps = spec.body !== undefined && spec.stream === undefined ? [json] : [];
    app[spec.method](path, ...steps, async (req: Request, res: Response) => {
      const gone = new AbortController();
      res.on("close", () => {
        if (!res.writableFinished) gone.abort();
      });
      const call = {
        params: parse(spec.params, req.params, "path"),
        query: parse(spec.query, req.query, "query"),
        body: spec.stream === undefined ? parse(spec.body, req.body ?? {}, "body") : undefined,
        req,
        res,
        signal: gone.signal,
      };
      let reply: Reply | null;
      try {
        reply = await handle(call);
      } catch (thrown) {
        // Whoever asked has left: there is nobody to tell.
        if (gone.signal.aborted) return;
        throw thrown;
      }
      if (reply === null || gone.signal.aborted) return;
      send(res, spec, reply, options.checkAnswers);
    });
  }
}

function send(res: Response, spec: Route["spec"], reply: Reply, check: boolean): void {
  const status = reply.status ?? 200;
  const answer = spec.answers[status];
  if (check) {
    if (answer === undefined) throw new Error(`${spec.id} answered ${status}, which it does not state`);
    if (answer.schema !== undefined) {
      const found = answer.schema.safeParse(JSON.parse(JSON.stringify(reply.body)));
      if (!found.success)
        throw new Error(`${spec.id} answered outside its schema: ${JSON.stringify(found.error.issues.slice(0, 3))}`);
    }
  }
  res.status(status);
  if (!res.hasHeader("Cache-Control")) res.setHeader("Cache-Control", "no-store");
  for (const [name, value] of Object.entries(reply.headers ?? {})) res.setHeader(name, value);
  if (reply.bytes !== undefined) {
    res.setHeader("Content-Type", answer?.type ?? "application/octet-stream");
    res.end(reply.bytes);
  } else if (reply.body === undefined) res.end();
  else res.json(reply.body);
}
