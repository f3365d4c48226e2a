/**
 * What of a verification is drawn? Its smallest failing cases, played once more, and one run over time. Harness layer.
 *
 * The run is that of the first failing case; where nothing failed, the first run of the first stimulus. A case that the
 * device does not play a second time is told in words only.
 */
import type { Settings } from "../../../lib/pacing/index.js";
import type { TraceEvent } from "../../../lib/trace/index.js";
import type { Device, DeviceAbout } from "../../device.js";
import { packageVersion } from "../../files/package-root.js";
import { showSettings } from "../../files/settings.js";
import type { Counterexample as DrawnCase, VerifyInput } from "./input.js";
import { newReportSink } from "./sink.js";
import { newTally } from "../tally.js";
import type { Counterexample, StimulusResult, VerifyReport } from "../../verify/report.js";
import { judge } from "../../verify/trial.js";
import type { Watch } from "../../verify/verify.js";

type Run = NonNullable<VerifyInput["run"]>;

/** Listens to a verification beside `watch`, and keeps its first run. */
export function gatherRun(
  settings: Settings,
  watch: Watch,
): { readonly watch: Watch; readonly run: () => Run | undefined } {
  const gathered = gather(settings);
  let name: string | undefined;
  let lastMicros = 0;
  let isOver = false;
  return {
    watch: {
      ...watch,
      begins(next, index, of) {
        watch.begins(next, index, of);
        isOver ||= name !== undefined;
        name ??= next;
      },
      event(event) {
        watch.event(event);
        // The next run begins at an earlier time.
        isOver ||= event.atMicros < lastMicros;
        lastMicros = event.atMicros;
        if (!isOver && name !== undefined) gathered.see(event);
      },
    },
    run: () => (name === undefined ? undefined : gathered.run(`The first run of ${name}.`, name)),
  };
}

/** All that the page shows; `run` is drawn where no case failed. The device plays the failing cases again. */
export async function verifyInputOf(
  device: Device,
  report: VerifyReport,
  numbers: object,
  run: Run | undefined,
): Promise<VerifyInput> {
  const counterexamples: DrawnCase[] = [];
  let failing: Run | undefined;
  for (const found of report.counterexamples) {
    const { law, settings, brokenAtMicros: atMicros, from } = found;
    const events = await playedAgain(device, report, found);
    counterexamples.push({ law, says: wordsOf(found, events), atMicros, events });
    if (failing !== undefined || events.length === 0) continue;
    const gathered = gather(settings);
    for (const event of events) gathered.see(event);
    failing = gathered.run(`The smallest case that breaks ${law}, played once more.`, from);
  }
  const shown = failing ?? run;
  return {
    device: deviceWords(report.device),
    laws: report.laws,
    stimuli: report.stimuli.map(({ name, runs, ...result }) => ({ name, runs, says: resultWords(result) })),
    skipped: report.skipped,
    faults: faultsOf(report),
    counterexamples,
    seed: report.seed,
    toleranceMicros: report.toleranceMicros,
    settings: showSettings(report.settings),
    inForce: report.settings,
    versions: { tallystroke: packageVersion(), node: process.version },
    numbers,
    ...(shown === undefined ? {} : { run: shown }),
  };
}

function gather(settings: Settings): {
  see(event: TraceEvent): void;
  run(says: string, source: string): Run;
} {
  const { tally, see } = newTally(() => settings);
  const sink = newReportSink(settings);
  const report = { tally, bounces: 0, verdicts: [], settings: showSettings(settings), inForce: settings };
  return {
    see(event) {
      see(event);
      sink.see(event);
    },
    run: (says, source) => ({ says, report: { ...report, source, versions: {} }, drawn: sink.drawn() }),
  };
}

async function playedAgain(
  device: Device,
  { toleranceMicros }: VerifyReport,
  { settings, stimulus, way }: Counterexample,
): Promise<readonly TraceEvent[]> {
  const judged = await judge({ device, toleranceMicros }, { settings, stimulus, way });
  return judged.ok ? judged.trace : [];
}

function wordsOf({ from, way, evidence, isMinimal }: Counterexample, events: readonly TraceEvent[]): string {
  const small = isMinimal
    ? "Nothing can be left out of it."
    : "It may not be the smallest: the search was cut short.";
  const drawn = events.length === 0 ? " The device did not play it a second time, so it is not drawn." : "";
  return `${evidence}. Found in ${from}, played ${way}. ${small}${drawn}`;
}

function deviceWords({ spec, name, role, clock }: DeviceAbout): string {
  return `${spec}: ${name}, ${role === "in process" ? "in this process" : `a ${role}`}, in ${clock} time`;
}

function faultsOf({ stimuli, isGivenUp }: VerifyReport): string[] {
  const faults = stimuli.flatMap(({ name, fault }) =>
    fault === undefined ? [] : [`${name}: ${fault.message}`],
  );
  return isGivenUp ? [...faults, "the verification was given up from outside"] : faults;
}

function resultWords({ laws, fault }: Pick<StimulusResult, "laws" | "fault">): string {
  const broken = laws.filter(({ answer }) => answer === "broken").map(({ law }) => law);
  if (broken.length > 0) return `broke ${broken.join(", ")}`;
  if (fault !== undefined) return `could not be finished: ${fault.message}`;
  return `${laws.filter(({ answer }) => answer === "holds").length} laws held`;
}
