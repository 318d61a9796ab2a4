import { expect, test } from "vitest";
import { isNetworkType, mountType, refuseNetworkFolder } from "../../server/storage/network-folder.ts";

// Lines in the form of proc(5), /proc/[pid]/mounts: device, mount point, type, options.
const MOUNTS = `/dev/sda1 / ext4 rw 0 0
proc /proc proc rw 0 0
server:/home /home nfs4 rw,vers=4.2 0 0
/dev/sdb1 /home/local xfs rw 0 0
//nas/share /mnt/with\\040space cifs rw 0 0
tmpfs /tmp tmpfs rw 0 0
host:/x /tmp nfs rw 0 0
me@host: /mnt/s fuse.sshfs rw 0 0
`;

test.each([
  ["/var/lib/hardstand", "ext4", false],
  ["/home/ann/hardstand", "nfs4", true],
  ["/homestead", "ext4", false],
  ["/home/local/hardstand", "xfs", false],
  ["/mnt/with space/data", "cifs", true],
  ["/tmp/x", "nfs", true],
  ["/mnt/s/deep/er", "fuse.sshfs", true],
])("%s lies on %s", (folder, type, network) => {
  expect(mountType(folder, MOUNTS)).toBe(type);
  expect(isNetworkType(type)).toBe(network);
});

test("a network folder is refused with its type and what to do", () => {
  expect(() => refuseNetworkFolder("/home/ann", (f) => mountType(f, MOUNTS))).toThrow(
    expect.objectContaining({ code: "storage.network-folder", body: expect.objectContaining({ received: "nfs4" }) }),
  );
  refuseNetworkFolder("/var", (f) => mountType(f, MOUNTS));
  refuseNetworkFolder("/var", () => null);
});
