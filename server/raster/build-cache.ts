import { open } from "node:fs/promises";
import { inflateSync } from "node:zlib";
import {
  type ByteSource,
  decodeImage,
  decodeMask,
  type HeadOptions,
  type Inflate,
  jumpLimitM,
  readHead,
  StatsGatherer,
} from "../../src/terrain/reader/index.ts";
import { CacheWriter } from "./cache-writer.ts";

/** Along a meridian, roughly: the size of a cell is needed to one digit. */
const METRES_PER_DEGREE = 111_000;

/** Strict inflate: damage, a missing end and more than `maxBytes` of output all throw. */
export const inflate: Inflate = (bytes, maxBytes) => {
  const out = inflateSync(bytes, { maxOutputLength: maxBytes });
  return new Uint8Array(out.buffer, out.byteOffset, out.length);
};

/** Decodes one raster into a cache file at `target`. Throws HardstandError for anything wrong with the raster. */
export async function buildCache(
  source: ByteSource,
  target: string,
  options: HeadOptions,
  hooks: { onHead?: (cells: number) => void; onProgress?: (share: number) => void } = {},
): Promise<void> {
  const head = await readHead(source, options);
  const { layout, placement } = head;
  hooks.onHead?.(layout.width * layout.height);
  const common = { source, littleEndian: head.littleEndian, inflate };
  const mask = head.mask === null ? null : await decodeMask({ ...common, layout: head.mask });
  const stats = new StatsGatherer(
    layout,
    jumpLimitM(placement.stepX * (head.crs.geographic ? METRES_PER_DEGREE : head.crs.unitM)),
  );
  const file = await open(target, "w");
  try {
    const writer = new CacheWriter(file, layout.width, layout.height);
    const dropped = await decodeImage(
      { ...common, layout, settling: head.settling, southUp: placement.southUp, mask, onProgress: hooks.onProgress },
      async (row, rows, values) => {
        stats.add(row, rows, values);
        await writer.add(rows, values);
      },
    );
    const result = stats.result(dropped);
    await writer.finish({
      head: {
        format: head.format,
        vertical: head.vertical,
        nodata: head.nodata !== null && Number.isNaN(head.nodata) ? "nan" : head.nodata,
        overviews: head.overviews,
        encoding: head.encoding,
        words: head.words,
        unitType: head.unitType,
        palette: head.palette,
        colourPicture: head.colourPicture,
        date: head.date,
        bands: layout.bands,
        bits: layout.bits,
        kind: layout.kind,
        photometric: layout.photometric,
      },
      placement,
      crs: head.crs,
      stats: result,
      warnings: head.warnings,
    });
  } finally {
    await file.close();
  }
}
