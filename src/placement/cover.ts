import { createPointOut, type PointOut, sweepPoint, sweepScene } from "../coverage/index.ts";
import { HardstandError } from "../errors/index.ts";
import type { LngLat } from "../geodesy/types.ts";
import { compileNeed } from "../link/index.ts";
import type { CoverAnswer } from "../plan/outputs/types.ts";
import { vegetationParameters } from "../propagation/index.ts";
import { type Grid, nearestCell } from "../terrain/scene.ts";
import { DEG, EARTH_RADIUS_KM } from "../units/index.ts";
import { pathSettings } from "./evaluate.ts";
import { scanPolygon } from "./raster-marks.ts";
import type { Scenario } from "./scenario.ts";

export type CoverWhat = CoverAnswer["what"];

export interface CoverQuestion {
  place: LngLat;
  serviceId: string;
  needId?: string;
  terminalId?: string;
  what: CoverWhat;
  radiusM?: number;
}

export interface Coverage {
  answer: Omit<CoverAnswer, "provenance">;
  /** NaN = unknown or beyond the radius. */
  values: Float32Array;
  grid: Grid;
}

const UNIT: Record<CoverWhat, string> = {
  loss: "dB",
  level: "dBm",
  probability: "share 0 to 1",
  visible: "1 visible, 0 not",
};

/** What one unit at a place covers, over the whole working grid or a radius: one sweep outward (two where there is canopy). */
export function coverage(s: Scenario, q: CoverQuestion): Coverage {
  const { plan } = s.loaded;
  const { scene } = s;
  const { grid } = scene;
  const serviceIndex = plan.unit.services.findIndex((v) => v.id === q.serviceId);
  const service = plan.unit.services[serviceIndex];
  if (!service)
    throw new HardstandError("plan.unknown-reference", "the plan has no such service", {
      where: "service",
      received: q.serviceId,
      hint: `name one of: ${plan.unit.services.map((v) => v.id).join(", ")}`,
    });
  const wanted = q.needId?.split("/").at(-1);
  const need = wanted === undefined ? service.needs[0]! : service.needs.find((n) => n.id === wanted);
  if (!need)
    throw new HardstandError("plan.unknown-reference", "the service has no such need", {
      where: "need",
      received: q.needId,
      hint: `name one of: ${service.needs.map((n) => n.id).join(", ")}`,
    });
  const terminal = q.terminalId === undefined ? plan.terminals[0]! : plan.terminals.find((t) => t.id === q.terminalId);
  if (!terminal)
    throw new HardstandError("plan.unknown-reference", "the plan has no such terminal", {
      where: "terminal",
      received: q.terminalId,
      hint: `name one of: ${plan.terminals.map((t) => t.id).join(", ")}`,
    });
  const at = nearestCell(grid, scene.frame.toXY(q.place));
  if (!at)
    throw new HardstandError("plan.geometry-outside", "the place lies outside the ground that is known", {
      where: "at",
      received: q.place,
      hint: "choose a place inside the rasters, or add rasters",
    });
  const unitGroundM = scene.groundM[at.index]!;
  if (Number.isNaN(unitGroundM))
    throw new HardstandError("plan.point-on-nodata", "there is no ground data at the place", {
      where: "at",
      received: q.place,
      hint: "choose a place with data",
    });

  const settings = pathSettings(s, serviceIndex);
  const pattern = s.patterns[serviceIndex]!;
  const size = grid.cols * grid.rows;
  const receiverHeightM = terminal.heightM ?? 1.5;
  const radiusM = q.radiusM ?? Math.hypot(grid.cols, grid.rows) * grid.cellM;
  const out = sweepOut(
    s,
    at,
    unitGroundM + s.unit.antennaHeightM,
    receiverHeightM,
    settings.frequencyMHz,
    settings.polarization,
    radiusM,
  );
  const compiled = compileNeed({ service, need, terminal, place: "outdoor", state: plan.state ?? "empty" });
  const values = out.lossDb;
  let known = 0;
  let asked = 0;
  let min = Number.POSITIVE_INFINITY;
  let max = Number.NEGATIVE_INFINITY;
  let sum = 0;
  const reach2 = (radiusM / grid.cellM) ** 2;
  const radius = s.k * EARTH_RADIUS_KM * 1000;
  for (let i = 0; i < size; i++) {
    const dc = (i % grid.cols) - at.col;
    const dr = Math.floor(i / grid.cols) - at.row;
    if (dc * dc + dr * dr > reach2) {
      values[i] = Number.NaN;
      continue;
    }
    asked++;
    const lossDb = values[i]!;
    if (Number.isNaN(lossDb) || out.unknownShare![i]! > 0) {
      values[i] = Number.NaN;
      continue;
    }
    let value: number;
    if (q.what === "visible") value = out.lineOfSight![i]!;
    else if (q.what === "loss") value = lossDb;
    else {
      const d = Math.max(grid.cellM / 2, Math.hypot(dc, dr) * grid.cellM);
      const tangent =
        (scene.groundM[i]! + receiverHeightM - unitGroundM - s.unit.antennaHeightM) / d - d / (2 * radius);
      const patternDb = pattern(Math.atan2(dc, -dr) / DEG, Math.atan(tangent) / DEG);
      value = q.what === "probability" ? compiled.probability(lossDb, patternDb) : compiled.levelDbm(lossDb, patternDb);
    }
    values[i] = value;
    known++;
    sum += value;
    if (value < min) min = value;
    if (value > max) max = value;
  }
  const needId = `${service.id}/${need.id}`;
  return {
    values,
    grid,
    answer: {
      what: q.what,
      service: service.id,
      need: q.what === "probability" ? needId : null,
      lng: q.place.lng,
      lat: q.place.lat,
      radiusM,
      cellM: grid.cellM,
      cols: grid.cols,
      rows: grid.rows,
      unit: UNIT[q.what],
      min: known ? min : null,
      max: known ? max : null,
      mean: known ? sum / known : null,
      knownShare: asked === 0 ? 0 : known / asked,
      areas: areaShares(s, q.what, values, compiled.maplDownlinkDb, compiled.thresholdDbm),
      file: null,
      warnings: [...s.loaded.warnings, ...scene.warnings],
    },
  };
}

/** One sweep outward from the unit; line of sight is against canopy solid. */
function sweepOut(
  s: Scenario,
  at: { col: number; row: number },
  antennaAmslM: number,
  receiverHeightM: number,
  frequencyMHz: number,
  polarization: "horizontal" | "vertical",
  maxRangeM: number,
): PointOut {
  const out = createPointOut(s.scene.grid.cols * s.scene.grid.rows, { unknownShare: true, lineOfSight: true });
  const job = {
    col: at.col,
    row: at.row,
    antennaAmslM,
    receiverHeightM,
    frequencyMHz,
    effectiveRadiusKm: s.k * EARTH_RADIUS_KM,
    polarization,
    maxRangeM,
    mask: null,
    vegetation: vegetationParameters(frequencyMHz, s.season),
  };
  sweepPoint(sweepScene(s.scene), job, out);
  return out;
}

/** Share of each area of the plan whose cells reach the need. */
function areaShares(
  s: Scenario,
  what: CoverWhat,
  values: Float32Array,
  maplDb: number,
  thresholdDbm: number,
): CoverAnswer["areas"] {
  const out: CoverAnswer["areas"] = [];
  s.sites.forEach((site, i) => {
    if (site.kind !== "area") return;
    const demand = s.demands.find((d) => d.site === i);
    const threshold =
      what === "probability"
        ? (demand?.tileTarget ?? 0.9)
        : what === "visible"
          ? 1
          : what === "loss"
            ? maplDb
            : thresholdDbm;
    let cells = 0;
    let met = 0;
    let unknown = 0;
    for (const polygon of s.areaPolygons[i] ?? [])
      scanPolygon(s.scene.grid, polygon, (index) => {
        cells++;
        const v = values[index]!;
        if (Number.isNaN(v)) unknown++;
        else if (what === "loss" ? v <= threshold : v >= threshold) met++;
      });
    out.push({
      id: site.id,
      name: site.name,
      sharePct: cells === 0 || unknown === cells ? null : (100 * met) / cells,
      threshold,
      cells,
    });
  });
  return out;
}
