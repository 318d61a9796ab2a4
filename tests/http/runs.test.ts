import { expect, test } from "vitest";
import { sendEvents } from "../../server/http/events.ts";
import { Feed } from "../../server/jobs/feed.ts";
import { HardstandError } from "../../src/errors/index.ts";
import { REJECT_REASONS } from "../../src/plan/outputs/index.ts";
import { createFakeEngine, GRID, ORIGIN } from "../support/fake-engine.ts";
import { samplePlan } from "../support/sample-plan.ts";
import { follow, type Service, startService, until } from "../support/service.ts";

const start = async (s: Service, id: string, body: object = { kind: "rank" }) => {
  const answer = await s.json("POST", `/api/plans/${id}/runs`, body);
  expect(answer.status).toBe(202);
  return answer.json.runId as string;
};
const cover = { kind: "cover", lng: ORIGIN.lng, lat: ORIGIN.lat, service: "cell", what: "probability" };

test("a ranking runs, is followed, and gives its result, history, legend and cells", async () => {
  const s = await startService();
  const id = await s.samplePlan();
  s.engine.sceneMs = 100;
  const run = await start(s, id);
  const stream = follow(s.server.port, `/api/runs/${run}/events`);
  await stream.end;
  expect(stream.headers()!["content-type"]).toBe("text/event-stream; charset=utf-8");
  expect(stream.headers()!["content-encoding"]).toBeUndefined();
  expect(stream.events.at(-1)).toMatchObject({
    event: "end",
    data: { runId: run, state: "done", hasResult: true, error: null },
  });
  expect(stream.events.slice(0, -1).every((e) => e.event === "progress")).toBe(true);
  const steps = stream.events.filter((e) => e.data.state === "running").map((e) => e.data.step);
  expect([...new Set(steps)].filter((step) => step !== "")).toEqual([
    "Reading the ground",
    "Step 1",
    "Step 2",
    "Step 3",
  ]);
  expect((await s.ask("GET", `/api/runs/${run}`)).json.state).toBe("done");
  expect((await s.ask("GET", `/api/runs/${run}/result`)).json.spots[0].name).toBe("East row");
  expect((await s.ask("GET", `/api/plans/${id}/runs`)).json).toMatchObject([
    {
      runId: run,
      kind: "rank",
      state: "done",
      planRevision: 1,
      summary: "1 of 1 spots serve every must; first: East row, score 98.5",
    },
  ]);
  expect((await s.ask("GET", `/api/plans/${id}`)).json).toMatchObject({ latestRun: run, latestRunRevision: 1 });
  const legend = (await s.ask("GET", `/api/runs/${run}/legend/score?theme=night`)).json;
  expect(legend.classes).toHaveLength(6);
  expect(legend.patterns.map((p: { reason: string }) => p.reason)).toEqual([...REJECT_REASONS, "unknown"]);
  const cell = (await s.ask("GET", `/api/runs/${run}/cell?lng=${ORIGIN.lng}&lat=${ORIGIN.lat}`)).json;
  expect(cell.spot).toBeNull();
  expect((await s.ask("GET", `/api/runs/${run}/cell?lng=${ORIGIN.lng}&lat=${ORIGIN.lat}&full=1`)).json.spot.name).toBe(
    "East row",
  );
  expect((await s.ask("GET", `/api/runs/${run}/legend/value`)).status).toBe(404);
});

test("a result stays with its revision: a later edit makes it old, and cells still open on the old plan", async () => {
  const s = await startService();
  const id = await s.samplePlan();
  const run = await start(s, id);
  await s.ended(run);
  await s.json("PUT", `/api/plans/${id}`, { plan: samplePlan("Changed") }, { "If-Match": "1" });
  expect((await s.ask("GET", `/api/plans/${id}`)).json).toMatchObject({
    revision: 2,
    latestRun: run,
    latestRunRevision: 1,
  });
  s.engine.calls.length = 0;
  await s.ask("GET", `/api/runs/${run}/cell?lng=${ORIGIN.lng}&lat=${ORIGIN.lat}`);
  expect(s.engine.calls.filter((c) => c.startsWith("load"))).not.toContain("load plan.2.json");
  // A trial on the new revision has no surface to lean on.
  await s.ask("GET", `/api/plans/${id}/trial?lng=${ORIGIN.lng}&lat=${ORIGIN.lat}`);
  expect(s.engine.calls).toContain("cell brief bare");
});

test("a queued run is computed on the revision it was asked for", async () => {
  const s = await startService();
  const id = await s.samplePlan();
  s.engine.pace = { steps: 1, counts: 3, countMs: 30 };
  const first = await start(s, id);
  const second = await start(s, id);
  await s.json("PUT", `/api/plans/${id}`, { plan: samplePlan("Changed") }, { "If-Match": "1" });
  await s.ended(first);
  await s.ended(second);
  expect((await s.ask("GET", `/api/runs/${second}/result`)).json).toMatchObject({
    plan: "Sparrow Meadow",
    provenance: { planRevision: 1 },
  });
  expect(s.engine.mostRunning).toBe(1);
});

test("a cancel holds at once even when the work lets go late; the third run still finishes", async () => {
  const s = await startService();
  const id = await s.samplePlan();
  s.engine.stubbornMs = 1500;
  const running = await start(s, id);
  const queued = await start(s, id);
  await until(async () => (await s.ask("GET", `/api/runs/${running}`)).json.step === "Step 3");
  const stream = follow(s.server.port, `/api/runs/${running}/events`);
  await until(() => stream.events.length > 0);
  const before = performance.now();
  const cancelled = await s.ask("DELETE", `/api/runs/${running}`);
  await stream.end;
  const tookMs = performance.now() - before;
  expect([cancelled.status, cancelled.json.state]).toEqual([202, "cancelled"]);
  expect(stream.events.at(-1)).toMatchObject({ event: "end", data: { state: "cancelled" } });
  // The work has not let go yet, and still everybody knows.
  expect(s.engine.running).toBe(1);
  console.log(`cancel told after ${tookMs.toFixed(1)} ms`);
  expect((await s.ask("DELETE", `/api/runs/${queued}`)).json.state).toBe("cancelled");
  s.engine.stubbornMs = null;
  const third = await start(s, id);
  expect((await s.ended(third)).state).toBe("done");
  expect(s.engine.mostRunning).toBe(1);
  expect((await s.ask("DELETE", `/api/runs/${third}`)).json.state).toBe("done");
  expect((await s.ask("GET", `/api/runs/${running}/result`)).status).toBe(404);
  const states = (await s.ask("GET", `/api/plans/${id}/runs`)).json.map((r: { state: string }) => r.state);
  expect(states).toEqual(["done", "cancelled", "cancelled"]);
});

test("what was complete at a cancel is kept and said", async () => {
  const s = await startService();
  const id = await s.samplePlan();
  s.engine.partial = true;
  s.engine.stubbornMs = 0;
  const run = await start(s, id);
  await until(async () => (await s.ask("GET", `/api/runs/${run}`)).json.step === "Step 3");
  expect((await s.ask("GET", `/api/runs/${run}/result`)).json.error.code).toBe("http.not-ready");
  expect((await s.ask("DELETE", `/api/runs/${run}`)).json).toMatchObject({ state: "cancelled", hasResult: true });
  expect((await s.ask("GET", `/api/runs/${run}/result`)).json.spots).toHaveLength(1);
  // A cancelled ranking is not the plan's latest.
  expect((await s.ask("GET", `/api/plans/${id}`)).json.latestRun).toBeNull();
});

test("a run that cannot be computed says why, with the engine's own words", async () => {
  const s = await startService();
  const id = await s.samplePlan();
  s.engine.failWith = new HardstandError("terrain.no-crs", "ground.tif has no coordinate system", {
    where: "ground.tif",
    hint: "save it with one",
  });
  const run = await start(s, id);
  expect(await s.ended(run)).toMatchObject({
    state: "failed",
    error: { code: "terrain.no-crs", hint: "save it with one" },
    hasResult: false,
  });
  expect((await s.ask("GET", `/api/plans/${id}/runs`)).json[0].summary).toBe("ground.tif has no coordinate system");
});

test("too many waiting runs are asked to come later", async () => {
  const s = await startService({ mostQueued: 2 });
  const id = await s.samplePlan();
  s.engine.stubbornMs = 0;
  for (let i = 0; i < 3; i++) await start(s, id);
  const refused = await s.json("POST", `/api/plans/${id}/runs`, { kind: "rank" });
  expect([refused.status, refused.json.error.code, refused.headers["retry-after"]]).toEqual([429, "http.busy", "2"]);
});

test.each([
  [{ kind: "swim" }, 400, "http.bad-request"],
  [{ kind: "rank", extra: 1 }, 400, "http.bad-request"],
  [{ ...cover, lng: 200 }, 400, "http.bad-request"],
  [{ ...cover, what: "joy" }, 400, "http.bad-request"],
  [{ ...cover, service: "radio" }, 422, "plan.unknown-reference"],
])("a run that makes no sense is refused before it is queued: %j", async (body, status, code) => {
  const s = await startService();
  const id = await s.samplePlan();
  const refused = await s.json("POST", `/api/plans/${id}/runs`, body);
  expect([refused.status, refused.json.error.code]).toEqual([status, code]);
  expect((await s.ask("GET", `/api/plans/${id}/runs`)).json).toEqual([]);
});

test("events resume where a reader was, and tell where things stand to one that was away too long", async () => {
  const s = await startService();
  const id = await s.samplePlan();
  s.engine.pace = { steps: 6, counts: 1, countMs: 40 };
  const run = await start(s, id);
  const path = `/api/runs/${run}/events`;
  const first = follow(s.server.port, path);
  await until(() => first.events.length >= 2);
  first.close();
  const seen = first.events.at(-1)!.id;
  await until(async () => (await s.ask("GET", `/api/runs/${run}`)).json.stepIndex >= 4);
  const second = follow(s.server.port, path, { "Last-Event-ID": seen });
  await second.end;
  const serial = (eventId: string) => Number(eventId.split("-")[1]);
  const ids = second.events.map((e) => serial(e.id));
  expect(ids[0]).toBe(serial(seen) + 1);
  expect(ids).toEqual(ids.map((_, k) => ids[0]! + k));
  expect(second.events.at(-1)!.event).toBe("end");
  // Everything has been seen: nothing but the end of the stream.
  const third = follow(s.server.port, path, { "Last-Event-ID": second.events.at(-1)!.id });
  await third.end;
  expect(third.events).toEqual([]);
  const stranger = follow(s.server.port, path, { "Last-Event-ID": "from-another-life" });
  await stranger.end;
  expect(stranger.events.map((e) => e.event)).toEqual(["end"]);
});

test("with a token, events come to the holder of the cookie and to nobody else", async () => {
  const token = "a-token-of-some-length-0123";
  const s = await startService({ token });
  const login = await s.json("POST", "/api/login", { token });
  const Cookie = String(login.headers["set-cookie"]).split(";")[0]!;
  const { id } = (await s.json("POST", "/api/plans", { sample: "meadow" }, { Cookie })).json;
  const run = (await s.json("POST", `/api/plans/${id}/runs`, { kind: "rank" }, { Cookie })).json.runId;
  const stranger = follow(s.server.port, `/api/runs/${run}/events`);
  const holder = follow(s.server.port, `/api/runs/${run}/events`, { Cookie });
  await Promise.all([stranger.end, holder.end]);
  expect(stranger.events).toEqual([]);
  expect(holder.events.at(-1)).toMatchObject({ event: "end", data: { state: "done" } });
});

test("a quiet stream gets a heartbeat, and a reader that leaves is forgotten", async () => {
  const written: string[] = [];
  const closers: (() => void)[] = [];
  const res = {
    status: () => res,
    setHeader: () => res,
    flushHeaders() {},
    write: (text: string) => written.push(text),
    end() {},
    on: (_: string, f: () => void) => closers.push(f),
  };
  const req = { headers: {}, socket: { setTimeout() {}, setNoDelay() {} } };
  const feed = new Feed();
  sendEvents(req as never, res as never, feed, { state: "running" } as never, 10);
  await until(() => written.filter((t) => t.startsWith(":")).length >= 2);
  expect(feed.readers).toBe(1);
  for (const close of closers) close();
  expect(feed.readers).toBe(0);
  const count = written.length;
  await new Promise((resolve) => setTimeout(resolve, 40));
  expect(written).toHaveLength(count);
});

test("after a restart: the run at work is told as interrupted, the waiting one runs, results are still there", async () => {
  const s = await startService();
  const id = await s.samplePlan();
  const done = await start(s, id);
  await s.ended(done);
  s.engine.stubbornMs = 0;
  const running = await start(s, id);
  const waiting = await start(s, id);
  await until(async () => (await s.ask("GET", `/api/runs/${running}`)).json.step === "Step 3");
  await s.server.close();
  const again = await startService({ dataDir: s.dataDir, samplesDir: s.samplesDir, engine: createFakeEngine() });
  expect((await again.ask("GET", `/api/runs/${running}`)).json).toMatchObject({
    state: "failed",
    error: { code: "run.interrupted" },
    hasResult: false,
  });
  expect((await again.ended(waiting)).state).toBe("done");
  const old = follow(again.server.port, `/api/runs/${running}/events`, { "Last-Event-ID": "x-3" });
  await old.end;
  expect(old.events).toMatchObject([{ event: "end", data: { state: "failed" } }]);
  expect((await again.ask("GET", `/api/runs/${done}/result`)).json.spots).toHaveLength(1);
});

test("a removed plan takes its run along, even one at work", async () => {
  const s = await startService();
  const id = await s.samplePlan();
  s.engine.stubbornMs = 50;
  const run = await start(s, id);
  await until(async () => (await s.ask("GET", `/api/runs/${run}`)).json.step === "Step 3");
  expect((await s.ask("DELETE", `/api/plans/${id}`)).status).toBe(204);
  expect((await s.ask("GET", `/api/runs/${run}`)).status).toBe(404);
  const other = await s.samplePlan();
  s.engine.stubbornMs = null;
  expect((await s.ended(await start(s, other))).state).toBe("done");
});

test("a caller that leaves stops the full evaluation of a cell", async () => {
  const s = await startService();
  const id = await s.samplePlan();
  const run = await start(s, id);
  await s.ended(run);
  let aborted = false;
  s.engine.cell = (_l, _s, _u, _p, _f, hooks) =>
    new Promise((_, reject) => {
      hooks.signal!.addEventListener("abort", () => {
        aborted = true;
        reject(new Error("gone"));
      });
    });
  const caller = follow(s.server.port, `/api/runs/${run}/cell?lng=${ORIGIN.lng}&lat=${ORIGIN.lat}&full=1`);
  await new Promise((resolve) => setTimeout(resolve, 50));
  caller.close();
  await until(() => aborted);
});

test("a coverage run answers with what `cover` prints and has a legend of its own", async () => {
  const s = await startService();
  const id = await s.samplePlan();
  const run = await start(s, id, { ...cover, need: "cell/talk", radiusM: 500 });
  await s.ended(run);
  expect((await s.ask("GET", `/api/runs/${run}/result`)).json).toMatchObject({
    what: "probability",
    cols: GRID.cols,
    radiusM: 500,
  });
  const legend = (await s.ask("GET", `/api/runs/${run}/legend/value`)).json;
  expect(legend).toMatchObject({ title: "Chance of service", unit: "%" });
  expect(legend.patterns.map((p: { reason: string }) => p.reason)).toEqual(["unknown"]);
  expect((await s.ask("GET", `/api/runs/${run}/cell?lng=1&lat=1`)).status).toBe(404);
});
