import { get, type IncomingMessage, request } from "node:http";
import { join } from "node:path";
import { onTestFinished } from "vitest";
import { type RunningServer, type ServerOptions, startServer } from "../../server/http/server.ts";
import type { RunStatus } from "../../src/plan/http.ts";
import { createFakeEngine, type FakeEngine } from "./fake-engine.ts";
import { samplesFolder, temporaryFolder } from "./folders.ts";

export interface Answer {
  status: number;
  headers: Record<string, string | string[] | undefined>;
  bytes: Buffer;
  // biome-ignore lint/suspicious/noExplicitAny: answers are checked by the service itself and by the tests
  json: any;
}

export interface Service {
  server: RunningServer;
  engine: FakeEngine;
  dataDir: string;
  samplesDir: string;
  /** A plain request: every header is the test's own. */
  ask(method: string, path: string, options?: AskOptions): Promise<Answer>;
  json(method: string, path: string, body: unknown, headers?: Record<string, string>): Promise<Answer>;
  /** Asks until the run has ended. */
  ended(runId: string): Promise<RunStatus>;
  samplePlan(): Promise<string>;
}
interface AskOptions {
  headers?: Record<string, string>;
  body?: string | Uint8Array;
}

export function ask(port: number, method: string, path: string, options: AskOptions = {}): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const req = request(
      { port, host: "127.0.0.1", method, path, headers: options.headers ?? {}, agent: false },
      (res) => {
        const chunks: Buffer[] = [];
        res.on("data", (chunk: Buffer) => chunks.push(chunk));
        res.on("error", reject);
        res.on("end", () => {
          const bytes = Buffer.concat(chunks);
          const isJson = String(res.headers["content-type"] ?? "").startsWith("application/json");
          resolve({
            status: res.statusCode ?? 0,
            headers: res.headers,
            bytes,
            json: isJson && bytes.length > 0 ? JSON.parse(bytes.toString("utf8")) : undefined,
          });
        });
      },
    );
    req.on("error", reject);
    req.end(options.body);
  });
}

/** A service on a free port over a fresh data folder, closed when the test ends. */
export async function startService(options: Partial<ServerOptions> & { engine?: FakeEngine } = {}): Promise<Service> {
  const engine = options.engine ?? createFakeEngine();
  const dataDir = options.dataDir ?? temporaryFolder();
  const samplesDir = options.samplesDir ?? samplesFolder();
  const server = await startServer({
    port: 0,
    clientDir: join(dataDir, "no-client"),
    version: "0.0.0-test",
    checkAnswers: true,
    ...options,
    engine,
    dataDir,
    samplesDir,
  });
  onTestFinished(() => server.close());
  const asks = (method: string, path: string, given?: AskOptions) => ask(server.port, method, path, given);
  const json = (method: string, path: string, body: unknown, headers: Record<string, string> = {}) =>
    asks(method, path, { body: JSON.stringify(body), headers: { "Content-Type": "application/json", ...headers } });
  return {
    server,
    engine,
    dataDir,
    samplesDir,
    ask: asks,
    json,
    async ended(runId) {
      for (;;) {
        const { json: status } = await asks("GET", `/api/runs/${runId}`);
        if (status.state !== "queued" && status.state !== "running") return status as RunStatus;
        await new Promise((resolve) => setTimeout(resolve, 5));
      }
    },
    async samplePlan() {
      return (await json("POST", "/api/plans", { sample: "meadow" })).json.id as string;
    },
  };
}

export interface StreamEvent {
  id: string;
  event: string;
  // biome-ignore lint/suspicious/noExplicitAny: the state of a run
  data: any;
}

/** Reads an event stream as HTML §9.2 has it; comments are kept apart. */
export function follow(port: number, path: string, headers: Record<string, string> = {}) {
  const events: StreamEvent[] = [];
  const comments: string[] = [];
  let response: IncomingMessage | null = null;
  let ended!: () => void;
  const end = new Promise<void>((resolve) => {
    ended = resolve;
  });
  const req = get({ port, host: "127.0.0.1", path, headers, agent: false }, (res) => {
    response = res;
    let text = "";
    res.setEncoding("utf8");
    res.on("data", (chunk: string) => {
      text += chunk;
      for (let at = text.indexOf("\n\n"); at >= 0; at = text.indexOf("\n\n")) {
        const block = text.slice(0, at);
        text = text.slice(at + 2);
        const fields = new Map<string, string>();
        for (const line of block.split("\n")) {
          if (line.startsWith(":")) comments.push(line.slice(1).trim());
          else fields.set(line.slice(0, line.indexOf(":")), line.slice(line.indexOf(":") + 1).trim());
        }
        if (fields.has("data"))
          events.push({ id: fields.get("id")!, event: fields.get("event")!, data: JSON.parse(fields.get("data")!) });
      }
    });
    res.on("close", ended);
  });
  req.on("error", () => ended());
  return { events, comments, end, headers: () => response?.headers, close: () => req.destroy() };
}

/** Waits until something holds. */
export async function until(holds: () => boolean | Promise<boolean>): Promise<void> {
  while (!(await holds())) await new Promise((resolve) => setTimeout(resolve, 5));
}
