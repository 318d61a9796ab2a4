/** Bodies of the service, from the one place that states them; names as the client uses them. */
import type { FeatureCollection } from "geojson";

export type {
  Dataset,
  GroundAnswer as Ground,
  HealthAnswer as Health,
  LegendAnswer as Legend,
  PlanAnswer,
  PlanRow,
  RunRow,
  RunState,
  RunStatus as Run,
  SampleRow as Sample,
} from "../src/plan/http.ts";
export type Features = FeatureCollection;
