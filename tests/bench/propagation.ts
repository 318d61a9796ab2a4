import {
  DELTA_SLOTS,
  deltaBullingtonInto,
  ITM_SLOTS,
  itmLink,
  itmPointToPointInto,
  P1812_SLOTS,
  p1812Into,
  p1812Link,
  type RadioProfile,
} from "../../src/propagation/index.ts";
import { seeded } from "../support/random-profile.ts";

const SAMPLES = 480;
const PROFILES = 64;
const ROUNDS = 7;

/** Rolling ground with single buildings on it; half of the paths clear, half blocked. */
function profiles(withObstacles: boolean): RadioProfile[] {
  const random = seeded(20);
  return Array.from({ length: PROFILES }, (_, k) => {
    const D = 0.5 + 14 * random();
    const distancesKm = Float64Array.from({ length: SAMPLES }, (_, i) => (D * i) / (SAMPLES - 1));
    const relief = k % 2 === 0 ? 3 : 60;
    const a = random() * 6;
    const b = random() * 6;
    const groundM = distancesKm.map(
      (d) => 300 + relief * (Math.sin(a + 2 * d) + 0.4 * Math.sin(b + 9 * d) + 0.05 * random()),
    );
    const obstacleM = withObstacles ? groundM.map((h) => h + (random() < 0.05 ? 8 : 0)) : groundM;
    return { distancesKm, groundM, obstacleM, n: SAMPLES };
  });
}

interface Row {
  name: string;
  run: (p: RadioProfile) => number;
  set: RadioProfile[];
  perSecond: number[];
}

/** Profiles per second of every kernel, rounds interleaved, median and range; consumes every result. */
export async function benchPropagation(): Promise<string> {
  const bare = profiles(false);
  const built = profiles(true);
  const delta = new Float64Array(DELTA_SLOTS);
  const out = new Float64Array(P1812_SLOTS);
  const link = p1812Link(bare[0]!, { frequencyMHz: 763, txHeightM: 6, rxHeightM: 1.5, polarization: "vertical" });
  const runDelta = (p: RadioProfile): number => {
    const { distancesKm: d, groundM: g, obstacleM: o, n } = p;
    deltaBullingtonInto(d, g, o, n, g[0]! + 6, g[n - 1]! + 1.5, 8500, 0.763, 3, 1, 0, delta);
    return delta[0]!;
  };
  const runP1812 =
    (timePct: number) =>
    (p: RadioProfile): number => {
      link.p = timePct;
      link.bothPasses = false;
      link.dtm = link.dlm = p.distancesKm[p.n - 1]!;
      p1812Into(p.distancesKm, p.groundM, p.obstacleM, p.n, link, out);
      return out[0]!;
    };
  const itm = new Float64Array(ITM_SLOTS);
  const itmInput = itmLink({ frequencyMHz: 763, txHeightM: 6, rxHeightM: 1.5, polarization: "vertical" });
  const runItm = (p: RadioProfile): number => {
    itmPointToPointInto(p.groundM, p.n - 1, (1000 * p.distancesKm[p.n - 1]!) / (p.n - 1), itmInput, itm);
    return itm[0]!;
  };
  const rows: Row[] = [
    { name: "delta-Bullington, fused", run: runDelta, set: bare, perSecond: [] },
    { name: "delta-Bullington, fused, obstacles", run: runDelta, set: built, perSecond: [] },
    { name: "P.1812, 50 % time", run: runP1812(50), set: bare, perSecond: [] },
    { name: "P.1812, 50 % time, obstacles", run: runP1812(50), set: built, perSecond: [] },
    { name: "P.1812, 10 % time, obstacles", run: runP1812(10), set: built, perSecond: [] },
    { name: "irregular terrain model", run: runItm, set: bare, perSecond: [] },
  ];
  let checksum = 0;
  const once = (row: Row, repeats: number): number => {
    const start = performance.now();
    for (let r = 0; r < repeats; r++) for (const p of row.set) checksum += row.run(p);
    return (1000 * repeats * PROFILES) / (performance.now() - start);
  };
  for (let k = 0; k < 3; k++) for (const row of rows) once(row, 40);
  for (let k = 0; k < ROUNDS; k++) for (const row of rows) row.perSecond.push(once(row, 60));
  const median = (x: number[]): number => [...x].sort((a, b) => a - b)[x.length >> 1]!;
  const base = median(rows[0]!.perSecond);
  const lines = rows.map((r) => {
    const m = median(r.perSecond);
    const range = `${(Math.min(...r.perSecond) / 1000).toFixed(1)}–${(Math.max(...r.perSecond) / 1000).toFixed(1)}`;
    return `| ${r.name} | ${(m / 1000).toFixed(1)} | ${range} | ${(base / m).toFixed(2)} |`;
  });
  return [
    `Propagation, ${SAMPLES} samples a profile, one thread (checksum ${checksum.toExponential(6)})`,
    "",
    "| kernel | thousand profiles/s | range | × fused delta-Bullington |",
    "|---|---|---|---|",
    ...lines,
  ].join("\n");
}
