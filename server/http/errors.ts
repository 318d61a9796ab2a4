import { randomBytes } from "node:crypto";
import type { ErrorRequestHandler, RequestHandler } from "express";
import { HardstandError } from "../../src/errors/index.ts";
import type { Log } from "./log.ts";
import { statusOf } from "./status.ts";

/** What the body reader and the router throw, in our words; null when it is not theirs. */
function fromExpress(thrown: unknown): HardstandError | null {
  const { type, status } = (thrown ?? {}) as { type?: string; status?: number; statusCode?: number };
  if (type === "entity.too.large")
    return new HardstandError("http.too-large", "the request body is too large", {
      where: "body",
      hint: "put large files beside the plan with POST /api/plans/{id}/files",
    });
  if (type === "entity.parse.failed")
    return new HardstandError("http.bad-request", "the request body is not JSON", {
      where: "body",
      hint: "send one JSON object in UTF-8",
    });
  if (type === "request.aborted") return new HardstandError("http.bad-request", "the request was broken off");
  if (thrown instanceof URIError || (typeof status === "number" && status >= 400 && status < 500))
    return new HardstandError("http.bad-request", "the request cannot be read", {
      where: type ?? "request",
      hint: "check the address, headers and encoding",
    });
  return null;
}

/** Every error leaves as `{error: ErrorBody}` with its status; faults of ours keep their detail in the log. */
export function errorHandler(log: Log): ErrorRequestHandler {
  return (thrown, req, res, next) => {
    const known = fromExpress(thrown) ?? HardstandError.from(thrown);
    if (res.headersSent) {
      log({ level: "error", event: "broken-answer", path: req.path, code: known.code, message: known.message });
      req.socket.destroy();
      return;
    }
    let error = known;
    if (known.code === "internal") {
      const reference = randomBytes(4).toString("hex");
      log({
        level: "error",
        event: "fault",
        path: req.path,
        reference,
        message: String((known.cause as Error)?.stack ?? known.stack),
      });
      error = new HardstandError("internal", "something went wrong inside the service", {
        received: reference,
        hint: "look for this reference in the service's log",
      });
    }
    const status = statusOf(error.code);
    if (status === 429) res.setHeader("Retry-After", "2");
    // The connection cannot be used again while an unread body is still coming in.
    if (status === 413) res.setHeader("Connection", "close");
    res.setHeader("Cache-Control", "no-store");
    res.status(status).json({ error: error.body });
    void next;
  };
}

export const unknownApiPath: RequestHandler = (req, _res, next) =>
  next(
    new HardstandError("http.not-found", "there is nothing at this address", {
      where: `${req.baseUrl}${req.path}`.slice(0, 100),
      hint: "GET /api/openapi.json lists what there is",
    }),
  );
