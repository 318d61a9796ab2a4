import fc from "fast-check";
import { expect, test } from "vitest";
import * as h from "../../client/lib/history.ts";

const step = (label: string, cosmetic = false): h.Step<number> => ({ label, before: 0, after: 1, cosmetic });

test("undo back to the plan of the run makes the results fresh again", () => {
  let s = h.emptyHistory<number>(true);
  s = h.push(s, step("a"));
  s = h.push(s, step("b"));
  expect(h.changeCount(s)).toBe(2);
  s = h.undo(h.undo(s));
  expect(h.changeCount(s)).toBe(0);
  expect(h.changeCount(h.redo(s))).toBe(1);
});
test("names and notes leave the results fresh", () => {
  const s = h.push(h.emptyHistory<number>(true), step("named", true));
  expect(h.changeCount(s)).toBe(0);
});
test("going back behind the run counts, and a new change there cannot be undone to fresh", () => {
  let s = h.push(h.emptyHistory<number>(true), step("a"));
  s = h.ran(h.push(s, step("b")));
  expect(h.changeCount(s)).toBe(0);
  s = h.undo(s);
  expect(h.changeCount(s)).toBe(1);
  s = h.push(s, step("c"));
  expect(h.changeCount(s)).toBe(2);
  expect(h.changeCount(h.undo(s))).toBe(1);
  expect(h.canRedo(s)).toBe(false);
});
test("a plan opened stale says so from the start", () => {
  expect(h.changeCount(h.emptyHistory<number>(false, 3))).toBe(3);
  expect(h.changeCount(h.emptyHistory<number>(false))).toBeGreaterThan(0);
});
test("any run of acts: the cursor stays on the stack, and right after a run nothing has changed", () => {
  fc.assert(
    fc.property(fc.array(fc.constantFrom("push", "undo", "redo", "ran"), { maxLength: 300 }), (acts) => {
      let s = h.emptyHistory<number>(true);
      for (const act of acts) {
        if (act === "push") s = h.push(s, step("x"));
        if (act === "undo") s = h.undo(s);
        if (act === "redo") s = h.redo(s);
        if (act === "ran") {
          s = h.ran(s);
          expect(h.changeCount(s)).toBe(0);
        }
        expect(s.cursor).toBeGreaterThanOrEqual(0);
        expect(s.cursor).toBeLessThanOrEqual(s.steps.length);
        expect(h.changeCount(s)).toBeGreaterThanOrEqual(0);
      }
    }),
  );
});
