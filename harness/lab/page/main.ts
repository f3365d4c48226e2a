/**
 * The lab page: what is set, what is looked at, and who is told of it. Harness layer, page; the only place with state.
 */
import { addressOf, readAddress, type Unread } from "../address.js";
import type { Show } from "../answer.js";
import { FIELD_NAMES, type Texts } from "../fields.js";
import type { Reckoned } from "../reckon.js";
import { type LabState, START, withinDay } from "../state.js";
import { newAddressBar } from "./address-bar.js";
import { newControls } from "./controls.js";
import { byId, make } from "./dom.js";
import { newFigures } from "./figures.js";
import { showNumbers } from "./numbers.js";
import { newPlayer } from "./player.js";
import { newPrime } from "./prime.js";
import { newQuestions } from "./questions.js";
import { newReckoner } from "./reckoner.js";
import { CARE } from "./words.js";

let state: LabState = START;
let unread: readonly Unread[] = [];
let day: Reckoned | undefined;

const bar = newAddressBar((hash) => {
  take(hash);
});

const reckonSoon = newReckoner(({ reckoning, tookMillis, request }) => {
  // An answer to what was set a moment ago says nothing of what is set.
  if (isSet(request.texts)) {
    controls.complain(reckoning.ok ? [] : reckoning.faults);
    byId("figure").toggleAttribute("data-stale", !reckoning.ok);
  }
  if (!reckoning.ok) {
    if (day === undefined) reckonSoon({ texts: START.texts, presses: state.presses });
    return;
  }
  day = reckoning;
  byId("says").textContent = day.says;
  byId("result").textContent = day.brief;
  showNumbers(day);
  controls.offer(day.offers, state.texts.ratio);
  ask(day.answers);
  look();
  const { dataset } = document.documentElement;
  dataset["reckoned"] = addressOf({ ...state, texts: request.texts, presses: request.presses });
  dataset["millis"] = tookMillis.toFixed(1);
});

function isSet(texts: Texts): boolean {
  return FIELD_NAMES.every((name) => texts[name] === state.texts[name]);
}

const figures = newFigures((atMicros) => {
  player.pause();
  change({ atMicros });
});

const controls = newControls((name, text) => {
  forget(name);
  change({ texts: { ...state.texts, [name]: text } });
});

const ask = newQuestions((show: Show) => {
  change({
    texts: { ...state.texts, ...show.texts },
    ...(show.atMicros === undefined ? {} : { atMicros: withinDay(show.atMicros) }),
    ...(show.windowMicros === undefined ? {} : { windowMicros: show.windowMicros }),
  });
  byId("figure").scrollIntoView({ block: "nearest" });
});

const player = newPlayer({
  at: () => state.atMicros,
  change,
});

const prime = newPrime({
  state: () => state,
  day: () => day,
  change,
  begin: () => {
    forget("prime");
    player.pause();
  },
});

/** The one way in which the state changes. */
function change(part: Partial<LabState>): void {
  const isSame = part.texts === undefined && part.presses === undefined;
  for (const name of ["at", "window"]) if (`${name}Micros` in part) forget(name);
  state = { ...state, ...part };
  if (part.texts !== undefined) controls.show(state.texts);
  if (!isSame) reckonSoon({ texts: state.texts, presses: state.presses });
  look();
  bar.write(addressOf(state, unread));
}

function look(): void {
  player.show(state);
  prime.show(state);
  if (day !== undefined) figures.show({ day, atMicros: state.atMicros, windowMicros: state.windowMicros });
}

/** A setting that is made anew is no longer the one that the address could not use. */
function forget(name: string): void {
  if (!unread.some((one) => one.name === name)) return;
  unread = unread.filter((one) => one.name !== name);
  complain();
}

function take(hash: string): void {
  ({ state, unread } = readAddress(hash));
  controls.show(state.texts);
  complain();
  look();
  reckonSoon({ texts: state.texts, presses: state.presses });
}

function complain(): void {
  byId("unread").replaceChildren(
    ...unread.map(({ name, text, fault, mend }) =>
      make(
        "p",
        {},
        `In the address, ${name}=${text} ${fault}. ${mend.charAt(0).toUpperCase()}${mend.slice(1)}. It is kept there as it is.`,
      ),
    ),
  );
}

byId("care").replaceChildren(...CARE.map((text) => make("p", {}, text)));
byId("reset").addEventListener("click", () => {
  unread = [];
  complain();
  change({ ...START });
});
take(location.hash);
