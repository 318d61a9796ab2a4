import { effect, signal } from "@preact/signals";
import type { LengthUnit } from "../lib/format.ts";

export type Stage = "plan" | "spots" | "handover";
export type Show = "score" | "coverage" | "sky" | "plan";
export type Theme = "day" | "night" | "sun";
export type CoordinateNotation = "usng" | "utm" | "dm" | "dms" | "dd";
export interface Focus {
  kind: "point" | "satellite" | "cell";
  id: string;
}
export interface Along {
  /** Metres from the unit along the open cross-section. */
  alongM?: number;
  /** Bearing under the pointer in the sky chart, degrees true. */
  azimuthDeg?: number;
}

/** Which plan, stage, spot and point are on screen. All of it stands in the address, so a page can be sent. */
export const planId = signal<string | null>(null);
export const stage = signal<Stage>("spots");
export const selected = signal<string | null>(null);
export const opened = signal(false);
export const compared = signal<readonly string[]>([]);
export const show = signal<Show>("score");
export const focus = signal<Focus | null>(null);

/** What the pointer or the keyboard passes over: previews only, never in the address. */
export const hovered = signal<Focus | { kind: "spot"; id: string } | null>(null);
export const along = signal<Along>({});

export const theme = signal<Theme>("day");
export const lengthUnit = signal<LengthUnit>("m");
export const notation = signal<CoordinateNotation>("usng");
export const bearings = signal<"true" | "compass">("true");
export const letterKeys = signal(true);
export const folded = signal(false);
export const opacity = signal<Record<"score" | "value", number>>({ score: 0.92, value: 0.58 });
export const coverService = signal<string | null>(null);
export const coverWhat = signal<"probability" | "loss" | "level">("probability");
/** On a phone the map is a tab of its own. */
export const phoneTab = signal<"panel" | "map" | "charts">("panel");
export const benchTab = signal<"section" | "sky">("section");
export const narrow = signal(false);
export const listOpen = signal(false);
export const dialog = signal<"keys" | "data" | "find" | "history" | "order" | "changes" | null>(null);

const oneOf = <T extends string>(value: string | null, allowed: readonly T[], other: T): T =>
  allowed.includes(value as T) ? (value as T) : other;

function readAddress(): void {
  const q = new URLSearchParams(location.search);
  planId.value = q.get("plan");
  stage.value = oneOf(q.get("stage"), ["plan", "spots", "handover"], "spots");
  selected.value = q.get("spot");
  opened.value = q.get("open") === "1";
  compared.value = (q.get("compare") ?? "")
    .split(",")
    .filter((s) => s !== "")
    .slice(0, 2);
  show.value = oneOf(q.get("show"), ["score", "coverage", "sky", "plan"], "score");
  const point = q.get("point");
  focus.value = point === null ? null : { kind: "point", id: point };
}
function writeAddress(push: boolean): void {
  const q = new URLSearchParams();
  if (planId.value !== null) q.set("plan", planId.value);
  if (stage.value !== "spots") q.set("stage", stage.value);
  if (selected.value !== null) q.set("spot", selected.value);
  if (opened.value) q.set("open", "1");
  if (compared.value.length > 0) q.set("compare", compared.value.join(","));
  if (show.value !== "score") q.set("show", show.value);
  if (focus.value?.kind === "point") q.set("point", focus.value.id);
  const next = `${location.pathname}${q.size > 0 ? `?${q}` : ""}`;
  if (next === `${location.pathname}${location.search}`) return;
  if (push) history.pushState(null, "", next);
  else history.replaceState(null, "", next);
}

interface Kept {
  theme?: Theme;
  lengthUnit?: LengthUnit;
  notation?: CoordinateNotation;
  bearings?: "true" | "compass";
  letterKeys?: boolean;
}
const KEY = "hardstand.view";
function readKept(): void {
  let kept: Kept = {};
  try {
    kept = JSON.parse(localStorage.getItem(KEY) ?? "{}") as Kept;
  } catch {
    kept = {};
  }
  const dark = matchMedia("(prefers-color-scheme: dark)").matches;
  theme.value = kept.theme ?? (dark ? "night" : "day");
  lengthUnit.value = kept.lengthUnit ?? "m";
  notation.value = kept.notation ?? "usng";
  bearings.value = kept.bearings ?? "true";
  letterKeys.value = kept.letterKeys ?? true;
}

export function startView(): void {
  readKept();
  readAddress();
  addEventListener("popstate", readAddress);
  const phone = matchMedia("(max-width: 719px)");
  narrow.value = phone.matches;
  phone.addEventListener("change", () => {
    narrow.value = phone.matches;
  });
  let lastDepth = "";
  effect(() => {
    const depth = `${planId.value}/${stage.value}/${opened.value}/${compared.value.length}`;
    writeAddress(lastDepth !== "" && depth !== lastDepth);
    lastDepth = depth;
  });
  effect(() => {
    document.documentElement.dataset.theme = theme.value;
  });
  effect(() => {
    const kept: Kept = {
      theme: theme.value,
      lengthUnit: lengthUnit.value,
      notation: notation.value,
      bearings: bearings.value,
      letterKeys: letterKeys.value,
    };
    try {
      localStorage.setItem(KEY, JSON.stringify(kept));
    } catch {
      // Private windows may refuse storage; the choice then lasts as long as the page.
    }
  });
}

/** Selects a spot without opening it. */
export function select(id: string | null): void {
  selected.value = id;
  if (id === null) opened.value = false;
}
export function openSpot(id: string): void {
  selected.value = id;
  opened.value = true;
  compared.value = [];
  phoneTab.value = "panel";
}
export function closeSpot(): void {
  opened.value = false;
  focus.value = null;
  along.value = {};
}
/** Adds a spot to the comparison; the third pick replaces the older. */
export function compareWith(id: string): void {
  const now = compared.value.filter((c) => c !== id);
  const base = now.length === 0 && selected.value !== null && selected.value !== id ? [selected.value] : now;
  compared.value = [...base, id].slice(-2);
  opened.value = false;
}
