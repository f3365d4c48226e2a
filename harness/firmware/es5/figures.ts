/**
 * How large are the ES5 files, and how much memory do they take in a small engine? Harness layer; developer's tools.
 *
 * Duktape is counted by an allocator of ours (heap.c), on this machine's word size; QuickJS by itself, as 32-bit
 * WebAssembly. In both the heap of the bare engine is told apart, since it stands before any script is loaded.
 */
import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { shipped } from "../../files/package-root.js";
import { validateSettings } from "../../../lib/pacing/index.js";
import { es5Scripts } from "./build.js";

export interface Es5File {
  readonly name: string;
  readonly bytes: number;
  readonly gzipBytes: number;
}

/** Bytes live once nothing more can be freed: of the bare engine, with the file loaded, with one pacer that has run. */
export interface Es5Heap {
  readonly engine: string;
  readonly file: string;
  readonly bareBytes: number;
  readonly loadedBytes: number;
  readonly ranBytes: number;
  /** The most that was live while the file was loaded, and while the pacer ran; undefined where the engine cannot tell. */
  readonly loadingMostBytes?: number;
  readonly runningMostBytes?: number;
}

export interface Es5Figures {
  readonly files: readonly Es5File[];
  readonly heaps: readonly Es5Heap[];
  /** Engines that were not measured, and why. */
  readonly missing: readonly string[];
}

/** Everything that there is to tell. */
export async function es5Figures(): Promise<Es5Figures> {
  const scripts = await es5Scripts();
  const files = [...scripts].map(([name, text]) => ({
    name,
    bytes: Buffer.byteLength(text),
    gzipBytes: gzipSync(text, { level: 9 }).length,
  }));
  const heaps: Es5Heap[] = [];
  const missing: string[] = [];
  for (const [name, text] of scripts) {
    if (!name.includes(".min.")) continue;
    const duktape = duktapeHeap(name, text);
    if (typeof duktape === "string") missing.push(duktape);
    else heaps.push(duktape);
    heaps.push(await quickJsHeap(name, text));
  }
  return { files, heaps, missing: [...new Set(missing)] };
}

/** One pacer with three strokes for two contacts. */
function setUp(): string {
  const verdict = validateSettings({ strokes: 3, contacts: 2, leastSpacingMicros: 100_000 });
  if (!verdict.ok) throw new Error("the measured settings are not sound");
  return `var pacer = tallystroke.newState(${JSON.stringify(verdict.settings)}, 0);`;
}

/** A thousand contacts, one a second, with every wake-up. */
const RUN = `for (var at = 0; at < 1e9; at += 1e6) {
  while (pacer.wakeAtMicros <= at) tallystroke.stepInPlace(pacer, { kind: "wake", atMicros: pacer.wakeAtMicros });
  tallystroke.stepInPlace(pacer, { kind: "contact", atMicros: at });
}`;

/** What was measured, or why nothing was. */
export function duktapeHeap(file: string, script: string): Es5Heap | string {
  const folder = mkdtempSync(join(tmpdir(), "tallystroke-heap-"));
  const program = join(folder, "heap");
  try {
    try {
      const source = shipped("harness/firmware/es5/heap.c");
      execFileSync("gcc", ["-std=c11", "-O1", source, "-lduktape", "-lm", "-o", program], { stdio: "pipe" });
    } catch {
      return "Duktape's heap was not measured: gcc or duktape-dev is not installed";
    }
    const paths = [script, setUp(), RUN].map((text, i) => {
      const path = join(folder, `${i}.js`);
      writeFileSync(path, text);
      return path;
    });
    const lines = execFileSync(program, paths, { encoding: "utf8", timeout: 60_000 }).trim().split("\n");
    const [bare, loaded, , ran] = lines.map((line) => line.split(" ").map(Number) as [number, number]);
    if (bare === undefined || loaded === undefined || ran === undefined)
      throw new Error("heap.c told too little");
    return {
      engine: "Duktape",
      file,
      bareBytes: bare[0],
      loadedBytes: loaded[0],
      ranBytes: ran[0],
      loadingMostBytes: loaded[1],
      runningMostBytes: ran[1],
    };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

async function quickJsHeap(file: string, script: string): Promise<Es5Heap> {
  const { getQuickJS } = await import("quickjs-emscripten");
  const runtime = (await getQuickJS()).newRuntime();
  const context = runtime.newContext();
  // Its other tally makes a second realm to tell in, and counts that.
  const used = (): number => Number(/^memory used +\d+ +(\d+)/m.exec(runtime.dumpMemoryUsage())?.[1]);
  const evaluate = (text: string): void => {
    context.unwrapResult(context.evalCode(text)).dispose();
  };
  const bareBytes = used();
  evaluate(script);
  const loadedBytes = used();
  evaluate(setUp());
  evaluate(RUN);
  const ranBytes = used();
  context.dispose();
  runtime.dispose();
  return { engine: "QuickJS", file, bareBytes, loadedBytes, ranBytes };
}
