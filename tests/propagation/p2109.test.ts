import { expect, test } from "vitest";
import { entryLossDb } from "../../src/propagation/p2109.ts";
import { csvRows } from "../support/rows.ts";
import { hasShared, shared } from "../support/tools.ts";

test.runIf(hasShared())("every row of the ITU workbook for building entry loss (P.2109-1), 0.001 dB", () => {
  const rows = csvRows(shared("validation", "p2109", "p2109-1_bel_workbook.csv"));
  expect(rows.length).toBeGreaterThan(200);
  for (const row of rows) {
    const got = entryLossDb(
      row.building_class === "1" ? "traditional" : "efficient",
      Number(row.f_GHz) * 1000,
      Number(row.elev_deg),
      Number(row.p_pct) / 100,
    );
    expect(Math.abs(got - Number(row.L_dB)), JSON.stringify(row)).toBeLessThanOrEqual(0.001);
  }
});
