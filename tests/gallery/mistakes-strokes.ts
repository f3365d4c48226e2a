/**
 * Mistakes in when strokes come, and in how many may be owed. Test support.
 */
import { HOUR, type Micros, MINUTE, SECOND } from "../../lib/pacing/index.js";
import { Controller } from "./controller.js";
import type { Mistake } from "./mistake.js";

export const STROKE_MISTAKES: readonly Mistake[] = [
  {
    name: "cap ignored after prime",
    does: "starts the spacing anew on release, as if there had been no stroke",
    law: "cap",
    firmware: class extends Controller {
      protected override releasePrime(): void {
        super.releasePrime();
        this.strokeMicros = -Infinity;
      }
    },
  },
  {
    name: "cap ignored after counter wrap",
    does: "compares the counter with a due time that has wrapped while the counter has not",
    law: "cap",
    also: ["time-shift"],
    firmware: class extends Controller {
      protected override spacedMicros(): Micros {
        const dueMicros = super.spacedMicros();
        return dueMicros >>> 0 > this.nowMicros >>> 0 ? dueMicros : this.nowMicros;
      }
    },
  },
  {
    name: "signed 32-bit time",
    does: "adds the spacing to a signed 32-bit time, which turns negative: the stroke is long due",
    law: "cap",
    also: ["time-shift"],
    firmware: class extends Controller {
      protected override spacedMicros(): Micros {
        const dueMicros = super.spacedMicros();
        return (dueMicros | 0) > (this.nowMicros | 0) ? dueMicros : this.nowMicros;
      }
    },
  },
  {
    name: "cap ignored after restart",
    does: "knows of no last stroke after a power cut, and makes one at once",
    law: "cap",
    firmware: class extends Controller {
      override powerOn(atMicros: Micros, darkMicros: Micros | undefined): void {
        super.powerOn(atMicros, darkMicros);
        this.strokeMicros = -Infinity;
      }
    },
  },
  {
    name: "spacing rounded down",
    does: "keeps the least spacing in whole milliseconds: 180 a minute become 180.2",
    law: "cap",
    settings: { leastSpacingMicros: 333_334 },
    firmware: class extends Controller {
      protected override spacedMicros(): Micros {
        return super.spacedMicros() - (this.settings.leastSpacingMicros % 1_000);
      }
    },
  },
  {
    name: "timer 2 % fast",
    does: "times its strokes by a clock that runs 2 % fast",
    law: "cap",
    firmware: class extends Controller {
      protected override spacedMicros(): Micros {
        return super.spacedMicros() - Math.ceil(this.settings.leastSpacingMicros / 51);
      }
    },
  },
  {
    name: "two strokes on one late tick",
    does: "counts the spacing from when a stroke was due, and catches up when its tick comes late",
    law: "lateness",
    firmware: class extends Controller {
      protected override stroke(): void {
        const dueMicros = this.spacedMicros();
        super.stroke();
        const isLate = this.nowMicros >= dueMicros + this.settings.leastSpacingMicros;
        if (isLate && this.owed > 0 && dueMicros > this.contactMicros) super.stroke();
      }
    },
  },
  {
    name: "stroke before the contact",
    does: "makes a stroke as soon as half of it is paid for, and counts it once it is",
    law: "causality",
    settings: { strokes: 1, contacts: 3 },
    firmware: class extends Controller {
      protected override keepWithinLimit(): void {
        super.keepWithinLimit();
        const isHalfPaid = this.owed === 0 && 2 * this.remainder >= this.settings.contacts;
        if (isHalfPaid && !this.priming && this.nowMicros >= this.spacedMicros()) this.stroke();
      }
      protected override tellAccounts(): void {
        if (this.owed >= 0) super.tellAccounts();
      }
    },
  },
  {
    name: "owed dosed into still water",
    does: "goes on with what is owed however long ago the water stopped",
    law: "still-water",
    firmware: class extends Controller {
      protected override graceEndMicros(): Micros {
        return Infinity;
      }
    },
  },
  {
    name: "grace from the last stroke",
    does: "counts the grace from the last stroke, not from the last contact",
    law: "still-water",
    firmware: class extends Controller {
      protected override graceEndMicros(): Micros {
        if (this.owed === 0) return Infinity;
        return Math.max(this.contactMicros, this.strokeMicros) + this.settings.graceMicros;
      }
    },
  },
  {
    name: "grace in a 16-bit timer",
    does: "times the grace with a 16-bit millisecond timer, which never reaches 70 s",
    law: "still-water",
    settings: { graceMicros: 70 * SECOND, leastSpacingMicros: 10 * SECOND },
    firmware: class extends Controller {
      protected override graceEndMicros(): Micros {
        return this.settings.graceMicros > 65_535_000 ? Infinity : super.graceEndMicros();
      }
    },
  },
  {
    name: "unlimited owed",
    does: "lets what is owed grow without limit",
    law: "debt",
    firmware: class extends Controller {
      protected override keepWithinLimit(): void {
        // Nothing is ever given up.
      }
    },
  },
  {
    name: "owed forgotten silently",
    does: "cuts what is owed to the limit without counting what it forgets",
    law: "balance",
    firmware: class extends Controller {
      protected override keepWithinLimit(): void {
        this.owed = Math.min(this.owed, this.settings.owedLimitStrokes);
      }
    },
  },
  {
    name: "owed in 8 bits",
    does: "keeps what is owed in 8 bits, though a contact may earn more",
    law: "balance",
    settings: { strokes: 300, contacts: 1, leastSpacingMicros: SECOND / 10, graceMicros: MINUTE },
    firmware: class extends Controller {
      protected override keepWithinLimit(): void {
        super.keepWithinLimit();
        this.owed &= 0xff;
      }
    },
  },
  {
    name: "shed counted twice",
    does: "adds what is given up to its total in two places",
    law: "balance",
    firmware: class extends Controller {
      protected override giveUp(...[cause, strokes]: Parameters<Controller["giveUp"]>): void {
        super.giveUp(cause, strokes);
        if (cause === "limit") this.shed += Math.max(strokes, 0);
      }
    },
  },
  {
    name: "guard by the clock's periods",
    does: "starts a fresh budget at each full period, so that twice the budget can pass around it",
    law: "guard",
    settings: { strokes: 1, contacts: 1, guardBudgetStrokes: 3, guardPeriodMicros: 10 * SECOND },
    firmware: class extends Controller {
      private period = -1;
      private used = 0;
      protected override admits(): boolean {
        const { guardBudgetStrokes, guardPeriodMicros } = this.settings;
        const period = Math.floor(this.nowMicros / guardPeriodMicros);
        if (period !== this.period) this.used = 0;
        this.period = period;
        this.used += 1;
        return guardBudgetStrokes === 0 || this.used <= guardBudgetStrokes;
      }
    },
  },
  {
    name: "guard blind to prime",
    does: "does not count primed strokes against the guard's budget",
    law: "guard",
    settings: { guardBudgetStrokes: 6, guardPeriodMicros: HOUR },
    firmware: class extends Controller {
      protected override admits(): boolean {
        return this.priming || super.admits();
      }
    },
  },
  {
    name: "spacing anew at every wake-up",
    does: "starts its spacing timer again whenever it is woken",
    law: "wake-ups",
    firmware: class extends Controller {
      override wake(atMicros: Micros): void {
        if (this.owed > 0 && this.strokeDueMicros() > atMicros) this.strokeMicros = atMicros;
        super.wake(atMicros);
      }
    },
  },
  {
    name: "feed in slots of its clock",
    does: "makes strokes only at full half-seconds of its own clock",
    law: "time-shift",
    firmware: class extends Controller {
      protected override spacedMicros(): Micros {
        const slot = SECOND / 2;
        return (
          Math.ceil(Math.max(super.spacedMicros(), this.contactMicros, this.primeSinceMicros) / slot) * slot
        );
      }
    },
  },
];
