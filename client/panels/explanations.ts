import type { Check, PathAnswer, PointResult, SatelliteView, Spot } from "../../src/plan/outputs/types.ts";
import { chance, degrees, length, num, orbit, quantity, share, signed } from "../lib/format.ts";
import { lossTerms } from "../lib/section.ts";
import { detailPath } from "../state/detail.ts";
import { lengthUnit } from "../state/view.ts";
import type { Explanation } from "../ui/explain.tsx";

/** Where each number on the spot page comes from, in one sentence with its inputs. */
export function checkExplanation(c: Check, name: string): Explanation {
  return {
    title: name,
    value: quantity(c.value, c.unit, lengthUnit.value),
    sentence: c.text,
    rows:
      c.limit === null ? [] : [{ name: "Limit", value: quantity(c.limit, c.unit, lengthUnit.value), source: c.source }],
    model:
      c.limit === null
        ? `Source: ${c.source}`
        : "A check to plan by, not a survey. Local codes and licensed practice come first.",
  };
}

export function satelliteExplanation(v: SatelliteView): Explanation {
  const u = lengthUnit.value;
  const by = v.blockedBy;
  return {
    title: `Clear view of ${orbit(v.satelliteDeg)}`,
    value: v.clearanceDeg === null ? "unknown" : `${degrees(v.clearanceDeg)} clear`,
    sentence:
      v.clear === null
        ? "Data are missing in this direction, so it is unknown."
        : "The largest margin all round the line to the satellite that stays free of everything solid.",
    rows: [
      { name: "Needed", value: degrees(v.neededDeg, 0), source: "plan, dish margin" },
      { name: "Elevation", value: degrees(v.elevationDeg), source: "WGS 84 ellipsoid" },
      { name: "with refraction", value: degrees(v.elevationRefractedDeg, 2), source: "standard atmosphere" },
      { name: "Azimuth, true", value: degrees(v.azimuthDeg), source: "WGS 84 ellipsoid" },
      { name: "Azimuth, compass", value: degrees(v.azimuthMagneticDeg), source: "World Magnetic Model" },
      { name: "Skew", value: degrees(v.skewDeg), source: "clockwise from behind the dish" },
      ...(v.treeClearanceDeg === null
        ? []
        : [
            {
              name: "Against trees",
              value: degrees(v.treeClearanceDeg),
              source: `needs ${degrees(v.neededTreeDeg, 0)}`,
            },
          ]),
      ...(by === null
        ? []
        : [
            {
              name: "In the way",
              value: by.name,
              source: `${length(by.distanceM, u, 0)} away at ${degrees(by.azimuthDeg, 0)}`,
            },
          ]),
    ],
    uncertainty: v.notes.join(" "),
  };
}

export function pointExplanation(p: PointResult): Explanation {
  const area = p.tiles !== null;
  const budget = detailPath.value.answer?.budgets.find((b) => b.need === p.need);
  const mine = budget !== undefined && detailPath.value.answer?.service === p.service;
  return {
    title: p.name,
    value: area ? `${share(p.probability)} of tiles served` : chance(p.probability),
    sentence:
      p.probability === null
        ? `Unknown: ${num(p.unknownShare * 100)} % of the path has no ground data.`
        : area
          ? `${p.tiles!.served} of ${p.tiles!.count} tiles of ${length(p.tiles!.sideM, lengthUnit.value, 0)} reach their own target.`
          : `Margin over error: the chance that the ${p.limitingDirection ?? "link"} still meets the need when the model is as wrong as it usually is.`,
    formula:
      p.marginDb === null || area || !mine ? "" : `chance = Φ(${num(p.marginDb, 1)} dB ÷ ${num(budget.sigmaDb, 1)} dB)`,
    rows: [
      { name: "Target", value: `${num(p.target * 100)} %`, source: "plan" },
      {
        name: "Margin",
        value: p.marginDb === null ? "unknown" : `${signed(p.marginDb)} dB`,
        source: area ? "median tile" : "budget",
      },
      { name: "Path loss", value: p.lossDb === null ? "unknown" : `${num(p.lossDb, 1)} dB`, source: p.model },
      { name: "Distance", value: length(p.distanceM, lengthUnit.value, 0), source: "WGS 84 geodesic" },
      { name: "Gives out first", value: p.limitingDirection ?? "unknown", source: "budget both ways" },
      ...(p.obstruction === "" ? [] : [{ name: "In the way", value: p.obstruction, source: "surface along the line" }]),
    ],
    model: `${p.need} with ${p.terminal}, ${p.place}. ${p.indicative ? "Indicative only: the model is used outside its stated range." : ""}`,
    uncertainty: mine
      ? `Error: ${num(budget.sigmaModelDb, 1)} dB of the model and ${num(budget.sigmaLocationDb, 1)} dB of the place, together ${num(budget.sigmaDb, 1)} dB.`
      : "",
  };
}

export function pathExplanation(p: PathAnswer): Explanation {
  const second = p.secondOpinion;
  return {
    title: "Path loss",
    value: `${num(p.lossDb, 1)} dB`,
    sentence: "The outdoor loss between the two antennas, before walls, bodies and antenna gains.",
    formula: `${lossTerms(p)
      .map((t) => `${t.name} ${num(t.value, 1)}`)
      .join(" + ")} = ${num(p.lossDb, 1)} dB`,
    rows: [
      { name: "Frequency", value: `${num(p.frequencyMHz)} MHz`, source: "plan" },
      { name: "Distance", value: length(p.distanceM, lengthUnit.value, 0), source: "WGS 84 geodesic" },
      { name: "Earth radius factor k", value: num(p.k, 2), source: "plan or default" },
      {
        name: "Clear of first Fresnel zone",
        value: p.fresnelRatio === null ? "unknown" : `${num(p.fresnelRatio, 2)} F1`,
        source: "surface along the line",
      },
      ...Object.entries(p.parts)
        .filter(([, v]) => Number.isFinite(v))
        .slice(0, 10)
        .map(([name, v]) => ({ name, value: num(v, 2), source: "the model's own symbol" })),
      ...(second === null
        ? []
        : [
            {
              name: `Second opinion, ${second.model}`,
              value: `${num(second.lossDb, 1)} dB`,
              source: `differs by ${num(Math.abs(second.differenceDb), 1)} dB`,
            },
          ]),
      ...(p.twoRayLossDb === null
        ? []
        : [{ name: "Two-ray check", value: `${num(p.twoRayLossDb, 1)} dB`, source: "flat ground" }]),
    ],
    model: p.model,
    uncertainty: p.warnings.map((w) => w.text).join(" "),
  };
}
export function scoreExplanation(s: Spot): Explanation {
  return {
    title: `Score of ${s.name}`,
    value: `${num(s.score, 1)} of 100`,
    sentence: "The weighted chance of service over all points; an area counts by its share of tiles.",
    formula: "score = 100 × Σ weight × chance ÷ Σ weight",
    rows: s.points.map((p) => ({
      name: p.name,
      value: p.tiles === null ? chance(p.probability) : share(p.probability),
      source: `weight ${num(p.weight, p.weight % 1 === 0 ? 0 : 1)}`,
    })),
    model: `Screening gave ${num(s.screenedScore, 1)}.`,
    uncertainty: s.scoreRange
      ? `In the draws the score lies from ${num(s.scoreRange[0], 1)} to ${num(s.scoreRange[1], 1)}.`
      : "",
  };
}
