import { readFileSync, realpathSync, statfsSync } from "node:fs";
import { sep } from "node:path";
import { HardstandError } from "../../src/errors/index.ts";

/** File systems whose locks and flushes cannot be relied on for a database (mount type as Linux names it). */
const NETWORK_TYPES = new Set([
  "9p",
  "afs",
  "beegfs",
  "ceph",
  "cifs",
  "coda",
  "davfs",
  "fuse.ceph-fuse",
  "fuse.davfs",
  "fuse.gcsfuse",
  "fuse.glusterfs",
  "fuse.rclone",
  "fuse.s3fs",
  "fuse.smbnetfs",
  "fuse.sshfs",
  "glusterfs",
  "gpfs",
  "lustre",
  "ncpfs",
  "nfs",
  "nfs4",
  "orangefs",
  "smb3",
  "smbfs",
  "virtiofs",
]);

/** Magic numbers of the same, for systems without a mount table: statfs(2), linux/magic.h. */
const NETWORK_MAGIC = new Map<number, string>([
  [0x6969, "nfs"],
  [0xff534d42, "cifs"],
  [0xfe534d42, "smb3"],
  [0x517b, "smb"],
  [0x5346414f, "afs"],
  [0x00c36400, "ceph"],
  [0x01021997, "9p"],
  [0x0bd00bd0, "lustre"],
  [0x47504653, "gpfs"],
]);

/** Octal escapes of /proc/mounts: space, tab, newline, backslash. */
const unescapeMount = (text: string): string =>
  text.replace(/\\([0-7]{3})/g, (_, octal: string) => String.fromCharCode(Number.parseInt(octal, 8)));

/**
 * Type of the file system that holds a folder, from a mount table in the form of /proc/mounts.
 * @param folder  absolute path, links resolved
 * @param mounts  text of the table: device, mount point, type, …
 * @returns the type of the deepest mount point above the folder (a later line covers an earlier one); null when none fits
 */
export function mountType(folder: string, mounts: string): string | null {
  let best: { point: string; type: string } | null = null;
  for (const line of mounts.split("\n")) {
    const [, rawPoint, type] = line.split(" ");
    if (rawPoint === undefined || type === undefined) continue;
    const point = unescapeMount(rawPoint);
    const below = folder === point || folder.startsWith(point.endsWith(sep) ? point : point + sep);
    if (below && (best === null || point.length >= best.point.length)) best = { point, type };
  }
  return best?.type ?? null;
}

export const isNetworkType = (type: string): boolean => NETWORK_TYPES.has(type);

function typeOf(folder: string): string | null {
  const real = realpathSync(folder);
  let mounts = "";
  try {
    mounts = readFileSync("/proc/mounts", "utf8");
  } catch {
    // Not Linux: the magic number has to do.
  }
  const type = mountType(real, mounts);
  if (type !== null) return type;
  return NETWORK_MAGIC.get(statfsSync(real).type >>> 0) ?? null;
}

/**
 * Refuses a data folder on a network file system: a database there can be ruined without any error being told.
 * @param folder  existing folder
 * @param find    how the type is found; given in tests
 * @throws storage.network-folder
 */
export function refuseNetworkFolder(folder: string, find: (folder: string) => string | null = typeOf): void {
  const type = find(folder);
  if (type === null || !isNetworkType(type)) return;
  throw new HardstandError("storage.network-folder", "the data folder lies on a network file system", {
    where: folder,
    received: type,
    hint: "choose a folder on a disk of this machine with --data; plans can be copied there",
  });
}
