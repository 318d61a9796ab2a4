import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { createApp } from "../../server/http/app.ts";
import { tileOf } from "../../server/http/tiles/tile-grid.ts";
import { createFakeEngine, ORIGIN } from "../support/fake-engine.ts";
import { samplesFolder, temporaryFolder } from "../support/folders.ts";
import { type Answer, follow, startService } from "../support/service.ts";

// biome-ignore lint/suspicious/noExplicitAny: a document of any shape
type Json = any;

/** Follows `#/…` in a document. */
function resolve(document: Json, ref: string): Json {
  return ref
    .slice(2)
    .split("/")
    .reduce((at, key) => at?.[key.replaceAll("~1", "/").replaceAll("~0", "~")], document);
}

function* refs(node: Json): Generator<string> {
  if (node === null || typeof node !== "object") return;
  if (typeof node.$ref === "string") yield node.$ref;
  for (const value of Object.values(node)) yield* refs(value);
}

/**
 * The parts of JSON Schema 2020-12 that the document uses, checked on their own: a second reader beside the library that
 * wrote the document. A keyword it does not know makes it stop, so that none is passed over.
 */
function check(document: Json, schema: Json, value: Json, where: string, faults: string[]): void {
  if (schema === true || faults.length > 5) return;
  const known = [
    "$ref",
    "$schema",
    "type",
    "properties",
    "required",
    "additionalProperties",
    "items",
    "prefixItems",
    "enum",
    "const",
    "anyOf",
    "oneOf",
    "allOf",
    "minimum",
    "maximum",
    "exclusiveMinimum",
    "exclusiveMaximum",
    "minLength",
    "maxLength",
    "minItems",
    "maxItems",
    "pattern",
    "format",
    "propertyNames",
    "description",
    "label",
    "unit",
    "title",
    "default",
    "not",
    "discriminator",
    "override",
    "id",
  ];
  for (const key of Object.keys(schema))
    if (!known.includes(key)) throw new Error(`keyword ${key} at ${where} is not known to this check`);
  if (schema.$ref !== undefined) {
    check(document, resolve(document, schema.$ref), value, where, faults);
    return;
  }
  const fits = (s: Json) => {
    const inner: string[] = [];
    check(document, s, value, where, inner);
    return inner.length === 0;
  };
  const fault = (text: string) => faults.push(`${where}: ${text}`);
  if (schema.not !== undefined && fits(schema.not)) fault("not");
  if (schema.anyOf !== undefined && !schema.anyOf.some(fits)) fault("anyOf");
  if (schema.oneOf !== undefined && schema.oneOf.filter(fits).length !== 1) fault("oneOf");
  for (const each of schema.allOf ?? []) check(document, each, value, where, faults);
  if (schema.const !== undefined && value !== schema.const) fault("const");
  if (schema.enum !== undefined && !schema.enum.includes(value)) fault("enum");
  const type = value === null ? "null" : Array.isArray(value) ? "array" : typeof value;
  const types: string[] = schema.type === undefined ? [type] : [schema.type].flat();
  if (!types.includes(type) && !(type === "number" && types.includes("integer") && Number.isInteger(value))) {
    fault(`type ${type}`);
    return;
  }
  if (type === "number") {
    if (value < (schema.minimum ?? -Infinity) || value > (schema.maximum ?? Infinity)) fault("range");
    if (value <= (schema.exclusiveMinimum ?? -Infinity) || value >= (schema.exclusiveMaximum ?? Infinity))
      fault("range");
  }
  if (type === "string") {
    if (schema.pattern !== undefined && !new RegExp(schema.pattern).test(value)) fault("pattern");
    if (value.length < (schema.minLength ?? 0) || value.length > (schema.maxLength ?? Infinity)) fault("length");
  }
  if (type === "array") {
    if (value.length < (schema.minItems ?? 0) || value.length > (schema.maxItems ?? Infinity)) fault("items");
    for (const [k, each] of value.entries()) {
      const s = schema.prefixItems?.[k] ?? schema.items;
      if (s !== undefined) check(document, s, each, `${where}[${k}]`, faults);
    }
  }
  if (type === "object") {
    for (const key of schema.required ?? []) if (!(key in value)) fault(`${key} is missing`);
    for (const [key, each] of Object.entries(value)) {
      const s = schema.properties?.[key] ?? schema.additionalProperties;
      if (s === false) fault(`${key} is not stated`);
      else if (s !== undefined) check(document, s, each, `${where}.${key}`, faults);
    }
  }
}

test("every route answers what the published document says, and every route is asked", async () => {
  const s = await startService({ checkAnswers: false });
  const document: Json = (await s.ask("GET", "/api/openapi.json")).json;
  const asked = new Set<string>();
  const patterns = Object.entries(document.paths).flatMap(([path, item]) =>
    Object.keys(item as object).map((method) => ({
      path,
      method,
      match: new RegExp(`^${path.replaceAll(/[.]/g, "\\.").replaceAll(/\{\w+\}/g, "[^/]+?")}$`),
    })),
  );
  function verify(method: string, path: string, answer: Answer): Answer {
    const bare = path.split("?")[0]!;
    const found = patterns.find((p) => p.method === method.toLowerCase() && p.match.test(bare));
    if (found === undefined) throw new Error(`${method} ${bare} is not in the document`);
    const operation = document.paths[found.path][found.method];
    asked.add(operation.operationId);
    const response = operation.responses[String(answer.status)];
    expect(response, `${method} ${bare} answers ${answer.status}, which is not stated`).toBeDefined();
    const type = String(answer.headers["content-type"] ?? "").split(";")[0]!;
    if (answer.bytes.length === 0) {
      expect(response.content).toBeUndefined();
      return answer;
    }
    expect(Object.keys(response.content)).toContain(type);
    const faults: string[] = [];
    const { schema } = response.content[type];
    if (type === "application/json" && schema !== undefined)
      check(document, schema, answer.json, operation.operationId, faults);
    expect(faults).toEqual([]);
    return answer;
  }
  const ask = async (method: string, path: string, body?: unknown, headers: Record<string, string> = {}) =>
    verify(
      method,
      path,
      await (body === undefined ? s.ask(method, path, { headers }) : s.json(method, path, body, headers)),
    );

  const at = tileOf(15, ORIGIN);
  const tile = `15/${Math.floor(at.x)}/${Math.floor(at.y)}`;
  const place = `lng=${ORIGIN.lng}&lat=${ORIGIN.lat}`;
  await ask("GET", "/api/health");
  await ask("GET", "/api/session");
  await ask("POST", "/api/login", { token: "whatever" });
  await ask("DELETE", "/api/login");
  await ask("GET", "/api/openapi.json");
  await ask("GET", "/api/samples");
  await ask("GET", "/api/models");
  const { id } = (await ask("POST", "/api/plans", { sample: "meadow" })).json;
  await ask("POST", "/api/plans", { name: "Empty" });
  await ask("POST", "/api/plans", { plan: {} });
  await ask("GET", "/api/plans");
  const { plan } = (await ask("GET", `/api/plans/${id}`)).json;
  await ask("PUT", `/api/plans/${id}`, { plan }, { "If-Match": "1" });
  await ask("PUT", `/api/plans/${id}`, { plan }, { "If-Match": "1" });
  await ask("GET", `/api/plans/${id}/revisions`);
  await ask("GET", `/api/plans/${id}/revisions/1`);
  await ask("GET", `/api/plans/${id}/files`);
  verify(
    "POST",
    `/api/plans/${id}/files`,
    await s.ask("POST", `/api/plans/${id}/files?name=a.tif`, {
      body: "x",
      headers: { "Content-Type": "application/octet-stream" },
    }),
  );
  s.engine.sceneMs = 400;
  expect((await ask("GET", `/api/plans/${id}/ground`)).status).toBe(202);
  await ask("GET", `/api/plans/${id}/contours`);
  expect((await ask("GET", `/api/plans/${id}/ground`)).status).toBe(200);
  await ask("GET", `/api/plans/${id}/canopy`);
  expect((await ask("GET", `/api/plans/${id}/tiles/terrain/${tile}.png`)).status).toBe(200);
  await ask("GET", `/api/plans/${id}/tiles/terrain/15/0/0.png`);
  await ask("GET", `/api/plans/${id}/look?${place}`);
  await ask("GET", `/api/plans/${id}/sky?${place}&heightM=3`);
  await ask("GET", `/api/plans/${id}/path?fromLng=1&fromLat=1&toLng=1.01&toLat=1&service=cell`);
  await ask("GET", `/api/plans/${id}/path?fromLng=1&fromLat=1&toLng=1.01&toLat=1&service=none`);
  await ask("GET", `/api/plans/${id}/trial?${place}`);
  const { runId } = (await ask("POST", `/api/plans/${id}/runs`, { kind: "rank" })).json;
  await ask("GET", `/api/runs/${runId}`);
  const stream = follow(s.server.port, `/api/runs/${runId}/events`);
  await stream.end;
  const state = document.paths["/api/runs/{id}"].get.responses["200"].content["application/json"].schema;
  for (const event of stream.events) {
    const faults: string[] = [];
    check(document, state, event.data, "event", faults);
    expect(faults).toEqual([]);
  }
  asked.add("followRun");
  await ask("GET", `/api/plans/${id}/runs`);
  await ask("GET", `/api/runs/${runId}/result`);
  await ask("GET", `/api/runs/${runId}/legend/score`);
  await ask("GET", `/api/runs/${runId}/cell?${place}`);
  await ask("GET", `/api/runs/${runId}/cell?${place}&full=1`);
  expect((await ask("GET", `/api/runs/${runId}/tiles/score/${tile}.png`)).status).toBe(200);
  await ask("DELETE", `/api/runs/${runId}`);
  const cover = (
    await ask("POST", `/api/plans/${id}/runs`, { kind: "cover", ...ORIGIN, service: "cell", what: "level" })
  ).json;
  await s.ended(cover.runId);
  await ask("GET", `/api/runs/${cover.runId}/result`);
  await ask("GET", `/api/runs/${cover.runId}/legend/value`);
  await ask("GET", "/api/runs/none");
  await ask("DELETE", `/api/plans/${id}`);

  const all = patterns.map((p) => document.paths[p.path][p.method].operationId);
  expect([...asked].sort()).toEqual([...all].sort());
  expect(new Set(all).size).toBe(all.length);
});

test("the check itself finds faults", () => {
  const schema = {
    type: "object",
    properties: { a: { type: "integer", minimum: 1 }, b: { anyOf: [{ type: "string" }, { type: "null" }] } },
    required: ["a"],
    additionalProperties: false,
  };
  const faults = (value: unknown) => {
    const found: string[] = [];
    check({}, schema, value, "x", found);
    return found;
  };
  expect(faults({ a: 1, b: null })).toEqual([]);
  for (const bad of [{}, { a: 0 }, { a: 1.5 }, { a: 1, b: 2 }, { a: 1, c: 1 }, [], null, "x"])
    expect(faults(bad)).not.toEqual([]);
});

test("the document is OpenAPI 3.1, whole in itself, and names what guards it", async () => {
  const engine = createFakeEngine();
  const dataDir = temporaryFolder();
  const app = await createApp({ engine, dataDir, samplesDir: samplesFolder(), clientDir: dataDir, version: "1.2.3" });
  await app.close();
  const s = await startService({ dataDir: temporaryFolder() });
  const document: Json = (await s.ask("GET", "/api/openapi.json")).json;
  expect(document.openapi).toBe("3.1.0");
  expect(document.info.version).toBe("0.0.0-test");
  for (const ref of refs(document)) expect(resolve(document, ref), ref).toBeDefined();
  expect(Object.keys(document.paths).sort()).toEqual([...new Set(app.routes.map((r) => r.spec.path))].sort());
  expect(document.paths["/api/plans"].get.security).toEqual([{ cookie: [] }, { bearer: [] }]);
  expect(document.paths["/api/health"].get.security).toEqual([]);
  const look = document.paths["/api/plans/{id}/look"].get.parameters;
  expect(look.find((p: Json) => p.name === "lng")).toMatchObject({
    in: "query",
    required: true,
    schema: { type: "number", minimum: -180, maximum: 180 },
  });
  expect(look.find((p: Json) => p.name === "heightM").required ?? false).toBe(false);
  expect(document.paths["/api/plans/{id}/files"].post.requestBody.content).toHaveProperty(["application/octet-stream"]);
  // Every path parameter is stated.
  for (const [path, item] of Object.entries(document.paths) as [string, Json][])
    for (const operation of Object.values(item) as Json[])
      for (const [, name] of path.matchAll(/\{(\w+)\}/g))
        expect(
          operation.parameters.some((p: Json) => p.in === "path" && p.name === name && p.required),
          `${path} ${name}`,
        ).toBe(true);
});

test("an answer outside its schema is caught when answers are checked", async () => {
  const s = await startService();
  s.engine.models = () => [{ id: 7 }] as never;
  expect((await s.ask("GET", "/api/models")).status).toBe(500);
});

test("the answers' errors are in the table of codes", () => {
  const text = readFileSync(new URL("../../src/errors/codes.ts", import.meta.url), "utf8");
  for (const code of ["http.bad-request", "http.forbidden", "http.not-ready", "run.interrupted", "storage.locked"])
    expect(text).toContain(`"${code}"`);
});
