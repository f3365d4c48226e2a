// The tests that judge mutants of lib/pacing and lib/laws: those of their own folders and the published values.
import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    root: ".",
    include: [
      "tests/pacing/**/*.test.ts",
      "tests/laws/**/*.test.ts",
      "tests/references/{crc16,gcra,pulses}.test.ts",
    ],
    env: { TALLYSTROKE_TIMES: "0.2", TALLYSTROKE_STATES: "1500", TALLYSTROKE_DEPTH: "1" },
    testTimeout: 20_000,
  },
});
