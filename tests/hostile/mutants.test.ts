import { describe, expect, test } from "vitest";
import { hasShared } from "../support/tools.ts";
import { mutantBases, runMutants, tableOf, type Verdict } from "./run-mutants.ts";

/**
 * Encodings that carry a checksum of their cells (zlib's Adler-32, LERC2's Fletcher-32): damage to a cell is always found.
 * The others carry none: a changed bit that still decodes is a plausible height, and no reader can know. What is caught
 * there is caught by range, by steps between neighbours and by the decoders' own rules; the rest is the known gap.
 */
const CHECKED = /deflate|lerc/;

const told = (v: Verdict): string => `${v.path} seed ${v.seed} (${v.damage}): ${v.outcome} ${v.message ?? ""}`;

describe.skipIf(!hasShared())("2,000 seeded mutants of good rasters", () => {
  test("no hang, no crash, no error without a code, no silent change where a checksum stands", async () => {
    const bases = mutantBases();
    expect(bases.length).toBeGreaterThan(15);
    const jobs = Array.from({ length: 2000 }, (_, i) => ({ path: bases[i % bases.length]!, seed: i }));
    const verdicts = await runMutants(jobs);
    console.log(tableOf(verdicts));
    expect(verdicts).toHaveLength(jobs.length);
    expect(verdicts.filter((v) => ["hang", "crash", "unexpected"].includes(v.outcome)).map(told)).toEqual([]);
    // Damage to the tags that say how cells are read (type, nodata text, predictor) is not damage to cells.
    const silent = verdicts.filter((v) => v.outcome === "changed" && CHECKED.test(v.path) && v.tagged !== true);
    expect(silent.map(told)).toEqual([]);
    expect(verdicts.filter((v) => v.ms > 5000).map(told)).toEqual([]);
    // The run means something only if it reaches decoding often and damage is found often.
    expect(verdicts.filter((v) => v.outcome === "terrain.corrupt").length).toBeGreaterThan(500);
    expect(verdicts.filter((v) => v.outcome === "same").length).toBeGreaterThan(50);
  });
});
