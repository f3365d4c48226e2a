/**
 * Does the device's end of the link tell exactly what the run behind it told?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { MOCK_PROFILE, openMockTransport } from "../../harness/devices/mock.js";
import { runModel } from "../../harness/devices/model.js";
import { checkedLine } from "../../harness/link/line.js";
import type { LinkInput } from "../../harness/link/message.js";
import type { Settings } from "../../lib/pacing/index.js";
import { isStimulus, type StimulusEvent, type TraceEvent } from "../../lib/trace/index.js";
import { anySettings, anyStimulus } from "../support/arbitraries.js";
import { Bench } from "./bench.js";

function stage(bench: Bench, settings: Settings): void {
  for (const name of MOCK_PROFILE.settable) {
    const value = String(settings[name]);
    expect(bench.ask({ verb: "set", name, value }).at(-1)).toMatchObject({ kind: "ok" });
  }
}

test.each([16, 24, 32] as const)(
  "in stepped time over a counter of %i bits the reports are the trace of the model",
  (width) => {
    fc.assert(
      fc.property(anySettings, anyStimulus, fc.nat({ max: 65_535 }), (settings, stimulus, startTicks) => {
        const range = 2 ** width;
        const same = stimulus.filter(({ kind }) => kind !== "settings");
        const untilMicros = startTicks + (same.at(-1)?.atMicros ?? 0) + 100_000;
        const expected: TraceEvent[] = [];
        const model = runModel(settings, (event) => expected.push(event), { startMicros: startTicks });
        const moved = same.map((event): StimulusEvent => ({
          ...event,
          atMicros: event.atMicros + startTicks,
        }));
        for (const event of moved) model.give(event);
        model.end(untilMicros);

        const bench = new Bench({ profile: { ...MOCK_PROFILE, width } });
        bench.ask({ verb: "hello", nonce: 7 });
        stage(bench, settings);
        bench.ask({ verb: "clock", ticks: startTicks });
        bench.ask({ verb: "begin", clock: "stepped" });
        const told: { readonly ticks: number; readonly kind: string }[] = [];
        let now = startTicks;
        const goTo = (micros: number): void => {
          while (now < micros) {
            now = Math.min(micros, now + range / 4);
            for (const line of bench.ask({ verb: "go", ticks: now % range })) {
              if (line.kind === "report") told.push({ ticks: line.ticks, ...line.event });
              else expect(line).toMatchObject({ kind: "ok", value: now % range });
            }
          }
        };
        for (const { atMicros, ...input } of moved) {
          goTo(Math.max(now, atMicros - range / 8));
          const answer = bench.ask({ verb: "at", ticks: atMicros % range, input: input as LinkInput });
          expect(answer).toMatchObject([{ kind: "ok" }]);
          goTo(atMicros - 1);
          if (atMicros === now)
            bench.ask({ verb: "go", ticks: now % range }).forEach((line) => {
              if (line.kind === "report") told.push({ ticks: line.ticks, ...line.event });
            });
        }
        goTo(untilMicros);
        const wanted = expected.map((event) => {
          const ticks = event.atMicros % range;
          if (isStimulus(event)) return { ticks, kind: "did" };
          const rest: { atMicros?: number } = { ...event };
          delete rest.atMicros;
          return { ticks, ...rest };
        });
        expect(told.map((one) => (one.kind === "did" ? { ticks: one.ticks, kind: "did" } : one))).toEqual(
          wanted,
        );
      }),
      { numRuns: 60 },
    );
  },
);

test("the mock greets over its port, and many can be open at once", async () => {
  const texts = await Promise.all(
    [1, 2, 3].map(async (nonce) => {
      const transport = await openMockTransport();
      let text = "";
      const greeted = new Promise<void>((done) => {
        transport.onBytes((bytes) => {
          text += Buffer.from(bytes).toString("latin1");
          if (text.includes(`\nok 0 `)) done();
        });
      });
      await transport.send(Buffer.from(checkedLine(`0 hello ${nonce}`)));
      await greeted;
      await transport.close();
      return text;
    }),
  );
  expect(texts.every((text) => text.startsWith("boot virtual controller*"))).toBe(true);
});
