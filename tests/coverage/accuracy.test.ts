import { describe, expect, test } from "vitest";
import { realCases } from "../support/real-ground.ts";
import { lossErrors, visibilityAgreement } from "../support/sweep-accuracy.ts";
import { hasShared, needs } from "../support/tools.ts";

/** Bounds on |sweep − profile by profile over the exact line|, dB. */
const RAY_WORST_DB = 0.02;
const RUGGED = { mean: 0.3, p95: 1.5 };
const ELSEWHERE = { mean: 0.1, p95: 0.4 };
/** Share of cells that agree with a straight-line march. */
const SEEN_RUGGED = 0.994;
const SEEN_ELSEWHERE = 0.998;

describe.runIf(hasShared() && needs("gdalwarp"))("on real ground", () => {
  const cases = realCases();
  test.each(cases.map((real) => [real.name, real] as const))("loss: %s", (_, real) => {
    const { cells, exactRays } = lossErrors(real, 1500, 7);
    const bound = real.rugged ? RUGGED : ELSEWHERE;
    expect(exactRays.count).toBeGreaterThan(100);
    expect(exactRays.worst).toBeLessThanOrEqual(RAY_WORST_DB);
    expect(cells.mean).toBeLessThanOrEqual(bound.mean);
    expect(cells.p95).toBeLessThanOrEqual(bound.p95);
  });
  test.each([cases[0]!, cases[3]!, cases[6]!].map((real) => [real.name, real] as const))(
    "visibility: %s",
    (_, real) => {
      const share = visibilityAgreement(real, 20_000, 5);
      expect(share).toBeGreaterThanOrEqual(real.rugged ? SEEN_RUGGED : SEEN_ELSEWHERE);
    },
  );
});
