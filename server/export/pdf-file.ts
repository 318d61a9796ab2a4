import { createHash } from "node:crypto";
import { deflateSync } from "node:zlib";

/** A part of a PDF body: a dictionary as written, with or without a stream. */
interface Entry {
  dictionary: string;
  stream: Uint8Array | null;
}

const latin = (text: string): Uint8Array => Uint8Array.from(text, (c) => c.charCodeAt(0) & 255);

/** A text string as UTF-16 with its mark, in hexadecimal: any letter, no escapes (ISO 32000-1 §7.9.2). */
export const pdfText = (text: string): string =>
  `<FEFF${[...text]
    .flatMap((c) =>
      Array.from({ length: c.length }, (_, i) => c.charCodeAt(i).toString(16).toUpperCase().padStart(4, "0")),
    )
    .join("")}>`;

/** A number without exponent and without needless digits. */
export const pdfNumber = (v: number): string => {
  const text = v.toFixed(3).replace(/\.?0+$/, "");
  return text === "-0" || text === "" ? "0" : text;
};

/** Collects the objects of a PDF file and writes them with a cross-reference table. Source: ISO 32000-1:2008 §7.5. */
export class PdfFile {
  private readonly entries: Entry[] = [];

  /** Makes room for an object and gives its number. */
  reserve(): number {
    this.entries.push({ dictionary: "", stream: null });
    return this.entries.length;
  }

  set(id: number, dictionary: string): void {
    this.entries[id - 1] = { dictionary, stream: null };
  }

  add(dictionary: string): number {
    const id = this.reserve();
    this.set(id, dictionary);
    return id;
  }

  /** A stream, packed unless told otherwise; `more` are further entries of its dictionary. */
  addStream(bytes: Uint8Array | string, more = "", packed = true): number {
    const plain = typeof bytes === "string" ? latin(bytes) : bytes;
    const stream = packed ? new Uint8Array(deflateSync(plain, { level: 9 })) : plain;
    const id = this.reserve();
    this.entries[id - 1] = {
      dictionary: `<< /Length ${stream.length}${packed ? " /Filter /FlateDecode" : ""}${more ? ` ${more}` : ""} >>`,
      stream,
    };
    return id;
  }

  /** The file. Its identifier is a hash of what it holds, so that the same sheet is the same bytes. */
  bytes(root: number, info: number): Uint8Array {
    const parts: Uint8Array[] = [];
    let at = 0;
    const push = (p: Uint8Array): void => {
      parts.push(p);
      at += p.length;
    };
    push(latin("%PDF-1.7\n%âãÏÓ\n"));
    const offsets: number[] = [];
    for (const [i, e] of this.entries.entries()) {
      offsets.push(at);
      push(latin(`${i + 1} 0 obj\n${e.dictionary}\n`));
      if (e.stream) {
        push(latin("stream\n"));
        push(e.stream);
        push(latin("\nendstream\n"));
      }
      push(latin("endobj\n"));
    }
    const hash = createHash("sha256");
    for (const p of parts) hash.update(p);
    const id = hash.digest("hex").slice(0, 32).toUpperCase();
    const start = at;
    const rows = offsets.map((o) => `${String(o).padStart(10, "0")} 00000 n \n`).join("");
    push(
      latin(
        `xref\n0 ${offsets.length + 1}\n0000000000 65535 f \n${rows}trailer\n<< /Size ${offsets.length + 1} /Root ${root} 0 R /Info ${info} 0 R /ID [<${id}> <${id}>] >>\nstartxref\n${start}\n%%EOF\n`,
      ),
    );
    const out = new Uint8Array(at);
    let o = 0;
    for (const p of parts) {
      out.set(p, o);
      o += p.length;
    }
    return out;
  }
}
