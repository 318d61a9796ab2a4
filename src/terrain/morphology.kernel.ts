/**
 * Sliding minimum and maximum along one line (van Herk 1992; Gil and Werman 1993): two passes whatever the width.
 * Voids are left out; a window of voids alone gives +Infinity (minimum) or −Infinity (maximum).
 * @param half   half-width of the window in cells
 * @param sign   1 for the minimum, −1 for the maximum
 * @param ahead  scratch of at least n + 2·half + width values; `behind` likewise
 */
export function slideLine(
  input: Float32Array,
  start: number,
  stride: number,
  n: number,
  half: number,
  sign: number,
  output: Float32Array,
  ahead: Float32Array,
  behind: Float32Array,
): void {
  const width = 2 * half + 1;
  const total = Math.ceil((n + 2 * half) / width) * width;
  for (let i = 0; i < total; i++) {
    const k = i - half;
    const z = k >= 0 && k < n ? input[start + k * stride]! * sign : Number.POSITIVE_INFINITY;
    const v = Number.isNaN(z) ? Number.POSITIVE_INFINITY : z;
    ahead[i] = i % width === 0 || v < ahead[i - 1]! ? v : ahead[i - 1]!;
    behind[i] = v;
  }
  for (let i = total - 2; i >= 0; i--)
    if ((i + 1) % width !== 0 && behind[i + 1]! < behind[i]!) behind[i] = behind[i + 1]!;
  for (let k = 0; k < n; k++) {
    output[start + k * stride] = Math.min(behind[k]!, ahead[k + 2 * half]!) * sign;
  }
}
