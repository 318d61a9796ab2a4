import type { Place, Service, Terminal } from "../plan/types.ts";
import { entryLossDb } from "../propagation/p2109.ts";
import { type Term, term } from "./direction.ts";
import {
  buildingClassOf,
  CROWD_LOSS_DB,
  serviceCableLossDb,
  serviceFrequencyMHz,
  TENT_LOSS_DB,
  VEHICLE_LOSS_DB,
} from "./losses.ts";

const PLAN = "plan";
const UNSAID = "not in the plan: taken as 0";

/** Stated value with its source, or 0 and that it is unsaid. */
const stated = (name: string, value: number | undefined, sign: 1 | -1, unit: string): Term =>
  term(name, value === undefined ? 0 : sign * value, unit, value === undefined ? UNSAID : PLAN);

/** What stands between the open air and the terminal's own antenna. The entry loss is its median here. */
export function placeTerms(service: Service, terminal: Terminal, place: Place, full: boolean): Term[] {
  const terms: Term[] = [];
  const buildingClass = buildingClassOf(place);
  if (buildingClass !== null)
    terms.push(
      term(
        "building entry, median",
        -entryLossDb(buildingClass, serviceFrequencyMHz(service), 0, 0.5),
        "dB",
        `Rec. ITU-R P.2109-1, ${buildingClass === "efficient" ? "thermally efficient" : "traditional"}; its spread is in the probability`,
      ),
    );
  if (place === "vehicle")
    terms.push(
      term(
        "vehicle",
        -(terminal.vehicleLossDb ?? VEHICLE_LOSS_DB),
        "dB",
        terminal.vehicleLossDb === undefined ? "common practice (6–10 dB), no source" : PLAN,
      ),
    );
  if (place === "tent") terms.push(term("tent", -TENT_LOSS_DB, "dB", "common practice, no source"));
  if (full && (place === "outdoor" || place === "tent"))
    terms.push(term("crowd", -CROWD_LOSS_DB, "dB", "assumed while the place is full, no source"));
  terms.push(stated("body", terminal.bodyLossDb, -1, "dB"));
  terms.push(stated("terminal antenna", terminal.gainDbi, 1, "dBi"));
  return terms;
}

/** The unit's antenna system, the same both ways. */
export function unitTerms(service: Service): Term[] {
  const source =
    service.cableLossDb === undefined && service.cable !== undefined ? "type and length, common practice" : PLAN;
  const cable = serviceCableLossDb(service);
  return [
    term(
      "cable",
      cable === 0 ? 0 : -cable,
      "dB",
      service.cableLossDb === undefined && service.cable === undefined ? UNSAID : source,
    ),
    term("unit antenna, peak", service.antenna.gainDbi, "dBi", PLAN),
  ];
}

/** The unit's transmit power; two ports add. */
export function transmitTerms(service: Service): Term[] {
  const terms = [term("transmit power per port", service.txPowerDbm, "dBm", PLAN)];
  if (service.txPorts === 2)
    terms.push(term("second port", 10 * Math.log10(2), "dB", "both ports' power counted, reference signals with it"));
  return terms;
}

export const terminalTerms = (terminal: Terminal): Term[] => [
  term(
    "terminal power",
    terminal.powerDbm,
    "dBm",
    terminal.powerClass === undefined ? PLAN : `plan (3GPP TS 36.101 power class ${terminal.powerClass})`,
  ),
];
