import type { SkyAnswer } from "../plan/outputs/types.ts";

const WIDTH = 960;
const HEIGHT = 360;
const LEFT = 44;
const RIGHT = 12;
const TOP = 30;
const BOTTOM = 46;

const escapeXml = (text: string): string =>
  text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll('"', "&quot;");

/**
 * The sky of a spot as a straight strip, azimuth across and elevation up, in black lines and greys that print:
 * ground, buildings and trees as filled skylines, the geostationary arc dashed, each satellite in a box as wide as its margin.
 */
export function skyChartSvg(a: SkyAnswer): string {
  const shown = a.satellites.filter((v) => v.elevationDeg > 0);
  const middle = shown.length > 0 ? shown.reduce((sum, v) => sum + v.azimuthDeg, 0) / shown.length : 180;
  const half = Math.min(180, Math.max(60, ...shown.map((v) => Math.abs(v.azimuthDeg - middle) + 25)));
  const from = middle - half;
  const top = Math.min(
    90,
    10 *
      Math.ceil(
        (Math.max(30, ...shown.map((v) => v.elevationDeg + v.neededDeg), ...a.horizon.map((h) => h.elevationDeg ?? 0)) +
          5) /
          10,
      ),
  );
  const x = (azimuth: number): number => LEFT + ((azimuth - from) / (2 * half)) * (WIDTH - LEFT - RIGHT);
  const y = (elevation: number): number => HEIGHT - BOTTOM - (Math.max(0, elevation) / top) * (HEIGHT - TOP - BOTTOM);
  const turn = (azimuth: number): number => {
    let v = azimuth;
    while (v < from) v += 360;
    while (v >= from + 360) v -= 360;
    return v;
  };
  const samples = a.horizon
    .map((h) => ({ ...h, at: turn(h.azimuthDeg) }))
    .filter((h) => h.at <= from + 2 * half)
    .sort((p, q) => p.at - q.at);
  const area = (value: (h: (typeof samples)[number]) => number | null): string =>
    samples.length === 0
      ? ""
      : `M${x(samples[0]!.at).toFixed(1)} ${y(0)}${samples.map((h) => `L${x(h.at).toFixed(1)} ${y(value(h) ?? 0).toFixed(1)}`).join("")}L${x(samples.at(-1)!.at).toFixed(1)} ${y(0)}Z`;
  const parts: string[] = [];
  for (let e = 0; e <= top; e += 10)
    parts.push(
      `<path d="M${LEFT} ${y(e)}H${WIDTH - RIGHT}" stroke="#d5dad3"/><text x="${LEFT - 6}" y="${y(e) + 4}" text-anchor="end">${e}°</text>`,
    );
  const step = half > 100 ? 45 : 20;
  for (let z = Math.ceil(from / step) * step; z <= from + 2 * half; z += step) {
    const name = (((z % 360) + 360) % 360).toString();
    const cardinal = { "0": " N", "90": " E", "180": " S", "270": " W" }[name] ?? "";
    parts.push(
      `<text x="${x(z).toFixed(1)}" y="${HEIGHT - BOTTOM + 16}" text-anchor="middle">${name}°${cardinal}</text>`,
    );
  }
  if (a.horizon.some((h) => h.treeDeg !== null))
    parts.push(`<path d="${area((h) => h.treeDeg)}" fill="#b7c3ab" stroke="#7f9070"/>`);
  parts.push(`<path d="${area((h) => h.buildingDeg)}" fill="#cfcbbf" stroke="#5f5c52"/>`);
  parts.push(`<path d="${area((h) => h.terrainDeg)}" fill="#8c917f" stroke="#56625f"/>`);
  for (const h of samples)
    if (h.elevationDeg === null)
      parts.push(
        `<path d="M${x(h.at).toFixed(1)} ${y(0)}V${y(top)}" stroke="#525e66" stroke-dasharray="2 4" opacity=".4"/>`,
      );
  const arc = a.arc
    .map((p) => ({ at: turn(p.azimuthDeg), e: p.elevationDeg }))
    .filter((p) => p.at <= from + 2 * half)
    .sort((p, q) => p.at - q.at);
  if (arc.length > 1)
    parts.push(
      `<path d="M${arc.map((p) => `${x(p.at).toFixed(1)} ${y(p.e).toFixed(1)}`).join("L")}" fill="none" stroke="#14212a" stroke-dasharray="6 5"/>`,
    );
  for (const v of shown) {
    const at = turn(v.azimuthDeg);
    const m = v.neededDeg;
    const wide = m / Math.max(0.2, Math.cos((v.elevationDeg * Math.PI) / 180));
    const state =
      v.clear === null
        ? "unknown"
        : v.clear
          ? `${v.clearanceDeg?.toFixed(1)}° clear`
          : v.clearanceDeg !== null && v.clearanceDeg < 0
            ? "blocked"
            : `${v.clearanceDeg?.toFixed(1)}° clear, needs ${m}°`;
    parts.push(
      `<rect x="${x(at - wide).toFixed(1)}" y="${y(v.elevationDeg + m).toFixed(1)}" width="${(x(at + wide) - x(at - wide)).toFixed(1)}" height="${(y(v.elevationDeg - m) - y(v.elevationDeg + m)).toFixed(1)}" fill="none" stroke="#14212a" stroke-width="1.5"${v.clear === true ? "" : ' stroke-dasharray="4 3"'}/>`,
      `<path d="M${(x(at) - 4).toFixed(1)} ${y(v.elevationDeg).toFixed(1)}h8m-4 -4v8" stroke="#c2470a" stroke-width="2"/>`,
      `<text x="${x(at).toFixed(1)}" y="${(y(v.elevationDeg + m) - 6).toFixed(1)}" text-anchor="middle" font-weight="600">${escapeXml(`${v.id}: ${state}`)}</text>`,
    );
  }
  const title = `Sky from eye height ${a.eyeHeightM} m`;
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${HEIGHT}" width="${WIDTH}" height="${HEIGHT}" role="img" font-family="sans-serif" font-size="11" fill="#14212a"><title>${title}</title><rect width="${WIDTH}" height="${HEIGHT}" fill="#fcfdfb"/><text x="${LEFT}" y="18" font-size="13" font-weight="600">${title}</text>${parts.join("")}<path d="M${LEFT} ${y(0)}H${WIDTH - RIGHT}" stroke="#14212a" stroke-width="1.5"/><text x="${LEFT}" y="${HEIGHT - 10}">Azimuth, true north. Compass reads ${Math.abs(a.declinationDeg).toFixed(1)}° ${a.declinationDeg >= 0 ? "less" : "more"} (${escapeXml(a.declinationModel)}, ${escapeXml(a.date.slice(0, 10))}).</text></svg>\n`;
}
