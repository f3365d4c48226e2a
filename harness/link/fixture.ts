/**
 * How does a fixture play what only a controller's test port can take, and what did a stroke mean that it saw?
 *
 * Harness layer. Contacts become closures; a stroke is primed while a press of prime is obeyed, as LINK.md, section 6,
 * says, and else paced. What a fixture cannot see, such as a trip, is not reckoned with.
 */
import type { InhibitCause, Micros, Settings } from "../../lib/pacing/index.js";
import { instantSorter, type StimulusEvent } from "../../lib/trace/index.js";
import type { DeviceAbout } from "../device.js";
import { LinkFault } from "./link-fault.js";

const MARGIN_MICROS = 1_000;

/** The stimulus with closures for contacts where the device takes no contacts; throws where they come too close. */
export function playable(
  stimulus: readonly StimulusEvent[],
  settings: Settings,
  { takes }: Pick<DeviceAbout, "takes">,
): readonly StimulusEvent[] {
  if (takes.has("contact") || !stimulus.some(({ kind }) => kind === "contact")) return stimulus;
  const { stuckMicros } = settings;
  const longMicros = 2 * settings.closedMicros + MARGIN_MICROS;
  // Well closed, and not so long that the contact would count as stuck.
  const closedMicros =
    stuckMicros === 0
      ? longMicros
      : Math.min(longMicros, Math.floor((settings.closedMicros + stuckMicros) / 2));
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
  const inOrder: StimulusEvent[] = [];
  const sorter = instantSorter((event) => inOrder.push(event));
  for (const event of played.sort((a, b) => a.atMicros - b.atMicros)) sorter.take(event);
  sorter.end();
  return inOrder;
}

/** Names strokes of unknown cause by the inputs that were done. */
export class StrokeCauses {
  private readonly inhibits = new Set<InhibitCause>();
  private isHeld = false;
  private isDark = false;
  private isPressed = false;
  /** Strokes from then on are primed, and before the end; undefined without a press that is obeyed. */
  private primedFromMicros: Micros | undefined;
  private primedBeforeMicros: Micros = 0;

  /** With `toleranceMicros`, 0 for none, a stroke so soon after its press ended still counts as primed. */
  constructor(
    private settings: Pick<Settings, "longestPrimeMicros">,
    private readonly toleranceMicros: Micros,
  ) {}

  did(event: StimulusEvent): void {
    if (event.kind === "power-on") this.isDark = false;
    else if (this.isDark) return;
    switch (event.kind) {
      case "prime-on":
        this.press(event.atMicros);
        return;
      case "prime-off":
        this.isPressed = false;
        break;
      case "hold-on":
        this.isHeld = true;
        break;
      case "inhibit-on":
        this.inhibits.add(event.cause);
        break;
      case "power-off":
        this.isDark = true;
        this.isPressed = false;
        break;
      case "hold-off":
        this.isHeld = false;
        return;
      case "inhibit-off":
        this.inhibits.delete(event.cause);
        return;
      case "settings":
        this.settings = event.settings;
        return;
      case "power-on":
      case "wake":
      case "close":
      case "open":
      case "contact":
      case "reset":
        return;
    }
    this.endPress(event.atMicros);
  }

  causeAt(atMicros: Micros): "paced" | "primed" {
    if (atMicros < this.primedBeforeMicros) return "primed";
    if (this.primedFromMicros === undefined) return "paced";
    // A stroke that is due as the longest hold ends still belongs to it.
    const lastMicros = this.primedFromMicros + this.settings.longestPrimeMicros + this.toleranceMicros;
    return atMicros <= lastMicros ? "primed" : "paced";
  }

  private press(atMicros: Micros): void {
    if (this.isPressed) return;
    this.isPressed = true;
    if (!this.isHeld && this.inhibits.size === 0) this.primedFromMicros = atMicros;
  }

  private endPress(atMicros: Micros): void {
    if (this.primedFromMicros === undefined) return;
    const lastMicros = this.primedFromMicros + this.settings.longestPrimeMicros;
    this.primedFromMicros = undefined;
    this.primedBeforeMicros = Math.min(atMicros, lastMicros) + this.toleranceMicros;
  }
}
