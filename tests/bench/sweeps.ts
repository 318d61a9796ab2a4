import { readFileSync } from "node:fs";
import { createPool, type Pool, runProfiles, runSweeps, runVisible } from "../../server/workers/index.ts";
import {
  createSweepOut,
  PATH_NUMBERS,
  profileBatch,
  type SweepScene,
  type SweepTerrain,
  sweepLoss,
  sweepVisible,
} from "../../src/coverage/index.ts";
import { noise } from "../support/closed-form-terrain.ts";
import { mtHood, type RealCase, realCases, vancouverIsland } from "../support/real-ground.ts";
import { referenceAt } from "../support/reference-grid.ts";
import { lossErrors, lossJob, visibilityAgreement } from "../support/sweep-accuracy.ts";
import { hasCommand, sharedFolder } from "../support/tools.ts";
import { interleave, table } from "./timing.ts";
import { Yardstick, yardstickMissing } from "./yardstick.ts";

const ROUNDS = 5;

/** Sweeps beside general tools on the same rasters in one run. Answers the tables to print; says what is missing. */
export async function benchSweeps(): Promise<string> {
  if (sharedFolder() === null) return "sweeps: the reference folder ../shared is missing; nothing measured";
  if (!hasCommand("gdalwarp")) return "sweeps: the command gdalwarp (gdal-bin) is missing; nothing measured";
  const missing = yardstickMissing();
  if (missing !== null) return `sweeps: ${missing} is missing; nothing measured`;
  const yardstick = new Yardstick();
  const pool = createPool({ threads: 2 });
  try {
    const base = { antennaM: 10, receiverHeightM: 2, frequencyMHz: 900 };
    const on = (name: string, terrain: SweepTerrain, maxRangeM: number): RealCase => ({
      name,
      rugged: false,
      ...base,
      terrain: toShared(terrain),
      col: terrain.cols >> 1,
      row: terrain.rows >> 1,
      maxRangeM,
    });
    const grounds = [
      on("Mt Hood 30 m", mtHood(), 1e9),
      on("SRTM 30 m, 20 km", vancouverIsland(30), 20_000),
      on("SRTM at 14 m", vancouverIsland(14), 1e9),
    ];
    const parts: string[] = [];
    for (const real of grounds) parts.push(await kernels(real, yardstick, pool));
    parts.push(await profiles(grounds[0]!, yardstick, pool));
    parts.push(accuracy());
    return parts.join("\n\n");
  } finally {
    yardstick.close();
    await pool.close();
  }
}

function toShared(terrain: SweepTerrain): SweepTerrain {
  const share = (values: Float32Array) => {
    const shared = new Float32Array(new SharedArrayBuffer(values.byteLength));
    shared.set(values);
    return shared;
  };
  const groundM = share(terrain.groundM);
  return { ...terrain, groundM, obstacleM: groundM };
}

function sceneOf({ cols, rows, cellM, groundM }: SweepTerrain): SweepScene {
  return { cols, rows, cellM, groundM, surfaceM: groundM, bareSurfaceM: groundM, canopyTopM: null };
}

/** Paths from the case's terminal to evenly drawn cells in range. */
function drawnPaths(real: RealCase, count: number): Float64Array {
  const { terrain, col, row } = real;
  const job = lossJob(real);
  const random = noise(3);
  const paths = new Float64Array(count * PATH_NUMBERS);
  for (let i = 0; i < count; ) {
    const c = Math.floor(random() * terrain.cols);
    const r = Math.floor(random() * terrain.rows);
    if ((c === col && r === row) || Math.hypot(c - col, r - row) * terrain.cellM > real.maxRangeM) continue;
    const ground = terrain.groundM[r * terrain.cols + c]!;
    paths.set([col, row, job.antennaAmslM, c, r, ground + job.receiverHeightM], i * PATH_NUMBERS);
    i++;
  }
  return paths;
}

async function kernels(real: RealCase, yardstick: Yardstick, pool: Pool): Promise<string> {
  const { terrain, col, row, maxRangeM } = real;
  const { cols, rows, cellM, groundM } = terrain;
  const cells = cols * rows;
  const job = lossJob(real);
  const eye = { col, row, eyeAmslM: job.antennaAmslM, targetHeightM: job.receiverHeightM, maxRangeM, mask: null };
  await yardstick.ask({ op: "load", name: real.name, file: yardstick.file(groundM), cols, rows, cell: cellM });
  const range = maxRangeM > 1e8 ? 0 : maxRangeM;
  const question = { op: "viewshed", name: real.name, col, row, tx: real.antennaM, rx: real.receiverHeightM, range };
  const loss = createSweepOut(cells);
  sweepLoss(terrain, job, loss);
  const evaluated = loss.lossDb.reduce((count, v) => (Number.isNaN(v) ? count : count + 1), 0);
  const seen = new Uint8Array(cells);
  const drawn = 4000;
  const paths = drawnPaths(real, drawn);
  const single = createSweepOut(drawn);
  const scale = evaluated / drawn;
  const slowDrawn = 200;
  const ms = await interleave(
    [
      { name: "GDAL viewshed", run: async () => (await yardstick.ask(question)).ms },
      {
        name: "visible",
        run: () => {
          sweepVisible(terrain, eye, seen);
          return undefined;
        },
      },
      {
        name: "loss",
        run: () => {
          sweepLoss(terrain, job, loss);
          return undefined;
        },
      },
      {
        name: "visible, 2 workers",
        run: async () => {
          await runVisible(pool, terrain, eye);
          return undefined;
        },
      },
      {
        name: "loss, 2 workers",
        run: async () => {
          await runSweeps(pool, sceneOf(terrain), [job]);
          return undefined;
        },
      },
      {
        name: "loss, path by path (scaled from 4,000 cells)",
        run: () => {
          const start = performance.now();
          profileBatch(terrain, job, paths, single);
          return (performance.now() - start) * scale;
        },
      },
      {
        name: "loss, plain reference (scaled from 200 cells)",
        run: () => {
          const start = performance.now();
          for (let i = 0; i < slowDrawn; i++)
            referenceAt(terrain, job, paths[i * PATH_NUMBERS + 3]!, paths[i * PATH_NUMBERS + 4]!);
          return ((performance.now() - start) * evaluated) / slowDrawn;
        },
      },
    ],
    ROUNDS,
  );
  const gdal = ms.get("GDAL viewshed")!;
  const out = yardstick.path();
  await yardstick.ask({ ...question, out });
  const gdalShare = visibilityAgreement(real, 20_000, 3, new Uint8Array(readFileSync(out)));
  const ownShare = visibilityAgreement(real, 20_000, 3);
  const sweep = ms.get("loss")!;
  return [
    `${real.name}: ${cols} × ${rows} cells, ${(evaluated / 1e6).toFixed(2)} M in range; medians of ${ROUNDS}, taken by turns`,
    table(
      ["kernel", "ms", "ns per cell", "× GDAL viewshed", "× loss sweep"],
      [...ms].map(([name, value]) => [
        name,
        value.toFixed(1),
        ((value * 1e6) / evaluated).toFixed(1),
        (value / gdal).toFixed(2),
        (value / sweep).toFixed(2),
      ]),
    ),
    `two workers against one: loss ${(sweep / ms.get("loss, 2 workers")!).toFixed(2)}×, visible ${(ms.get("visible")! / ms.get("visible, 2 workers")!).toFixed(2)}×`,
    `agreement with a straight-line march, 20,000 cells: sweep ${(100 * ownShare).toFixed(2)} %, GDAL ${(100 * gdalShare).toFixed(2)} %`,
  ].join("\n");
}

async function profiles(real: RealCase, yardstick: Yardstick, pool: Pool): Promise<string> {
  const { terrain } = real;
  const job = lossJob(real);
  const count = 6000;
  const random = noise(9);
  const paths = new Float64Array(count * PATH_NUMBERS);
  const at: [number[], number[]] = [[], []];
  for (let i = 0; i < count; i++) {
    const [c0, r0, c1, r1] = [terrain.cols, terrain.rows, terrain.cols, terrain.rows].map((size) =>
      Math.floor(random() * size),
    ) as [number, number, number, number];
    const height = (c: number, r: number) => terrain.groundM[r * terrain.cols + c]!;
    paths.set([c0, r0, height(c0, r0) + 10, c1, r1, height(c1, r1) + 2], i * PATH_NUMBERS);
    const n = Math.max(Math.abs(c1 - c0), Math.abs(r1 - r0), 1);
    for (let j = 0; j <= n; j++) {
      at[0].push(r0 + ((r1 - r0) * j) / n);
      at[1].push(c0 + ((c1 - c0) * j) / n);
    }
  }
  const samples = at[0].length;
  const file = yardstick.file(Float64Array.from([...at[0], ...at[1]]));
  await yardstick.ask({ op: "points", name: real.name, file });
  const out = createSweepOut(count);
  const ms = await interleave(
    [
      {
        name: "SciPy map_coordinates, sampling only",
        run: async () => (await yardstick.ask({ op: "map_coordinates", name: real.name })).ms,
      },
      {
        name: "profiles with loss",
        run: () => {
          profileBatch(terrain, job, paths, out);
          return undefined;
        },
      },
      {
        name: "profiles with loss, 2 workers",
        run: async () => {
          await runProfiles(pool, terrain, job, paths);
          return undefined;
        },
      },
    ],
    ROUNDS,
  );
  const scipy = ms.get("SciPy map_coordinates, sampling only")!;
  const one = ms.get("profiles with loss")!;
  return [
    `Profiles on ${real.name}: ${count} paths, ${(samples / 1e6).toFixed(2)} M samples`,
    table(
      ["what", "ms", "ns per sample", "× SciPy", "paths per s"],
      [...ms].map(([name, value]) => [
        name,
        value.toFixed(1),
        ((value * 1e6) / samples).toFixed(1),
        (value / scipy).toFixed(2),
        Math.round((1000 * count) / value).toString(),
      ]),
    ),
    `two workers against one: ${(one / ms.get("profiles with loss, 2 workers")!).toFixed(2)}×`,
  ].join("\n");
}

function accuracy(): string {
  const rows = realCases().map((real) => {
    const { cells, exactRays } = lossErrors(real, 4000, 1);
    const db = (value: number) => value.toFixed(3);
    return [
      real.name,
      db(cells.mean),
      db(cells.sd),
      db(cells.median),
      db(cells.p95),
      db(cells.p99),
      db(cells.worst),
      exactRays.worst.toExponential(1),
    ];
  });
  return [
    "|sweep − path by path over the exact line|, dB, 4,000 random cells each; last column: cells on exact rays",
    table(["ground", "mean", "SD", "median", "95 %", "99 %", "worst", "ray worst"], rows),
  ].join("\n");
}
