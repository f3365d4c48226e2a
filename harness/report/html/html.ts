/**
 * How does text become HTML? Harness layer.
 */
const ENTITIES: { readonly [sign: string]: string } = {
  "&": "&amp;",
  "<": "&lt;",
  ">": "&gt;",
  '"': "&quot;",
  "'": "&#39;",
};

/** Text that may stand anywhere in HTML or SVG, also in an attribute. */
export function escaped(text: string): string {
  // Controls but tab and line end are not allowed in XML at all.
  return text.replace(/[\x00-\x08\x0b-\x1f\x7f]/g, "�").replace(/[&<>"']/g, (sign) => ENTITIES[sign] ?? sign);
}

/** A table with a caption, column heads and, in each row, a head of its own. */
export function table(
  caption: string,
  head: readonly string[],
  rows: readonly (readonly string[])[],
): string {
  const heads = head.map((cell) => `<th scope="col">${escaped(cell)}</th>`).join("");
  const body = rows.map(([first = "", ...cells]) => {
    const rest = cells.map((cell) => `<td>${escaped(cell)}</td>`).join("");
    return `<tr><th scope="row">${escaped(first)}</th>${rest}</tr>`;
  });
  return (
    `<div class="scroll" tabindex="0" role="region" aria-label="${escaped(caption)}"><table><caption>${escaped(caption)}</caption>` +
    `<thead><tr>${heads}</tr></thead><tbody>${body.join("")}</tbody></table></div>`
  );
}

/** Data for a script, safe inside a script element. */
export function jsonScript(id: string, value: unknown): string {
  const text = JSON.stringify(value)
    .replace(/</g, "\\u003c")
    .replace(/\u2028/g, "\\u2028")
    .replace(/\u2029/g, "\\u2029");
  return `<script type="application/json" id="${id}">${text}</script>`;
}
