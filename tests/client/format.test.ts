import { expect, test } from "vitest";
import * as f from "../../client/lib/format.ts";

test("numbers have a true minus, thin-spaced thousands and never a negative zero", () => {
  expect(f.num(-3.25, 1)).toBe("\u22123.3");
  expect(f.num(9400)).toBe("9400");
  expect(f.num(12_345)).toBe("12\u2009345");
  expect(f.num(-0.04, 1)).toBe("0.0");
  expect(f.signed(11.7)).toBe("+11.7");
  expect(f.signed(0)).toBe("0.0");
});
test("unknown is said, never drawn as zero", () => {
  for (const v of [null, undefined, Number.NaN, Number.POSITIVE_INFINITY]) {
    expect(f.num(v)).toBe("unknown");
    expect(f.chance(v)).toBe("unknown");
    expect(f.length(v, "m")).toBe("unknown");
    expect(f.degrees(v)).toBe("unknown");
    expect(f.quantity(v, "m", "m")).toBe("unknown");
  }
});
test("a chance never reads 100 % or 0 %; a counted share may", () => {
  expect(f.chance(0.9999)).toBe("over 99 %");
  expect(f.chance(0.99)).toBe("99 %");
  expect(f.chance(0.0001)).toBe("under 1 %");
  expect(f.share(1)).toBe("100 %");
});
test("lengths follow the reader's unit by the exact international foot (0.3048 m, NIST SP 811 App. B.8)", () => {
  expect(f.length(30.48, "ft")).toBe("100 ft");
  expect(f.length(8.1, "m")).toBe("8.1 m");
  expect(f.length(10, "m")).toBe("10 m");
  expect(f.length(552.4, "m")).toBe("552 m");
  expect(f.length(12_300, "m")).toBe("12.3 km");
  expect(f.length(1609.344 * 12, "ft")).toBe("12.0 mi");
  expect(f.area(1, "ft")).toBe("2.5 acres");
});
test("places in the sky and on the compass", () => {
  expect(f.orbit(-101)).toBe("101° W");
  expect(f.orbit(19.2)).toBe("19.2° E");
  expect(f.compassWord(359)).toBe("north");
  expect(f.compassWord(-90)).toBe("west");
});
test("seconds left are only as exact as they deserve", () => {
  expect(f.secondsLeft(null)).toBe("");
  expect(f.secondsLeft(0.3)).toBe("Almost there.");
  expect(f.secondsLeft(3.2)).toBe("About 4 s left.");
  expect(f.secondsLeft(200)).toBe("About 3 min left.");
});
