/**
 * How do the figures come onto the page and follow what is looked at? Harness layer, page.
 *
 * Strips are drawn anew when the day changes; the closer look also when the moment does. At most once a frame.
 */
import { DAY, type Micros } from "../../../lib/pacing/index.js";
import { showNumber } from "../../../lib/dosing/index.js";
import { clock } from "../../report/words.js";
import { countUpTo, straightAt, valueAt } from "../day.js";
import { flowAt } from "../patterns.js";
import type { Reckoned } from "../reckon.js";
import { withinDay } from "../state.js";
import { byId, make } from "./dom.js";
import { drawCloser } from "./draw/closer.js";
import { type Drawn, drawDay } from "./draw/day.js";
import { MARGIN_LEFT, MARGIN_RIGHT } from "./draw/strip.js";

export interface View {
  readonly day: Reckoned;
  readonly atMicros: Micros;
  readonly windowMicros: Micros;
}

export interface Figures {
  readonly show: (view: View) => void;
}

/** Draws into the page; `scrub` is told the moment that is pointed at in the day. */
export function newFigures(scrub: (atMicros: Micros) => void): Figures {
  const whole = byId("day-strips");
  const close = byId("close-strips");
  const dayLine = byId("day-line");
  let drawn: { readonly day: Reckoned; readonly width: number } | undefined;
  let wanted: View | undefined;
  let isAsked = false;

  const draw = (): void => {
    isAsked = false;
    if (wanted === undefined) return;
    const { day, atMicros } = wanted;
    const width = Math.max(280, Math.floor(whole.clientWidth));
    if (drawn?.day !== day || drawn.width !== width) {
      put(whole, drawDay({ document, width }, day));
      drawn = { day, width };
    }
    dayLine.style.left = `${MARGIN_LEFT + (atMicros / DAY) * (width - MARGIN_LEFT - MARGIN_RIGHT)}px`;
    put(close, drawCloser({ document, width }, day, lookOf(wanted)));
    byId("close-line").style.left =
      `${MARGIN_LEFT + ((atMicros - lookOf(wanted).fromMicros) / wanted.windowMicros) * (width - MARGIN_LEFT - MARGIN_RIGHT)}px`;
    byId("at-words").textContent = momentWords(wanted);
  };
  const ask = (): void => {
    if (!isAsked) requestAnimationFrame(draw);
    isAsked = true;
  };
  addEventListener("resize", ask);
  followPointer(whole, scrub);
  return {
    show(view) {
      wanted = view;
      ask();
    },
  };
}

function put(place: HTMLElement, strips: readonly Drawn[]): void {
  place.replaceChildren(
    ...strips.map(({ id, title, unit, plot }) => {
      const name = make("p", { class: "strip-title" }, make("b", {}, title), ` ${unit}`);
      return make("div", { class: "strip", "data-strip": id }, name, plot as HTMLElement);
    }),
  );
}

/** The moment in the middle, but never outside the day. */
function lookOf({ atMicros, windowMicros }: View): { fromMicros: Micros; untilMicros: Micros } {
  const fromMicros = Math.round(Math.min(DAY - windowMicros, Math.max(0, atMicros - windowMicros / 2)));
  return { fromMicros, untilMicros: fromMicros + windowMicros };
}

function momentWords({ day, atMicros }: View): string {
  const contacts = countUpTo(day.contactMicros, atMicros);
  const strokes = countUpTo(day.strokeMicros, atMicros);
  const error = valueAt(day.error, atMicros);
  return (
    `${clock(atMicros)}: ${showNumber(flowAt(day.stretches, atMicros), 3)} L/min; ${contacts.toLocaleString("en-US")} contacts and ` +
    `${strokes.toLocaleString("en-US")} strokes so far, ${valueAt(day.owed, atMicros)} owed, ` +
    `dose error ${showNumber(error, 3).replace("-", "−")} strokes, ${showNumber(straightAt(day.mgPerLitre, atMicros), 3)} mg/L after mixing.`
  );
}

function followPointer(place: HTMLElement, scrub: (atMicros: Micros) => void): void {
  const follow = (event: PointerEvent): void => {
    const { left, width } = place.getBoundingClientRect();
    const part = (event.clientX - left - MARGIN_LEFT) / (width - MARGIN_LEFT - MARGIN_RIGHT);
    scrub(withinDay(part * DAY));
  };
  place.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    place.setPointerCapture(event.pointerId);
    follow(event);
  });
  place.addEventListener("pointermove", (event) => {
    if (place.hasPointerCapture(event.pointerId)) follow(event);
  });
}
