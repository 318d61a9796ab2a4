/**
 * Standard deviation of the model's own error where the plan gives none, dB. ASSUMED. Published figures beside it:
 * the irregular terrain model's situation variability is 5 + 3·exp(−d/100 km), about 8 dB on short paths (NTIA Report
 * 82-100); tuned area models reach 7 to 8 dB RMS (practitioners, no source); untuned ones do worse.
 */
export const DEFAULT_MODEL_SIGMA_DB = 8;
export const MODEL_SIGMA_SOURCE =
  "assumed; NTIA Report 82-100 gives about 8 dB situation variability on short paths, tuned models 7–8 dB RMS";

/** Side of the square within which the level varies by location, m, where none is given. */
export const DEFAULT_AREA_WIDTH_M = 100;

/**
 * Location variability: standard deviation of the local median within a square.
 * @param widthM  side of the square, m, 1 to 1000
 * @returns dB. Source: Rec. ITU-R P.1812-6 §4.10, σ_L = (0.52 + 0.024 f)·w_a^0.28, f in GHz, terminal below clutter
 */
export const locationSigmaDb = (frequencyMHz: number, widthM = DEFAULT_AREA_WIDTH_M): number =>
  (0.52 + (0.024 * frequencyMHz) / 1000) * widthM ** 0.28;
