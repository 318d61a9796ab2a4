import type { ErrorBody } from "../../src/errors/index.ts";
import type { HeadOptions } from "../../src/terrain/reader/index.ts";

/** What the decoding child is asked, as its one argument (JSON). */
export interface ChildJob {
  path: string;
  /** Name for messages, and for height files the name that says the corner. */
  name: string;
  target: string;
  options: HeadOptions;
}

/** What it answers, one JSON line each on its standard output. */
export type ChildLine =
  | { started: true }
  /** The head is read and sound; so many cells follow. */
  | { cells: number }
  | { progress: number }
  | { done: true }
  | { error: ErrorBody };
