import { expect, test } from "vitest";
import { emptyPlan } from "../../src/plan/draft.ts";
import { samplePlan } from "../support/sample-plan.ts";
import { startService } from "../support/service.ts";

test("health tells version and that the folder can be read and written", async () => {
  const s = await startService();
  expect((await s.ask("GET", "/api/health")).json).toEqual({ ok: true, version: "0.0.0-test", readWriteOk: true });
});

test("a plan is made from a sample, read with what its files hold, saved, and removed", async () => {
  const s = await startService();
  expect((await s.ask("GET", "/api/samples")).json).toMatchObject([{ id: "meadow", name: "Sparrow Meadow" }]);
  const made = await s.json("POST", "/api/plans", { sample: "meadow" });
  expect(made.status).toBe(201);
  const { id } = made.json;
  const read = await s.ask("GET", `/api/plans/${id}`);
  expect(read.headers.etag).toBe('"1"');
  expect(read.json).toMatchObject({ id, revision: 1, problems: [], latestRun: null, latestRunRevision: null });
  expect(read.json.points.features[0].properties.name).toBe("Medical tent");
  expect(read.json.plan.points).toBe("points.geojson");
  const plan = { ...read.json.plan, name: "Renamed" };
  const saved = await s.json("PUT", `/api/plans/${id}`, { plan }, { "If-Match": '"1"' });
  expect([saved.status, saved.json, saved.headers.etag]).toEqual([200, { revision: 2 }, '"2"']);
  expect((await s.ask("GET", "/api/plans")).json).toMatchObject([
    { id, name: "Renamed", revision: 2, points: 1, parkingAreas: 1 },
  ]);
  expect((await s.ask("GET", `/api/plans/${id}/revisions`)).json.map((r: { revision: number }) => r.revision)).toEqual([
    2, 1,
  ]);
  expect((await s.ask("GET", `/api/plans/${id}/revisions/1`)).json.plan.name).toBe("Sparrow Meadow");
  expect((await s.ask("DELETE", `/api/plans/${id}`)).status).toBe(204);
  expect((await s.ask("GET", `/api/plans/${id}`)).status).toBe(404);
});

test("a save over an old revision is a conflict that names the current one, and changes nothing", async () => {
  const s = await startService();
  const id = await s.samplePlan();
  const put = (name: string, match?: string) =>
    s.json("PUT", `/api/plans/${id}`, { plan: samplePlan(name) }, match === undefined ? {} : { "If-Match": match });
  expect((await put("A", "1")).status).toBe(200);
  const late = await put("B", "1");
  expect(late.status).toBe(409);
  expect(late.json.error).toMatchObject({ code: "http.conflict", received: "revision 1; the plan is at revision 2" });
  expect((await s.ask("GET", `/api/plans/${id}`)).json.plan.name).toBe("A");
  expect((await put("C")).json.error).toMatchObject({ code: "http.bad-request", where: "If-Match" });
  expect((await put("C", "*")).status).toBe(400);
});

test("an empty plan can be kept and says what keeps it from being run", async () => {
  const s = await startService();
  const { id } = (await s.json("POST", "/api/plans", { name: "New" })).json;
  const { json } = await s.ask("GET", `/api/plans/${id}`);
  expect(json.problems).toMatchObject([{ code: "plan.invalid", where: "terrain.ground" }]);
  expect(json.points).toEqual({ type: "FeatureCollection", features: [] });
  expect((await s.json("POST", `/api/plans/${id}/runs`, { kind: "rank" })).status).toBe(422);
  expect((await s.ask("GET", `/api/plans/${id}/ground`)).status).toBe(422);
});

test.each([
  ["unknown field", { ...samplePlan(), colour: "red" }, "plan.unknown-field", "colour"],
  [
    "deep unknown field",
    { ...samplePlan(), unit: { ...samplePlan().unit, tipHeightFt: 20 } },
    "plan.unknown-field",
    "unit.tipHeightFt",
  ],
  ["version", { ...samplePlan(), version: 9 }, "plan.version", "version"],
  [
    "value out of range",
    { ...samplePlan(), unit: { ...samplePlan().unit, tipHeightM: 600 } },
    "plan.invalid",
    "unit.tipHeightM",
  ],
  ["not an object", 7, "plan.invalid", ""],
  [
    "inside a union",
    {
      ...samplePlan(),
      parking: { type: "FeatureCollection", features: [{ type: "Feature", geometry: null, properties: {} }] },
    },
    "plan.invalid",
    "parking.features[0].geometry",
  ],
])("a document with a fault is refused with its place: %s", async (_, plan, code, where) => {
  const s = await startService();
  const refused = await s.json("POST", "/api/plans", { plan });
  expect(refused.status).toBe(422);
  expect(refused.json.error).toMatchObject({ code, where });
  expect((await s.ask("GET", "/api/plans")).json).toEqual([]);
});

test("files are streamed beside the plan, within limits, under names that stay there", async () => {
  const s = await startService({ maxUploadBytes: 1000 });
  const { id } = (await s.json("POST", "/api/plans", { plan: emptyPlan("Blank") })).json;
  const put = (name: string, body: Uint8Array, more = "") =>
    s.ask("POST", `/api/plans/${id}/files?name=${encodeURIComponent(name)}${more}`, {
      body,
      headers: { "Content-Type": "application/octet-stream" },
    });
  const stored = await put("dsm.tif", new Uint8Array(900));
  expect(stored.status).toBe(201);
  expect(stored.json).toMatchObject({ name: "dsm.tif", bytes: 900, revision: 1 });
  expect((await put("dsm.tif", new Uint8Array(3))).json.error.code).toBe("http.conflict");
  expect((await put("dsm.tif", new Uint8Array(3), "&replace=1")).json).toMatchObject({ bytes: 3, revision: 2 });
  const big = await put("big.tif", new Uint8Array(1001));
  expect([big.status, big.json.error.code]).toEqual([413, "http.too-large"]);
  // The same without a length told beforehand.
  const chunked = await s.ask("POST", `/api/plans/${id}/files?name=big.tif`, {
    body: new Uint8Array(1001),
    headers: { "Content-Type": "application/octet-stream", "Transfer-Encoding": "chunked" },
  });
  expect(chunked.status).toBe(413);
  for (const name of ["../x.tif", "..%2fx.tif", "/etc/x.tif", "plan.json", "x.sh", "", ".x.tif"])
    expect((await put(name, new Uint8Array(1))).status, name).toBe(400);
  expect((await s.ask("GET", `/api/plans/${id}/files`)).json.map((f: { name: string }) => f.name)).toEqual(["dsm.tif"]);
});
