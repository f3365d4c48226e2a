/**
 * `npm run vectors`: writes the golden vectors anew, byte for byte the same as long as the core is. Harness layer.
 *
 * Vectors are versioned. A change of the core that changes one shows in it, line by line; ports are told by that.
 */
import { mkdirSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { randomPlay } from "./random.js";
import { AROUND } from "./around.js";
import { STROKES } from "./strokes.js";
import { settingsTable } from "./settings.js";
import { vectorOf } from "./vector.js";

/** Where they stand. */
export const VECTORS_FOLDER = fileURLToPath(new URL("./golden/", import.meta.url));

/** Every file, by name: the traces, and the table of settings. */
export function goldenFiles(): ReadonlyMap<string, string> {
  const plays = [...STROKES, ...AROUND, randomPlay(1, 120), randomPlay(2, 120), randomPlay(3, 120, 150_000)];
  const files = new Map(plays.map((play) => [`${play.name}.csv`, vectorOf(play)]));
  return files.set("validate.csv", settingsTable());
}

function main(): void {
  mkdirSync(VECTORS_FOLDER, { recursive: true });
  const files = goldenFiles();
  for (const name of readdirSync(VECTORS_FOLDER)) if (!files.has(name)) rmSync(join(VECTORS_FOLDER, name));
  for (const [name, text] of files) writeFileSync(join(VECTORS_FOLDER, name), text);
  process.stdout.write(`${files.size} golden vectors are written.\n`);
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? "").href) main();
