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
import { wrapped } from "../report/words.js";
import { canView, openView, type View } from "./view.js";

/** Most pictures of the view: one in so many ms. The record is not throttled. */
const PICTURE_MILLIS = 100;
const TERMINAL_GONE = "its output has nowhere to go";

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

  const say = (text: string): Promise<void> => {
    early?.push(text);
    if (early !== undefined || view !== undefined || text === "" || isGone) return Promise.resolve();
    return terminal.result(text).catch((error: unknown) => {
      if (!(error instanceof InputError)) throw error;
      isGone = true;
      current.feed?.end(TERMINAL_GONE);
    });
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
  } else void say(lines.start(live.status(), cautions) + found);
  const minute = every(MINUTE, scheduler, () => void say(lines.summary(live.status())));
  const over = after(forMicros ?? Infinity, scheduler, () => {
    live.end("its time is up");
  });
  try {
    const end = await live.ended;
    draw.stop();
    view?.close();
    view = undefined;
    await say(lines.end(live.status(), end));
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
