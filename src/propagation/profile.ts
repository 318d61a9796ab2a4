/** A path's ground as the models walk it. Arrays may be longer than `n`, so that callers reuse them. */
export interface RadioProfile {
  /** Distance from the first terminal, km: first 0, strictly rising. */
  distancesKm: Float64Array;
  /** Bare ground, m AMSL. NaN is void. */
  groundM: Float64Array;
  /** Ground plus buildings, trees or clutter, m AMSL; the ends are not looked at. The same array as groundM where there are none. */
  obstacleM: Float64Array;
  /** Count of points used, >= 2. */
  n: number;
}

/** Both antennas of a link over a profile. */
export interface LinkEnds {
  frequencyMHz: number;
  /** Antenna heights above ground at the profile's ends, m. */
  txHeightM: number;
  rxHeightM: number;
  polarization: "horizontal" | "vertical";
}

/**
 * Builds a profile from plain arrays.
 * @param clutterM height above ground of what stands on it, m; left out = none
 */
export function radioProfile(
  distancesKm: ArrayLike<number>,
  heightsM: ArrayLike<number>,
  clutterM?: ArrayLike<number>,
): RadioProfile {
  const groundM = Float64Array.from(heightsM);
  const obstacleM = clutterM === undefined ? groundM : groundM.map((h, i) => h + clutterM[i]!);
  return { distancesKm: Float64Array.from(distancesKm), groundM, obstacleM, n: groundM.length };
}
