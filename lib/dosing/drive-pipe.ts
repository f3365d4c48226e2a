/**
 * How do contacts and strokes drive the pipe? By the flow that the contacts tell of. Dosing layer.
 *
 * Between two contacts one contact volume has passed, at an even flow as far as the meter can tell; so what happens
 * between them is known at the second. Strokes wait there until then, and no more of them than that. After the last
 * contact nothing tells of flow: the water is taken to stand still, with what was fed into it.
 */
import type { Pipe } from "./pipe.js";
import { numberIn, type Volume } from "./quantity.js";

/** What is looked at of an event of a trace; its kinds are the trace's. */
export interface PassingEvent {
  readonly kind: string;
  readonly atMicros: number;
  readonly contacts?: number;
}

/** Takes a trace, event by event. */
export interface PipeDriver {
  take(event: PassingEvent): void;
  end(atMicros: number): void;
}

/** Drives `pipe` with the contacts (counted or ignored, not rejected) and the strokes (paced or primed) of a trace. */
export function drivePipe(pipe: Pipe, contactVolume: Volume): PipeDriver {
  const litresPerContact = numberIn(contactVolume, "L");
  let contactMicros: number | undefined;
  let waiting: number[] = [];

  const strokesThatWait = (): void => {
    for (const atMicros of waiting) pipe.stroke(atMicros);
    waiting = [];
  };

  const contact = (atMicros: number, contacts: number): void => {
    if (contactMicros !== undefined && atMicros > contactMicros) {
      const seconds = (atMicros - contactMicros) / 1_000_000;
      pipe.flow(contactMicros, (contacts * litresPerContact) / seconds);
    }
    strokesThatWait();
    pipe.flow(atMicros, 0);
    contactMicros = atMicros;
  };

  return {
    take(event) {
      switch (event.kind) {
        case "counted":
        case "ignored":
          contact(event.atMicros, event.contacts ?? 1);
          return;
        case "paced":
        case "primed":
          waiting.push(event.atMicros);
      }
    },
    end(atMicros) {
      strokesThatWait();
      pipe.advance(atMicros);
    },
  };
}
