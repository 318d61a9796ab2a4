import { existsSync } from "node:fs";
import { join } from "node:path";
import express, { type Express } from "express";

const HASHED = /[.-][A-Za-z0-9_-]{8,}\.(js|mjs|css|woff2?|svg|png|wasm)$/;

/**
 * Serves the built client. Files whose name bears a hash never change and are kept for good; the page itself is asked
 * for anew each time, so that an old page never looks for files that a new build has removed.
 */
export function serveClient(app: Express, clientDir: string): void {
  if (!existsSync(join(clientDir, "index.html"))) {
    app.get("/", (_req, res) => {
      res.status(503).type("text").send("The map client is not built. Run: npm run build\n");
    });
    return;
  }
  app.use(
    express.static(clientDir, {
      index: "index.html",
      redirect: false,
      dotfiles: "ignore",
      setHeaders(res, path) {
        const keep = path.includes(`${join(clientDir, "assets")}`) && HASHED.test(path);
        res.setHeader("Cache-Control", keep ? "public, max-age=31536000, immutable" : "no-cache");
      },
    }),
  );
  // Paths of the client itself (/plans/…) are the page; anything with an ending is a file that is not there.
  app.get("/{*path}", (req, res, next) => {
    if (/\.\w+$/.test(req.path)) return next();
    res.setHeader("Cache-Control", "no-cache");
    res.sendFile("index.html", { root: clientDir });
  });
}
