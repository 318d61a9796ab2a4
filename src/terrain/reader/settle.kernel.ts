/** How raw samples become heights: value × scale + offset, metres; void where nodata, not finite or out of range. */
export interface Settling {
  /** Raw value that means void; NaN when there is none. */
  nodata: number;
  scale: number;
  offset: number;
  lowest: number;
  highest: number;
}

type Samples =
  | Int8Array
  | Uint8Array
  | Int16Array
  | Uint16Array
  | Int32Array
  | Uint32Array
  | Float32Array
  | Float64Array;

/**
 * Settles `count` samples of one row.
 * @param from   first sample in `samples`, one in every `stride` is taken
 * @param out    heights, float32, from `to` on; NaN = void
 * @returns number of finite samples dropped because they lie outside lowest…highest
 */
export function settleRow(
  samples: Samples,
  from: number,
  stride: number,
  count: number,
  s: Settling,
  out: Float32Array,
  to: number,
): number {
  const { nodata, scale, offset, lowest, highest } = s;
  let dropped = 0;
  let at = from;
  for (let i = 0; i < count; i++, at += stride) {
    const raw = samples[at]!;
    const height = raw * scale + offset;
    if (raw === nodata || !(height >= lowest && height <= highest)) {
      if (raw !== nodata && height - height === 0) dropped++;
      out[to + i] = Number.NaN;
    } else out[to + i] = height;
  }
  return dropped;
}
