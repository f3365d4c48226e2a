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
import { createRowFile } from "../../files/row-file.js";
import { makeFolder, writeWhole } from "../../files/whole-file.js";
import { waterOf } from "./downstream.js";
import type { ReportInput } from "./input.js";
import { newReportSink } from "./sink.js";

/** Where a report goes, and what is known of the water. */
export interface ReportTo {
  /** The HTML file. */
  readonly report?: string | undefined;
  /** A folder for each drawing as SVG and PNG. */
  readonly figures?: string | undefined;
  readonly plan?: Plan | undefined;
}

export interface OpenReport {
  readonly see: (event: TraceEvent) => void;
  /** Draws and writes. Nothing has its name yet but the figures. */
  draw(outcome: Omit<ReportInput, "drawn" | "planRatio">): Promise<void>;
  /** The report takes its name. */
  keep(): void;
  readonly discard: () => void;
}

const DOCTYPE = "<!doctype html>";

/** Undefined where no report is asked for. Throws an InputError where it cannot be written. */
export function openReport({ report, figures, plan }: ReportTo, settings: Settings): OpenReport | undefined {
  if (report === undefined && figures === undefined) return undefined;
  const sink = newReportSink(settings, plan && waterOf(plan));
  if (figures !== undefined) makeFolder(figures);
  const file = report === undefined ? undefined : createRowFile(report, DOCTYPE);
  return {
    see: sink.see,
    async draw(outcome) {
      const [{ reportOf }, { pageScript }] = await Promise.all([import("./page.js"), import("./bundle.js")]);
      const planRatio = plan && `${plan.best.strokes}:${plan.best.contacts}`;
      const made = reportOf({ ...outcome, drawn: sink.drawn(), planRatio }, await pageScript());
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
