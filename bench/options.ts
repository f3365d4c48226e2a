/**
 * Which options were given to a measurement? Bench. What is no option of it ends the process with status 2.
 */
import { parseArgs } from "node:util";

/** The texts behind `--name`, for the names in `defaults`; `usage` is the mend of anything else. */
export function optionsOf<Name extends string>(
  defaults: { readonly [name in Name]: string },
  usage: string,
): { readonly [name in Name]: string } {
  const options = Object.fromEntries(
    Object.entries<string>(defaults).map(([name, given]) => [
      name,
      { type: "string" as const, default: given },
    ]),
  );
  try {
    return parseArgs({ options }).values as { readonly [name in Name]: string };
  } catch (error) {
    console.error(`${(error as Error).message.split(". ")[0] ?? ""}. Mend: ${usage}.`);
    process.exit(2);
  }
}
