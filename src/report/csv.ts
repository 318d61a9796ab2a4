/** One CSV cell (RFC 4180). Text that a spreadsheet would run as a formula is led by an apostrophe; numbers stay numbers. */
export function csvCell(value: string | number | boolean | null): string {
  if (value === null) return "";
  if (typeof value === "number") return Number.isFinite(value) ? String(value) : "";
  let text = String(value);
  if (/^[=+\-@\t\r]/.test(text)) text = `'${text}`;
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/** Rows as CSV with a header, lines ended by CRLF (RFC 4180). */
export function csv(
  header: readonly string[],
  rows: readonly (readonly (string | number | boolean | null)[])[],
): string {
  return [header, ...rows].map((r) => `${r.map(csvCell).join(",")}\r\n`).join("");
}
