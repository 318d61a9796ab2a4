import { spawnSync } from "node:child_process";
import { existsSync } from "node:fs";
import { join } from "node:path";

const root = join(import.meta.dirname, "..", "..");

/** Folder of reference material that sits beside a checkout, or null when it is not there. */
export function sharedFolder(): string | null {
  const path = join(root, "..", "shared");
  return existsSync(join(path, "validation")) ? path : null;
}

/**
 * Says whether a test may run. Prints SKIPPED with the reason when it may not;
 * under CI a missing tool or missing reference data is a failure, never a skip.
 */
export function available(what: string, present: boolean): boolean {
  if (present) return true;
  if (process.env.CI === "true") throw new Error(`${what} is missing, and under CI that is a failure`);
  console.warn(`SKIPPED: ${what} is missing`);
  return false;
}

export function hasCommand(name: string): boolean {
  return spawnSync("sh", ["-c", `command -v ${name}`]).status === 0;
}

export const hasShared = (): boolean => available("the reference folder ../shared", sharedFolder() !== null);
export const needs = (command: string): boolean => available(`the command ${command}`, hasCommand(command));

/** Absolute path inside the reference folder; call only after hasShared(). */
export function shared(...parts: string[]): string {
  const folder = sharedFolder();
  if (folder === null) throw new Error("reference folder ../shared is not there");
  return join(folder, ...parts);
}

export const projectRoot = root;
