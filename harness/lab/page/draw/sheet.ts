/**
 * How do strips become one picture file? Stacked under their titles, on paper of its own. Harness layer, page.
 *
 * No style from elsewhere, no script, no font: it shows the same wherever a picture shows, in light and dark.
 */
import type { Drawn } from "./day.js";
import { MARGIN_LEFT } from "./strip.js";

/** The colours that strips name. */
const COLOURS: { readonly [name: string]: string } = {
  paper: "#fbfaf6",
  ink: "#20242a",
  muted: "#565d67",
  rule: "#e0dcd1",
  water: "#1f6a9c",
  stroke: "#a8480f",
  primed: "#7c3aa0",
  owed: "#8a6a00",
  error: "#3d5a3f",
  mixed: "#0b6e6e",
  alarm: "#b01e1e",
};
const TITLE_HEIGHT = 20;
const PADDING = 14;
const FONT = "font-family='system-ui, Liberation Sans, sans-serif' font-size='12'";

/** An SVG of strips; `says` tells those who do not see it what it shows. */
export function sheetOf(strips: readonly Drawn[], width: number, says: string): string {
  let top = PADDING;
  const parts = strips.map(({ title, unit, plot }) => {
    const height = Number(plot.getAttribute("height"));
    const name = `<text x="${PADDING + MARGIN_LEFT}" y="${top + 13}" fill="var(--muted)"><tspan font-weight="600" fill="var(--ink)">${escaped(title)}</tspan>  ${escaped(unit)}</text>`;
    plot.setAttribute("x", String(PADDING));
    plot.setAttribute("y", String(top + TITLE_HEIGHT));
    top += TITLE_HEIGHT + height;
    return `${name}\n${plot.outerHTML}`;
  });
  const [w, h] = [width + 2 * PADDING, Math.ceil(top + PADDING)];
  const drawing = [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${w} ${h}" width="${w}" height="${h}" role="img" ${FONT}>`,
    `<title>${escaped(says)}</title>`,
    `<rect width="${w}" height="${h}" fill="var(--paper)"/>`,
    ...parts,
    "</svg>",
    "",
  ].join("\n");
  return drawing.replace(/var\(--(\w+)\)/g, (_, name: string) => COLOURS[name] ?? "currentColor");
}

function escaped(text: string): string {
  return text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;");
}
