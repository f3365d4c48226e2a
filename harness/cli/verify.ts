/**
 * `tallystroke verify`: the laws against a device, with named and generated stimuli. Harness layer.
 *
 * The device is left idle however it ends: a signal gives the run up and lets it end first.
 */
import { Command, Option } from "commander";
import { existsSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, join, parse } from "node:path";
import type { Device } from "../device.js";
import { DEVICE_SPECS, openDevice } from "../devices/open.js";
import { InputError } from "../files/fault.js";
import { createRowFile } from "../files/row-file.js";
import { DeviceError } from "../link/client.js";
import { openVerifyReport } from "../report/html/open.js";
import { junitText } from "../report/junit.js";
import { verifyObject } from "../report/verify-json.js";
import { type Kept, verifySummary } from "../report/verify-summary.js";
import { wrapped } from "../report/words.js";
import { gatherRun, verifyInputOf } from "../report/html/verify-drawn.js";
import type { Counterexample, VerifyReport } from "../verify/report.js";
import { saveCounterexample } from "../verify/saved.js";
import { statusOfReport, verifyDevice } from "../verify/verify.js";
import { addSettingsOptions } from "./settings-options.js";
import type { ExitStatus, Terminal } from "./terminal.js";
import { beforeWords, listText } from "./verify-list.js";
import { startVerifyProgress, type VerifyProgress } from "./verify-progress.js";
import { readRequest, type VerifyRequest, type VerifyWords } from "./verify-request.js";

const EXAMPLES = `
Examples:
  tallystroke verify --ratio 2:1 --cap 120
  tallystroke verify --device serial:/dev/ttyUSB0 --ratio 1:5 --cap 60 --quick
  tallystroke verify --device exec:./controller --ratio 2:1 --cap 120 \\
    --scenario steady --scenario bounce --junit RESULT.xml
  tallystroke verify --device mock --replay counterexample-cap.csv
  tallystroke verify --list

Devices:
${DEVICE_SPECS.map(([form, meaning]) => `  ${form.padEnd(14)}  ${meaning}`).join("\n")}

Exit status: 0 all that could be seen holds, 1 a law is broken, 2 bad usage,
3 the device failed, or of a law it cannot be told.`;

export function verifyVerb(terminal: Terminal, finish: (status: ExitStatus) => void): Command {
  const collect = (name: string, before: readonly string[] = []): string[] => [...before, name];
  const command = new Command("verify")
    .description("Play meter and operator to a device, and judge it by the laws.")
    .option("--device <spec>", "which device; see below", "mock")
    .addOption(new Option("--scenario <name>", "only this one; may be given again").argParser(collect))
    .option("--log <file>", "the log for the scenario recorded-log")
    .option("--runs <count>", "generated stimuli (100, or 5 in real time)")
    .option("--seed <number>", "which ones are generated (1)")
    .option("--tolerance <duration>", "how far off a time stamp may be (by the device)")
    .option("--quick", "wait out no grace and no longest prime: set them short")
    .option("--replay <file>", "play a saved counterexample, or any log")
    .option("--save <file>", "where a counterexample goes (counterexample-LAW.csv)")
    .option("--report <file>", "write a report to look at: one HTML file that needs no network")
    .option("--figures <folder>", "write each drawing of the report, as SVG and PNG")
    .option("--junit <file>", "write JUnit XML for a CI system")
    .option("--json", "one object for machines instead of the summary")
    .option("--list", "list the scenarios and how long each takes; run none")
    .addHelpText("after", EXAMPLES);
  return addSettingsOptions(command).action(async (words: VerifyWords) => {
    finish(await verify(words, await readRequest(words, command), terminal));
  });
}

async function verify(words: VerifyWords, request: VerifyRequest, terminal: Terminal): Promise<ExitStatus> {
  let device: Device | undefined;
  let drawn: ReturnType<typeof openVerifyReport>;
  let junit: TextFile | undefined;
  try {
    // Before the run: hours on a bench must not end at a file that cannot be written.
    drawn = words.list === true ? undefined : openVerifyReport(words);
    junit = words.list === true || words.junit === undefined ? undefined : openText(words.junit);
    device = await openDevice(words.device, { settings: request.settings });
    const plan = await request.plan(device.about);
    if (words.list === true) {
      await terminal.result(`${listText(device.about, request.settings, plan)}\n`);
      return 0;
    }
    terminal.talk(`${wrapped(beforeWords(device.about, request.settings, plan, request.seed))}\n`);
    const progress = startVerifyProgress(words.json === true);
    const gathered = gatherRun(request.settings, progress.watch);
    const report = await run(device, request, plan, { ...progress, watch: gathered.watch }, terminal);
    const kept = keep(report, words, terminal);
    junit?.write(junitText(report));
    const numbers = verifyObject(report, kept);
    await drawn?.draw(await verifyInputOf(device, report, numbers, gathered.run()));
    drawn?.keep();
    await terminal.result(
      words.json === true ? `${JSON.stringify(numbers, null, 2)}\n` : `${verifySummary(report, kept)}\n`,
    );
    return statusOfReport(report);
  } catch (error) {
    if (!(error instanceof DeviceError)) throw error;
    const isNamed = error.message.startsWith(words.device);
    terminal.talk(`${wrapped(isNamed ? error.message : `${words.device}: ${error.message}`)}\n`);
    return 3;
  } finally {
    drawn?.discard();
    junit?.discard();
    await device?.close();
  }
}

async function run(
  device: Device,
  { settings, seed, toleranceMicros }: VerifyRequest,
  plan: Awaited<ReturnType<VerifyRequest["plan"]>>,
  progress: VerifyProgress,
  terminal: Terminal,
): Promise<VerifyReport> {
  const stop = new AbortController();
  const release = terminal.onInterrupt?.(() => {
    stop.abort();
  });
  try {
    return await verifyDevice(device, settings, {
      ...plan,
      seed,
      ...(toleranceMicros === undefined ? {} : { toleranceMicros }),
      signal: stop.signal,
      watch: progress.watch,
    });
  } finally {
    progress.stop();
    release?.();
  }
}

/** Keeps each counterexample; a file that is written over is told of. */
function keep({ counterexamples, device }: VerifyReport, words: VerifyWords, terminal: Terminal): Kept[] {
  return counterexamples.map((found, index) => {
    const file = fileFor(found.law, index, words.save);
    if (existsSync(file)) terminal.talk(`${file} is written over.\n`);
    const kept = saved(file, found, terminal);
    return {
      found,
      file: kept,
      command: `tallystroke verify --device ${quoted(device.spec)} --replay ${quoted(kept)}`,
    };
  });
}

/** Where it was saved: what was found must not be lost because a folder is read-only. */
function saved(file: string, found: Counterexample, terminal: Terminal): string {
  try {
    saveCounterexample(file, found);
    return file;
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    terminal.talk(`${error.message}\n`);
    const elsewhere = join(tmpdir(), basename(file));
    saveCounterexample(elsewhere, found);
    return elsewhere;
  }
}

function fileFor(law: string, index: number, save: string | undefined): string {
  if (save === undefined) return `counterexample-${law}.csv`;
  if (index === 0) return save;
  const { dir, name, ext } = parse(save);
  return `${dir === "" ? "" : `${dir}/`}${name}-${law}${ext}`;
}

function quoted(word: string): string {
  return /^[\w./:=@%+-]+$/.test(word) ? word : `'${word.replace(/'/g, "'\\''")}'`;
}

interface TextFile {
  write(text: string): void;
  discard(): void;
}

function openText(path: string): TextFile {
  if (path === "-") {
    throw new InputError([{ field: "--junit", fault: "is -", mend: "name a file; /dev/stdout is one too" }]);
  }
  const file = createRowFile(path);
  return {
    write(text) {
      for (const line of text.trimEnd().split("\n")) file.line(line);
      file.keep();
    },
    discard: file.discard,
  };
}
