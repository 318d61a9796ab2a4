/** Placing of drawn lines only; distances and bearings that are shown come from the service. */
const M_PER_DEG = 111_320;
interface At {
  lng: number;
  lat: number;
}
/** A place part of the way along a straight drawn line. */
export const alongPlace = (from: At, to: At, t: number): [number, number] => [
  from.lng + (to.lng - from.lng) * t,
  from.lat + (to.lat - from.lat) * t,
];
/** The end of a drawn line of a given bearing and length. */
export function away(from: At, azimuthDeg: number, distanceM: number): [number, number] {
  const a = (azimuthDeg * Math.PI) / 180;
  const east = distanceM * Math.sin(a);
  const north = distanceM * Math.cos(a);
  return [from.lng + east / (M_PER_DEG * Math.cos((from.lat * Math.PI) / 180)), from.lat + north / M_PER_DEG];
}
