/**
 * What does a verification tell a person? The verdict first, then laws, stimuli, faults and counterexamples, in 80
 * columns; meaning never by colour alone. Harness layer.
 */
import type { DeviceAbout } from "../device.js";
import { formatDuration } from "../files/quantity.js";
import { showSettings } from "../files/settings.js";
import type { Counterexample, LawResult, StimulusResult, VerifyReport } from "../verify/report.js";
import { passageLines } from "./verify-words.js";
import { clock, many, span, whole, wrapped } from "./words.js";

/** How a counterexample was kept, and is played again. */
export interface Kept {
  readonly found: Counterexample;
  readonly file: string;
  readonly command: string;
}

/** The whole summary, without a last line end. */
export function verifySummary(report: VerifyReport, kept: readonly Kept[]): string {
  const parts = [
    wrapped(verdictSentence(report)),
    about(report),
    ["Laws", ...report.laws.map(lawLine)].join("\n"),
    ["Stimuli", ...report.stimuli.map(stimulusLine), ...skippedLines(report)].join("\n"),
    faults(report),
    ...kept.map(counterexample),
    wrapped(
      "A bench run tells what this controller did under these inputs. It is no measurement of water; local codes, " +
        "the product labels and a licensed operator or engineer decide.",
    ),
  ];
  return parts.filter((part) => part !== "").join("\n\n");
}

/** What was found, in one sentence. */
export function verdictSentence({ laws, stimuli, isGivenUp }: VerifyReport): string {
  const named = (of: readonly LawResult[]): string => {
    const names = of.map(({ number, law }) => `${number} (${law})`);
    return `${of.length === 1 ? "law" : "laws"} ${names.join(", ").replace(/, ([^,]*)$/, " and $1")}`;
  };
  const broken = laws.filter(({ answer }) => answer === "broken");
  if (broken.length > 0) return `BROKEN: the device breaks ${named(broken)}.`;
  const fault = stimuli.find((each) => each.fault !== undefined)?.fault;
  if (isGivenUp) return "NO VERDICT: it was stopped before the end.";
  if (fault !== undefined) return `NO VERDICT: the device failed (${fault.kind}): ${fault.message}.`;
  const open = laws.filter(({ answer }) => answer === "cannot tell");
  if (open.length > 0) return `NO VERDICT: of ${named(open)} it cannot be told whether the device keeps it.`;
  const held = laws.filter(({ answer }) => answer === "holds");
  if (held.length === 0) return "NO VERDICT: nothing was seen by which any law could be judged.";
  const unseen = laws.length - held.length;
  return unseen === 0
    ? `HOLDS: the device keeps all ${laws.length} laws in all that was played.`
    : `HOLDS: the device keeps the ${many(held.length, "law")} that could be seen; ${unseen} could not.`;
}

/** `mock (virtual controller), controller, virtual time`. */
export function deviceWords({ spec, name, role, clock: runs }: DeviceAbout): string {
  return `${spec} (${name}), ${role}, ${runs === "virtual" ? "virtual time" : "real time"}`;
}

function about({ device, settings, toleranceMicros, seed, deviceMicros, repeats }: VerifyReport): string {
  const shown = showSettings(settings);
  const again = repeats === 0 ? "" : `, ${many(repeats, "run")} begun again after a fault`;
  return [
    wrapped(`Device ${deviceWords(device)}`),
    wrapped(
      `Ratio ${shown["ratio"]} strokes to contacts, at most ${shown["cap"]} strokes a minute, ` +
        `cadence ${shown["cadence"]}, grace ${shown["grace"]}, at most ${shown["owed-limit"]} owed, guard ${shown["guard"]}`,
    ),
    wrapped(
      `Timing tolerance ${formatDuration(toleranceMicros)}, seed ${seed}, ${span(deviceMicros)} of device time${again}`,
    ),
  ].join("\n");
}

function lawLine({ law, number, answer, margin, unit, checked, ...more }: LawResult): string {
  const { evidence = "", brokenAtMicros = 0, stimulus } = more;
  const name = `  ${String(number).padStart(2)} ${law.padEnd(13)}`;
  const where = stimulus === undefined ? "" : ` in ${stimulus}`;
  if (answer === "broken") return wrapped(`BROKEN${where} at ${clock(brokenAtMicros)}: ${evidence}`, name);
  if (answer === "cannot tell") return wrapped(`CANNOT TELL: ${evidence}`, name);
  if (answer === "not seen") return wrapped(`not seen: ${evidence}`, name);
  const by = margin === null ? "" : `, margin ${marginText(margin, unit)}`;
  return wrapped(`holds${by}, looked at ${whole(checked)} times`, name);
}

function marginText(margin: number, unit: string): string {
  if (unit === "µs") return span(margin);
  return `${whole(margin)} ${margin === 1 ? unit.replace(/s$/, "") : unit}`;
}

const NAME_WIDTH = 28;

function stimulusLine({ name, runs, laws, own, repeats, fault }: StimulusResult): string {
  const broken = laws.filter(({ answer }) => answer === "broken").map(({ law }) => law);
  const shown = laws.filter(({ answer }) => answer === "holds").length;
  const found =
    fault !== undefined
      ? `FAILED (${fault.kind})`
      : broken.length > 0
        ? `BROKEN: ${broken.join(", ")}`
        : `${many(shown, "law")} shown, none broken`;
  const times = runs === 1 ? "" : ` in ${whole(runs)} runs`;
  const again = repeats === 0 ? "" : `; ${many(repeats, "run")} begun again`;
  const has = own.length === 0 ? "" : "; with settings of its own";
  return wrapped(`${found}${times}${again}${has}`, `  ${name.padEnd(NAME_WIDTH)}`);
}

function skippedLines({ skipped }: VerifyReport): string[] {
  return skipped.map(({ name, reason }) => wrapped(`skipped: ${reason}`, `  ${name.padEnd(NAME_WIDTH)}`));
}

function faults({ stimuli }: VerifyReport): string {
  const lines = stimuli.flatMap(({ name, fault }) =>
    fault === undefined
      ? []
      : [wrapped(`${fault.kind}: ${fault.message}. Mend: ${fault.mend}.`, `  in ${name}: `, "    ")],
  );
  return lines.length === 0 ? "" : ["Faults of the device, none of them a verdict", ...lines].join("\n");
}

function counterexample({ found, file, command }: Kept): string {
  const { law, stimulus, way, brokenAtMicros, evidence, tries, isMinimal } = found;
  const events = many(stimulus.passages.length, "event");
  const how = way === "as it is" ? "" : `, played ${way}`;
  const least = isMinimal ? "nothing more can be taken away" : "a limit ended the search";
  return [
    wrapped(`The shortest way found to break ${law}: ${events}${how}`),
    ...passageLines(stimulus.passages).map((text) => wrapped(text, "  ", "    ")),
    wrapped(`BROKEN at ${formatDuration(brokenAtMicros)}: ${evidence}`, "  ", "    "),
    wrapped(`Shrunk in ${many(tries, "run")}; ${least}. Kept in ${file}; to play it again:`, "  ", "  "),
    `    ${command}`,
  ].join("\n");
}
