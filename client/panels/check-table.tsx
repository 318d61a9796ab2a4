import type { Check, SatelliteView, Spot } from "../../src/plan/outputs/types.ts";
import { count, degrees, orbit, quantity } from "../lib/format.ts";
import { hazards } from "../state/session.ts";
import { focus, hovered, lengthUnit } from "../state/view.ts";
import { Num } from "../ui/explain.tsx";
import { Status } from "../ui/parts.tsx";
import { checkExplanation, satelliteExplanation } from "./explanations.ts";

const NAMES: Record<string, string> = {
  footprint: "Footprint",
  slope: "Slope",
  "keep-out": "Keep-out areas",
  water: "Water",
  obstacle: "Obstacles",
  building: "Buildings",
  overhead: "Trees overhead",
  "power-line": "Power line",
  "fall-zone": "Fall zone",
  exhaust: "Exhaust",
  access: "Way out",
  "way-out": "Way out",
  backhaul: "Way back to the network",
  soil: "Soil",
};
export const checkName = (id: string): string => {
  const [kind, which] = id.split(":") as [string, string | undefined];
  const base = NAMES[kind] ?? kind.charAt(0).toUpperCase() + kind.slice(1).replaceAll("-", " ");
  if (which === undefined) return base;
  const name = hazards.value?.features.find((f) => f.properties.id === which)?.properties.name;
  return name === undefined ? base : kind === "power-line" ? name : `${base}, ${name}`;
};
/** Checks about the ground, without those that repeat a satellite's own row. */
export const standChecks = (spot: Spot): Check[] => spot.checks.filter((c) => !/^(dish|sky|satellite)/.test(c.id));
export const satelliteStatus = (v: SatelliteView): Check["status"] =>
  v.clear === null ? "unknown" : v.clear ? "pass" : "fail";

export function foundText(c: Check): string | null {
  if (c.value === null) return null;
  if (c.unit === "ways") return c.value === 0 ? "none" : c.value === 1 ? "one way" : "two ways";
  return quantity(c.value, c.unit, lengthUnit.value);
}
export function needText(c: Check): string {
  if (c.limit === null) return "";
  if (c.unit === "ways") return "two ways";
  const limit = quantity(c.limit, c.unit, lengthUnit.value);
  if (c.id === "overhead") return `under ${limit}`;
  return c.id === "slope" ? `at most ${limit}` : limit;
}

function summary(spot: Spot): string {
  const n = { pass: 0, caution: 0, fail: 0, unknown: 0 };
  for (const c of standChecks(spot)) n[c.status]++;
  for (const v of spot.satellites) n[satelliteStatus(v)]++;
  return [
    n.pass > 0 ? `${n.pass} pass` : "",
    n.caution > 0 ? count(n.caution, "caution") : "",
    n.fail > 0 ? `${n.fail} no-go` : "",
    n.unknown > 0 ? `${n.unknown} unknown` : "",
  ]
    .filter((t) => t !== "")
    .join(", ");
}

export function CheckTable(props: { spot: Spot }) {
  return (
    <section class="sec">
      <h2>
        Stand and sky <span class="sub">{summary(props.spot)}</span>
      </h2>
      <table class="checks">
        <thead>
          <tr>
            <th class="mark-col">
              <span class="vh">Result</span>
            </th>
            <th>Check</th>
            <th class="n">Found</th>
            <th class="n">Needs</th>
          </tr>
        </thead>
        <tbody>
          {standChecks(props.spot).map((c) => (
            <CheckRow key={c.id} check={c} />
          ))}
          {props.spot.satellites.map((v) => (
            <SatelliteRow key={v.id} view={v} />
          ))}
        </tbody>
      </table>
    </section>
  );
}

function CheckRow(props: { check: Check }) {
  const c = props.check;
  const found = foundText(c);
  const name = checkName(c.id);
  return (
    <tr>
      <td>
        <Status status={c.status} />
      </td>
      <th scope="row">
        {name}
        {(c.status === "fail" || c.status === "caution") && found !== null && <p class="sm mid">{c.text}</p>}
      </th>
      {found === null ? (
        <td colSpan={2} class="mid said">
          {c.text}
        </td>
      ) : (
        <>
          <td class="n b">
            <Num why={() => checkExplanation(c, name)}>{found}</Num>
          </td>
          <td class="n sub">{needText(c)}</td>
        </>
      )}
    </tr>
  );
}

function SatelliteRow(props: { view: SatelliteView }) {
  const v = props.view;
  const on = focus.value?.id === v.id || hovered.value?.id === v.id;
  return (
    <tr
      class={on ? "hl" : ""}
      onPointerEnter={() => {
        hovered.value = { kind: "satellite", id: v.id };
      }}
      onPointerLeave={() => {
        hovered.value = null;
      }}
    >
      <td>
        <Status status={satelliteStatus(v)} />
      </td>
      <th scope="row">
        Dish, {orbit(v.satelliteDeg)}
        {v.role === "alternate" && <span class="sub"> reserve</span>}
        {v.clear !== true && (
          <p class="sm mid">
            {v.blockedBy === null ? "" : `${v.blockedBy.name} is in the way. `}
            {v.advice[0]?.text ?? ""}
          </p>
        )}
      </th>
      <td class="n b">
        <Num why={() => satelliteExplanation(v)}>
          {v.clear === null || v.clearanceDeg === null
            ? "unknown"
            : v.clearanceDeg < 0
              ? `${degrees(-v.clearanceDeg)} too low`
              : `${degrees(v.clearanceDeg)} clear`}
        </Num>
      </td>
      <td class="n sub">{degrees(v.neededDeg, 0)}</td>
    </tr>
  );
}
