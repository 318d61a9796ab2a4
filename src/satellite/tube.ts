import { type Scene, type SceneBuilding, sampleBilinear } from "../terrain/scene.ts";
import { DEG, toDegrees, wrap360 } from "../units/index.ts";
import { BLOCK, insideBuilding, ROOF_NOISE_M, type SkyIndex, STANDS_OUT_M, skyIndex } from "./sky-index.ts";
import { columnHeight, columnTangent, mayReach, wallTangent } from "./tube.kernel.ts";

/** The dish centre and what it must not count against itself. */
export interface Eye {
  xM: number;
  yM: number;
  amslM: number;
  /** Index of the building it stands on, or −1. */
  ownBuilding: number;
  /** Parapet above that building's roof, m. */
  parapetM: number;
}

/** The tube's axis in the local frame (grid azimuth, not true). */
export interface Axis {
  gridAzimuthDeg: number;
  elevationDeg: number;
  radiusM: number;
  /** Effective Earth radius, m. */
  earthM: number;
}

export type ThingKind = "building" | "tree" | "terrain" | "surface" | "obstacle" | "data-edge";

/** One thing and what it does to the tube. */
export interface Touch {
  kind: ThingKind;
  building: SceneBuilding | null;
  distanceM: number;
  gridAzimuthDeg: number;
  topAmslM: number;
  /** Tangent of the margin at which the tube first touches it. */
  tangent: number;
  /** Degrees by which the ray must rise to clear it; −Infinity where the ray itself is free. */
  needDeg: number;
  /** Along the axis and off it, m, where it touches; off is negative below a blocked ray. */
  alongM: number;
  offM: number;
}

export interface TubeResult {
  /** Worst touch by things that take the margin to hard objects, and by those that take the margin to trees. */
  hard: Touch | null;
  soft: Touch | null;
  /** Nearest void that could hide something inside the tube of the asked margin; null when there is none. */
  unknown: Touch | null;
}

export interface TubeOptions {
  growthM: number;
  /** Voids and the data's edge matter up to this height above the eye, m. */
  edgeHeightM: number;
  marginDeg: number;
  active: readonly boolean[];
  /** Largest margin of interest, degrees: what lies outside is left out. Small values make the test fast. */
  capHardDeg: number;
  capSoftDeg: number;
  /** Stop at the first thing inside the caps: enough to know that the tube is not free. */
  quick?: boolean;
}

const WIDEST_DEG = 89;
const STAGES_DEG = [4, 8, 16, 30, 50, WIDEST_DEG];
const unit = new Float64Array(1);

/**
 * Everything that stands in or near the clear tube.
 * Obstacles are vertical columns: buildings with their true outlines, cells of the surface and the canopy with the cell's
 * outline (on grids to 5 m), ground as a continuous surface to the end of the data, bent with the effective Earth radius.
 * Accuracy: exact geometry for outlines (1e-3° in tests); ground to its bilinear surface sampled once per cell.
 */
export function tubeTest(scene: Scene, eye: Eye, axis: Axis, options: TubeOptions): TubeResult {
  const work = new TubeWork(scene, eye, axis, options);
  // Inside out: what stands close to the axis shuts out most of the rest before it is looked at.
  for (const stage of STAGES_DEG) {
    work.stage(stage);
    work.buildings();
    if (work.stopped()) break;
    if (work.index.columns) {
      work.columns(false);
      if (scene.canopyM !== null && !work.stopped()) work.columns(true);
    }
    if (work.stopped()) break;
    work.parapet();
    if (stage === STAGES_DEG[0]) {
      work.terrain();
      if (!work.index.columns && scene.canopyM !== null) work.coarseTrees();
    }
    if (work.stopped() || work.settled(stage)) break;
  }
  if (work.stopped()) return { hard: work.hard, soft: work.soft, unknown: null };
  return { hard: work.hard, soft: work.soft, unknown: work.voids() };
}

class TubeWork {
  readonly index: SkyIndex;
  hard: Touch | null = null;
  soft: Touch | null = null;
  private readonly sinAz: number;
  private readonly cosAz: number;
  private readonly c: number;
  private readonly sn: number;
  private readonly tanEl: number;
  private capHard = 0;
  private capSoft = 0;

  constructor(
    private readonly scene: Scene,
    private readonly eye: Eye,
    private readonly axis: Axis,
    private readonly options: TubeOptions,
  ) {
    this.index = skyIndex(scene);
    this.sinAz = Math.sin(axis.gridAzimuthDeg * DEG);
    this.cosAz = Math.cos(axis.gridAzimuthDeg * DEG);
    this.c = Math.cos(axis.elevationDeg * DEG);
    this.sn = Math.sin(axis.elevationDeg * DEG);
    this.tanEl = this.sn / this.c;
  }

  /** Only what comes nearer to the axis than this counts for now. */
  stage(deg: number): void {
    this.capHard = Math.tan(Math.min(deg, this.options.capHardDeg) * DEG);
    this.capSoft = Math.tan(Math.min(deg, this.options.capSoftDeg) * DEG);
  }

  /** Nothing further out can matter: both kinds are found, or the caps asked for are reached. */
  settled(deg: number): boolean {
    const { capHardDeg, capSoftDeg } = this.options;
    const done = (worst: Touch | null, cap: number) =>
      deg >= cap || (worst !== null && worst.tangent <= Math.tan(deg * DEG));
    return done(this.hard, capHardDeg) && done(this.soft, capSoftDeg);
  }

  /** Asked only whether the tube is free, and it is not. */
  stopped(): boolean {
    return this.options.quick === true && (this.hard !== null || this.soft !== null);
  }

  private drop(a: number, b: number): number {
    return (a * a + b * b) / (2 * this.axis.earthM);
  }

  /** Tangent beyond which a further thing of this kind does not matter. */
  private limit(soft: boolean): number {
    const worst = soft ? this.soft : this.hard;
    const cap = soft ? this.capSoft : this.capHard;
    // Never below zero: something further off may still block the ray itself.
    return worst === null ? cap : Math.min(cap, Math.max(worst.tangent, 0));
  }

  private note(soft: boolean, touch: Touch): void {
    const worst = soft ? this.soft : this.hard;
    if (worst !== null) {
      if (worst.needDeg > touch.needDeg) return;
      if (worst.needDeg === touch.needDeg && worst.tangent <= touch.tangent) return;
    }
    if (soft) this.soft = touch;
    else this.hard = touch;
  }

  private touch(
    kind: ThingKind,
    building: SceneBuilding | null,
    a: number,
    b: number,
    z: number,
    tangent: number,
  ): Touch {
    const inDish = tangent === Number.NEGATIVE_INFINITY;
    const zt = columnHeight(a, b, z, this.c, this.sn, this.axis.radiusM);
    return {
      kind,
      building,
      distanceM: Math.hypot(a, b),
      gridAzimuthDeg: wrap360(this.axis.gridAzimuthDeg + toDegrees(Math.atan2(b, a))),
      topAmslM: z + this.eye.amslM + this.drop(a, b),
      tangent,
      needDeg: Number.NEGATIVE_INFINITY,
      alongM: inDish ? 0 : a * this.c + zt * this.sn,
      offM: inDish ? Math.hypot(a, b) : Math.hypot(b, zt * this.c - a * this.sn),
    };
  }

  private block(kind: ThingKind, building: SceneBuilding | null, a: number, z: number, soft: boolean): void {
    const needDeg = a > 1e-6 ? toDegrees(Math.atan2(z, a)) - this.axis.elevationDeg : 90 - this.axis.elevationDeg;
    const zRay = a * this.tanEl;
    this.note(soft, {
      kind,
      building,
      distanceM: Math.max(0, a),
      gridAzimuthDeg: wrap360(this.axis.gridAzimuthDeg),
      topAmslM: z + this.eye.amslM + this.drop(a, 0),
      tangent: Number.NEGATIVE_INFINITY,
      needDeg: Math.max(needDeg, 1e-9),
      alongM: a / this.c,
      offM: -(z - zRay) * this.c,
    });
  }

  /** A solid outline: first whether the ray enters it, else its walls. Ring coordinates are pairs in the ray's frame. */
  private prism(
    rings: Float64Array[],
    top: number,
    kind: ThingKind,
    building: SceneBuilding | null,
    soft: boolean,
  ): void {
    const { c, sn } = this;
    const radius = this.axis.radiusM;
    let entry = Infinity;
    let crossings = 0;
    for (const ring of rings)
      for (let i = 0; i + 3 < ring.length; i += 2) {
        const [a1, b1, a2, b2] = [ring[i]!, ring[i + 1]!, ring[i + 2]!, ring[i + 3]!];
        if (b1 > 0 === b2 > 0) continue;
        const a = a1 + ((a2 - a1) * b1) / (b1 - b2);
        if (a > 0) {
          crossings++;
          if (a < entry) entry = a;
        }
      }
    if (crossings % 2 === 1) entry = 0; // the ray starts inside the outline
    if (entry < Infinity && top > entry * this.tanEl) {
      this.block(kind, building, entry, top, soft);
      return;
    }
    let best = this.limit(soft);
    let [ba, bb] = [Number.NaN, 0];
    for (const ring of rings)
      for (let i = 0; i + 3 < ring.length; i += 2) {
        const [a1, b1, a2, b2] = [ring[i]!, ring[i + 1]!, ring[i + 2]!, ring[i + 3]!];
        const round = Math.hypot(a2 - a1, b2 - b1) / 2;
        if (!mayReach((a1 + a2) / 2, (b1 + b2) / 2, round, top, c, sn, radius, best)) continue;
        const t = wallTangent(a1, b1, a2, b2, top, c, sn, radius, unit);
        if (t < best) {
          best = t;
          ba = a1 + unit[0]! * (a2 - a1);
          bb = b1 + unit[0]! * (b2 - b1);
        }
      }
    if (!Number.isNaN(ba)) this.note(soft, this.touch(kind, building, ba, bb, top, best));
  }

  private ringsOf(building: SceneBuilding): Float64Array[] {
    return building.polygons.flatMap((polygon) =>
      polygon.map((ring) => {
        const out = new Float64Array(ring.length * 2);
        ring.forEach(([x, y], i) => {
          const dx = x - this.eye.xM;
          const dy = y - this.eye.yM;
          out[2 * i] = dx * this.sinAz + dy * this.cosAz;
          out[2 * i + 1] = dx * this.cosAz - dy * this.sinAz;
        });
        return out;
      }),
    );
  }

  buildings(): void {
    const { bounds } = this.index;
    for (let n = 0; n < bounds.length; n++) {
      if (n === this.eye.ownBuilding || !this.options.active[n]) continue;
      if (this.stopped()) return;
      const building = this.scene.buildings[n]!;
      const at = bounds[n]!;
      const dx = at.x - this.eye.xM;
      const dy = at.y - this.eye.yM;
      const a = dx * this.sinAz + dy * this.cosAz;
      const b = dx * this.cosAz - dy * this.sinAz;
      const near = Math.max(0, Math.hypot(a, b) - at.roundM);
      const top = building.topAmslM - this.eye.amslM - (near * near) / (2 * this.axis.earthM);
      if (!mayReach(a, b, at.roundM, top, this.c, this.sn, this.axis.radiusM, this.limit(false))) continue;
      this.prism(this.ringsOf(building), top, building.temporary ? "obstacle" : "building", building, false);
    }
  }

  /** A parapet is a wall on the outline of the roof the dish stands on. */
  parapet(): void {
    if (this.eye.ownBuilding < 0 || !(this.eye.parapetM > 0)) return;
    const building = this.scene.buildings[this.eye.ownBuilding]!;
    const top = building.topAmslM + this.eye.parapetM - this.eye.amslM;
    for (const ring of this.ringsOf(building))
      for (let i = 0; i + 3 < ring.length; i += 2) {
        const [a1, b1, a2, b2] = [ring[i]!, ring[i + 1]!, ring[i + 2]!, ring[i + 3]!];
        const a = a1 + ((a2 - a1) * b1) / (b1 - b2);
        if (b1 > 0 !== b2 > 0 && a > 0 && top > a * this.tanEl) this.block("building", building, a, top, false);
        const t = wallTangent(a1, b1, a2, b2, top, this.c, this.sn, this.axis.radiusM, unit);
        if (t < this.limit(false))
          this.note(
            false,
            this.touch("building", building, a1 + unit[0]! * (a2 - a1), b1 + unit[0]! * (b2 - b1), top, t),
          );
      }
  }

  /** Cells of the surface, or of the canopy, as columns with the cell's outline. */
  columns(trees: boolean): void {
    const { grid, groundM, canopyM, buildingAt, buildings } = this.scene;
    const soft = trees || canopyM === null;
    this.scan(soft, trees ? this.index.treeMax : this.index.columnMax, trees ? this.options.growthM : 0, (i, limit) => {
      const ground = groundM[i]!;
      let top: number;
      if (trees) {
        const canopy = canopyM![i]!;
        if (!(canopy > STANDS_OUT_M)) return;
        top = ground + canopy + this.options.growthM;
      } else {
        top = this.index.hard[i]!;
        if (!(top - ground > STANDS_OUT_M) && !Number.isNaN(ground)) return;
        const own = buildingAt === null ? 0 : buildingAt[i]!;
        // The building's outline answers for its own burned cells; only what rises above its roof is a thing of its own.
        if (own > 0 && (own - 1 === this.eye.ownBuilding || top <= buildings[own - 1]!.topAmslM + ROOF_NOISE_M)) return;
      }
      if (Number.isNaN(top)) return;
      const { a, b } = this.place(i);
      const z = top - this.eye.amslM - this.drop(a, b);
      if (!mayReach(a, b, grid.cellM * Math.SQRT1_2, z, this.c, this.sn, this.axis.radiusM, limit)) return;
      const edge = trees ? -1 : this.edgeOf(i, top);
      if (edge >= 0)
        this.prism(this.cell(a, b), z, buildings[edge]!.temporary ? "obstacle" : "building", buildings[edge]!, false);
      else this.prism(this.cell(a, b), z, trees ? "tree" : "surface", null, soft);
    });
  }

  /** Index of a building whose wall this cell stands on (its outline misses the cell's centre by less than a cell), or −1. */
  private edgeOf(i: number, top: number): number {
    const { buildingAt, grid, buildings } = this.scene;
    if (buildingAt === null) return -1;
    const col = i % grid.cols;
    const row = Math.floor(i / grid.cols);
    for (let r = Math.max(0, row - 1); r <= Math.min(grid.rows - 1, row + 1); r++)
      for (let k = Math.max(0, col - 1); k <= Math.min(grid.cols - 1, col + 1); k++) {
        const n = buildingAt[r * grid.cols + k]! - 1;
        if (n >= 0 && n !== this.eye.ownBuilding && this.options.active[n] && top <= buildings[n]!.topAmslM + 1.5)
          return n;
      }
    return -1;
  }

  private place(i: number): { a: number; b: number } {
    const { grid } = this.scene;
    const dx = grid.westM + ((i % grid.cols) + 0.5) * grid.cellM - this.eye.xM;
    const dy = grid.northM - (Math.floor(i / grid.cols) + 0.5) * grid.cellM - this.eye.yM;
    return { a: dx * this.sinAz + dy * this.cosAz, b: dx * this.cosAz - dy * this.sinAz };
  }

  private cell(a: number, b: number): Float64Array[] {
    const half = this.scene.grid.cellM / 2;
    const [u, v] = [half * this.sinAz, half * this.cosAz];
    // Corners (east, north) = (±half, ±half) turned into the ray's frame.
    return [
      Float64Array.of(
        a - u - v,
        b - v + u,
        a + u - v,
        b + v + u,
        a + u + v,
        b + v - u,
        a - u + v,
        b - v - u,
        a - u - v,
        b - v + u,
      ),
    ];
  }

  /** Visits the cells of every block the tube may reach; the eye's own cell is left out. */
  private scan(soft: boolean, tops: Float32Array, growthM: number, visit: (i: number, limit: number) => void): void {
    const { grid } = this.scene;
    const { blockCols, blockRows } = this.index;
    const own = this.ownCell();
    const side = BLOCK * grid.cellM;
    const round = side * Math.SQRT1_2;
    for (let br = 0; br < blockRows; br++)
      for (let bc = 0; bc < blockCols; bc++) {
        const tallest = tops[br * blockCols + bc]!;
        if (tallest === Number.NEGATIVE_INFINITY) continue;
        if (this.stopped()) return;
        const dx = grid.westM + (bc + 0.5) * side - this.eye.xM;
        const dy = grid.northM - (br + 0.5) * side - this.eye.yM;
        const a = dx * this.sinAz + dy * this.cosAz;
        const b = dx * this.cosAz - dy * this.sinAz;
        const near = Math.max(0, Math.hypot(a, b) - round);
        const z = tallest + growthM - this.eye.amslM - (near * near) / (2 * this.axis.earthM);
        if (!mayReach(a, b, round, z, this.c, this.sn, this.axis.radiusM, this.limit(soft))) continue;
        const lastRow = Math.min(grid.rows, (br + 1) * BLOCK);
        const lastCol = Math.min(grid.cols, (bc + 1) * BLOCK);
        for (let row = br * BLOCK; row < lastRow; row++)
          for (let col = bc * BLOCK; col < lastCol; col++) {
            const i = row * grid.cols + col;
            if (i !== own) visit(i, this.limit(soft));
          }
      }
  }

  private ownCell(): number {
    const { grid } = this.scene;
    const col = Math.floor((this.eye.xM - grid.westM) / grid.cellM);
    const row = Math.floor((grid.northM - this.eye.yM) / grid.cellM);
    return col < 0 || row < 0 || col >= grid.cols || row >= grid.rows ? -1 : row * grid.cols + col;
  }

  /** Ground, as a continuous surface, along rays fanned over the tube; then beyond the grid. */
  terrain(): void {
    const [hard, soft] = [this.capHard, this.capSoft];
    this.stage(WIDEST_DEG);
    const mixed = this.scene.hasSurface && !this.index.columns;
    this.march(this.index.terrain, 0, this.index.terrainMax, mixed ? "surface" : "terrain", false);
    [this.capHard, this.capSoft] = [hard, soft];
  }

  /** On coarse grids the canopy is a continuous surface too. */
  coarseTrees(): void {
    const { groundM, canopyM } = this.scene;
    const top = new Float32Array(groundM.length);
    let most = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < top.length; i++) {
      const canopy = canopyM![i]!;
      top[i] = canopy > STANDS_OUT_M ? groundM[i]! + canopy : groundM[i]! - 1e4;
      if (canopy > STANDS_OUT_M && top[i]! > most) most = top[i]!;
    }
    const [hard, soft] = [this.capHard, this.capSoft];
    this.stage(WIDEST_DEG);
    if (most > Number.NEGATIVE_INFINITY) this.march(top, this.options.growthM, most, "tree", true);
    [this.capHard, this.capSoft] = [hard, soft];
  }

  private reach(kind: ThingKind, soft: boolean): number {
    return kind === "surface" ? Math.max(this.limit(false), this.limit(true)) : this.limit(soft);
  }

  private march(values: Float32Array, growthM: number, most: number, kind: ThingKind, soft: boolean): void {
    // The straight line ahead first: it bounds how wide the fan must be.
    this.line(values, growthM, most, 0, kind, soft);
    const caps = [8, 20, WIDEST_DEG];
    let done = 0;
    for (const cap of caps) {
      const reach = Math.min(toDegrees(Math.atan(this.reach(kind, soft))), cap);
      if (reach <= done) break;
      const wide = Math.sin(reach * DEG) / Math.max(1e-9, this.c);
      const half = Math.min(180, (wide >= 1 ? 180 : toDegrees(Math.asin(wide))) + 5);
      const from = done === 0 ? 0 : Math.min(180, toDegrees(Math.asin(Math.min(1, Math.sin(done * DEG) / this.c))));
      const step = cap === 8 ? 0.25 : cap === 20 ? 0.5 : 1;
      for (let beta = Math.max(step, from); beta <= half && !this.stopped(); beta += step) {
        this.line(values, growthM, most, beta, kind, soft);
        this.line(values, growthM, most, -beta, kind, soft);
      }
      done = reach;
    }
  }

  /** One ray of ground, `beta` degrees to the right of the axis. */
  private line(
    values: Float32Array,
    growthM: number,
    most: number,
    beta: number,
    kind: ThingKind,
    soft: boolean,
  ): void {
    const { grid, farField } = this.scene;
    const az = (this.axis.gridAzimuthDeg + beta) * DEG;
    const [ex, ey] = [Math.sin(az), Math.cos(az)];
    const [ca, cb] = [Math.cos(beta * DEG), Math.sin(beta * DEG)];
    const limit = this.reach(kind, soft);
    // Lower edge of the tube over horizontal distance: it is lowest straight ahead, so this is safe for every beta.
    const forward = this.c + limit * this.sn;
    const rise = (this.sn - limit * this.c) / forward;
    const lift = -this.axis.radiusM * this.c - this.axis.radiusM * this.sn * Math.max(0, rise);
    const highest = most + growthM - this.eye.amslM;
    let d = Math.max(grid.cellM, this.axis.radiusM);
    const own = this.ownCell();
    const exit = exitDistance(this.eye, grid, ex, ey);
    const last = rise > 0 ? Math.min(exit, (highest - lift) / rise) : exit;
    for (; d <= last; d += grid.cellM) {
      const x = this.eye.xM + d * ex;
      const y = this.eye.yM + d * ey;
      const col = (x - grid.westM) / grid.cellM - 0.5;
      const row = (grid.northM - y) / grid.cellM - 0.5;
      const z = sampleBilinear(grid, values, col, row) + growthM - this.eye.amslM - (d * d) / (2 * this.axis.earthM);
      if (!(z >= lift + d * rise)) continue;
      if (Math.round(row) * grid.cols + Math.round(col) === own) continue;
      if (kind !== "surface") this.sample(d, ca, cb, beta, z, kind, soft);
      else {
        // Coarse grids mix ground and things: what stands out of the ground is the surface's, the rest is ground.
        const i = Math.min(grid.rows - 1, Math.max(0, Math.round(row))) * grid.cols + Math.round(col);
        const thing = this.index.hard[i]! - this.scene.groundM[i]! > STANDS_OUT_M;
        this.sample(d, ca, cb, beta, z, thing ? "surface" : "terrain", thing && this.scene.canopyM === null);
      }
    }
    if (farField === null || soft) return;
    const far = farField.grid;
    const farExit = exitDistance(this.eye, far, ex, ey);
    const top = this.index.farMax - this.eye.amslM;
    const farLast = rise > 0 ? Math.min(farExit, (top - lift) / rise) : farExit;
    for (d = Math.max(exit, far.cellM); d <= farLast; d += far.cellM) {
      const col = Math.floor((this.eye.xM + d * ex - far.westM) / far.cellM);
      const row = Math.floor((far.northM - this.eye.yM - d * ey) / far.cellM);
      if (col < 0 || row < 0 || col >= far.cols || row >= far.rows) continue;
      // Pooled by maximum: the cell's own value, never a mean of neighbours.
      const z = farField.groundM[row * far.cols + col]! - this.eye.amslM - (d * d) / (2 * this.axis.earthM);
      if (z >= lift + d * rise) this.sample(d, ca, cb, beta, z, "terrain", soft);
    }
  }

  private sample(d: number, ca: number, cb: number, beta: number, z: number, kind: ThingKind, soft: boolean): void {
    if (beta === 0 && z > d * this.tanEl) this.block(kind, null, d, z, soft);
    else {
      const t = columnTangent(d * ca, d * cb, z, this.c, this.sn, this.axis.radiusM);
      if (t < this.limit(soft)) this.note(soft, this.touch(kind, null, d * ca, d * cb, z, t));
    }
  }

  /** The nearest void that could hide something in the tube of the asked margin: void cells, or the end of the data. */
  voids(): Touch | null {
    const { grid, canopyM, buildingAt, hasSurface, farField } = this.scene;
    const t = Math.tan(this.options.marginDeg * DEG);
    const height = this.options.edgeHeightM;
    const { c, sn } = this;
    const radius = this.axis.radiusM;
    let found: Touch | null = null;
    const { blockCols, blockRows, hole, hard } = this.index;
    const side = BLOCK * grid.cellM;
    const own = this.ownCell();
    for (let n = 0; n < blockCols * blockRows; n++) {
      if (hole[n] === 0) continue;
      const br = Math.floor(n / blockCols);
      const bc = n % blockCols;
      const dx = grid.westM + (bc + 0.5) * side - this.eye.xM;
      const dy = grid.northM - (br + 0.5) * side - this.eye.yM;
      const a = dx * this.sinAz + dy * this.cosAz;
      const b = dx * this.cosAz - dy * this.sinAz;
      if (!mayReach(a, b, side * Math.SQRT1_2, height, c, sn, radius, t)) continue;
      for (let row = br * BLOCK; row < Math.min(grid.rows, (br + 1) * BLOCK); row++)
        for (let col = bc * BLOCK; col < Math.min(grid.cols, (bc + 1) * BLOCK); col++) {
          const i = row * grid.cols + col;
          const missing = Number.isNaN(hard[i]!) || (canopyM !== null && Number.isNaN(canopyM[i]!));
          if (!missing || i === own || (buildingAt !== null && buildingAt[i]! > 0)) continue;
          const at = this.place(i);
          if (!mayReach(at.a, at.b, grid.cellM * Math.SQRT1_2, height, c, sn, radius, t)) continue;
          if (found !== null && Math.hypot(at.a, at.b) >= found.distanceM) continue;
          if (this.cellTangent(at.a, at.b, height) < t) found = this.touch("data-edge", null, at.a, at.b, height, t);
        }
    }
    const edge = this.dataEdge(hasSurface || farField === null ? grid : farField.grid);
    if (edge.lowM < height && (found === null || edge.distanceM < found.distanceM))
      found = this.touch("data-edge", null, edge.distanceM, 0, height, t);
    return found;
  }

  private cellTangent(a: number, b: number, top: number): number {
    const ring = this.cell(a, b)[0]!;
    let best = columnTangent(a, b, top, this.c, this.sn, this.axis.radiusM);
    for (let i = 0; i + 3 < ring.length; i += 2)
      best = Math.min(
        best,
        wallTangent(ring[i]!, ring[i + 1]!, ring[i + 2]!, ring[i + 3]!, top, this.c, this.sn, this.axis.radiusM, unit),
      );
    return best;
  }

  private dataEdge(grid: Scene["grid"]): { distanceM: number; lowM: number } {
    const distanceM = exitDistance(this.eye, grid, this.sinAz, this.cosAz);
    return { distanceM, lowM: lowerEdgeM(this.axis, this.options.marginDeg, distanceM) };
  }
}

/** Height of the tube's lower edge above the eye at a horizontal distance straight ahead, m. */
export function lowerEdgeM(axis: Axis, marginDeg: number, distanceM: number): number {
  const c = Math.cos(axis.elevationDeg * DEG);
  const sn = Math.sin(axis.elevationDeg * DEG);
  return -axis.radiusM * c + (distanceM - axis.radiusM * sn) * Math.tan((axis.elevationDeg - marginDeg) * DEG);
}

/** Where a level ray leaves the grid's outermost cell centres, m; 0 when it starts outside. */
export function exitDistance(eye: { xM: number; yM: number }, grid: Scene["grid"], ex: number, ey: number): number {
  const west = grid.westM;
  const east = west + grid.cols * grid.cellM;
  const south = grid.northM - grid.rows * grid.cellM;
  if (eye.xM < west || eye.xM > east || eye.yM > grid.northM || eye.yM < south) return 0;
  const tx = ex > 1e-12 ? (east - eye.xM) / ex : ex < -1e-12 ? (west - eye.xM) / ex : Infinity;
  const ty = ey > 1e-12 ? (grid.northM - eye.yM) / ey : ey < -1e-12 ? (south - eye.yM) / ey : Infinity;
  return Math.min(tx, ty);
}

/** The building whose outline holds a place, or −1. */
export function buildingUnder(scene: Scene, xM: number, yM: number, active: readonly boolean[]): number {
  const { bounds } = skyIndex(scene);
  for (let n = 0; n < bounds.length; n++) {
    const at = bounds[n]!;
    if (!active[n] || Math.hypot(at.x - xM, at.y - yM) > at.roundM) continue;
    if (insideBuilding(scene.buildings[n]!, xM, yM)) return n;
  }
  return -1;
}
