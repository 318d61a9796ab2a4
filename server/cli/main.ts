import { HardstandError } from "../../src/errors/index.ts";
import { VERSION } from "../version.ts";
import { type CommandSpec, helpText, type Io, readArguments } from "./arguments.ts";
import { COMMANDS } from "./commands/index.ts";

const overview = (): string =>
  [
    "hardstand: where to park a hitch-carried communications unit, why there, and how sure.",
    "",
    "Usage: hardstand <command> [arguments]",
    "",
    "Commands",
    ...COMMANDS.map((c) => `  ${c.name.padEnd(9)}${c.summary}`),
    "",
    "hardstand <command> --help tells a command's options with examples.",
    "Exit: 0 answered (also when no spot is feasible), 2 bad input, 1 fault.",
    "",
  ].join("\n");

/** Prints an error in prose or as JSON, and gives the exit code. */
function report(error: unknown, json: boolean): number {
  const e = HardstandError.from(error);
  if (json) process.stdout.write(`${JSON.stringify({ error: e.body })}\n`);
  else {
    const { message, where, received, hint } = e.body;
    const lines = [`hardstand: ${where ? `${where}: ` : ""}${message}`];
    if (received !== null) lines.push(`  received: ${received}`);
    if (hint) lines.push(`  what to do: ${hint}`);
    process.stderr.write(`${lines.join("\n")}\n`);
  }
  if (e.code === "internal" && error instanceof Error && process.env.HARDSTAND_DEBUG)
    process.stderr.write(`${error.stack}\n`);
  return e.kind === "input" ? 2 : 1;
}

async function main(argv: string[]): Promise<number> {
  const [name, ...rest] = argv;
  const json = rest.includes("--json");
  if (name === undefined || name === "--help" || name === "help") {
    process.stdout.write(overview());
    return name === undefined ? 2 : 0;
  }
  if (name === "--version") {
    process.stdout.write(`${VERSION}\n`);
    return 0;
  }
  const command: CommandSpec | undefined = COMMANDS.find((c) => c.name === name);
  const stop = new AbortController();
  process.once("SIGINT", () => stop.abort());
  process.once("SIGTERM", () => stop.abort());
  const io: Io = {
    json,
    out: (text) => void process.stdout.write(text),
    note: (text) => void process.stderr.write(text),
    signal: stop.signal,
  };
  try {
    if (!command)
      throw new HardstandError("command.usage", "there is no such command", {
        where: "command",
        received: name,
        hint: `one of: ${COMMANDS.map((c) => c.name).join(", ")}`,
      });
    const args = readArguments(command, rest);
    if (args.flag("help")) io.out(helpText(command));
    else await command.run(args, io);
    return 0;
  } catch (error) {
    return report(error, json);
  }
}

process.stdout.on("error", (e: NodeJS.ErrnoException) => {
  if (e.code === "EPIPE") process.exit(0);
});
const code = await main(process.argv.slice(2));
process.exitCode = code;
// A pool or a watcher that is still open must not keep a finished command alive; what was written has to leave first.
if (process.argv[2] !== "serve" || code !== 0)
  process.stdout.write("", () => process.stderr.write("", () => process.exit(code)));
