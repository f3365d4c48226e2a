/**
 * How do values become marks on a chart's canvas? In device pixels, in the colours of the page. Runs in the page.
 */
import type uPlot from "uplot";
import type { Band, Bins } from "../columns.js";

export interface Brush {
  /** Width of the plot, in device and in CSS pixels. */
  readonly columns: number;
  readonly cssWidth: number;
  /** Draws inside the plot only. */
  within(act: () => void): void;
  bars(bins: Bins, counts: Float64Array, above: Float64Array | undefined, colour: string): void;
  band(band: Band, colour: string): void;
  /** A dashed line across. */
  limit(value: number): void;
  /** A stretch of a lane, `from` to `to` of the height. */
  lane(
    times: { readonly fromMicros: number; readonly toMicros: number },
    place: readonly [number, number],
    look: "mode" | "alarm",
  ): void;
  label(text: string, middle: number): void;
  /** A numbered line at a moment. */
  flag(atMicros: number, text: string): void;
}

type Colour = (name: string) => () => string;

export function newBrush(u: uPlot, colour: Colour): Brush {
  const { ctx, bbox } = u;
  const scale = devicePixelRatio;
  const x = (micros: number): number => u.valToPos(micros, "x", true);
  const y = (value: number): number => u.valToPos(value, "y", true);
  const inView = (micros: number): boolean =>
    micros >= (u.scales["x"]?.min ?? 0) && micros <= (u.scales["x"]?.max ?? 0);
  const hatched = (name: string, degrees: 45 | -45): CanvasPattern | string =>
    hatching(ctx, colour(name)(), colour("paper")(), degrees, scale);

  return {
    columns: Math.max(1, Math.round(bbox.width)),
    cssWidth: bbox.width / scale,
    within(act) {
      ctx.save();
      ctx.beginPath();
      ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
      ctx.clip();
      act();
      ctx.restore();
    },
    bars(bins, counts, above, name) {
      ctx.fillStyle = name === "prime" ? hatched(name, 45) : colour(name)();
      ctx.strokeStyle = colour(name)();
      const width = Math.max(1, x(bins.fromMicros + bins.widthMicros) - x(bins.fromMicros));
      const gap = width > 4 * scale ? scale : 0;
      counts.forEach((count, i) => {
        if (count === 0) return;
        const base = above?.[i] ?? 0;
        const [left, top, bottom] = [x(bins.fromMicros + i * bins.widthMicros), y(base + count), y(base)];
        ctx.fillRect(left, top, Math.max(1, width - gap), bottom - top);
        if (name === "prime") ctx.strokeRect(left, top, Math.max(1, width - gap), bottom - top);
      });
    },
    band({ least, most }, name) {
      ctx.fillStyle = colour(name)();
      const floor = y(0);
      least.forEach((low, i) => {
        if (Number.isNaN(low)) return;
        const left = bbox.left + (i * bbox.width) / least.length;
        const top = y(most[i] ?? low);
        ctx.globalAlpha = 0.16;
        ctx.fillRect(left, top, 1, floor - top);
        ctx.globalAlpha = 1;
        // Two pixels at the least, so that a value which does not move is seen.
        ctx.fillRect(left, top - scale, 1.2, Math.max(2 * scale, y(low) - top));
      });
    },
    limit(value) {
      ctx.strokeStyle = colour("bad")();
      ctx.lineWidth = 1.25 * scale;
      ctx.setLineDash([6 * scale, 4 * scale]);
      line(ctx, [bbox.left, y(value)], [bbox.left + bbox.width, y(value)]);
      ctx.setLineDash([]);
    },
    lane({ fromMicros, toMicros }, [from, to], look) {
      ctx.fillStyle = look === "mode" ? hatched("prime", 45) : colour("bad")();
      const left = x(fromMicros);
      ctx.fillRect(
        left,
        bbox.top + from * bbox.height,
        Math.max(2 * scale, x(toMicros) - left),
        (to - from) * bbox.height,
      );
    },
    label(text, middle) {
      ctx.font = `${11 * scale}px system-ui, sans-serif`;
      ctx.textAlign = "left";
      ctx.textBaseline = "middle";
      ctx.lineWidth = 4 * scale;
      ctx.strokeStyle = colour("paper")();
      ctx.fillStyle = colour("ink")();
      const at: [number, number] = [bbox.left + 4 * scale, bbox.top + middle * bbox.height];
      ctx.strokeText(text, ...at);
      ctx.fillText(text, ...at);
    },
    flag(atMicros, text) {
      if (!inView(atMicros)) return;
      ctx.save();
      const left = x(atMicros);
      ctx.strokeStyle = colour("bad")();
      ctx.lineWidth = scale;
      line(ctx, [left, bbox.top], [left, bbox.top + bbox.height]);
      ctx.fillStyle = colour("paper")();
      ctx.beginPath();
      ctx.arc(left, bbox.top, 7.5 * scale, 0, 2 * Math.PI);
      ctx.fill();
      ctx.stroke();
      ctx.font = `bold ${10 * scale}px system-ui, sans-serif`;
      ctx.textAlign = "center";
      ctx.textBaseline = "middle";
      ctx.fillStyle = colour("bad")();
      ctx.fillText(text, left, bbox.top + scale);
      ctx.restore();
    },
  };
}

type Point = readonly [number, number];

function line(ctx: CanvasRenderingContext2D, from: Point, to: Point): void {
  ctx.beginPath();
  ctx.moveTo(...from);
  ctx.lineTo(...to);
  ctx.stroke();
}

/** Stripes for what must be told apart without colour. */
function hatching(
  ctx: CanvasRenderingContext2D,
  colour: string,
  paper: string,
  degrees: 45 | -45,
  scale: number,
): CanvasPattern | string {
  const tile = document.createElement("canvas");
  tile.width = tile.height = 8;
  const brush = tile.getContext("2d");
  if (brush === null) return colour;
  brush.fillStyle = paper;
  brush.fillRect(0, 0, 8, 8);
  brush.fillStyle = colour;
  brush.fillRect(0, 0, 4, 8);
  const pattern = ctx.createPattern(tile, "repeat");
  pattern?.setTransform(new DOMMatrix().rotate(degrees).scale(0.62 * scale));
  return pattern ?? colour;
}
