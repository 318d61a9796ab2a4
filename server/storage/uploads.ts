import { createHash } from "node:crypto";
import { access } from "node:fs/promises";
import { join } from "node:path";
import { HardstandError } from "../../src/errors/index.ts";
import { besideName, type Disk, syncFolder, writeError } from "./disk.ts";
import type { KeyedLock } from "./keyed-lock.ts";
import { checkFileName, type Layout } from "./layout.ts";
import type { Plans } from "./plans.ts";
import type { Upload } from "./types.ts";

/**
 * Starts taking in a file beside a plan. Bytes go to the passing folder (same file system, so the last step is a
 * rename); a plan is never seen with half a raster. Replacing a file counts the plan's revision up first: results made
 * from the old file are then known to be old.
 */
export async function startUpload(
  deps: { disk: Disk; layout: Layout; lock: KeyedLock; plans: Plans },
  planId: string,
  name: string,
): Promise<Upload> {
  checkFileName(name);
  const { revision: current } = await deps.plans.get(planId);
  const target = join(deps.layout.plan(planId), name);
  const passing = besideName(join(deps.layout.passing, "upload"));
  const hash = createHash("sha256");
  let bytes = 0;
  const file = await deps.disk.open(passing, "wx").catch((thrown: unknown) => {
    throw writeError(thrown, target);
  });
  let open = true;
  const close = async () => {
    if (open) {
      open = false;
      await file.close();
    }
  };
  const drop = async () => {
    await close().catch(() => {});
    await deps.disk.remove(passing).catch(() => {});
  };
  return {
    async write(data) {
      try {
        await file.write(data);
      } catch (thrown) {
        throw writeError(thrown, target);
      }
      hash.update(data);
      bytes += data.byteLength;
    },
    drop,
    keep: (replace) =>
      deps.lock.run(planId, async () => {
        try {
          await file.sync();
          await close();
          const there = await access(target).then(
            () => true,
            () => false,
          );
          if (there && !replace)
            throw new HardstandError("http.conflict", "a file of this name is already beside the plan", {
              where: "name",
              received: name,
              hint: "choose another name, or send replace=1 to put this one in its place",
            });
          const revision = there ? await deps.plans.saveHeld(planId, null, null) : current;
          await deps.disk.rename(passing, target);
          await syncFolder(deps.disk, deps.layout.plan(planId));
          return { bytes, sha256: hash.digest("hex"), revision };
        } catch (thrown) {
          await drop();
          throw writeError(thrown, target);
        }
      }),
  };
}
