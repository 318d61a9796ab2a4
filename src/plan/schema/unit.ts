import { z } from "zod";
import { identifier, label, quantity } from "./common.ts";

export const antennaSchema = z.strictObject({
  pattern: z.enum(["omni", "sector", "measured"]),
  gainDbi: quantity("antenna gain", "dBi", -20, 30),
  tiltDeg: quantity("downtilt", "degrees, positive down", -30, 30).optional(),
  azimuthDeg: quantity("antenna azimuth", "degrees from true north", 0, 360).nullable().optional(),
  /** Half-power width of a sector in azimuth. */
  beamwidthDeg: quantity("azimuth beamwidth", "degrees", 1, 360).optional(),
  /** Half-power width in elevation. */
  verticalBeamwidthDeg: quantity("elevation beamwidth", "degrees", 0.5, 180).optional(),
  /** Digitised pattern file beside the plan, for `measured`. */
  file: z.string().max(400).optional(),
});

const needBase = { id: identifier("need id"), name: label("need name").optional() };

export const lteNeed = z.strictObject({
  ...needBase,
  rsrpDbm: quantity("least RSRP", "dBm", -140, -40).optional(),
  downlinkMbps: quantity("downlink rate", "Mb/s", 0, 1000).optional(),
  uplinkMbps: quantity("uplink rate", "Mb/s", 0, 1000).optional(),
});
export const wifiNeed = z.strictObject({
  ...needBase,
  levelDbm: quantity("level at the terminal", "dBm", -110, 0),
  uplinkLevelDbm: quantity("level at the unit", "dBm", -110, 0).optional(),
});
export const narrowbandNeed = z.strictObject({
  ...needBase,
  levelDbm: quantity("level at the terminal", "dBm", -140, 0),
  uplinkLevelDbm: quantity("level at the unit", "dBm", -140, 0).optional(),
  /** Delivered audio quality the level stands for (TIA TSB-88 scale 1–5); carried to the sheet, not computed. */
  daq: quantity("delivered audio quality", "1 to 5", 1, 5).optional(),
});

const serviceBase = {
  id: identifier("service id"),
  name: label("service name").optional(),
  txPowerDbm: quantity("transmit power per port", "dBm", -30, 60),
  /** Transmit ports whose power adds (1 or 2); default 1. */
  txPorts: z.union([z.literal(1), z.literal(2)]).optional(),
  cableLossDb: quantity("cable loss", "dB", 0, 30).optional(),
  /** Instead of cableLossDb: type and length. */
  cable: z
    .strictObject({ type: z.enum(["foam-6mm", "foam-10mm"]), lengthM: quantity("cable length", "m", 0, 100) })
    .optional(),
  noiseFigureDb: quantity("noise figure", "dB", 0, 20).optional(),
  antenna: antennaSchema,
  interferenceMarginDb: quantity("interference margin", "dB", 0, 30).optional(),
  polarization: z.enum(["vertical", "horizontal"]).optional(),
  /** Standard deviation of the model's own error; default labelled assumed. */
  modelSigmaDb: quantity("model error", "dB", 0, 20).optional(),
  /** Location variability; default from ITU-R P.1812 §4.10. */
  locationSigmaDb: quantity("location variability", "dB", 0, 20).optional(),
};

export const lteService = z.strictObject({
  ...serviceBase,
  kind: z.literal("lte"),
  downlinkMHz: quantity("downlink frequency", "MHz", 400, 6000),
  uplinkMHz: quantity("uplink frequency", "MHz", 400, 6000),
  channelMHz: z.union([z.literal(1.4), z.literal(3), z.literal(5), z.literal(10), z.literal(15), z.literal(20)], {
    error: "channel must be 1.4, 3, 5, 10, 15 or 20 MHz",
  }),
  needs: z.array(lteNeed).min(1, "a service needs at least one need").max(20),
});
export const wifiService = z.strictObject({
  ...serviceBase,
  kind: z.literal("wifi"),
  frequencyMHz: quantity("frequency", "MHz", 2400, 6000),
  channelMHz: z.union([z.literal(20), z.literal(40), z.literal(80)], { error: "channel must be 20, 40 or 80 MHz" }),
  needs: z.array(wifiNeed).min(1, "a service needs at least one need").max(20),
});
export const narrowbandService = z.strictObject({
  ...serviceBase,
  kind: z.literal("narrowband"),
  downlinkMHz: quantity("downlink frequency", "MHz", 30, 6000),
  uplinkMHz: quantity("uplink frequency", "MHz", 30, 6000),
  channelKHz: quantity("channel", "kHz", 1, 1000),
  needs: z.array(narrowbandNeed).min(1, "a service needs at least one need").max(20),
});
export const serviceSchema = z.discriminatedUnion("kind", [lteService, wifiService, narrowbandService]);

export const dishSchema = z.strictObject({
  diameterM: quantity("dish diameter", "m", 0.2, 5),
  eyeHeightM: quantity("eye height (dish centre above ground)", "m", 0, 30),
  downlinkGHz: quantity("dish downlink", "GHz", 1, 50).optional(),
  uplinkGHz: quantity("dish uplink", "GHz", 1, 50).optional(),
  polarization: z.enum(["vertical", "horizontal", "circular"]).optional(),
  minElevationDeg: quantity("least elevation", "degrees", 0, 90).optional(),
  marginDeg: quantity("margin to hard objects", "degrees", 0, 45).optional(),
  treeMarginDeg: quantity("margin to trees", "degrees", 0, 45).optional(),
  /** The dish may be lifted off and stand apart from the unit. */
  apart: z.boolean().optional(),
  cableM: quantity("dish cable", "m", 0, 300).optional(),
  roofSetbackM: quantity("setback from a roof edge", "m", 0, 50).optional(),
  parapetM: quantity("parapet height", "m", 0, 10).optional(),
  /** How far the ray may leave the data and still count as clear: height above the eye. */
  dataEdgeHeightM: quantity("height above the eye at the data's edge", "m", 0, 5000).optional(),
  rainMmPerH: quantity("rain rate exceeded 0.01 % of the year", "mm/h", 0, 250).optional(),
  availabilityPct: quantity("availability wanted", "%", 50, 99.999).optional(),
  marginDb: quantity("link margin in clear sky", "dB", 0, 40).optional(),
});

export const unitSchema = z.strictObject({
  name: label("unit name").optional(),
  tipHeightM: quantity("tip height above ground", "m", 1, 60),
  /** Height of the cell antenna's centre; default tip height. */
  antennaHeightM: quantity("antenna height above ground", "m", 0.5, 60).optional(),
  footprintM: z
    .tuple([quantity("footprint length", "m", 1, 100), quantity("footprint width", "m", 1, 100)])
    .meta({ label: "footprint, along and across the heading", unit: "m" }),
  headingDeg: quantity("parking heading", "degrees from true north", 0, 360).optional(),
  maxSlopeDeg: quantity("largest slope", "degrees", 0.5, 30).optional(),
  cautionSlopeDeg: quantity("slope for caution", "degrees", 0.1, 30).optional(),
  /** Free radius round the mast as a multiple of tip height: pass, and no-go below the second. */
  fallZoneFactor: quantity("fall zone factor", "× tip height", 0, 5).optional(),
  fallZoneMinFactor: quantity("least fall zone factor", "× tip height", 0, 5).optional(),
  exhaustClearM: quantity("distance from openings to exhaust", "m", 0, 100).optional(),
  exhaustMinM: quantity("least distance from openings to exhaust", "m", 0, 100).optional(),
  fuelL: quantity("fuel", "L", 0, 5000).optional(),
  burnLPerH: quantity("fuel use", "L/h", 0.01, 200).optional(),
  ethernetCableM: quantity("Ethernet cable", "m", 0, 100).optional(),
  services: z.array(serviceSchema).min(1, "a unit needs at least one service").max(8),
  dish: dishSchema.optional(),
});

export const terminalSchema = z.strictObject({
  id: identifier("terminal id"),
  name: label("terminal name").optional(),
  powerDbm: quantity("terminal power", "dBm", -20, 50),
  gainDbi: quantity("terminal antenna gain", "dBi", -20, 20).optional(),
  noiseFigureDb: quantity("terminal noise figure", "dB", 0, 20).optional(),
  bodyLossDb: quantity("body loss", "dB", 0, 30).optional(),
  vehicleLossDb: quantity("vehicle loss", "dB", 0, 40).optional(),
  heightM: quantity("terminal height", "m", 0.1, 60).optional(),
  powerClass: z.union([z.literal(1), z.literal(3)]).optional(),
});
