import { PassThrough } from "node:stream";
import type { ReadStream, WriteStream } from "node:tty";
import xterm from "@xterm/headless";
import { describe, expect, onTestFinished, test } from "vitest";
import type { DriveStatus } from "../../harness/drive/status.js";
import { viewLines } from "../../harness/drive/view-lines.js";
import { canView, openView, type View } from "../../harness/drive/view.js";
import { ALARMS } from "../../lib/pacing/index.js";
import { CALM } from "./view-status.js";

interface Window {
  readonly view: View;
  /** What was asked of the feed, in order. */
  readonly asked: string[];
  readonly modes: boolean[];
  readonly isPaused: () => boolean;
  /** Whether writers wait for the terminal, each time that was set. */
  readonly waits: boolean[];
  readonly press: (keys: string) => void;
  readonly hangUp: () => void;
  readonly resize: (columns: number, rows: number) => void;
  /** Every row of the window as it stands, and what was written since this was last asked. */
  readonly look: () => Promise<{ rows: string[]; written: string; scrolledRows: number }>;
}

/** A view in a terminal without a window. */
function open(columns: number, rows: number, hasColour = false): Window {
  const terminal = new xterm.Terminal({ cols: columns, rows, allowProposedApi: true });
  terminal.write("before the view\r\n");
  let written = "";
  const waits: boolean[] = [];
  const stdout = Object.assign(new PassThrough(), {
    _handle: { setBlocking: (isBlocking: boolean) => void waits.push(isBlocking) },
    columns,
    rows,
    isTTY: true,
    hasColors: () => hasColour,
  });
  stdout.on("data", (bytes: Buffer) => {
    written += bytes.toString();
    terminal.write(bytes);
  });
  const asked: string[] = [];
  const modes: boolean[] = [];
  const stdin = Object.assign(new PassThrough(), {
    isTTY: true,
    setRawMode: (isRaw: boolean) => void modes.push(isRaw),
  });
  const view = openView(stdin as unknown as ReadStream, stdout as unknown as WriteStream, {
    prime: () => void asked.push("prime"),
    hold: (on) => void asked.push(on ? "hold" : "go on"),
    reset: () => void asked.push("reset"),
    quit: () => void asked.push("quit"),
  });
  onTestFinished(() => {
    view.close();
    terminal.dispose();
  });
  return {
    view,
    asked,
    modes,
    waits,
    isPaused: () => stdin.isPaused(),
    press: (keys) => void stdin.emit("data", Buffer.from(keys)),
    hangUp: () => void stdin.emit("end"),
    resize(nextColumns, nextRows) {
      terminal.resize(nextColumns, nextRows);
      Object.assign(stdout, { columns: nextColumns, rows: nextRows });
      stdout.emit("resize");
    },
    async look() {
      await new Promise<void>((resolve) =>
        setImmediate(() => {
          terminal.write("", resolve);
        }),
      );
      const { active } = terminal.buffer;
      const since = written;
      written = "";
      return {
        rows: Array.from(
          { length: terminal.rows },
          (_, row) => active.getLine(row)?.translateToString(true) ?? "",
        ),
        written: since,
        scrolledRows: active.baseY,
      };
    },
  };
}

const WRONG: DriveStatus = { ...CALM, alarms: ALARMS, held: true, tripped: true };
const HIDE = "\u001B[?25l";
const SHOW = "\u001B[?25h";

function expected(status: DriveStatus, columns: number, rows: number, isLeaving = false): string[] {
  return viewLines(status, { columns, rows }, isLeaving).map(({ text }) => text.trimEnd());
}

describe.each([
  [80, 24],
  [40, 15],
  [40, 10],
  [13, 3],
])("in %d columns and %d rows", (columns, rows) => {
  test("the window holds the lines and nothing else, whatever stood there before, and never scrolls", async () => {
    const { view, look } = open(columns, rows, true);
    for (const status of [CALM, WRONG, { ...CALM, contacts: Number.MAX_SAFE_INTEGER }, CALM]) {
      view.show(status);
      const seen = await look();
      expect(seen.rows).toEqual(expected(status, columns, rows));
      expect(seen.scrolledRows).toBe(0);
    }
  });
});

test("only the lines that changed are written, in one piece, and nothing where nothing changed", async () => {
  const { view, look } = open(80, 24);
  view.show(CALM);
  await look();
  view.show({ ...CALM });
  expect((await look()).written).toBe("");
  view.show({ ...CALM, contacts: 1_235 });
  const { written } = await look();
  expect(written).toContain("1,235");
  expect(written).not.toContain("Strokes");
  expect(written).not.toContain("\u001B[2J");
  expect(written.match(/\u001B\[\d+;\d+H/g)).toHaveLength(1);
});

test("a line as wide as the window is not followed by an erasure, which could take its last column", async () => {
  const { view, look } = open(80, 24);
  view.show(CALM);
  expect((await look()).written).toContain("reckoned, not\u001B[12;1H");
});

test("another size of the window is drawn at once, without a further status", async () => {
  const { view, look, resize } = open(80, 24);
  view.show(WRONG);
  for (const [columns, rows] of [
    [40, 15],
    [120, 50],
    [20, 5],
  ] as const) {
    resize(columns, rows);
    expect((await look()).rows).toEqual(expected(WRONG, columns, rows));
  }
});

test("after the view the terminal is as it was: text, cursor, wrapping, keys", async () => {
  const { view, look, modes, waits, isPaused } = open(80, 24);
  view.show(CALM);
  const during = await look();
  expect(during.written).toContain(HIDE);
  expect(during.written).not.toContain(SHOW);
  view.close();
  const after = await look();
  expect(after.rows.filter(Boolean)).toEqual(["before the view"]);
  expect(after.written).toContain(SHOW);
  expect(after.written).toContain("\u001B[?7h");
  expect(modes).toEqual([true, false]);
  expect(waits).toEqual([false, true]);
  expect(isPaused()).toBe(true);
  view.close();
  view.show(WRONG);
  expect((await look()).written).toBe("");
});

test("without colours, as NO_COLOR asks, no colour is written; with them, every word is the same", async () => {
  const colour = /\u001B\[(?:\d+;)*(?:3[0-7]|9[0-7]|4[0-7])m/;
  const [plain, coloured] = [open(80, 24, false), open(80, 24, true)];
  for (const { view } of [plain, coloured]) view.show(WRONG);
  const [seenPlain, seenColoured] = [await plain.look(), await coloured.look()];
  expect(seenPlain.written).not.toMatch(colour);
  expect(seenColoured.written).toMatch(colour);
  expect(seenColoured.rows).toEqual(seenPlain.rows);
});

test.each<[string, string, readonly string[]]>([
  ["p, each time it repeats", "ppp", ["prime", "prime", "prime"]],
  ["h, however often it repeats", "hhh", ["hold", "hold", "hold"]],
  ["g", "g", ["go on"]],
  ["r", "r", ["reset"]],
  ["capitals as well", "PHGR", ["prime", "hold", "go on", "reset"]],
  ["q alone", "q", []],
  ["q and y", "qy", ["quit"]],
  ["q, and q again", "qqq", []],
  ["q and another key, which acts", "qh", ["hold"]],
  ["q, a key that does nothing, then y", "q7y", []],
  ["y alone", "y", []],
  ["nothing after the end was asked for", "qypqyh", ["quit"]],
  ["Ctrl-C at once", "\u0003", ["quit"]],
  ["Ctrl-P and Alt-P", "\u0010\u001Bp", []],
  ["arrows and other letters", "\u001B[A\u001B[15~xyz", []],
  ["text that is pasted", "\u001B[200~hp qy\u0003 r\u001B[201~g", ["go on"]],
])("keys: %s", (_, keys, wanted) => {
  const { press, asked } = open(80, 24);
  for (const key of keys.match(/\u001B\[?[\d;]*[A-Za-z~]|./gsu) ?? []) press(key);
  expect(asked).toEqual(wanted);
});

test("the question before the end is drawn when q is pressed, and goes with any other key", async () => {
  const { view, press, look } = open(80, 24);
  view.show(CALM);
  press("q");
  expect((await look()).rows).toEqual(expected(CALM, 80, 24, true));
  press("n");
  expect((await look()).rows).toEqual(expected(CALM, 80, 24));
});

test("Ctrl-L draws every line anew", async () => {
  const { view, press, look } = open(80, 24);
  view.show(CALM);
  await look();
  press("\u000C");
  expect((await look()).written).toContain("Contacts");
});

test("a terminal that has gone ends the feed, once", () => {
  const { asked, hangUp } = open(80, 24);
  hangUp();
  hangUp();
  expect(asked).toEqual(["quit"]);
});

test.each([
  ["both ends at a terminal", true, true, "xterm-256color", true],
  ["no TERM told", true, true, undefined, true],
  ["keys from a file", false, true, "xterm", false],
  ["lines to a file", true, false, "xterm", false],
  ["a terminal that cannot move its cursor", true, true, "dumb", false],
])("whether a view can be had: %s", (_, inIsTerminal, outIsTerminal, term, can) => {
  expect(canView({ isTTY: inIsTerminal }, { isTTY: outIsTerminal }, term)).toBe(can);
});
