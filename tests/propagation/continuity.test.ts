import { expect, test } from "vitest";
import {
  deltaBullington,
  HANDOVER_FROM_KM,
  P1812_FROM_KM,
  type P1812Input,
  p1812,
  type RadioProfile,
  refinedLoss,
  secondOpinion,
} from "../../src/propagation/index.ts";
import { greatestJump } from "../support/jumps.ts";
import { fillRandom, profileRoom, seeded } from "../support/random-profile.ts";

/**
 * Jumps the Recommendations have of their own: 0.004 dB of the knife edge at ν = −0.78, grown to 0.012 dB by the Bullington term;
 * 0.017 dB of the height gain at B = 2; 0.001 dB of F(X) at X = 1.6.
 */
const OWN_JUMPS_DB = 0.02;
/** Default model error between two models of one path, one standard deviation: common practice, no source. */
const MODEL_SIGMA_DB = 6;

const copy = (p: RadioProfile): RadioProfile => ({
  distancesKm: p.distancesKm.slice(0, p.n),
  groundM: p.groundM.slice(0, p.n),
  obstacleM: p.obstacleM.slice(0, p.n),
  n: p.n,
});

/** Walks every input of a link over one profile and hands each walk to `see`. */
function walkInputs(
  profile: RadioProfile,
  link: P1812Input,
  at: number,
  loss: (p: RadioProfile, l: P1812Input) => number,
  see: (input: string, jump: number, where: number) => void,
): void {
  const walk = (input: string, f: (x: number) => number, from: number, to: number) => {
    const { jump, at: where } = greatestJump(f, from, to, 40);
    see(input, jump, where);
  };
  walk("frequency", (x) => loss(profile, { ...link, frequencyMHz: 10 ** x }), Math.log10(40), Math.log10(6000));
  walk("transmitter height", (x) => loss(profile, { ...link, txHeightM: x }), 1, 60);
  walk("receiver height", (x) => loss(profile, { ...link, rxHeightM: x }), 1, 20);
  walk("refractivity gradient", (x) => loss(profile, { ...link, deltaN: x }), 0, 100);
  const ground = copy(profile);
  const stands = profile.obstacleM[at]! - profile.groundM[at]!;
  walk(
    "one ground height",
    (x) => {
      ground.groundM[at] = x;
      ground.obstacleM[at] = x + stands;
      return loss(ground, link);
    },
    profile.groundM[at]! - 30,
    profile.groundM[at]! + 30,
  );
  const obstacle = copy(profile);
  walk(
    "one obstacle height",
    (x) => {
      obstacle.obstacleM[at] = obstacle.groundM[at]! + x;
      return loss(obstacle, link);
    },
    0,
    40,
  );
  const end = copy(profile);
  walk(
    "ground under the transmitter",
    (x) => {
      end.groundM[0] = x;
      return loss(end, link);
    },
    profile.groundM[0]! - 20,
    profile.groundM[0]! + 20,
  );
  const length = copy(profile);
  walk(
    "path length",
    (x) => {
      for (let i = 0; i < profile.n; i++) length.distancesKm[i] = profile.distancesKm[i]! * x;
      return loss(length, link);
    },
    0.5,
    2,
  );
}

function* draws(count: number, lengthKm: [number, number], seed: number) {
  const random = seeded(seed);
  const room = profileRoom(60);
  for (let k = 0; k < count; k++) {
    const profile = copy(
      fillRandom(room, random, { points: [5, 60], lengthKm, equalSteps: true, obstacles: k % 2 === 0 }),
    );
    const link: P1812Input = {
      frequencyMHz: [150, 763, 2437, 5800][k % 4]!,
      txHeightM: 2 + 20 * random(),
      rxHeightM: 1 + 5 * random(),
      polarization: random() < 0.5 ? "vertical" : "horizontal",
    };
    yield { k, profile, link, at: 1 + Math.floor(random() * (profile.n - 2)) };
  }
}

test.each([
  ["P.526", (p: RadioProfile, l: P1812Input) => deltaBullington(p, l).lossDb],
  ["P.1812 at 50 % time", (p: RadioProfile, l: P1812Input) => p1812(p, l).lossDb],
  [
    "the diffraction loss of P.1812 at 10 % time",
    (p: RadioProfile, l: P1812Input) => p1812(p, { ...l, timePct: 10 }).Ldp,
  ],
  ["refined", (p: RadioProfile, l: P1812Input) => refinedLoss(p, l).lossDb],
] as const)("%s is continuous in every input but for the Recommendation's own hundredths of a dB", (_, loss) => {
  let seen = 0;
  for (const { k, profile, link, at } of draws(50, [0.3, 40], 5))
    walkInputs(profile, link, at, loss, (input, jump, where) => {
      seen++;
      expect(jump, `profile ${k}, ${input} at ${where}`).toBeLessThanOrEqual(OWN_JUMPS_DB);
    });
  expect(seen).toBe(400);
});

test("P.1812 at 10 % time jumps where its horizon passes to another point: by its ducting and fading terms, not by diffraction", () => {
  // The Recommendation's own: horizon distances enter eq. (9) and (47) and are those of one profile point.
  let greatest = 0;
  for (const { profile, link, at } of draws(50, [0.3, 40], 5))
    walkInputs(
      profile,
      link,
      at,
      (p, l) => p1812(p, { ...l, timePct: 10 }).Lba,
      (_, jump) => {
        greatest = Math.max(greatest, jump);
      },
    );
  expect(greatest).toBeGreaterThan(OWN_JUMPS_DB);
});

test("hand-over from P.526 to P.1812: no jump, on open and on built-up paths", () => {
  let greatest = 0;
  for (const { k, profile, link } of draws(300, [1, 1.0001], 11)) {
    const scaled = copy(profile);
    const f = (km: number): number => {
      for (let i = 0; i < profile.n; i++)
        scaled.distancesKm[i] = profile.distancesKm[i]! * (km / profile.distancesKm[profile.n - 1]!);
      return refinedLoss(scaled, link).lossDb;
    };
    const { jump } = greatestJump(f, 0.18, 0.27, 60);
    greatest = Math.max(greatest, jump);
    expect(jump, `profile ${k}`).toBeLessThanOrEqual(OWN_JUMPS_DB);
    // One step of a fine walk moves less than the model's own uncertainty even where the two models lie far apart.
    for (let km = HANDOVER_FROM_KM; km < P1812_FROM_KM; km += 0.005)
      expect(Math.abs(f(km + 0.005) - f(km)), `profile ${k} at ${km} km`).toBeLessThan(MODEL_SIGMA_DB);
  }
  expect(greatest).toBeGreaterThan(0);
});

test("refined says which model it used", () => {
  const link: P1812Input = { frequencyMHz: 763, txHeightM: 6, rxHeightM: 1.5, polarization: "vertical" };
  const flat = (km: number): RadioProfile => {
    const groundM = new Float64Array(11).fill(100);
    return {
      distancesKm: Float64Array.from({ length: 11 }, (_, i) => (km * i) / 10),
      groundM,
      obstacleM: groundM,
      n: 11,
    };
  };
  expect(refinedLoss(flat(0.1), link)).toMatchObject({ model: "p526", p1812Share: 0, warnings: [] });
  expect(refinedLoss(flat(0.21), link).model).toBe("p526");
  expect(refinedLoss(flat(0.24), link).model).toBe("p1812");
  const far = refinedLoss(flat(2), link);
  expect(far).toMatchObject({ model: "p1812", p1812Share: 1, warnings: [] });
  expect(far.lossDb).toBe(p1812(flat(2), link).lossDb);
  expect(refinedLoss(flat(2), { ...link, frequencyMHz: 7000 }).warnings[0]!.code).toBe("p1812.frequency-range");
  expect(refinedLoss(flat(2), { ...link, rxHeightM: 0.5 }).warnings[0]!.code).toBe("p1812.height-range");
});

test("the second opinion starts at 1 km, reads bare ground, and is silent on a void", () => {
  const link: P1812Input = { frequencyMHz: 763, txHeightM: 6, rxHeightM: 1.5, polarization: "vertical" };
  const groundM = Float64Array.from({ length: 101 }, (_, i) => 100 + 10 * Math.sin(i / 9));
  const path = (km: number): RadioProfile => ({
    distancesKm: Float64Array.from({ length: 101 }, (_, i) => (km * i) / 100),
    groundM,
    obstacleM: groundM,
    n: 101,
  });
  expect(secondOpinion(path(0.99), link)).toBeNull();
  const bare = secondOpinion(path(3), link)!;
  expect(bare.lossDb).toBeGreaterThan(90);
  expect(secondOpinion({ ...path(3), obstacleM: groundM.map((h) => h + 15) }, link)!.lossDb).toBe(bare.lossDb);
  expect(secondOpinion({ ...path(3), groundM: groundM.map((h, i) => (i === 50 ? Number.NaN : h)) }, link)).toBeNull();
});
