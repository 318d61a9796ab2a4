import fc from "fast-check";

/**
 * Evenly spread numbers (fc.double crowds round zero), to 1e-6 of the unit.
 * @param min, max  inclusive
 */
export const evenly = (min: number, max: number): fc.Arbitrary<number> =>
  fc.integer({ min: Math.ceil(min * 1e6), max: Math.floor(max * 1e6) }).map((n) => n / 1e6);
