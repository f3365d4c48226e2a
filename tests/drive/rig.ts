/**
 * A plant in virtual time, and feeds that live and are killed in it. Test support.
 *
 * The plant outlives every feed: its meter counts on, its pump remembers the strokes that it made. A feed can be killed
 * at any of its operations: from then on nothing that it does has an effect.
 */
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { type SchedulerAction, type SchedulerLike, Subscription } from "rxjs";
import { onTestFinished } from "vitest";
import type { Feed } from "../../harness/drive/feed.js";
import { type StartParts, startFeed } from "../../harness/drive/start.js";
import type { Trouble } from "../../harness/drive/status.js";
import {
  FieldError,
  type FieldEars,
  type Meter,
  type MeterEvent,
  type Pump,
} from "../../harness/field/field.js";
import { openJournal } from "../../harness/journal/open.js";
import type { RunRecord, StepRecord } from "../../harness/journal/record.js";
import type { Journal } from "../../harness/journal/store.js";
import type { Settings } from "../../lib/pacing/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";

/** A folder of its own, in memory where that can be: what is tested here is not the disk. */
export function journalFolder(): string {
  const path = mkdtempSync(join(existsSync("/dev/shm") ? "/dev/shm" : tmpdir(), "tallystroke-"));
  onTestFinished(() => {
    rmSync(path, { recursive: true, force: true });
  });
  return join(path, "journal");
}

interface Due {
  readonly atMillis: number;
  readonly act: () => void;
}

/** Time that goes on only when it is told to, and lets promises settle in between. */
export class World {
  nowMillis = 1_000_000;
  /** What the boot-time clock and the wall clock are ahead of the monotonic one. */
  sleptMillis = 0;
  wallMillis = 1_700_000_000_000;
  bootId = "boot-1";
  private due: Due[] = [];

  after(millis: number, act: () => void): Subscription {
    const due = { atMillis: this.nowMillis + Math.max(0, millis), act };
    const place = this.due.findIndex(({ atMillis }) => atMillis > due.atMillis);
    this.due.splice(place < 0 ? this.due.length : place, 0, due);
    return new Subscription(() => {
      this.due = this.due.filter((other) => other !== due);
    });
  }

  async advance(millis: number): Promise<void> {
    const untilMillis = this.nowMillis + millis;
    for (;;) {
      await settle();
      const next = this.due[0];
      if (next === undefined || next.atMillis > untilMillis) break;
      this.due.shift();
      this.nowMillis = Math.max(this.nowMillis, next.atMillis);
      next.act();
    }
    this.nowMillis = untilMillis;
    await settle();
  }

  /** Nothing that is due happens for so long; then it all does, late. */
  stall(millis: number): void {
    this.nowMillis += millis;
  }

  sleep(millis: number): void {
    this.sleptMillis += millis;
    this.wallMillis += millis;
  }
}

function settle(): Promise<void> {
  return new Promise((resolve) => setImmediate(resolve));
}

export interface PlantOptions {
  readonly keepsRegister?: boolean;
  readonly keepsNumber?: boolean;
  readonly register?: number;
  /** How long a request for a stroke, and its acknowledgement, are on the way. */
  readonly latencyMillis?: number;
}

/** What stands outside, and goes on whoever feeds it. */
export class Plant {
  register: number;
  last: number;
  contacts = 0;
  readonly strokes: { readonly number: number; readonly atMillis: number }[] = [];
  /** How the pump takes the next requests. */
  mood: "well" | "silent" | "deaf" | "refuses" = "well";
  meterEars: FieldEars<MeterEvent> | undefined;
  pumpEars: Pick<FieldEars<never>, "lost"> | undefined;

  constructor(
    readonly world: World,
    readonly options: PlantOptions = {},
  ) {
    this.register = options.register ?? 0;
    this.last = 0;
  }

  contact(): void {
    this.contacts += 1;
    this.register = (this.register + 1) % 2 ** 32;
    if (this.options.keepsRegister === false) {
      this.meterEars?.hear({ kind: "close" });
      this.world.after(20, () => this.meterEars?.hear({ kind: "open" }));
    } else this.meterEars?.hear({ kind: "register", contacts: this.register });
  }

  make(number: number): void {
    if (number === this.last) return;
    this.last = number;
    this.strokes.push({ number, atMillis: this.world.nowMillis });
  }

  leastSpacingMillis(): number {
    const gaps = this.strokes.slice(1).map(({ atMillis }, i) => atMillis - (this.strokes[i]?.atMillis ?? 0));
    return Math.min(...gaps);
  }
}

/** One life of a feed, from its start to its end or its death. */
export class Life {
  feed: Feed | undefined;
  isDead = false;
  /** Operations so far, and their names. */
  readonly points: string[] = [];
  readonly events: TraceEvent[] = [];
  readonly troubles: Trouble[] = [];
  journal: Journal | undefined;
  closed = { meter: 0, pump: 0 };

  constructor(
    readonly plant: Plant,
    readonly folder: string,
    /** It dies at this operation, the first being 1. */
    private killAt = Infinity,
  ) {}

  /** It dies at the operation that is so many from now, the next being 1. */
  killAfter(operations: number): void {
    this.killAt = this.points.length + operations;
  }

  /** Rejects where the start fails; resolves to nothing where it was killed in it. */
  async start(settings: Settings, more: Partial<StartParts> = {}): Promise<Feed | undefined> {
    const clock = this.clock();
    try {
      this.point("open");
      this.journal = openJournal(this.folder, () => ({ wallMs: clock.wallMs(), boot: clock.boot() }));
      const parts = {
        meter: this.meter(),
        pump: this.pump(),
        journal: this.journalOf(this.journal),
        clock,
        settings,
        confirmed: false,
        plan: undefined,
        dose: undefined,
        zone: "UTC",
        version: "test",
        onChange: () => undefined,
        onEvents: (events: readonly TraceEvent[]) => {
          for (const event of events) this.events.push(event);
        },
        onTrouble: (trouble: Trouble) => this.troubles.push(trouble),
        ...more,
      };
      const started = startFeed(parts);
      void started.catch(() => undefined);
      await this.plant.world.advance(this.latencyMillis + 3);
      if (this.isDead) return undefined;
      this.feed = await started;
      return this.feed;
    } catch (error) {
      if (this.isDead) return undefined;
      throw error;
    }
  }

  /** The process is gone; the operating system closes what it had open. */
  kill(): void {
    this.isDead = true;
    this.plant.meterEars = undefined;
    this.plant.pumpEars = undefined;
    this.journal?.close();
  }

  private get latencyMillis(): number {
    return this.plant.options.latencyMillis ?? 2;
  }

  private point(name: string): void {
    if (this.isDead) throw new Error("dead");
    this.points.push(name);
    if (this.points.length < this.killAt) return;
    this.kill();
    throw new Error("killed");
  }

  private clock(): StartParts["clock"] {
    const { world } = this.plant;
    const scheduler: SchedulerLike = {
      now: () => world.nowMillis,
      schedule: <Value>(
        work: (this: SchedulerAction<Value>, state?: Value) => void,
        delay = 0,
        state?: Value,
      ) =>
        world.after(delay, () => {
          if (!this.isDead) work.call(undefined as unknown as SchedulerAction<Value>, state);
        }),
    };
    return {
      scheduler,
      boot: () => ({ id: world.bootId, micros: Math.round((world.nowMillis + world.sleptMillis) * 1_000) }),
      wallMs: () => Math.round(world.wallMillis + world.nowMillis),
    };
  }

  private journalOf(journal: Journal): Journal {
    const around =
      <Args extends unknown[]>(name: string, act: (...args: Args) => void) =>
      (...args: Args): void => {
        this.point(`before ${name}`);
        act(...args);
        this.point(`after ${name}`);
      };
    return {
      ...journal,
      begin: around("begin", (run: RunRecord, first: StepRecord) => {
        journal.begin(run, first);
      }),
      commit: around("commit", (step: StepRecord) => {
        journal.commit(step);
      }),
      acknowledge: around("acknowledge", (atMicros: number) => {
        journal.acknowledge(atMicros);
      }),
      note: around("note", (kind: string, words: string, atMicros: number) => {
        journal.note(kind, words, atMicros);
      }),
      end: around("end", (why: string, atMicros: number) => {
        journal.end(why, atMicros);
      }),
      close: () => {
        if (!this.isDead) journal.close();
      },
    };
  }

  meter(): Meter {
    const { plant } = this;
    return {
      about: { spec: "fake", name: "fake meter", cautions: [] },
      keepsRegister: plant.options.keepsRegister ?? true,
      start: (ears) => {
        plant.meterEars = ears;
        if (plant.options.keepsRegister !== false) ears.hear({ kind: "register", contacts: plant.register });
        return Promise.resolve();
      },
      close: () => {
        this.closed.meter += 1;
        if (!this.isDead) plant.meterEars = undefined;
        return Promise.resolve();
      },
    };
  }

  private pump(): Pump {
    const { plant } = this;
    const keepsNumber = plant.options.keepsNumber ?? true;
    return {
      about: { spec: "fake", name: "fake pump", cautions: [] },
      keepsNumber,
      start: (ears) => {
        plant.pumpEars = ears;
        return Promise.resolve();
      },
      // The line keeps its order: what a feed before this one has sent arrives first.
      lastStroke: () =>
        new Promise((resolve) => {
          plant.world.after(this.latencyMillis, () => {
            resolve(keepsNumber ? plant.last : undefined);
          });
        }),
      stroke: (number) => this.stroke(number),
      close: () => {
        this.closed.pump += 1;
        return Promise.resolve();
      },
    };
  }

  private stroke(number: number): Promise<void> {
    const { plant } = this;
    const latency = this.latencyMillis / 2;
    return new Promise((resolve, reject) => {
      const live = (name: string, act: () => void): void => {
        try {
          this.point(name);
        } catch {
          return;
        }
        act();
      };
      live("stroke asked", () => {
        // Once sent, it arrives, whether or not anybody still lives to hear of it.
        plant.world.after(latency, () => {
          if (plant.mood === "refuses") {
            reject(new FieldError({ kind: "refused", message: "the fake pump refused", mend: "mend it" }));
            return;
          }
          if (plant.mood === "deaf") return;
          plant.make(number);
          if (plant.mood === "silent") return;
          live("stroke made", () => {
            plant.world.after(latency, () => {
              live("stroke acknowledged", resolve);
            });
          });
        });
      });
    });
  }
}
