/**
 * `npm run schema`: writes the JSON Schemas of settings and plan files where the package publishes them. Harness layer.
 */
import { writeFileSync } from "node:fs";
import { shipped } from "../files/package-root.js";
import { PLAN_SCHEMA_FILE, planSchemaText } from "../plan/plan-file.js";
import { SCHEMA_FILE, schemaText } from "../files/settings-file.js";

writeFileSync(shipped(SCHEMA_FILE), schemaText());
writeFileSync(shipped(PLAN_SCHEMA_FILE), planSchemaText());
