import { connect } from "node:net";
import { expect, test } from "vitest";
import { Gatekeeper } from "../../server/http/auth.ts";
import type { LogEntry } from "../../server/http/log.ts";
import { hostName } from "../../server/http/security.ts";
import { checkReach } from "../../server/http/server.ts";
import { startService } from "../support/service.ts";

const TOKEN = "a-token-of-some-length-0123";

test.each([
  ["127.0.0.1:80", "127.0.0.1"],
  ["LocalHost", "localhost"],
  ["[::1]:8080", "::1"],
  ["evil.example:80", "evil.example"],
  ["a b", null],
  ["x:1:2", null],
  ["user@host", null],
  ["", null],
  [undefined, null],
])("host name of %s", (header, name) => expect(hostName(header)).toBe(name));

test("a foreign host name is turned away everywhere (DNS rebinding)", async () => {
  const s = await startService();
  for (const host of ["evil.example", `evil.example:${s.server.port}`, "127.0.0.1.evil.example", "192.168.1.9"])
    for (const path of ["/api/plans", "/", "/api/health"]) {
      const answer = await s.ask("GET", path, { headers: { Host: host } });
      expect([answer.status, answer.json.error.code], `${host} ${path}`).toEqual([403, "http.forbidden"]);
    }
  for (const host of ["localhost", "localhost:99", "[::1]:1", "127.0.0.1"])
    expect((await s.ask("GET", "/api/plans", { headers: { Host: host } })).status).toBe(200);
});

test("a changing request from another origin is turned away; scripts and the own page pass", async () => {
  const s = await startService();
  const post = (headers: Record<string, string>) => s.ask("POST", "/api/plans", { body: '{"name":"x"}', headers });
  const json = { "Content-Type": "application/json" };
  const own = `http://127.0.0.1:${s.server.port}`;
  expect((await post({ ...json, Origin: "http://evil.example" })).status).toBe(403);
  expect((await post({ ...json, Origin: "null" })).status).toBe(403);
  expect((await post({ ...json, "Sec-Fetch-Site": "cross-site" })).status).toBe(403);
  expect((await post({ ...json, "Sec-Fetch-Site": "same-site", Origin: own })).status).toBe(403);
  // What a form can send needs an origin of ours.
  expect((await post({ "Content-Type": "text/plain" })).status).toBe(403);
  expect((await post({ "Content-Type": "application/x-www-form-urlencoded" })).status).toBe(403);
  expect((await post({})).status).toBe(403);
  expect((await post({ ...json, Origin: own })).status).toBe(201);
  expect((await post({ ...json, "Sec-Fetch-Site": "same-origin" })).status).toBe(201);
  expect((await post(json)).status).toBe(201);
  const id = (await post(json)).json.id;
  expect((await s.ask("DELETE", `/api/plans/${id}`, { headers: { Origin: "http://evil.example" } })).status).toBe(403);
  expect((await s.ask("DELETE", `/api/plans/${id}`)).status).toBe(204);
});

test("every answer bears the headers that fence a page in, and no inline script or style is allowed", async () => {
  const s = await startService();
  for (const path of ["/api/plans", "/api/nothing", "/", "/nothing.js"]) {
    const { headers } = await s.ask("GET", path);
    const policy = String(headers["content-security-policy"]);
    expect(policy).toContain("default-src 'self'");
    expect(policy).not.toMatch(/unsafe|\*|http:|https:/);
    expect(policy).toContain("frame-ancestors 'none'");
    expect(headers["x-content-type-options"]).toBe("nosniff");
    expect(headers["x-frame-options"]).toBe("DENY");
    expect(headers["referrer-policy"]).toBe("no-referrer");
    expect(headers["access-control-allow-origin"]).toBeUndefined();
    expect(headers["x-powered-by"]).toBeUndefined();
  }
});

test("errors come as our body, without traces of the code", async () => {
  const log: LogEntry[] = [];
  const s = await startService({ log: (entry) => log.push(entry) });
  const broken = await s.ask("POST", "/api/plans", { body: "{", headers: { "Content-Type": "application/json" } });
  expect([broken.status, broken.json.error.code]).toEqual([400, "http.bad-request"]);
  const unknown = await s.ask("GET", "/api/nothing/here");
  expect([unknown.status, unknown.json.error.code]).toEqual([404, "http.not-found"]);
  const large = await s.ask("POST", "/api/plans", {
    body: " ".repeat(13 * 1024 * 1024),
    headers: { "Content-Type": "application/json" },
  });
  expect([large.status, large.json.error.code]).toEqual([413, "http.too-large"]);
  expect((await s.ask("GET", "/api/plans/%E0%A4%A/ground")).status).toBe(400);
  const id = await s.samplePlan();
  s.engine.look = () => {
    throw new Error("secret detail at /home/somebody/x.ts");
  };
  const fault = await s.ask("GET", `/api/plans/${id}/look?lng=1&lat=1`);
  expect([fault.status, fault.json.error.code]).toEqual([500, "internal"]);
  for (const answer of [broken, unknown, large, fault])
    expect(answer.bytes.toString()).not.toMatch(/secret|\\n\s+at |\.ts|node_modules/);
  const entry = log.find((e) => e.event === "fault");
  expect(entry?.message).toContain("secret detail");
  expect(entry?.reference).toBe(fault.json.error.received);
});

test.each([
  ["GET /api/plans/x/look?lng=&lat=1", "query lng"],
  ["GET /api/plans/x/look?lng=181&lat=1", "query lng"],
  ["GET /api/plans/x/look?lng=1", "query lat"],
  ["GET /api/plans/x/look?lng=1&lat=NaN", "query lat"],
  ["GET /api/plans/x/look?lng=1&lat=0x10", "query lat"],
  ["GET /api/plans/x/sky?lng=1&lat=1&height=3", "query height"],
  ["GET /api/plans/x/path?fromLng=1&fromLat=1&toLng=1&toLat=1", "query service"],
  ["GET /api/plans/x/tiles/terrain/1.5/0/0.png", "path z"],
  ["GET /api/plans/x/tiles/terrain/99/0/0.png", "path z"],
])("%s says which input is wrong", async (line, where) => {
  const s = await startService();
  const [method, path] = line.split(" ");
  const answer = await s.ask(method!, path!);
  expect([answer.status, answer.json.error.where]).toEqual([400, where]);
});

test("beyond this machine only with a token, and a token worth the name", async () => {
  checkReach("127.0.0.1", null);
  checkReach("localhost", undefined);
  checkReach("::1", null);
  checkReach("0.0.0.0", TOKEN);
  for (const [host, token] of [
    ["0.0.0.0", null],
    ["192.168.1.4", undefined],
    ["::", null],
    ["example.org", null],
    ["127.0.0.1", "short"],
    ["0.0.0.0", ""],
  ] as const)
    expect(() => checkReach(host, token)).toThrow(expect.objectContaining({ code: "command.usage" }));
  await expect(startService({ host: "0.0.0.0" })).rejects.toMatchObject({ code: "command.usage" });
});

test("with a token: nothing without it, a cookie for it, the page stays reachable, and the log never has it", async () => {
  const log: LogEntry[] = [];
  const s = await startService({ token: TOKEN, host: "0.0.0.0", log: (entry) => log.push(entry) });
  for (const path of ["/api/plans", "/api/openapi.json", "/api/runs/abcd/events", "/api/models", "/api/nothing"])
    expect((await s.ask("GET", path)).status, path).toBe(401);
  expect((await s.ask("GET", "/api/health")).status).toBe(200);
  expect((await s.ask("GET", "/api/session")).json).toEqual({ tokenNeeded: true, signedIn: false });
  expect((await s.json("POST", "/api/login", { token: `${TOKEN}x` })).status).toBe(401);
  const login = await s.json("POST", "/api/login", { token: TOKEN });
  expect(login.status).toBe(200);
  const set = String(login.headers["set-cookie"]);
  expect(set).toMatch(/^hardstand=[\w-]{43}; Path=\/; Max-Age=43200; HttpOnly; SameSite=Strict$/);
  expect(set).not.toContain(TOKEN);
  const Cookie = set.split(";")[0]!;
  expect((await s.ask("GET", "/api/plans", { headers: { Cookie } })).status).toBe(200);
  expect((await s.ask("GET", "/api/session", { headers: { Cookie } })).json.signedIn).toBe(true);
  expect((await s.ask("GET", "/api/plans", { headers: { Cookie: `${Cookie}x` } })).status).toBe(401);
  expect((await s.ask("GET", "/api/plans", { headers: { Authorization: `Bearer ${TOKEN}` } })).status).toBe(200);
  expect((await s.ask("GET", `/api/plans?token=${TOKEN}`)).status).toBe(401);
  expect((await s.ask("DELETE", "/api/login", { headers: { Cookie } })).status).toBe(204);
  expect((await s.ask("GET", "/api/plans", { headers: { Cookie } })).status).toBe(401);
  // An address on the network is no name that a foreign page could have pointed here.
  expect((await s.ask("GET", "/api/session", { headers: { Host: "192.168.1.9:80" } })).status).toBe(200);
  expect((await s.ask("GET", "/api/session", { headers: { Host: "evil.example" } })).status).toBe(403);
  expect(JSON.stringify(log)).not.toContain(TOKEN);
});

test("tokens cannot be tried without end", async () => {
  const s = await startService({ token: TOKEN });
  const statuses: number[] = [];
  for (let i = 0; i < 12; i++) statuses.push((await s.json("POST", "/api/login", { token: `guess-${i}` })).status);
  expect(statuses).toEqual([...Array(10).fill(401), 429, 429]);
  expect((await s.json("POST", "/api/login", { token: TOKEN })).status).toBe(429);
});

test("a session ends by itself", () => {
  let now = 0;
  const keeper = new Gatekeeper(TOKEN, () => now);
  const headers: Record<string, string> = {};
  const req = { headers: {} as Record<string, string>, socket: { remoteAddress: "::1" }, secure: true };
  keeper.login(req as never, { setHeader: (n: string, v: string) => (headers[n] = v) } as never, TOKEN);
  expect(headers["Set-Cookie"]).toMatch(/; Secure$/);
  req.headers.cookie = `other=1; ${headers["Set-Cookie"]!.split(";")[0]}`;
  expect(keeper.signedIn(req as never)).toBe(true);
  now += 12 * 3600_000 + 1;
  expect(keeper.signedIn(req as never)).toBe(false);
});

test("an upload broken off leaves nothing behind", async () => {
  const s = await startService();
  const id = await s.samplePlan();
  const before = (await s.ask("GET", `/api/plans/${id}/files`)).json.length;
  await new Promise<void>((resolve) => {
    const socket = connect(s.server.port, "127.0.0.1", () => {
      socket.write(
        `POST /api/plans/${id}/files?name=cut.tif HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/octet-stream\r\nContent-Length: 1000\r\n\r\n${"x".repeat(400)}`,
      );
      setTimeout(() => socket.destroy(), 50);
    });
    socket.on("close", () => setTimeout(resolve, 100));
  });
  expect((await s.ask("GET", `/api/plans/${id}/files`)).json).toHaveLength(before);
  const { readdirSync } = await import("node:fs");
  expect(readdirSync(`${s.dataDir}/passing`)).toEqual([]);
});
