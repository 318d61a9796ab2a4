import type { Spot } from "../../src/plan/outputs/types.ts";
import { pairs } from "../lib/compare.ts";
import { focus } from "../state/view.ts";

/** The point that tells the two apart most, unless one has been chosen. */
export function comparePoint(a: Spot, b: Spot): string | null {
  if (focus.value?.kind === "point") return focus.value.id;
  return (
    [...pairs(a, b)].sort((x, y) => Math.abs(y.differencePct ?? 0) - Math.abs(x.differencePct ?? 0))[0]?.a.id ?? null
  );
}
