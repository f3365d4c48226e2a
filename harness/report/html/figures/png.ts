/**
 * How does a drawing become pixels? At twice its size, with the fonts of this machine. Harness layer.
 */
import { Resvg } from "@resvg/resvg-js";

const TIMES = 2;

/** A PNG of a standalone SVG. Text is drawn with the machine's sans serif; without any font there is none. */
export function pngOf(svg: string): Uint8Array {
  return new Resvg(svg, {
    fitTo: { mode: "zoom", value: TIMES },
    font: { loadSystemFonts: true, defaultFontFamily: "DejaVu Sans" },
  })
    .render()
    .asPng();
}
