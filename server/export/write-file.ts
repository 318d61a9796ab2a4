import { randomBytes } from "node:crypto";
import { mkdir, open, rename, rm } from "node:fs/promises";
import { dirname } from "node:path";
import { HardstandError } from "../../src/errors/index.ts";

export interface NamedBytes {
  path: string;
  bytes: string | Uint8Array;
}

async function writeBeside(target: NamedBytes): Promise<string> {
  await mkdir(dirname(target.path), { recursive: true });
  const temporary = `${target.path}.part-${randomBytes(4).toString("hex")}`;
  const handle = await open(temporary, "wx");
  try {
    await handle.writeFile(target.bytes);
    await handle.sync();
  } catch (error) {
    await handle.close();
    await rm(temporary, { force: true });
    throw error;
  }
  await handle.close();
  return temporary;
}

/** Writes files beside their names and renames them once all are whole: a stop or a fault leaves no half-written file. */
export async function writeFilesSafe(files: readonly NamedBytes[]): Promise<void> {
  const temporaries: string[] = [];
  try {
    for (const file of files) temporaries.push(await writeBeside(file));
    for (const [i, file] of files.entries()) await rename(temporaries[i]!, file.path);
  } catch (error) {
    for (const t of temporaries) await rm(t, { force: true });
    throw new HardstandError(
      "file.write-failed",
      `the result could not be written: ${error instanceof Error ? error.message : error}`,
      {
        where: files.map((f) => f.path).join(", "),
        hint: "check that the folder exists, may be written and has room; nothing was changed",
        cause: error,
      },
    );
  }
}

export const writeFileSafe = (path: string, bytes: string | Uint8Array): Promise<void> =>
  writeFilesSafe([{ path, bytes }]);
