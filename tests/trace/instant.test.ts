/**
 * Inputs of one microsecond act in the documented order, however they stand in the file.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { runModel } from "../../harness/devices/model.js";
import { formatRow, instantSorter, type StimulusEvent } from "../../lib/trace/index.js";
import { anySettings, anyStimulus } from "../support/arbitraries.js";

function sorted(events: readonly StimulusEvent[]): StimulusEvent[] {
  const out: StimulusEvent[] = [];
  const sorter = instantSorter((event) => out.push(event));
  for (const event of events) sorter.take(event);
  sorter.end();
  return out;
}

const at = (kind: "contact" | "reset" | "prime-on" | "prime-off" | "hold-on" | "hold-off" | "power-off") =>
  ({ kind, atMicros: 5 }) as const;

// One of each, so that no two share a place: of two edges, or two settings, the file's order is what is meant.
const DOCUMENTED: readonly StimulusEvent[] = [
  at("power-off"),
  { kind: "power-on", atMicros: 5, darkKnown: true },
  at("contact"),
  at("reset"),
  { kind: "inhibit-off", atMicros: 5, cause: "tank" },
  at("hold-off"),
  at("prime-on"),
  at("prime-off"),
  at("hold-on"),
  { kind: "inhibit-on", atMicros: 5, cause: "flow" },
];

test("any permutation of the inputs of one instant comes out in the one documented order", () => {
  fc.assert(
    fc.property(fc.shuffledSubarray([...DOCUMENTED]), (permuted) => {
      expect(sorted(permuted)).toEqual(DOCUMENTED.filter((event) => permuted.includes(event)));
    }),
  );
});

test("any permutation of the inputs of one instant gives the same trace", () => {
  const traceOf = (settings: Parameters<typeof runModel>[0], events: readonly StimulusEvent[]): string[] => {
    const rows: string[] = [];
    const run = runModel(settings, (event) => rows.push(formatRow(event)));
    for (const event of sorted(events)) run.give(event);
    run.end(100_000_000);
    return rows;
  };
  fc.assert(
    fc.property(anySettings, fc.shuffledSubarray([...DOCUMENTED]), (settings, permuted) => {
      const documented = DOCUMENTED.filter((event) => permuted.includes(event));
      expect(traceOf(settings, permuted)).toEqual(traceOf(settings, documented));
    }),
  );
});

test("nothing is lost or moved to another time, and times never go back", () => {
  fc.assert(
    fc.property(anyStimulus, (events) => {
      const out = sorted(events);
      expect(out.map(({ atMicros }) => atMicros)).toEqual(events.map(({ atMicros }) => atMicros));
      expect(out.map(formatRow).sort()).toEqual(events.map(formatRow).sort());
    }),
  );
});

test("edges of one instant keep the order of the file", () => {
  const edges = (["close", "open", "contact", "close"] as const).map((kind) => ({ kind, atMicros: 3 }));
  expect(sorted(edges)).toEqual(edges);
});

test("an instant of more inputs than the limit loses none", () => {
  const many = Array.from({ length: 10_000 }, (): StimulusEvent => ({ kind: "contact", atMicros: 1 }));
  expect(sorted(many)).toHaveLength(10_000);
});

test("an instant is handed on as soon as time has moved on", () => {
  const out: StimulusEvent[] = [];
  const sorter = instantSorter((event) => out.push(event));
  sorter.take({ kind: "contact", atMicros: 1 });
  sorter.take({ kind: "contact", atMicros: 2 });
  expect(out).toEqual([{ kind: "contact", atMicros: 1 }]);
});
