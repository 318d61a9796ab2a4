/** One structured line. Never a token, a cookie or a body. */
export interface LogEntry {
  level: "info" | "warn" | "error";
  event: string;
  [field: string]: string | number | boolean | null;
}
export type Log = (entry: LogEntry) => void;

export const silent: Log = () => {};

/** JSON lines on a stream. */
export const logTo =
  (stream: NodeJS.WritableStream): Log =>
  (entry) => {
    stream.write(`${JSON.stringify({ time: new Date().toISOString(), ...entry })}\n`);
  };
