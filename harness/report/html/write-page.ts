/**
 * A step of `npm run build`: writes the page's script beside the built files. Harness layer.
 */
import { writeFileSync } from "node:fs";
import { shipped } from "../../files/package-root.js";
import { bundlePage } from "./bundle.js";

writeFileSync(shipped("dist/harness/report/html/page.bundle.js"), await bundlePage());
