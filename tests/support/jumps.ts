/**
 * Greatest jump of a function of one number: every step that changes by more than `ignore` is halved until only a jump is left.
 * @returns its size and place; 0 when the function is continuous as far as numbers can tell
 */
export function greatestJump(
  f: (x: number) => number,
  from: number,
  to: number,
  steps: number,
  ignore = 1e-3,
): { jump: number; at: number } {
  let worst = { jump: 0, at: Number.NaN };
  let a = from;
  let fa = f(a);
  for (let k = 1; k <= steps; k++) {
    const b = from + ((to - from) * k) / steps;
    const fb = f(b);
    let [x0, y0, x1, y1] = [a, fa, b, fb];
    for (let i = 0; i < 45 && Math.abs(y1 - y0) > ignore && Math.abs(y1 - y0) > worst.jump; i++) {
      const xm = (x0 + x1) / 2;
      const ym = f(xm);
      // Follow the half with more change: a jump keeps its size, a slope loses it.
      if (Math.abs(ym - y0) > Math.abs(y1 - ym)) [x1, y1] = [xm, ym];
      else [x0, y0] = [xm, ym];
    }
    if (Math.abs(y1 - y0) > Math.max(worst.jump, ignore)) worst = { jump: Math.abs(y1 - y0), at: x0 };
    a = b;
    fa = fb;
  }
  return worst;
}
