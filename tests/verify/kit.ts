/**
 * What do tests of the verification share? Settings, devices with a mistake, devices that fail. Test support.
 */
import type { Device, DeviceFault, Job, JobEnd, StartRun } from "../../harness/device.js";
import { modelDevice } from "../../harness/devices/model-device.js";
import { type ModelRun, runModel } from "../../harness/devices/model.js";
import { changed } from "../../harness/stimuli/scenario.js";
import { SECOND, type Settings, type SettingsInput, type State } from "../../lib/pacing/index.js";
import type { StimulusEvent, TraceEvent } from "../../lib/trace/index.js";
import { sound } from "../support/arbitraries.js";

/** Five strokes for three contacts, 120 a minute, a grace of 20 s. */
export const FIVE_THIRDS: Settings = sound({
  strokes: 5,
  contacts: 3,
  leastSpacingMicros: SECOND / 2,
  graceMicros: 20 * SECOND,
});

/** The pacer, whose state is tampered with around each input. */
export function tampered(tamper: {
  readonly before?: (s: State, event: StimulusEvent) => void;
  readonly after?: (s: State, event: StimulusEvent) => void;
}): StartRun {
  return (settings, sink, options) => {
    const run: ModelRun = runModel(settings, sink, options);
    return {
      give(event) {
        tamper.before?.(run.state, event);
        run.give(event);
        tamper.after?.(run.state, event);
      },
      end: run.end,
    };
  };
}

/** The pacer with other settings than it was given. */
export function withSettings(change: Partial<SettingsInput>): StartRun {
  return (settings, sink, options) => runModel(changed(settings, change), sink, options);
}

/** The pacer, of whose answers some are changed or left out. */
export function telling(tell: (event: TraceEvent) => TraceEvent | undefined): StartRun {
  return (settings, sink, options) =>
    runModel(
      settings,
      (event) => {
        const told = tell(event);
        if (told !== undefined) sink(told);
      },
      options,
    );
}

/** The model device, each of whose runs may end in a fault instead. */
export function failing(faultOf: (run: number) => DeviceFault["kind"] | undefined): Device {
  const inner = modelDevice();
  let runs = 0;
  return {
    ...inner,
    run(job: Job): Promise<JobEnd> {
      runs += 1;
      const kind = faultOf(runs);
      if (kind === undefined) return inner.run(job);
      return Promise.resolve({
        ok: false,
        fault: { kind, message: "it said nothing for 5 s", mend: "look at the cable" },
      });
    },
  };
}
