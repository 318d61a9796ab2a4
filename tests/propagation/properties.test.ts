import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  deltaBullington,
  entryLossDb,
  freeSpaceLossDb,
  itmPointToPoint,
  knifeEdgeLossDb,
  type P1812Input,
  p1812,
  type RadioProfile,
  rainAttenuation,
  refinedLoss,
  skyClutterLossDb,
  terrestrialClutterLossDb,
  vegetationLossDb,
} from "../../src/propagation/index.ts";
import { soakPropagation } from "../soak/propagation.ts";
import { fillRandom, profileRoom, type RandomOptions, reversed, seeded } from "../support/random-profile.ts";

const RUNS = { numRuns: 400 };

/** A random profile and link of their own, made from one seed that a failure prints. */
function draw(
  seed: number,
  options: Partial<RandomOptions> = {},
): { profile: RadioProfile; link: P1812Input; random: () => number } {
  const random = seeded(seed);
  const room = fillRandom(profileRoom(80), random, {
    points: [4, 80],
    lengthKm: [0.25, 60],
    obstacles: true,
    ...options,
  });
  const n = room.n;
  const profile = {
    distancesKm: room.distancesKm.slice(0, n),
    groundM: room.groundM.slice(0, n),
    obstacleM: room.obstacleM.slice(0, n),
    n,
  };
  const link: P1812Input = {
    frequencyMHz: 40 * 150 ** random(),
    txHeightM: 1 + 30 * random(),
    rxHeightM: 1 + 10 * random(),
    polarization: random() < 0.5 ? "vertical" : "horizontal",
    timePct: random() < 0.5 ? 50 : 1 + 49 * random(),
  };
  return { profile, link, random };
}
const each = (check: (seed: number) => void, runs = RUNS) =>
  fc.assert(fc.property(fc.integer({ min: 1, max: 2 ** 31 - 1 }), check), runs);
const swapped = (link: P1812Input): P1812Input => ({ ...link, txHeightM: link.rxHeightM, rxHeightM: link.txHeightM });

describe("reciprocity", () => {
  test("P.526: both ways the same loss", () =>
    each((seed) => {
      const { profile, link } = draw(seed);
      expect(deltaBullington(reversed(profile), swapped(link)).lossDb).toBeCloseTo(
        deltaBullington(profile, link).lossDb,
        6,
      );
    }));

  test("P.1812: both ways the same loss, with zones and coasts turned round", () =>
    each((seed) => {
      const { profile, link, random } = draw(seed);
      const zones = Uint8Array.from({ length: profile.n }, () => [1, 3, 4][Math.floor(random() * 3)]!);
      const there = { ...link, zones, txCoastKm: 2, rxCoastKm: 7, deltaN: 60 };
      const back = { ...swapped(there), zones: zones.slice().reverse(), txCoastKm: 7, rxCoastKm: 2 };
      expect(p1812(reversed(profile), back).lossDb).toBeCloseTo(p1812(profile, there).lossDb, 6);
    }));

  test("irregular terrain model: the same within 0.001 dB on at least 98 % of paths (an index may flip)", () => {
    let off = 0;
    const count = 1000;
    for (let seed = 1; seed <= count; seed++) {
      const { profile, link } = draw(seed, { equalSteps: true, lengthKm: [1, 60] });
      const a = itmPointToPoint(profile, link).lossDb;
      const b = itmPointToPoint(reversed(profile), swapped(link)).lossDb;
      if (!(Math.abs(a - b) < 1e-3)) off++;
    }
    expect(off).toBeLessThanOrEqual(0.02 * count);
  });
});

describe("monotone where physics says so", () => {
  test("an obstacle added or raised never lowers the loss: P.526, P.1812 at any time percentage, refined", () =>
    each((seed) => {
      const { profile, link, random } = draw(seed, seed % 2 === 0 ? { lengthKm: [0.15, 0.4] } : {});
      const obstacleM = profile.obstacleM.slice();
      const at = 1 + Math.floor(random() * (profile.n - 2));
      obstacleM[at] = obstacleM[at]! + 30 * random();
      const taller = { ...profile, obstacleM };
      expect(deltaBullington(taller, link).lossDb).toBeGreaterThanOrEqual(deltaBullington(profile, link).lossDb - 1e-9);
      expect(p1812(taller, link).lossDb).toBeGreaterThanOrEqual(p1812(profile, link).lossDb - 1e-9);
      expect(refinedLoss(taller, link).lossDb).toBeGreaterThanOrEqual(refinedLoss(profile, link).lossDb - 1e-9);
    }));

  test("the actual-profile term rises with frequency where the path is blocked, and falls as an antenna rises", () =>
    each((seed) => {
      const { profile, link, random } = draw(seed);
      const here = deltaBullington(profile, link);
      if (here.Lbulla > 13) {
        const higher = deltaBullington(profile, { ...link, frequencyMHz: link.frequencyMHz * (1 + random()) });
        expect(higher.Lbulla).toBeGreaterThanOrEqual(here.Lbulla - 1e-9);
      }
      const lifted = deltaBullington(profile, { ...link, txHeightM: link.txHeightM + 20 * random() });
      expect(lifted.Lbulla).toBeLessThanOrEqual(here.Lbulla + 1e-9);
    }));

  test("more locations, more loss: P.1812; more of any percentage, more loss: irregular terrain model", () =>
    each(
      (seed) => {
        const { profile, link, random } = draw(seed, { equalSteps: true, lengthKm: [1, 60] });
        const a = 1 + 97 * random();
        const b = a + (99 - a) * random();
        const spread = { ...link, locationSigmaDb: 6 };
        expect(p1812(profile, { ...spread, locationPct: b }).lossDb).toBeGreaterThanOrEqual(
          p1812(profile, { ...spread, locationPct: a }).lossDb - 1e-9,
        );
        for (const mdvar of [0, 1, 2, 3, 12, 23, 31])
          for (const key of ["timePct", "locationPct", "situationPct"] as const) {
            const at = (value: number) =>
              itmPointToPoint(profile, { ...link, timePct: 50, mdvar, [key]: value }).lossDb;
            expect(at(b)).toBeGreaterThanOrEqual(at(a) - 1e-9);
          }
      },
      { numRuns: 150 },
    ));

  test("free space, knife edge, vegetation, entry loss, clutter, rain", () =>
    fc.assert(
      fc.property(
        fc.double({ min: 0.01, max: 0.98, noNaN: true }),
        fc.double({ min: 1.001, max: 3, noNaN: true }),
        (u, more) => {
          const f = 100 * 20 ** u;
          expect(freeSpaceLossDb(u * more, f)).toBeGreaterThan(freeSpaceLossDb(u, f));
          expect(freeSpaceLossDb(u, f * more)).toBeGreaterThan(freeSpaceLossDb(u, f));
          expect(knifeEdgeLossDb(5 * u * more)).toBeGreaterThan(knifeEdgeLossDb(5 * u));
          for (const leaf of ["leaf-on", "leaf-off"] as const) {
            expect(vegetationLossDb(100 * u * more, f, leaf)).toBeGreaterThan(vegetationLossDb(100 * u, f, leaf));
            expect(vegetationLossDb(100 * u, f * more, leaf)).toBeGreaterThanOrEqual(
              vegetationLossDb(100 * u, f, leaf),
            );
          }
          const p = Math.min(u * more, 0.999);
          for (const kind of ["traditional", "efficient"] as const)
            expect(entryLossDb(kind, f, 10, p)).toBeGreaterThan(entryLossDb(kind, f, 10, u));
          expect(terrestrialClutterLossDb(5 * f, 1, 100 * p)).toBeGreaterThan(
            terrestrialClutterLossDb(5 * f, 1, 100 * u),
          );
          expect(skyClutterLossDb(20_000, 20, 100 * p)).toBeGreaterThan(skyClutterLossDb(20_000, 20, 100 * u));
          expect(rainAttenuation(12_000, 100 * u * more, 30, 45).gammaR).toBeGreaterThan(
            rainAttenuation(12_000, 100 * u, 30, 45).gammaR,
          );
        },
      ),
      RUNS,
    ));
});

test("height above the sea does not matter to diffraction", () =>
  each((seed) => {
    const { profile, link } = draw(seed);
    const lifted = {
      ...profile,
      groundM: profile.groundM.map((h) => h + 1000),
      obstacleM: profile.obstacleM.map((h) => h + 1000),
    };
    expect(deltaBullington(lifted, link).Ld).toBeCloseTo(deltaBullington(profile, link).Ld, 6);
  }));

test("three hundred thousand random valid profiles: no NaN and no loss below 0 dB in any model", () => {
  const report = soakPropagation(300_000, 20_261);
  expect(report.examples).toEqual([]);
  expect(report.bad).toEqual({ p526: 0, p1812: 0, itm: 0 });
});
