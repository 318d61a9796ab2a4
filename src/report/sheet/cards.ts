import type { Spot } from "../../plan/outputs/types.ts";
import type { Card } from "./draw.ts";
import { bearing, checkName, checkNumbers, decimalDegrees, degreesMinutes, num, served, signed } from "./format.ts";
import { chosenView, skyState } from "./pointing.ts";
import { namesOf, northsAt, type SheetInput, withNames } from "./spot-parts.ts";

/** What a crew reads on a phone on the way to a spot: the sheet's own words, without its drawing. */
export function spotCard(input: SheetInput, spot: Spot): Card {
  const { loaded, answer } = input;
  const names = namesOf(loaded);
  const { norths } = northsAt(spot, answer);
  const v = chosenView(spot);
  const rows: [string, string][] = [
    ["USNG (land teams)", spot.usng],
    ["Degrees and minutes", degreesMinutes(spot)],
    ["Decimal: latitude, longitude", decimalDegrees(spot)],
    ["Ground, AMSL", spot.groundAmslM === null ? "unknown" : `${num(spot.groundAmslM, 1)} m`],
  ];
  if (spot.headingDeg !== null)
    rows.push([
      "Park facing",
      `${bearing(spot.headingDeg - norths.declinationDeg)} compass, ${bearing(spot.headingDeg)} true`,
    ]);
  if (v)
    rows.push(
      [
        `Point at ${names.get(v.id) ?? v.id}`,
        `${bearing(v.azimuthMagneticDeg)} compass, ${num(v.elevationDeg, 1)}° up`,
      ],
      ["Skew, true azimuth", `${signed(v.skewDeg, 1)}°, ${bearing(v.azimuthDeg)}`],
      ["Sky", skyState(v)],
    );
  for (const c of spot.checks.filter((k) => k.status !== "pass"))
    rows.push([checkName(c.id, names), withNames(c.text, loaded)]);
  for (const c of spot.checks.filter((k) => k.id.startsWith("power-line") && k.status === "pass"))
    rows.push([checkName(c.id, names), `${checkNumbers(c).found}, needs ${checkNumbers(c).needs}`]);
  for (const p of spot.points.filter((q) => q.rung === "must" || q.met !== true))
    rows.push([`${p.name}, ${p.need}`, `${served(p)}, margin ${signed(p.marginDb, 1)} dB`]);
  return { title: `Spot ${spot.rank}, ${spot.name}`, under: spot.role, rows, cautions: [...answer.cautions] };
}
