import type { Spot } from "../../src/plan/outputs/types.ts";
import { degrees, num, orbit } from "../lib/format.ts";
import { Num } from "../ui/explain.tsx";
import { Status } from "../ui/parts.tsx";
import { checkName, foundText, needText, satelliteStatus, standChecks } from "./check-table.tsx";
import { checkExplanation, satelliteExplanation } from "./explanations.ts";

/** The same checks of two spots, side by side. */
export function CheckPairs(props: { a: Spot; b: Spot }) {
  const left = standChecks(props.a);
  const right = standChecks(props.b);
  const ids = [...new Set([...left, ...right].map((c) => c.id))];
  const cell = (s: Spot, id: string) => {
    const c = standChecks(s).find((x) => x.id === id);
    if (c === undefined) return <td class="sub">–</td>;
    const found = foundText(c);
    return (
      <td>
        <span class="pair">
          <Status status={c.status} />
          {found === null ? (
            <span class="sm mid">{c.text}</span>
          ) : (
            <Num why={() => checkExplanation(c, checkName(c.id))}>{found}</Num>
          )}
        </span>
      </td>
    );
  };
  return (
    <section class="sec">
      <table class="pairs">
        <thead>
          <tr>
            <th>Stand and sky</th>
            <th>
              <span class="vh">Spot </span>
              {props.a.rank}
            </th>
            <th>
              <span class="vh">Spot </span>
              {props.b.rank}
            </th>
          </tr>
        </thead>
        <tbody>
          {ids.map((id) => {
            const need = needText([...left, ...right].find((c) => c.id === id)!);
            return (
              <tr key={id}>
                <th scope="row">
                  {checkName(id)}
                  {need === "" ? "" : <span class="sub">, needs {need}</span>}
                </th>
                {cell(props.a, id)}
                {cell(props.b, id)}
              </tr>
            );
          })}
          {props.a.satellites.map((v) => {
            const w = props.b.satellites.find((x) => x.id === v.id);
            return (
              <tr key={v.id}>
                <th scope="row">
                  Dish {orbit(v.satelliteDeg)}
                  <span class="sub">, needs {degrees(v.neededDeg, 0)}</span>
                </th>
                {[v, w].map((x, i) =>
                  x === undefined ? (
                    <td key={`${v.id}${i}`} class="sub">
                      –
                    </td>
                  ) : (
                    <td key={`${v.id}${i}`}>
                      <span class="pair">
                        <Status status={satelliteStatus(x)} />
                        <Num why={() => satelliteExplanation(x)}>
                          {x.clearanceDeg === null ? "unknown" : `${degrees(x.clearanceDeg)} clear`}
                        </Num>
                      </span>
                    </td>
                  ),
                )}
              </tr>
            );
          })}
          {props.a.stabilityPct !== null && props.b.stabilityPct !== null && (
            <tr>
              <th scope="row">First, of all draws</th>
              <td>{num(props.a.stabilityPct, 1)} %</td>
              <td>{num(props.b.stabilityPct, 1)} %</td>
            </tr>
          )}
        </tbody>
      </table>
    </section>
  );
}
