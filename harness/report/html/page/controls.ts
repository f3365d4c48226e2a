/**
 * How does a person move the view? Buttons, a slider, keys, fingers, and links to the moments. Runs in the page.
 *
 * All that a pointer can do, keys can do as well; what is shown is told in words too.
 */
import { many, span } from "../../words.js";
import { bandOf, binsOf, type View } from "../columns.js";
import type { PageData } from "../page-data.js";
import { STANDING } from "../series.js";
import { timeIn } from "../time-axis.js";
import type { ViewOf } from "./view.js";

const ZOOM = 0.5;
const STEP = 0.25;
/** A moment is shown with so many least spacings, or buckets, around it. */
const SPACINGS_AROUND = 120;
const BUCKETS_AROUND = 60;
/** The words wait until the view rests, so that a screen reader is not flooded, in ms. */
const REST_MILLIS = 250;

export function wakeControls(data: PageData, view: ViewOf): void {
  const acts: { readonly [name: string]: () => void } = {
    in: () => {
      view.zoom(ZOOM);
    },
    out: () => {
      view.zoom(1 / ZOOM);
    },
    earlier: () => {
      view.move(-STEP);
    },
    later: () => {
      view.move(STEP);
    },
    whole: view.whole,
  };
  for (const button of document.querySelectorAll<HTMLButtonElement>("[data-act]")) {
    button.addEventListener("click", () => acts[button.dataset["act"] ?? ""]?.());
  }
  const rows = document.getElementById("rows");
  if (rows !== null) {
    wakeKeys(rows, acts, view);
    wakeTouch(rows, view);
    wakeJumps(rows, data, view);
  }
  wakeSlider(data, view);
  wakeWords(data, view);
}

function wakeKeys(rows: HTMLElement, acts: { readonly [name: string]: () => void }, view: ViewOf): void {
  const keys: { readonly [key: string]: (() => void) | undefined } = {
    ArrowLeft: acts["earlier"],
    ArrowRight: acts["later"],
    "+": acts["in"],
    "=": acts["in"],
    "-": acts["out"],
    Home: acts["whole"],
    PageUp: () => {
      view.move(-1);
    },
    PageDown: () => {
      view.move(1);
    },
  };
  rows.addEventListener("keydown", (event) => {
    const act = keys[event.key];
    if (act === undefined || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    act();
  });
}

/** One finger moves; the page still scrolls up and down under it. */
function wakeTouch(rows: HTMLElement, view: ViewOf): void {
  let lastX: number | undefined;
  rows.addEventListener("pointerdown", (event) => {
    lastX = event.pointerType === "touch" ? event.clientX : undefined;
  });
  rows.addEventListener("pointermove", (event) => {
    if (lastX === undefined) return;
    view.move((lastX - event.clientX) / Math.max(1, rows.clientWidth));
    lastX = event.clientX;
  });
  for (const end of ["pointerup", "pointercancel"] as const) {
    rows.addEventListener(end, () => {
      lastX = undefined;
    });
  }
}

function wakeJumps(rows: HTMLElement, { moments, run, cap }: PageData, view: ViewOf): void {
  for (const button of document.querySelectorAll<HTMLButtonElement>("[data-jump]")) {
    const moment = moments.find(({ id }) => id === button.dataset["jump"]);
    if (moment === undefined) continue;
    button.addEventListener("click", () => {
      const half = Math.max((SPACINGS_AROUND * 60_000_000) / cap, BUCKETS_AROUND * run.widthMicros) / 2;
      view.show({ fromMicros: moment.atMicros - half, toMicros: moment.atMicros + half });
      document.getElementById("live")?.scrollIntoView({ block: "start" });
      rows.focus({ preventScroll: true });
    });
  }
}

function wakeSlider({ whole }: PageData, view: ViewOf): void {
  const slider = document.getElementById("position");
  if (!(slider instanceof HTMLInputElement)) return;
  const steps = Number(slider.max);
  const room = (now: View): number => whole.toMicros - whole.fromMicros - (now.toMicros - now.fromMicros);
  slider.addEventListener("input", () => {
    const now = view.now();
    const fromMicros = whole.fromMicros + (Number(slider.value) / steps) * room(now);
    view.show({ fromMicros, toMicros: fromMicros + now.toMicros - now.fromMicros });
  });
  const follow = (now: View): void => {
    const free = room(now);
    slider.disabled = free <= 0;
    slider.value = String(
      free <= 0 ? steps / 2 : Math.round(((now.fromMicros - whole.fromMicros) / free) * steps),
    );
    slider.setAttribute("aria-valuetext", spoken(now));
  };
  view.onChange(follow);
  follow(view.now());
}

function wakeWords(data: PageData, view: ViewOf): void {
  const words = document.getElementById("now");
  let resting: ReturnType<typeof setTimeout> | undefined;
  const tell = (): void => {
    if (words !== null) words.textContent = wordsOf(data, view.now());
  };
  const rows = document.getElementById("rows");
  const note = ({ fromMicros, toMicros }: View): void => {
    // Exactly, for who reads the page by a program.
    rows?.setAttribute("data-shown", `${fromMicros / 1e6} ${toMicros / 1e6}`);
  };
  note(view.now());
  view.onChange((now) => {
    note(now);
    clearTimeout(resting);
    resting = setTimeout(tell, REST_MILLIS);
  });
  tell();
}

function spoken({ fromMicros, toMicros }: View): string {
  return `${timeIn(fromMicros, toMicros - fromMicros)} to ${timeIn(toMicros, toMicros - fromMicros)}`;
}

/** What is in view, in words: counts, the most owed, the least spacing, what stood. */
export function wordsOf({ run }: PageData, now: View): string {
  const bins = binsOf(run, now, 200);
  const sum = (counts: Float64Array): number => counts.reduce((all, count) => all + count, 0);
  const owed = bandOf(run, "owed", now, 1).most[0] ?? NaN;
  const spacing = bandOf(run, "spacing", now, 1).least[0] ?? NaN;
  let stood = 0;
  run.at.forEach((place, i) => {
    const at = place * run.widthMicros;
    if (at + run.widthMicros > now.fromMicros && at <= now.toMicros) stood |= run.columns.stood[i] ?? 0;
  });
  const standing = STANDING.filter((_, i) => (stood & (1 << i)) !== 0);
  return [
    `Shown: ${spoken(now)}, ${span(Math.round(now.toMicros - now.fromMicros))}`,
    many(sum(bins.contacts), "contact"),
    `${many(sum(bins.paced) + sum(bins.primed), "stroke")}, of which ${sum(bins.primed)} primed`,
    ...(Number.isNaN(owed) ? [] : [`at most ${many(owed, "stroke")} owed`]),
    ...(Number.isNaN(spacing) ? [] : [`least time between strokes ${span(spacing)}`]),
    ...(standing.length === 0 ? [] : [`began, stood or ended: ${standing.join(", ")}`]),
  ].join("; ");
}
