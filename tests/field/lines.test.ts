/**
 * Does a contact on a modem-control line come as it was made, and a stroke as the pulse that was stated? What if the port
 * goes away, hangs, or has no such lines?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { runModel } from "../../harness/devices/model.js";
import type { FieldFault, Meter, Pump } from "../../harness/field/field.js";
import { openField, openMeter, openPump } from "../../harness/field/open.js";
import type { StimulusEvent } from "../../lib/trace/index.js";
import { openPtyPlant } from "../bench-devices/pty.js";
import { VirtualClock } from "../link/virtual-bench.js";
import { sound } from "../support/arbitraries.js";
import { runs } from "../support/runs.js";
import { TwoSided } from "./two-sided.js";

const SECOND = 1_000_000;
const BOTH = "lines:/dev/ttyX0?contact=cts&stroke=rts&pulse=50ms";

interface Bench {
  readonly clock: VirtualClock;
  readonly port: TwoSided;
  readonly meter: Meter;
  readonly pump: Pump;
  readonly edges: StimulusEvent[];
  readonly lost: FieldFault[];
  /** Lets time go on to a moment. */
  readonly to: (micros: number) => Promise<void>;
}

async function bench(spec = BOTH, clock = new VirtualClock()): Promise<Bench> {
  const port = new TwoSided(clock);
  const { meter, pump } = await openField(
    { meter: spec, pump: spec },
    { clock, lineBinding: port, leastSpacingMicros: 200_000 },
  );
  const edges: StimulusEvent[] = [];
  const lost: FieldFault[] = [];
  const ear = (fault: FieldFault): void => void lost.push(fault);
  await meter.start({
    hear: ({ kind }) => {
      if (kind !== "register") edges.push({ kind, atMicros: clock.nowMicros() });
    },
    lost: ear,
  });
  await pump.start({ lost: ear });
  const to = (micros: number): Promise<void> =>
    clock.run(
      new Promise((resolve) => {
        clock.after(micros - clock.nowMicros(), resolve);
      }),
      Infinity,
    );
  return { clock, port, meter, pump, edges, lost, to };
}

test("both lines are idle from just after opening until closing, and the port is locked and drops them as it is closed", async () => {
  const { port, meter, pump, to } = await bench();
  expect(port.changes).toEqual([
    { atMicros: 0, rts: true, dtr: true }, // the system's own doing
    { atMicros: 0, rts: false, dtr: false },
  ]);
  expect(port.opened).toEqual([{ lock: true, hupcl: true }]);
  await to(SECOND);
  await pump.close();
  expect(port.isOpen).toBe(true);
  await meter.close();
  expect(port.isOpen).toBe(false);
  expect(port.changes.slice(2).every(({ rts, dtr }) => !rts && !dtr)).toBe(true);
});

test("a line that feeds the contact is on while the port is open, through every stroke, and off after", async () => {
  const { port, meter, pump, to } = await bench("lines:/dev/ttyX0?contact=dsr&stroke=dtr&supply=rts");
  await pump.stroke(1);
  await to(SECOND);
  expect(port.changes.slice(1).map(({ rts, dtr }) => [rts, dtr])).toEqual([
    [true, false],
    [true, true],
    [true, false],
  ]);
  await Promise.all([pump.close(), meter.close()]);
  // By this program's own hand, before the system's.
  expect(port.changes.slice(-2).map(({ rts, dtr }) => [rts, dtr])).toEqual([
    [false, false],
    [false, false],
  ]);
});

test("a pulse is ended as soon as the port is found lost", async () => {
  const { port, pump, lost, to } = await bench();
  await to(10_000);
  await pump.stroke(1);
  port.trouble = "blind";
  await to(SECOND);
  expect(lost.map(({ kind }) => kind)).toEqual(["unplugged", "unplugged"]);
  expect(port.pulses("rts")).toEqual([{ atMicros: 10_000, micros: expect.any(Number) as number }]);
  expect(port.pulses("rts")[0]?.micros).toBeLessThanOrEqual(2_000);
});

test("a stroke is one pulse of the stated width, on its line alone, and resolves as it begins", async () => {
  const { clock, port, pump, to } = await bench();
  for (const [number, atMicros] of [
    [1, 0],
    [2, 200_000],
    [3, 400_000],
  ] as const) {
    await to(atMicros);
    await pump.stroke(number);
    expect(port.outputs.rts).toBe(true);
    expect(clock.nowMicros()).toBe(atMicros);
  }
  await to(SECOND);
  expect(port.pulses("rts")).toEqual([0, 200_000, 400_000].map((atMicros) => ({ atMicros, micros: 50_000 })));
  expect(port.pulses("dtr")).toEqual([]);
});

test("a stroke before the last pulse and as long a rest are over is refused and lengthens nothing", async () => {
  const { port, pump, to } = await bench();
  await pump.stroke(1);
  for (const atMicros of [0, 49_999, 50_001, 99_999]) {
    await to(atMicros);
    await expect(pump.stroke(2)).rejects.toMatchObject({ fault: { kind: "refused" } });
  }
  await to(100_000);
  await pump.stroke(2);
  await to(SECOND);
  expect(port.pulses("rts")).toEqual([0, 100_000].map((atMicros) => ({ atMicros, micros: 50_000 })));
});

/** A clock on a machine that is busy when a pulse should end. */
class LateClock extends VirtualClock {
  lateMicros = 0;

  override after(micros: number, act: () => void): () => void {
    return super.after(micros === 50_000 ? micros + this.lateMicros : micros, act);
  }
}

test("a stroke at its time waits out a pulse that ends late, and as long a rest", async () => {
  const clock = new LateClock();
  const { port, pump, to } = await bench(BOTH, clock);
  clock.lateMicros = 30_000;
  await pump.stroke(1);
  await to(100_000);
  clock.lateMicros = 0;
  await clock.run(pump.stroke(2), SECOND);
  expect(clock.nowMicros()).toBe(130_000);
  await to(SECOND);
  expect(port.pulses("rts")).toEqual([
    { atMicros: 0, micros: 80_000 },
    { atMicros: 130_000, micros: 50_000 },
  ]);
});

test("a stroke that waits for a late pulse is not made once the pump is closed", async () => {
  const clock = new LateClock();
  const { port, meter, pump, to } = await bench(BOTH, clock);
  clock.lateMicros = 90_000;
  await pump.stroke(1);
  await to(110_000);
  const refused = expectRejected(pump.stroke(2));
  await clock.run(pump.close(), SECOND);
  expect(await clock.run(refused, SECOND)).toMatchObject({ fault: { kind: "refused" } });
  await to(SECOND);
  await meter.close();
  expect(port.pulses("rts")).toEqual([{ atMicros: 0, micros: 110_000 }]);
});

test("closing in the middle of a pulse ends it at once, and no stroke is made after", async () => {
  const { port, meter, pump, to } = await bench();
  await pump.stroke(1);
  await to(10_000);
  await pump.close();
  expect(port.outputs.rts).toBe(false);
  await expect(pump.stroke(2)).rejects.toMatchObject({ fault: { kind: "refused" } });
  await meter.close();
  expect(port.pulses("rts")).toEqual([{ atMicros: 0, micros: 10_000 }]);
});

test.each(["cts", "dsr", "dcd"] as const)(
  "a contact on %s is told as edges, each within a look of when it was made, at the stated rate",
  async (contact) => {
    const { clock, port, edges, to } = await bench(`lines:/dev/ttyX0?contact=${contact}&stroke=rts&poll=5ms`);
    const made: number[] = [];
    for (const [i, atMicros] of [101_000, 152_300, 700_001, 750_000].entries()) {
      made.push(atMicros);
      clock.after(atMicros, () => {
        port.make({ cts: false, dsr: false, dcd: false, [contact]: i % 2 === 0 });
      });
    }
    await to(SECOND);
    expect(edges.map(({ kind }) => kind)).toEqual(["open", "close", "open", "close", "open"]);
    for (const [i, { atMicros }] of edges.slice(1).entries()) {
      expect(atMicros).toBeGreaterThanOrEqual(made[i] ?? 0);
      expect(atMicros).toBeLessThanOrEqual((made[i] ?? 0) + 5_000);
    }
    expect(port.looks).toBeGreaterThanOrEqual(200);
    expect(port.looks).toBeLessThanOrEqual(203);
  },
);

test("a contact that is closed when the program begins is no closure until it was seen open", async () => {
  const clock = new VirtualClock();
  const port = new TwoSided(clock);
  port.make({ cts: true });
  const meter = await openMeter(BOTH, { clock, lineBinding: port });
  const kinds: string[] = [];
  await meter.start({ hear: ({ kind }) => kinds.push(kind), lost: () => undefined });
  for (const [atMicros, isClosed] of [
    [30_000, false],
    [60_000, true],
  ] as const) {
    clock.after(atMicros, () => {
      port.make({ cts: isClosed });
    });
  }
  const later = new Promise<void>((resolve) => clock.after(100_000, resolve));
  await clock.run(later, SECOND);
  expect(kinds).toEqual(["open", "close"]);
  await meter.close();
});

// An opening shorter than a look may not be seen, so that it is the whole bounce that must be over in time.
test("closures whose bounce is over within the qualifying time, polled, are as many contacts to the pacer", async () => {
  const closure = fc.record({
    bounces: fc.array(fc.integer({ min: 1, max: 1_300 }), { maxLength: 6 }),
    closed: fc.integer({ min: 25_000, max: 60_000 }),
    open: fc.integer({ min: 25_000, max: 60_000 }),
  });
  await fc.assert(
    fc.asyncProperty(fc.array(closure, { minLength: 1, maxLength: 6 }), async (closures) => {
      const { clock, port, meter, pump, edges, to } = await bench();
      let atMicros = 50_000;
      let isClosed = false;
      const flip = (): void => {
        const next = !isClosed;
        isClosed = next;
        clock.after(atMicros - clock.nowMicros(), () => {
          port.make({ cts: next });
        });
      };
      for (const { bounces, closed, open } of closures) {
        flip();
        // In pairs, so that the contact ends closed.
        for (const bounce of bounces.length % 2 === 0 ? bounces : bounces.slice(1)) {
          atMicros += bounce;
          flip();
        }
        atMicros += closed;
        flip();
        atMicros += open;
      }
      await to(atMicros + 50_000);
      await Promise.all([meter.close(), pump.close()]);
      let counted = 0;
      const run = runModel(sound({ strokes: 1, contacts: 1, leastSpacingMicros: 1_000 }), (event) => {
        if (event.kind === "counted") counted += event.contacts;
      });
      for (const edge of edges) run.give(edge);
      run.end(atMicros + 2 * SECOND);
      expect(counted).toBe(closures.length);
    }),
    { numRuns: runs(30) },
  );
});

test.each([
  ["unplugged", "unplugged"],
  ["stuck", "silent"],
] as const)(
  "a port that is %s is told as %s to both ends once, within a second and a look, and strokes no more",
  async (trouble, kind) => {
    const { clock, port, meter, pump, lost, to } = await bench();
    await to(100_000);
    port.trouble = trouble;
    const seen = clock.run(expectRejected(pump.stroke(1)), 10 * SECOND);
    expect(await seen).toMatchObject({ name: "FieldError", fault: { kind } });
    expect(clock.nowMicros()).toBeLessThan(1_200_000);
    expect(lost.map((fault) => fault.kind)).toEqual([kind, kind]);
    expect(await clock.run(expectRejected(pump.stroke(1)), SECOND)).toMatchObject({ fault: { kind } });
    await clock.run(Promise.all([meter.close(), pump.close()]), 10 * SECOND);
    expect(port.outputs).toEqual({ rts: false, dtr: false });
  },
);

test("a relay alone is looked after too: its port's end is told without a stroke", async () => {
  const clock = new VirtualClock();
  const port = new TwoSided(clock);
  const pump = await openPump("lines:/dev/ttyX0?stroke=dtr", { clock, lineBinding: port });
  const gone = new Promise<FieldFault>((resolve) => void pump.start({ lost: resolve }));
  clock.after(SECOND, () => (port.trouble = "unplugged"));
  expect(await clock.run(gone, 2 * SECOND)).toMatchObject({ kind: "unplugged" });
  await pump.close();
});

test("a pulse longer than half of the least spacing is refused, one of just half is not", async () => {
  const clock = new VirtualClock();
  const opened = (leastSpacingMicros: number): Promise<Pump> =>
    openPump(BOTH, { clock, lineBinding: new TwoSided(clock), leastSpacingMicros });
  await expect(opened(99_999)).rejects.toMatchObject({
    name: "InputError",
    faults: [{ field: "--pump", mend: "give pulse=49ms or less, or a lower cap" }],
  });
  await (await opened(100_000)).close();
});

test("each line tells what must be known of it: how often it is looked at, how long a pulse is, what opening does", async () => {
  const { meter, pump } = await bench();
  expect(meter.keepsRegister).toBe(false);
  expect(pump.keepsNumber).toBe(false);
  expect(await pump.lastStroke()).toBeUndefined();
  expect(meter.about.cautions.join("\n")).toMatch(/CTS is looked at every 2 ms \(500 times a second\)/);
  expect(meter.about.cautions.join("\n")).toMatch(/no register[^]*isolated contact of extra-low voltage/);
  expect(pump.about.cautions.join("\n")).toMatch(/pulse of 50 ms on RTS/);
  expect(pump.about.cautions.join("\n")).toMatch(/as the port is opened[^]*never its mains[^]*uncertain/);
});

test("a pseudo-terminal has no modem-control lines, and says so through the real binding", async () => {
  const { path } = openPtyPlant();
  await expect(openMeter(`lines:${path}?contact=cts`)).rejects.toMatchObject({
    name: "FieldError",
    fault: {
      kind: "refused",
      mend: "give a serial port or adapter that has them; a pseudo-terminal has none",
    },
  });
  await expect(openMeter("lines:/dev/not-there?contact=cts")).rejects.toMatchObject({
    fault: { kind: "unplugged" },
  });
});

/** What it was rejected with. */
async function expectRejected(work: Promise<unknown>): Promise<unknown> {
  try {
    await work;
  } catch (error) {
    return error;
  }
  throw new Error("it was not rejected");
}
