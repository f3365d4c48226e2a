/**
 * How is time written along an axis? Harness layer; pure, and runs in the page too.
 */
const S = 1_000_000;
const M = 60 * S;
const H = 60 * M;
const D = 24 * H;

const STEPS: readonly number[] = [
  ...[1, 10, 100, 1_000, 10_000, 100_000].flatMap((unit) => [unit, 2 * unit, 5 * unit]),
  ...[1, 2, 5, 10, 15, 30].map((times) => times * S),
  ...[1, 2, 5, 10, 15, 30].map((times) => times * M),
  ...[1, 2, 3, 6, 12].map((times) => times * H),
  ...[1, 2, 5, 10, 20, 50, 100, 200, 500, 1_000, 2_000, 5_000].map((times) => times * D),
];

/** Round times within a view, at most `most` of them (but at least the step that a clock can tell), and their step. */
export function timeTicks(
  fromMicros: number,
  toMicros: number,
  most: number,
): { readonly ticks: number[]; readonly stepMicros: number } {
  const least = (toMicros - fromMicros) / Math.max(1, most);
  const stepMicros = STEPS.find((step) => step >= least) ?? 10_000 * D;
  const ticks: number[] = [];
  for (let k = Math.ceil(fromMicros / stepMicros); k * stepMicros <= toMicros; k++)
    ticks.push(k * stepMicros);
  return { ticks, stepMicros };
}

/** A run shorter than this is told to the millisecond, µs. */
const SHORT = 10 * M;

/** A time within a run that lasts so long: to the second, or to the millisecond where the run is short. */
export function timeIn(micros: number, lengthMicros: number): string {
  return tickLabel(Math.max(0, Math.floor(micros)), lengthMicros < SHORT ? 1_000 : S);
}

/** A time since the start, as finely as `stepMicros` asks: `06:00`, `06:00:30`, `06:00:30.25`, `3 d`, `3 d 06:00`. */
export function tickLabel(micros: number, stepMicros: number): string {
  const two = (value: number): string => String(value).padStart(2, "0");
  const days = Math.floor(micros / D);
  const rest = micros - days * D;
  const day = days > 0 ? `${days} d` : "";
  if (stepMicros >= D) return `${days} d`;
  const clock = `${two(Math.floor(rest / H))}:${two(Math.floor((rest % H) / M))}`;
  const parts = [day, clock].filter((part) => part !== "").join(" ");
  if (stepMicros >= M) return parts;
  const seconds = `${parts}:${two(Math.floor((rest % M) / S))}`;
  if (stepMicros >= S) return seconds;
  const decimals = Math.ceil(6 - Math.log10(stepMicros) - 1e-9);
  return `${seconds}.${String(rest % S)
    .padStart(6, "0")
    .slice(0, decimals)}`;
}
