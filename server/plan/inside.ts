import { constants } from "node:fs";
import { access, readdir, realpath, stat } from "node:fs/promises";
import { basename, dirname, isAbsolute, join, sep } from "node:path";
import { HardstandError } from "../../src/errors/index.ts";
import { nearestName } from "../../src/plan/known-fields.ts";

const isAway = (name: string): boolean =>
  isAbsolute(name) ||
  /^[A-Za-z]:/.test(name) ||
  name.startsWith("\\") ||
  name.includes("\0") ||
  /^[a-z][a-z0-9+.-]*:\/\//i.test(name);

/** Refuses a name that leads out of the plan's folder, before anything is opened. */
function refuseEscape(name: string, where: string): void {
  if (!isAway(name) && !name.split(/[\\/]/).includes("..")) return;
  throw new HardstandError("file.outside-folder", "a plan may name files only in its own folder or below", {
    where,
    received: name,
    hint: "copy the file beside the plan and name it without a leading slash or ..",
  });
}

async function missing(folder: string, name: string, where: string): Promise<never> {
  const there = await readdir(dirname(join(folder, name))).catch(() => [] as string[]);
  const near = nearestName(basename(name), there);
  throw new HardstandError("file.missing", `there is no file "${name}" beside the plan`, {
    where,
    received: name,
    hint: near === null ? "copy it into the plan's folder, or mend the name in the plan" : `did you mean "${near}"?`,
  });
}

/**
 * Absolute path of a file that a plan names, links resolved.
 * @param folder  the plan's folder
 * @param name    the name as the plan gives it
 * @param where   place in the plan, for messages
 * Throws file.outside-folder (also for a link that leads out), file.missing, file.unreadable.
 */
export async function resolveInside(folder: string, name: string, where: string): Promise<string> {
  refuseEscape(name, where);
  const root = await realpath(folder);
  let path: string;
  try {
    path = await realpath(join(root, name));
  } catch (thrown) {
    const code = (thrown as NodeJS.ErrnoException).code;
    if (code === "ENOENT" || code === "ENOTDIR") return missing(root, name, where);
    throw new HardstandError("file.unreadable", `"${name}" cannot be opened`, {
      where,
      received: name,
      hint: String(code),
      cause: thrown,
    });
  }
  const inside = root.endsWith(sep) ? root : root + sep;
  if (!path.startsWith(inside))
    throw new HardstandError("file.outside-folder", "the file is a link that leads out of the plan's folder", {
      where,
      received: name,
      hint: "put the file itself beside the plan",
    });
  const info = await stat(path);
  if (!info.isFile())
    throw new HardstandError("file.unreadable", `"${name}" is not a file`, {
      where,
      received: name,
      hint: "name a file, not a folder",
    });
  await access(path, constants.R_OK).catch((cause) => {
    throw new HardstandError("file.unreadable", `"${name}" may not be read`, {
      where,
      received: name,
      hint: "check the file's permissions",
      cause,
    });
  });
  return path;
}
