/**
 * A meter and a pump over the link, as one device or two. Harness layer.
 *
 * One device stays open until every end of it is closed. A register that goes back is nonsense, never contacts.
 */
import { LinkFault } from "../link/link-fault.js";
import { connectPlant, type Plant, type PlantOptions } from "../link/plant.js";
import type { Transport } from "../link/transport.js";
import {
  FieldError,
  type FieldAbout,
  type FieldEars,
  type FieldFault,
  type Meter,
  type MeterEvent,
  type Pump,
} from "./field.js";
import { countedSince } from "./register.js";

/** What a device over the link has. */
export interface LinkedEnds {
  readonly meter?: Meter;
  readonly pump?: Pump;
  /** Lets go of an end that nobody took. */
  close(): Promise<void>;
}

type Ear = Pick<FieldEars<never>, "lost">;

/** Greets the device; rejects with a {@link FieldError}, the transport closed. Only the ends that are wanted are given. */
export async function openLinked(
  spec: string,
  transport: Transport,
  wanted: readonly ("meter" | "pump")[],
  options: PlantOptions = {},
): Promise<LinkedEnds> {
  const shared = new SharedPlant();
  const ears = {
    register: (contacts: number, by: "report" | "answer") => {
      shared.take(contacts, by);
    },
    lost: (fault: LinkFault) => {
      shared.lose(fieldFault(spec, fault));
    },
  };
  const plant = await connectPlant(transport, ears, options).catch((error: unknown) => {
    throw asFieldError(spec, error);
  });
  const { name, hasMeter, hasPump } = plant.greeting;
  const about: FieldAbout = { spec, name, cautions: [] };
  const open = { count: 0 };
  const letGo = async (): Promise<void> => {
    open.count -= 1;
    if (open.count <= 0) await plant.close();
  };
  const meter = hasMeter && wanted.includes("meter") ? linkedMeter(about, plant, shared, letGo) : undefined;
  const pump = hasPump && wanted.includes("pump") ? linkedPump(about, plant, shared, letGo) : undefined;
  open.count = [meter, pump].filter((end) => end !== undefined).length;
  return { ...(meter && { meter }), ...(pump && { pump }), close: () => plant.close() };
}

/** What the ends of one device hear of it. */
class SharedPlant {
  private readonly ears = new Set<Ear>();
  private hear: ((event: MeterEvent) => void) | undefined;
  private heard: number | undefined;

  /** What was lost before is told by whoever asks next. */
  join(ear: Ear): void {
    this.ears.add(ear);
  }

  leave(ear: Ear | undefined): void {
    if (ear !== undefined) this.ears.delete(ear);
  }

  listen(hear: ((event: MeterEvent) => void) | undefined): void {
    this.hear = hear;
  }

  /** Throws a LinkFault for a register that went back. */
  take(contacts: number, by: "report" | "answer"): void {
    const counted = this.heard === undefined ? undefined : countedSince(this.heard, contacts);
    if (this.heard !== undefined && counted === undefined) {
      // An answer that had to be repeated is as old as its first try.
      if (by === "answer") return;
      throw new LinkFault("nonsense", `its register went back from ${this.heard} to ${contacts}`);
    }
    this.heard = contacts;
    if (counted !== 0) this.hear?.({ kind: "register", contacts });
  }

  lose(fault: FieldFault): void {
    for (const ear of [...this.ears]) ear.lost(fault);
  }
}

function linkedMeter(
  about: FieldAbout,
  plant: Plant,
  shared: SharedPlant,
  letGo: () => Promise<void>,
): Meter {
  let ears: FieldEars<MeterEvent> | undefined;
  let isClosed = false;
  return {
    about,
    keepsRegister: true,
    async start(given) {
      shared.join(given);
      ears = given;
      try {
        const contacts = await plant.register();
        // Closed meanwhile: no ear is called any more.
        if (isClosed) return;
        shared.listen(given.hear);
        shared.take(contacts, "answer");
      } catch (error) {
        shared.leave(given);
        throw asFieldError(about.spec, error);
      }
    },
    async close() {
      if (isClosed) return;
      isClosed = true;
      shared.listen(undefined);
      shared.leave(ears);
      await letGo();
    },
  };
}

function linkedPump(about: FieldAbout, plant: Plant, shared: SharedPlant, letGo: () => Promise<void>): Pump {
  let ear: Ear | undefined;
  let isClosed = false;
  const asked = async <Value>(ask: () => Promise<Value>): Promise<Value> => {
    if (ear === undefined || isClosed) {
      throw new FieldError({
        kind: "refused",
        message: `the pump at ${about.spec} is not running`,
        mend: "open and start it first",
      });
    }
    return ask().catch((error: unknown) => {
      throw asFieldError(about.spec, error);
    });
  };
  return {
    about,
    keepsNumber: true,
    async start(given) {
      shared.join(given);
      ear = given;
      await asked(() => plant.lastStroke()).catch((error: unknown) => {
        shared.leave(given);
        throw error;
      });
    },
    lastStroke: () => asked(() => plant.lastStroke()),
    stroke: (number) => asked(() => plant.stroke(number)),
    async close() {
      if (isClosed) return;
      isClosed = true;
      shared.leave(ear);
      await letGo();
    },
  };
}

const KINDS: { readonly [kind in LinkFault["fault"]["kind"]]: FieldFault["kind"] } = {
  silent: "silent",
  unplugged: "unplugged",
  restarted: "restarted",
  refused: "refused",
  nonsense: "nonsense",
  "lost-report": "nonsense",
  flood: "nonsense",
  late: "refused",
  failed: "refused",
  "given-up": "unplugged",
};

function fieldFault(spec: string, { fault }: LinkFault): FieldFault {
  const message = fault.message.startsWith(spec) ? fault.message : `${spec}: ${fault.message}`;
  return { kind: KINDS[fault.kind], message, mend: fault.mend };
}

function asFieldError(spec: string, error: unknown): unknown {
  return error instanceof LinkFault ? new FieldError(fieldFault(spec, error)) : error;
}
