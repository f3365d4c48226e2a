/**
 * What does a busy machine do to it? Processes that do nothing but keep processors busy. Bench.
 */
import { type ChildProcess, spawn } from "node:child_process";
import { availableParallelism } from "node:os";

export interface Load {
  readonly processes: number;
  stop(): void;
}

/** As many as there are processors, at the usual priority. They end by themselves soon after this process has died. */
export function startLoad(): Load {
  const processes = availableParallelism();
  const hogs: ChildProcess[] = Array.from({ length: processes }, () =>
    spawn(process.execPath, ["--eval", HOG], { stdio: ["ignore", "ignore", "inherit"] }),
  );
  return {
    processes,
    stop() {
      for (const hog of hogs) hog.kill("SIGKILL");
    },
  };
}

const HOG = `
  const parent = process.ppid;
  const turn = () => {
    for (const end = Date.now() + 100; Date.now() < end; );
    if (process.ppid === parent) setImmediate(turn);
  };
  turn();`;
