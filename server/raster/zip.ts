import { inflateRawSync } from "node:zlib";
import { HardstandError } from "../../src/errors/index.ts";
import { type ByteSource, isHgtName, memorySource } from "../../src/terrain/reader/index.ts";

/** A zipped tile is at most a half-arc-second one: 7,201 squared samples of two bytes. */
const MAX_MEMBER_BYTES = 2 * 7201 * 7201;
const MAX_ZIP_BYTES = 256 * 1024 * 1024;
const MAX_MEMBERS = 64;

const bad = (name: string, message: string, received?: unknown): HardstandError =>
  new HardstandError("terrain.corrupt", message, { where: name, received, hint: "fetch the archive again" });

const CRC_TABLE = Uint32Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c >>> 0;
});

function crc32(bytes: Uint8Array): number {
  let c = 0xffffffff;
  for (let i = 0; i < bytes.length; i++) c = CRC_TABLE[(c ^ bytes[i]!) & 255]! ^ (c >>> 8);
  return (c ^ 0xffffffff) >>> 0;
}

/**
 * The one height file inside a zip archive, unpacked and checked against its checksum.
 * @throws terrain.not-a-raster when there is none or more than one, terrain.corrupt when the archive is damaged
 * Source: PKWARE APPNOTE 6.3, §4.3.
 */
export async function hgtMember(source: ByteSource): Promise<ByteSource> {
  const { name, size } = source;
  if (size > MAX_ZIP_BYTES)
    throw new HardstandError("terrain.too-large", "the archive is too large for one height tile", {
      where: name,
      received: size,
    });
  const all = await source.read(0, size);
  const view = new DataView(all.buffer, all.byteOffset, all.byteLength);
  let end = -1;
  for (let at = size - 22; at >= 0 && at >= size - 22 - 65_535; at--)
    if (view.getUint32(at, true) === 0x06054b50) {
      end = at;
      break;
    }
  if (end < 0) throw bad(name, "the archive has no table of contents");
  const count = view.getUint16(end + 10, true);
  let at = view.getUint32(end + 16, true);
  if (count > MAX_MEMBERS) throw bad(name, "the archive holds more files than a height tile needs", count);
  const found: { file: string; method: number; crc: number; packed: number; size: number; at: number }[] = [];
  for (let i = 0; i < count; i++) {
    if (at + 46 > size || view.getUint32(at, true) !== 0x02014b50)
      throw bad(name, "the archive's table of contents is damaged");
    const nameLength = view.getUint16(at + 28, true);
    const next = at + 46 + nameLength + view.getUint16(at + 30, true) + view.getUint16(at + 32, true);
    if (next > size) throw bad(name, "the archive's table of contents is damaged");
    const file = new TextDecoder("latin1").decode(all.subarray(at + 46, at + 46 + nameLength));
    if (isHgtName(file) && !file.startsWith("__MACOSX"))
      found.push({
        file,
        method: view.getUint16(at + 10, true),
        crc: view.getUint32(at + 16, true),
        packed: view.getUint32(at + 20, true),
        size: view.getUint32(at + 24, true),
        at: view.getUint32(at + 42, true),
      });
    at = next;
  }
  if (found.length !== 1)
    throw new HardstandError(
      "terrain.not-a-raster",
      `the archive holds ${found.length} height files; one is expected`,
      {
        where: name,
        received: found.map((f) => f.file).join(", ") || null,
        hint: "unpack it and name the .hgt or .tif file",
      },
    );
  const member = found[0]!;
  if (member.size > MAX_MEMBER_BYTES)
    throw new HardstandError("terrain.too-large", "the file in the archive is larger than any height tile", {
      where: name,
      received: member.size,
    });
  if (member.at + 30 > size || view.getUint32(member.at, true) !== 0x04034b50)
    throw bad(name, "the file in the archive is damaged");
  const from = member.at + 30 + view.getUint16(member.at + 26, true) + view.getUint16(member.at + 28, true);
  if (from + member.packed > size) throw bad(name, "the archive is cut off");
  const packed = all.subarray(from, from + member.packed);
  let bytes: Uint8Array;
  if (member.method === 0) bytes = packed;
  else if (member.method === 8) {
    try {
      bytes = inflateRawSync(packed, { maxOutputLength: Math.max(1, member.size) });
    } catch (error) {
      throw bad(name, `the file in the archive is damaged: ${HardstandError.from(error).message}`);
    }
  } else
    throw new HardstandError(
      "terrain.unsupported",
      `the archive uses packing method ${member.method}, which is not read`,
      {
        where: name,
        hint: "unpack it and name the .hgt file",
      },
    );
  if (bytes.length !== member.size || crc32(bytes) !== member.crc)
    throw bad(name, "the file in the archive does not match its checksum");
  const inner = member.file.split("/").pop()!;
  return memorySource(inner, bytes);
}
