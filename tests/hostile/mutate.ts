/** Seeded damage to a file: the same seed gives the same bytes. */

/** Small fast generator (mulberry32), good enough to choose places and bits. */
export function randomFrom(seed: number): () => number {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

export type Damage = "bits" | "cut" | "tag" | "zeros" | "copy" | "bytes" | "head";

export interface Mutant {
  bytes: Uint8Array;
  damage: Damage;
}

const KINDS: Damage[] = ["bits", "bits", "bits", "cut", "tag", "tag", "tag", "zeros", "copy", "bytes", "head"];

/** Values that break naive readers. */
const ODD = [0, 1, 2, 3, 8, 255, 256, 32767, 65535, 0x7fffffff, 0x80000000, 0xffffffff];

export function mutate(original: Uint8Array, seed: number): Mutant {
  const random = randomFrom(seed * 7919 + 17);
  const below = (n: number): number => Math.floor(random() * n);
  const damage = KINDS[below(KINDS.length)]!;
  let bytes = original.slice();
  const v = new DataView(bytes.buffer);
  switch (damage) {
    case "bits":
      for (let i = 1 + below(4); i > 0; i--) {
        const at = below(bytes.length);
        bytes[at] = bytes[at]! ^ (1 << below(8));
      }
      break;
    case "head":
      for (let i = 1 + below(3); i > 0; i--) {
        const at = below(Math.min(600, bytes.length));
        bytes[at] = below(256);
      }
      break;
    case "bytes":
      for (let i = 1 + below(16); i > 0; i--) bytes[below(bytes.length)] = below(256);
      break;
    case "cut":
      bytes = bytes.slice(0, below(bytes.length));
      break;
    case "zeros": {
      const at = below(bytes.length);
      bytes.fill(0, at, at + 1 + below(400));
      break;
    }
    case "copy": {
      const from = below(bytes.length);
      const n = 1 + below(Math.min(400, bytes.length - from));
      bytes.copyWithin(below(bytes.length - n + 1), from, from + n);
      break;
    }
    case "tag": {
      const le = bytes[0] === 0x49;
      const big = v.getUint16(2, le) === 43;
      const at = big ? Number(v.getBigUint64(8, le)) : v.getUint32(4, le);
      const count = big ? Number(v.getBigUint64(at, le)) : v.getUint16(at, le);
      const entry = at + (big ? 8 : 2) + below(count) * (big ? 20 : 12);
      const odd = random() < 0.5 ? ODD[below(ODD.length)]! : below(0x100000000);
      const field = below(4);
      if (field === 0) v.setUint16(entry, below(400) + 200, le);
      else if (field === 1) v.setUint16(entry + 2, below(20), le);
      else if (field === 2) v.setUint32(entry + 4, odd, le);
      else v.setUint32(entry + (big ? 12 : 8), odd, le);
    }
  }
  return { bytes, damage };
}
