/** Undo of the plan: one step per intent, and how many changes lie between now and the last run. */
export interface Step<T> {
  label: string;
  before: T;
  after: T;
  /** Changes that move no number (names, notes) leave results fresh. */
  cosmetic: boolean;
}
export interface History<T> {
  steps: readonly Step<T>[];
  /** Steps in force: steps[0 … cursor) are applied. */
  cursor: number;
  /** Cursor the last run saw; null when that state can no longer be reached by undo. */
  ranAt: number | null;
  /** Where counting starts once ranAt is null: the last state shared with the run. */
  base: number;
  /** Changes not on the stack any more, counted since the last run. */
  lost: number;
}
const LIMIT = 200;

export const emptyHistory = <T>(fresh: boolean, lost = 0): History<T> => ({
  steps: [],
  cursor: 0,
  ranAt: fresh ? 0 : null,
  base: 0,
  lost: fresh ? 0 : Math.max(1, lost),
});

export function push<T>(h: History<T>, step: Step<T>): History<T> {
  let { ranAt, base, lost } = h;
  if (ranAt !== null && ranAt > h.cursor) {
    lost = ranAt - h.cursor;
    base = h.cursor;
    ranAt = null;
  }
  const steps = [...h.steps.slice(0, h.cursor), step];
  let cursor = h.cursor + 1;
  while (steps.length > LIMIT) {
    steps.shift();
    cursor--;
    if (ranAt !== null) ranAt = ranAt > 0 ? ranAt - 1 : null;
    if (ranAt === null) {
      if (base > 0) base--;
      else lost++;
    }
  }
  return { steps, cursor, ranAt, base, lost };
}
export const canUndo = <T>(h: History<T>): boolean => h.cursor > 0;
export const canRedo = <T>(h: History<T>): boolean => h.cursor < h.steps.length;
export const undo = <T>(h: History<T>): History<T> => (canUndo(h) ? { ...h, cursor: h.cursor - 1 } : h);
export const redo = <T>(h: History<T>): History<T> => (canRedo(h) ? { ...h, cursor: h.cursor + 1 } : h);
export const nextUndo = <T>(h: History<T>): Step<T> | undefined => h.steps[h.cursor - 1];
export const nextRedo = <T>(h: History<T>): Step<T> | undefined => h.steps[h.cursor];
export const ran = <T>(h: History<T>, at = h.cursor): History<T> => ({ ...h, ranAt: at, base: at, lost: 0 });

/** Steps between the last run and now that could move a number. */
export function changesSince<T>(h: History<T>): Step<T>[] {
  const from = h.ranAt ?? h.base;
  const between = h.cursor >= from ? h.steps.slice(from, h.cursor) : h.steps.slice(h.cursor, from);
  return between.filter((s) => !s.cosmetic);
}
export const changeCount = <T>(h: History<T>): number => changesSince(h).length + (h.ranAt === null ? h.lost : 0);
