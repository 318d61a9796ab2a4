import { clearance } from "../coverage/path/clearance.ts";
import { createProfile, samplePath } from "../coverage/path/sample.ts";
import type { XY } from "../geodesy/types.ts";
import type { BackhaulResult, SatelliteView } from "../plan/outputs/types.ts";
import { unitEnd } from "./evaluate.ts";
import type { Scenario } from "./scenario.ts";

/** Share of the first Fresnel zone a donor path has to keep free (common practice, no source). */
export const DONOR_FRESNEL = 0.6;

let profile: ReturnType<typeof createProfile> | null = null;

/** Ways back to the network at one place, in the plan's order of preference, each with what was found. */
export function backhaulAt(s: Scenario, at: XY, satellites: readonly SatelliteView[]): BackhaulResult[] {
  const found: BackhaulResult[] = [];
  for (const kind of s.backhaulOrder) {
    if (kind === "ethernet" && s.drops.length > 0) found.push(ethernet(s, at));
    if (kind === "donor" && s.donors.length > 0) found.push(donor(s, at));
    if (kind === "satellite" && s.dish && s.satellites.length > 0) found.push(satellite(satellites));
  }
  return found.length > 0
    ? found
    : [{ kind: "none", status: "fail", text: "The plan names no way back to the network." }];
}

export function dropReachM(s: Scenario, drop: { cableM: number }): number {
  return Math.min(drop.cableM, s.unit.ethernetCableM);
}

function ethernet(s: Scenario, at: XY): BackhaulResult {
  const nearest = s.drops
    .map((d) => ({ d, m: Math.hypot(d.at.xM - at.xM, d.at.yM - at.yM) }))
    .reduce((a, b) => (b.m - dropReachM(s, b.d) < a.m - dropReachM(s, a.d) ? b : a));
  const reach = dropReachM(s, nearest.d);
  const ok = nearest.m <= reach;
  return {
    kind: "ethernet",
    status: ok ? "pass" : "fail",
    text: `${nearest.d.name} is ${nearest.m.toFixed(0)} m away in a straight line, ${ok ? "within" : "beyond"} the ${reach.toFixed(0)} m of cable${ok ? "; add the detour the cable has to make" : ""}.`,
  };
}

function donor(s: Scenario, at: XY): BackhaulResult {
  profile ??= createProfile();
  let best: BackhaulResult | null = null;
  for (const d of s.donors) {
    samplePath(
      s.scene,
      unitEnd(s, at),
      { xM: d.at.xM, yM: d.at.yM, heightM: d.antennaHeightM, building: -1, onRoof: false },
      profile,
    );
    const c = clearance(profile, d.frequencyMHz, s.k);
    const ratio = c.fresnelRatio;
    const km = (profile.distanceM / 1000).toFixed(1);
    const status =
      profile.unknownShare > 0 && !(ratio < DONOR_FRESNEL) ? "unknown" : ratio >= DONOR_FRESNEL ? "pass" : "fail";
    const text =
      status === "unknown"
        ? `${d.name}, ${km} km: ${(profile.unknownShare * 100).toFixed(0)} % of the path has no ground data.`
        : `${d.name}, ${km} km: ${ratio.toFixed(2)} of the first Fresnel zone is clear, needs ${DONOR_FRESNEL}.`;
    const result: BackhaulResult = { kind: "donor", status, text };
    const order = { pass: 0, unknown: 1, fail: 2 };
    if (best === null || order[status] < order[best.status]) best = result;
  }
  return best!;
}

function satellite(views: readonly SatelliteView[]): BackhaulResult {
  const clear = views.filter((v) => v.clear === true);
  const unknown = views.filter((v) => v.clear === null);
  if (clear.length > 0) {
    return {
      kind: "satellite",
      status: "pass",
      text: `Dish sees ${clear.map((v) => `${v.id} (${v.clearanceDeg?.toFixed(1)}° clear)`).join(", ")}.`,
    };
  }
  if (unknown.length > 0)
    return {
      kind: "satellite",
      status: "unknown",
      text: `Whether the dish sees ${unknown.map((v) => v.id).join(", ")} is unknown: data are missing in that direction.`,
    };
  return { kind: "satellite", status: "fail", text: "No satellite of the plan is clear from here." };
}
