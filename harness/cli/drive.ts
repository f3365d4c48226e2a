/**
 * `tallystroke drive`: live: a meter on one port, a pump on another, and a journal. Harness layer.
 */
import { dirname } from "node:path";
import { existsSync, readFileSync } from "node:fs";
import { Command } from "commander";
import { planFeed } from "../../lib/dosing/index.js";
import { FULL_STROKE_STATEMENT, type Micros, type Settings } from "../../lib/pacing/index.js";
import { machineClock } from "../drive/clock.js";
import { runFeed } from "../drive/run.js";
import type { DoseTerms } from "../drive/stand.js";
import { FieldError } from "../field/field.js";
import { FIELD_SPECS, openField } from "../field/open.js";
import { readFieldSpec } from "../field/spec.js";
import { fileFault, InputError } from "../files/fault.js";
import { packageVersion } from "../files/package-root.js";
import { isRefusal, readDuration } from "../files/quantity.js";
import { JournalError } from "../journal/fault.js";
import { openJournal } from "../journal/open.js";
import { readPlanFile } from "../plan/plan-file.js";
import { planInputOf } from "../plan/request.js";
import { wrapped } from "../report/words.js";
import { addSettingsOptions, settingsOf } from "./settings-options.js";
import type { ExitStatus, Terminal } from "./terminal.js";

const EXAMPLES = `
Examples:
  tallystroke drive --meter mock --pump mock --ratio 2:1 --cap 120 \\
    --journal JOURNAL
  tallystroke drive --meter serial:/dev/ttyUSB0 --pump serial:/dev/ttyUSB1 \\
    --settings SETTINGS.json --plan PLAN.json --journal JOURNAL
  tallystroke drive --meter mock --pump mock --ratio 1:5 --cap 60 \\
    --journal JOURNAL --for "10 s" --plain

Meters and pumps:
${FIELD_SPECS.map(([form, meaning]) => `  ${form}\n${wrapped(meaning, "      ")}`).join("\n")}

The journal is a folder. Started again with the same one, a feed goes on from
it, also after a kill. It ends with status 0 when it is asked to (q and y,
Ctrl-C, SIGTERM, SIGHUP, --for), with 3 when meter, pump or journal failed.`;

interface Options {
  readonly meter: string;
  readonly pump: string;
  readonly journal: string;
  readonly plan?: string;
  readonly for?: string;
  readonly confirm?: true;
  readonly plain?: true;
  readonly json?: true;
}

export function driveVerb(terminal: Terminal, finish: (status: ExitStatus) => void): Command {
  const command = new Command("drive")
    .description("Feed live: a meter's contacts in, a pump's strokes out, kept in a journal.")
    .requiredOption("--meter <spec>", "where the meter is")
    .requiredOption("--pump <spec>", "where the pump is; the same as the meter's where one device is both")
    .requiredOption("--journal <folder>", "the journal; begun where there is none")
    .option("--plan <file>", "a plan file, to tell water and dose")
    .option("--for <duration>", "end by itself after so long")
    .option("--confirm", "confirm a large increase of the feed against the journal's settings")
    .option("--plain", "lines instead of the live view")
    .option("--json", "lines of JSON for machines, every event among them")
    .addHelpText("after", EXAMPLES);
  return addSettingsOptions(command).action(async (options: Options) => {
    finish(await drive(options, settingsOf(command), terminal));
  });
}

async function drive(options: Options, settings: Settings, terminal: Terminal): Promise<ExitStatus> {
  const forMicros = durationOf(options);
  const plan = options.plan === undefined ? undefined : planOf(options.plan, settings);
  if (plan?.warning !== undefined) terminal.talk(`${wrapped(plan.warning)}\n`);
  readFieldSpec("--meter", options.meter);
  readFieldSpec("--pump", options.pump);
  refuseLostParent(options.journal);
  const clock = machineClock();
  try {
    const journal = openJournal(options.journal, () => ({ wallMs: clock.wallMs(), boot: clock.boot() }));
    let field: Awaited<ReturnType<typeof openField>>;
    try {
      field = await openField(options, { leastSpacingMicros: settings.leastSpacingMicros });
    } catch (error) {
      journal.close();
      throw error;
    }
    return await runFeed(
      {
        ...field,
        journal,
        clock,
        settings,
        confirmed: options.confirm === true,
        plan: plan?.text,
        dose: plan?.dose,
        zone: Intl.DateTimeFormat().resolvedOptions().timeZone,
        version: packageVersion(),
      },
      {
        form: options.json === true ? "json" : options.plain === true ? "plain" : "view",
        forMicros,
        cautions: [FULL_STROKE_STATEMENT, ...CAUTIONS, ...cautionsOf(field, settings)],
      },
      terminal,
    );
  } catch (error) {
    if (!(error instanceof FieldError) && !(error instanceof JournalError)) throw error;
    terminal.talk(`${wrapped(error.message)}\n`);
    return error instanceof JournalError && USAGE.includes(error.fault.kind) ? 2 : 3;
  }
}

/** What of a journal is a matter of what was given, and not of the disk. */
const USAGE: readonly string[] = ["in use", "not writable", "not a journal"];

const CAUTIONS: readonly string[] = [
  "The pump makes real strokes from now on: see that it is ready to run and that nobody works on it. Hypochlorite " +
    "burns, and makes poisonous gas with acid or ammonia.",
  "This program is no safety device: keep the interlock of flow or well pump in the pump's own supply. Local codes, " +
    "the product labels and a licensed operator or engineer decide.",
];

function cautionsOf({ meter, pump }: Awaited<ReturnType<typeof openField>>, settings: Settings): string[] {
  const own = new Set([...meter.about.cautions, ...pump.about.cautions]);
  if (meter.keepsRegister && settings.leastContactMicros > 0) {
    own.add("The meter counts by itself, so --least-contact is not used.");
  }
  return [...own];
}

function durationOf({ for: text }: Options): Micros | undefined {
  if (text === undefined) return undefined;
  const read = readDuration(text);
  if (!isRefusal(read) && read > 0) return read;
  const mend = isRefusal(read) ? read.mend : 'give a duration above 0, such as "10 s"';
  throw new InputError([{ field: "--for", fault: `is "${text}"`, mend }]);
}

interface DrivePlan {
  readonly text: string;
  readonly dose: DoseTerms;
  /** Where the plan is of another ratio than the settings. */
  readonly warning: string | undefined;
}

function planOf(file: string, settings: Settings): DrivePlan {
  const { duty, best } = planFeed(planInputOf({ ...readPlanFile(file), file }));
  const isSame = best.strokes * settings.contacts === settings.strokes * best.contacts;
  return {
    text: readFileSync(file, "utf8"),
    dose: {
      litresPerContact: duty.contactVolume.si.mul(1_000).valueOf(),
      millilitresPerStroke: duty.strokeVolume.si.mul(1_000_000).valueOf(),
      gramsPerLitre: duty.strength.si.valueOf(),
      wantedMilligramsPerLitre: duty.dose.si.mul(1_000).valueOf(),
    },
    warning: isSame
      ? undefined
      : `${file}: the plan's ratio is ${best.strokes}:${best.contacts}, the settings' ` +
        `${settings.strokes}:${settings.contacts}. The feed goes by the settings.`,
  };
}

/** A folder is made, but not those above it: a mistyped path must not begin a journal of its own. */
function refuseLostParent(folder: string): void {
  const parent = dirname(folder);
  if (existsSync(folder) || existsSync(parent)) return;
  const missing = Object.assign(new Error(), { code: "ENOENT" });
  throw new InputError([{ ...fileFault(folder, missing, "made"), field: "--journal" }]);
}
