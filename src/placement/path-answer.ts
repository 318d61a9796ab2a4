import { fresnelRadiusM, lineAtM } from "../coverage/path/clearance.ts";
import { createWorkspace, pathLoss } from "../coverage/path/loss.ts";
import { describeObstruction } from "../coverage/path/obstruction.ts";
import type { PathEnd } from "../coverage/path/sample.ts";
import { HardstandError } from "../errors/index.ts";
import { geodesicInverse } from "../geodesy/index.ts";
import type { LngLat } from "../geodesy/types.ts";
import { compileNeed } from "../link/index.ts";
import type { PathAnswer } from "../plan/outputs/types.ts";
import { secondOpinion, twoRay } from "../propagation/index.ts";
import { pathSettings, sampleEnd, unitEnd } from "./evaluate.ts";
import type { Sample, Scenario } from "./scenario.ts";

/** Difference between the two refined models from which a caution is shown unless the plan says otherwise, dB. */
const SECOND_OPINION_DB = 10;

export interface PathQuestion {
  from: LngLat;
  to: LngLat;
  serviceId: string;
  /** A point of the plan whose terminal, height and place are taken for the far end. */
  pointId?: string;
  terminalId?: string;
}

const known = (n: number): number | null => (Number.isFinite(n) ? n : null);

/** One path opened: profile, clearance, loss by part, second opinion, and the budget of every need both ways. */
export function pathAnswer(s: Scenario, q: PathQuestion): PathAnswer {
  const { plan } = s.loaded;
  const serviceIndex = plan.unit.services.findIndex((v) => v.id === q.serviceId);
  const service = plan.unit.services[serviceIndex];
  if (!service)
    throw new HardstandError("plan.unknown-reference", "the plan has no such service", {
      where: "service",
      received: q.serviceId,
      hint: `name one of: ${plan.unit.services.map((v) => v.id).join(", ")}`,
    });
  const site = q.pointId === undefined ? undefined : s.sites.find((p) => p.id === q.pointId);
  if (q.pointId !== undefined && !site)
    throw new HardstandError("plan.unknown-reference", "the plan has no such point", {
      where: "point",
      received: q.pointId,
      hint: `name one of: ${s.sites.map((p) => p.id).join(", ")}`,
    });
  const terminal = site?.terminal ?? plan.terminals.find((t) => t.id === q.terminalId) ?? plan.terminals[0]!;
  const place = site?.place ?? "outdoor";
  const at = s.scene.frame.toXY(q.from);
  const far = s.scene.frame.toXY(q.to);
  const sample: Sample =
    site?.kind === "point"
      ? site.centre
      : {
          xM: far.xM,
          yM: far.yM,
          heightM: site?.centre.heightM ?? terminal.heightM ?? 1.5,
          building: -1,
          onRoof: false,
        };
  const unit: PathEnd = unitEnd(s, at);
  const end: PathEnd = sampleEnd({ ...sample, xM: far.xM, yM: far.yM });
  const settings = pathSettings(s, serviceIndex);
  const work = createWorkspace();
  const path = pathLoss(s.scene, unit, end, settings, work);
  const p = work.profile;
  const unknown = path.unknownShare > 0;
  const patternDb = s.patterns[serviceIndex]!(path.azimuthAtUnitDeg, path.elevationAtUnitDeg);

  const distancesM: number[] = [];
  const columns = {
    groundM: [] as (number | null)[],
    surfaceM: [] as (number | null)[],
    canopyTopM: [] as (number | null)[],
    lineM: [] as (number | null)[],
    clearanceM: [] as (number | null)[],
  };
  const fresnel: number[] = [];
  for (let i = 0; i < p.n; i++) {
    const isVoid = p.voids[i] !== 0;
    const line = lineAtM(p, i, s.k);
    distancesM.push(i * p.stepM);
    columns.groundM.push(isVoid ? null : p.groundM[i]!);
    columns.surfaceM.push(isVoid ? null : p.solidM[i]!);
    columns.canopyTopM.push(known(p.canopyTopM[i]!));
    columns.lineM.push(known(line));
    columns.clearanceM.push(isVoid ? null : known(line - p.solidM[i]!));
    fresnel.push(fresnelRadiusM(p, i, settings.frequencyMHz));
  }
  const ends = {
    frequencyMHz: settings.frequencyMHz,
    txHeightM: p.unitAmslM - p.groundM[0]!,
    rxHeightM: p.terminalAmslM - p.groundM[p.n - 1]!,
    polarization: settings.polarization,
  };
  const second = unknown ? null : secondOpinion(path.route === "through" ? work.bare : work.solid, ends);
  const difference = second === null ? 0 : second.lossDb - (path.lossDb - path.vegetationDb);
  const caution = Math.abs(difference) > (plan.models?.secondOpinionCautionDb ?? SECOND_OPINION_DB);
  const geodesic = geodesicInverse(q.from, q.to);
  const warnings = [...path.warnings];
  if (unknown)
    warnings.push({
      code: "path.unknown",
      text: `${(path.unknownShare * 100).toFixed(0)} % of this path has no ground data; its loss is not known.`,
    });
  if (caution)
    warnings.push({
      code: "path.models-differ",
      text: `The second model differs by ${difference.toFixed(1)} dB; take the result with care.`,
    });
  if (!s.scene.hasSurface)
    warnings.push({ code: "path.bare-earth", text: "Bare earth only: trees and buildings are not in it." });

  return {
    from: {
      lng: q.from.lng,
      lat: q.from.lat,
      groundAmslM: p.voids[0] ? null : known(p.groundM[0]!),
      antennaAmslM: known(p.unitAmslM),
      heightM: unit.heightM,
    },
    to: {
      lng: q.to.lng,
      lat: q.to.lat,
      groundAmslM: p.voids[p.n - 1] ? null : known(p.groundM[p.n - 1]!),
      antennaAmslM: known(p.terminalAmslM),
      heightM: end.heightM,
    },
    service: service.id,
    terminal: terminal.id,
    frequencyMHz: settings.frequencyMHz,
    distanceM: geodesic.distanceM,
    bearingDeg: geodesic.azimuthDeg,
    k: s.k,
    distancesM,
    ...columns,
    fresnelRadiusM: fresnel,
    lineOfSight: path.clear.lineOfSight,
    fresnelRatio: known(path.clear.fresnelRatio),
    unknownShare: path.unknownShare,
    firstObstruction: describeObstruction(s.scene, p, path.clear.first, s.k),
    worstObstruction: describeObstruction(s.scene, p, path.clear.worst, s.k),
    model: path.model,
    lossDb: unknown ? null : known(path.lossDb),
    parts: unknown ? {} : path.parts,
    vegetation:
      path.route === "none" ? null : { lengthM: path.vegetationM, lossDb: path.vegetationDb, route: path.route },
    secondOpinion:
      second === null ? null : { model: second.model, lossDb: second.lossDb, differenceDb: difference, caution },
    twoRayLossDb: unknown
      ? null
      : known(
          twoRay(p.distanceM / 1000, settings.frequencyMHz, ends.txHeightM, ends.rxHeightM, settings.polarization)
            .lossDb,
        ),
    budgets: unknown
      ? []
      : service.needs.map((need) =>
          compileNeed({ service, need, terminal, place, state: plan.state ?? "empty" }).budget(path.lossDb, patternDb),
        ),
    warnings,
  };
}
