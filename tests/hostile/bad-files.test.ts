import { copyFileSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { basename, join } from "node:path";
import { zlibSync } from "fflate";
import { afterAll, describe, expect, test } from "vitest";
import { describeRaster, openRaster } from "../../server/raster/index.ts";
import { HardstandError } from "../../src/errors/index.ts";
import { scratch } from "../raster/support.ts";
import { hasShared, shared } from "../support/tools.ts";

const dir = scratch();
const cacheDir = join(dir, "cache");
afterAll(() => rmSync(dir, { recursive: true, force: true }));

const bad = hasShared()
  ? ["bad", "bad/fuzz"].flatMap((d) =>
      readdirSync(shared("terrain", d))
        .filter((f) => /\.(tif|hgt)$/.test(f))
        .map((f) => shared("terrain", d, f)),
    )
  : [];

describe.skipIf(bad.length === 0)("damaged and hostile files", () => {
  test.each(bad.map((p) => [basename(p), p]))(
    "%s reads or ends in an error of its own within 5 s",
    async (name, path) => {
      const t = performance.now();
      const outcome = await openRaster(path, { cacheDir }).then(
        (r) => r,
        (e: unknown) => e,
      );
      expect(performance.now() - t).toBeLessThan(5000);
      if (name.startsWith("6band")) {
        // GDAL: the first band's first row starts 107 123 132.
        const raster = outcome as Awaited<ReturnType<typeof openRaster>>;
        expect([...(await raster.read(0, 0, 3, 1))]).toEqual([107, 123, 132]);
        expect(raster.warnings.map((w) => w.code)).toContain("several-bands");
        return;
      }
      expect(outcome).toBeInstanceOf(HardstandError);
      const { body } = outcome as HardstandError;
      expect(body.code).toMatch(/^terrain\./);
      expect(body.where).toBe(name);
      expect(body.hint).not.toBe("");
      expect(body.message.length).toBeGreaterThan(15);
    },
  );

  test("describing a damaged file ends in the same error", async () => {
    const path = shared("terrain", "bad", "bitflips_zion_srtm.tif");
    await expect(describeRaster(path, { cacheDir })).rejects.toMatchObject({ code: "terrain.corrupt" });
  });
});

/** A little-endian TIFF of the tags given; values longer than four bytes are laid behind the directory. */
function tiff(tags: [tag: number, type: 3 | 4 | 12 | 2, values: number[] | string][], blob: Uint8Array): Uint8Array {
  const size = { 2: 1, 3: 2, 4: 4, 12: 8 };
  const head = 8 + 2 + 12 * tags.length + 4;
  let extra = head;
  const places = tags.map(([, type, values]) => {
    const n = values.length * size[type];
    const at = n > 4 ? extra : -1;
    if (n > 4) extra += n + (n % 2);
    return at;
  });
  const out = new Uint8Array(extra + blob.length);
  const v = new DataView(out.buffer);
  v.setUint16(0, 0x4949, true);
  v.setUint16(2, 42, true);
  v.setUint32(4, 8, true);
  v.setUint16(8, tags.length, true);
  tags.forEach(([tag, type, values], i) => {
    const at = 10 + 12 * i;
    v.setUint16(at, tag, true);
    v.setUint16(at + 2, type, true);
    v.setUint32(at + 4, values.length, true);
    const to = places[i]! < 0 ? at + 8 : places[i]!;
    if (places[i]! >= 0) v.setUint32(at + 8, to, true);
    for (let k = 0; k < values.length; k++) {
      const value = typeof values === "string" ? values.charCodeAt(k) : values[k]!;
      if (type === 2) out[to + k] = value;
      else if (type === 3) v.setUint16(to + 2 * k, value, true);
      else if (type === 4) v.setUint32(to + 4 * k, value === -1 ? extra : value, true);
      else v.setFloat64(to + 8 * k, value, true);
    }
  });
  out.set(blob, extra);
  return out;
}

/** Tags of a plain 16-bit raster; −1 as an offset stands for the place of the data. */
const plain = (
  width: number,
  height: number,
  bytes: number,
  more: Parameters<typeof tiff>[0] = [],
): Parameters<typeof tiff>[0] =>
  [
    ...[
      [256, 4, [width]],
      [257, 4, [height]],
      [258, 3, [16]],
      [259, 3, [1]],
      [262, 3, [1]],
      [273, 4, [-1]],
      [277, 3, [1]],
      [278, 4, [height]],
      [279, 4, [bytes]],
      [284, 3, [1]],
      [339, 3, [2]],
      [33550, 12, [30, 30, 0]],
      [33922, 12, [0, 0, 0, 300000, 5100000, 0]],
      [34735, 3, [1, 1, 0, 3, 1024, 0, 1, 1, 1025, 0, 1, 1, 3072, 0, 1, 32612]],
    ].filter(([tag]) => !more.some(([m]) => m === tag)),
    ...more,
  ].sort((a, b) => (a[0] as number) - (b[0] as number)) as Parameters<typeof tiff>[0];

describe("hostile by construction", () => {
  const open = async (name: string, bytes: Uint8Array): Promise<string> => {
    const path = join(dir, name);
    writeFileSync(path, bytes);
    const t = performance.now();
    const code = await openRaster(path, { cacheDir }).then(
      () => "reads",
      (e: unknown) => (e as HardstandError).code,
    );
    expect(performance.now() - t).toBeLessThan(20_000);
    return code;
  };
  const heights = new Uint8Array(Int16Array.from({ length: 100 }, (_, i) => 500 + i).buffer);

  test("the plain raster itself reads", async () => {
    expect(await open("plain.tif", tiff(plain(10, 10, 200), heights))).toBe("reads");
  });

  test("a bomb: a block that inflates far beyond its cells", async () => {
    const bomb = zlibSync(new Uint8Array(200_000_000), { level: 9 });
    expect(await open("bomb.tif", tiff(plain(10, 10, bomb.length, [[259, 3, [8]]]), bomb))).toBe("terrain.corrupt");
  });

  test("a bomb of honest size is decoded within the memory limit or refused", async () => {
    const cells = new Uint8Array(2 * 6000 * 6000);
    const packed = zlibSync(cells, { level: 9 });
    expect(await open("big-block.tif", tiff(plain(6000, 6000, packed.length, [[259, 3, [8]]]), packed))).toBe("reads");
    expect(await open("bigger-block.tif", tiff(plain(8000, 8000, packed.length, [[259, 3, [8]]]), packed))).toBe(
      "terrain.too-large",
    );
  });

  test("blocks that share bytes, or lie over the directory", async () => {
    const two: Parameters<typeof tiff>[0] = [
      [273, 4, [-1, -1]],
      [278, 4, [5]],
      [279, 4, [100, 100]],
    ];
    expect(await open("shared.tif", tiff(plain(10, 10, 0, two), heights))).toBe("terrain.corrupt");
    expect(await open("over.tif", tiff(plain(10, 10, 200, [[273, 4, [8]]]), heights))).toBe("terrain.corrupt");
  });

  test("sizes, counts and numbers beyond sense", async () => {
    expect(await open("zero.tif", tiff(plain(0, 10, 200), heights))).toBe("terrain.corrupt");
    expect(await open("huge.tif", tiff(plain(0xffffffff, 0xffffffff, 200), heights))).toBe("terrain.too-large");
    expect(await open("short.tif", tiff(plain(10, 20, 200), heights))).toBe("terrain.corrupt");
    expect(await open("nan-scale.tif", tiff(plain(10, 10, 200, [[33550, 12, [Number.NaN, 30, 0]]]), heights))).toBe(
      "terrain.corrupt",
    );
    expect(await open("nodata-text.tif", tiff(plain(10, 10, 200, [[42113, 2, "<xml>\0"]]), heights))).toBe("reads");
    expect(
      await open(
        "predictor9.tif",
        tiff(
          plain(10, 10, 200, [
            [259, 3, [8]],
            [317, 3, [9]],
          ]),
          heights,
        ),
      ),
    ).toBe("terrain.unsupported");
    expect(await open("bits7int.tif", tiff(plain(10, 10, 200, [[258, 3, [7]]]), heights))).toBe("terrain.unsupported");
  });

  test("a directory that points at itself reads its first image", async () => {
    const bytes = tiff(plain(10, 10, 200), heights);
    new DataView(bytes.buffer).setUint32(10 + 12 * 14, 8, true);
    expect(await open("loop.tif", bytes)).toBe("terrain.corrupt");
  });

  test("a raster that changes its name to .hgt, and the other way round", async () => {
    if (!hasShared()) return;
    copyFileSync(shared("terrain", "encodings", "storm_lake_none.tif"), join(dir, "N46W114.hgt"));
    expect(await open("N46W114.hgt", readFileSync(join(dir, "N46W114.hgt")))).toBe("terrain.truncated");
    expect(await open("tile.tif", readFileSync(shared("terrain", "hgt", "N42E001.hgt")).subarray(0, 100_000))).toBe(
      "terrain.not-a-raster",
    );
  });
});
