import { availableParallelism } from "node:os";
import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    root: ".",
    include: ["tests/**/*.test.ts"],
    testTimeout: 120_000,
    // Many tests wait for a process or a clock: on a small machine too, two files side by side.
    maxWorkers: Math.max(2, availableParallelism() - 1),
  },
});
