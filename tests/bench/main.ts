import { spawn, spawnSync } from "node:child_process";
import { copyFileSync, existsSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { projectRoot, sharedFolder } from "../support/tools.ts";
import { hoodPlan } from "./hood-plan.ts";

/** `npm run bench [-- part …]`: prints the speed tables. Timings depend on what else the machine does; look at ratios. */
const entry = join(projectRoot, "dist/server/main.mjs");
const ROUNDS = 3;

interface Timed {
  wallS: number;
  rssMb: number;
}

/** One command of the built entry: wall time and greatest resident memory. */
function timed(args: string[]): Timed {
  const script = `
    const { spawnSync } = require("node:child_process");
    const t = performance.now();
    const r = spawnSync(process.execPath, ${JSON.stringify([entry, ...args])}, { stdio: "ignore" });
    if (r.status !== 0) process.exit(1);
    console.log(JSON.stringify({ wallS: (performance.now() - t) / 1000 }));`;
  const done = spawnSync("/usr/bin/env", ["sh", "-c", 'ulimit -c 0; exec "$0" -e "$1"', process.execPath, script], {
    encoding: "utf8",
  });
  if (done.status !== 0) throw new Error(`hardstand ${args.join(" ")} did not answer`);
  const rss = spawnSync(
    "/usr/bin/python3",
    [
      "-c",
      `import resource,subprocess,sys;subprocess.run(sys.argv[1:],stdout=subprocess.DEVNULL,stderr=subprocess.DEVNULL);print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss/1024)`,
      process.execPath,
      entry,
      ...args,
    ],
    { encoding: "utf8" },
  );
  return {
    wallS: (JSON.parse(done.stdout) as { wallS: number }).wallS,
    rssMb: rss.status === 0 ? Number(rss.stdout) : Number.NaN,
  };
}

const median = (values: number[]): number => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)]!;

function row(name: string, args: string[], rounds = ROUNDS): string {
  const runs = Array.from({ length: rounds }, () => timed(args));
  return `| ${name} | ${median(runs.map((r) => r.wallS)).toFixed(2)} | ${Math.max(...runs.map((r) => r.rssMb)).toFixed(0)} |`;
}

async function startToAnswer(): Promise<number> {
  const data = mkdtempSync(join(tmpdir(), "hs-bench-"));
  const began = performance.now();
  const child = spawn(
    process.execPath,
    [join(projectRoot, "server/cli/launch.mjs"), "serve", "--port", "0", "--data", data],
    { stdio: ["ignore", "pipe", "ignore"] },
  );
  const url = await new Promise<string>((resolve) => {
    let said = "";
    child.stdout.on("data", (d: Buffer) => {
      said += d.toString();
      const found = /http:\/\/127\.0\.0\.1:\d+\//.exec(said);
      if (found) resolve(found[0]);
    });
  });
  await (await fetch(url)).text();
  const took = (performance.now() - began) / 1000;
  child.kill("SIGTERM");
  await new Promise((done) => child.once("exit", done));
  rmSync(data, { recursive: true, force: true });
  return took;
}

async function mainJob(): Promise<string> {
  const lines = [
    "Main job (built entry, rasters from cache, median of 3)",
    "",
    "| what | wall s | most memory MB |",
    "|---|---|---|",
  ];
  const demo = join(projectRoot, "data-samples/fairground/fairground.plan.json");
  timed(["models"]);
  lines.push(row("rank, fairground demo, 1 m, 14 points", ["rank", demo]));
  lines.push(
    row("cover probability, fairground demo", [
      "cover",
      demo,
      "--at",
      "-98.4971,41.6378",
      "--service",
      "cell",
      "--what",
      "probability",
      "--out",
      join(tmpdir(), "hs-bench-cover.tif"),
    ]),
  );
  const shared = sharedFolder();
  if (shared === null) lines.push("| rank, all of Mt Hood | missing: reference rasters | |");
  else {
    const folder = mkdtempSync(join(tmpdir(), "hs-hood-"));
    copyFileSync(join(shared, "terrain/mt_hood_elev_30m_utm10.tif"), join(folder, "hood.tif"));
    writeFileSync(join(folder, "hood.plan.json"), JSON.stringify(hoodPlan("hood.tif")));
    lines.push(row("rank, all of Mt Hood (0.75 M cells of 30 m), 20 points", ["rank", join(folder, "hood.plan.json")]));
    rmSync(folder, { recursive: true, force: true });
  }
  const starts = [];
  for (let i = 0; i < ROUNDS; i++) starts.push(await startToAnswer());
  lines.push(`| start on a built tree until the page answers | ${median(starts).toFixed(2)} | |`);
  return lines.join("\n");
}

const PARTS: Record<string, () => Promise<string>> = {
  rank: mainJob,
  sweeps: async () => (await import("./sweeps.ts")).benchSweeps(),
  reader: async () => (await import("./reader.ts")).benchReader(),
  propagation: async () => (await import("./propagation.ts")).benchPropagation(),
};

const asked = process.argv.slice(2);
if (!existsSync(entry)) throw new Error("there is no build; run `npm run build` first");
for (const name of asked.length > 0 ? asked : Object.keys(PARTS)) {
  const part = PARTS[name];
  console.log(part ? `${await part()}\n` : `there is no part ${name}; parts are ${Object.keys(PARTS).join(", ")}\n`);
}
