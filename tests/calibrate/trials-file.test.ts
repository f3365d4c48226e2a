/**
 * Are trials read from a file as they stand there, or refused with the line and the mend?
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import fc from "fast-check";
import { expect, test } from "vitest";
import { readTrials, trialsText, writeTrials } from "../../harness/calibrate/trials-file.js";
import { InputError } from "../../harness/files/fault.js";
import { type DrawdownTrial, exact, exactIn, quantity } from "../../lib/dosing/index.js";
import { runs } from "../support/runs.js";
import { folder } from "../cli/kit.js";

const plain = (trials: readonly DrawdownTrial[]): readonly (readonly (number | string | undefined)[])[] =>
  trials.map(({ strokes, drawn, ratePerMinute }) => [
    strokes,
    exactIn(drawn, "mL").toFraction(),
    ratePerMinute?.valueOf(),
  ]);
const read = async (text: string | Buffer): Promise<ReturnType<typeof plain>> =>
  plain(await readTrials(join(folder({ "t.csv": text }), "t.csv")));

const ONE = [[100, "34", 120]];
test.each([
  ["as documented", "rate_per_min,strokes,volume_ml\n120,100,34\n", ONE],
  ["with CR LF line ends", "rate_per_min,strokes,volume_ml\r\n120,100,34\r\n", ONE],
  ["with a byte order mark", "\ufeffrate_per_min,strokes,volume_ml\n120,100,34\n", ONE],
  [
    "with spaces, blank lines, comments and capitals",
    "# drawn\n\nStrokes , Volume_mL\n 100, 34\n# end\n",
    [[100, "34", undefined]],
  ],
  ["without a last line end", "strokes,volume_ml\n100,34", [[100, "34", undefined]]],
  ["in litres", "strokes,volume_l\n100,0.034\n", [[100, "34", undefined]]],
  ["in fluid ounces", "strokes,volume_floz\n100,2\n", [[100, "473176473/8000000", undefined]]],
  ["in gallons", "strokes,volume_gal\n100,0.5\n", [[100, "473176473/250000", undefined]]],
  [
    "with a rate of many digits",
    "rate_per_min,strokes,volume_ml\n7.125,100,34.25\n",
    [[100, "137/4", 7.125]],
  ],
])("a table %s is read", async (_, text, expected) => {
  expect(await read(text)).toEqual(expected);
});

const H = "rate_per_min,strokes,volume_ml\n";
test.each([
  ["nothing", "", /t\.csv: is empty\. Mend: start with a header/],
  ["a header alone", H, /has no trials/],
  ["no header", "120,100,34\n", /line 1: "120" is no column/],
  [
    "semicolons",
    "strokes;volume_ml\n100;34\n",
    /"strokes;volume_ml" is no column.*commas between the columns/,
  ],
  ["a column twice", "strokes,strokes,volume_ml\n1,1,1\n", /"strokes" stands twice/],
  ["no strokes", "rate_per_min,volume_ml\n1,1\n", /has no column strokes/],
  ["no volume", "strokes\n1\n", /has no column for the volume/],
  ["two volumes", "strokes,volume_ml,volume_l\n1,1,1\n", /has volume_ml and volume_l/],
  ["a cell too few", `${H}120,100\n`, /line 2: has 2 cells under 3 columns/],
  ["a decimal comma", `${H}120,100,34,5\n`, /line 2: has 4 cells under 3 columns/],
  ["a unit in a cell", `${H}120,100,34 mL\n`, /line 2: volume_ml "34 mL" is no plain number/],
  ["an empty cell", `${H},100,34\n`, /line 2: rate_per_min is empty/],
  ["strokes that are not whole", `${H}120,1.5,34\n`, /line 2: strokes "1\.5" is no whole number/],
  ["no strokes made", `${H}120,0,34\n`, /line 2: strokes is 0/],
  ["a rate of zero", `${H}0,100,34\n`, /line 2: rate_per_min is 0/],
  ["nothing drawn", `${H}120,100,0.0\n`, /line 2: volume_ml drew nothing\. Mend: .*air-locked/],
  ["a negative volume", `${H}120,100,-34\n`, /line 2: volume_ml "-34" is no plain number/],
  ["a stroke of many litres", `${H}120,1,20000\n`, /line 2: makes .* too large a stroke/],
  ["a broken quote", `${H}120,"100,34\n`, /is not sound CSV/],
  ["bytes that are no text", Buffer.of(0x73, 0xff, 0xfe), /is not UTF-8 text/],
  ["a log", `strokes,volume_ml\n${"100,34\n".repeat(1_001)}`, /has more than 1000 trials/],
])("%s is refused with its place and a mend", async (_, text, expected) => {
  await expect(read(text)).rejects.toThrow(expected);
  await expect(read(text)).rejects.toThrow(/Mend: /);
});

test("every fault is told at once", async () => {
  const error = await read(`${H}x,100,34\n120,y,0\n`).catch((thrown: unknown) => thrown);
  expect(error).toBeInstanceOf(InputError);
  expect((error as InputError).faults.map(({ line, field }) => [line, field])).toEqual([
    [2, "rate_per_min"],
    [3, "strokes"],
    [3, "volume_ml"],
  ]);
});

test("trials that are written are read back as they were, to the millionth of a millilitre", async () => {
  const one = fc.record({
    strokes: fc.integer({ min: 1, max: 10_000 }),
    drawn: fc
      .integer({ min: 100_000, max: 90_000_000 })
      .map((micro) => quantity("volume", `${micro}e-6`, "mL")),
    ratePerMinute: fc.integer({ min: 1, max: 99_999 }).map((tenths) => exact(tenths).div(10)),
  });
  const file = join(folder(), "t.csv");
  await fc.assert(
    fc.asyncProperty(fc.array(one, { minLength: 1, maxLength: 5 }), async (trials) => {
      const sound = trials.filter(({ strokes, drawn }) => drawn.si.mul(1e9).div(strokes).gte(1));
      if (sound.length === 0) return;
      writeTrials(file, sound);
      expect(plain(await readTrials(file))).toEqual(plain(sound));
    }),
    { numRuns: runs(100) },
  );
});

test("a file of trials has no column of rates where none was noted", () => {
  expect(trialsText([{ strokes: 100, drawn: quantity("volume", 1, "floz") }])).toBe(
    "strokes,volume_ml\n100,29.5735295625\n",
  );
});

test("a file that cannot be written is told, and what was there stays", async () => {
  const file = join(folder({ "t.csv": "kept" }), "t.csv");
  expect(() => {
    writeTrials(join(file, "x"), []);
  }).toThrow(InputError);
  expect(readFileSync(file, "utf8")).toBe("kept");
  await expect(readTrials(`${file}x`)).rejects.toThrow(/there is no such file/);
});
