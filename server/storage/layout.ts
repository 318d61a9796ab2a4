import { randomBytes } from "node:crypto";
import { join } from "node:path";
import { HardstandError } from "../../src/errors/index.ts";

/** Where things lie in a data folder. */
export class Layout {
  readonly root: string;
  constructor(root: string) {
    this.root = root;
  }
  get plans(): string {
    return join(this.root, "plans");
  }
  get runs(): string {
    return join(this.root, "runs");
  }
  /** Uploads in progress, copies being made, folders being removed: emptied at every start. */
  get passing(): string {
    return join(this.root, "passing");
  }
  get discarded(): string {
    return join(this.root, "discarded");
  }
  plan(id: string): string {
    return join(this.plans, id);
  }
  run(id: string): string {
    return join(this.runs, id);
  }
}

export const CURRENT_PLAN = "plan.json";
export const revisionFile = (revision: number): string => `plan.${revision}.json`;
const PLAN_FILE = /^plan(\.\d+)?\.json$/i;

const ID = /^[a-z0-9]{4,24}$/;
export const isId = (text: string): boolean => ID.test(text);

/** Twelve letters and digits from the system's random source: 62 bits, not to be guessed. */
export function newId(): string {
  const alphabet = "abcdefghijklmnopqrstuvwxyz0123456789";
  let id = "";
  while (id.length < 12)
    for (const byte of randomBytes(16)) if (byte < 252 && id.length < 12) id += alphabet[byte % 36];
  return id;
}

export function notFound(what: string, id: string): HardstandError {
  return new HardstandError("http.not-found", `there is no ${what} with this id`, {
    where: what,
    received: id,
    hint: `list the ${what}s to see which there are`,
  });
}

const KINDS = ["tif", "tiff", "hgt", "geojson", "json", "csv", "kml", "kmz", "gpx", "zip", "prj", "tfw", "txt"];

/**
 * Checks the name of a file to be put beside a plan: one name, no path, a kind the plan can use, not the plan itself.
 * @throws http.bad-request
 */
export function checkFileName(name: string): void {
  const bad = (message: string, hint: string) =>
    new HardstandError("http.bad-request", message, { where: "name", received: name, hint });
  if (!/^[\p{L}\p{N}][\p{L}\p{N}._ ()-]{0,119}$/u.test(name) || name.includes(".."))
    throw bad("a file name may hold letters, digits, space, dot, dash and underscore, at most 120", "rename the file");
  const kind = name.slice(name.lastIndexOf(".") + 1).toLowerCase();
  if (!name.includes(".") || !KINDS.includes(kind))
    throw bad("this kind of file cannot be put beside a plan", `use one of: ${KINDS.join(", ")}`);
  if (PLAN_FILE.test(name)) throw bad("this name is the plan's own", "rename the file");
}

export const isPlanFile = (name: string): boolean => PLAN_FILE.test(name);
