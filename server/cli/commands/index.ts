import type { CommandSpec } from "../arguments.ts";
import { cover } from "./cover.ts";
import { exportPlaces } from "./export.ts";
import { look } from "./look.ts";
import { loss } from "./loss.ts";
import { models } from "./models.ts";
import { path } from "./path.ts";
import { rank } from "./rank.ts";
import { serve } from "./serve.ts";
import { sky } from "./sky.ts";
import { terrain } from "./terrain.ts";

export const COMMANDS: readonly CommandSpec[] = [
  rank,
  cover,
  sky,
  look,
  path,
  loss,
  models,
  terrain,
  exportPlaces,
  serve,
];
