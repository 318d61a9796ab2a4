import express, { type Express } from "express";
import { HardstandError } from "../../src/errors/index.ts";
import type { Engine } from "../engine.ts";
import { Gate } from "../jobs/gate.ts";
import { GroundDesk } from "../jobs/ground-desk.ts";
import { RunQueue } from "../jobs/queue.ts";
import type { Disk } from "../storage/disk.ts";
import { openStore } from "../storage/folder-store.ts";
import { Gatekeeper } from "./auth.ts";
import { serveClient } from "./client.ts";
import type { Context } from "./context.ts";
import { errorHandler, unknownApiPath } from "./errors.ts";
import { type Log, silent } from "./log.ts";
import { openApiDocument } from "./openapi.ts";
import { ResultShelf } from "./result-shelf.ts";
import { type Route, register, route } from "./route.ts";
import { fileRoutes } from "./routes/files.ts";
import { groundRoutes } from "./routes/ground.ts";
import { planRoutes } from "./routes/plans.ts";
import { runRoutes } from "./routes/runs.ts";
import { spotRoutes } from "./routes/spots.ts";
import { systemRoutes } from "./routes/system.ts";
import { hostCheck, originCheck, securityHeaders } from "./security.ts";

export interface AppOptions {
  engine: Engine;
  dataDir: string;
  samplesDir: string;
  clientDir: string;
  version: string;
  log?: Log;
  /** Asked of everybody when given; the service then may listen beyond this machine. */
  token?: string | null;
  /** True (default) while the service listens on this machine only. */
  loopbackOnly?: boolean;
  /** Names the service answers to besides localhost and addresses. */
  hostNames?: readonly string[];
  /** Largest JSON body; default 12 MB. */
  jsonLimitBytes?: number;
  /** Largest file beside a plan; default 4 GB. */
  maxUploadBytes?: number;
  /** Runs that may wait; default 20. */
  mostQueued?: number;
  checkAnswers?: boolean;
  disk?: Disk;
}

export interface App {
  app: Express;
  routes: readonly Route[];
  close(): Promise<void>;
}

function notStated(path: string): HardstandError {
  return new HardstandError("http.not-found", "there is nothing at this address", { where: path.slice(0, 100) });
}

/** Opens the data folder, takes up waiting runs and builds the app; nothing listens yet. */
export async function createApp(options: AppOptions): Promise<App> {
  const log = options.log ?? silent;
  const store = await openStore({
    dataDir: options.dataDir,
    samplesDir: options.samplesDir,
    ...(options.disk === undefined ? {} : { disk: options.disk }),
  });
  const desk = new GroundDesk(options.engine, store);
  const queue = new RunQueue({ store, engine: options.engine, desk, log, mostQueued: options.mostQueued ?? 20 });
  const context: Context = {
    engine: options.engine,
    store,
    desk,
    queue,
    gate: new Gate(4, 64),
    shelf: new ResultShelf(store),
    gatekeeper: new Gatekeeper(options.token ?? null),
    log,
    version: options.version,
    maxUploadBytes: options.maxUploadBytes ?? 4 * 1024 ** 3,
  };
  const routes = [
    ...systemRoutes(context),
    ...planRoutes(context),
    ...fileRoutes(context),
    ...groundRoutes(context),
    ...runRoutes(context),
    ...spotRoutes(context),
  ];
  const withDocument = [...routes, documentRoute(routes, options.version)];

  const app = express();
  app.disable("x-powered-by");
  app.set("query parser", "simple");
  app.set("etag", false);
  app.use(securityHeaders);
  app.use(hostCheck(options.loopbackOnly ?? true, options.hostNames ?? []));
  app.use("/api", originCheck);
  const open = new Set(routes.filter((r) => r.spec.open).map((r) => r.spec.path));
  app.use("/api", (req, res, next) =>
    open.has(`/api${req.path}`) ? next() : context.gatekeeper.check(req, res, next),
  );
  register(app, withDocument, {
    jsonLimitBytes: options.jsonLimitBytes ?? 12 * 1024 ** 2,
    checkAnswers: options.checkAnswers ?? false,
  });
  app.use("/api", unknownApiPath);
  serveClient(app, options.clientDir);
  app.use((req, _res, next) => next(notStated(req.path)));
  app.use(errorHandler(log));

  await queue.start();
  return {
    app,
    routes: withDocument,
    async close() {
      await queue.close();
      await store.close();
    },
  };
}

function documentRoute(routes: readonly Route[], version: string): Route {
  let document: unknown;
  const self: Route = route(
    {
      id: "openapi",
      method: "get",
      path: "/api/openapi.json",
      tag: "service",
      summary: "This description, OpenAPI 3.1",
      answers: { 200: { description: "OpenAPI 3.1 document", type: "application/json" } },
    },
    () => {
      document ??= openApiDocument([...routes, self], version);
      return { body: document };
    },
  );
  return self;
}
