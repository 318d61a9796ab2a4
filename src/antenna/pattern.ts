import { HardstandError } from "../errors/index.ts";
import type { AntennaSpec } from "../plan/types.ts";
import { wrap180 } from "../units/index.ts";
import { type MeasuredPattern, measuredGainDb } from "./measured.ts";
import { electricalTiltDeg, K_IMPROVED, K_TYPICAL, omniBeamwidthDeg, omniGainDb } from "./omni.ts";
import { sectorElevationWidthDeg, sectorGainDb } from "./sector.ts";

/** Azimuth width of a sector where the plan gives none, degrees (3GPP TR 36.814 Table A.2.1.1-2). */
export const SECTOR_WIDTH_DEG = 70;
/** F.1336-5 uses the improved side-lobe factor above this. */
const IMPROVED_FROM_MHZ = 3000;

export interface PatternContext {
  /** Chooses the side-lobe factor of an omnidirectional antenna; below 3 GHz when not given. */
  frequencyMHz?: number;
  /** What the file of a measured pattern holds. */
  measured?: MeasuredPattern;
}

/** Gain relative to the peak, dB ≤ 0, from azimuth (true, degrees) and elevation (up positive, degrees). */
export type Pattern = (azimuthDeg: number, elevationDeg: number) => number;

const missing = (message: string, hint: string) =>
  new HardstandError("model.input", message, { where: "antenna", hint });

/**
 * Fixes an antenna's pattern once, for many directions.
 * @param antenna  as the plan states it; downtilt positive down
 * @returns a function of azimuth and elevation; never above 0 dB, NaN for NaN
 * Throws model.input for a sector without azimuth and a measured pattern whose file was not read.
 */
export function compilePattern(antenna: AntennaSpec, context: PatternContext = {}): Pattern {
  const tiltDeg = antenna.tiltDeg ?? 0;
  if (antenna.pattern === "omni") {
    const width = antenna.verticalBeamwidthDeg ?? omniBeamwidthDeg(antenna.gainDbi);
    const k = (context.frequencyMHz ?? 0) > IMPROVED_FROM_MHZ ? K_IMPROVED : K_TYPICAL;
    return (_azimuthDeg, elevationDeg) => omniGainDb(electricalTiltDeg(elevationDeg, tiltDeg), width, k);
  }
  const beamDeg = antenna.azimuthDeg ?? null;
  if (antenna.pattern === "sector") {
    if (beamDeg === null) throw missing("a sector antenna needs its azimuth", "azimuthDeg, degrees from true north");
    const width = antenna.beamwidthDeg ?? SECTOR_WIDTH_DEG;
    const height = antenna.verticalBeamwidthDeg ?? sectorElevationWidthDeg(antenna.gainDbi, width);
    return (azimuthDeg, elevationDeg) =>
      sectorGainDb(wrap180(azimuthDeg - beamDeg), elevationDeg + tiltDeg, width, height);
  }
  const { measured } = context;
  if (measured === undefined)
    throw missing("the measured pattern's file was not read", "name it as file, beside the plan");
  // A pattern fed in all directions alike needs no azimuth; a directional one turned to nowhere is refused.
  const round = measured.azimuthLossDb.every((loss) => loss < 3);
  if (beamDeg === null && !round)
    throw missing("a directional pattern needs its azimuth", "azimuthDeg, degrees from true north");
  return (azimuthDeg, elevationDeg) => {
    const off = wrap180(azimuthDeg - (beamDeg ?? 0));
    // Mechanical tilt: down ahead, up behind.
    const tilted = elevationDeg + tiltDeg * Math.cos((off * Math.PI) / 180);
    return measuredGainDb(measured, off, Math.max(-90, Math.min(90, tilted)));
  };
}

/**
 * Gain of an antenna in a direction, relative to its peak.
 * @param azimuthDeg    clockwise from true north
 * @param elevationDeg  from the horizon, up positive, −90 to 90
 * @returns dB, ≤ 0. For many directions of one antenna, compilePattern is cheaper
 */
export const patternGainDb = (
  antenna: AntennaSpec,
  azimuthDeg: number,
  elevationDeg: number,
  context: PatternContext = {},
): number => compilePattern(antenna, context)(azimuthDeg, elevationDeg);

/** A pattern at whole degrees for drawing: round the horizon in the beam's elevation, and up and down in its azimuth. */
export function patternPreview(antenna: AntennaSpec, context: PatternContext = {}) {
  const pattern = compilePattern(antenna, context);
  const beamDeg = antenna.azimuthDeg ?? 0;
  const beamElevationDeg = -(antenna.tiltDeg ?? 0);
  return {
    /** Index = azimuth from true north, 0…359. */
    azimuthDb: Array.from({ length: 360 }, (_, i) => pattern(i, beamElevationDeg)),
    /** Index = elevation + 90, 0…180. */
    elevationDb: Array.from({ length: 181 }, (_, i) => pattern(beamDeg, i - 90)),
  };
}
