import { HardstandError } from "../errors/index.ts";
import type { LteService, Need, Place, Service, Terminal } from "../plan/types.ts";
import { placeTerms, terminalTerms, transmitTerms, unitTerms } from "./chain.ts";
import { type Direction, type Term, term, total } from "./direction.ts";
import { frequencyShiftDb } from "./losses.ts";
import {
  bestUplink,
  DOWNLINK_CURVE,
  NOISE_DBM_PER_HZ,
  noiseDbm,
  RB_HZ,
  RE_HZ,
  requiredSinrDb,
  resourceBlocks,
  spectralEfficiency,
  UPLINK_CURVE,
  uplinkRate,
} from "./lte.ts";
import { WIFI_SOURCE, wifiRateMbps } from "./wifi.ts";

/** Noise figures where the plan gives none, dB. Source: 3GPP TR 36.942 (base station 5; terminal 9 from memory). */
export const UNIT_NOISE_FIGURE_DB = 5;
export const TERMINAL_NOISE_FIGURE_DB = 9;

export interface NeedArgs {
  service: Service;
  need: Need;
  terminal: Terminal;
  place: Place;
  full: boolean;
}
export interface Directions {
  downlink: Direction;
  uplink: Direction | null;
}

const THERMAL = `${NOISE_DBM_PER_HZ} dBm/Hz`;

function noiseTerms(bandwidthHz: number, figureDb: number, given: boolean, marginDb: number): Term[] {
  const terms = [
    term("thermal noise", noiseDbm(bandwidthHz, 0), "dBm", `${THERMAL} in ${bandwidthHz / 1000} kHz`),
    term("noise figure", figureDb, "dB", given ? "plan" : "3GPP TR 36.942"),
  ];
  if (marginDb !== 0) terms.push(term("interference margin", marginDb, "dB", "plan"));
  return terms;
}

function unreachable(service: LteService, need: Need, rateMbps: number, mostMbps: number, way: string): HardstandError {
  return new HardstandError("model.input", `need ${service.id}/${need.id} asks for more than the channel carries`, {
    where: `unit.services[${service.id}].needs[${need.id}].${way}Mbps`,
    received: rateMbps,
    hint: `a ${service.channelMHz} MHz channel carries at most ${mostMbps.toFixed(1)} Mb/s ${way}: ask for less or give it a wider channel`,
  });
}

/** LTE, per resource element down and per resource block up. */
export function lteDirections(args: NeedArgs & { service: LteService; need: LteService["needs"][number] }): Directions {
  const { service, need, terminal, place, full } = args;
  const { rsrpDbm, downlinkMbps, uplinkMbps } = need;
  if (rsrpDbm === undefined && downlinkMbps === undefined && uplinkMbps === undefined)
    throw new HardstandError("model.input", `need ${service.id}/${need.id} asks for nothing`, {
      where: `unit.services[${service.id}].needs[${need.id}]`,
      hint: "state rsrpDbm, downlinkMbps or uplinkMbps",
    });
  const blocks = resourceBlocks(service.channelMHz);
  const bandwidthHz = blocks * RB_HZ;
  const interferenceDb = service.interferenceMarginDb ?? 0;
  const way = placeTerms(service, terminal, place, full);

  const figureDown = terminal.noiseFigureDb ?? TERMINAL_NOISE_FIGURE_DB;
  const noisePerElement = noiseDbm(RE_HZ, figureDown) + interferenceDb;
  const downSinrDb = requiredSinrDb(downlinkMbps ?? 0, bandwidthHz, DOWNLINK_CURVE);
  if (downSinrDb === Number.POSITIVE_INFINITY)
    throw unreachable(service, need, downlinkMbps!, (DOWNLINK_CURVE.cap * bandwidthHz) / 1e6, "downlink");
  const bySinr = noisePerElement + downSinrDb;
  const neededDown = Math.max(bySinr, rsrpDbm ?? Number.NEGATIVE_INFINITY);
  const chainDown = [
    ...transmitTerms(service),
    term(
      "spread over resource elements",
      -10 * Math.log10(12 * blocks),
      "dB",
      `${12 * blocks} of ${blocks} resource blocks, 3GPP TS 36.101 Table 5.6-1`,
    ),
    ...unitTerms(service),
    ...way,
  ];
  const downlink: Direction = {
    direction: "downlink",
    chain: chainDown,
    shiftDb: 0,
    levelAtZeroLossDbm: total(chainDown),
    against: [
      ...noiseTerms(RE_HZ, figureDown, terminal.noiseFigureDb !== undefined, interferenceDb),
      term("SINR needed", downSinrDb, "dB", `${DOWNLINK_CURVE.source}, ${downlinkMbps ?? 0} Mb/s on the whole channel`),
      term(
        "RSRP needed",
        neededDown,
        "dBm",
        neededDown === rsrpDbm ? "plan" : "noise per resource element and the SINR needed",
      ),
    ],
    neededDbm: neededDown,
    noiseDbm: noisePerElement,
    resourceBlocks: blocks,
    rateMbps: (levelDbm) => (spectralEfficiency(levelDbm - noisePerElement, DOWNLINK_CURVE) * bandwidthHz) / 1e6,
  };
  if (uplinkMbps === undefined) return { downlink, uplink: null };

  const figureUp = service.noiseFigureDb ?? UNIT_NOISE_FIGURE_DB;
  const chainUp = [...terminalTerms(terminal), ...way, ...unitTerms(service)];
  const levelUp = total(chainUp);
  const best = bestUplink(uplinkMbps, levelUp, blocks, figureUp, interferenceDb);
  if (best.maplDb === Number.NEGATIVE_INFINITY)
    throw unreachable(service, need, uplinkMbps, (UPLINK_CURVE.cap * bandwidthHz) / 1e6, "uplink");
  const noiseUp = noiseDbm(best.blocks * RB_HZ, figureUp) + interferenceDb;
  const uplink: Direction = {
    direction: "uplink",
    chain: chainUp,
    shiftDb: frequencyShiftDb(service),
    levelAtZeroLossDbm: levelUp,
    against: [
      ...noiseTerms(best.blocks * RB_HZ, figureUp, service.noiseFigureDb !== undefined, interferenceDb),
      term(
        "SINR needed",
        best.sinrDb,
        "dB",
        `${UPLINK_CURVE.source}, ${uplinkMbps} Mb/s on ${best.blocks} of ${blocks} resource blocks, the number that reaches furthest`,
      ),
      term("level needed", noiseUp + best.sinrDb, "dBm", "noise on those blocks and the SINR needed"),
    ],
    neededDbm: noiseUp + best.sinrDb,
    noiseDbm: noiseUp,
    resourceBlocks: best.blocks,
    rateMbps: (levelDbm) => uplinkRate(levelDbm, blocks, figureUp, interferenceDb).rateMbps,
  };
  return { downlink, uplink };
}

/** Wi-Fi and narrowband: a level at each end, with the interference margin on top. */
export function levelDirections(args: NeedArgs): Directions {
  const { service, terminal, place, full } = args;
  if (service.kind === "lte") throw new HardstandError("internal", "an LTE need reached the level budget");
  const need = args.need as { levelDbm: number; uplinkLevelDbm?: number | undefined };
  const interferenceDb = service.interferenceMarginDb ?? 0;
  const bandwidthHz = service.kind === "wifi" ? service.channelMHz * 1e6 : service.channelKHz * 1e3;
  const way = placeTerms(service, terminal, place, full);
  const rate = (levelDbm: number) =>
    service.kind === "wifi" ? wifiRateMbps(levelDbm - interferenceDb, service.channelMHz) : null;

  const make = (
    direction: "downlink" | "uplink",
    chain: Term[],
    neededDbm: number,
    figureDb: number,
    given: boolean,
  ): Direction => ({
    direction,
    chain,
    shiftDb: direction === "uplink" ? frequencyShiftDb(service) : 0,
    levelAtZeroLossDbm: total(chain),
    against: [
      ...noiseTerms(bandwidthHz, figureDb, given, interferenceDb),
      term(
        "level needed",
        neededDbm + interferenceDb,
        "dBm",
        service.kind === "wifi" ? `plan; rates by ${WIFI_SOURCE}` : "plan",
      ),
    ],
    neededDbm: neededDbm + interferenceDb,
    noiseDbm: noiseDbm(bandwidthHz, figureDb) + interferenceDb,
    resourceBlocks: null,
    rateMbps: rate,
  });
  const downlink = make(
    "downlink",
    [...transmitTerms(service), ...unitTerms(service), ...way],
    need.levelDbm,
    terminal.noiseFigureDb ?? TERMINAL_NOISE_FIGURE_DB,
    terminal.noiseFigureDb !== undefined,
  );
  if (need.uplinkLevelDbm === undefined) return { downlink, uplink: null };
  const uplink = make(
    "uplink",
    [...terminalTerms(terminal), ...way, ...unitTerms(service)],
    need.uplinkLevelDbm,
    service.noiseFigureDb ?? UNIT_NOISE_FIGURE_DB,
    service.noiseFigureDb !== undefined,
  );
  return { downlink, uplink };
}
