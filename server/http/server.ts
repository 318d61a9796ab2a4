import { createServer, type Server } from "node:http";
import type { AddressInfo } from "node:net";
import { HardstandError } from "../../src/errors/index.ts";
import { type AppOptions, createApp } from "./app.ts";
import { TOKEN_LEAST } from "./auth.ts";
import { isLoopback } from "./security.ts";

const LAST_MOMENT_MS = 500;

export interface ServerOptions extends Omit<AppOptions, "loopbackOnly"> {
  /** 0 takes a free one. */
  port: number;
  /** Default 127.0.0.1. Anything that is not this machine needs a token. */
  host?: string;
}

export interface RunningServer {
  url: string;
  port: number;
  server: Server;
  /** Lets answers under way end (half a second), stops runs and closes the data folder. */
  close(): Promise<void>;
}

/** Refuses to listen beyond this machine without a token worth the name. */
export function checkReach(host: string, token: string | null | undefined): void {
  if (token !== null && token !== undefined && token.length < TOKEN_LEAST)
    throw new HardstandError("command.usage", `the token is shorter than ${TOKEN_LEAST} characters`, {
      where: "token",
      hint: "make one with: openssl rand -base64 24",
    });
  if (isLoopback(host.toLowerCase()) || (token !== null && token !== undefined)) return;
  throw new HardstandError("command.usage", "listening beyond this machine needs a token", {
    where: "--host",
    received: host,
    hint: "set HARDSTAND_TOKEN to a long random text first, or leave --host out",
  });
}

/**
 * Starts the service.
 * @throws command.usage when the host needs a token or the port is taken; what opening the data folder throws
 */
export async function startServer(options: ServerOptions): Promise<RunningServer> {
  const host = options.host ?? "127.0.0.1";
  checkReach(host, options.token);
  const { app, close } = await createApp({ ...options, loopbackOnly: isLoopback(host.toLowerCase()) });
  const server = createServer({ requestTimeout: 0, headersTimeout: 20_000, maxHeaderSize: 16 * 1024 }, app);
  // Uploads may take long; a client that sends nothing at all may not.
  server.setTimeout(120_000);
  try {
    await new Promise<void>((resolve, reject) => {
      server.once("error", reject);
      server.listen(options.port, host, resolve);
    });
  } catch (thrown) {
    await close();
    const { code } = thrown as NodeJS.ErrnoException;
    throw new HardstandError(
      "command.usage",
      code === "EADDRINUSE" ? "the port is taken" : "the service cannot listen there",
      {
        where: "--port",
        received: `${host}:${options.port}`,
        hint: "choose another with --port",
        cause: thrown,
      },
    );
  }
  const { port } = server.address() as AddressInfo;
  return {
    url: `http://${host.includes(":") ? `[${host}]` : host}:${port}/`,
    port,
    server,
    async close() {
      const ended = new Promise<void>((resolve) => server.close(() => resolve()));
      server.closeIdleConnections();
      await close();
      // Event streams never end by themselves; whatever is still under way gets a moment.
      const late = setTimeout(() => server.closeAllConnections(), LAST_MOMENT_MS);
      await ended;
      clearTimeout(late);
    },
  };
}
