/**
 * How does the state get into the browser's address and out of it? Harness layer, page.
 */
import { byId } from "./dom.js";

/** Browsers refuse an address that changes too often. */
const WRITE_MILLIS = 300;

/** `take` is told the part after the `#` when a person changes the address. */
export function newAddressBar(take: (hash: string) => void): { readonly write: (address: string) => void } {
  let wanted: string | undefined;
  let timer: ReturnType<typeof setTimeout> | undefined;
  const flush = (): void => {
    clearTimeout(timer);
    timer = undefined;
    if (wanted !== undefined) history.replaceState(null, "", `#${wanted}`);
    wanted = undefined;
  };
  addEventListener("hashchange", () => {
    wanted = undefined;
    take(location.hash);
  });
  addEventListener("pagehide", flush);
  byId("copy").addEventListener("click", () => {
    flush();
    const said = byId("copied");
    navigator.clipboard.writeText(location.href).then(
      () => {
        said.textContent = "Copied: whoever opens it sees this state.";
      },
      () => {
        said.textContent = "The browser does not let the page copy: take the address from the address bar.";
      },
    );
  });
  return {
    write(address) {
      wanted = address;
      timer ??= setTimeout(flush, WRITE_MILLIS);
    },
  };
}
