import { expect, test } from "vitest";
import { type OrderKeys, orderSpots } from "../../src/placement/order.ts";

const keys = (over: Partial<OrderKeys>): { keys: OrderKeys } => ({
  keys: {
    score: 90,
    mustsShort: 0,
    mustShortDb: 0,
    mustsUnknown: 0,
    noGo: false,
    redundancy: 1,
    backhaulRank: 0,
    backhaulUnknown: false,
    clearanceDeg: 10,
    waysOut: 1,
    index: 0,
    ...over,
  },
});

test("musts come before score, fewer short ones first, then fewer dB, then known before unknown", () => {
  const best = keys({ score: 60, index: 1 });
  const unknown = keys({ score: 99, mustsUnknown: 1, index: 2 });
  const shortLess = keys({ score: 99, mustsShort: 1, mustShortDb: 2, index: 3 });
  const shortMore = keys({ score: 99, mustsShort: 1, mustShortDb: 5, index: 4 });
  const twoShort = keys({ score: 99, mustsShort: 2, mustShortDb: 1, index: 5 });
  const list = orderSpots([twoShort, shortMore, shortLess, unknown, best]);
  expect(list.map((o) => o.item)).toEqual([best, unknown, shortLess, shortMore, twoShort]);
  expect(list.map((o) => o.decidedBy)).toEqual(["unknown-musts", "musts", "musts", "musts", "musts"]);
});

test("scores within half a point of the group's first are tied and fall to redundancy, backhaul, clearance, access", () => {
  const a = keys({ score: 90.0, redundancy: 1, index: 1 });
  const b = keys({ score: 89.7, redundancy: 2, index: 2 });
  const c = keys({ score: 89.4, redundancy: 3, index: 3 });
  const list = orderSpots([a, b, c]);
  expect(list.map((o) => o.item)).toEqual([b, a, c]);
  expect(list.map((o) => o.tied)).toEqual([true, true, false]);
  expect(list.map((o) => o.decidedBy)).toEqual(["redundancy", "score", "score"]);
});

test("a no-go is last whatever it scores, and one spot alone is first", () => {
  const bad = keys({ score: 100, noGo: true, index: 1 });
  const good = keys({ score: 10, index: 2 });
  expect(orderSpots([bad, good]).map((o) => o.item)).toEqual([good, bad]);
  expect(orderSpots([good])[0]!.decidedBy).toBe("first");
});

test("the same spots in another order give the same list", () => {
  const spots = [keys({ index: 3 }), keys({ index: 1 }), keys({ index: 2 })];
  expect(orderSpots(spots).map((o) => o.item.keys.index)).toEqual([1, 2, 3]);
  expect(orderSpots([...spots].reverse()).map((o) => o.item.keys.index)).toEqual([1, 2, 3]);
});
