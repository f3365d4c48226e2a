/**
 * What does the pacing core say to a run of inputs? One driver in ES5, for every engine and for lib/pacing itself.
 *
 * Test support. It plays inputs, wake-ups and power cuts, and tells state and effects after every step, as JSON; so two
 * pacing cores are the same if and only if they tell the same text.
 */
import { runInThisContext } from "node:vm";
import fc from "fast-check";
import type * as pacing from "../../lib/pacing/index.js";
import type { StimulusEvent } from "../../lib/trace/index.js";
import { anySettings, anyStimulus } from "../support/arbitraries.js";

/** What is played: settings that are sound, as JSON keeps them, and a stimulus. */
export interface Run {
  readonly settings: pacing.Settings;
  readonly events: readonly StimulusEvent[];
}

export const anyRun: fc.Arbitrary<Run> = fc.record({ settings: anySettings, events: anyStimulus });

/** What sound settings carry beside what a user may set. */
const DERIVED = /^strokesPerContact|^guardInterval|^guardTolerance/;

/** Any settings, sound or not, that JSON can carry. */
export const anySettingsInput: fc.Arbitrary<unknown> = fc.oneof(
  fc
    .tuple(
      anySettings,
      fc.dictionary(fc.constantFrom("strokes", "cadence", "graceMicros", "odd"), fc.jsonValue(), {
        maxKeys: 2,
      }),
    )
    .map(([settings, over]) => ({
      ...Object.fromEntries(Object.entries(settings).filter(([name]) => !DERIVED.test(name))),
      ...over,
    })),
  fc.jsonValue(),
);

/** The wake-ups between two inputs that are played at most: a run ends soon, whatever the settings. */
const WAKES_MOST = 400;

/** The driver: `play(core, run)` gives one line for every step. */
export const PLAY = `
function play(core, run) {
  var told = [];
  var state = core.newState(run.settings, 0);
  var bytes;
  function tell(effects) {
    told.push(JSON.stringify([state, effects], function (key, value) { return key === "settings" ? undefined : value; }));
  }
  function give(input) {
    var before = JSON.stringify(state);
    var next = core.step(state, input);
    if (JSON.stringify(state) !== before) told.push("the pure step changed its state");
    if (next.wakeAtMicros !== next.state.wakeAtMicros) told.push("two wake-ups");
    state = next.state;
    tell(next.effects);
  }
  function wakeUntil(untilMicros) {
    for (var i = 0; i < ${WAKES_MOST} && state.wakeAtMicros <= untilMicros; i++) give({ kind: "wake", atMicros: state.wakeAtMicros });
  }
  function powerOn(event) {
    var dark = event.darkKnown ? event.atMicros - state.nowMicros : core.DARK_UNKNOWN;
    var restored = core.restoreSnapshot(state.settings, bytes, event.atMicros, dark);
    told.push(String(restored.ok));
    state = restored.state;
    tell(restored.effects);
  }
  for (var i = 0; i < run.events.length; i++) {
    var event = run.events[i];
    if (event.kind === "power-on") { powerOn(event); continue; }
    wakeUntil(event.atMicros);
    if (event.kind === "power-off") {
      give({ kind: "wake", atMicros: event.atMicros });
      bytes = core.takeSnapshot(state);
      told.push(Array.prototype.slice.call(bytes).join(" "), String(core.crc16(bytes, 7)));
    } else give(event);
  }
  for (var ticks = 0, at = 0; at < 9; at++) told.push(String((ticks = core.unwrapTicks(ticks, at * 9999, 16))));
  return told;
}
`;

/** The driver in Node. */
export const play = runInThisContext(`(function () { ${PLAY} return play; })()`) as (
  core: typeof pacing,
  run: Run,
) => string[];
