import type { Place, Service } from "../plan/types.ts";
import { METRES_PER_FOOT } from "../units/index.ts";

/** dB per 100 ft of 50 Ω foam coaxial cable at 730 MHz; loss goes with the root of frequency. Common practice, no source. */
const CABLE_DB_PER_100_FT = { "foam-6mm": 6.9, "foam-10mm": 3.5 } as const;
const CABLE_REFERENCE_MHZ = 730;

export type CableType = keyof typeof CABLE_DB_PER_100_FT;

/** Loss of a cable, dB. */
export const cableLossDb = (type: CableType, lengthM: number, frequencyMHz: number): number =>
  CABLE_DB_PER_100_FT[type] * (lengthM / (100 * METRES_PER_FOOT)) * Math.sqrt(frequencyMHz / CABLE_REFERENCE_MHZ);

/** Frequency the path loss of a service is computed at, MHz: its downlink. */
export const serviceFrequencyMHz = (service: Service): number =>
  service.kind === "wifi" ? service.frequencyMHz : service.downlinkMHz;

/** Cable loss of a service, dB: as stated, or by type and length; 0 when neither is given. */
export function serviceCableLossDb(service: Service): number {
  if (service.cableLossDb !== undefined) return service.cableLossDb;
  return service.cable === undefined
    ? 0
    : cableLossDb(service.cable.type, service.cable.lengthM, serviceFrequencyMHz(service));
}

/** Extra loss at the uplink frequency where the path loss was computed at the downlink's: the free-space term, dB. */
export const frequencyShiftDb = (service: Service): number =>
  service.kind === "wifi" ? 0 : 20 * Math.log10(service.uplinkMHz / service.downlinkMHz);

/** Into a vehicle where the plan says nothing; 6 to 10 dB are met. Common practice, no source. */
export const VEHICLE_LOSS_DB = 8;
/** Canvas, perhaps wet. Common practice, no source. */
export const TENT_LOSS_DB = 2;
/** People standing close about a terminal when the place is full. Assumed, no source. */
export const CROWD_LOSS_DB = 3;

export const buildingClassOf = (place: Place): "traditional" | "efficient" | null =>
  place === "indoor-traditional" ? "traditional" : place === "indoor-efficient" ? "efficient" : null;
