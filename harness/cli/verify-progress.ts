/**
 * How far is it, and what does the device do just now? A live line on standard error, for people only. Harness layer.
 */
import { SingleBar } from "cli-progress";
import type { TraceEvent } from "../../lib/trace/index.js";
import type { Watch } from "../verify/verify.js";

const NO_WATCH: Watch = { begins: () => undefined, event: () => undefined, shrinks: () => undefined };
/** Events between two looks at the line: it is drawn far less often. */
const EVERY_EVENTS = 64;

export interface VerifyProgress {
  readonly watch: Watch;
  stop(): void;
}

/** Starts the line; nothing where nobody looks. */
export function startVerifyProgress(quiet: boolean): VerifyProgress {
  if (quiet || !process.stderr.isTTY) return { watch: NO_WATCH, stop: () => undefined };
  const bar = new SingleBar({
    format: "  {value}/{total} {what}: {contacts} contacts, {strokes} strokes, {owed} owed",
    stream: process.stderr,
    clearOnComplete: true,
    linewrap: false,
    fps: 8,
  });
  let isStarted = false;
  let events = 0;
  const now = { what: "", contacts: 0, strokes: 0, owed: 0 };
  const clear = (): void => {
    Object.assign(now, { contacts: 0, strokes: 0, owed: 0 });
  };
  return {
    watch: {
      begins(name, index, of) {
        clear();
        now.what = name;
        if (!isStarted) bar.start(of, index, now);
        isStarted = true;
        bar.update(index + 1, now);
      },
      event(event: TraceEvent) {
        if (event.kind === "counted") now.contacts += event.contacts;
        else if (event.kind === "paced" || event.kind === "primed") now.strokes += 1;
        else if (event.kind === "status") now.owed = event.owed;
        events += 1;
        if (events % EVERY_EVENTS === 0 || event.kind === "paced") bar.update(now);
      },
      shrinks(law, tries, passages) {
        clear();
        now.what = `shrinking ${law}, ${passages} events after ${tries} runs`;
        bar.update(now);
      },
    },
    stop() {
      if (isStarted) bar.stop();
    },
  };
}
