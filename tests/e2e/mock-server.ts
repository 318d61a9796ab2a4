import { contours } from "d3-contour";
import express, { type Response } from "express";
import { cellAnswer, pathAnswer, rankAnswer, skyAnswer } from "../../src/plan/outputs/index.ts";
import { planSchema } from "../../src/plan/schema/plan.ts";
import { buildings, makeCell, makeNoFeasible, makePath, makePlan, makeRank, makeSky } from "./mock-answers.ts";
import { groundM, ORIGIN, type Place, TREES, toLngLat, toPlace } from "./mock-scene.ts";
import { EDGES, hillshadeTile, ramp, terrainTile, valueTile } from "./mock-tiles.ts";

export interface MockOptions {
  /** Folder of the built client. */
  client: string;
  /** Milliseconds between two progress reports. */
  stepMs?: number;
  /** A plan is stored and ranked before the first request. */
  ready?: boolean;
  noFeasible?: boolean;
}
interface Run {
  runId: string;
  kind: "rank" | "cover";
  state: "queued" | "running" | "done" | "cancelled" | "failed";
  step: string;
  stepIndex: number;
  stepCount: number;
  done: number;
  total: number;
  secondsLeft: number | null;
  error: null;
  planId: string;
  planRevision: number;
  createdAt: string;
  finishedAt: string | null;
}
const STEPS = ["Reading the ground", "Screening every cell", "Checking spots in full", "Putting them in order"];

/** Half a kilometre round the fairground, with the header the real service sends. */
export function createMock(options: MockOptions): express.Express {
  const app = express();
  const plans = new Map<
    string,
    {
      plan: ReturnType<typeof makePlan>;
      revision: number;
      updatedAt: string;
      latestRun: string | null;
      kept: Map<number, ReturnType<typeof makePlan>>;
    }
  >();
  const runs = new Map<string, Run>();
  const rank = options.noFeasible ? makeNoFeasible() : makeRank();
  rankAnswer.parse(rank);
  let count = 0;
  const addPlan = (plan = makePlan()): string => {
    planSchema.parse(plan);
    const id = `p${++count}`;
    plans.set(id, {
      plan,
      revision: 1,
      updatedAt: new Date().toISOString(),
      latestRun: null,
      kept: new Map([[1, plan]]),
    });
    return id;
  };
  const fault = (res: Response, status: number, code: string, message: string): void => {
    res.status(status).json({ error: { code, message, where: "", received: null, hint: "" } });
  };
  const startRun = (planId: string, kind: Run["kind"], instant = false): Run => {
    const runId = `r${++count}`;
    const p = plans.get(planId)!;
    const run: Run = {
      runId,
      kind,
      state: "running",
      step: STEPS[0]!,
      stepIndex: 0,
      stepCount: 4,
      done: 0,
      total: 12,
      secondsLeft: null,
      error: null,
      planId,
      planRevision: p.revision,
      createdAt: new Date().toISOString(),
      finishedAt: null,
    };
    runs.set(runId, run);
    const finish = (): void => {
      run.state = "done";
      run.finishedAt = new Date().toISOString();
      if (kind === "rank") p.latestRun = runId;
    };
    if (instant) finish();
    else {
      const timer = setInterval(() => {
        if (run.state !== "running") return clearInterval(timer);
        run.done += 3;
        run.secondsLeft = Math.ceil(((12 - run.done) / 3 + (3 - run.stepIndex) * 4) * ((options.stepMs ?? 60) / 1000));
        if (run.done >= 12) {
          run.stepIndex++;
          run.done = 0;
          if (run.stepIndex >= 4) finish();
          else run.step = STEPS[run.stepIndex]!;
        }
      }, options.stepMs ?? 60);
    }
    return run;
  };
  if (options.ready) startRun(addPlan(), "rank", true);

  app.use((_req, res, next) => {
    res.setHeader(
      "Content-Security-Policy",
      "default-src 'self'; img-src 'self' data: blob:; worker-src 'self' blob:; style-src 'self'; connect-src 'self'; object-src 'none'; base-uri 'none'",
    );
    next();
  });
  app.use(express.json({ limit: "4mb" }));
  const api = express.Router();
  api.get("/health", (_q, s) => void s.json({ ok: true, version: "0.1.0", readWriteOk: true }));
  api.get(
    "/samples",
    (_q, s) =>
      void s.json([{ id: "tamarack", name: "Tamarack Flats, autumn fair", description: "14 points, 3 parking areas" }]),
  );
  api.get(
    "/plans",
    (_q, s) =>
      void s.json(
        [...plans].map(([id, p]) => ({
          id,
          name: p.plan.name,
          revision: p.revision,
          updatedAt: p.updatedAt,
          points: 14,
          parkingAreas: 3,
        })),
      ),
  );
  api.post("/plans", (q, s) => void s.status(201).json({ id: addPlan(q.body.plan ?? makePlan()), revision: 1 }));
  api.get("/plans/:id", (q, s) => {
    const p = plans.get(q.params.id);
    if (!p) return fault(s, 404, "http.not-found", "There is no such plan.");
    const { points, parking, hazards } = p.plan;
    const run = p.latestRun === null ? null : runs.get(p.latestRun)!;
    s.json({
      id: q.params.id,
      revision: p.revision,
      updatedAt: p.updatedAt,
      plan: p.plan,
      points,
      parking,
      hazards,
      drops: { type: "FeatureCollection", features: [] },
      donors: { type: "FeatureCollection", features: [] },
      buildings: buildings(),
      warnings: [],
      latestRun: p.latestRun,
      latestRunRevision: run?.planRevision ?? null,
    });
  });
  api.get("/plans/:id/revisions/:n", (q, s) => {
    const p = plans.get(q.params.id);
    const kept = p?.kept.get(Number(q.params.n));
    if (kept === undefined) return fault(s, 404, "http.not-found", "There is no such revision.");
    s.json({ revision: Number(q.params.n), savedAt: new Date().toISOString(), plan: kept });
  });
  api.put("/plans/:id", (q, s) => {
    const p = plans.get(q.params.id);
    if (!p) return fault(s, 404, "http.not-found", "There is no such plan.");
    if (Number(q.headers["if-match"]) !== p.revision)
      return fault(s, 409, "http.conflict", `The plan is at revision ${p.revision}.`);
    const parsed = planSchema.safeParse(q.body.plan);
    if (!parsed.success)
      return fault(s, 400, "plan.invalid", parsed.error.issues[0]?.message ?? "The plan cannot be read.");
    p.plan = parsed.data;
    p.updatedAt = new Date().toISOString();
    p.revision++;
    p.kept.set(p.revision, p.plan);
    s.json({ revision: p.revision });
  });
  api.get("/plans/:id/ground", (_q, s) => {
    const [w, so] = toLngLat([-780, -680]);
    const [e, n] = toLngLat([840, 640]);
    s.json({
      bounds: [w, so, e, n],
      origin: ORIGIN,
      grid: { cols: 1620, rows: 1320, cellM: 1, westM: -780, northM: 640 },
      minM: 418,
      maxM: 452,
      minZoom: 12,
      maxZoom: 18,
      contourStepM: 2,
      datasets: [
        {
          kind: "ground",
          file: "ground.tif",
          cellM: 1,
          date: "2023",
          verticalDatum: "orthometric",
          text: "Ground 1 m, 2023",
        },
        {
          kind: "surface",
          file: "surface.tif",
          cellM: 1,
          date: "2023",
          verticalDatum: "orthometric",
          text: "Surface 1 m, 2023, leaf on",
        },
        {
          kind: "buildings",
          file: "buildings.geojson",
          cellM: null,
          date: null,
          verticalDatum: null,
          text: "Buildings 10",
        },
      ],
      hasCanopy: false,
      hasSurface: true,
      warnings: [{ code: "scene.no-canopy", text: "No canopy layer: trees count as solid" }],
    });
  });
  const tile = (res: Response, bytes: Uint8Array): void => void res.type("png").send(Buffer.from(bytes));
  const zxy = (p: Record<string, string>): [number, number, number] => [Number(p.z), Number(p.x), Number(p.y)];
  api.get("/plans/:id/tiles/:layer/:z/:x/:y.png", (q, s) =>
    tile(s, q.params.layer === "terrain" ? terrainTile(...zxy(q.params)) : hillshadeTile(...zxy(q.params))),
  );
  api.get("/plans/:id/contours", (_q, s) => {
    const w = 162;
    const h = 132;
    const grid = Array.from({ length: w * h }, (_, i) => groundM([-780 + (i % w) * 10, 640 - Math.floor(i / w) * 10]));
    const levels = Array.from({ length: 20 }, (_, i) => 416 + 2 * i);
    const features = contours()
      .size([w, h])
      .thresholds(levels)(grid)
      .flatMap((c) =>
        c.coordinates.flatMap((poly) =>
          poly.map((ring) => ({
            type: "Feature",
            properties: { heightM: c.value, major: c.value % 10 === 0 },
            geometry: {
              type: "LineString",
              coordinates: ring.map(([x, y]) => toLngLat([-780 + x! * 10 - 5, 640 - y! * 10 + 5])),
            },
          })),
        ),
      );
    s.json({ type: "FeatureCollection", features });
  });
  api.get("/plans/:id/canopy", (_q, s) => {
    const blob = (p: Place, r: number): [number, number][] =>
      Array.from({ length: 13 }, (_, i) =>
        toLngLat([p[0] + r * Math.cos((i % 12) * 0.5236), p[1] + r * Math.sin((i % 12) * 0.5236)]),
      );
    s.json({
      type: "FeatureCollection",
      features: TREES.map((t) => ({
        type: "Feature",
        properties: {},
        geometry: { type: "Polygon", coordinates: [blob(t.place, t.radiusM)] },
      })),
    });
  });
  api.post(
    "/plans/:id/runs",
    (q, s) =>
      void s.status(202).json({ runId: startRun(q.params.id, q.body.kind === "cover" ? "cover" : "rank").runId }),
  );
  api.get(
    "/plans/:id/runs",
    (q, s) =>
      void s.json(
        [...runs.values()]
          .filter((r) => r.planId === q.params.id)
          .map((r) => ({
            runId: r.runId,
            kind: r.kind,
            state: r.state,
            planRevision: r.planRevision,
            createdAt: r.createdAt,
            finishedAt: r.finishedAt,
            summary: r.state === "done" ? "9 spots, 1 is Barn Yard, west" : "",
          })),
      ),
  );
  api.get("/runs/:id", (q, s) => void s.json(runs.get(q.params.id)));
  api.get("/runs/:id/events", (q, s) => {
    const run = runs.get(q.params.id)!;
    s.writeHead(200, { "Content-Type": "text/event-stream", "Cache-Control": "no-store" });
    let id = 0;
    const timer = setInterval(() => {
      const ended = run.state !== "running" && run.state !== "queued";
      s.write(`id: ${++id}\nevent: ${ended ? "end" : "progress"}\ndata: ${JSON.stringify(run)}\n\n`);
      if (ended) {
        clearInterval(timer);
        s.end();
      }
    }, 40);
    q.on("close", () => clearInterval(timer));
  });
  api.delete("/runs/:id", (q, s) => {
    const run = runs.get(q.params.id)!;
    run.state = "cancelled";
    run.finishedAt = new Date().toISOString();
    s.status(202).json({});
  });
  api.get("/runs/:id/result", (q, s) => {
    const run = runs.get(q.params.id)!;
    if (run.state !== "done") return fault(s, 404, "http.not-found", "The run has no result.");
    if (run.kind === "rank")
      return void s.json({ ...rank, provenance: { ...rank.provenance, planRevision: run.planRevision } });
    s.json({
      what: "probability",
      service: "cell",
      need: "talk",
      lng: ORIGIN.lng,
      lat: ORIGIN.lat,
      radiusM: 1000,
      cellM: 5,
      cols: 400,
      rows: 400,
      unit: "%",
      min: 3,
      max: 99,
      mean: 82,
      knownShare: 1,
      areas: [
        { id: "sa", name: "Staging A", sharePct: 96, threshold: 0.9, cells: 400 },
        { id: "sb", name: "Staging B", sharePct: 88, threshold: 0.9, cells: 410 },
      ],
      file: null,
      warnings: [],
      provenance: rank.provenance,
    });
  });
  api.get("/runs/:id/tiles/:layer/:z/:x/:y.png", (q, s) =>
    tile(s, valueTile(q.params.layer, String(q.query.theme ?? "day"), ...zxy(q.params))),
  );
  api.get("/runs/:id/legend/:layer", (q, s) => {
    if (q.params.layer !== "score" && q.params.layer !== "value")
      return fault(s, 404, "http.not-found", "There is no such layer.");
    const colors = ramp(String(q.query.theme ?? "day"));
    const score = q.params.layer === "score";
    const edges = score ? EDGES : [20, 50, 80, 90, 95];
    const svg = (body: string): string =>
      `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 14"><rect width="20" height="14" fill="#FCFDFB" stroke="#14212A"/>${body}</svg>`;
    s.json({
      title: score ? "Score of each cell" : "Chance of service",
      unit: score ? "0 to 100" : "%",
      classes: colors.map((color, i) => ({
        from: i === 0 ? null : edges[i - 1],
        to: i === 5 ? null : edges[i],
        color,
        label: i === 0 ? `under ${edges[0]}` : i === 5 ? `${edges[4]} and more` : `${edges[i - 1]} to ${edges[i]}`,
      })),
      patterns: score
        ? [
            {
              reason: "power-line",
              label: "Power line too close",
              svg: svg('<path d="M-2 9 9-2M2 14 16 0M9 14 20 3" stroke="#14212A"/>'),
            },
            { reason: "slope", label: "Too steep", svg: svg('<path d="M0 4h20M0 9h20" stroke="#14212A"/>') },
            {
              reason: "obstacle",
              label: "Near an object",
              svg: svg('<path d="M0 0 14 14M7 0 20 13M14 0 0 14M20 1 7 14" stroke="#14212A" stroke-width=".7"/>'),
            },
            {
              reason: "unknown",
              label: "Unknown",
              svg: svg('<path d="M3 3h14v8H3Z" fill="none" stroke="#14212A" stroke-dasharray="2 2"/>'),
            },
          ]
        : [
            {
              reason: "unknown",
              label: "Unknown",
              svg: svg('<path d="M3 3h14v8H3Z" fill="none" stroke="#14212A" stroke-dasharray="2 2"/>'),
            },
          ],
    });
  });
  const placeOf = (q: { query: Record<string, unknown> }): Place => toPlace(Number(q.query.lng), Number(q.query.lat));
  api.get("/runs/:id/cell", (q, s) => void s.json(cellAnswer.parse(makeCell(placeOf(q), q.query.full === "1"))));
  api.get("/plans/:id/trial", (q, s) => void s.json(cellAnswer.parse(makeCell(placeOf(q), true))));
  api.get(
    "/plans/:id/sky",
    (q, s) =>
      void s.json(skyAnswer.parse(makeSky(placeOf(q), q.query.heightM === undefined ? 1.6 : Number(q.query.heightM)))),
  );
  api.get(
    "/plans/:id/path",
    (q, s) =>
      void s.json(
        pathAnswer.parse(
          makePath(
            toPlace(Number(q.query.fromLng), Number(q.query.fromLat)),
            toPlace(Number(q.query.toLng), Number(q.query.toLat)),
            q.query.point as string | undefined,
          ),
        ),
      ),
  );
  api.get(
    "/plans/:id/files",
    (_q, s) =>
      void s.json(
        ["ground.tif", "surface.tif"].map((name) => ({ name, bytes: 2_400_000, modifiedAt: "2026-09-01T08:00:00Z" })),
      ),
  );
  api.get(
    "/models",
    (_q, s) =>
      void s.json([
        {
          id: "p526-15/delta-bullington",
          title: "Diffraction over a profile",
          edition: "15",
          source: "Rec. ITU-R P.526-15 §4.5",
          validity: "30 MHz to 50 GHz",
          verified: "reference links",
          tolerance: "0.1 dB",
        },
      ]),
  );
  api.use((_q, s) => fault(s, 404, "http.not-found", "There is no such address."));
  app.use("/api", api);
  app.use(express.static(options.client));
  return app;
}

if (process.argv[1]?.endsWith("mock-server.ts")) {
  const port = Number(process.argv[2] ?? 4173);
  createMock({
    client: "dist/client",
    ready: process.argv[3] !== "empty",
    stepMs: 250,
    noFeasible: process.argv[3] === "short",
  }).listen(port, "127.0.0.1", () => console.log(`mock at http://127.0.0.1:${port}`));
}
