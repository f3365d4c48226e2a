/**
 * Where does this package stand, and which version is it? The same from source and from the built files. Harness layer.
 */
import { existsSync, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";

/** The path of a file that is shipped with the package, from its root. */
export function shipped(path: string): string {
  return fileURLToPath(new URL(path, packageRoot()));
}

/** The version in package.json. */
export function packageVersion(): string {
  const manifest = JSON.parse(readFileSync(new URL("package.json", packageRoot()), "utf8")) as {
    version: string;
  };
  return manifest.version;
}

/** The nearest folder above with a package.json: two up from source, three from dist. */
function packageRoot(): URL {
  const two = new URL("../../", import.meta.url);
  return existsSync(new URL("package.json", two)) ? two : new URL("../", two);
}
