/** The page's own colour tokens as plain values, since the map cannot read custom properties. */
export interface MapColors {
  land: string;
  contour: string;
  building: string;
  buildingEdge: string;
  tree: string;
  treeEdge: string;
  water: string;
  halo: string;
  ink: string;
  ink2: string;
  ink3: string;
  surface: string;
  mark: string;
  unit: string;
  point: string;
  parking: string;
  hazard: string;
  backhaul: string;
  nogo: string;
  action: string;
  dark: boolean;
}
const NAMES: Record<Exclude<keyof MapColors, "dark">, string> = {
  land: "--hs-map-land",
  contour: "--hs-map-contour",
  building: "--hs-map-building",
  buildingEdge: "--hs-map-building-edge",
  tree: "--hs-map-tree",
  treeEdge: "--hs-map-tree-edge",
  water: "--hs-map-water",
  halo: "--hs-map-halo",
  ink: "--hs-ink",
  ink2: "--hs-ink2",
  ink3: "--hs-ink3",
  surface: "--hs-surface",
  mark: "--hs-mark",
  unit: "--hs-unit",
  point: "--hs-point",
  parking: "--hs-parking",
  hazard: "--hs-hazard",
  backhaul: "--hs-backhaul",
  nogo: "--hs-nogo",
  action: "--hs-action",
};
export function readColors(): MapColors {
  const css = getComputedStyle(document.documentElement);
  const out = { dark: document.documentElement.dataset.theme === "night" } as MapColors;
  for (const key of Object.keys(NAMES) as (keyof typeof NAMES)[]) out[key] = css.getPropertyValue(NAMES[key]).trim();
  return out;
}
