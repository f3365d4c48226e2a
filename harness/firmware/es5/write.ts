/**
 * A step of `npm run build`: writes the ES5 files and their declarations to dist/es5. Harness layer.
 */
import { mkdirSync, writeFileSync } from "node:fs";
import { shipped } from "../../files/package-root.js";
import { es5Declarations, es5Scripts } from "./build.js";

mkdirSync(shipped("dist/es5"), { recursive: true });
for (const [name, text] of [...(await es5Scripts()), ...(await es5Declarations())]) {
  writeFileSync(shipped(`dist/es5/${name}`), text);
}
