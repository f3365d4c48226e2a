/**
 * `npm run demo-log`: writes the demo's log where the package ships it. Harness layer.
 */
import { writeFileSync } from "node:fs";
import { shipped } from "../files/package-root.js";
import { creameryLog, DEMO_FILE } from "./creamery.js";

writeFileSync(shipped(DEMO_FILE), creameryLog());
