/**
 * Does the parser of the link in C survive damaged lines, as LINK.md, section 1, says?
 */
import { spawn } from "node:child_process";
import { once } from "node:events";
import { expect } from "vitest";
import { checkedLine } from "../../harness/link/line.js";
import { REQUEST_TEXTS } from "../link/messages.js";
import { compileNative, converse, nativeTest } from "./link-kit.js";

const CR = 0x0d;
const program = compileNative({});
const bytesOf = (...texts: readonly string[]): Buffer =>
  Buffer.from(texts.map(checkedLine).join(""), "latin1");
/** What was said after the greeting, without checks. */
const answers = (said: string): string[] =>
  said
    .split("\n")
    .slice(0, -1)
    .map((line) => line.slice(0, -5))
    .filter((line) => !/^(boot|\d+ is) /.test(line));

nativeTest(
  "whatever a single byte of a request is turned into, the device refuses it and uses up no number",
  () => {
    const damaged: Buffer[] = [];
    for (const text of REQUEST_TEXTS) {
      const line = bytesOf(text);
      for (let at = 0; at < line.length; at++) {
        for (let byte = 0; byte < 256; byte++) {
          // A CR in place of the LF does no harm: the LF that follows ends the same line.
          if (byte === line[at] || (byte === CR && at === line.length - 1)) continue;
          const copy = Buffer.from(line);
          copy[at] = byte;
          // A line that has lost its end takes the next LF.
          damaged.push(copy, Buffer.from("\n"));
        }
      }
    }
    const said = answers(
      converse(program, Buffer.concat([bytesOf("0 hello 7"), ...damaged, bytesOf("1 time")])),
    );
    expect(said[0]).toBe("ok 0 15 7");
    expect(said.at(-1)).toBe("ok 1 15 0");
    expect(said.slice(1, -1).filter((line) => !/^no - (check|byte|long|order 1|word)$/.test(line))).toEqual(
      [],
    );
    expect(said.length).toBeGreaterThan(damaged.length / 2);
  },
);

nativeTest("byte by byte a session is answered as it is in one piece", async () => {
  const session = bytesOf("0 hello 7", "1 begin stepped", "2 at 100 contact", "3 go 100000000", "4 bye");
  const child = spawn(program, { stdio: ["pipe", "pipe", "inherit"] });
  let said = "";
  child.stdout.setEncoding("latin1").on("data", (piece: string) => (said += piece));
  for (const byte of session) {
    await new Promise((done) => child.stdin.write(Uint8Array.of(byte), done));
    // So that the program has read it before the next.
    await new Promise((done) => setImmediate(done));
  }
  child.stdin.end();
  await once(child, "close");
  expect(said).toBe(converse(program, session));
  expect(answers(said)).toContain("4 paced 703225");
});

nativeTest("request numbers go on at 1 after 65535, and each of the last two is answered again alike", () => {
  const asked = ["0 hello 1"];
  for (let i = 1; i <= 65_540; i++) asked.push(`${((i - 1) % 65_535) + 1} time`);
  const said = answers(
    converse(program, bytesOf(...asked, "5 time", "4 end", "3 time", "36 time", "6 time")),
  );
  expect(said.slice(1, -4).filter((line, i) => line !== `ok ${(i % 65_535) + 1} 15 0`)).toEqual([]);
  expect(said).toHaveLength(1 + 65_540 + 4);
  expect(said.slice(-4)).toEqual(["ok 5 15 0", "ok 4 15 0", "no - order 6", "ok 6 15 0"]);
});

nativeTest(
  "a repetition that is up to 32 requests old is passed over, an older one is told what is expected",
  () => {
    const asked = ["0 hello 1", ...Array.from({ length: 40 }, (_, i) => `${i + 1} time`)];
    const said = answers(converse(program, bytesOf(...asked, "38 time", "8 time", "7 time", "41 time")));
    expect(said.slice(-3)).toEqual(["ok 40 15 0", "no - order 41", "ok 41 15 0"]);
  },
);

nativeTest.each([
  [
    "no more than the queue holds",
    ["2 at 9 wake", "3 at 9 wake", "4 at 10 wake", "5 at 10 wake", "6 at 11 wake"],
    "no 6 full",
  ],
  ["nothing earlier than the last in the queue", ["2 at 10 wake", "3 at 9 wake"], "no 3 value"],
  ["no greeting under a number of its own", ["2 hello 5"], "no 2 word"],
  ["no time that has passed", ["2 go 5", "3 at 4 wake"], "no 3 late 5"],
  ["no time half the range away", ["2 at 2147483648 wake"], "no 2 far"],
  ["no clock while a run is on", ["2 clock 5"], "no 2 state"],
  ["no lag that 32 bits cannot spread", ["2 lag 134217728"], "no 2 value"],
  ["no owed limit that 16 bits cannot hold", ["2 set owedLimitStrokes 65536"], "no 2 value"],
  ["no time of more ticks than the twin takes", ["2 set silentMicros 86400000001"], "no 2 value"],
  ["no setting that it does not know", ["2 set strokeBasis full"], "no 2 word"],
  ["no report again, as it keeps none", ["2 again 1"], "no 2 value"],
  [
    "no settings that do not fit each other",
    ["2 set stuckMicros 9000", "3 do settings confirmed"],
    "no 3 settings stuckMicros",
  ],
])("it takes %s", (_, asked, answer) => {
  const said = answers(converse(program, bytesOf("0 hello 1", "1 begin stepped", ...asked)));
  expect(said.at(-1)).toBe(answer);
});

nativeTest(
  "from the first checked line on a typed one is refused, until a bye, even one that was only said again",
  () => {
    const typed = Buffer.from("time\n");
    const session = [typed, bytesOf("0 hello 1"), typed, bytesOf("1 bye"), typed, bytesOf("1 bye"), typed];
    expect(answers(converse(program, Buffer.concat(session)))).toEqual([
      ...["ok - 0 0", "ok 0 15 1", "no - check", "ok 1 15", "ok - 15 0", "ok 1 15", "ok - 15 0"],
    ]);
  },
);
