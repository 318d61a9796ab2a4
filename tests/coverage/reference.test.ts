import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { createSweepOut, lossProfile, sweepLoss } from "../../src/coverage/index.ts";
import { type ReferenceLoss, referenceEdge, referenceLoss } from "../support/reference-loss.ts";
import { hasShared, shared } from "../support/tools.ts";

function rows(file: string): Record<string, string>[] {
  const [head, ...lines] = readFileSync(file, "utf8").trim().split("\n");
  const names = head!.split(",");
  return lines.map((line) => Object.fromEntries(line.split(",").map((value, i) => [names[i]!, value])));
}

/** ITU-R Study Group 3, "Validation examples for the delta Bullington diffraction prediction method". */
describe.runIf(hasShared())("against the published delta-Bullington examples", () => {
  const cases = rows(shared("validation/delta_bullington/cases.csv"));
  const answers = cases.map((row) => {
    const points = rows(shared(`validation/delta_bullington/path${row.path}.csv`));
    const d = points.map((p) => Number(p.d_km));
    const h = points.map((p) => Number(p.h_masl_m));
    const link = {
      frequencyMHz: Number(row.f_MHz),
      effectiveRadiusKm: Number(row.ap_km),
      polarization: row.pol === "V" ? ("vertical" as const) : ("horizontal" as const),
    };
    const hts = h[0]! + Number(row.htg_m);
    const hrs = h[h.length - 1]! + Number(row.hrg_m);
    return { row, d, h, link, hts, reference: referenceLoss(d, h, h, hts, hrs, link) };
  });

  test("the slow reference reproduces every printed value", () => {
    expect(cases.length).toBeGreaterThanOrEqual(10);
    for (const { row, reference } of answers) {
      const close = (key: keyof ReferenceLoss, column: string, tolerance: number) =>
        expect(Math.abs((reference[key] as number) - Number(row[column])), `row ${row.row} ${column}`).toBeLessThan(
          tolerance,
        );
      close("Lbulla", "Lbulla_dB", 1e-6);
      close("Lbulls", "Lbulls_dB", 1e-6);
      close("hte", "htep_m", 1e-6);
      close("hre", "hrep_m", 1e-6);
      close("Ldsph", "Ldsph_dB", 0.01);
      close("Ld", "L_dB", 0.01);
    }
  });

  test("on the same profiles without their short last step, profile and sweep are the reference's to 0.001 dB", () => {
    for (const { row, d, h, link, hts } of answers) {
      const n = h.length - 1;
      const step = d[1]! * 1000;
      expect(d.slice(0, n).every((x, i) => Math.abs(x * 1000 - i * step) < 1e-6)).toBe(true);
      const groundM = Float32Array.from(h.slice(0, n));
      const terrain = { cols: n, rows: 1, cellM: step, groundM, obstacleM: groundM };
      const receiverHeightM = Number(row.hrg_m);
      const place = { col: 0, row: 0, antennaAmslM: hts };
      const swept = createSweepOut(n);
      const job = { ...link, ...place, receiverHeightM, maxRangeM: 1e9, mask: null, canopy: "solid" as const };
      sweepLoss(terrain, job, swept);
      for (let end = 5; end < n; end += end === n - 1 ? 1 : Math.min(37, n - 1 - end)) {
        const part = [d, h].map((values) => values.slice(0, end + 1)) as [number[], number[]];
        const hrs = h[end]! + receiverHeightM;
        const expected = referenceLoss(part[0], part[1], part[1], hts, hrs, link).lossDb;
        const single = lossProfile(terrain, link, place, { col: end, row: 0, antennaAmslM: hrs });
        expect(Math.abs(single.lossDb - expected), `row ${row.row}, point ${end}`).toBeLessThan(0.001);
        expect(Math.abs(swept.lossDb[end]! - expected), `row ${row.row}, point ${end}`).toBeLessThan(0.001);
      }
    }
  });
});

test("the reference's edge loss is the printed 6.03 dB at grazing and 0 at −0.78 (P.526-15 eq. 31)", () => {
  expect(referenceEdge(0)).toBeCloseTo(6.0328, 3);
  expect(referenceEdge(-0.78)).toBe(0);
  expect(referenceEdge(-0.7799)).toBeLessThan(0.01);
});
