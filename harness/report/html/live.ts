/**
 * The controls of the rows over time, as they stand in the page until its script wakes them. Harness layer.
 */
import { escaped } from "./html.js";

const KEYS =
  "Keys: left and right move, plus and minus zoom, Home shows the whole run. With a mouse, drag over a stretch to zoom in.";

export function liveRows(alt: string): string {
  const button = (act: string, label: string): string =>
    `<button type="button" data-act="${act}">${label}</button>`;
  return [
    '<div class="live" id="live" hidden>',
    '<div class="tools" role="group" aria-label="View of the rows">',
    button("in", "Zoom in"),
    button("out", "Zoom out"),
    button("earlier", "Earlier"),
    button("later", "Later"),
    button("whole", "Whole run"),
    '<label>Position <input type="range" id="position" min="0" max="1000" step="1" value="500"></label>',
    "</div>",
    '<p class="now" id="now" role="status"></p>',
    `<div class="rows" id="rows" tabindex="0" role="group" aria-label="Rows over time. ${escaped(alt)}" aria-describedby="keys"></div>`,
    '<p class="readout muted" id="readout" aria-hidden="true"></p>',
    `<p class="muted" id="keys">${KEYS}</p>`,
    "</div>",
  ].join("\n");
}
