import type { Spot } from "../plan/outputs/types.ts";
import type { Scenario } from "./scenario.ts";
import type { ExaminedSpot } from "./spot-detail.ts";

const ROLES = ["primary", "alternate", "contingency", "emergency"] as const;
/** Within one parking area an alternate is elsewhere when it is this many separations from every spot with a role. */
const APART = 3;

/**
 * Primary is the first spot. The others are chosen to be really elsewhere: first the best spot of another parking area that
 * serves as many musts as the primary, then the next in order far enough away, then the next a separation away. No-gos never.
 */
export function rolesFor(s: Scenario, ordered: readonly ExaminedSpot[]): Spot["role"][] {
  const roles: Spot["role"][] = ordered.map(() => "none");
  const chosen: ExaminedSpot[] = [];
  const give = (allowed: (spot: ExaminedSpot) => boolean): void => {
    for (let i = 0; i < ordered.length && chosen.length < ROLES.length; i++) {
      const spot = ordered[i]!;
      if (roles[i] !== "none" || spot.keys.noGo || !allowed(spot)) continue;
      roles[i] = ROLES[chosen.length]!;
      chosen.push(spot);
    }
  };
  const away = (spot: ExaminedSpot): number =>
    Math.min(...chosen.map((c) => Math.hypot(c.at.xM - spot.at.xM, c.at.yM - spot.at.yM)), Number.POSITIVE_INFINITY);
  give(
    (spot) =>
      chosen.length === 0 ||
      (spot.keys.mustsShort <= chosen[0]!.keys.mustsShort && chosen.every((c) => c.parking !== spot.parking)),
  );
  give((spot) => away(spot) >= s.separationM * APART);
  give((spot) => away(spot) >= s.separationM);
  return roles;
}
