import { readFile, writeFile } from "node:fs/promises";
import { type Disk, nodeDisk } from "../../server/storage/disk.ts";

export interface FailingDisk {
  disk: Disk;
  /** To be called before every database transaction: counts as an operation too. */
  beforeWrite: () => void;
  /** Operations asked for so far. */
  count: number;
  failed: boolean;
}

/**
 * A disk whose n-th operation is refused.
 * @param failAt   1 for the first operation; 0 never
 * @param forGood  refuse everything after it as well, clean-up included: what a kill or a dead disk leaves behind
 * @param code     what the system says
 */
export function failingDisk(failAt: number, forGood: boolean, code = "EIO"): FailingDisk {
  const state: FailingDisk = {
    disk: nodeDisk,
    beforeWrite: () => step("transaction", "SQLITE_IOERR_WRITE"),
    count: 0,
    failed: false,
  };
  function step(what: string, says = code): void {
    if (state.failed && forGood) throw Object.assign(new Error(`${says}: ${what} refused`), { code: says });
    if (failAt > 0 && ++state.count === failAt) {
      state.failed = true;
      throw Object.assign(new Error(`${says}: ${what} refused`), { code: says });
    }
  }
  state.disk = {
    async open(path, flags) {
      step("open");
      const file = await nodeDisk.open(path, flags);
      return {
        async write(data) {
          try {
            step("write");
          } catch (thrown) {
            // A full disk takes a part of it first.
            await file.write(data.subarray(0, data.byteLength >> 1));
            throw thrown;
          }
          await file.write(data);
        },
        async sync() {
          step("flush");
          await file.sync();
        },
        close: () => file.close(),
      };
    },
    async rename(from, to) {
      step("rename");
      await nodeDisk.rename(from, to);
    },
    async mkdir(path) {
      step("mkdir");
      await nodeDisk.mkdir(path);
    },
    async copy(from, to) {
      try {
        step("copy");
      } catch (thrown) {
        const whole = await readFile(from);
        await writeFile(to, whole.subarray(0, whole.byteLength >> 1));
        throw thrown;
      }
      await nodeDisk.copy(from, to);
    },
    async remove(path) {
      step("remove");
      await nodeDisk.remove(path);
    },
  };
  return state;
}
