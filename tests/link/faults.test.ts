/**
 * What does the client make of a line that loses, repeats, damages, splits, merges and delays what it carries?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import type { JobEnd } from "../../harness/device.js";
import { openMockTransport } from "../../harness/devices/mock.js";
import { modelDevice } from "../../harness/devices/model-device.js";
import { connect, DeviceError, type LinkDevice } from "../../harness/link/client.js";
import type { Transport } from "../../harness/link/transport.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import type { StimulusEvent } from "../../lib/trace/index.js";
import { sound } from "../support/arbitraries.js";
import { runs } from "../support/runs.js";

const RUNS = runs(60);
const LIMITS = { patienceMicros: 15_000, requestMicros: 2_000_000 };
const SETTINGS = sound({ strokes: 3, contacts: 2, leastSpacingMicros: 250_000 });
const STIMULUS: StimulusEvent[] = Array.from({ length: 24 }, (_, i) => ({
  kind: "contact",
  atMicros: 1_000_000 * (i + 1),
}));
const JOB = { settings: SETTINGS, stimulus: STIMULUS, untilMicros: 60_000_000 };

/** How many of a thousand pieces meet with each misfortune. */
interface Misfortune {
  readonly lost: number;
  readonly repeated: number;
  readonly damaged: number;
  readonly split: number;
  readonly late: number;
}

/** A small generator of its own, so that a seed gives the same misfortunes. */
function dice(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return (state >>> 8) % 1_000;
  };
}

function faulty(inner: Transport, seed: number, odds: Misfortune): Transport {
  const roll = dice(seed);
  const disturb = (bytes: Uint8Array): { readonly pieces: Uint8Array[]; readonly lateMillis: number } => {
    const copy = Buffer.from(bytes);
    if (roll() < odds.lost) return { pieces: [], lateMillis: 0 };
    if (roll() < odds.damaged) {
      const at = roll() % copy.length;
      copy[at] = (copy[at] ?? 0) ^ (1 << (roll() % 8));
    }
    const cut = roll() < odds.split ? roll() % copy.length : 0;
    const pieces = cut === 0 ? [copy] : [copy.subarray(0, cut), copy.subarray(cut)];
    if (roll() < odds.repeated) pieces.push(copy);
    return { pieces, lateMillis: roll() < odds.late ? 20 : 0 };
  };
  const lines = (bytes: Uint8Array): Buffer[] =>
    (
      Buffer.from(bytes)
        .toString("latin1")
        .match(/[^\n]*\n|[^\n]+$/g) ?? []
    ).map((text) => Buffer.from(text, "latin1"));
  let isClosed = false;
  return {
    name: inner.name,
    async send(bytes) {
      for (const line of lines(bytes)) {
        const { pieces, lateMillis } = disturb(line);
        if (lateMillis > 0) await new Promise((resolve) => setTimeout(resolve, lateMillis));
        for (const piece of pieces) if (!isClosed) await inner.send(piece);
      }
    },
    onBytes(take) {
      inner.onBytes((bytes) => {
        for (const line of lines(bytes)) {
          const { pieces, lateMillis } = disturb(line);
          const hand = (): void => {
            for (const piece of pieces) if (!isClosed) take(piece);
          };
          if (lateMillis === 0) hand();
          else setTimeout(hand, lateMillis);
        }
      });
    },
    onGone(tell) {
      inner.onGone(tell);
    },
    close() {
      isClosed = true;
      return inner.close();
    },
  };
}

async function play(device: Pick<LinkDevice, "run">): Promise<{ end: JobEnd; trace: TraceEvent[] }> {
  const trace: TraceEvent[] = [];
  const end = await device.run({ ...JOB, sink: (event) => trace.push(event) });
  return { end, trace };
}

test("whatever a bad line does, a run ends in exactly the model's trace or in a fault", async () => {
  const expected = await play(modelDevice());
  const odds = fc.nat({ max: 40 });
  let whole = 0;
  let faults = 0;
  await fc.assert(
    fc.asyncProperty(
      fc.nat(),
      fc.record({ lost: odds, repeated: odds, damaged: odds, split: fc.nat({ max: 500 }), late: odds }),
      async (seed, misfortune) => {
        let device: LinkDevice;
        try {
          device = await connect(faulty(await openMockTransport(), seed, misfortune), { limits: LIMITS });
        } catch (error) {
          if (!(error instanceof DeviceError)) throw error;
          faults += 1;
          return;
        }
        const played = await play(device);
        await device.close();
        if (played.end.ok) {
          expect(played).toEqual(expected);
          whole += 1;
        } else {
          expect(played.trace).toEqual(expected.trace.slice(0, played.trace.length));
          faults += 1;
        }
      },
    ),
    { numRuns: RUNS },
  );
  expect(whole).toBeGreaterThan(0);
  process.stdout.write(`bad lines: ${whole} whole traces, ${faults} faults\n`);
});

test("a device that goes silent in the middle is a fault, and one that answers again runs again", async () => {
  const inner = await openMockTransport();
  let isSilent = false;
  const device = await connect(
    {
      ...inner,
      name: inner.name,
      send: (bytes) => (isSilent ? Promise.resolve() : inner.send(bytes)),
    },
    { limits: LIMITS },
  );
  isSilent = true;
  expect((await play(device)).end).toMatchObject({ ok: false, fault: { kind: "silent" } });
  isSilent = false;
  expect(await play(device)).toEqual(await play(modelDevice()));
  await device.close();
});

test("a write that never completes is a fault", async () => {
  const inner = await openMockTransport();
  const stuck = { ...inner, name: inner.name, send: () => new Promise<void>(() => undefined) };
  await expect(connect(stuck, { limits: LIMITS })).rejects.toMatchObject({ fault: { kind: "silent" } });
});
