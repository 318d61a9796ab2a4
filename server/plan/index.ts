export { checkAgainstScene } from "../../src/terrain/check-scene.ts";
export { resolveInside } from "./inside.ts";
export { loadPlan } from "./load.ts";
