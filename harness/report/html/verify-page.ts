/**
 * How does a verification of a device become one page? The verdict, the smallest failing cases, the laws. Harness layer.
 *
 * Built from the same parts as the report of a run; where one of its runs was gathered, that is drawn over time too.
 */
import { span, whole } from "../words.js";
import { documentOf, type Part } from "./document.js";
import { type Figure } from "./figures/canvas.js";
import { gaugeOf, lawsFigure } from "./figures/laws.js";
import { timelineFigure } from "./figures/timeline.js";
import { escaped, table } from "./html.js";
import type { ReportInput, VerifyInput } from "./input.js";
import type { Report } from "./page.js";
import type { PageData } from "./page-data.js";
import { pageDataOf } from "./prepare.js";
import { counterexampleFigure, numbersPart, PAGE_WIDTH, timelinePart, windowsPart } from "./run-parts.js";
import * as parts from "./sections.js";
import { evidenceOf, headlineOf } from "./sentences.js";
import { windowFigures } from "./window-figures.js";

/** What must be minded of every verification. */
const MIND: readonly string[] = [
  "A law that holds here held in what was played, at the tolerance that is told; it is no proof of what was not played, and no certificate.",
  "A bench test is not a measurement of water. Local codes, the product labels and a licensed operator or engineer decide.",
  "Hypochlorite burns, and makes poisonous gas with acid or ammonia. Test with water, not with solution.",
];

/** Makes the page and its drawings; `script` is what it runs. */
export function verifyReportOf(input: VerifyInput, script: string): Report {
  const run: ReportInput | undefined = input.run && {
    ...input.run,
    numbers: input.numbers,
    device: input.device,
  };
  const data = run && pageDataOf(run);
  const cases = input.counterexamples.map((found, i) =>
    counterexampleFigure(found, `counterexample-${i + 1}`, PAGE_WIDTH),
  );
  const gauges = input.laws.map((law) => gaugeOf(law, input.inForce));
  const laws = lawsFigure(gauges, PAGE_WIDTH);
  const timeline = data && timelineFigure(data, PAGE_WIDTH);
  const windows = run === undefined ? [] : windowFigures(run, PAGE_WIDTH);
  const sections: Part[] = [
    ...casesPart(input, cases),
    ["laws", "The laws, and how close each came to breaking", parts.lawsPart(input.laws, gauges)],
    ...runPart(input, data, timeline, windows),
    ["played", "What was played", playedPart(input)],
    ["ran", "What ran", ranPart(input)],
    ["mind", "What to mind", mindPart()],
    ["numbers", "The numbers, as --json prints them", numbersPart(input.numbers)],
  ];
  const html = documentOf({
    title: `${headlineOf(input)} · ${input.device}`,
    header: headerPart(input),
    parts: sections,
    data,
    script,
  });
  return { html, figures: [...cases, ...(timeline === undefined ? [] : [timeline]), ...windows, laws] };
}

function headerPart(input: VerifyInput): string {
  const { device, stimuli, skipped, toleranceMicros } = input;
  const runs = stimuli.reduce((all, one) => all + one.runs, 0);
  const left = skipped.length === 0 ? "" : ` Left out: ${whole(skipped.length)}, told below.`;
  const played = `${whole(runs)} different stimuli were played; times may be off by ${span(toleranceMicros)}.${left}`;
  return [
    `<header><p class="kicker"><b>Tallystroke</b> report of a verification: ${escaped(device)}</p>`,
    parts.verdictPart(input, [...evidenceOf(input), { says: played, weighty: false }]),
    `<p class="mind">${escaped(MIND[0] ?? "")} ${escaped(MIND[1] ?? "")} <a href="#mind">What to mind</a></p></header>`,
  ].join("\n");
}

function casesPart({ counterexamples }: VerifyInput, cases: readonly Figure[]): Part[] {
  return counterexamples.map((found, i): Part => {
    const drawing = cases[i] as Figure;
    const id = drawing.id;
    return [id, drawing.title, parts.paragraphs(found.says) + parts.figure(drawing, "")];
  });
}

function runPart(
  { run }: VerifyInput,
  data: PageData | undefined,
  timeline: Figure | undefined,
  windows: readonly Figure[],
): Part[] {
  if (run === undefined || data === undefined || timeline === undefined) return [];
  return [
    ["timeline", "One run over time", parts.paragraphs(run.says) + timelinePart(data, timeline)],
    ["moments-exactly", "Its worst moments, event by event", windowsPart(windows)],
    ["alarms", "Its alarms", parts.alarmsPart(run.report)],
  ];
}

function playedPart({ stimuli, skipped }: VerifyInput): string {
  const rows = stimuli.map(({ name, runs, says }) => [name, whole(runs), says]);
  const left = skipped.map(({ name, reason }) => [name, reason]);
  return (
    table("Every stimulus that was played", ["Stimulus", "Runs", "How it went"], rows) +
    (left.length === 0
      ? ""
      : `<h3>Left out</h3>${table("Stimuli that were not played", ["Stimulus", "Why"], left)}`)
  );
}

function ranPart({ device, seed, toleranceMicros, versions, settings }: VerifyInput): string {
  const facts = [
    ["device", device],
    ["seed", String(seed)],
    ["tolerance of times", span(toleranceMicros)],
    ...Object.entries(versions),
  ];
  return table("What ran", ["What", "Which"], facts) + parts.settingsPart(settings);
}

function mindPart(): string {
  return `<ul>${MIND.map((text) => `<li><p>${escaped(text)}</p></li>`).join("")}</ul>`;
}
