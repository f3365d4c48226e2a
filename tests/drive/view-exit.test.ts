/**
 * Real processes on a kernel pseudo-terminal: however one ends, the shell after it finds its terminal as it was; and
 * one whose terminal hangs goes on.
 */
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { spawn } from "@lydell/node-pty";
import xterm from "@xterm/headless";
import { expect, test, vi } from "vitest";

const ROOT = fileURLToPath(new URL("../../", import.meta.url));

/** Runs a process that opens a view and ends by `ending`; answers what stands on the terminal then. */
async function screenAfter(ending: string): Promise<{ text: string; isCursorShown: boolean }> {
  const program = `
    import { openView } from "./harness/drive/view.ts";
    import { CALM } from "./tests/drive/view-status.ts";
    const ask = () => undefined;
    const view = openView(process.stdin, process.stdout, { prime: ask, hold: ask, reset: ask, quit: ask });
    view.show(CALM);
    setTimeout(() => { ${ending} }, 50);
    setTimeout(() => process.exit(99), 30_000).unref();`;
  const shell = spawn(
    "/bin/sh",
    [
      "-c",
      `echo before; "$0" --import tsx --input-type module --eval "$1"; echo "status $?"; stty -a`,
      process.execPath,
      program,
    ],
    { cwd: ROOT, cols: 80, rows: 40 },
  );
  const terminal = new xterm.Terminal({ cols: 80, rows: 40, allowProposedApi: true });
  let written = "";
  shell.onData((text) => (written += text));
  await new Promise<void>((resolve) =>
    shell.onExit(() => {
      resolve();
    }),
  );
  await new Promise<void>((resolve) => {
    terminal.write(written, resolve);
  });
  const { active } = terminal.buffer;
  const text = Array.from(
    { length: active.length },
    (_, row) => active.getLine(row)?.translateToString(true) ?? "",
  );
  terminal.dispose();
  expect(written).toContain("Contacts");
  return {
    text: text.join("\n"),
    isCursorShown: written.lastIndexOf("\u001B[?25h") > written.lastIndexOf("\u001B[?25l"),
  };
}

test.each([
  ["closed, then out of work", "view.close();", "status 0", ""],
  ["process.exit", "process.exit(3)", "status 3", ""],
  [
    "an error nobody caught",
    'throw new Error("the pump fell over")',
    "status 1",
    "Error: the pump fell over",
  ],
  [
    "a rejection nobody caught",
    'void Promise.reject(new Error("the meter fell over"))',
    "status 1",
    "Error: the meter fell over",
  ],
  ["SIGTERM", 'process.kill(process.pid, "SIGTERM")', "status 143", ""],
  ["SIGINT", 'process.kill(process.pid, "SIGINT")', "status 130", ""],
  ["SIGHUP", 'process.kill(process.pid, "SIGHUP")', "status 129", ""],
])(
  "%s: text, cursor and line mode are as before, and what went wrong can be read",
  async (_, ending, status, words) => {
    const { text, isCursorShown } = await screenAfter(ending);
    expect(text).toMatch(/^before\n/);
    expect(text).toContain(status);
    expect(text).toContain(words);
    expect(text).not.toContain("Contacts");
    expect(text).toMatch(/ icanon/);
    expect(text).toMatch(/ echo\b/);
    expect(isCursorShown).toBe(true);
  },
);

test("a terminal that takes nothing, as a remote session that was cut off, holds nothing up", async () => {
  const folder = mkdtempSync(join(tmpdir(), "tallystroke-view-"));
  const file = join(folder, "turns");
  // Ends by itself after more pictures than a terminal holds unread, each with every line changed.
  const program = `
    import { writeFileSync } from "node:fs";
    import { openView } from "./harness/drive/view.ts";
    import { CALM } from "./tests/drive/view-status.ts";
    const ask = () => undefined;
    const view = openView(process.stdin, process.stdout, { prime: ask, hold: ask, reset: ask, quit: ask });
    let turns = 0;
    const timer = setInterval(() => {
      turns += 1;
      process.stdout.emit("resize");
      view.show({ ...CALM, contacts: turns });
      if (turns < 100) return;
      writeFileSync(process.env.TURNS, String(turns));
      process.exit(0);
    }, 5);`;
  const shell = spawn(process.execPath, ["--import", "tsx", "--input-type", "module", "--eval", program], {
    cwd: ROOT,
    env: { ...process.env, TURNS: file },
    cols: 80,
    rows: 40,
  });
  shell.pause();
  const ended = new Promise<void>((resolve) => {
    shell.onExit(() => {
      resolve();
    });
  });
  await vi.waitFor(
    () => {
      expect(readFileSync(file, "utf8")).toBe("100");
    },
    { timeout: 30_000, interval: 50 },
  );
  shell.resume();
  await ended;
  rmSync(folder, { recursive: true });
});

test("a terminal that is closed ends the feed in good order: no process is aborted, and the shell after it is told a status", async () => {
  const folder = mkdtempSync(join(tmpdir(), "tallystroke-view-"));
  const drive =
    'drive --meter mock --pump mock --ratio 2:1 --cap 120 --journal "$1/journal" 2> "$1/talk"; echo $? > "$1/status"';
  const shell = spawn(
    "/bin/sh",
    ["-c", `trap "" HUP; "$0" --import tsx harness/cli/main.ts ${drive}`, process.execPath, folder],
    { cwd: ROOT, cols: 80, rows: 24 },
  );
  await new Promise<void>((resolve) =>
    shell.onData((text) => {
      if (text.includes("Contacts")) resolve();
    }),
  );
  (shell as unknown as { destroy(): void }).destroy();
  await vi.waitFor(
    () => {
      expect(readFileSync(join(folder, "status"), "utf8")).toBe("2\n");
    },
    { timeout: 30_000, interval: 50 },
  );
  expect(readFileSync(join(folder, "talk"), "utf8")).not.toContain("Assertion");
  rmSync(folder, { recursive: true });
});
