/**
 * What would be played, and for how long? The words before a verification, and its list of scenarios. Harness layer.
 */
import type { Settings } from "../../lib/pacing/index.js";
import type { DeviceAbout } from "../device.js";
import { showSettings } from "../files/settings.js";
import { deviceWords } from "../report/verify-summary.js";
import { many, span, wrapped } from "../report/words.js";
import { plan, plannedMicros, type PlanRequest } from "../verify/plan.js";
import { waysFor } from "../verify/trial.js";
import { defaultShrinkLimits } from "../verify/verify.js";

/** Told before it starts. */
export function beforeWords(
  about: DeviceAbout,
  settings: Settings,
  request: PlanRequest,
  seed: number,
): string {
  const planned = plan(about, settings, request);
  const micros = span(plannedMicros(planned, about));
  const count = planned.stimuli.reduce((sum, each) => sum + each.count, 0);
  const what = count === 1 ? "1 stimulus" : `${count} stimuli`;
  const { triesMost, deviceMicrosMost } = defaultShrinkLimits(about);
  const time =
    about.clock === "virtual"
      ? `${what} in virtual time, as fast as it can be computed`
      : `${what} take ${micros} of the device's time if nothing breaks; shrinking what breaks at most ` +
        `${many(triesMost, "run")} and ${span(deviceMicrosMost)} more`;
  return `Seed ${seed}. Device ${deviceWords(about)}. ${time}.`;
}

/** One scenario a paragraph: name, time on the device's clock, what it is; and why it cannot be played. */
export function listText(about: DeviceAbout, settings: Settings, request: PlanRequest): string {
  const planned = plan(about, settings, request);
  const shown = showSettings(settings);
  const ways = waysFor(about).length;
  const line = (name: string, time: string, words: string): string =>
    wrapped(words, `  ${name.padEnd(28)}${time.padEnd(14)}`, " ".repeat(4));
  return [
    wrapped(
      `Scenarios at ratio ${shown["ratio"]} and cap ${shown["cap"]} on ${deviceWords(about)}. The times are those of one ` +
        `run on the device's own clock; each is played in ${many(ways, "way")}.`,
    ),
    ...planned.stimuli.map(({ name, lengthMicros, about: words }) => line(name, span(lengthMicros), words)),
    ...planned.skipped.map(({ name, reason }) => line(name, "skipped", reason)),
  ].join("\n");
}
