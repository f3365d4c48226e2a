/**
 * What happens while prime is held? Time goes on as by the clock, and the press grows with it. Harness layer, page.
 *
 * The pacer is not run live: each frame the whole day is reckoned with the press as long as it is by then. So what is
 * seen while it is held is what the address keeps.
 */
import { DAY, type Micros, MINUTE } from "../../../lib/pacing/index.js";
import { many, span } from "../../report/words.js";
import type { Reckoned } from "../reckon.js";
import { type LabState, withinDay, withPress } from "../state.js";
import { byId, kindById } from "./dom.js";
import { holdable } from "./hold.js";

interface Terms {
  readonly state: () => LabState;
  readonly day: () => Reckoned | undefined;
  readonly change: (part: Partial<LabState>) => void;
  readonly begin: () => void;
}

interface Held {
  /** The state before the press, so that a press that grows replaces only itself. */
  readonly before: LabState;
  readonly onMicros: Micros;
  readonly sinceMillis: number;
}

/** Near enough to see each primed stroke. */
const CLOSE: Micros = 2 * MINUTE;

const INVITES =
  "Press and hold with mouse, finger, space bar or Enter: prime strokes go on until you let go, and no contact pays for them.";

export function newPrime({ state, day, change, begin }: Terms): { readonly show: (state: LabState) => void } {
  const says = byId("prime-says");
  const forget = kindById("forget-prime", HTMLButtonElement);
  says.textContent = INVITES;
  let held: Held | undefined;

  const grow = (): void => {
    if (held === undefined) return;
    const { before, onMicros, sinceMillis } = held;
    const longest = day()?.longestPrimeMicros ?? 0;
    const heldMicros = Math.round((performance.now() - sinceMillis) * 1_000);
    const offMicros = withinDay(onMicros + Math.min(heldMicros, longest));
    const { presses } = withPress(before, { onMicros, offMicros });
    change({ presses, atMicros: offMicros });
    says.textContent = `Priming for ${span(Math.round((offMicros - onMicros) / 100_000) * 100_000)}.`;
    if (heldMicros >= longest || offMicros >= DAY) {
      release();
      says.textContent = `Stopped: held for the longest prime, ${span(longest)}. Let go, and press anew.`;
    } else requestAnimationFrame(grow);
  };
  const release = holdable(byId("prime"), {
    press() {
      begin();
      change({ windowMicros: CLOSE });
      document.documentElement.toggleAttribute("data-priming", true);
      held = { before: state(), onMicros: state().atMicros, sinceMillis: performance.now() };
      requestAnimationFrame(grow);
    },
    release() {
      if (held === undefined) return;
      const { onMicros } = held;
      held = undefined;
      document.documentElement.toggleAttribute("data-priming", false);
      says.textContent = `Released after ${span(state().atMicros - onMicros)}.`;
    },
  });
  forget.addEventListener("click", () => {
    change({ presses: [] });
    says.textContent = INVITES;
    byId("prime").focus();
  });
  return {
    show({ presses }) {
      forget.hidden = presses.length === 0;
      const run = day();
      const primed = run === undefined ? 0 : run.strokePrimed.reduce((sum, one) => sum + one, 0);
      byId("primed-so-far").textContent =
        presses.length === 0
          ? ""
          : `${many(presses.length, "press").replace("presss", "presses")} this day, ${many(primed, "primed stroke")}.`;
    },
  };
}
