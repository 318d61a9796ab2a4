/** Text for XML 1.0: marks escaped, control characters that XML forbids left out. */
export const xmlText = (text: string): string =>
  text
    // biome-ignore lint/suspicious/noControlCharactersInRegex: these are what XML 1.0 §2.2 does not allow
    .replace(/[\u0000-\u0008\u000B\u000C\u000E-\u001F\uFFFE\uFFFF]/g, "")
    .replaceAll("&", "&amp;")
    .replaceAll("<", "&lt;")
    .replaceAll(">", "&gt;")
    .replaceAll('"', "&quot;");
