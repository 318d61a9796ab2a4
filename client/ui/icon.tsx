import sprite from "../symbols.svg?raw";

/** Puts the symbols into the page once, so that fills and patterns can follow the page's colours. */
export function placeSprite(): void {
  const parsed = new DOMParser().parseFromString(sprite, "image/svg+xml").documentElement;
  const svg = document.importNode(parsed, true) as unknown as SVGSVGElement;
  for (const title of svg.querySelectorAll("title")) title.remove();
  svg.setAttribute("aria-hidden", "true");
  svg.setAttribute("width", "0");
  svg.setAttribute("height", "0");
  svg.setAttribute("class", "sprite");
  document.body.prepend(svg);
}
/** The inner drawing of one symbol, for images of the map. */
export function symbolMarkup(id: string): { viewBox: string; inner: string } | null {
  const found = document.getElementById(id);
  if (found === null) return null;
  return { viewBox: found.getAttribute("viewBox") ?? "0 0 24 24", inner: found.innerHTML };
}

export function Icon(props: { name: string; size?: "s" | "l"; class?: string; label?: string }) {
  const named =
    props.label === undefined ? { "aria-hidden": true as const } : { role: "img" as const, "aria-label": props.label };
  return (
    // biome-ignore lint/a11y/noSvgWithoutTitle: it is either named by aria-label or hidden
    <svg class={`i ${props.size ?? ""} ${props.class ?? ""}`} {...named}>
      <use href={`#${props.name}`} />
    </svg>
  );
}
