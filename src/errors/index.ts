import { ERROR_CODES, type ErrorCode, type ErrorKind } from "./codes.ts";

export { ERROR_CODES, type ErrorCode, type ErrorKind };

/** The published form of an error, as `--json` and HTTP print it. */
export interface ErrorBody {
  code: ErrorCode;
  /** What is wrong, in one sentence. */
  message: string;
  /** Where: a path in the plan, a file, a flag. Empty when there is no place. */
  where: string;
  /** The value received, shortened; null when there is none. */
  received: string | null;
  /** What to do about it. */
  hint: string;
}

export interface ErrorDetails {
  where?: string;
  received?: unknown;
  hint?: string;
  cause?: unknown;
}

const RECEIVED_MAX = 120;

/** A value too deep or too tangled to be written out must not hide the error it belongs to. */
function asText(value: unknown): string {
  try {
    return JSON.stringify(value) ?? String(value);
  } catch {
    return `a value that cannot be shown (${Array.isArray(value) ? "array" : typeof value})`;
  }
}

function shorten(value: unknown): string | null {
  if (value === undefined || value === null) return null;
  const text = typeof value === "string" ? value : asText(value);
  return text.length > RECEIVED_MAX ? `${text.slice(0, RECEIVED_MAX)}…` : text;
}

/** An error with a code, a place, the value received and what to do; survives the trip between threads as its body. */
export class HardstandError extends Error {
  readonly code: ErrorCode;
  readonly body: ErrorBody;

  constructor(code: ErrorCode, message: string, details: ErrorDetails = {}) {
    super(message, details.cause === undefined ? undefined : { cause: details.cause });
    this.name = "HardstandError";
    this.code = code;
    this.body = {
      code,
      message,
      where: details.where ?? "",
      received: shorten(details.received),
      hint: details.hint ?? "",
    };
  }

  get kind(): ErrorKind {
    return ERROR_CODES[this.code];
  }

  static fromBody(body: ErrorBody): HardstandError {
    return new HardstandError(body.code, body.message, { where: body.where, received: body.received, hint: body.hint });
  }

  /** Turns anything thrown (decoders reject with plain strings) into an error of ours. */
  static from(thrown: unknown, fallback: ErrorCode = "internal"): HardstandError {
    if (thrown instanceof HardstandError) return thrown;
    const message = thrown instanceof Error ? thrown.message : String(thrown);
    return new HardstandError(fallback, message, { cause: thrown });
  }
}

/** Thrown where work was stopped on request. */
export function cancelled(what: string): HardstandError {
  return new HardstandError("run.cancelled", `${what} was cancelled`, { hint: "run it again when wanted" });
}
