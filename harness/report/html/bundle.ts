/**
 * How does the page's script become one text to put into the page? Built once for the package. Harness layer.
 *
 * The build writes it beside the built files; run from source, it is bundled when it is first asked for, by a tool that
 * only developers have.
 */
import { existsSync, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { shipped } from "../../files/package-root.js";

/** Beside this file in the built package; there is none beside the source. */
export const BUILT = fileURLToPath(new URL("page.bundle.js", import.meta.url));

let bundled: Promise<string> | undefined;

/** The script of the page. */
export function pageScript(): Promise<string> {
  bundled ??= existsSync(BUILT) ? Promise.resolve(readFileSync(BUILT, "utf8")) : bundlePage();
  return bundled;
}

/** Bundles the script from its source. */
export async function bundlePage(): Promise<string> {
  const { build } = await import("vite");
  const built = await build({
    configFile: false,
    logLevel: "error",
    root: shipped("harness/report/html/page"),
    build: {
      write: false,
      lib: { entry: shipped("harness/report/html/page/main.ts"), formats: ["iife"], name: "page" },
    },
  });
  const [output] = Array.isArray(built) ? built : [built];
  if (!("output" in output)) throw new Error("the page's script was not bundled");
  return output.output[0].code;
}
