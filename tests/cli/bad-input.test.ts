/**
 * Bad input ends in exit status 2, with nothing on standard output and a line that says what, where and the mend.
 */
import { readdirSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { folder, run, runProcess, runShell } from "./kit.js";

const SOUND = "time_s\n1\n2\n3\n";
const SETTINGS = ["--ratio", "2:1", "--cap", "120"];
const TIME_MEND = "write seconds from the start such as 12.5, at most six decimals, at most 2251799813";
const HEADER_MEND = "start the file with the line time_s or time_s,event,detail";
const RATIO_MEND = "give strokes:contacts, two whole numbers from 1 to 65535, such as 2:1, 1:5 or 3:2";
const RATE_MEND = "give strokes per minute above 0, such as 120 or 7.5, at most six decimals";

test.each<[string, string | Buffer, string]>([
  ["an empty file", "", "log.csv: is empty. Mend: give a log that starts with time_s."],
  ["comments alone", "# nothing\n", "log.csv: has no header row. Mend: start it with the line time_s,event."],
  ["no header", "0.5\n1\n", `log.csv line 1: no column time_s in the header "0.5". Mend: ${HEADER_MEND}.`],
  [
    "a missing column",
    "# a\nevent\ncontact\n",
    `log.csv line 2: no column time_s in the header "event". Mend: ${HEADER_MEND}.`,
  ],
  [
    "times that go back",
    "time_s\n2\n# a\n1\n",
    "log.csv line 4: time_s goes back from 2.000000 to 1. Mend: sort the rows by time.",
  ],
  ["NaN", "time_s\n1\nNaN\n", `log.csv line 3: time_s is "NaN". Mend: ${TIME_MEND}.`],
  ["a negative time", "time_s\n-1\n", `log.csv line 2: time_s is "-1". Mend: ${TIME_MEND}.`],
  ["1e30", "time_s\n1e30\n", `log.csv line 2: time_s is "1e30". Mend: ${TIME_MEND}.`],
  ["a blank line", "time_s\n1\n\n2\n", `log.csv line 3: time_s is "". Mend: ${TIME_MEND}.`],
  [
    "CRLF",
    "time_s\r\n1\r\n",
    "log.csv line 1: ends in a carriage return (CR LF line ends). Mend: convert it: tr -d '\\r' < OLD > NEW.",
  ],
  [
    "a byte order mark",
    "\ufefftime_s\n1\n",
    "log.csv line 1: starts with a byte order mark. Mend: take it off: tail -c +4 OLD > NEW.",
  ],
  [
    "UTF-16",
    Buffer.from("\ufefftime_s\n1\n", "utf16le"),
    "log.csv line 1: starts with the byte order mark of UTF-16. Mend: convert it: iconv -f UTF-16 -t UTF-8 OLD > NEW.",
  ],
  [
    "a binary file",
    Buffer.of(0x7f, 0x45, 0x4c, 0x46, 0x0a, 0x00, 0x01),
    "log.csv line 2: has a zero byte: this is not a text file. Mend: give a CSV text file.",
  ],
  [
    "bytes that are not UTF-8",
    Buffer.from("time_s\n1\n# \xff\n2\n", "latin1"),
    "log.csv line 3: is not UTF-8 text. Mend: give a CSV text file, or convert it: iconv -f LATIN1 -t UTF-8 OLD > NEW.",
  ],
  [
    "a character cut short",
    Buffer.from("time_s\n1\n# \xe2\x82", "latin1"),
    "log.csv line 3: is not UTF-8 text. Mend: give a CSV text file, or convert it: iconv -f LATIN1 -t UTF-8 OLD > NEW.",
  ],
  [
    "an endless line",
    `time_s\n#${"x".repeat(5_000)}`,
    "log.csv line 2: is longer than 4096 bytes. Mend: give one short row per line, ended by a line feed.",
  ],
  [
    "an unknown column",
    "time_s,volume\n1,2\n",
    'log.csv line 1: unknown column "volume". Mend: use time_s, event, detail.',
  ],
])("a log with %s is refused", async (_, content, message) => {
  const cwd = folder({ "log.csv": content });
  const { status, result, talk } = await run("simulate", join(cwd, "log.csv"), ...SETTINGS);
  expect({ status, result, talk: talk.replace(`${cwd}/`, "") }).toEqual({
    status: 2,
    result: "",
    talk: `${message}\n`,
  });
});

test("as a process, too, a bad log ends in 2, on standard error alone", async () => {
  const cwd = folder({ "log.csv": "time_s\n2\n1\n" });
  expect(await runProcess(["simulate", "log.csv", ...SETTINGS], cwd)).toEqual({
    status: 2,
    result: "",
    talk: "log.csv line 3: time_s goes back from 2.000000 to 1. Mend: sort the rows by time.\n",
  });
});

test("an unknown event is refused with the events that are known", async () => {
  const { status, talk } = await runProcess(
    ["simulate", "-", ...SETTINGS],
    folder(),
    "time_s,event\n1,boom\n",
  );
  expect([status, talk.slice(0, 66)]).toEqual([
    2,
    'standard input line 2: unknown event "boom". Mend: use one of wake',
  ]);
});

test.each([
  ["0:1", `--ratio is "0:1". Mend: ${RATIO_MEND}.`],
  ["2:0", `--ratio is "2:0". Mend: ${RATIO_MEND}.`],
  ["1.5", `--ratio is "1.5". Mend: ${RATIO_MEND}.`],
  ["1e9:1", `--ratio is "1e9:1". Mend: ${RATIO_MEND}.`],
  ["-2:1", `--ratio is "-2:1". Mend: ${RATIO_MEND}.`],
  ["65536:1", "--ratio is 65536. Mend: give a whole number of strokes from 1 to 65535."],
  ["1:65536", "--ratio is 65536. Mend: give a whole number of contacts from 1 to 65535."],
])("the ratio %s is refused", async (ratio, message) => {
  const cwd = folder({ "log.csv": SOUND });
  expect(await run("simulate", join(cwd, "log.csv"), "--ratio", ratio, "--cap", "120")).toEqual({
    status: 2,
    result: "",
    talk: `${message}\n`,
  });
});

test.each(["0", "0.000", "-1", "1e3", "NaN", "Infinity", "0.0000001"])(
  "the cap %s is refused",
  async (cap) => {
    const cwd = folder({ "log.csv": SOUND });
    expect(await run("simulate", join(cwd, "log.csv"), "--ratio", "2:1", "--cap", cap)).toEqual({
      status: 2,
      result: "",
      talk: `--cap is "${cap}". Mend: ${RATE_MEND}.\n`,
    });
  },
);

test.each([
  [
    "a file that is not there",
    "gone.csv",
    "there is no such file or folder. Mend: check the name and its folder.",
  ],
  ["a folder", ".", "it is a folder. Mend: name a file."],
])("%s cannot be read", async (_, name, words) => {
  const path = join(folder(), name);
  expect(await run("simulate", path, ...SETTINGS)).toEqual({
    status: 2,
    result: "",
    talk: `${path}: cannot be read: ${words}\n`,
  });
});

test("a closed pipe on the output of rows is told, and ends in 2", async () => {
  const cwd = folder({ "log.csv": `time_s\n${Array.from({ length: 9_000 }, (_, i) => `${i}\n`).join("")}` });
  const line =
    "tallystroke simulate log.csv --ratio 3:1 --cap 600 --strokes /dev/stdout | head -1; exit ${PIPESTATUS[0]}";
  expect(await runShell(line, cwd)).toEqual({
    status: 2,
    result: "time_s,cause\n",
    talk: "/dev/stdout: cannot be written: its reader has gone away (closed pipe). Mend: let the reader read to the end, or write to a file.\n",
  });
});

test("a closed pipe on the summary is told, and ends in 2", async () => {
  const cwd = folder({ "log.csv": SOUND });
  const line = "tallystroke simulate log.csv --ratio 3:1 --cap 600 --json | true; exit ${PIPESTATUS[0]}";
  expect(await runShell(line, cwd)).toEqual({
    status: 2,
    result: "",
    talk: "standard output: cannot be written: its reader has gone away (closed pipe). Mend: let the reader read to the end, or write to a file.\n",
  });
});

test.each([
  ["an unknown option", ["simulate", "log.csv", "--frobnicate", "3"], "unknown option '--frobnicate'"],
  ["an option without its value", ["simulate", "log.csv", "--ratio"], "argument missing"],
  ["no log", ["simulate"], "missing required argument 'file'"],
  ["two logs", ["simulate", "a.csv", "b.csv"], "too many arguments"],
  ["an unknown verb", ["simulat"], "unknown command 'simulat'"],
  ["nothing at all", [], "Usage: tallystroke"],
])("%s is bad usage", async (_, args, words) => {
  const { status, result, talk } = await run(...args);
  expect({ status, result, told: talk.includes(words) }).toEqual({ status: 2, result: "", told: true });
});

test.each([
  [
    "in a folder that is not there",
    "gone/out.csv",
    "there is no such file or folder. Mend: check the name and its folder.",
  ],
  ["that is a folder", ".", "it is a folder. Mend: name a file."],
  ["on a full disk", "/dev/full", "the disk is full. Mend: make room, or name a file on another disk."],
])("an output %s cannot be written", async (_, name, words) => {
  const cwd = folder({ "log.csv": SOUND });
  const path = name.startsWith("/") ? name : join(cwd, name);
  expect(await run("simulate", join(cwd, "log.csv"), ...SETTINGS, "--trace", path)).toEqual({
    status: 2,
    result: "",
    talk: `${path}: cannot be written: ${words}\n`,
  });
});

test("a fault in the log leaves no file, and an older one as it was", async () => {
  const cwd = folder({ "log.csv": "time_s\n1\n2\nx\n", "old.csv": "old\n" });
  const { status } = await runProcess(
    ["simulate", "log.csv", ...SETTINGS, "--strokes", "new.csv", "--trace", "old.csv"],
    cwd,
  );
  expect([status, readdirSync(cwd)]).toEqual([2, ["log.csv", "old.csv"]]);
});

test("an output that would overwrite the log, or the other output, is refused", async () => {
  const cwd = folder({ "log.csv": SOUND });
  const log = join(cwd, "log.csv");
  const out = join(cwd, "out.csv");
  const ended = [
    await run("simulate", log, ...SETTINGS, "--trace", join(cwd, ".", "log.csv")),
    await run("simulate", log, ...SETTINGS, "--trace", out, "--strokes", out),
    await run("simulate", log, ...SETTINGS, "--strokes", "-"),
    await run("simulate", log, ...SETTINGS, "--strokes", ""),
  ];
  expect([ended.map(({ status, talk }) => [status, talk]), readdirSync(cwd)]).toEqual([
    [
      [2, "--trace is the log itself. Mend: name another file, or the log is lost.\n"],
      [2, "--trace is the file of --strokes. Mend: name two files.\n"],
      [2, "--strokes is -. Mend: name a file; /dev/stdout is one too.\n"],
      [2, '"": cannot be written: there is no such file or folder. Mend: check the name and its folder.\n'],
    ],
    ["log.csv"],
  ]);
  expect(readdirSync(".").filter((name) => name.includes(".partial-"))).toEqual([]);
});
