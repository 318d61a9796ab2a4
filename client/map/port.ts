import type { FeatureCollection } from "geojson";
import type { SourceName } from "./layers.ts";

/** The one door between the page and the map library: nothing else in the client knows which library draws. */
export interface Bounds {
  west: number;
  south: number;
  east: number;
  north: number;
}
export interface MapEvents {
  /** A place was clicked or tapped that is no object. */
  onPlace(lng: number, lat: number): void;
  onSpot(id: string): void;
  onPoint(id: string): void;
  /** The pointer passes over a spot, a point, or neither. */
  onHover(what: { kind: "spot" | "point"; id: string } | null): void;
  onPointer(place: { lng: number; lat: number } | null): void;
  onTrialMove(lng: number, lat: number): void;
  onTrialDrop(): void;
  /** Metres per screen pixel at the middle, and degrees the map is turned. */
  onView(metresPerPixel: number, bearingDeg: number): void;
  onReady(): void;
}
export interface GroundTiles {
  url: string;
  bounds: [number, number, number, number];
  minZoom: number;
  maxZoom: number;
}
export interface SpotMark {
  id: string;
  text: string;
  lng: number;
  lat: number;
  state: "selected" | "full" | "open";
  lit: boolean;
}
export interface MapPort {
  setGround(ground: GroundTiles | null): void;
  setData(source: SourceName, data: FeatureCollection): void;
  setSpots(spots: SpotMark[]): void;
  /** A classed value raster under the buildings; null takes it away. */
  setValue(
    value: { key: string; url: string; bounds: GroundTiles["bounds"]; minZoom: number; maxZoom: number } | null,
  ): void;
  setValueOpacity(opacity: number): void;
  /** Old results stay readable, with their colours taken back. */
  setValueOld(old: boolean): void;
  setBlocker(buildingId: string | null): void;
  setTrial(trial: { lng: number; lat: number; label: string } | null): void;
  /** Follows the page's colours. */
  recolor(): void;
  setPadding(padding: { top: number; right: number; bottom: number; left: number }): void;
  fit(bounds: Bounds): void;
  show(lng: number, lat: number): void;
  center(): { lng: number; lat: number };
  zoomBy(steps: number): void;
  northUp(): void;
  tilt(): void;
  resize(): void;
  focusTrial(): void;
  /** The library's own map, for the drawing tools inside this folder only. */
  inner(): unknown;
  destroy(): void;
}
