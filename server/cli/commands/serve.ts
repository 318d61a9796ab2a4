import { homedir } from "node:os";
import { join } from "node:path";
import { createEngine } from "../../engine/create.ts";
import { startServer } from "../../http/server.ts";
import { packageFolder } from "../../paths.ts";
import { VERSION } from "../../version.ts";
import type { CommandSpec } from "../arguments.ts";

/** A service without any plan starts with the demo, so that there is something to look at. */
async function seedDemo(url: string): Promise<void> {
  const plans = (await (await fetch(new URL("api/plans", url))).json()) as unknown[];
  if (!Array.isArray(plans) || plans.length > 0) return;
  await fetch(new URL("api/plans", url), {
    method: "POST",
    headers: { "content-type": "application/json", origin: new URL(url).origin },
    body: JSON.stringify({ sample: "fairground" }),
  });
}

export const serve: CommandSpec = {
  name: "serve",
  usage: "hardstand serve [--port N] [--data DIR] [--host H]",
  summary: "The service and the map client.",
  positionals: [],
  options: [
    { name: "port", value: "N", text: "port, default 4780" },
    { name: "data", value: "DIR", text: "folder of plans, runs and results, default ~/.hardstand" },
    { name: "host", value: "H", text: "address to listen on, default loopback; any other needs a token" },
    { name: "threads", value: "N", text: "worker threads, default one per core" },
  ],
  examples: ["hardstand serve", "hardstand serve --port 8080 --data ./hardstand-data"],
  async run(args, io) {
    const port = args.number("port", 0, 65_535) ?? 4780;
    const dataDir = args.text("data") ?? process.env.HARDSTAND_DATA ?? join(homedir(), ".hardstand");
    const threads = args.number("threads", 1, 64);
    const engine = createEngine(threads === undefined ? {} : { threads });
    const root = packageFolder();
    const host = args.text("host");
    const server = await startServer({
      engine,
      dataDir,
      samplesDir: join(root, "data-samples"),
      clientDir: join(root, "dist/client"),
      version: VERSION,
      port,
      ...(host === undefined ? {} : { host }),
    });
    await seedDemo(server.url);
    io.out(`Hardstand ${VERSION} at ${server.url} (data in ${dataDir})\n`);
    await new Promise<void>((resolve) => io.signal.addEventListener("abort", () => resolve(), { once: true }));
    await server.close();
    await engine.close?.();
  },
};
