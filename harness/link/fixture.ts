/**
 * How does a fixture play what only a controller's test port can take? Contacts as closures. Harness layer.
 */
import type { Settings } from "../../lib/pacing/index.js";
import type { StimulusEvent } from "../../lib/trace/index.js";
import type { DeviceAbout } from "../devices/device.js";
import { LinkFault } from "./link-fault.js";

const MARGIN_MICROS = 1_000;

/** The stimulus with closures for contacts where the device takes no contacts; throws where they come too close. */
export function playable(
  stimulus: readonly StimulusEvent[],
  settings: Settings,
  { takes }: DeviceAbout,
): readonly StimulusEvent[] {
  if (takes.has("contact") || !stimulus.some(({ kind }) => kind === "contact")) return stimulus;
  const closedMicros = 2 * settings.closedMicros + MARGIN_MICROS;
  const openMicros = 2 * settings.openMicros + MARGIN_MICROS;
  const played: StimulusEvent[] = [];
  let openFromMicros = -Infinity;
  for (const event of stimulus) {
    if (event.kind !== "contact") {
      played.push(event);
      continue;
    }
    if (event.atMicros < openFromMicros) {
      throw new LinkFault(
        "refused",
        `contacts at ${event.atMicros / 1e6} s and before are too close to be played as closures`,
        `leave at least ${(closedMicros + openMicros) / 1e6} s between contacts`,
      );
    }
    openFromMicros = event.atMicros + closedMicros + openMicros;
    played.push({ kind: "close", atMicros: event.atMicros });
    played.push({ kind: "open", atMicros: event.atMicros + closedMicros });
  }
  // Stable: what was in the documented order stays so.
  return played.sort((a, b) => a.atMicros - b.atMicros);
}
