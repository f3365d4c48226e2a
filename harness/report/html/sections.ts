/**
 * The parts of a report, each as HTML: a heading, words, a drawing, and the numbers behind it. Harness layer.
 */
import type { RunReport } from "../report.js";
import { ALARM_WORDS, CAUTIONS, clock, many, span, whole } from "../words.js";
import { type Figure, inPage } from "./figures/canvas.js";
import { type Gauge, gaugeSvg } from "./figures/laws.js";
import { escaped, table } from "./html.js";
import type { JudgedLaw, ReportInput } from "./input.js";
import type { Moment } from "./series.js";
import { tickLabel, timeIn } from "./time-axis.js";
import {
  headlineOf,
  type Judgement,
  judgementOf,
  outcomeOf,
  type Sentence,
  sentencesOf,
  SIGNS,
} from "./sentences.js";

const TONES: { readonly [answer in JudgedLaw["answer"]]: string } = {
  holds: "holds",
  broken: "broken",
  "cannot tell": "cannot",
  "not seen": "cannot",
};
const ANSWERS: { readonly [answer in JudgedLaw["answer"]]: string } = {
  holds: "holds",
  broken: "BROKEN",
  "cannot tell": "cannot tell",
  "not seen": "not seen",
};

/** One part; its heading can be linked. */
export function section(id: string, title: string, body: string): string {
  return `<section id="${id}" aria-labelledby="${id}-title"><h2 id="${id}-title">${escaped(title)}</h2>\n${body}\n</section>`;
}

export function figure(drawing: Figure, caption: string, kind = ""): string {
  const label = escaped(`${drawing.title}, scrolls sideways on a narrow screen`);
  return (
    `<figure class="${kind}"><div class="scroll" tabindex="0" role="region" aria-label="${label}">${inPage(drawing)}</div>` +
    (caption === "" ? "" : `<figcaption>${escaped(caption)}</figcaption>`) +
    "</figure>"
  );
}

export function paragraphs(...texts: readonly string[]): string {
  return texts.map((text) => `<p>${escaped(text)}</p>`).join("\n");
}

export function headerPart({ report, device, drawn }: ReportInput): string {
  const when = drawn.lastMicros > 0 ? `, ${spanOf(drawn)}` : "";
  return [
    `<header><p class="kicker"><b>Tallystroke</b> report of a run: ${escaped(report.source)}${when}, through ${escaped(device)}</p>`,
    verdictPart(judgementOf(report), sentencesOf(report)),
    keyFigures(report, drawn),
    `<p class="mind">${escaped(CAUTIONS[1] ?? "")} <a href="#mind">What to mind</a></p></header>`,
  ].join("\n");
}

/** The answer, with what stands behind it. */
export function verdictPart(judgement: Judgement, sentences: readonly Sentence[]): string {
  const outcome = outcomeOf(judgement);
  const items = sentences.map(
    ({ says, weighty }) => `<li${weighty ? ' class="short"' : ""}>${escaped(says)}</li>`,
  );
  return (
    `<div class="verdict ${TONES[outcome]}"><span class="sign" aria-hidden="true">${SIGNS[outcome]}</span>` +
    `<h1>${escaped(headlineOf(judgement))}</h1>${items.length === 0 ? "" : `<ul>${items.join("")}</ul>`}</div>`
  );
}

function keyFigures({ tally, inForce, settings }: RunReport, { leastSpacing }: ReportInput["drawn"]): string {
  const shed = Object.values(tally.shed).reduce((all, strokes) => all + strokes, 0);
  const facts: [string, string, string][] = [
    ["contacts", whole(tally.contacts), `ratio ${settings["ratio"]}`],
    ["strokes earned", whole(tally.earned), `remainder ${tally.remainder} of ${inForce.contacts}`],
    ["paced", whole(tally.paced), tally.primed > 0 ? `and ${whole(tally.primed)} primed` : "none primed"],
    ["given up", whole(shed), shed === 0 ? "nothing shed" : "shed, by cause above"],
    ["most owed", whole(tally.mostOwed), `limit ${whole(inForce.owedLimitStrokes)}`],
    [
      "least spacing",
      leastSpacing === undefined ? "none" : span(leastSpacing.value),
      `the cap asks ${span(inForce.leastSpacingMicros)}`,
    ],
    ["alarms", whole(tally.alarms.size), tally.alarms.size === 0 ? "none was raised" : "kinds, told below"],
  ];
  const cells = facts.map(
    ([name, value, about]) =>
      `<div><dt>${escaped(name)}</dt><dd>${escaped(value)}<small>${escaped(about)}</small></dd></div>`,
  );
  return `<dl class="figures">${cells.join("")}</dl>`;
}

/** The moments that are kept exactly; the numbers are those in the drawing. */
export function momentsPart(moments: readonly Moment[], lengthMicros: number): string {
  const items = moments.map(
    ({ id, says, atMicros }, i) =>
      `<li><span class="no" aria-hidden="true">${i + 1}</span><span>${escaped(says)}, at ${timeIn(atMicros, lengthMicros)}</span>` +
      `<button type="button" class="jump" data-jump="${escaped(id)}" aria-label="Show moment ${i + 1} in the rows: ${escaped(says)}">Show</button></li>`,
  );
  return `<h3 id="moments">Moments to look at</h3><ol class="moments">${items.join("")}</ol>`;
}

export function lawsPart(laws: readonly JudgedLaw[], gauges: readonly Gauge[]): string {
  const items = laws.map((judged, i) => {
    const gauge = gauges[i] as Gauge;
    const { law, number, statement, answer, evidence, brokenAtMicros, checked, stimulus } = judged;
    const seen =
      answer === "holds"
        ? ""
        : (brokenAtMicros === undefined ? "" : `at ${tickLabel(brokenAtMicros, 1_000)}: `) +
          (evidence ?? "it was not seen");
    const where = stimulus === undefined ? "" : `, nearest in ${stimulus}`;
    return (
      `<li class="${TONES[answer]}"><div><h3><span class="no">${number}</span>${escaped(law)} ` +
      `<span class="answer"><span aria-hidden="true">${SIGNS[answer === "not seen" ? "cannot tell" : answer]}</span> ${ANSWERS[answer]}</span></h3>` +
      `<p>${escaped(statement)}</p>${seen === "" ? "" : `<p class="evidence">${escaped(seen)}</p>`}</div>` +
      `<div class="bar">${gaugeSvg(gauge, `law-${law}`)}<p>${escaped(gauge.says)}<br><span class="muted">looked at ${whole(checked)} times${escaped(where)}</span></p></div></li>`
    );
  });
  const how =
    "Each bar starts at the left mark, where the law would break, and shows how much of the room it gives was left at " +
    "the worst moment. A filled bar of no length means the room was used to the full, which is allowed. A diamond marks " +
    "a law that is exact, so that it has no room to measure. Hatching to the left of the mark is a broken law.";
  return `${paragraphs(how)}<ol class="laws">${items.join("")}</ol>`;
}

export function alarmsPart({ tally }: RunReport): string {
  const alarms = [...tally.alarms.values()];
  if (alarms.length === 0) return paragraphs("No alarm was raised.");
  return table(
    "Every kind of alarm that was raised",
    ["Alarm", "What it tells", "Times", "First at", "At the end"],
    alarms.map(({ alarm, raised, firstMicros, standing }) => [
      alarm,
      ALARM_WORDS[alarm],
      whole(raised),
      clock(firstMicros),
      standing ? "still standing" : "cleared",
    ]),
  );
}

export function ranPart({ report, device, seed, drawn, planRatio }: ReportInput): string {
  const facts: [string, string][] = [
    ["device", device],
    ["log", report.source],
    ["seed", seed === undefined ? "none: nothing was drawn by chance" : String(seed)],
    ["time", `${spanOf(drawn)} since the start of the log`],
    [
      "kept for drawing",
      drawn.run.widthMicros === 1
        ? "every event, to the microsecond"
        : `${many(drawn.run.at.length, "bucket")} of ${span(drawn.run.widthMicros)}; marked moments are exact`,
    ],
    ...(planRatio === undefined ? [] : [["plan", `ratio ${planRatio}`] as [string, string]]),
    ...Object.entries(report.versions),
  ];
  return table("What ran", ["What", "Which"], facts) + settingsPart(report.settings);
}

export function settingsPart(settings: RunReport["settings"]): string {
  return `<h3>Settings</h3>${table(
    "By the names of the options",
    ["Setting", "Value"],
    Object.entries(settings).map(([name, value]) => [name, String(value)]),
  )}`;
}

function spanOf({ firstMicros, lastMicros }: ReportInput["drawn"]): string {
  const lengthMicros = lastMicros - firstMicros;
  return `${timeIn(firstMicros, lengthMicros)} to ${timeIn(lastMicros, lengthMicros)}`;
}

export function mindPart(): string {
  return `<ul>${CAUTIONS.map((text) => `<li><p>${escaped(text)}</p></li>`).join("")}</ul>`;
}
