import { createHash } from "node:crypto";
import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { loadPlan } from "../../server/plan/load.ts";
import { HardstandError } from "../../src/errors/index.ts";
import { put, smallPlan } from "../support/plan-fixture.ts";

let root: string;
let folder: string;
beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), "plan-"));
  folder = join(root, "plan");
  mkdirSync(join(folder, "deep"), { recursive: true });
  writeFileSync(join(folder, "ground.tif"), "II");
});
afterEach(() => rmSync(root, { recursive: true }));

function save(plan: unknown): string {
  const path = join(folder, "small.plan.json");
  writeFileSync(path, JSON.stringify(plan));
  return path;
}
async function bodyOf(work: Promise<unknown>) {
  const thrown = await work.then(
    () => null,
    (e: unknown) => e,
  );
  expect(thrown).toBeInstanceOf(HardstandError);
  return (thrown as HardstandError).body;
}

test("a plan with its points in a file: ids, hashes", async () => {
  const points = JSON.stringify(smallPlan().points);
  writeFileSync(join(folder, "deep", "points.geojson"), points);
  const loaded = await loadPlan(save(put(smallPlan(), ["points"], "deep/points.geojson")));
  expect(loaded.points.features.map((f) => f.properties.id)).toEqual(["a", "b"]);
  expect(loaded.buildings).toBeNull();
  expect(loaded.hashes["deep/points.geojson"]).toBe(createHash("sha256").update(points).digest("hex"));
  expect(Object.keys(loaded.hashes)).toEqual(["small.plan.json", "deep/points.geojson"]);
});

test.each([
  "../ground.tif",
  "/etc/hosts",
  "deep/../../x.tif",
  "C:\\x.tif",
  "\\\\host\\x.tif",
  "https://example.org/x.tif",
  "..\\x.tif",
  "a\u0000b",
])("%j leads out of the folder and is refused", async (file) => {
  const body = await bodyOf(loadPlan(save(put(smallPlan(), ["terrain", "ground"], [file]))));
  expect(body.code).toBe("file.outside-folder");
  expect(body.where).toBe("small.plan.json: terrain.ground[0]");
});

test("a link that leads out is refused, one that stays inside is not", async () => {
  writeFileSync(join(root, "secret.tif"), "II");
  symlinkSync(join(root, "secret.tif"), join(folder, "out.tif"));
  symlinkSync(join(folder, "ground.tif"), join(folder, "in.tif"));
  symlinkSync(root, join(folder, "up"));
  for (const file of ["out.tif", "up/secret.tif"])
    expect((await bodyOf(loadPlan(save(put(smallPlan(), ["terrain", "ground"], [file]))))).code).toBe(
      "file.outside-folder",
    );
  await loadPlan(save(put(smallPlan(), ["terrain", "ground"], ["in.tif"])));
});

test("a missing raster names the nearest file there", async () => {
  const plan = put(smallPlan(), ["terrain", "ground"], [{ file: "gruond.tif", unit: "m" }]);
  const body = await bodyOf(loadPlan(save(plan)));
  expect(body).toMatchObject({
    code: "file.missing",
    received: "gruond.tif",
    where: "small.plan.json: terrain.ground[0].file",
  });
  expect(body.hint).toContain('"ground.tif"');
});

test("a folder where a file is meant, a missing plan, a plan that is a folder, text that is no UTF-8", async () => {
  expect((await bodyOf(loadPlan(save(put(smallPlan(), ["terrain", "ground"], ["deep"]))))).code).toBe(
    "file.unreadable",
  );
  expect((await bodyOf(loadPlan(join(folder, "none.plan.json")))).code).toBe("file.missing");
  expect((await bodyOf(loadPlan(folder))).code).toBe("file.unreadable");
  writeFileSync(join(folder, "x.plan.json"), Buffer.from([0x7b, 0xff, 0xfe]));
  expect((await bodyOf(loadPlan(join(folder, "x.plan.json")))).code).toBe("file.unreadable");
});

test("faults inside a named file say that file and the place in it", async () => {
  const points = smallPlan().points;
  put(points as object, ["features", 1, "properties", "heightFt"], 5);
  writeFileSync(join(folder, "points.geojson"), JSON.stringify(points));
  const body = await bodyOf(loadPlan(save(put(smallPlan(), ["points"], "points.geojson"))));
  expect(body).toMatchObject({ code: "plan.unknown-field", where: "points.geojson: features[1].properties.heightFt" });
  writeFileSync(join(folder, "points.geojson"), "{oops");
  expect((await bodyOf(loadPlan(save(put(smallPlan(), ["points"], "points.geojson"))))).code).toBe("plan.not-json");
});
