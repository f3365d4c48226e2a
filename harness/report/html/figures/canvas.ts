/**
 * How do charts become one static drawing? Charts by the chart library, stacked on one axis, as SVG text. Harness layer.
 */
import * as Plot from "@observablehq/plot";
import { parseHTML } from "linkedom";
import { escaped } from "../html.js";
import { onPaper } from "../theme.js";

/** One drawing of a report. */
export interface Figure {
  /** Names its file and its place in the page. */
  readonly id: string;
  readonly title: string;
  /** What it shows, for who does not see it. */
  readonly alt: string;
  /** SVG that takes its colours from the page. */
  readonly svg: string;
}

/** Space for the labels of the vertical axis, and at the right, px. */
export const MARGIN_LEFT = 58;
export const MARGIN_RIGHT = 18;
const FONT = "system-ui, 'Segoe UI', 'Noto Sans', 'DejaVu Sans', Helvetica, Arial, sans-serif";

// Compiled without the types of a browser, so it is of no type that the chart library names.
const { document } = parseHTML("<!doctype html><html><body></body></html>") as { readonly document: unknown };

/** One chart as SVG text, without the styles that the library adds for its own page. */
export function chart(options: Plot.PlotOptions): string {
  const drawn: unknown = Plot.plot({
    document: document as never,
    marginLeft: MARGIN_LEFT,
    marginRight: MARGIN_RIGHT,
    ...options,
    style: { fontFamily: "inherit" },
  });
  return (
    (drawn as { readonly outerHTML: string }).outerHTML
      .replace(/<style>.*?<\/style>/gs, "")
      .replace(/ class="plot-[^"]*"/g, "")
      // Names of kinds of marks, which no reader is helped by; the drawing as a whole is described.
      .replace(/ aria-(?:label|hidden)="[^"]*"/g, "")
      .replace(/="[^"]*"/g, (value) => value.replace(/(\d\.\d{2})\d+/g, "$1"))
  );
}

/** Charts of one width, one under the other. */
export function stacked(
  id: string,
  width: number,
  charts: readonly { readonly svg: string; readonly height: number }[],
): string {
  let top = 0;
  const parts = charts.map(({ svg, height }) => {
    const placed = svg.replace(/^<svg/, `<svg x="0" y="${top}"`);
    top += height;
    return placed;
  });
  return (
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${top}" width="${width}" height="${top}" ` +
    `font-family="${escaped(FONT)}" font-size="11" color="var(--ink)" fill="currentColor">` +
    `${hatching(id)}${ownClips(parts.join(""), id)}</svg>`
  );
}

/** The library counts its clip paths through the whole process; a drawing counts its own. */
function ownClips(svg: string, id: string): string {
  const clips = [...new Set(svg.match(/plot-clip-\d+/g))];
  return svg.replace(/plot-clip-\d+/g, (clip) => `${id}-clip-${clips.indexOf(clip)}`);
}

/** Lines for what must be told apart without colour. */
function hatching(id: string): string {
  const pattern = (name: string, colour: string, degrees: number): string =>
    `<pattern id="${id}-${name}" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(${degrees})">` +
    `<rect width="5" height="5" fill="var(--paper)"/><rect width="2.5" height="5" fill="var(--${colour})"/></pattern>`;
  return `<defs>${pattern("prime", "prime", 45)}${pattern("bad", "bad", -45)}${pattern("shed", "bad", 45)}</defs>`;
}

/** A file of its own: colours, background, title and description inside. */
export function standalone({ title, alt, svg }: Figure): string {
  const [, width = "", height = ""] = /viewBox="0 0 (\d+) (\d+)"/.exec(svg) ?? [];
  return onPaper(
    svg.replace(
      /^(<svg[^>]*>)/,
      `$1<title>${escaped(title)}</title><desc>${escaped(alt)}</desc>` +
        `<rect width="${width}" height="${height}" fill="var(--paper)"/>`,
    ),
  );
}

/** In a page: an image with its description. */
export function inPage({ id, title, alt, svg }: Figure): string {
  return svg.replace(
    /^<svg/,
    `<svg role="img" aria-label="${escaped(`${title}. ${alt}`)}" data-figure="${escaped(id)}"`,
  );
}
