import type { z } from "zod";

type Any = z.ZodType & { def: Record<string, unknown> & { type: string } };

const isRecord = (value: unknown): value is Record<string, unknown> =>
  typeof value === "object" && value !== null && !Array.isArray(value);

/** Steps through wrappers (optional, nullable, default, refined) to the schema that decides. */
function unwrap(schema: Any): Any {
  let s = schema;
  while (s.def.innerType !== undefined || s.def.in !== undefined) s = (s.def.innerType ?? s.def.in) as Any;
  return s;
}

const literalFits = (schema: Any, value: unknown): boolean => {
  const s = unwrap(schema);
  return s.def.type !== "literal" || (s.def.values as unknown[]).includes(value);
};

/** The alternatives of a union that the value may be meant as: kind of value, then its literal fields. */
function alternatives(schema: Any, value: unknown): Any[] {
  const s = unwrap(schema);
  if (s.def.type !== "union") return [s];
  const all = (s.def.options as Any[]).flatMap((o) => alternatives(o, value));
  const fits = all.filter((o) => {
    if (o.def.type !== "object") return o.def.type === (Array.isArray(value) ? "array" : typeof value);
    if (!isRecord(value)) return false;
    return Object.entries(o.def.shape as Record<string, Any>).every(([k, v]) => literalFits(v, value[k]));
  });
  return fits.length > 0 ? fits : all;
}

/**
 * Schemas that stand at a path of a document.
 * @param path  keys and indexes from the root
 * @param root  the document itself: it decides which alternative of a union is meant
 */
export function schemasAt(schema: z.ZodType, path: readonly PropertyKey[], root: unknown): z.ZodType[] {
  let here: Any[] = alternatives(schema as Any, root);
  let value: unknown = root;
  for (const key of path) {
    value = isRecord(value) || Array.isArray(value) ? (value as Record<PropertyKey, unknown>)[key] : undefined;
    here = here.flatMap((s) => {
      const next =
        s.def.type === "object"
          ? (s.def.shape as Record<PropertyKey, Any>)[key]
          : s.def.type === "array"
            ? (s.def.element as Any)
            : s.def.type === "tuple"
              ? (s.def.items as Any[])[key as number]
              : undefined;
      return next === undefined ? [] : alternatives(next, value);
    });
  }
  return here;
}

/** Names of the fields an object at this path may have; empty where it may have any. */
export function fieldsAt(schema: z.ZodType, path: readonly PropertyKey[], root: unknown): string[] {
  const names = (schemasAt(schema, path, root) as Any[]).flatMap((s) =>
    s.def.type === "object" ? Object.keys(s.def.shape as object) : [],
  );
  return [...new Set(names)];
}

/** Number of single-letter changes between two words (Levenshtein 1966). */
export function editDistance(a: string, b: string): number {
  let row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++)
      next.push(Math.min(row[j]! + 1, next[j - 1]! + 1, row[j - 1]! + (a[i - 1] === b[j - 1] ? 0 : 1)));
    row = next;
  }
  return row[b.length]!;
}

/** The known name nearest to the one written, or null when none is near. */
export function nearestName(written: string, known: readonly string[]): string | null {
  const low = written.toLowerCase();
  let best: string | null = null;
  let least = Math.max(2, Math.floor(written.length / 3)) + 1;
  for (const name of known) {
    const d = editDistance(low, name.toLowerCase());
    if (d < least) {
      least = d;
      best = name;
    }
  }
  return best;
}
