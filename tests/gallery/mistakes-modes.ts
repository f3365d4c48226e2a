/**
 * Mistakes in what hold, inhibit, trip, prime and power do, and in what is told of it. Test support.
 */
import { HOUR, type InhibitCause, type Micros, SECOND } from "../../lib/pacing/index.js";
import type { ResponseEvent } from "../../lib/trace/index.js";
import { Controller } from "./controller.js";
import type { Mistake } from "./mistake.js";

export const MODE_MISTAKES: readonly Mistake[] = [
  {
    name: "remainder lost on prime",
    does: "clears the part of a stroke that is paid for when prime is pressed",
    law: "prime",
    also: ["proportion"],
    firmware: class extends Controller {
      protected override pressPrime(): void {
        super.pressPrime();
        this.remainder = 0;
      }
    },
  },
  {
    name: "prime changes owed",
    does: "takes a primed stroke for one of those that are owed",
    law: "prime",
    also: ["balance"],
    firmware: class extends Controller {
      protected override strokeForPrime(): void {
        super.strokeForPrime();
        if (this.owed > 0) this.owed -= 1;
      }
    },
  },
  {
    name: "one stroke after release",
    does: "looks at the prime key only after its next stroke",
    law: "prime",
    firmware: class extends Controller {
      protected override releasePrime(): void {
        this.pressed = false;
      }
      protected override strokeForPrime(): void {
        super.strokeForPrime();
        this.priming &&= this.pressed;
      }
    },
  },
  {
    name: "prime never times out",
    does: "primes for as long as the key is held",
    law: "prime",
    firmware: class extends Controller {
      protected override primeEndMicros(): Micros {
        return Infinity;
      }
    },
  },
  {
    name: "prime in a 16-bit timer",
    does: "times the longest hold with a 16-bit millisecond timer, which never reaches 70 s",
    law: "prime",
    settings: { longestPrimeMicros: 70 * SECOND },
    firmware: class extends Controller {
      protected override primeEndMicros(): Micros {
        return this.settings.longestPrimeMicros > 65_535_000 ? Infinity : super.primeEndMicros();
      }
    },
  },
  {
    name: "longest hold starts again",
    does: "starts the longest hold again when the key reports itself pressed once more",
    law: "prime",
    firmware: class extends Controller {
      protected override pressPrime(): void {
        if (this.priming) this.primeSinceMicros = this.nowMicros;
        super.pressPrime();
      }
    },
  },
  {
    name: "prime comes back after a hold",
    does: "goes on priming when a hold ends, since the key is still held",
    law: "prime",
    firmware: class extends Controller {
      protected override endHold(): void {
        super.endHold();
        if (this.isStopped()) return;
        this.priming = this.pressed;
        this.primeSinceMicros = this.nowMicros;
      }
    },
  },
  {
    name: "old owed fed after a hold",
    does: "lets the grace stand still while held, and feeds what was owed when the hold ends",
    law: "still-water",
    firmware: class extends Controller {
      private ageMicros: Micros = 0;
      protected override beginHold(): void {
        if (!this.held) this.ageMicros = this.nowMicros - this.contactMicros;
        this.held = true;
        this.priming = false;
      }
      protected override endHold(): void {
        if (this.held) this.contactMicros = this.nowMicros - this.ageMicros;
        super.endHold();
      }
      protected override graceEndMicros(): Micros {
        return this.held ? Infinity : super.graceEndMicros();
      }
    },
  },
  {
    name: "inhibit ignored while primed",
    does: "does not look at the interlocks while prime is held",
    law: "silence",
    also: ["prime"],
    firmware: class extends Controller {
      protected override beginInhibit(cause: InhibitCause): void {
        const { priming } = this;
        super.beginInhibit(cause);
        this.priming = priming;
      }
    },
  },
  {
    name: "one flag for all inhibits",
    does: "goes on when the first interlock closes, though another is still open",
    law: "silence",
    also: ["prime"],
    firmware: class extends Controller {
      protected override endInhibit(): void {
        this.inhibits.clear();
      }
    },
  },
  {
    name: "second inhibit not seen",
    does: "honours only the interlock that opened first",
    law: "silence",
    firmware: class extends Controller {
      protected override beginInhibit(cause: InhibitCause): void {
        if (this.inhibits.size === 0) super.beginInhibit(cause);
      }
    },
  },
  {
    name: "trip without reset",
    does: "ends a trip by itself with the next contact",
    law: "silence",
    settings: { guardBudgetStrokes: 6, guardPeriodMicros: 12 * SECOND },
    firmware: class extends Controller {
      protected override takeContact(atMicros: Micros): void {
        this.tripped = false;
        super.takeContact(atMicros);
      }
    },
  },
  {
    name: "hold lost in a power cut",
    does: "comes back feeding though it was held when the power went",
    law: "silence",
    also: ["proportion", "causality"],
    firmware: class extends Controller {
      override powerOff(): void {
        super.powerOff();
        this.held = false;
      }
    },
  },
  {
    name: "remainder lost on a power cycle",
    does: "keeps whole strokes through a power cut, but not the part of one",
    law: "power-cycle",
    also: ["proportion"],
    firmware: class extends Controller {
      override powerOff(): void {
        super.powerOff();
        this.remainder = 0;
      }
    },
  },
  {
    name: "strokes made twice after a restart",
    does: "saves its accounts only at each contact, and makes again what was made since",
    law: "power-cycle",
    also: ["balance", "proportion", "causality"],
    firmware: class extends Controller {
      private saved = { owed: 0, paced: 0, shed: 0 };
      protected override takeContact(atMicros: Micros): void {
        super.takeContact(atMicros);
        this.saved = { owed: this.owed, paced: this.paced, shed: this.shed };
      }
      override powerOff(): void {
        super.powerOff();
        Object.assign(this, this.saved);
      }
    },
  },
  {
    name: "owed fed after a long dark time",
    does: "takes the restart for a sign of flow, and feeds what was owed before it went dark",
    law: "still-water",
    firmware: class extends Controller {
      override powerOn(atMicros: Micros, darkMicros: Micros | undefined): void {
        this.contactMicros = atMicros;
        super.powerOn(atMicros, darkMicros === undefined ? 0 : darkMicros);
      }
    },
  },
  {
    name: "guard forgotten in a power cut",
    does: "starts with the whole budget after every restart",
    law: "guard",
    settings: { guardBudgetStrokes: 6, guardPeriodMicros: HOUR },
    firmware: class extends Controller {
      override powerOff(): void {
        super.powerOff();
        this.guardLevel = 0;
      }
    },
  },
  {
    name: "duplicate report",
    does: "reports every fifth stroke twice",
    law: "balance",
    also: ["cap", "causality"],
    firmware: class extends Controller {
      protected override tell(event: ResponseEvent): void {
        super.tell(event);
        if (event.kind === "paced" && this.paced % 5 === 0) super.tell(event);
      }
    },
  },
  {
    name: "dropped report",
    does: "loses the report of a stroke that is made in the moment of a contact",
    law: "balance",
    firmware: class extends Controller {
      protected override tell(event: ResponseEvent): void {
        if (event.kind !== "paced" || event.atMicros !== this.contactMicros) super.tell(event);
      }
    },
  },
  {
    name: "time stamps 2 % fast",
    does: "stamps what it reports by a timer that starts at each contact and runs 2 % fast",
    law: "cap",
    firmware: class extends Controller {
      protected override tell(event: ResponseEvent): void {
        const sinceMicros = event.atMicros - this.contactMicros;
        const fastMicros = sinceMicros < HOUR ? Math.round(sinceMicros / 50) : 0;
        super.tell({ ...event, atMicros: event.atMicros + fastMicros });
      }
    },
  },
];
