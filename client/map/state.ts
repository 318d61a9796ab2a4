import { signal } from "@preact/signals";
import type { MapPort } from "./port.ts";

export const mapPort = signal<MapPort | null>(null);
export const metresPerPixel = signal(1);
export const bearing = signal(0);
/** Where the pointer is on the map. */
export const pointer = signal<{ lng: number; lat: number } | null>(null);
