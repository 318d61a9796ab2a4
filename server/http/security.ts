import { isIP } from "node:net";
import type { Request, RequestHandler } from "express";
import { HardstandError } from "../../src/errors/index.ts";

/**
 * What a page of ours may do: its own scripts, styles, fonts and workers (the map's worker may come as a blob), images it
 * makes itself, and talk to this service. Nothing inline, nothing from elsewhere, no frame around it.
 */
const POLICY = [
  "default-src 'self'",
  "script-src 'self'",
  "style-src 'self'",
  "img-src 'self' data: blob:",
  "font-src 'self'",
  "connect-src 'self'",
  "worker-src 'self' blob:",
  "object-src 'none'",
  "base-uri 'none'",
  "form-action 'self'",
  "frame-ancestors 'none'",
].join("; ");

export const securityHeaders: RequestHandler = (_req, res, next) => {
  res.setHeader("Content-Security-Policy", POLICY);
  res.setHeader("X-Content-Type-Options", "nosniff");
  res.setHeader("X-Frame-Options", "DENY");
  res.setHeader("Referrer-Policy", "no-referrer");
  res.setHeader("Cross-Origin-Opener-Policy", "same-origin");
  res.setHeader("Cross-Origin-Resource-Policy", "same-origin");
  res.setHeader("Permissions-Policy", "camera=(), microphone=(), payment=(), usb=(), geolocation=(self)");
  next();
};

/** Host without port and brackets, lower case; null when it is not one. */
export function hostName(header: string | undefined): string | null {
  if (header === undefined) return null;
  const bracketed = /^\[([0-9a-fA-F:.]+)\](:\d{1,5})?$/.exec(header);
  if (bracketed !== null) return bracketed[1]!.toLowerCase();
  const plain = /^([A-Za-z0-9.-]{1,253})(:\d{1,5})?$/.exec(header);
  return plain === null ? null : plain[1]!.toLowerCase();
}

export const isLoopback = (host: string): boolean =>
  host === "localhost" || host === "::1" || (isIP(host) === 4 && host.startsWith("127."));

/**
 * Turns away requests whose Host is not this service's: a page elsewhere can point a name of its own at this machine
 * (DNS rebinding), but it cannot make the browser send another name, and a bare address is no such name.
 * @param loopbackOnly  true while the service listens on this machine only
 * @param names         further names it answers to
 */
export function hostCheck(loopbackOnly: boolean, names: readonly string[]): RequestHandler {
  const allowed = new Set(names.map((name) => name.toLowerCase()));
  return (req, _res, next) => {
    const host = hostName(req.headers.host);
    const known = host !== null && (isLoopback(host) || allowed.has(host) || (!loopbackOnly && isIP(host) !== 0));
    if (known) return next();
    next(
      new HardstandError("http.forbidden", "the service does not answer to this host name", {
        where: "Host",
        received: req.headers.host,
        hint: "use its address, or start it with this name allowed",
      }),
    );
  };
}

const SIMPLE_TYPES = /^(application\/x-www-form-urlencoded|multipart\/form-data|text\/plain)\b/i;

function sameOrigin(req: Request): boolean {
  const site = req.headers["sec-fetch-site"];
  if (site !== undefined) return site === "same-origin" || site === "none";
  const { origin } = req.headers;
  if (origin !== undefined) {
    try {
      return new URL(origin).host === req.headers.host;
    } catch {
      return false;
    }
  }
  // No browser: browsers tell their origin with every changing request from elsewhere. As a second bolt, a body must
  // have a type that a form cannot send.
  if (req.method === "DELETE") return true;
  const type = req.headers["content-type"];
  return type !== undefined && !SIMPLE_TYPES.test(type);
}

/** Turns away changing requests that a page of another origin could have caused. */
export const originCheck: RequestHandler = (req, _res, next) => {
  if (req.method === "GET" || req.method === "HEAD" || sameOrigin(req)) return next();
  next(
    new HardstandError("http.forbidden", "this request does not come from the service's own page", {
      where: "Origin",
      received: req.headers.origin ?? req.headers["content-type"] ?? "",
      hint: "from a script, send Content-Type: application/json (or application/octet-stream for files)",
    }),
  );
};
