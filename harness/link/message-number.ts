/**
 * How is a number written on a line? Harness layer.
 */

/** A decimal number without sign or leading zeros. */
export function whole(word: string | undefined, least: number, most: number): number | undefined {
  if (word === undefined || !/^(?:0|[1-9]\d{0,9})$/.test(word)) return undefined;
  const value = Number(word);
  return value >= least && value <= most ? value : undefined;
}
