/**
 * The shape of the repository and the truth of its README, as far as a test can tell.
 */
import { execFileSync } from "node:child_process";
import { readdirSync, readFileSync } from "node:fs";
import { join, relative } from "node:path";
import { fileURLToPath } from "node:url";
import { describe, expect, test } from "vitest";
import { runCommand } from "../harness/cli/command.js";
import { LAW_NAMES } from "../lib/laws/index.js";

const ROOT = fileURLToPath(new URL("../", import.meta.url));
const README = readFileSync(join(ROOT, "README.md"), "utf8");

function sourcesIn(folder: string): { readonly path: string; readonly text: string }[] {
  return readdirSync(join(ROOT, folder), { recursive: true, encoding: "utf8" })
    .filter((name) => name.endsWith(".ts"))
    .map((name) => join(ROOT, folder, name))
    .map((path) => ({ path: relative(ROOT, path), text: readFileSync(path, "utf8") }));
}

/** What a file imports or re-exports from. */
function importsOf(text: string): string[] {
  return [
    ...text.matchAll(/^(?:import|export)\b[^;]*?from "([^"]+)"/gms),
    ...text.matchAll(/^import "([^"]+)"/gm),
  ].map(([, from]) => from as string);
}

/** What stands in a folder but must not, as "file: import". */
function strays(folder: string, isAllowed: (from: string, path: string) => boolean): string[] {
  return sourcesIn(folder).flatMap(({ path, text }) =>
    importsOf(text)
      .filter((from) => !isAllowed(from, path))
      .map((from) => `${path}: ${from}`),
  );
}

describe("layers", () => {
  test("the pacing core imports nothing outside its folder", () => {
    expect(strays("lib/pacing", (from) => /^\.\/[\w-]+\.js$/.test(from))).toEqual([]);
  });

  test("laws import from pacing only types, so that the judge shares no code with the accused", () => {
    const imports = sourcesIn("lib/laws").flatMap(
      ({ text }) => text.match(/^import (?!type )[^;]*"[^"]*\/pacing\/[^;]*;/gms) ?? [],
    );
    expect(imports).toEqual([]);
  });

  test("nothing in lib imports the harness or Node, and only lib/reactive imports rxjs", () => {
    const allowed = (from: string, path: string): boolean =>
      !from.includes("harness") &&
      !from.startsWith("node:") &&
      (from !== "rxjs" || path.startsWith("lib/reactive/"));
    expect(strays("lib", allowed)).toEqual([]);
  });

  test("dosing imports nothing of pacing but the ratio's limit", () => {
    const imports = sourcesIn("lib/dosing").flatMap(
      ({ text }) => text.match(/^import [^;]*"[^"]*\/pacing\/[^;]*;/gms) ?? [],
    );
    const names = new Set(imports.map((line) => /\{([^}]*)\}/.exec(line)?.[1]?.trim()));
    expect([...names]).toEqual(["RATIO_TERM_MAX"]);
  });

  test("nothing in lib asks the time or draws a random number", () => {
    const banned = /\bDate\b|Math\.random|performance\.|setTimeout|setInterval/;
    const found = sourcesIn("lib").filter(({ text }) =>
      banned.test(text.replace(/\/\*.*?\*\/|\/\/[^\n]*/gs, "")),
    );
    expect(found.map(({ path }) => path)).toEqual([]);
  });

  test("the core uses nothing that an ES5 engine lacks but typed arrays", () => {
    const banned = /\.\.\.|\bMap\b|\bSet\b|function\*|\bSymbol\b|\.includes\(|BigInt|\*\*/;
    const found = sourcesIn("lib/pacing").filter(({ text }) =>
      banned.test(text.replace(/\/\*.*?\*\/|\/\/[^\n]*/gs, "")),
    );
    expect(found.map(({ path }) => path)).toEqual([]);
  });
});

test("at the root stand only the folders and files that belong there", () => {
  const tracked = execFileSync("git", ["ls-files"], { cwd: ROOT, encoding: "utf8" })
    .split("\n")
    .filter(Boolean);
  const roots = new Set(tracked.map((path) => path.split("/")[0] as string));
  const visible = [...roots].filter((name) => !name.startsWith(".")).sort();
  expect(visible).toEqual([
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "bench",
    "harness",
    "lib",
    "package-lock.json",
    "package.json",
    "tests",
    "tsconfig.json",
  ]);
});

describe("README", () => {
  const commands = README.replace(/\\\n/g, " ")
    .split("\n")
    .filter((line) => line.startsWith("npx tallystroke "))
    .map((line) => line.replace(/^npx tallystroke /, "").replace(/\s+#.*$|\s+<.*$/g, ""));

  test("names every law, in order", () => {
    expect([...README.matchAll(/^\| \d+ \| ([\w-]+) \|/gm)].map(([, law]) => law)).toEqual(LAW_NAMES);
  });

  test.each(commands)("%s: every option exists", async (command) => {
    const [verb, ...words] = command.match(/"[^"]*"|\S+/g) ?? [];
    const options = words.filter((word) => word.startsWith("--")).filter((word) => word !== "--help");
    let help = "";
    const result = (text: string): Promise<void> => {
      help += text;
      return Promise.resolve();
    };
    await runCommand([verb as string, "--help"], { result, talk: () => undefined });
    expect(options.filter((option) => !help.includes(`${option} `) && !help.includes(`${option}\n`))).toEqual(
      [],
    );
  });
});
