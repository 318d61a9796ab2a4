/**
 * Least receiver level per modulation and code rate in 20 MHz, dBm, with bits per subcarrier.
 * Twice the width asks for 3 dB more. Source: IEEE Std 802.11 minimum receiver sensitivity tables (n, ac, ax), PER 10 %.
 */
export const WIFI_STEPS = [
  { modulation: "BPSK 1/2", levelDbm: -82, bits: 1 / 2 },
  { modulation: "QPSK 1/2", levelDbm: -79, bits: 1 },
  { modulation: "QPSK 3/4", levelDbm: -77, bits: 3 / 2 },
  { modulation: "16-QAM 1/2", levelDbm: -74, bits: 2 },
  { modulation: "16-QAM 3/4", levelDbm: -70, bits: 3 },
  { modulation: "64-QAM 2/3", levelDbm: -66, bits: 4 },
  { modulation: "64-QAM 3/4", levelDbm: -65, bits: 9 / 2 },
  { modulation: "64-QAM 5/6", levelDbm: -64, bits: 5 },
  { modulation: "256-QAM 3/4", levelDbm: -59, bits: 6 },
  { modulation: "256-QAM 5/6", levelDbm: -57, bits: 20 / 3 },
  { modulation: "1024-QAM 3/4", levelDbm: -54, bits: 15 / 2 },
  { modulation: "1024-QAM 5/6", levelDbm: -52, bits: 25 / 3 },
] as const;
export const WIFI_SOURCE = "IEEE Std 802.11 minimum receiver sensitivity, one stream";

/** Data subcarriers by channel width, MHz (802.11n/ac). */
const DATA_SUBCARRIERS: Readonly<Record<number, number>> = { 20: 52, 40: 108, 80: 234 };
const SYMBOL_US = 4;
/** 256-QAM is the highest step whose rate follows from the symbol above; 1024-QAM came with another one (802.11ax). */
const HIGHEST_STEP = 10;

/** Sensitivity of a step in a channel of 20, 40 or 80 MHz, dBm. */
export const wifiSensitivityDbm = (step: number, channelMHz: number): number =>
  WIFI_STEPS[step]!.levelDbm + 3 * Math.round(Math.log2(channelMHz / 20));

/** Rate on the air of one stream with the long guard interval at a level, Mb/s; 0 below the lowest step. */
export function wifiRateMbps(levelDbm: number, channelMHz: number): number {
  let rate = 0;
  for (let step = 0; step < HIGHEST_STEP; step++)
    if (levelDbm >= wifiSensitivityDbm(step, channelMHz))
      rate = (DATA_SUBCARRIERS[channelMHz]! * WIFI_STEPS[step]!.bits) / SYMBOL_US;
  return rate;
}
