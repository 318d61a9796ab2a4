/** WGS 84 longitude and latitude, degrees; always longitude first inside the project. */
export interface LngLat {
  lng: number;
  lat: number;
}

/** A place in a plan's local frame: metres east and north of the frame's origin. */
export interface XY {
  xM: number;
  yM: number;
}

/** Plan-centred transverse Mercator, k = 1 on the central meridian, WGS 84. */
export interface LocalFrame {
  readonly origin: LngLat;
  toXY(place: LngLat): XY;
  toLngLat(place: XY): LngLat;
  /** Grid convergence at a place: true north measured clockwise from grid north is −convergence; degrees, east positive. */
  convergenceDeg(place: LngLat): number;
}

/** Notations the tool reads and writes. */
export type Notation = "dd" | "dm" | "dms" | "utm" | "usng";
