import {
  DELTA_SLOTS,
  deltaBullingtonInto,
  freeSpaceLossDb,
  ITM_SLOTS,
  itmLink,
  itmPointToPointInto,
  P1812_SLOTS,
  p1812Into,
  p1812Link,
  slantKm,
} from "../../src/propagation/index.ts";
import { fillRandom, profileRoom, seeded } from "../support/random-profile.ts";

export interface SoakReport {
  profiles: number;
  /** Count of losses that were not a number, or below 0 dB, by model. */
  bad: Record<string, number>;
  /** The first few bad ones, with what is needed to make them again. */
  examples: string[];
  /** Paths from 1 km on for which the irregular terrain model gave no number. */
  itmWithoutValue: number;
  milliseconds: number;
}

/**
 * Random valid profiles through every path model: no NaN, no loss below 0 dB, in any term that is a loss.
 * @param count profiles; the full count is a million, the suite runs a slice
 */
export function soakPropagation(count = 1_000_000, seed = 1): SoakReport {
  const random = seeded(seed);
  const room = profileRoom(120);
  const delta = new Float64Array(DELTA_SLOTS);
  const out = new Float64Array(P1812_SLOTS);
  const itm = new Float64Array(ITM_SLOTS);
  const bad: Record<string, number> = { p526: 0, p1812: 0, itm: 0 };
  const examples: string[] = [];
  let itmWithoutValue = 0;
  const start = performance.now();
  const note = (model: string, k: number, value: number, about: string): void => {
    bad[model] = bad[model]! + 1;
    if (examples.length < 10) examples.push(`${model} profile ${k}: ${value} (${about})`);
  };
  for (let k = 0; k < count; k++) {
    const p = fillRandom(room, random, { lengthKm: [0.25, 300], equalSteps: k % 2 === 0, obstacles: random() < 0.5 });
    const { distancesKm: d, groundM: g, n } = p;
    const o = random() < 0.3 ? g : p.obstacleM;
    const D = d[n - 1]!;
    const frequencyMHz = 30 * 200 ** random();
    const txHeightM = 1 + (random() < 0.2 ? 3000 * random() ** 3 : 30 * random());
    const rxHeightM = 1 + (random() < 0.2 ? 3000 * random() ** 3 : 10 * random());
    const polarization = random() < 0.5 ? "vertical" : "horizontal";
    const about = `${frequencyMHz.toFixed(1)} MHz, ${D.toFixed(3)} km, ${n} points, ${txHeightM.toFixed(2)}/${rxHeightM.toFixed(2)} m`;

    const hts = g[0]! + txHeightM;
    const hrs = g[n - 1]! + rxHeightM;
    const vertical = polarization === "vertical" ? 1 : 0;
    deltaBullingtonInto(d, g, o, n, hts, hrs, 8500, frequencyMHz / 1000, 3, vertical, random(), delta);
    const p526 = delta[0]! + freeSpaceLossDb(slantKm(D, hts, hrs), frequencyMHz);
    if (!(delta[0]! >= 0 && p526 >= 0 && p526 < 1e5)) note("p526", k, p526, about);

    const link = p1812Link(p, {
      frequencyMHz,
      txHeightM,
      rxHeightM,
      polarization,
      timePct: 1 + 49 * random(),
      locationPct: 1 + 98 * random(),
      locationSigmaDb: random() * 10,
      latitudeDeg: 180 * random() - 90,
      deltaN: 100 * random(),
      n0: 250 + 150 * random(),
      txCoastKm: random() * 10,
      rxCoastKm: random() * 10,
      zones: random() < 0.3 ? Uint8Array.from({ length: n }, (_, i) => [1, 3, 4][(i >> 3) % 3]!) : null,
    });
    p1812Into(d, g, o, n, link, out);
    let sum = 0;
    for (let i = 0; i < P1812_SLOTS; i++) sum += out[i]!;
    if (!(out[0]! >= 0 && Number.isFinite(sum))) note("p1812", k, out[0]!, about);

    if (k % 2 === 0 && frequencyMHz >= 40) {
      itmPointToPointInto(
        g,
        n - 1,
        (1000 * D) / (n - 1),
        itmLink({
          frequencyMHz,
          txHeightM,
          rxHeightM: Math.min(rxHeightM, 3000),
          polarization,
          timePct: 1 + 98 * random(),
          situationPct: 1 + 98 * random(),
        }),
        itm,
      );
      if (itm[5] === 0 && !(itm[0]! >= 0)) {
        if (D >= 1) note("itm", k, itm[0]!, about);
        else itmWithoutValue++;
      }
    }
  }
  return { profiles: count, bad, examples, itmWithoutValue, milliseconds: Math.round(performance.now() - start) };
}
