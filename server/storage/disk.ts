import { constants } from "node:fs";
import * as fs from "node:fs/promises";
import { dirname, join } from "node:path";
import { HardstandError } from "../../src/errors/index.ts";

/** The few operations every write goes through, so that each of them can be made to fail in a test. */
export interface Disk {
  open(path: string, flags: string): Promise<DiskFile>;
  rename(from: string, to: string): Promise<void>;
  mkdir(path: string): Promise<void>;
  /** Copies a file, sharing blocks where the file system can; the copy is not yet durable. */
  copy(from: string, to: string): Promise<void>;
  /** Removes a file or a whole folder; nothing there is no error. */
  remove(path: string): Promise<void>;
}

export interface DiskFile {
  write(data: Uint8Array): Promise<void>;
  sync(): Promise<void>;
  close(): Promise<void>;
}

export const nodeDisk: Disk = {
  async open(path, flags) {
    const handle = await fs.open(path, flags);
    return {
      async write(data) {
        let at = 0;
        while (at < data.byteLength) at += (await handle.write(data, at)).bytesWritten;
      },
      sync: () => handle.sync(),
      close: () => handle.close(),
    };
  },
  rename: (from, to) => fs.rename(from, to),
  async mkdir(path) {
    await fs.mkdir(path, { recursive: true });
  },
  copy: (from, to) => fs.copyFile(from, to, constants.COPYFILE_FICLONE),
  remove: (path) => fs.rm(path, { recursive: true, force: true }),
};

/** Makes a rename or a new entry in a folder survive a power cut. */
export async function syncFolder(disk: Disk, folder: string): Promise<void> {
  const handle = await disk.open(folder, "r");
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
}

let serial = 0;
/** A name in the same folder that no reader takes for a whole file. */
export const besideName = (path: string): string =>
  join(dirname(path), `.${process.pid}-${Date.now().toString(36)}-${serial++}.part`);

export const isPart = (name: string): boolean => name.startsWith(".") && name.endsWith(".part");

/**
 * Writes a file so that a reader finds the old content or the new, never a part: beside it, flushed, renamed, folder
 * flushed. Removes what it wrote when any step does not succeed.
 * @throws file.write-failed with the path and what the system said
 */
export async function writeWhole(disk: Disk, path: string, data: Uint8Array | string): Promise<void> {
  const beside = besideName(path);
  try {
    const file = await disk.open(beside, "wx");
    try {
      await file.write(typeof data === "string" ? Buffer.from(data) : data);
      await file.sync();
    } finally {
      await file.close();
    }
    await disk.rename(beside, path);
    await syncFolder(disk, dirname(path));
  } catch (thrown) {
    await disk.remove(beside).catch(() => {});
    throw writeError(thrown, path);
  }
}

/** A write that the system refused, in our words. */
export function writeError(thrown: unknown, path: string): HardstandError {
  if (thrown instanceof HardstandError) return thrown;
  const code = (thrown as NodeJS.ErrnoException)?.code ?? "";
  const full = code === "ENOSPC" || code === "EDQUOT";
  const readOnly = code === "EROFS" || code === "EACCES" || code === "EPERM";
  return new HardstandError(
    "file.write-failed",
    full ? "the disk is full" : readOnly ? "the folder may not be written" : "a file could not be written",
    {
      where: path,
      received: code === "" ? String(thrown) : code,
      hint: full
        ? "make room and try again; what was stored before is untouched"
        : readOnly
          ? "let the service write to its data folder"
          : "check the disk; what was stored before is untouched",
      cause: thrown,
    },
  );
}
