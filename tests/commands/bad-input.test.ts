import { spawnSync } from "node:child_process";
import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { errorAnswer } from "../../src/plan/outputs/common.ts";
import { rankAnswer } from "../../src/plan/outputs/rank.ts";
import { projectRoot } from "../support/tools.ts";

/** Every kind of bad input a plan can hold ends in a specific code and message, exit 2, and nothing written. */
const launcher = join(projectRoot, "server/cli/launch.mjs");
let folder: string;
// biome-ignore lint/suspicious/noExplicitAny: a plan that is wrong on purpose has no type
type Any = any;
let good: Any;

const run = (args: string[]) =>
  spawnSync(process.execPath, [launcher, ...args], { encoding: "utf8", timeout: 110_000 });

function rankWith(change: (plan: Any) => void) {
  const plan = structuredClone(good);
  change(plan);
  const file = join(folder, "changed.plan.json");
  writeFileSync(file, JSON.stringify(plan));
  const out = join(folder, "out");
  rmSync(out, { recursive: true, force: true });
  const json = run(["rank", file, "--out", out, "--json"]);
  return { json, wrote: existsSync(out), file, out };
}

const move = (geometry: Any, lng: number, lat: number): void => {
  geometry.coordinates = JSON.parse(JSON.stringify(geometry.coordinates), (_k, v) =>
    Array.isArray(v) && typeof v[0] === "number" ? [v[0] + lng, v[1] + lat] : v,
  );
};
const swap = (geometry: Any): void => {
  geometry.coordinates = JSON.parse(JSON.stringify(geometry.coordinates), (_k, v) =>
    Array.isArray(v) && typeof v[0] === "number" ? [v[1], v[0]] : v,
  );
};

const CASES: [what: string, code: string, says: RegExp, change: (plan: Any) => void][] = [
  ["an unknown field", "plan.unknown-field", /unit\.tipHieghtM|tipHieghtM/, (p) => (p.unit.tipHieghtM = 6)],
  [
    "a wrong unit",
    "plan.unknown-field",
    /tipHeightFt/,
    (p) => {
      delete p.unit.tipHeightM;
      p.unit.tipHeightFt = 20;
    },
  ],
  ["a number as text", "plan.invalid", /tip height/i, (p) => (p.unit.tipHeightM = "six")],
  ["a number out of range", "plan.invalid", /400|at most/, (p) => (p.unit.tipHeightM = 400)],
  [
    "swapped longitude and latitude",
    "plan.coordinates-swapped",
    /swap|order/i,
    (p) => {
      for (const f of p.points.features) swap(f.geometry);
    },
  ],
  [
    "a polygon outside the rasters",
    "plan.geometry-outside",
    /outside|beyond/i,
    (p) => {
      p.parking.features = p.parking.features.slice(0, 1);
      move(p.parking.features[0].geometry, 0.02, 0);
      p.terrain.marginM = 20;
    },
  ],
  [
    "a polygon that crosses itself",
    "plan.geometry-invalid",
    /cross/i,
    (p) => {
      const r = p.parking.features[0].geometry.coordinates[0];
      [r[1], r[2]] = [r[2], r[1]];
    },
  ],
  [
    "ids that repeat",
    "plan.duplicate-id",
    /cp/,
    (p) => (p.points.features[1].properties.id = p.points.features[0].properties.id),
  ],
  ["a raster that is not there", "file.missing", /nosuch\.tif/, (p) => (p.terrain.ground[0].file = "nosuch.tif")],
  [
    "a file outside the plan's folder",
    "file.outside-folder",
    /\.\./,
    (p) => (p.terrain.buildings = "../buildings.geojson"),
  ],
  ["an absolute path", "file.outside-folder", /\/etc/, (p) => (p.terrain.buildings = "/etc/hostname")],
  [
    "a raster without CRS",
    "terrain.no-crs",
    /coordinate system|CRS/i,
    (p) => {
      p.terrain = { ground: ["nocrs.tif"] };
    },
  ],
  [
    "a huge coordinate",
    "plan.coordinates-far",
    /1e\+?30|pole|far|beyond/i,
    (p) => (p.points.features[0].geometry.coordinates = [1e30, 42]),
  ],
  ["a huge count", "plan.invalid", /200|at most/, (p) => (p.search.shortlist = 1_000_000)],
  [
    "a need the unit does not offer",
    "plan.unknown-reference",
    /cell\/sing/,
    (p) => (p.points.features[0].properties.needs = ["cell/sing"]),
  ],
];

describe("bad input", () => {
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), "hs-bad-"));
    cpSync(join(projectRoot, "data-samples/downtown"), folder, { recursive: true });
    good = JSON.parse(readFileSync(join(folder, "downtown.plan.json"), "utf8"));
    // The demo's ground with its georeference keys renamed to tags nobody reads: heights and place stay, the system is gone.
    const tif = readFileSync(join(folder, "ground.tif"));
    const ifd = tif.readUInt32LE(4);
    for (let i = 0; i < tif.readUInt16LE(ifd); i++) {
      const at = ifd + 2 + 12 * i;
      const tag = tif.readUInt16LE(at);
      if (tag >= 34735 && tag <= 34737) tif.writeUInt16LE(tag + 30_000, at);
    }
    writeFileSync(join(folder, "nocrs.tif"), tif);
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  test.each(CASES)("%s: %s", (_what, code, says, change) => {
    const { json, wrote } = rankWith(change);
    expect(json.status).toBe(2);
    const { error } = errorAnswer.parse(JSON.parse(json.stdout));
    expect(error.code).toBe(code);
    expect(`${error.message} ${error.where} ${error.received} ${error.hint}`).toMatch(says);
    expect(error.hint).not.toBe("");
    expect(wrote).toBe(false);
  });

  test("a file that is not JSON, and one that is not there", () => {
    writeFileSync(join(folder, "broken.plan.json"), "{ not json");
    for (const [name, code] of [
      ["broken.plan.json", "plan.not-json"],
      ["absent.plan.json", "file.missing"],
    ]) {
      const done = run(["rank", join(folder, name!), "--json"]);
      expect(done.status).toBe(2);
      expect(errorAnswer.parse(JSON.parse(done.stdout)).error.code).toBe(code);
    }
  });

  test("parking without a legal cell is an answer: nothing feasible, what struck it out, the nearest misses", () => {
    const { json } = rankWith((p) => {
      p.hazards.features.push({
        type: "Feature",
        geometry: { type: "Polygon", coordinates: [boxAround(p)] },
        properties: { kind: "keep-out", name: "Closed quarter" },
      });
    });
    expect(json.status).toBe(0);
    const answer = rankAnswer.parse(JSON.parse(json.stdout));
    expect(answer.feasibleCount).toBe(0);
    expect(answer.rejected.some((r) => r.reason === "keep-out" && r.hectares > 0)).toBe(true);
    expect(answer.nearestMisses.length).toBeGreaterThan(0);
    expect(answer.nearestMisses[0]!.text).toMatch(/Closed quarter/);
  });

  test("a killed run leaves no half-written file", async () => {
    const out = join(folder, "killed");
    const { spawn } = await import("node:child_process");
    for (const wait of [400, 1200]) {
      const child = spawn(process.execPath, [launcher, "rank", join(folder, "downtown.plan.json"), "--out", out], {
        stdio: "ignore",
      });
      await new Promise((done) => setTimeout(done, wait));
      child.kill("SIGKILL");
      await new Promise((done) => child.once("exit", done));
      // Either nothing yet, or all four files whole.
      if (existsSync(out))
        for (const f of ["ranking.json", "ranking.csv", "spots.geojson", "suitability.tif"])
          expect(existsSync(join(out, f))).toBe(true);
    }
  });
});

function boxAround(p: Any): number[][] {
  const all = p.parking.features.flatMap((f: Any) =>
    f.geometry.type === "Point" ? [f.geometry.coordinates] : f.geometry.coordinates[0],
  );
  const [w, e] = [
    Math.min(...all.map((c: number[]) => c[0])) - 1e-4,
    Math.max(...all.map((c: number[]) => c[0])) + 1e-4,
  ];
  const [s, n] = [
    Math.min(...all.map((c: number[]) => c[1])) - 1e-4,
    Math.max(...all.map((c: number[]) => c[1])) + 1e-4,
  ];
  return [
    [w, s],
    [e, s],
    [e, n],
    [w, n],
    [w, s],
  ];
}
