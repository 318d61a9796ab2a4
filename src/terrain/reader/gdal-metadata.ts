/** Items of the GDAL metadata tag that concern the first band, and the file-wide ones. */
export interface BandMetadata {
  scale: number;
  offset: number;
  unitType: string | null;
  description: string | null;
  items: { name: string; value: string }[];
}

const plainText = (s: string): string =>
  s.replace(/&(lt|gt|quot|apos|amp|#\d+);/g, (all, name: string) =>
    name.startsWith("#")
      ? String.fromCharCode(Number(name.slice(1)))
      : ({ lt: "<", gt: ">", quot: '"', apos: "'", amp: "&" }[name] ?? all),
  );

/**
 * Reads the GDAL metadata tag (a short XML list of items); text that is not such a list gives nothing.
 * Source: GDAL raster data model, GeoTIFF driver "Metadata" (tag 42112).
 */
export function bandMetadata(xml: string | undefined): BandMetadata {
  const out: BandMetadata = { scale: 1, offset: 0, unitType: null, description: null, items: [] };
  if (xml === undefined || xml.length > 1_000_000) return out;
  for (const m of xml.matchAll(/<Item\b([^>]*)>([^<]*)<\/Item>/g)) {
    const attribute = (name: string): string | undefined => new RegExp(`\\b${name}="([^"]*)"`).exec(m[1]!)?.[1];
    const sample = attribute("sample");
    if (sample !== undefined && sample !== "0") continue;
    const name = plainText(attribute("name") ?? "");
    const value = plainText(m[2]!).trim();
    const role = attribute("role");
    const number = Number(value);
    if (role === "scale" && Number.isFinite(number)) out.scale = number;
    else if (role === "offset" && Number.isFinite(number)) out.offset = number;
    else if (role === "unittype") out.unitType = value;
    else if (role === "description") out.description = value;
    else out.items.push({ name, value });
  }
  return out;
}

/** The GDAL nodata tag as a number: decimal text, "nan", "inf" forms or hexadecimal; undefined when it is none of these. */
export function parseNodata(raw: string | undefined): number | undefined {
  if (raw === undefined) return undefined;
  const t = (raw.split("\u0000")[0] ?? "").trim().toLowerCase();
  if (t === "") return undefined;
  if (/^[-+]?(nan|1\.#qnan|1\.#ind)/.test(t)) return Number.NaN;
  if (/^[-+]?(inf|1\.#inf)/.test(t)) return t.startsWith("-") ? -Infinity : Infinity;
  const m = /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/.exec(t);
  return m === null ? undefined : Number(t);
}
