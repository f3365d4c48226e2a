/**
 * The ES5 files leave no rubbish behind that a small engine would have to hold.
 */
import { expect, test } from "vitest";
import { es5Scripts } from "../../harness/firmware/es5/build.js";
import { duktapeHeap, es5Figures } from "../../harness/firmware/es5/figures.js";

const SCRIPTS = [...(await es5Scripts())];

/** What the inputs of one step, and the engine's own stack, may take for a moment. */
const PASSING_BYTES = 8_192;

for (const [name, script] of SCRIPTS) {
  const heap = duktapeHeap(name, script);
  const missing = typeof heap === "string" ? heap : undefined;
  test.skipIf(missing)(
    `a thousand contacts through ${name} take no memory beyond the pacer's own${missing === undefined ? "" : ` (${missing})`}`,
    () => {
      if (typeof heap === "string") return;
      expect((heap.runningMostBytes ?? Infinity) - heap.ranBytes).toBeLessThan(PASSING_BYTES);
      expect(heap.ranBytes - heap.loadedBytes).toBeLessThan(PASSING_BYTES);
    },
  );
}

test("sizes and heaps are told for both minified files", async () => {
  const { files, heaps, missing } = await es5Figures();
  expect(files.map(({ name }) => name)).toEqual(SCRIPTS.map(([name]) => name));
  expect(files.every(({ bytes, gzipBytes }) => gzipBytes > 1_000 && gzipBytes < bytes)).toBe(true);
  const engines = missing.length > 0 ? ["QuickJS"] : ["Duktape", "QuickJS"];
  expect(heaps.map(({ engine, file }) => `${engine} ${file}`)).toEqual(
    ["tallystroke.min.cjs", "core.min.cjs"].flatMap((file) => engines.map((engine) => `${engine} ${file}`)),
  );
  for (const { bareBytes, loadedBytes, ranBytes } of heaps) {
    expect(bareBytes).toBeLessThan(loadedBytes);
    expect(loadedBytes).toBeLessThan(ranBytes);
  }
});
