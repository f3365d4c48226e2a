/**
 * Is the session by hand in LINK.md what a device answers that was written from that page alone? And does that device
 * keep to the page's rules for numbers, checks and lines that cannot be used?
 */
import { spawn } from "node:child_process";
import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { CONTROLLER } from "./pty.js";

const PAGE = readFileSync(new URL("../../harness/link/LINK.md", import.meta.url), "utf8");
const ANSWER_MILLIS = 10_000;

/** CRC-16/IBM-3740, bit by bit. */
function crc(text: string): string {
  let c = 0xffff;
  for (const byte of Buffer.from(text, "latin1")) {
    c ^= byte << 8;
    for (let bit = 0; bit < 8; bit++) c = ((c << 1) ^ ((c & 0x8000) === 0 ? 0 : 0x1021)) & 0xffff;
  }
  return c.toString(16).toUpperCase().padStart(4, "0");
}

const checked = (text: string): string => `${text}*${crc(text)}`;

/** All lines that the controller says to `lines`, till it ends as its input does. */
function converse(lines: readonly string[]): Promise<string[]> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [CONTROLLER], { timeout: ANSWER_MILLIS, killSignal: "SIGKILL" });
    let said = "";
    child.stdout.setEncoding("latin1").on("data", (piece: string) => (said += piece));
    child.on("error", reject);
    child.on("close", () => {
      resolve(said.split("\n").slice(0, -1));
    });
    child.stdin.end(Buffer.from(lines.map((line) => `${line}\n`).join(""), "latin1"));
  });
}

test("the session by hand in LINK.md is true to the byte", async () => {
  const session = /```\n(< boot[^`]*)```/.exec(PAGE)?.[1]?.trim().split("\n") ?? [];
  const typed = session.filter((line) => line.startsWith("> ")).map((line) => line.slice(2));
  const answers = session.filter((line) => line.startsWith("< ")).map((line) => line.slice(2));
  const said = await converse(typed);
  const greeting = said.filter((line) => / is /.test(line));
  expect(greeting).toHaveLength(16);
  expect(said.filter((line) => line === greeting[0] || !greeting.includes(line))).toEqual(answers);
  expect(said.map((line) => checked(line.slice(0, -5)))).toEqual(said);
});

test("a line that cannot be used is named and uses up no number, and a repetition is answered and not done again", async () => {
  const said = await converse([
    "set strokes 2", // typed: fine so far
    checked("0 hello 9"),
    "set strokes 2",
    checked("1 begin stepped").replace(/.$/, "Z"),
    "x".repeat(70),
    "1 \x01",
    checked("2 time"),
    checked("1 begin stepped"),
    checked("2 at 1000 contact"),
    checked("3 go 1000"),
    checked("3 go 1000"),
    checked("2 at 1000 contact"),
    checked("65535 time"),
    checked("4 go 999"),
    checked("5 at 2147484648 wake"),
    checked("6 sing"),
    checked("7 again 2"),
    checked("8 bye"),
    "time",
  ]);
  expect(said.map((line) => line.slice(0, -5)).slice(19)).toEqual([
    "no - check",
    "no - check",
    "no - long",
    "no - byte",
    "no - order 1",
    "ok 1 0 0",
    "ok 2 0",
    "1 did 1000 2",
    "2 counted 1000 contacts=1 earned=1",
    "3 paced 1000",
    "4 status 1000 earned=1 paced=1 primed=0 owed=0 shed=0 remainder=0",
    "ok 3 4 1000",
    "ok 3 4 1000",
    "ok 2 0",
    "no 4 late 1000",
    "no 5 far",
    "no 6 word",
    "2 counted 1000 contacts=1 earned=1",
    "3 paced 1000",
    "4 status 1000 earned=1 paced=1 primed=0 owed=0 shed=0 remainder=0",
    "ok 7 4",
    "ok 8 4",
    "ok - 4 1000",
  ]);
});
