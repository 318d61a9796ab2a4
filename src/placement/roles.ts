import type { Spot } from "../plan/outputs/types.ts";
import type { Scenario } from "./scenario.ts";
import type { ExaminedSpot } from "./spot-detail.ts";

const ROLES = ["primary", "alternate", "contingency", "emergency"] as const;
/** An alternate is elsewhere: this many separations from every spot already given a role. */
const APART = 3;

/** Primary is the first spot; the others are the next in order that are really elsewhere, no-gos never. */
export function rolesFor(s: Scenario, ordered: readonly ExaminedSpot[]): Spot["role"][] {
  const roles: Spot["role"][] = ordered.map(() => "none");
  const chosen: ExaminedSpot[] = [];
  for (const apartM of [s.separationM * APART, s.separationM]) {
    for (let i = 0; i < ordered.length && chosen.length < ROLES.length; i++) {
      const spot = ordered[i]!;
      if (roles[i] !== "none" || spot.keys.noGo) continue;
      if (chosen.some((c) => Math.hypot(c.at.xM - spot.at.xM, c.at.yM - spot.at.yM) < apartM)) continue;
      roles[i] = ROLES[chosen.length]!;
      chosen.push(spot);
    }
  }
  return roles;
}
