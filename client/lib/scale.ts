/** Round tick values inside a range: steps of 1, 2 or 5 times a power of ten. */
export function ticks(min: number, max: number, about: number): number[] {
  const span = max - min;
  if (!(span > 0) || about < 1) return [];
  const raw = span / about;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 5, 10].map((f) => f * power).find((s) => s >= raw * 0.999) ?? 10 * power;
  const out: number[] = [];
  for (let i = Math.ceil(min / step - 1e-9); i * step <= max + step * 1e-9; i++)
    out.push(Number((i * step).toPrecision(12)));
  return out;
}
export const linear =
  (d0: number, d1: number, r0: number, r1: number) =>
  (v: number): number =>
    r0 + ((v - d0) / (d1 - d0 || 1)) * (r1 - r0);
export const px = (v: number): string => (Math.round(v * 10) / 10).toString();
