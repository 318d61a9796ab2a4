import type { Spot } from "../../src/plan/outputs/types.ts";
export function SpotPage(_props: { spot: Spot }) {
  return null;
}
