import { mutantBases, runMutants, tableOf } from "../hostile/run-mutants.ts";
import { hasShared } from "../support/tools.ts";

/** A hundred thousand mutants of good rasters; prints what became of them and every one that misbehaved. */
export async function soakReader(count = 100_000): Promise<string> {
  if (!hasShared()) return "reader soak: skipped, the reference rasters are missing";
  const bases = mutantBases();
  const jobs = Array.from({ length: count }, (_, i) => ({ path: bases[i % bases.length]!, seed: 1_000_000 + i }));
  const verdicts = await runMutants(jobs);
  const bad = verdicts.filter(
    (v) =>
      ["hang", "crash", "unexpected"].includes(v.outcome) ||
      (v.outcome === "changed" && /deflate|lerc/.test(v.path) && v.tagged !== true),
  );
  return [
    `${count} mutants, slowest ${Math.max(...verdicts.map((v) => v.ms)).toFixed(0)} ms, misbehaved: ${bad.length}`,
    ...bad.map((v) => JSON.stringify(v)),
    tableOf(verdicts),
  ].join("\n");
}
