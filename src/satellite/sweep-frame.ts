import type { Scene } from "../terrain/scene.ts";
import { DEG } from "../units/index.ts";
import { lookAngles } from "./look-angles.ts";

/** Direction of a satellite as a sweep over the grid needs it: per row of the sweep, counted from the satellite's side. */
export interface SweepFrame {
  /** True where rows of the sweep are the grid's columns. */
  turned: boolean;
  /** Grid azimuth of the satellite from the middle of the grid, degrees. */
  middleAzimuthDeg: number;
  /** The sweep starts at the last row (or column). */
  reversed: boolean;
  majors: number;
  minors: number;
  /** Horizontal distance of one major step along the line, m. */
  runM: number;
  /** Elevation and sideways travel per major, in the order of the sweep. */
  elevationDeg: Float64Array;
  shift: Float64Array;
}

/**
 * Satellite direction over the grid. The satellite is so far away that its direction drifts with the place: each row takes
 * its own, which also carries the Earth's curvature along the shadow.
 * @param offsetDeg  turned this far to the right of the satellite's azimuth, degrees
 */
export function sweepFrame(scene: Scene, satelliteDeg: number, heightM: number, offsetDeg: number): SweepFrame {
  const { grid, frame } = scene;
  const { cols, rows, cellM } = grid;
  const at = (col: number, row: number) => {
    const place = frame.toLngLat({ xM: grid.westM + (col + 0.5) * cellM, yM: grid.northM - (row + 0.5) * cellM });
    const look = lookAngles({ ...place, heightM }, satelliteDeg, 0);
    return { az: look.azimuthDeg - frame.convergenceDeg(place) + offsetDeg, el: look.elevationDeg };
  };
  const middle = at((cols - 1) / 2, (rows - 1) / 2);
  const [sin, cos] = [Math.sin(middle.az * DEG), Math.cos(middle.az * DEG)];
  const turned = Math.abs(sin) > Math.abs(cos);
  // Row 0 is north, column 0 west: start where the satellite is.
  const reversed = turned ? sin > 0 : cos < 0;
  const majors = turned ? cols : rows;
  const minors = turned ? rows : cols;
  const elevationDeg = new Float64Array(majors);
  const shift = new Float64Array(majors);
  const ends = [0, 0.5, 1].map((share) => {
    const m = share * (majors - 1);
    return turned ? at(m, (rows - 1) / 2) : at((cols - 1) / 2, m);
  });
  for (let i = 0; i < majors; i++) {
    const share = majors === 1 ? 0.5 : (reversed ? majors - 1 - i : i) / (majors - 1);
    // A parabola through three places: the drift over a plan is smooth.
    const [a, b, c] = [(1 - share) * (1 - 2 * share), 4 * share * (1 - share), share * (2 * share - 1)];
    const near = (deg: number) => deg - 360 * Math.round((deg - middle.az) / 360);
    const az = (a * near(ends[0]!.az) + b * near(ends[1]!.az) + c * near(ends[2]!.az)) * DEG;
    elevationDeg[i] = a * ends[0]!.el + b * ends[1]!.el + c * ends[2]!.el;
    // Away from the satellite by one major step; minor index grows east, or south where turned.
    shift[i] = turned ? Math.cos(az) / Math.abs(Math.sin(az)) : -Math.sin(az) / Math.abs(Math.cos(az));
  }
  const run = cellM / (turned ? Math.abs(sin) : Math.abs(cos));
  return { turned, middleAzimuthDeg: middle.az, reversed, majors, minors, runM: run, elevationDeg, shift };
}
