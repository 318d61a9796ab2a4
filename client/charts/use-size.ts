import { useEffect, useRef, useState } from "preact/hooks";

/** The size of the box a chart is drawn in, in whole pixels. */
export function useSize<E extends HTMLElement>(): [
  import("preact").RefObject<E | null>,
  { width: number; height: number },
] {
  const ref = useRef<E>(null);
  const [size, set] = useState({ width: 0, height: 0 });
  useEffect(() => {
    const el = ref.current;
    if (el === null) return;
    const measure = (): void => set({ width: Math.floor(el.clientWidth), height: Math.floor(el.clientHeight) });
    const watch = new ResizeObserver(measure);
    watch.observe(el);
    measure();
    return () => watch.disconnect();
  }, []);
  return [ref, size];
}
