/**
 * `tallystroke drive` as a process: how it begins, is ended, killed, held up and refused.
 */
import { existsSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { brokenLaws, readAll } from "../drive/judge.js";
import { sound } from "../support/arbitraries.js";
import { folder, run, runShell } from "./kit.js";
import { type Driving, kindsIn, startDrive } from "./drive-kit.js";

const SETTINGS = [
  "--ratio",
  "1:1",
  "--cap",
  "600",
  "--grace",
  "20 s",
  "--stuck",
  "never",
  "--silent",
  "never",
];
const CORE = sound({
  strokes: 1,
  contacts: 1,
  leastSpacingMicros: 100_000,
  graceMicros: 20_000_000,
  stuckMicros: 0,
  silentMicros: 0,
});
const MOCK = ["--meter", "mock?pace=20", "--pump", "mock"];

function start(cwd: string, ...more: string[]): Driving {
  return startDrive(cwd, [...MOCK, ...SETTINGS, ...more]);
}

describe("an end", () => {
  test.each(["SIGTERM", "SIGINT", "SIGHUP"] as const)(
    "by %s is in order: status 0, journal closed, owed kept in it",
    async (signal) => {
      const drive = start(folder());
      await drive.told("paced", 2);
      drive.child.kill(signal);
      const { status, lines } = await drive.ended();
      expect(status).toBe(0);
      expect(kindsIn(lines).at(-1)).toBe("end");
      const { tallies, ends, events, strokes } = readAll(drive.journal);
      expect(ends).toEqual(["a signal"]);
      expect(strokes.filter((stroke) => !stroke.endsWith("made"))).toEqual([]);
      expect(tallies.earned).toBe(tallies.paced + tallies.owed + tallies.shed.limit);
      expect(brokenLaws(CORE, events)).toEqual([]);
    },
  );

  test("by a pipe whose reader went away is in order, with status 2", async () => {
    const drive = start(folder());
    await drive.told("paced", 1);
    drive.child.stdout?.destroy();
    expect((await drive.ended()).status).toBe(2);
    expect(readAll(drive.journal).ends).toEqual(["its output has nowhere to go"]);
  });

  test("by itself comes after --for, and says what was done", async () => {
    const cwd = folder();
    const ended = await runShell(
      `tallystroke drive ${MOCK.map((word) => `'${word}'`).join(" ")} --ratio 1:1 --cap 600 --journal j --for "1 s" --plain`,
      cwd,
    );
    expect(ended.status).toBe(0);
    expect(ended.result).toMatch(
      /^Caution: .*Feed begins: 1:1, at most 600 strokes a minute\..*Feed ends \(its time is up\)\.\n$/s,
    );
    expect(ended.talk).toBe("");
  });
});

test("SIGKILL loses nothing: the next start goes on, and tells of the one stroke that is uncertain at the most", async () => {
  const cwd = folder();
  for (let kills = 1; kills <= 2; kills++) {
    const drive = start(cwd);
    await drive.told("paced", 3);
    drive.child.kill("SIGKILL");
    await drive.ended();
  }
  const last = start(cwd, "--for", "2 s");
  const { status, lines } = await last.ended();
  expect(status).toBe(0);
  const { tallies, ends, strokes, events } = readAll(last.journal);
  expect(ends).toEqual([undefined, undefined, "its time is up"]);
  const numbers = strokes.map((stroke) => Number(stroke.split(" ")[0]));
  expect(numbers).toEqual(numbers.map((_, i) => i + 1));
  expect(tallies.paced).toBe(numbers.length);
  expect(tallies.uncertain).toBe(strokes.filter((stroke) => stroke.endsWith("uncertain")).length);
  expect(tallies.uncertain).toBeLessThanOrEqual(2);
  expect(brokenLaws(CORE, events)).toEqual([]);
  // The invented meter counts on by the calendar: what came in the dark is told of and counted.
  expect(lines.join("\n")).toContain("missed-contacts");
});

test("a process that was stopped for seconds says so, and brings no two strokes together after", async () => {
  const drive = start(folder());
  await drive.told("paced", 2);
  drive.child.kill("SIGSTOP");
  await new Promise((resolve) => setTimeout(resolve, 3_000));
  drive.child.kill("SIGCONT");
  await drive.told("stalled", 1);
  await drive.told("paced", 6);
  drive.child.kill("SIGTERM");
  await drive.ended();
  const { notes, events } = readAll(drive.journal);
  expect(notes).toContain("stalled");
  expect(brokenLaws(CORE, events)).toEqual([]);
});

test("two feeds never share a journal: the second is refused with status 2 and the first goes on", async () => {
  const cwd = folder();
  const drive = start(cwd);
  await drive.told("paced", 1);
  const second = await start(cwd).ended();
  expect([second.status, second.talk]).toEqual([
    2,
    expect.stringMatching(/another feed keeps it. Mend: end that one/),
  ]);
  await drive.told("paced", 3);
});

test("a disk that takes no more stops strokes with status 3, and what was kept can be gone on from", async () => {
  const cwd = folder();
  const words = [...MOCK, ...SETTINGS].map((word) => `'${word}'`).join(" ");
  const full = await runShell(
    `ulimit -f 160; tallystroke drive ${words} --journal j --for "90 s" --json`,
    cwd,
  );
  expect(full.status).toBe(3);
  expect(full.talk).toMatch(/the journal cannot be kept: the disk .*Strokes have stopped\./);
  const before = readAll(join(cwd, "j")).tallies;
  const next = await runShell(`tallystroke drive ${words} --journal j --for "1 s" --json`, cwd);
  expect(next.status).toBe(0);
  const { tallies, events } = readAll(join(cwd, "j"));
  expect(tallies.counted).toBeGreaterThan(before.counted);
  expect(brokenLaws(CORE, events)).toEqual([]);
});

describe("a refusal", () => {
  const drive = (...more: string[]) => run("drive", ...MOCK, ...more);

  test.each([
    ["no meter", ["--pump", "mock", "--journal", "j"], /--meter/],
    ["a flag that is none", [...MOCK, "--journal", "j", "--speed", "9"], /unknown option '--speed'/],
  ])("of %s has status 2", async (_name, args, words) => {
    const { status, talk } = await run("drive", ...args);
    expect([status, talk]).toEqual([2, expect.stringMatching(words)]);
  });

  test("of settings that are missing names the options, and begins no journal", async () => {
    const cwd = folder({ "settings.json": "{}" });
    const journal = join(cwd, "j");
    const { status, talk } = await drive("--settings", join(cwd, "settings.json"), "--journal", journal);
    expect([status, existsSync(journal)]).toEqual([2, false]);
    expect(talk).toMatch(/--ratio is missing.*--cap is missing/s);
  });

  test("of an empty settings file says that it is not JSON", async () => {
    const cwd = folder({ "settings.json": "" });
    const { status, talk } = await drive(
      "--settings",
      join(cwd, "settings.json"),
      "--journal",
      join(cwd, "j"),
    );
    expect([status, talk]).toEqual([2, expect.stringMatching(/settings\.json.*JSON/)]);
  });

  test.each([
    ["0", /--for is "0"/],
    ["10", /--for is "10".*with its unit/],
  ])("of --for %s tells what to write", async (text, words) => {
    const { status, talk } = await drive(
      "--ratio",
      "1:1",
      "--cap",
      "60",
      "--journal",
      join(folder(), "j"),
      "--for",
      text,
    );
    expect([status, talk]).toEqual([2, expect.stringMatching(words)]);
  });

  test("of a journal under a folder that is not there has status 2, and makes none", async () => {
    const cwd = folder();
    const { status, talk } = await drive("--ratio", "1:1", "--cap", "60", "--journal", join(cwd, "no", "j"));
    expect([status, existsSync(join(cwd, "no"))]).toEqual([2, false]);
    expect(talk).toMatch(/--journal cannot be made: there is no such file or folder/);
  });

  test("of a file where the journal should be has status 2", async () => {
    const cwd = folder({ j: "" });
    const { status, talk } = await drive("--ratio", "1:1", "--cap", "60", "--journal", join(cwd, "j"));
    expect([status, talk]).toEqual([2, expect.stringMatching(/the journal cannot be|journal.*folder/)]);
  });

  test("of a damaged journal has status 3 and says to keep it", async () => {
    const cwd = folder();
    const journal = join(cwd, "j");
    mkdirSync(journal);
    writeFileSync(join(journal, "journal.sqlite"), "no database ".repeat(400));
    const { status, talk } = await drive("--ratio", "1:1", "--cap", "60", "--journal", journal);
    expect([status, talk]).toEqual([
      3,
      expect.stringMatching(/Mend:\s+keep the folder as it is, and name a\s+new one/),
    ]);
  });

  test("of a port that is not there has status 3, and lets the journal go", async () => {
    const cwd = folder();
    const args = ["--meter", "serial:/dev/none-such", "--pump", "mock", "--ratio", "1:1", "--cap", "60"];
    for (let times = 0; times < 2; times++) {
      const { status, talk } = await run("drive", ...args, "--journal", join(cwd, "j"));
      expect([status, talk]).toEqual([3, expect.stringMatching(/none-such/)]);
    }
  });

  test("of a meter that names nothing has status 2, lists the forms, and begins no journal", async () => {
    const journal = join(folder(), "j");
    const { status, talk } = await run(
      "drive",
      "--meter",
      "water",
      "--pump",
      "mock",
      "--ratio",
      "1:1",
      "--cap",
      "60",
      "--journal",
      journal,
    );
    expect([status, talk]).toEqual([2, expect.stringMatching(/--meter "water" names no meter or pump/)]);
    expect(existsSync(journal)).toBe(false);
  });
});

test("a plan gives water and dose, is kept in the journal, and a ratio other than the plan's is told", async () => {
  const plan = JSON.stringify({
    "contact-volume": "10 L",
    dose: "1 mg/L",
    strength: "5 g/L",
    "stroke-volume": "1 mL",
    cap: 120,
    peak: "60 L/min",
  });
  const cwd = folder({ "plan.json": plan });
  const words = "--ratio 1:1 --cap 600 --journal j --plan plan.json --for '1 s' --json";
  const { status, result, talk } = await runShell(
    `tallystroke drive --meter 'mock?pace=20' --pump mock ${words}`,
    cwd,
  );
  expect(status).toBe(0);
  expect(talk).toMatch(/the plan's ratio is 2:1,\s+the settings' 1:1/);
  const end = JSON.parse(result.trim().split("\n").at(-1) ?? "") as {
    status: { contacts: number; paced: number; dose: { litres: number; milligramsPerLitre: number } };
  };
  const { contacts, paced, dose } = end.status;
  expect(dose).toMatchObject({ litres: contacts * 10, millilitres: paced, wantedMilligramsPerLitre: 1 });
  expect(dose.milligramsPerLitre).toBeCloseTo((paced * 5) / (contacts * 10), 9);
  expect(readFileSync(join(cwd, "plan.json"), "utf8")).toBe(plan);
});

test("the help has an example, the forms of meters and pumps, and what each status means", async () => {
  const { status, result } = await run("drive", "--help");
  expect(status).toBe(0);
  expect(result).toMatch(/tallystroke drive --meter mock --pump mock --ratio 2:1/);
  expect(result).toContain("serial:PATH");
  expect(result).toMatch(/status 0 .* with 3 when meter, pump or journal failed/s);
  expect(result.split("\n").filter((line) => line.length > 80)).toEqual([]);
});
