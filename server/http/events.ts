import type { Request, Response } from "express";
import type { RunStatus } from "../../src/plan/http.ts";
import type { Feed, FeedEvent } from "../jobs/feed.ts";

export const HEARTBEAT_MS = 15_000;

const frame = (event: FeedEvent): string => `id: ${event.id}\nevent: ${event.name}\ndata: ${event.data}\n\n`;

/**
 * Sends a run's events until it ends or the reader leaves. A reader that comes back with Last-Event-ID gets what it
 * missed; one that was away too long, or comes after a restart, gets where things stand.
 * Source of the format: HTML Living Standard §9.2, server-sent events.
 * @param status  where the run stands, for runs whose events are no longer kept
 */
export function sendEvents(
  req: Request,
  res: Response,
  feed: Feed | null,
  status: RunStatus,
  heartbeatMs = HEARTBEAT_MS,
): void {
  res.status(200);
  res.setHeader("Content-Type", "text/event-stream; charset=utf-8");
  // Proxies and compression would hold events back.
  res.setHeader("Cache-Control", "no-store, no-transform");
  res.setHeader("X-Accel-Buffering", "no");
  res.flushHeaders();
  // Streams are quiet for long: the general time-out does not hold for them.
  req.socket.setTimeout(0);
  req.socket.setNoDelay(true);
  res.write("retry: 2000\n\n");
  if (feed === null) {
    const ended = status.state !== "queued" && status.state !== "running";
    res.end(frame({ id: `stored-${status.runId}`, name: ended ? "end" : "progress", data: JSON.stringify(status) }));
    return;
  }
  const beat = setInterval(() => res.write(": still here\n\n"), heartbeatMs);
  const stop = feed.follow((event) => {
    res.write(frame(event));
    if (event.name === "end") close();
  });
  const close = () => {
    clearInterval(beat);
    stop();
    res.end();
  };
  res.on("close", close);
  const last = req.headers["last-event-id"];
  const missed = feed.missed(typeof last === "string" ? last : null);
  for (const event of missed) res.write(frame(event));
  if (feed.ended) close();
}
