/**
 * When is a button held? From a press with mouse, touch or keyboard until it is let go, or anything else happens.
 *
 * Harness layer, page. In doubt the release wins: the focus goes, the page is hidden, the touch is taken away.
 */
export interface Hold {
  readonly press: () => void;
  readonly release: () => void;
}

/** Makes a button one that is held. Gives what releases it from elsewhere. */
export function holdable(button: HTMLElement, { press, release }: Hold): () => void {
  let isHeld = false;
  const begin = (): void => {
    if (isHeld) return;
    isHeld = true;
    button.setAttribute("aria-pressed", "true");
    press();
  };
  const end = (): void => {
    if (!isHeld) return;
    isHeld = false;
    button.setAttribute("aria-pressed", "false");
    release();
  };
  button.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    button.setPointerCapture(event.pointerId);
    begin();
  });
  for (const type of ["pointerup", "pointercancel", "lostpointercapture", "blur"]) {
    button.addEventListener(type, end);
  }
  button.addEventListener("keydown", (event) => {
    if (event.key === " " || event.key === "Enter") {
      event.preventDefault();
      if (!event.repeat) begin();
    } else if (event.key === "Escape") end();
  });
  button.addEventListener("keyup", (event) => {
    if (event.key === " " || event.key === "Enter") end();
  });
  // A long touch would open a menu, and the release would never come.
  button.addEventListener("contextmenu", (event) => {
    event.preventDefault();
  });
  addEventListener("blur", end);
  addEventListener("pagehide", end);
  document.addEventListener("visibilitychange", end);
  return end;
}
