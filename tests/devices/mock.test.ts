/**
 * Does a device over the link give the trace that it gives in this process?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import type { Device, JobEnd } from "../../harness/device.js";
import { openMockTransport } from "../../harness/devices/mock.js";
import { modelDevice } from "../../harness/devices/model-device.js";
import { connect } from "../../harness/link/client.js";
import type { Transport } from "../../harness/link/transport.js";
import type { Settings } from "../../lib/pacing/index.js";
import { instantSorter, type StimulusEvent, type TraceEvent } from "../../lib/trace/index.js";
import { anySettings, anyStimulus } from "../support/arbitraries.js";
import { runs } from "../support/runs.js";

const RUNS = runs(40);
const TAIL_MICROS = 20_000_000;

interface Played {
  readonly end: JobEnd;
  readonly trace: TraceEvent[];
}

async function play(device: Device, settings: Settings, given: readonly StimulusEvent[]): Promise<Played> {
  const stimulus: StimulusEvent[] = [];
  const sorter = instantSorter((event) => stimulus.push(event));
  for (const event of given) sorter.take(event);
  sorter.end();
  const trace: TraceEvent[] = [];
  const untilMicros = (stimulus.at(-1)?.atMicros ?? 0) + TAIL_MICROS;
  const end = await device.run({ settings, stimulus, untilMicros, sink: (event) => trace.push(event) });
  return { end, trace };
}

test("the mock behind the link gives exactly the trace of the model, whatever the settings and the stimulus", async () => {
  const mock = await connect(await openMockTransport());
  const model = modelDevice();
  await fc.assert(
    fc.asyncProperty(anySettings, anyStimulus, async (settings, stimulus) => {
      expect(await play(mock, settings, stimulus)).toEqual(await play(model, settings, stimulus));
    }),
    { numRuns: RUNS },
  );
  await mock.close();
});

test("the same job puts the same bytes on the wire twice", async () => {
  await fc.assert(
    fc.asyncProperty(anySettings, anyStimulus, async (settings, stimulus) => {
      const wires: string[] = [];
      for (let i = 0; i < 2; i++) {
        let wire = "";
        const device = await connect(
          recorded(await openMockTransport(), (piece) => {
            wire += piece;
          }),
        );
        await play(device, settings, stimulus);
        await device.close();
        wires.push(wire);
      }
      expect(wires[1]).toBe(wires[0]);
    }),
    { numRuns: 10 },
  );
});

function recorded(transport: Transport, tell: (piece: string) => void): Transport {
  return {
    ...transport,
    name: transport.name,
    send(bytes) {
      tell(Buffer.from(bytes).toString("latin1"));
      return transport.send(bytes);
    },
    onBytes(take) {
      transport.onBytes((bytes) => {
        tell(Buffer.from(bytes).toString("latin1"));
        take(bytes);
      });
    },
  };
}
