/**
 * The ES5 files are lib/pacing: in Duktape, in QuickJS, and with nothing but ES5.
 */
import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createContext, runInContext } from "node:vm";
import { parse } from "acorn";
import fc from "fast-check";
import { afterAll, describe, expect, test } from "vitest";
import { es5Scripts } from "../../harness/firmware/es5/build.js";
import * as running from "../../harness/firmware/es5/core.js";
import * as pacing from "../../lib/pacing/index.js";
import { goldenFiles } from "../../harness/firmware/vectors/write.js";
import { runs } from "../support/runs.js";
import { ENGINES, ONLY_ES5 } from "./es5-engines.js";
import { readGolden } from "./twin/golden.js";
import { anyRun, anySettingsInput, PLAY, play, type Run } from "./es5-play.js";

const SCRIPTS = await es5Scripts();
const NAMES = [...SCRIPTS.keys()];

function script(name: string): string {
  return SCRIPTS.get(name) as string;
}

/** That lib/pacing says what they say is shown with the twin. */
const GOLDEN = [...goldenFiles().keys()].filter((name) => name !== "validate.csv");

/** Most characters of a minified file that an embedder was promised. */
const MOST = 12_000;

describe.each(NAMES)("%s", (name) => {
  test("is ES5 in its syntax", () => {
    expect(() => parse(script(name), { ecmaVersion: 5, sourceType: "script" })).not.toThrow();
  });

  test("makes one global as a plain script", () => {
    const realm = createContext({});
    runInContext(script(name), realm);
    expect(Object.keys(realm)).toEqual(["tallystroke"]);
  });

  test("has every value that its entry has, and no other", () => {
    const realm = createContext({});
    runInContext(script(name), realm);
    const whole = name.startsWith("tallystroke");
    expect(Object.keys((realm as { tallystroke: object }).tallystroke).sort()).toEqual(
      Object.keys(whole ? pacing : running).sort(),
    );
  });
});

test("what a running controller needs is below 12,000 bytes", () => {
  expect(Buffer.byteLength(script("core.min.cjs"))).toBeLessThan(MOST);
});

describe.each(ENGINES)("in $name", (engine) => {
  const { missing } = engine;
  const title = missing === undefined ? "" : ` (${missing})`;

  function played(scripts: readonly string[], run: Run): string[] {
    return engine
      .run([...scripts, PLAY, `play(tallystroke, ${JSON.stringify(run)}).join("\\n")`])
      .split("\n");
  }

  test.skipIf(missing).each(NAMES)(`%s says at every step what lib/pacing says${title}`, (name) => {
    fc.assert(
      fc.property(anyRun, (run) => {
        expect(played([script(name)], run)).toEqual(play(pacing, run));
      }),
      { numRuns: runs(20) },
    );
  });

  test.skipIf(missing).each(GOLDEN)(`plays the golden vector %s as lib/pacing does${title}`, (vector) => {
    const { settings, steps } = readGolden(vector);
    const run = { settings, events: steps.map(({ input }) => input) };
    expect(played([script("core.min.cjs")], run)).toEqual(play(pacing, run));
  });

  test.skipIf(missing).each(NAMES)(`%s needs nothing beyond ES5${title}`, (name) => {
    fc.assert(
      fc.property(anyRun, (run) => {
        expect(played([ONLY_ES5, script(name)], run)).toEqual(play(pacing, run));
      }),
      { numRuns: runs(6) },
    );
  });

  test
    .skipIf(missing)
    .each([
      "Array.from([1])",
      "Object.assign({}, {})",
      '"a".includes("a")',
      "new Uint8Array(1)",
      "Math.trunc(1)",
      "Symbol()",
      "[].find(isNaN)",
    ])(`%s fails where nothing beyond ES5 is${title}`, (later) => {
    expect(() => engine.run([ONLY_ES5, `String(${later})`])).toThrow();
  });

  test.skipIf(missing).each(NAMES.filter((name) => name.startsWith("tallystroke")))(
    `%s judges settings as lib/pacing does${title}`,
    (name) => {
      fc.assert(
        fc.property(fc.array(anySettingsInput, { minLength: 10, maxLength: 30 }), (inputs) => {
          const judge = `JSON.stringify(${JSON.stringify(inputs)}.map(function (input) { return tallystroke.validateSettings(input); }))`;
          expect(engine.run([ONLY_ES5, script(name), judge])).toBe(
            JSON.stringify(inputs.map((input) => pacing.validateSettings(input as pacing.SettingsInput))),
          );
        }),
        { numRuns: runs(8) },
      );
    },
  );
});

describe("as a module", () => {
  const folder = mkdtempSync(join(tmpdir(), "tallystroke-es5-"));
  for (const name of NAMES) writeFileSync(join(folder, name), script(name));
  afterAll(() => {
    rmSync(folder, { recursive: true });
  });

  test.each(NAMES)("%s can be required, and imported by its names", (name) => {
    const required = `process.stdout.write(String(require("./${name}").crc16([0x31, 0x32], 2)))`;
    expect(execFileSync("node", ["--eval", required], { cwd: folder, encoding: "utf8" })).toBe(
      String(pacing.crc16([0x31, 0x32], 2)),
    );
    const imported = `import { NO_WAKE } from "./${name}"; process.stdout.write(String(NO_WAKE))`;
    expect(
      execFileSync("node", ["--input-type=module", "--eval", imported], { cwd: folder, encoding: "utf8" }),
    ).toBe(String(pacing.NO_WAKE));
  });
});
