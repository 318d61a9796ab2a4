import { expect, test } from "vitest";
import { channelCapacityMbps, FULL_SHARE, type LoadRow, serviceLoad } from "../../src/link/index.ts";
import type { LteService } from "../../src/plan/types.ts";

const service: LteService = {
  id: "cell",
  kind: "lte",
  downlinkMHz: 763,
  uplinkMHz: 793,
  channelMHz: 10,
  txPowerDbm: 36,
  antenna: { pattern: "omni", gainDbi: 9 },
  needs: [{ id: "video", downlinkMbps: 1, uplinkMbps: 2 }],
};
const row = (more: Partial<LoadRow>): LoadRow => ({
  id: "tent",
  service,
  need: service.needs[0]!,
  users: 10,
  activity: 0.5,
  downlinkMbps: 20,
  uplinkMbps: 10,
  ...more,
});

test("caps of 3GPP TR 36.942: 4.4 and 2.0 b/s/Hz on 50 blocks of 180 kHz", () => {
  expect(channelCapacityMbps(service)!.downlink).toBeCloseTo(39.6, 9);
  expect(channelCapacityMbps(service)!.uplink).toBeCloseTo(18, 9);
});

test("shares add up, worked by hand", () => {
  // Five active users: 5 × 1/20 = 0.25 down, 5 × 2/10 = 1.0 up; 10 Mb/s up on the backhaul.
  const load = serviceLoad([row({})], 40);
  expect(load.services[0]).toMatchObject({ activeUsers: 5, downlinkMbps: 5, uplinkMbps: 10, unserved: [] });
  expect(load.services[0]!.downlinkShare).toBeCloseTo(0.25, 12);
  expect(load.services[0]!.uplinkShare).toBeCloseTo(1, 12);
  expect(load.backhaulDemandMbps).toBe(10);
  expect(load.limit).toMatchObject({ what: "uplink", service: "cell" });
  expect(load.limit.share).toBeCloseTo(1 / FULL_SHARE, 12);
  expect(load.headroom).toBeCloseTo(FULL_SHARE, 12);
  expect(load.text).toContain("uplink of cell is full first");
});

test("the backhaul is named when it is full before the air", () => {
  const load = serviceLoad([row({ users: 4 })], 2);
  expect(load.limit.what).toBe("backhaul");
  expect(load.backhaulShare).toBe(2);
});

test("headroom is what it says: with that many users the fullest part is just full", () => {
  const load = serviceLoad([row({ users: 3 }), row({ id: "road", users: 1, uplinkMbps: 4 })], 100);
  expect(load.limit.what).toBe("nothing");
  const k = load.headroom!;
  const grown = serviceLoad([row({ users: 3 * k }), row({ id: "road", users: k, uplinkMbps: 4 })], 100);
  expect(grown.limit.share).toBeCloseTo(1, 9);
});

test("no rate is out of coverage, not load; unknown backhaul is said", () => {
  const load = serviceLoad([row({ uplinkMbps: 0 }), row({ id: "hill", downlinkMbps: null })], null);
  expect(load.services[0]!.unserved).toEqual(["tent", "hill"]);
  expect(load.services[0]!.uplinkShare).toBe(0);
  expect(load.limit.what).toBe("nothing");
  expect(load.backhaulShare).toBeNull();
  expect(load.text).toContain("not known");
  expect(load.text).toContain("out of coverage: tent, hill");
  expect(serviceLoad([], 10).text).toContain("no demand");
});
