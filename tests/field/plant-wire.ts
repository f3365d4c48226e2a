/**
 * The stand-in meter and pump at the end of a wire on a virtual clock, opened as the feed opens them. Test support.
 */
import type { FieldFault, Meter, Pump } from "../../harness/field/field.js";
import { openLinked } from "../../harness/field/linked.js";
import type { Micros } from "../../lib/pacing/index.js";
import { PlantEnd, type PlantEndOptions } from "../bench-devices/plant-end.mjs";
import { VirtualClock, wire, type Wire } from "../link/virtual-bench.js";

export interface PlantBench {
  readonly clock: VirtualClock;
  /** What went over the line since the ends were opened. */
  readonly wire: () => readonly string[];
  /** Pulls the cable. */
  readonly pull: () => void;
  readonly plant: PlantEnd;
  /** Every stroke that the pump really made, in order. */
  readonly made: number[];
  /** What one feed after the other heard: every register. */
  readonly heard: number[];
  /** Every end that was lost, by what. */
  readonly lost: FieldFault[];
  /** Waits for work on the virtual clock. */
  readonly run: <Value>(work: Promise<Value>) => Promise<Value>;
  /** Lets time go on by so much. */
  readonly pass: (micros: Micros) => Promise<void>;
  /** Opens both ends, anew if they were open before. */
  readonly plug: () => Promise<{ readonly meter: Meter; readonly pump: Pump }>;
  /** Starts them too. */
  readonly open: () => Promise<{ readonly meter: Meter; readonly pump: Pump }>;
}

export interface PlantWireOptions extends Partial<PlantEndOptions> {
  readonly delay?: () => Micros;
  /** What becomes of bytes on their way, either way. */
  readonly damage?: (bytes: Uint8Array) => Uint8Array;
}

const LONG: Micros = 60_000_000;

export function plantOnWire({
  delay,
  damage = (bytes) => bytes,
  ...options
}: PlantWireOptions = {}): PlantBench {
  const clock = new VirtualClock();
  const made: number[] = [];
  const heard: number[] = [];
  const lost: FieldFault[] = [];
  let send: (bytes: Uint8Array) => void = () => undefined;
  let cable: Wire | undefined;
  const plant = new PlantEnd({
    name: "stand-in",
    has: ["meter", "pump"],
    register: 0,
    last: 0,
    now: () => clock.nowMicros(),
    send: (text) => {
      send(damage(Buffer.from(text, "latin1")));
    },
    made: (number) => made.push(number),
    kept: () => undefined,
    isBusy: () => false,
    hangUp: () => cable?.pull(),
    ...options,
  });
  const plugIn = (): Wire => {
    plant.newLine();
    return wire(
      clock,
      (toFeed) => {
        send = toFeed;
        return {
          take: (bytes) => {
            plant.take(Buffer.from(damage(bytes)).toString("latin1"));
          },
          close: () => {
            if (send === toFeed) send = () => undefined;
          },
        };
      },
      delay,
    );
  };
  const run = <Value>(work: Promise<Value>): Promise<Value> => clock.run(work, LONG);
  let nonce = 0;
  const plug = async (): Promise<{ readonly meter: Meter; readonly pump: Pump }> => {
    cable = plugIn();
    nonce += 1;
    const { meter, pump } = await run(
      openLinked("wire", cable.transport, ["meter", "pump"], { clock, nonce }),
    );
    if (meter === undefined || pump === undefined) throw new Error("an end is missing");
    return { meter, pump };
  };
  return {
    clock,
    plant,
    made,
    heard,
    lost,
    run,
    wire: () => cable?.lines ?? [],
    pull: () => cable?.pull(),
    pass: (micros) => run(new Promise((resolve) => void clock.after(micros, resolve))),
    plug,
    async open() {
      const { meter, pump } = await plug();
      const ear = (fault: FieldFault): void => void lost.push(fault);
      await run(
        meter.start({ hear: (event) => event.kind === "register" && heard.push(event.contacts), lost: ear }),
      );
      await run(pump.start({ lost: ear }));
      return { meter, pump };
    },
  };
}

/** What it was rejected with; throws if it was not. */
export async function rejected(work: Promise<unknown>): Promise<unknown> {
  try {
    await work;
  } catch (error) {
    return error;
  }
  throw new Error("it was not rejected");
}
