import { HardstandError } from "../../src/errors/index.ts";

/** A date as ISO instant: the one given, else now. */
export function dateOf(text: string | undefined): string {
  if (text === undefined) return new Date().toISOString();
  const date = new Date(/^\d{4}-\d{2}-\d{2}$/.test(text) ? `${text}T12:00:00Z` : text);
  if (Number.isNaN(date.getTime()))
    throw new HardstandError("command.usage", "a date like 2026-09-12 is expected", {
      where: "--date",
      received: text,
      hint: "write year-month-day",
    });
  return date.toISOString();
}

/** Today as ISO date. */
export const today = (): string => new Date().toISOString().slice(0, 10);
