import { declination } from "../geodesy/index.ts";
import type { SkyWhen } from "../satellite/index.ts";
import type { Scenario } from "./scenario.ts";

export type { SkyWhen };

/** Date and declination that hold for a plan: the plan's own date, else the day given. */
export function whenOf(s: Pick<Scenario, "loaded" | "scene">, today: string): SkyWhen {
  const date = s.loaded.plan.date ?? today;
  const d = declination(s.scene.frame.origin, 0, new Date(`${date}T12:00:00Z`));
  return { date, declinationDeg: d.declinationDeg, model: d.model };
}
