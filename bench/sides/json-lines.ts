/**
 * Lines of JSON: what one would otherwise write to talk to a controller. Bench.
 *
 * One object a line, text gathered until there is a line end. It has no check, so damage passes for a message, and no
 * longest line, so what does not end is kept.
 */

export function encodeJsonLine(message: unknown): Uint8Array {
  return Buffer.from(`${JSON.stringify(message)}\n`);
}

/** Takes bytes; gives the messages that end within them. */
export function newJsonReader(): (bytes: Uint8Array) => unknown[] {
  let rest = "";
  return (bytes) => {
    const lines = (rest + Buffer.from(bytes).toString()).split("\n");
    rest = lines.pop() ?? "";
    return lines.map((line) => JSON.parse(line) as unknown);
  };
}
