import type { ErrorBody } from "../src/errors/index.ts";
import type { FileRow } from "../src/plan/http.ts";
import type {
  CellAnswer,
  CoverAnswer,
  ModelRow,
  PathAnswer,
  RankAnswer,
  SkyAnswer,
} from "../src/plan/outputs/types.ts";
import type { Plan } from "../src/plan/types.ts";
import type { Features, Ground, Health, Legend, PlanAnswer, PlanRow, Run, RunRow, Sample } from "./api-types.ts";

/** An answer of the service that says what is wrong. */
export class ApiError extends Error {
  readonly status: number;
  readonly body: ErrorBody;
  constructor(status: number, body: ErrorBody) {
    super(body.message);
    this.name = "ApiError";
    this.status = status;
    this.body = body;
  }
}
/** The service did not answer at all. */
export class GoneError extends Error {
  constructor() {
    super("No connection to the service.");
    this.name = "GoneError";
  }
}

/** Told of every request: true when the service answered, false when it did not. */
let onReach: (answered: boolean) => void = () => {};
export const watchConnection = (tell: (answered: boolean) => void): void => {
  onReach = tell;
};

interface Ask {
  method?: string;
  body?: unknown;
  headers?: Record<string, string>;
  signal?: AbortSignal | undefined;
}

async function ask(path: string, options: Ask = {}): Promise<Response> {
  const init: RequestInit = { method: options.method ?? "GET", headers: { ...options.headers } };
  if (options.signal) init.signal = options.signal;
  if (options.body !== undefined) {
    init.body = options.body instanceof Blob ? options.body : JSON.stringify(options.body);
    if (!(options.body instanceof Blob)) init.headers = { ...init.headers, "Content-Type": "application/json" };
  }
  let response: Response;
  try {
    response = await fetch(`/api${path}`, init);
  } catch (thrown) {
    if (thrown instanceof DOMException && thrown.name === "AbortError") throw thrown;
    onReach(false);
    throw new GoneError();
  }
  onReach(true);
  if (response.ok) return response;
  const fallback: ErrorBody = {
    code: "internal",
    message: `The service answered ${response.status}.`,
    where: path,
    received: null,
    hint: "Try again; if it stays, look at the service's own log.",
  };
  const parsed = await response.json().catch(() => null);
  throw new ApiError(response.status, (parsed?.error as ErrorBody | undefined) ?? fallback);
}
const json = async <T>(path: string, options?: Ask): Promise<T> => (await ask(path, options)).json() as Promise<T>;
const query = (values: Record<string, string | number | undefined>): string =>
  new URLSearchParams(
    Object.entries(values).flatMap(([k, v]) => (v === undefined ? [] : [[k, String(v)] as [string, string]])),
  ).toString();
const wait = (ms: number): Promise<void> => new Promise((done) => setTimeout(done, ms));

/** The first call builds the plan's ground; until then the service says when to come back. */
async function ground(id: string, onWait: () => void): Promise<Ground> {
  for (;;) {
    const response = await ask(`/plans/${id}/ground`);
    if (response.status !== 202) return response.json() as Promise<Ground>;
    onWait();
    await wait(Math.min(4, Number(response.headers.get("Retry-After") ?? 1)) * 1000);
  }
}

export interface CoverJob {
  lng: number;
  lat: number;
  service: string;
  need?: string | undefined;
  what: "loss" | "level" | "probability" | "visible";
}

export const api = {
  health: () => json<Health>("/health"),
  samples: () => json<Sample[]>("/samples"),
  plans: () => json<PlanRow[]>("/plans"),
  createPlan: (body: { sample: string } | { plan: Plan } | { name: string }) =>
    json<{ id: string; revision: number }>("/plans", { method: "POST", body }),
  plan: (id: string) => json<PlanAnswer>(`/plans/${id}`),
  savePlan: (id: string, revision: number, plan: Plan) =>
    json<{ revision: number }>(`/plans/${id}`, {
      method: "PUT",
      headers: { "If-Match": String(revision) },
      body: { plan },
    }),
  revision: (id: string, n: number) => json<{ revision: number; plan: Plan }>(`/plans/${id}/revisions/${n}`),
  deletePlan: (id: string) => ask(`/plans/${id}`, { method: "DELETE" }),
  ground,
  contours: (id: string) => json<Features>(`/plans/${id}/contours`),
  canopy: (id: string) => json<Features>(`/plans/${id}/canopy`),
  startRank: (id: string) => json<{ runId: string }>(`/plans/${id}/runs`, { method: "POST", body: { kind: "rank" } }),
  startCover: (id: string, job: CoverJob) =>
    json<{ runId: string }>(`/plans/${id}/runs`, { method: "POST", body: { kind: "cover", ...job } }),
  runs: (id: string) => json<RunRow[]>(`/plans/${id}/runs`),
  run: (runId: string) => json<Run>(`/runs/${runId}`),
  cancelRun: (runId: string) => ask(`/runs/${runId}`, { method: "DELETE" }),
  rankResult: (runId: string) => json<RankAnswer>(`/runs/${runId}/result`),
  coverResult: (runId: string) => json<CoverAnswer>(`/runs/${runId}/result`),
  legend: (runId: string, layer: string, theme: string) =>
    json<Legend>(`/runs/${runId}/legend/${layer}?${query({ theme })}`),
  cell: (runId: string, lng: number, lat: number, full: boolean, signal?: AbortSignal) =>
    json<CellAnswer>(`/runs/${runId}/cell?${query({ lng, lat, full: full ? 1 : undefined })}`, { signal }),
  trial: (id: string, lng: number, lat: number, signal?: AbortSignal) =>
    json<CellAnswer>(`/plans/${id}/trial?${query({ lng, lat })}`, { signal }),
  sky: (id: string, lng: number, lat: number, heightM?: number, signal?: AbortSignal) =>
    json<SkyAnswer>(`/plans/${id}/sky?${query({ lng, lat, heightM })}`, { signal }),
  path: (
    id: string,
    ends: { fromLng: number; fromLat: number; toLng: number; toLat: number; service: string; point?: string },
    signal?: AbortSignal,
  ) => json<PathAnswer>(`/plans/${id}/path?${query(ends)}`, { signal }),
  models: () => json<ModelRow[]>("/models"),
  upload: (id: string, file: File) =>
    json<unknown>(`/plans/${id}/files?${query({ name: file.name })}`, { method: "POST", body: file }),
  files: (id: string) => json<FileRow[]>(`/plans/${id}/files`),
};

/** Follows a run by server-sent events; falls back to asking each second where the stream breaks. */
export function followRun(runId: string, onRun: (run: Run) => void): () => void {
  let stopped = false;
  const source = new EventSource(`/api/runs/${runId}/events`);
  const ended = (run: Run): boolean => run.state !== "queued" && run.state !== "running";
  const stop = (): void => {
    stopped = true;
    source.close();
  };
  const take = (event: MessageEvent<string>): void => {
    if (stopped || !event.data) return;
    const run = JSON.parse(event.data) as Partial<Run>;
    if (run.runId === undefined) return;
    if (ended(run as Run)) stop();
    onRun(run as Run);
  };
  const poll = async (): Promise<void> => {
    while (!stopped) {
      const run = await api.run(runId).catch(() => null);
      if (run !== null && !stopped) {
        if (ended(run)) stop();
        onRun(run);
      }
      await wait(1000);
    }
  };
  source.addEventListener("progress", take);
  source.addEventListener("end", (event) => {
    take(event);
    if (stopped) return;
    source.close();
    void poll();
  });
  source.onerror = () => {
    if (stopped || source.readyState !== EventSource.CLOSED) return;
    void poll();
  };
  return stop;
}
