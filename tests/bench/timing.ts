/** A thing to time; answers its own milliseconds when it knows them better (another process). */
export interface Contender {
  name: string;
  run: () => number | undefined | Promise<number | undefined>;
}

export function median(values: number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1]!;
}

/** Runs all contenders by turns, after one warm-up round; medians in ms by name. */
export async function interleave(contenders: Contender[], rounds: number): Promise<Map<string, number>> {
  const times = new Map<string, number[]>(contenders.map((c) => [c.name, []]));
  for (let round = -1; round < rounds; round++)
    for (const { name, run } of contenders) {
      const start = performance.now();
      const own = await run();
      const ms = own ?? performance.now() - start;
      if (round >= 0) times.get(name)!.push(ms);
    }
  return new Map([...times].map(([name, list]) => [name, median(list)]));
}

export function table(head: string[], rows: string[][]): string {
  const widths = head.map((h, i) => Math.max(h.length, ...rows.map((row) => row[i]!.length)));
  const line = (cells: string[]) => `| ${cells.map((cell, i) => cell.padEnd(widths[i]!)).join(" | ")} |`;
  return [line(head), `|${widths.map((w) => "-".repeat(w + 2)).join("|")}|`, ...rows.map(line)].join("\n");
}
