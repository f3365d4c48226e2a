/**
 * How does one go through the day? A slider over its seconds, play and pause, a width to look at. Harness layer, page.
 */
import { DAY, type Micros, SECOND } from "../../../lib/pacing/index.js";
import { clock } from "../../report/words.js";
import { type LabState, WINDOWS, withinDay } from "../state.js";
import { byId, kindById, make } from "./dom.js";

export interface Player {
  readonly show: (state: LabState) => void;
  readonly pause: () => void;
}

interface Terms {
  readonly at: () => Micros;
  readonly change: (part: Partial<LabState>) => void;
}

export function newPlayer({ at, change }: Terms): Player {
  const time = kindById("time", HTMLInputElement);
  const play = byId("play");
  const pace = kindById("pace", HTMLSelectElement);
  const width = kindById("window", HTMLSelectElement);
  width.append(...WINDOWS.map(({ micros, shown }) => make("option", { value: String(micros) }, shown)));
  let lastMillis: number | undefined;

  const pause = (): void => {
    lastMillis = undefined;
    play.textContent = "Play";
  };
  const frame = (nowMillis: number): void => {
    if (lastMillis === undefined) return;
    const gone = Math.min(100, nowMillis - lastMillis) * 1_000 * Number(pace.value);
    lastMillis = nowMillis;
    change({ atMicros: withinDay(at() + gone) });
    if (at() >= DAY) pause();
    else requestAnimationFrame(frame);
  };
  play.addEventListener("click", () => {
    if (lastMillis !== undefined) {
      pause();
      return;
    }
    if (at() >= DAY) change({ atMicros: 0 });
    lastMillis = performance.now();
    play.textContent = "Pause";
    requestAnimationFrame(frame);
  });
  time.addEventListener("input", () => {
    pause();
    change({ atMicros: withinDay(Number(time.value) * SECOND) });
  });
  width.addEventListener("change", () => {
    change({ windowMicros: Number(width.value) });
  });
  return {
    pause,
    show({ atMicros, windowMicros }) {
      time.value = String(Math.round(atMicros / SECOND));
      time.setAttribute("aria-valuetext", clock(atMicros));
      width.value = String(windowMicros);
    },
  };
}
