/**
 * `npm run schema`: writes the JSON Schema of settings files where the package publishes it. Harness layer.
 */
import { writeFileSync } from "node:fs";
import { shipped } from "../files/package-root.js";
import { SCHEMA_FILE, schemaText } from "../files/settings-file.js";

writeFileSync(shipped(SCHEMA_FILE), schemaText());
