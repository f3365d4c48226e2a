/**
 * Where are the day's numbers read? In a table, so that no figure need be seen. Harness layer, page.
 */
import type { Reckoned } from "../reckon.js";
import { byId, make } from "./dom.js";

export function showNumbers({ numbers }: Reckoned): void {
  byId("numbers").replaceChildren(
    ...numbers.map(({ name, label, shown, value }) =>
      make(
        "tr",
        {},
        make("th", { scope: "row" }, label),
        make("td", { "data-number": name, "data-value": String(value) }, shown),
      ),
    ),
  );
}
