import { ERROR_CODES, type ErrorCode } from "../../src/errors/index.ts";

/** Status of each error code where it is not the kind's own (input 422, fault 500). */
const STATUS: Partial<Record<ErrorCode, number>> = {
  "http.bad-request": 400,
  "plan.not-json": 400,
  "http.unauthorized": 401,
  "http.forbidden": 403,
  "http.not-found": 404,
  "http.conflict": 409,
  "http.not-ready": 409,
  "run.cancelled": 409,
  "http.too-large": 413,
  "plan.too-large": 413,
  "http.busy": 429,
  "file.write-failed": 507,
  "storage.locked": 503,
};

export const statusOf = (code: ErrorCode): number => STATUS[code] ?? (ERROR_CODES[code] === "input" ? 422 : 500);
