import { describe, expect, test } from "vitest";
import {
  createPointOut,
  createSweepOut,
  ROUTE_OVER,
  ROUTE_THROUGH,
  type SweepScene,
  sweepLoss,
  sweepPoint,
  sweepScene,
} from "../../src/coverage/index.ts";
import type { Scene } from "../../src/terrain/scene.ts";
import { noise, ruggedTerrain } from "../support/closed-form-terrain.ts";

const wanted = { elevationDeg: true, unknownShare: true, lineOfSight: true, vegetationM: true, route: true };

function sceneOf(cols: number, rows: number, cellM: number, ground: Float32Array, canopyM: Float32Array): SweepScene {
  const canopyTopM = ground.map((h, i) => (canopyM[i]! > 0 ? h + canopyM[i]! : Number.NEGATIVE_INFINITY));
  const surfaceM = ground.map((h, i) => Math.max(h, canopyTopM[i]!));
  return { cols, rows, cellM, groundM: ground, surfaceM, bareSurfaceM: ground, canopyTopM };
}

const jobAt = (col: number, row: number, antennaAmslM: number, receiverHeightM: number) => ({
  col,
  row,
  antennaAmslM,
  receiverHeightM,
  frequencyMHz: 763,
  polarization: "vertical" as const,
  maxRangeM: 1e9,
  mask: null,
});

describe("a belt of trees across a plain", () => {
  const cols = 101;
  const belt = (c: number) => c >= 40 && c < 46;
  const scene = sceneOf(
    cols,
    1,
    10,
    new Float32Array(cols).fill(20),
    Float32Array.from({ length: cols }, (_, c) => (belt(c) ? 15 : 0)),
  );
  const out = createPointOut(cols, wanted);
  const vegetation = { specificDbPerM: 0.15, maximumDb: 24 };
  sweepPoint(scene, { ...jobAt(0, 0, 26, 1.5), vegetation }, out);

  test("length inside is the belt's width where the direct ray meets it", () => {
    for (let c = 1; c <= 40; c++) expect(out.vegetationM![c]).toBe(0);
    // The cell the receiver stands in does not count, those between it and the belt's edge do.
    for (let c = 41; c < 46; c++) if (out.route![c] === ROUTE_THROUGH) expect(out.vegetationM![c]).toBe(10 * (c - 40));
    for (let c = 46; c < cols; c++) if (out.route![c] === ROUTE_THROUGH) expect(out.vegetationM![c]).toBe(60);
  });

  test("the lesser of the two ways counts: through, A_m(1 − exp(−dγ/A_m)) more than bare ground (P.833-9 §2.1); over, solid", () => {
    const bare = createSweepOut(cols);
    const solid = createSweepOut(cols);
    const { groundM, surfaceM } = scene;
    const terrain = { cols, rows: 1, cellM: 10, groundM };
    sweepLoss({ ...terrain, obstacleM: groundM }, { ...jobAt(0, 0, 26, 1.5), canopy: "solid" }, bare);
    sweepLoss({ ...terrain, obstacleM: surfaceM }, { ...jobAt(0, 0, 26, 1.5), canopy: "solid" }, solid);
    const through = 24 * (1 - Math.exp((-60 * 0.15) / 24));
    let won = 0;
    for (let c = 46; c < cols; c++) {
      const expected = Math.min(bare.lossDb[c]! + through, solid.lossDb[c]!);
      expect(Math.abs(out.lossDb[c]! - expected)).toBeLessThan(1e-4);
      expect(out.route![c]).toBe(bare.lossDb[c]! + through < solid.lossDb[c]! ? ROUTE_THROUGH : ROUTE_OVER);
      won += out.route![c]!;
      expect(out.lineOfSight![c]).toBe(0); // against solid canopy
    }
    expect(won).toBeGreaterThan(0);
  });
});

test("combined loss is never above either way alone, with its own elevation; obstacles under trees still block", () => {
  const { cols, rows, cellM, groundM, obstacleM } = ruggedTerrain(60, 45, 20, 3, true);
  const random = noise(6);
  const canopyM = groundM.map(() => (random() < 0.3 ? 4 + 15 * random() : 0));
  const scene = { ...sceneOf(cols, rows, cellM, groundM, canopyM), bareSurfaceM: obstacleM };
  scene.surfaceM = scene.surfaceM.map((h, i) => Math.max(h, obstacleM[i]!));
  const vegetation = { specificDbPerM: 0.15, maximumDb: 24 };
  const job = { ...jobAt(22, 30, groundM[30 * 60 + 22]! + 2, 6), vegetation };
  const out = createPointOut(2700, wanted);
  sweepPoint(scene, job, out);
  const over = createSweepOut(2700, wanted);
  const through = createSweepOut(2700, wanted);
  const terrain = { cols, rows, cellM, groundM, canopyTopM: scene.canopyTopM };
  sweepLoss({ ...terrain, obstacleM: scene.surfaceM }, { ...job, canopy: "solid" }, over);
  sweepLoss({ ...terrain, obstacleM: scene.bareSurfaceM }, { ...job, canopy: "absent" }, through);
  let won = 0;
  for (let i = 0; i < 2700; i++) {
    const pick = through.lossDb[i]! < over.lossDb[i]! ? through : over;
    won += pick === through ? 1 : 0;
    expect(out.lossDb[i]).toBe(pick.lossDb[i]);
    expect(out.elevationDeg![i]).toBe(pick.elevationDeg![i]);
    expect(out.vegetationM![i]).toBe(pick === through ? through.vegetationM![i] : 0);
    expect(out.lineOfSight![i]).toBe(over.lineOfSight![i]);
  }
  expect(won).toBeGreaterThan(100);
  expect(won).toBeLessThan(2600);
});

test("length inside vegetation equals a count along each exact ray", () => {
  const { cols, rows, cellM, groundM } = ruggedTerrain(121, 1, 20, 9);
  const random = noise(8);
  const canopyM = groundM.map(() => (random() < 0.5 ? 10 : 0));
  const scene = sceneOf(cols, rows, cellM, groundM, canopyM);
  const out = createSweepOut(121, { vegetationM: true });
  const antenna = groundM[0]! + 20;
  const radiusKm = 8000;
  sweepLoss(
    { cols, rows, cellM, groundM, obstacleM: groundM, canopyTopM: scene.canopyTopM },
    { ...jobAt(0, 0, antenna, 3), effectiveRadiusKm: radiusKm, canopy: "absent" },
    out,
  );
  for (let n = 1; n < 121; n++) {
    const end = groundM[n]! + 3;
    let count = 0;
    for (let j = 1; j < n; j++) {
      const ray = antenna + ((end - antenna) * j) / n - (j * 20 * (n - j) * 20) / (2 * radiusKm * 1000);
      if (canopyM[j]! > 0 && scene.canopyTopM![j]! >= ray) count++;
    }
    expect(out.vegetationM![n]).toBe(20 * count);
  }
});

test("without a canopy, or without its loss, there is one route", () => {
  const { cols, rows, cellM, groundM, obstacleM } = ruggedTerrain(30, 20, 20, 3, true);
  const scene: SweepScene = {
    cols,
    rows,
    cellM,
    groundM,
    surfaceM: obstacleM,
    bareSurfaceM: obstacleM,
    canopyTopM: null,
  };
  const out = createPointOut(600, wanted);
  sweepPoint(scene, jobAt(4, 4, groundM[124]! + 3, 6), out);
  const plain = createSweepOut(600);
  sweepLoss(
    { cols, rows, cellM, groundM, obstacleM },
    { ...jobAt(4, 4, groundM[124]! + 3, 6), canopy: "solid" },
    plain,
  );
  expect(out.lossDb).toEqual(plain.lossDb);
  expect(out.route!.every((v) => v === ROUTE_OVER)).toBe(true);
});

test("a scene's arrays are shared, its canopy top is ground plus vegetation where there is any", () => {
  const cells = 6;
  const shared = (values: number[]) => {
    const array = new Float32Array(new SharedArrayBuffer(cells * 4));
    array.set(values);
    return array;
  };
  const groundM = shared([1, 2, 3, 4, 5, Number.NaN]);
  const canopyM = shared([0, 5, 0, 2, Number.NaN, 3]);
  const scene = {
    grid: { westM: 0, northM: 0, cellM: 2, cols: 3, rows: 2 },
    groundM,
    surfaceM: groundM,
    bareSurfaceM: groundM,
    canopyM,
  } as unknown as Scene;
  const view = sweepScene(scene);
  expect(view.groundM).toBe(groundM);
  expect(view.canopyTopM!.buffer).toBeInstanceOf(SharedArrayBuffer);
  const none = Number.NEGATIVE_INFINITY;
  expect([...view.canopyTopM!]).toEqual([none, 7, none, 6, none, Number.NaN]);
});
