/**
 * How is a stimulus told in words? One line a passage, as a person would read it out. Harness layer.
 */
import { formatDuration } from "../files/quantity.js";
import type { Micros } from "../../lib/pacing/index.js";
import type { Happening, Passage } from "../stimuli/passage.js";
import { many } from "./words.js";

/** The passages, each with the time after the one before. */
export function passageLines(passages: readonly Passage[]): string[] {
  return passages.map((passage, i) => `${after(passage.afterMicros, i)}: ${wordsOf(passage)}`);
}

function after(micros: Micros, index: number): string {
  if (micros === 0) return index === 0 ? "at the start" : "in the same moment";
  return index === 0 ? `at ${formatDuration(micros)}` : `${formatDuration(micros)} later`;
}

function wordsOf(passage: Passage): string {
  if (passage.kind === "event") return happening(passage.event);
  const { kind, count, everyMicros } = passage;
  const things = many(count, kind === "contacts" ? "contact" : "closure");
  const apart = count === 1 ? "" : everyMicros === 0 ? " at once" : `, ${formatDuration(everyMicros)} apart`;
  return kind === "contacts"
    ? things + apart
    : `${things} of ${formatDuration(passage.closedMicros)}${apart}`;
}

function happening(event: Happening): string {
  switch (event.kind) {
    case "inhibit-on":
      return `inhibit on (${event.cause})`;
    case "inhibit-off":
      return `inhibit off (${event.cause})`;
    case "settings": {
      const { strokes, contacts } = event.settings;
      return `settings with ratio ${strokes}:${contacts}, ${event.confirmed ? "confirmed" : "not confirmed"}`;
    }
    case "power-on":
      return `power on, ${event.darkKnown ? "knowing" : "not knowing"} for how long it was off`;
    case "power-off":
      return "power off";
    case "close":
      return "the contact closes";
    case "open":
      return "the contact opens";
    case "wake":
      return "a wake-up that nobody asked for";
    case "contact":
      return "1 contact";
    case "prime-on":
      return "prime pressed";
    case "prime-off":
      return "prime released";
    case "hold-on":
      return "hold on";
    case "hold-off":
      return "hold off";
    case "reset":
      return "reset";
  }
}
