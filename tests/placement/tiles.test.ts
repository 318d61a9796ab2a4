import { expect, test } from "vitest";
import { areaTiles, routeTiles } from "../../src/placement/tiles.ts";

const box: [number, number][] = [
  [0, 0],
  [100, 0],
  [100, 60],
  [0, 60],
  [0, 0],
];

test("tiles start at the south-west corner of the box and count when their centre is inside", () => {
  const tiles = areaTiles([[box]], 40);
  expect(tiles.map((t) => [t.xM, t.yM])).toEqual([
    [20, 20],
    [60, 20],
  ]);
  expect(tiles[0]!.places).toHaveLength(9);
  expect(tiles[0]!.places[0]!.xM).toBeCloseTo(20 - 40 / 3, 9);
  expect(tiles[0]!.places[0]!.yM).toBeCloseTo(20 - 40 / 3, 9);
  expect(tiles[0]!.places[4]).toEqual({ xM: 20, yM: 20 });
});

test("an area smaller than a tile is one tile", () => {
  expect(
    areaTiles(
      [
        [
          [
            [0, 0],
            [10, 0],
            [10, 10],
            [0, 10],
            [0, 0],
          ],
        ],
      ],
      40,
    ),
  ).toHaveLength(1);
});

test("a route is cut into equal stretches that keep its length", () => {
  const tiles = routeTiles(
    [
      [0, 0],
      [100, 0],
      [100, 100],
    ],
    40,
  );
  expect(tiles).toHaveLength(5);
  expect(tiles.reduce((sum, t) => sum + t.sideM, 0)).toBeCloseTo(200, 9);
  expect(tiles[2]!.xM).toBeCloseTo(100, 9);
  expect(tiles[2]!.yM).toBeCloseTo(0, 9);
});
