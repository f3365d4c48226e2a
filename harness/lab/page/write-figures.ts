/**
 * `npm run figures [FOLDER]`: writes README's pictures where it shows them, or elsewhere. Harness layer, page.
 */
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { argv } from "node:process";
import { parseHTML } from "linkedom";
import { shipped } from "../../files/package-root.js";
import { readmeFigures } from "./readme-figures.js";

const folder = argv[2] ?? shipped("harness/lab/figures");
const { document } = parseHTML("<!doctype html><html><body></body></html>");
mkdirSync(folder, { recursive: true });
for (const [file, text] of Object.entries(readmeFigures(document))) writeFileSync(join(folder, file), text);
