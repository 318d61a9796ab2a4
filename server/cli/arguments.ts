import { parseArgs } from "node:util";
import { HardstandError } from "../../src/errors/index.ts";
import { parseCoordinate } from "../../src/geodesy/index.ts";
import type { LngLat } from "../../src/geodesy/types.ts";

export interface OptionSpec {
  name: string;
  /** How the value is written in help; absent for a flag. */
  value?: string;
  text: string;
  multiple?: boolean;
}

export interface CommandSpec {
  name: string;
  usage: string;
  summary: string;
  options: OptionSpec[];
  /** Names of positional arguments, in order; all are required. */
  positionals: string[];
  examples: string[];
  run(args: Arguments, io: Io): Promise<void>;
}

/** Where a command writes. */
export interface Io {
  json: boolean;
  out(text: string): void;
  note(text: string): void;
  signal: AbortSignal;
}

const usageError = (message: string, where: string, received?: unknown, hint = "see --help"): HardstandError =>
  new HardstandError("command.usage", message, { where, received, hint });

/** Typed look-ups over a command's parsed options. */
export class Arguments {
  constructor(
    readonly positionals: string[],
    private readonly values: Record<string, string | boolean | (string | boolean)[] | undefined>,
  ) {}

  text(name: string): string | undefined {
    const value = this.values[name];
    return typeof value === "string" ? value : undefined;
  }

  all(name: string): string[] {
    const value = this.values[name];
    return Array.isArray(value) ? value.map(String) : typeof value === "string" ? [value] : [];
  }

  flag(name: string): boolean {
    return this.values[name] === true;
  }

  required(name: string): string {
    const value = this.text(name);
    if (value === undefined) throw usageError(`--${name} is missing`, `--${name}`);
    return value;
  }

  /** A finite number within [min, max]; undefined when the option is absent. */
  number(name: string, min: number, max: number): number | undefined {
    const text = this.text(name);
    return text === undefined ? undefined : numberOf(text, `--${name}`, min, max);
  }

  place(name: string): LngLat {
    return placeOf(this.required(name), `--${name}`);
  }

  choice<T extends string>(name: string, allowed: readonly T[]): T | undefined {
    const value = this.text(name);
    if (value === undefined) return undefined;
    if (!(allowed as readonly string[]).includes(value))
      throw usageError(`--${name} takes one of ${allowed.join(", ")}`, `--${name}`, value);
    return value as T;
  }
}

export function numberOf(text: string, where: string, min: number, max: number): number {
  const value = Number(text.trim() === "" ? Number.NaN : text);
  if (!Number.isFinite(value)) throw usageError("a number is expected", where, text);
  if (value < min || value > max) throw usageError(`the number must lie from ${min} to ${max}`, where, text);
  return value;
}

/** "LNG,LAT" in decimal degrees, longitude first; any other notation the tool reads is taken too. */
export function placeOf(text: string, where: string): LngLat {
  const pair = /^\s*([-+]?\d+(?:\.\d*)?)\s*,\s*([-+]?\d+(?:\.\d*)?)\s*$/.exec(text);
  if (!pair) return parseCoordinate(text).place;
  const lng = Number(pair[1]);
  const lat = Number(pair[2]);
  if (Math.abs(lat) > 90)
    throw usageError(
      "latitude lies beyond ±90°",
      where,
      text,
      Math.abs(lng) <= 90
        ? "write longitude first, then latitude; these two look swapped"
        : "write longitude, then latitude, in degrees",
    );
  if (Math.abs(lng) > 180)
    throw usageError("longitude lies beyond ±180°", where, text, "write longitude, then latitude, in degrees");
  return { lng, lat };
}

/** Reads a command's arguments by its spec. A value may start with a minus and a digit. */
export function readArguments(spec: CommandSpec, argv: readonly string[]): Arguments {
  const options: Record<string, { type: "string" | "boolean"; multiple?: boolean }> = {
    json: { type: "boolean" },
    help: { type: "boolean" },
  };
  for (const o of spec.options)
    options[o.name] =
      o.value === undefined ? { type: "boolean" } : { type: "string", ...(o.multiple ? { multiple: true } : {}) };
  const joined: string[] = [];
  for (let i = 0; i < argv.length; i++) {
    const arg = argv[i]!;
    const next = argv[i + 1];
    if (
      arg.startsWith("--") &&
      !arg.includes("=") &&
      options[arg.slice(2)]?.type === "string" &&
      next !== undefined &&
      /^-[\d.]/.test(next)
    ) {
      joined.push(`${arg}=${next}`);
      i++;
    } else joined.push(arg);
  }
  let parsed: ReturnType<typeof parseArgs>;
  try {
    parsed = parseArgs({ args: joined, options, allowPositionals: true, strict: true });
  } catch (error) {
    const message = error instanceof Error ? error.message.split(". To specify")[0]! : String(error);
    throw usageError(message, spec.name, undefined, `usage: ${spec.usage}`);
  }
  const wanted = spec.positionals.length;
  if (parsed.positionals.length < wanted && parsed.values.help !== true)
    throw usageError(
      `${spec.positionals[parsed.positionals.length]} is missing`,
      spec.name,
      undefined,
      `usage: ${spec.usage}`,
    );
  if (parsed.positionals.length > wanted)
    throw usageError("there is one argument too many", spec.name, parsed.positionals[wanted], `usage: ${spec.usage}`);
  return new Arguments(
    parsed.positionals,
    parsed.values as Record<string, string | boolean | (string | boolean)[] | undefined>,
  );
}

export function helpText(spec: CommandSpec): string {
  const rows = [
    ...spec.options,
    { name: "json", text: "print the answer as JSON on standard output" },
    { name: "help", text: "print this" },
  ] as OptionSpec[];
  const left = rows.map((o) => `  --${o.name}${o.value ? ` ${o.value}` : ""}`);
  const width = Math.max(...left.map((l) => l.length)) + 2;
  return [
    spec.summary,
    "",
    `Usage: ${spec.usage}`,
    "",
    "Options",
    ...rows.map((o, i) => left[i]!.padEnd(width) + o.text + (o.multiple ? " (may be repeated)" : "")),
    "",
    "Examples",
    ...spec.examples.map((e) => `  ${e}`),
    "",
  ].join("\n");
}
