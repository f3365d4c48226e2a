/**
 * How does lib/pacing become one ES5 file? Bundled, lowered, made small. Harness layer; needs a developer's tools.
 *
 * Each file is a plain script with one global, `tallystroke`, and a CommonJS module as well. It asks for nothing beyond
 * ES5: where an engine has no typed arrays, `takeSnapshot` gives a plain array of bytes.
 */
import { packageVersion, shipped } from "../../files/package-root.js";

/** The entries by the name of their file: all of lib/pacing, and what a running controller needs of it. */
const ENTRIES: { readonly [name: string]: string } = {
  tallystroke: "lib/pacing/index.ts",
  core: "harness/firmware/es5/core.ts",
};

/** The global of a plain script. */
const GLOBAL = "tallystroke";
/** What stands in for `Uint8Array`. */
const BYTES = "BytesOfEngine";

/** The scripts, by the names of their files. */
export async function es5Scripts(): Promise<ReadonlyMap<string, string>> {
  const scripts = new Map<string, string>();
  for (const [name, entry] of Object.entries(ENTRIES)) {
    const script = await lowered(annotated(await bundled(shipped(entry))));
    scripts.set(`${name}.cjs`, headed(script));
    scripts.set(`${name}.min.cjs`, headed(await minified(script)));
  }
  return scripts;
}

/** Their declarations, by the names of their files: each alone says all, also of the global. */
export async function es5Declarations(): Promise<ReadonlyMap<string, string>> {
  const { generateDtsBundle } = await import("dts-bundle-generator");
  const names = Object.keys(ENTRIES);
  const texts = generateDtsBundle(
    Object.values(ENTRIES).map((entry) => ({
      filePath: shipped(entry),
      output: { umdModuleName: GLOBAL, noBanner: true, exportReferencedTypes: true },
    })),
    { preferredConfigPath: shipped("harness/firmware/es5/tsconfig.json") },
  );
  return new Map(names.map((name, i) => [`${name}.d.cts`, headed(texts[i] as string)]));
}

async function bundled(entry: string): Promise<string> {
  const { build } = await import("vite");
  const built = await build({
    configFile: false,
    logLevel: "error",
    define: { Uint8Array: BYTES },
    build: {
      write: false,
      minify: false,
      target: "esnext",
      lib: { entry, formats: ["iife"], name: GLOBAL },
      rolldownOptions: {
        output: {
          generatedCode: { symbols: false },
          intro: `"use strict";\nvar ${BYTES} = typeof Uint8Array === "function" ? Uint8Array : Array;`,
          footer: `if (typeof module === "object" && module.exports) module.exports = ${GLOBAL};`,
        },
      },
    },
  });
  const [output] = Array.isArray(built) ? built : [built];
  if (!("output" in output)) throw new Error("the pacing core was not bundled");
  return output.output[0].code;
}

/**
 * Put in line, what each step calls once would become a function made anew in each: rubbish that a small engine lets pile
 * up to some hundred kilobytes before it sweeps.
 */
function annotated(script: string): string {
  const call = "act(s, input, nowMicros)";
  if (!script.includes(`\t${call}`)) throw new Error(`the step no longer calls ${call}`);
  return script.replace(`\t${call}`, `\t/*#__NOINLINE__*/ ${call}`);
}

// TypeScript lowers a loop over an array to a loop over its indices; other tools call for iterators, which ES5 lacks.
async function lowered(script: string): Promise<string> {
  const { default: ts } = await import("typescript");
  return ts.transpileModule(script, {
    compilerOptions: {
      // eslint-disable-next-line @typescript-eslint/no-deprecated -- It is what there is, and 6.0 is pinned.
      target: ts.ScriptTarget.ES5,
      // Strict within the function alone: a script that stands before others must not make them so.
      alwaysStrict: false,
      ignoreDeprecations: "6.0",
      newLine: ts.NewLineKind.LineFeed,
    },
  }).outputText;
}

async function minified(script: string): Promise<string> {
  const { minify } = await import("@swc/core");
  const { code } = await minify(script, {
    ecma: 5,
    // The name `exports` stays: by it Node finds what a CommonJS module exports, for those who import it.
    mangle: { reserved: ["exports"] },
    compress: { ecma: 5, passes: 5, hoist_funs: true },
    format: { ecma: 5, comments: false },
  });
  return code;
}

function headed(text: string): string {
  return `/* Tallystroke ${packageVersion()}, the pacing core in ES5. MIT licence. */\n${text.trimEnd()}\n`;
}
