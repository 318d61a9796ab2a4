import type { Scenario } from "./scenario.ts";

/** Cautions that go with every answer, and those this plan calls for. */
export function cautionsFor(s: Pick<Scenario, "hazards" | "dish" | "sites">): string[] {
  const out = [
    "Prediction, not a promise. Not a survey, structural, electrical or RF-safety certificate.",
    "Look up and live: check overhead before raising a mast. Local codes and licensed practice win.",
    "Landowner, fire, utility and band licensee consent is needed. The crew may reject any spot.",
    "Generator exhaust holds carbon monoxide: keep it away from openings, tents and cabs, downwind.",
    "Lower nothing and touch no mast in a thunderstorm: shelter first, wait 30 minutes after the last thunder.",
  ];
  if (s.hazards.some((h) => h.kind === "power-line" && h.lineText.startsWith("voltage not given")))
    out.push("A power line's voltage is not in the plan: the larger distance is used. Ask the utility.");
  if (s.dish)
    out.push(
      "Nobody stands in front of the dish or reaches between feed and reflector while it transmits. On a roof: access, load, edge and owner's consent come first.",
    );
  if (s.sites.some((p) => p.place.startsWith("indoor")))
    out.push("Indoor results are indicative: real buildings spread far more than any model.");
  return out;
}
