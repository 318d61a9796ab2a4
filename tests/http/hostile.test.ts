import { readdirSync } from "node:fs";
import { connect } from "node:net";
import { join } from "node:path";
import fc from "fast-check";
import { expect, test } from "vitest";
import { temporaryFolder } from "../support/folders.ts";
import { samplePlan } from "../support/sample-plan.ts";
import { type Answer, ask, startService } from "../support/service.ts";

/** A slice of what the soak command does in full. */
const RUNS = Number(process.env.HARDSTAND_FUZZ ?? 400);
const SEED = Number(process.env.HARDSTAND_SEED ?? 20260912);

const nasty = fc.oneof(
  fc.constantFrom(
    "..",
    "../..",
    "%2e%2e%2f",
    "%00",
    "%",
    "%zz",
    "\u202e",
    "null",
    "undefined",
    "__proto__",
    "constructor",
    "-1",
    "1e999",
    "NaN",
    "0x1",
    "' OR 1=1 --",
    "<script>",
    "$(id)",
    "💣",
    " ",
    "CON",
    "a".repeat(3000),
  ),
  fc.string({ maxLength: 30 }),
  fc.double().map(String),
);
const safe = (text: string): string => {
  try {
    return encodeURIComponent(text);
  } catch {
    return "x";
  }
};

test("no address, query, header or body makes a fault, or reaches outside the data folder", {
  timeout: 120_000,
}, async () => {
  const parent = temporaryFolder();
  const s = await startService({ checkAnswers: false, dataDir: join(parent, "data") });
  const id = await s.samplePlan();
  const run = (await s.json("POST", `/api/plans/${id}/runs`, { kind: "rank" })).json.runId as string;
  await s.ended(run);
  const document = (await s.ask("GET", "/api/openapi.json")).json;
  const routes = Object.entries(document.paths as Record<string, object>).flatMap(([path, item]) =>
    Object.keys(item).map((method) => [method.toUpperCase(), path] as const),
  );
  const names = [
    "lng",
    "lat",
    "full",
    "heightM",
    "fromLng",
    "fromLat",
    "toLng",
    "toLat",
    "service",
    "point",
    "theme",
    "name",
    "replace",
    "token",
  ];
  const places = readdirSync(s.samplesDir);
  await fc.assert(
    fc.asyncProperty(
      fc.constantFrom(
        ...routes.filter(
          ([method, path]) => !(method === "DELETE" && path === "/api/plans/{id}") && !path.endsWith("/events"),
        ),
      ),
      fc.array(fc.oneof({ weight: 2, arbitrary: fc.constant("keep") }, { weight: 1, arbitrary: nasty }), {
        minLength: 5,
        maxLength: 5,
      }),
      fc.dictionary(fc.constantFrom(...names), nasty, { maxKeys: 8 }),
      fc.oneof(
        fc.jsonValue(),
        fc.constant({ plan: samplePlan("Fuzz") }),
        fc.jsonValue().map((v) => ({ plan: { ...samplePlan(), points: v } })),
        fc.jsonValue().map((v) => ({ kind: "cover", lng: 1, lat: 1, service: v, what: "loss" })),
      ),
      fc.boolean(),
      fc.constantFrom("1", "*", '"1"', "-1", "99999999999", ""),
      async ([method, template], parts, query, body, raw, match) => {
        let k = 0;
        const path = template.replaceAll(/\{(\w+)\}/g, (_, name: string) => {
          const part = parts[k++ % parts.length]!;
          if (part !== "keep") return raw ? part.replaceAll(/[^\x21-\x7e]|[?#]/g, "") : safe(part);
          return name === "id" ? (template.startsWith("/api/runs") ? run : id) : name === "layer" ? "score" : "1";
        });
        const search = Object.entries(query)
          .map(([n, v]) => `${n}=${safe(v)}`)
          .join("&");
        const withBody = method === "POST" || method === "PUT";
        let answer: Answer;
        try {
          answer = await ask(s.server.port, method, `${path}?${search}`, {
            headers: { "Content-Type": "application/json", ...(match === "" ? {} : { "If-Match": match }) },
            ...(withBody ? { body: JSON.stringify(body) } : {}),
          });
        } catch (thrown) {
          // Node's own client refuses some addresses before they are sent.
          expect(String((thrown as NodeJS.ErrnoException).code)).toMatch(/ERR_UNESCAPED_CHARACTERS|ERR_INVALID/);
          return;
        }
        expect(answer.status, `${method} ${path}?${search} ${answer.bytes.toString().slice(0, 300)}`).toBeLessThan(500);
        if (answer.status >= 400 && answer.json !== undefined) {
          expect(Object.keys(answer.json.error).sort()).toEqual(["code", "hint", "message", "received", "where"]);
          expect(answer.bytes.length).toBeLessThan(8000);
        }
      },
    ),
    { numRuns: RUNS, seed: SEED },
  );
  expect(readdirSync(parent)).toEqual(["data"]);
  expect(readdirSync(s.samplesDir)).toEqual(places);
  expect((await s.ask("GET", "/api/health")).json.ok).toBe(true);
});

test.each([
  ["deep arrays", `{"plan":${"[".repeat(300_000)}${"]".repeat(300_000)}}`, 422],
  ["deep objects", `${'{"plan":'.repeat(100_000)}1${"}".repeat(100_000)}`, 422],
  [
    "deep coordinates",
    JSON.stringify({ plan: { ...samplePlan(), points: { type: "FeatureCollection", features: [] } } }).replace(
      '"features":[]',
      `"features":${"[".repeat(100_000)}${"]".repeat(100_000)}`,
    ),
    422,
  ],
  [
    "a million features",
    JSON.stringify({
      plan: { ...samplePlan(), points: { type: "FeatureCollection", features: Array(400_000).fill(0) } },
    }),
    422,
  ],
  ["prototype keys", '{"plan":{"__proto__":{"x":1},"constructor":{"prototype":{"x":1}}}}', 422],
  ["huge number", JSON.stringify({ plan: samplePlan() }).replace('"tipHeightM":6', '"tipHeightM":1e999'), 422],
  ["not UTF-8", Buffer.from([0x7b, 0xff, 0xfe, 0x7d]), 400],
  ["two values", '{"name":"a"}{"name":"b"}', 400],
  ["array at the top", "[]", 400],
  ["nothing", "", 400],
])("a body made to hurt is turned away in order: %s", async (_, body, status) => {
  const s = await startService();
  const answer = await s.ask("POST", "/api/plans", { body, headers: { "Content-Type": "application/json" } });
  expect([answer.status, typeof answer.json.error.code]).toEqual([status, "string"]);
  expect(answer.bytes.length).toBeLessThan(4000);
  expect(({} as Record<string, unknown>).x).toBeUndefined();
  expect((await s.ask("GET", "/api/plans")).json).toEqual([]);
});

/** Sends bytes as they are and gives back the first line of the answer, or "" when the line was closed. */
const raw = (port: number, text: string): Promise<string> =>
  new Promise((resolve) => {
    let got = "";
    const socket = connect(port, "127.0.0.1", () => socket.write(text));
    socket.setTimeout(3000, () => socket.destroy());
    socket.on("data", (chunk) => {
      got += chunk.toString("latin1");
      if (got.includes("\r\n")) socket.destroy();
    });
    socket.on("error", () => {});
    socket.on("close", () => resolve(got.split("\r\n")[0]!));
  });

test("requests that are no HTTP, or two requests in one, do not get through", async () => {
  const s = await startService();
  const { port } = s.server;
  expect(await raw(port, "NONSENSE\r\n\r\n")).toContain("400");
  expect(await raw(port, `GET /api/plans HTTP/1.1\r\nHost: localhost\r\nX: ${"a".repeat(40_000)}\r\n\r\n`)).toContain(
    "431",
  );
  expect(await raw(port, "GET /api/plans HTTP/1.1\r\n\r\n")).toContain("400");
  expect(await raw(port, "GET http://evil.example/api/plans HTTP/1.1\r\nHost: evil.example\r\n\r\n")).toContain("403");
  expect(
    await raw(
      port,
      "POST /api/plans HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: 3\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
    ),
  ).toContain("400");
  expect((await s.ask("GET", "/api/health")).json.ok).toBe(true);
});
