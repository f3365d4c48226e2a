/**
 * How does a verb make a report of what it runs? It hands over the trace as it goes by, and the outcome at the end.
 *
 * Harness layer. The file is begun before the run, so that what cannot be written is told at once, and takes its place
 * only when it is complete. What draws is loaded only when there is something to draw.
 */
import { join } from "node:path";
import type { Plan } from "../../../lib/dosing/index.js";
import type { Settings } from "../../../lib/pacing/index.js";
import type { TraceEvent } from "../../../lib/trace/index.js";
import { InputError } from "../../files/fault.js";
import { createRowFile } from "../../files/row-file.js";
import { makeFolder, writeWhole } from "../../files/whole-file.js";
import { waterOf } from "./downstream.js";
import type { ReportInput, VerifyInput } from "./input.js";
import type { Report } from "./page.js";
import { newReportSink } from "./sink.js";

/** Where a report goes. */
export interface ReportPlaces {
  /** The HTML file. */
  readonly report?: string | undefined;
  /** A folder for each drawing as SVG and PNG. */
  readonly figures?: string | undefined;
}

/** Where the report of a run goes, and what is known of the water. */
export interface ReportTo extends ReportPlaces {
  readonly plan?: Plan | undefined;
}

export interface OpenFiles {
  /** The report takes its name. */
  keep(): void;
  readonly discard: () => void;
}

export interface OpenReport extends OpenFiles {
  readonly see: (event: TraceEvent) => void;
  /** Draws and writes. Nothing has its name yet but the figures. */
  draw(outcome: Omit<ReportInput, "drawn" | "planRatio">): Promise<void>;
}

export interface OpenVerifyReport extends OpenFiles {
  draw(outcome: VerifyInput): Promise<void>;
}

const DOCTYPE = "<!doctype html>";

/** The report of a run; undefined where none is asked for. Throws an InputError where it cannot be written. */
export function openReport({ plan, ...places }: ReportTo, settings: Settings): OpenReport | undefined {
  const files = openPlaces(places);
  if (files === undefined) return undefined;
  const sink = newReportSink(settings, plan && waterOf(plan));
  return {
    ...files,
    see: sink.see,
    async draw(outcome) {
      const { reportOf } = await import("./page.js");
      const planRatio = plan && `${plan.best.strokes}:${plan.best.contacts}`;
      const input = { ...outcome, drawn: sink.drawn(), planRatio };
      await files.write((script) => reportOf(input, script));
    },
  };
}

/** The same of a verification. */
export function openVerifyReport(places: ReportPlaces): OpenVerifyReport | undefined {
  const files = openPlaces(places);
  if (files === undefined) return undefined;
  return {
    ...files,
    async draw(outcome) {
      const { verifyReportOf } = await import("./verify-page.js");
      await files.write((script) => verifyReportOf(outcome, script));
    },
  };
}

interface Places extends OpenFiles {
  write(make: (script: string) => Report): Promise<void>;
}

function openPlaces({ report, figures }: ReportPlaces): Places | undefined {
  if (report === undefined && figures === undefined) return undefined;
  if (report === "-") {
    throw new InputError([{ field: "--report", fault: "is -", mend: "name a file; /dev/stdout is one too" }]);
  }
  if (figures !== undefined) makeFolder(figures);
  const file = report === undefined ? undefined : createRowFile(report, DOCTYPE);
  return {
    async write(make) {
      const { pageScript } = await import("./bundle.js");
      const made = make(await pageScript());
      file?.line(made.html.slice(DOCTYPE.length).trim());
      if (figures === undefined) return;
      const [{ standalone }, { pngOf }] = await Promise.all([
        import("./figures/canvas.js"),
        import("./figures/png.js"),
      ]);
      for (const figure of made.figures) {
        const svg = standalone(figure);
        writeWhole(join(figures, `${figure.id}.svg`), svg);
        writeWhole(join(figures, `${figure.id}.png`), pngOf(svg));
      }
    },
    keep() {
      file?.keep();
    },
    discard() {
      file?.discard();
    },
  };
}
