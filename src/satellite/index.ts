export { GSO_RADIUS_KM, lookAngles, visibleArc } from "./look-angles.ts";
export { refractionDeg } from "./refraction.ts";
