import type { Need, Service } from "../plan/types.ts";
import { DOWNLINK_CURVE, RB_HZ, resourceBlocks, UPLINK_CURVE } from "./lte.ts";

/** Share of users of a need that move data at one time where nothing is known. Assumed, no source. */
export const DEFAULT_ACTIVITY = 0.1;
/** A cell scheduled fuller than this stops answering evenly. Common practice, no source. */
export const FULL_SHARE = 0.7;

/** One group of users with one need at one place. */
export interface LoadRow {
  id: string;
  service: Service;
  need: Need;
  users: number;
  /** Share of users active at one time, 0…1; DEFAULT_ACTIVITY when not given. */
  activity?: number;
  /** Rates one user could have with the whole channel at this place (CompiledNeed.ratesMbps); null = unknown or none. */
  downlinkMbps: number | null;
  uplinkMbps: number | null;
}

export interface ServiceLoad {
  service: string;
  users: number;
  activeUsers: number;
  /** Share of the channel's time the demand takes, each way; above 1 it does not fit. */
  downlinkShare: number;
  uplinkShare: number;
  downlinkMbps: number;
  uplinkMbps: number;
  /** Rows whose users have no rate at all where they stand: coverage, not load, is their limit. */
  unserved: string[];
}
export interface LoadAnswer {
  services: ServiceLoad[];
  backhaulMbps: number | null;
  backhaulDemandMbps: number;
  backhaulShare: number | null;
  /** What is full first: a service's downlink or uplink, the backhaul, or nothing. */
  limit: { what: "nothing" | "downlink" | "uplink" | "backhaul"; service: string | null; share: number };
  /** By how much all users could grow before the limit (below 1: too many already). */
  headroom: number | null;
  text: string;
}

const rates = (need: Need): { down: number; up: number } => ({
  down: ("downlinkMbps" in need ? need.downlinkMbps : undefined) ?? 0,
  up: ("uplinkMbps" in need ? need.uplinkMbps : undefined) ?? 0,
});

/**
 * Demand against what the cell and the backhaul carry.
 * A user of demand D where the whole channel would give R takes D/R of its time; the shares of all active users add up,
 * each way for itself (frequency-division duplex). The backhaul carries the greater of both sums (one way each).
 * Holds for averages: no queueing, no scheduling gain, no overhead beyond that of the rate curve.
 * @param rows          groups of users; a row without rate is listed as unserved and takes no share
 * @param backhaulMbps  capacity each way; null = unknown, then it is never the limit and the text says so
 * Source: time-share of a round-robin scheduler over the rates of 3GPP TR 36.942 Annex A; activity and full share as named.
 */
export function serviceLoad(rows: readonly LoadRow[], backhaulMbps: number | null): LoadAnswer {
  const byService = new Map<string, ServiceLoad>();
  for (const row of rows) {
    const load = byService.get(row.service.id) ?? {
      service: row.service.id,
      users: 0,
      activeUsers: 0,
      downlinkShare: 0,
      uplinkShare: 0,
      downlinkMbps: 0,
      uplinkMbps: 0,
      unserved: [],
    };
    byService.set(row.service.id, load);
    const active = row.users * (row.activity ?? DEFAULT_ACTIVITY);
    const { down, up } = rates(row.need);
    load.users += row.users;
    load.activeUsers += active;
    const noDown = down > 0 && !(row.downlinkMbps !== null && row.downlinkMbps > 0);
    const noUp = up > 0 && !(row.uplinkMbps !== null && row.uplinkMbps > 0);
    if (noDown || noUp) {
      load.unserved.push(row.id);
      continue;
    }
    load.downlinkMbps += active * down;
    load.uplinkMbps += active * up;
    if (down > 0) load.downlinkShare += (active * down) / row.downlinkMbps!;
    if (up > 0) load.uplinkShare += (active * up) / row.uplinkMbps!;
  }
  const services = [...byService.values()];
  const backhaulDemandMbps = Math.max(
    services.reduce((s, l) => s + l.downlinkMbps, 0),
    services.reduce((s, l) => s + l.uplinkMbps, 0),
  );
  const backhaulShare = backhaulMbps === null ? null : backhaulDemandMbps / backhaulMbps;

  let limit: LoadAnswer["limit"] = { what: "nothing", service: null, share: 0 };
  let fullest = limit;
  const consider = (what: "downlink" | "uplink" | "backhaul", service: string | null, share: number, full: number) => {
    const used = share / full;
    if (used > fullest.share) fullest = { what, service, share: used };
    if (used > 1 && used >= limit.share) limit = { what, service, share: used };
  };
  for (const l of services) {
    consider("downlink", l.service, l.downlinkShare, FULL_SHARE);
    consider("uplink", l.service, l.uplinkShare, FULL_SHARE);
  }
  if (backhaulShare !== null) consider("backhaul", null, backhaulShare, 1);
  const headroom = fullest.share > 0 ? 1 / fullest.share : null;
  return {
    services,
    backhaulMbps,
    backhaulDemandMbps,
    backhaulShare,
    limit: limit.what === "nothing" ? { ...limit, share: fullest.share } : limit,
    headroom,
    text: describe(limit, headroom, backhaulMbps, services),
  };
}

function describe(
  limit: LoadAnswer["limit"],
  headroom: number | null,
  backhaulMbps: number | null,
  services: readonly ServiceLoad[],
): string {
  const unserved = services.flatMap((s) => s.unserved);
  const parts: string[] = [];
  if (limit.what === "nothing")
    parts.push(headroom === null ? "no demand is stated" : `the demand fits ${headroom.toFixed(1)} times over`);
  else {
    const where = limit.what === "backhaul" ? "the backhaul" : `the ${limit.what} of ${limit.service}`;
    parts.push(`${where} is full first: ${Math.round(limit.share * 100)} % of what it carries`);
  }
  if (backhaulMbps === null) parts.push("the backhaul's capacity is not known");
  if (unserved.length > 0) parts.push(`out of coverage: ${unserved.join(", ")}`);
  return parts.join("; ");
}

/** Most a service's channel carries at best, Mb/s each way: the caps of 3GPP TR 36.942 Annex A; null for others than LTE. */
export const channelCapacityMbps = (service: Service): { downlink: number; uplink: number } | null =>
  service.kind === "lte"
    ? {
        downlink: (resourceBlocks(service.channelMHz) * RB_HZ * DOWNLINK_CURVE.cap) / 1e6,
        uplink: (resourceBlocks(service.channelMHz) * RB_HZ * UPLINK_CURVE.cap) / 1e6,
      }
    : null;
