import { performSolveMip } from "../../server/workers/solve-mip.ts";
import { submodularBound } from "../../src/placement/layouts/bound.ts";
import { exactChoice } from "../../src/placement/layouts/exact.ts";
import { greedyExchange } from "../../src/placement/layouts/greedy.ts";
import { layoutInstance } from "../../src/placement/layouts/instance.ts";
import { mipJob } from "../../src/placement/layouts/mip.ts";
import { randomLayout } from "../support/random-layout.ts";

/** Joint choice of units: greedy with exchange, own search, solver. Seeded. */
export async function benchLayouts(): Promise<string> {
  const lines = [
    "Joint choice of units (seeded plane, 20 points and areas of 200 tiles)",
    "",
    "| units | spots | tiles | greedy s | own search s | proven | solver s | proven | score | own bound without search |",
    "|---|---|---|---|---|---|---|---|---|---|",
  ];
  for (const [units, spots, areas, reachM] of [
    [2, 100, 10, 350],
    [3, 100, 10, 350],
    [3, 100, 10, 250],
    [4, 100, 10, 350],
    [5, 60, 10, 250],
  ] as const) {
    const { matrix, places } = randomLayout({
      seed: 7,
      spots,
      points: 20,
      areas,
      tilesPerArea: 200,
      reachM,
      mustShare: 0.1,
    });
    const p = layoutInstance(matrix, places, { units, separationM: 30 });
    let began = performance.now();
    const lap = (): string => {
      const s = (performance.now() - began) / 1000;
      began = performance.now();
      return s.toFixed(2);
    };
    const quick = greedyExchange(p);
    const greedyS = lap();
    const own = exactChoice(p, { start: quick });
    const ownS = lap();
    const answer = await performSolveMip(mipJob(p, { kind: "score", mustsMet: own.mustsMet }, 30), {
      shouldStop: () => false,
      onProgress: () => {},
    });
    const solverS = lap();
    lines.push(
      `| ${units} | ${spots} | ${areas * 200} | ${greedyS} | ${ownS} | ${own.proven ? "yes" : "no"} | ${solverS} | ${answer.status === "optimal" ? "yes" : "no"} | ${own.score.toFixed(2)} | ${submodularBound(p, [quick.set, own.set]).toFixed(2)} |`,
    );
  }
  return lines.join("\n");
}
