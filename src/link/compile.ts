import type { NeedBudget } from "../plan/outputs/types.ts";
import type { LteService, Need, Place, Season, Service, Terminal } from "../plan/types.ts";
import { entryLossDb } from "../propagation/p2109.ts";
import { directionBudget, maplOf } from "./direction.ts";
import { buildingClassOf, serviceFrequencyMHz } from "./losses.ts";
import { levelDirections, lteDirections } from "./needs.ts";
import { indoorProbability, outdoorProbability, probabilityAt } from "./service-probability.ts";
import { DEFAULT_MODEL_SIGMA_DB, locationSigmaDb, MODEL_SIGMA_SOURCE } from "./sigma.ts";

export interface CompileArgs {
  service: Service;
  need: Need;
  terminal: Terminal;
  place: Place;
  /** Leaves are in the path loss, not here; accepted so that callers may hand over all they know. */
  season?: Season;
  /** "full" puts people round terminals outdoors and in tents. */
  state?: "empty" | "full";
  /** Overrides the service's and the Recommendation's location variability, dB. */
  locationSigmaDb?: number;
  /** Overrides the service's and the assumed model error, dB. */
  modelSigmaDb?: number;
  /** Side of the square the location variability is for, m. */
  areaWidthM?: number;
}

/** A need of a terminal at a kind of place, ready for any path loss. */
export interface CompiledNeed {
  /** Largest outdoor path loss that meets the need in the median, pattern at its peak, dB. */
  maplDownlinkDb: number;
  /** The same for the uplink, in terms of the loss at the downlink's frequency; null where no uplink is asked for. */
  maplUplinkDb: number | null;
  sigmaDb: number;
  sigmaLocationDb: number;
  sigmaModelDb: number;
  /** Where the model error comes from. */
  sigmaModelSource: string;
  /** Median building entry loss, dB; 0 when not indoors. */
  medianEntryDb: number;
  /** Indoors the answer is indicative: real buildings spread further than the Recommendation's two classes. */
  indicative: boolean;
  /** P(service) at an outdoor path loss and a pattern gain (≤ 0), 0…1; NaN for NaN. No allocation, made for rasters. */
  probability(lossDb: number, patternDb: number): number;
  /** Lesser of both directions' margins, median entry loss paid, dB; NaN for NaN. */
  marginDb(lossDb: number, patternDb: number): number;
  /** Which direction gives out first. Both margins fall alike with the loss, so the loss does not change it. */
  limitingDirection(lossDb: number, patternDb?: number): "downlink" | "uplink";
  /** Level at the terminal: RSRP for LTE, dBm. */
  levelDbm(lossDb: number, patternDb: number): number;
  /** Level the downlink needs, dBm. */
  thresholdDbm: number;
  /** Rates at a path loss, Mb/s; null where none is computed. */
  ratesMbps(lossDb: number, patternDb: number): { downlink: number | null; uplink: number | null };
  /** Every term both ways, with its source. */
  budget(lossDb: number, patternDb: number): NeedBudget;
}

/**
 * Fixes all of a need's link budget but path loss and pattern.
 * Losses handed to its functions are outdoor path losses at the service's downlink frequency (serviceFrequencyMHz), without
 * entry, body, vehicle or antenna terms. P = Φ(min(uplink, downlink margin)/σ), σ² = location² + model², shadowing common
 * to both directions; indoors averaged over the distribution of P.2109.
 * Throws model.input for a need that asks for nothing, or for more than its channel carries.
 * Sources: 3GPP TR 36.942 Annex A, Rec. ITU-R P.1812-6 §4.10, P.2109-1; see each term of budget().
 */
export function compileNeed(args: CompileArgs): CompiledNeed {
  const { service, need, terminal, place } = args;
  const full = args.state === "full";
  const common = { service, need, terminal, place, full };
  const { downlink, uplink } =
    service.kind === "lte"
      ? lteDirections({ ...common, service, need: need as LteService["needs"][number] })
      : levelDirections(common);
  const maplDownlinkDb = maplOf(downlink);
  const maplUplinkDb = uplink === null ? null : maplOf(uplink);
  const mapl = Math.min(maplDownlinkDb, maplUplinkDb ?? Number.POSITIVE_INFINITY);
  const limiting = maplUplinkDb !== null && maplUplinkDb < maplDownlinkDb ? "uplink" : "downlink";

  const frequencyMHz = serviceFrequencyMHz(service);
  const sigmaLocationDb =
    args.locationSigmaDb ?? service.locationSigmaDb ?? locationSigmaDb(frequencyMHz, args.areaWidthM);
  const givenModel = args.modelSigmaDb ?? service.modelSigmaDb;
  const sigmaModelDb = givenModel ?? DEFAULT_MODEL_SIGMA_DB;
  const sigmaDb = Math.hypot(sigmaLocationDb, sigmaModelDb);

  const buildingClass = buildingClassOf(place);
  const medianEntryDb = buildingClass === null ? 0 : entryLossDb(buildingClass, frequencyMHz, 0, 0.5);
  const spread =
    buildingClass === null ? outdoorProbability(sigmaDb) : indoorProbability(buildingClass, frequencyMHz, sigmaDb);
  const beforeEntry = mapl + medianEntryDb;

  const marginDb = (lossDb: number, patternDb: number) => mapl + patternDb - lossDb;
  const probability = (lossDb: number, patternDb: number) => probabilityAt(spread, beforeEntry + patternDb - lossDb);
  return {
    maplDownlinkDb,
    maplUplinkDb,
    sigmaDb,
    sigmaLocationDb,
    sigmaModelDb,
    sigmaModelSource: givenModel === undefined ? MODEL_SIGMA_SOURCE : "plan",
    medianEntryDb,
    indicative: buildingClass !== null,
    probability,
    marginDb,
    limitingDirection: () => limiting,
    levelDbm: (lossDb, patternDb) => downlink.levelAtZeroLossDbm + patternDb - lossDb,
    thresholdDbm: downlink.neededDbm,
    ratesMbps: (lossDb, patternDb) => ({
      downlink: downlink.rateMbps(downlink.levelAtZeroLossDbm + patternDb - lossDb),
      uplink: uplink?.rateMbps(uplink.levelAtZeroLossDbm - uplink.shiftDb + patternDb - lossDb) ?? null,
    }),
    budget: (lossDb, patternDb) => ({
      need: `${service.id}/${need.id}`,
      name: need.name ?? need.id,
      downlink: directionBudget(downlink, lossDb, patternDb),
      uplink: uplink === null ? null : directionBudget(uplink, lossDb, patternDb),
      limitingDirection: limiting,
      marginDb: marginDb(lossDb, patternDb),
      probability: probability(lossDb, patternDb),
      sigmaDb,
      sigmaLocationDb,
      sigmaModelDb,
    }),
  };
}
