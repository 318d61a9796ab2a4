import { createHash, randomBytes, timingSafeEqual } from "node:crypto";
import type { Request, RequestHandler, Response } from "express";
import { HardstandError } from "../../src/errors/index.ts";

const COOKIE = "hardstand";
const SESSION_MS = 12 * 3600_000;
const TRIES_PER_MINUTE = 10;
export const TOKEN_LEAST = 16;

const digest = (text: string): Buffer => createHash("sha256").update(text).digest();

/** Compares in a time that does not depend on where they differ; lengths are hidden by comparing digests. */
const equal = (a: string, b: string): boolean => timingSafeEqual(digest(a), digest(b));

function cookieOf(req: Request): string | null {
  for (const part of (req.headers.cookie ?? "").split(";")) {
    const at = part.indexOf("=");
    if (at > 0 && part.slice(0, at).trim() === COOKIE) return part.slice(at + 1).trim();
  }
  return null;
}

const unauthorized = (message: string, hint: string) =>
  new HardstandError("http.unauthorized", message, { where: "token", hint });

/**
 * One token lets in. It is handed over once, in the body of a login; from then on a cookie that scripts cannot read
 * carries a random session name. Scripts may send the token as a bearer header instead. It is never part of a URL and
 * never logged.
 */
export class Gatekeeper {
  readonly #token: string | null;
  readonly #sessions = new Map<string, number>();
  readonly #tries = new Map<string, { count: number; since: number }>();
  readonly #now: () => number;

  constructor(token: string | null, now: () => number = Date.now) {
    this.#token = token;
    this.#now = now;
  }

  get tokenNeeded(): boolean {
    return this.#token !== null;
  }

  signedIn(req: Request): boolean {
    if (this.#token === null) return true;
    const bearer = /^Bearer (.+)$/.exec(req.headers.authorization ?? "");
    if (bearer !== null) return this.#try(req, bearer[1]!);
    const session = cookieOf(req);
    if (session === null) return false;
    // The key is a digest, so that looking it up tells nothing about the sessions there are.
    const until = this.#sessions.get(digest(session).toString("hex"));
    return until !== undefined && until > this.#now();
  }

  #try(req: Request, token: string): boolean {
    const from = req.socket.remoteAddress ?? "";
    const now = this.#now();
    const seen = this.#tries.get(from);
    const tries = seen === undefined || now - seen.since > 60_000 ? { count: 0, since: now } : seen;
    if (tries.count >= TRIES_PER_MINUTE)
      throw new HardstandError("http.busy", "too many wrong tokens from this address", {
        where: "token",
        hint: "wait a minute",
      });
    const right = this.#token !== null && equal(token, this.#token);
    if (right) this.#tries.delete(from);
    else {
      tries.count++;
      this.#tries.set(from, tries);
      if (this.#tries.size > 10_000) this.#tries.clear();
    }
    return right;
  }

  login(req: Request, res: Response, token: string): void {
    if (this.#token === null) return;
    if (!this.#try(req, token))
      throw unauthorized("this token is not the service's", "look it up where the service was started");
    const now = this.#now();
    for (const [key, until] of this.#sessions) if (until <= now) this.#sessions.delete(key);
    const session = randomBytes(32).toString("base64url");
    this.#sessions.set(digest(session).toString("hex"), now + SESSION_MS);
    res.setHeader("Set-Cookie", this.#cookie(req, session, SESSION_MS / 1000));
  }

  logout(req: Request, res: Response): void {
    const session = cookieOf(req);
    if (session !== null) this.#sessions.delete(digest(session).toString("hex"));
    res.setHeader("Set-Cookie", this.#cookie(req, "", 0));
  }

  #cookie(req: Request, value: string, seconds: number): string {
    return `${COOKIE}=${value}; Path=/; Max-Age=${seconds}; HttpOnly; SameSite=Strict${req.secure ? "; Secure" : ""}`;
  }

  readonly check: RequestHandler = (req, _res, next) => {
    if (this.signedIn(req)) return next();
    throw unauthorized(
      "this service asks for its token",
      "sign in with POST /api/login, or send Authorization: Bearer",
    );
  };
}
