import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { readArguments } from "../../server/cli/arguments.ts";
import { exportPlaces } from "../../server/cli/commands/export.ts";
import { shortNames } from "../../src/report/exchange/gpx.ts";
import { exchangeText } from "../../src/report/exchange/index.ts";
import { type Place, placesOf } from "../../src/report/exchange/places.ts";
import { type SheetCase, sheetCase } from "../support/sheet-fixture.ts";
import { needs, projectRoot } from "../support/tools.ts";

let folder: string;
let c: SheetCase;
let places: Place[];
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "places-"));
  c = await sheetCase();
  places = placesOf(c.loaded, c.answer);
  for (const f of ["geojson", "kml", "gpx", "csv"] as const)
    writeFileSync(join(folder, `places.${f}`), exchangeText(f, c.loaded, c.answer));
});
afterAll(() => rmSync(folder, { recursive: true }));

const spots = () => c.answer.spots.length;

/** Features as GDAL reads them, converted to GeoJSON by it. */
function byGdal(
  file: string,
  layer?: string,
): { geometry: { type: string; coordinates: unknown }; properties: Record<string, unknown> }[] {
  const run = spawnSync(
    "ogr2ogr",
    ["-f", "GeoJSON", "-lco", "COORDINATE_PRECISION=9", "/vsistdout/", join(folder, file), ...(layer ? [layer] : [])],
    { encoding: "utf8", timeout: 30_000 },
  );
  expect(run.status, run.stderr).toBe(0);
  return JSON.parse(run.stdout).features;
}

describe("KML", () => {
  test("is well-formed, and GDAL finds every folder with its features at their places", () => {
    if (!needs("xmllint") || !needs("ogr2ogr")) return;
    expect(spawnSync("xmllint", ["--noout", join(folder, "places.kml")], { encoding: "utf8" }).stderr).toBe("");
    const found = byGdal("places.kml", "Spots");
    expect(found).toHaveLength(2 * spots());
    const first = found.find((f) => f.properties.Name === `1 ${c.answer.spots[0]!.name}`)!;
    const [lng, lat] = first.geometry.coordinates as number[];
    expect(lng).toBeCloseTo(c.answer.spots[0]!.lng, 6);
    expect(lat).toBeCloseTo(c.answer.spots[0]!.lat, 6);
    expect(byGdal("places.kml", "Points").map((f) => f.properties.Name)).toEqual([
      "Command post",
      "Barn & <loft>",
      "=Gate 1",
      "Staging A",
    ]);
    expect(byGdal("places.kml", "Parking").map((f) => f.geometry.type)).toEqual(["Polygon", "Polygon"]);
  });

  test("every geometry says what its height is measured from; masts stand on the ground", () => {
    const kml = readFileSync(join(folder, "places.kml"), "utf8");
    const shapes = kml.match(/<(Point|LineString|Polygon)>.*?<\/\1>/g)!;
    expect(shapes.length).toBe(places.length + spots());
    for (const s of shapes) expect(s).toMatch(/<altitudeMode>(clampToGround|relativeToGround)<\/altitudeMode>/);
    const masts = kml.match(/<name>Mast \d+, 6 m<\/name>.*?<\/Placemark>/g)!;
    expect(masts).toHaveLength(spots());
    for (const m of masts)
      expect(m).toMatch(/relativeToGround<\/altitudeMode><coordinates>[-\d.]+,[-\d.]+,0 [-\d.]+,[-\d.]+,6</);
    expect(kml).not.toMatch(/<href>/);
  });
});

describe("GPX", () => {
  test("is well-formed without extensions, and GDAL reads waypoints and outlines", () => {
    if (!needs("xmllint") || !needs("ogr2ogr")) return;
    const text = readFileSync(join(folder, "places.gpx"), "utf8");
    expect(spawnSync("xmllint", ["--noout", join(folder, "places.gpx")], { encoding: "utf8" }).stderr).toBe("");
    expect(text).not.toContain("<extensions");
    const waypoints = byGdal("places.gpx", "waypoints");
    expect(waypoints).toHaveLength(places.length);
    for (const [i, w] of waypoints.entries()) {
      const [lng, lat] = w.geometry.coordinates as number[];
      expect(lng).toBeCloseTo(places[i]!.at.lng, 7);
      expect(lat).toBeCloseTo(places[i]!.at.lat, 7);
      expect(String(w.properties.desc)).toContain(places[i]!.name);
    }
    expect(waypoints[0]!.properties.ele).toBeCloseTo(c.answer.spots[0]!.groundAmslM!, 1);
    expect(byGdal("places.gpx", "tracks")).toHaveLength(3);
  });

  test("names are short plain letters, each once, whatever the plan calls things", () => {
    const base = places.find((p) => p.kind === "point")!;
    const named = (code: string, id: string): Place => ({ ...base, code, name: code, id });
    const odd = [
      "Łąka północ",
      "LAKA",
      "łąka",
      "Tor 1",
      "Tor 1",
      "Πύλη",
      "🚒",
      "",
      "a-very-long-name-1",
      "a-very-long-name-2",
    ];
    const names = shortNames([...places, ...odd.map((o, i) => named(o, `id${i}`))]);
    expect(new Set(names).size).toBe(names.length);
    for (const n of names) expect(n).toMatch(/^[A-Z0-9-]{2,10}$/);
    expect(names[0]).toBe("S1");
  });
});

/** A CSV reader after RFC 4180 alone, apart from the writer. */
function parseCsv(text: string): string[][] {
  const rows: string[][] = [];
  let row: string[] = [];
  let cell = "";
  let quoted = false;
  for (let i = 0; i < text.length; i++) {
    const ch = text[i]!;
    if (quoted) {
      if (ch === '"' && text[i + 1] === '"') {
        cell += '"';
        i++;
      } else if (ch === '"') quoted = false;
      else cell += ch;
    } else if (ch === '"') quoted = true;
    else if (ch === ",") {
      row.push(cell);
      cell = "";
    } else if (ch === "\r" && text[i + 1] === "\n") {
      rows.push([...row, cell]);
      row = [];
      cell = "";
      i++;
    } else cell += ch;
  }
  expect(cell).toBe("");
  expect(row).toEqual([]);
  return rows;
}

describe("CSV", () => {
  test("comes back as it was; western longitudes stay numbers, formulas do not run", () => {
    const [head, ...rows] = parseCsv(readFileSync(join(folder, "places.csv"), "utf8"));
    expect(rows).toHaveLength(places.length);
    for (const [i, r] of rows.entries()) {
      expect(r).toHaveLength(head!.length);
      const cell = Object.fromEntries(head!.map((h, k) => [h, r[k]!]));
      const p = places[i]!;
      expect(Number(cell.lng)).toBe(p.at.lng);
      expect(Number(cell.lat)).toBe(p.at.lat);
      expect(cell.lng).toMatch(/^-98\./);
      expect(cell.name!.replace(/^'(?==)/, "")).toBe(p.name);
      expect(cell.text).toBe(p.text);
      expect(cell.height_m).toBe(p.heightM === null ? "" : String(p.heightM));
      for (const v of r) expect(v).not.toMatch(/^[=+@]/);
    }
    expect(rows.some((r) => r.includes("'=Gate 1"))).toBe(true);
  });

  test("shapes read back in GDAL from their well-known text", () => {
    if (!needs("ogr2ogr")) return;
    const run = spawnSync(
      "ogr2ogr",
      [
        "-f",
        "GeoJSON",
        "-oo",
        "GEOM_POSSIBLE_NAMES=wkt",
        "-lco",
        "COORDINATE_PRECISION=9",
        "/vsistdout/",
        join(folder, "places.csv"),
      ],
      { encoding: "utf8", timeout: 30_000 },
    );
    const features = JSON.parse(run.stdout).features as { geometry: unknown }[];
    expect(features.map((f) => f.geometry)).toEqual(places.map((p) => p.geometry));
  });
});

test("GeoJSON holds every place, read by GDAL with the same coordinates", () => {
  if (!needs("ogr2ogr")) return;
  const found = byGdal("places.geojson");
  expect(found.map((f) => f.geometry)).toEqual(places.map((p) => p.geometry));
  expect(found.map((f) => f.properties.kind)).toEqual(places.map((p) => p.kind));
});

describe("the command", () => {
  const plan = join(projectRoot, "data-samples", "fairground", "fairground.plan.json");
  const io = () => {
    const said = { out: "", note: "" };
    return {
      said,
      io: {
        json: true,
        out: (t: string) => {
          said.out += t;
        },
        note: (t: string) => {
          said.note += t;
        },
        signal: new AbortController().signal,
      },
    };
  };

  test("takes a ranking written earlier and writes the formats asked for", async () => {
    const ranking = join(folder, "ranking.json");
    const answer = structuredClone(c.answer);
    answer.provenance.files = { "fairground.plan.json": "00".repeat(32) };
    writeFileSync(ranking, JSON.stringify(answer));
    const out = join(folder, "made");
    const { io: sink, said } = io();
    const argv = [plan, "--ranking", ranking, "--out", out, "--format", "gpx", "--format", "csv", "--json"];
    await exportPlaces.run(readArguments(exportPlaces, argv), sink);
    expect(JSON.parse(said.out)).toEqual({ files: [join(out, "places.gpx"), join(out, "places.csv")] });
    expect(said.note).toContain("fairground.plan.json changed since this ranking was made");
    const kinds = parseCsv(readFileSync(join(out, "places.csv"), "utf8")).map((r) => r[0]);
    expect(kinds.filter((k) => k === "spot")).toHaveLength(spots());
    expect(kinds.filter((k) => k === "point")).toHaveLength(14);
  });

  test("names what is missing or wrong", async () => {
    const run = (...more: string[]) => exportPlaces.run(readArguments(exportPlaces, [plan, ...more]), io().io);
    await expect(run("--out", folder)).rejects.toMatchObject({ code: "command.usage", body: { where: "--format" } });
    await expect(run("--out", folder, "--format", "shp")).rejects.toMatchObject({
      code: "command.usage",
      body: { received: "shp" },
    });
    await expect(run("--format", "kml")).rejects.toMatchObject({ code: "command.usage", body: { where: "--out" } });
    const broken = join(folder, "broken.json");
    writeFileSync(broken, '{"plan": 3}');
    await expect(run("--out", folder, "--format", "kml", "--ranking", broken)).rejects.toMatchObject({
      code: "import.invalid",
    });
    await expect(run("--out", folder, "--format", "kml", "--ranking", join(folder, "none.json"))).rejects.toMatchObject(
      {
        code: "file.missing",
      },
    );
  });
});
