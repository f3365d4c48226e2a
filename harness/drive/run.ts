/**
 * What happens around a feed while it runs: who is told, and who may end it? Harness layer.
 */
import { DAY, type Micros, MINUTE } from "../../lib/pacing/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import { InputError } from "../files/fault.js";
import type { FeedEnd } from "./end.js";
import type { Feed } from "./feed.js";
import { type FeedLines, jsonLines, plainLines } from "./lines.js";
import { type StartParts, startFeed } from "./start.js";
import type { Trouble } from "./status.js";
import { many, wrapped } from "../report/words.js";
import { canView, openView, type View } from "./view.js";
import { setBlocking } from "./view-screen.js";

/** Most pictures of the view: one in so many ms. The record is not throttled. */
const PICTURE_MILLIS = 100;
const TERMINAL_GONE = "its output has nowhere to go";
/** Most characters that wait for a reader who has stopped reading; what comes then is left out, and counted. */
const BEHIND_MOST = 1_000_000;
/** How long the end waits for such a reader. */
const LAST_WORD_MICROS: Micros = 2_000_000;

/** Where lines go, and what a signal to end does: of the command's terminal. */
export interface FeedTerminal {
  result(text: string): Promise<void>;
  talk(text: string): void;
  onInterrupt?(act: () => void, kind: "asked"): () => void;
}

export interface RunOptions {
  readonly form: "view" | "plain" | "json";
  /** It ends by itself after so long. */
  readonly forMicros: Micros | undefined;
  readonly cautions: readonly string[];
}

/** 0 where it was asked to end, 2 where the reader of its output went away, 3 where it failed. */
export async function runFeed(
  parts: Omit<StartParts, "onChange" | "onEvents" | "onTrouble">,
  { form, forMicros, cautions }: RunOptions,
  terminal: FeedTerminal,
): Promise<0 | 2 | 3> {
  const { scheduler } = parts.clock;
  const isViewed = form === "view" && canView(process.stdin, process.stdout, process.env["TERM"]);
  const lines: FeedLines = form === "json" ? jsonLines : plainLines;
  const current: { feed?: Feed } = {};
  let early: string[] | undefined = [];
  let view: View | undefined;
  let isGone = false;
  let behind = 0;
  let leftOut = 0;

  const say = (text: string): Promise<void> => {
    early?.push(text);
    if (early !== undefined || view !== undefined || text === "" || isGone) return Promise.resolve();
    if (behind > BEHIND_MOST) {
      leftOut += 1;
      return Promise.resolve();
    }
    behind += text.length;
    return terminal.result(text).then(
      () => {
        behind -= text.length;
      },
      (error: unknown) => {
        if (!(error instanceof InputError)) throw error;
        isGone = true;
        current.feed?.end(TERMINAL_GONE);
      },
    );
  };
  const draw = throttled(() => {
    if (current.feed !== undefined) view?.show(current.feed.status());
  }, scheduler);

  const live = await startFeed({
    ...parts,
    onChange: draw.soon,
    onEvents: (events: readonly TraceEvent[]) => {
      const elapsedMicros = current.feed?.status().elapsedMicros ?? 0;
      void say(events.map((event) => lines.event(event, elapsedMicros)).join(""));
    },
    onTrouble: (trouble: Trouble) => {
      void say(lines.trouble(trouble));
    },
  });
  current.feed = live;
  // What the start itself found is told after it.
  const found = early.join("");
  early = undefined;
  const release = terminal.onInterrupt?.(() => {
    live.end("a signal");
  }, "asked");
  if (isViewed) {
    terminal.talk(cautions.map((caution) => `${wrapped(caution, "Caution: ")}\n`).join(""));
    view = openView(process.stdin, process.stdout, live);
  } else {
    // A terminal that is stopped would else stop the feed, and take no signal.
    setBlocking(process.stdout, false);
    void say(lines.start(live.status(), cautions) + found);
  }
  const minute = every(MINUTE, scheduler, () => void say(lines.summary(live.status())));
  const over = after(forMicros ?? Infinity, scheduler, () => {
    live.end("its time is up");
  });
  try {
    const end = await live.ended;
    draw.stop();
    view?.close();
    view = undefined;
    await within(LAST_WORD_MICROS, scheduler, say(lines.end(live.status(), end)));
    if (leftOut > 0) terminal.talk(`Its output was not read: ${many(leftOut, "line")} left out.\n`);
    if (end.kind !== "asked") terminal.talk(`${end.why}\n`);
    return statusOfEnd(end, isGone);
  } finally {
    minute.stop();
    over.stop();
    view?.close();
    release?.();
  }
}

function statusOfEnd(end: FeedEnd, isGone: boolean): 0 | 2 | 3 {
  if (end.kind !== "asked") return 3;
  return isGone ? 2 : 0;
}

type Scheduler = StartParts["clock"]["scheduler"];

/** Does `act` at once, or as soon as the last time is long enough ago. */
function throttled(act: () => void, scheduler: Scheduler): { soon: () => void; stop: () => void } {
  let isWaiting = false;
  let isStopped = false;
  let lastMillis = -Infinity;
  return {
    soon: () => {
      if (isWaiting || isStopped) return;
      isWaiting = true;
      scheduler.schedule(
        () => {
          isWaiting = false;
          lastMillis = scheduler.now();
          if (!isStopped) act();
        },
        Math.max(1, lastMillis + PICTURE_MILLIS - scheduler.now()),
      );
    },
    stop: () => {
      isStopped = true;
    },
  };
}

/** Timers fire at once past 2^31 ms, so that long ones are told in parts. */
function after(micros: Micros, scheduler: Scheduler, act: () => void): { stop: () => void } {
  const dueMillis = scheduler.now() + micros / 1_000;
  const wait = () => scheduler.schedule(look, Math.min(DAY / 1_000, dueMillis - scheduler.now()));
  let pending = wait();
  function look(): void {
    if (scheduler.now() >= dueMillis) act();
    else pending = wait();
  }
  return {
    stop: () => {
      pending.unsubscribe();
    },
  };
}

/** Resolves with the act, or after so long without it. */
async function within(micros: Micros, scheduler: Scheduler, act: Promise<void>): Promise<void> {
  let stop: () => void = () => undefined;
  const late = new Promise<void>((resolve) => {
    stop = after(micros, scheduler, resolve).stop;
  });
  await Promise.race([act, late]);
  stop();
}

function every(micros: Micros, scheduler: Scheduler, act: () => void): { stop: () => void } {
  let pending = scheduler.schedule(tick, micros / 1_000);
  function tick(): void {
    act();
    pending = scheduler.schedule(tick, micros / 1_000);
  }
  return {
    stop: () => {
      pending.unsubscribe();
    },
  };
}
