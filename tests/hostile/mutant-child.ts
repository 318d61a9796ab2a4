import { readFileSync, writeSync } from "node:fs";
import { basename } from "node:path";
import { createInterface } from "node:readline";
import { inflate } from "../../server/raster/build-cache.ts";
import { HardstandError } from "../../src/errors/index.ts";
import {
  decodeImage,
  decodeMask,
  jumpLimitM,
  memorySource,
  readHead,
  StatsGatherer,
} from "../../src/terrain/reader/index.ts";
import { mutate } from "./mutate.ts";

/** Decodes mutant after mutant in one process; says which it starts, so that its parent knows which one hung. */
interface Read {
  cells: Float32Array;
  width: number;
  place: string;
  warnings: string[];
  layout: string;
}

async function read(name: string, bytes: Uint8Array): Promise<Read> {
  const source = memorySource(name, bytes);
  const head = await readHead(source);
  const { layout, placement } = head;
  const common = { source, littleEndian: head.littleEndian, inflate };
  const mask = head.mask === null ? null : await decodeMask({ ...common, layout: head.mask });
  const cells = new Float32Array(layout.width * layout.height);
  const stats = new StatsGatherer(layout, jumpLimitM(30));
  const dropped = await decodeImage(
    { ...common, layout, settling: head.settling, southUp: placement.southUp, mask },
    async (row, rows, values) => {
      cells.set(values, row * layout.width);
      stats.add(row, rows, values);
    },
  );
  const s = stats.result(dropped);
  const warnings = head.warnings.map((w) => w.code);
  if (s.jumps > 0) warnings.push(`jumps`);
  if (s.outOfRange > 0) warnings.push(`out-of-range`);
  if (s.valid < 0.5 * s.cells) warnings.push("much-void");
  return {
    cells,
    width: layout.width,
    place: JSON.stringify([placement, head.crs.definition, head.vertical.unit]),
    warnings,
    layout: JSON.stringify([layout.compression, layout.predictor, layout.bits, layout.kind, head.settling]),
  };
}

const originals = new Map<string, { bytes: Uint8Array; read: Read }>();

async function judge(path: string, seed: number): Promise<Record<string, unknown>> {
  let original = originals.get(path);
  if (original === undefined) {
    const bytes = new Uint8Array(readFileSync(path));
    original = { bytes, read: await read(basename(path), bytes) };
    originals.set(path, original);
  }
  const { bytes, damage } = mutate(original.bytes, seed);
  const t = performance.now();
  try {
    const got = await read(basename(path), bytes);
    const want = original.read;
    const news = got.warnings.filter((w) => !want.warnings.includes(w));
    let changed = 0;
    if (got.cells.length !== want.cells.length || got.width !== want.width) changed = -1;
    else for (let i = 0; i < got.cells.length; i++) if (!Object.is(got.cells[i], want.cells[i])) changed++;
    const outcome =
      changed === 0
        ? got.place === want.place
          ? "same"
          : news.length > 0
            ? "moved, said"
            : "moved"
        : news.length > 0
          ? "changed, said"
          : "changed";
    return { damage, outcome, changed, tagged: got.layout !== want.layout, ms: performance.now() - t };
  } catch (error) {
    const known = error instanceof HardstandError;
    const outcome = known ? error.code : "unexpected";
    return { damage, outcome, message: (error as Error).message, ms: performance.now() - t };
  }
}

for await (const line of createInterface({ input: process.stdin })) {
  const { path, seed } = JSON.parse(line) as { path: string; seed: number };
  const answer = await judge(path, seed);
  writeSync(1, `${JSON.stringify({ path: basename(path), seed, ...answer })}\n`);
}
