/**
 * What does a report do in the browser? It wakes the rows over time, so that they can be zoomed and panned.
 *
 * Runs in the page, on what stands in it; asks for nothing from anywhere. Without it the page is complete.
 */
import { unpacked } from "../page-data.js";
import { wakeControls } from "./controls.js";
import { startRows } from "./rows.js";
import { newView } from "./view.js";

const text = document.getElementById("drawn")?.textContent ?? "";
const live = document.getElementById("live");
if (live !== null && text !== "") {
  const data = unpacked(text);
  const view = newView(data);
  live.hidden = false;
  document.body.classList.replace("no-live", "is-live");
  startRows(data, view);
  wakeControls(data, view);
}
