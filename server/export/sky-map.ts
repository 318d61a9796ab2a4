import { HardstandError } from "../../src/errors/index.ts";
import type { LoadedPlan } from "../../src/plan/types.ts";
import { clearanceMap, dishSettings, neededHeightMap } from "../../src/satellite/index.ts";
import type { Scene } from "../../src/terrain/scene.ts";
import { encodeGeoTiff } from "./geotiff.ts";
import { writeFileSafe } from "./write-file.ts";

/** Writes the clearance (degrees) or the needed eye height (m above ground) over every cell, one band per satellite. */
export async function writeSkyMap(
  file: string,
  loaded: LoadedPlan,
  scene: Scene,
  what: "clearance" | "needed-height",
  eyeHeightM?: number,
): Promise<void> {
  const { unit, satellites = [] } = loaded.plan;
  if (!unit.dish || satellites.length === 0)
    throw new HardstandError("plan.invalid", "the plan has no dish or no satellite", {
      where: unit.dish ? "satellites" : "unit.dish",
      hint: "add a dish to the unit and at least one satellite",
    });
  const dish = { ...dishSettings(unit.dish), ...(eyeHeightM === undefined ? {} : { eyeHeightM }) };
  const bands = satellites.map((v) => {
    if (what === "needed-height")
      return {
        name: `${v.id}: eye height needed, m above ground`,
        values: neededHeightMap(scene, scene.frame.origin, v.longitudeDeg, dish).neededM,
      };
    const map = clearanceMap(scene, scene.frame.origin, v.longitudeDeg, dish);
    // Trees have a margin of their own: the band shows what is left of either margin, on the scale of hard objects.
    const values = map.clearanceDeg;
    if (map.treeClearanceDeg)
      for (let i = 0; i < values.length; i++) {
        const tree = map.treeClearanceDeg[i]! - (dish.treeMarginDeg - dish.marginDeg);
        if (Number.isNaN(tree)) values[i] = Number.NaN;
        else if (tree < values[i]!) values[i] = tree;
      }
    return { name: `${v.id}: clearance, degrees (trees less ${dish.treeMarginDeg - dish.marginDeg}°)`, values };
  });
  await writeFileSafe(file, encodeGeoTiff({ grid: scene.grid, origin: scene.frame.origin, bands }));
}
