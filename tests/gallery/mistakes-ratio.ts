/**
 * Mistakes in what contacts are worth, and in which of them are counted. Test support.
 */
import { type Micros, type Settings, SECOND } from "../../lib/pacing/index.js";
import { Controller } from "./controller.js";
import type { Mistake } from "./mistake.js";

export const RATIO_MISTAKES: readonly Mistake[] = [
  {
    name: "off by one in divide",
    does: "makes a stroke when the count is past the divisor, not when it reaches it",
    law: "proportion",
    also: ["totality"],
    settings: { strokes: 1, contacts: 5 },
    firmware: class extends Controller {
      protected override earn(): number {
        this.remainder += this.settings.strokes;
        if (this.remainder <= this.settings.contacts) return 0;
        this.remainder -= this.settings.contacts;
        return 1;
      }
    },
  },
  {
    name: "float drift",
    does: "adds up strokes per contact in single precision",
    law: "proportion",
    settings: { strokes: 7, contacts: 10 },
    firmware: class extends Controller {
      private part = 0;
      protected override earn(): number {
        const { strokes, contacts } = this.settings;
        this.part = Math.fround(this.part + Math.fround(strokes / contacts));
        const whole = Math.floor(this.part);
        this.part = Math.fround(this.part - whole);
        return whole;
      }
    },
  },
  {
    name: "ratio rounded to tenths",
    does: "keeps strokes per contact with one decimal",
    law: "proportion",
    settings: { strokes: 1, contacts: 3 },
    firmware: class extends Controller {
      private tenths = 0;
      protected override earn(): number {
        this.tenths += Math.round((10 * this.settings.strokes) / this.settings.contacts);
        const whole = Math.floor(this.tenths / 10);
        this.tenths %= 10;
        return whole;
      }
    },
  },
  {
    name: "signed 32-bit product",
    does: "works out all strokes so far, in millionths, as a signed 32-bit product that overflows",
    law: "proportion",
    settings: { strokes: 300, contacts: 180 },
    firmware: class extends Controller {
      private millionths = 0;
      private fed = 0;
      protected override earn(): number {
        const { strokes, contacts } = this.settings;
        this.millionths = (this.millionths + strokes * 1_000_000) | 0;
        this.remainder = Math.floor(Math.max(this.millionths, 0) / 1_000_000) % contacts;
        const more = Math.max(Math.trunc(this.millionths / contacts / 1_000_000) - this.fed, 0);
        this.fed += more;
        return more;
      }
      protected override change(next: Settings): void {
        super.change(next);
        this.millionths = this.remainder * 1_000_000;
        this.fed = 0;
      }
    },
  },
  {
    name: "16-bit contact counter",
    does: "counts contacts in 16 bits and works the strokes out from the count",
    law: "proportion",
    settings: { strokes: 1, contacts: 5 },
    firmware: class extends Controller {
      private count = 0;
      private fed = 0;
      private startRemainder = 0;
      protected override earn(): number {
        const { strokes, contacts } = this.settings;
        this.count = (this.count + 1) & 0xffff;
        const paid = this.startRemainder + this.count * strokes;
        this.remainder = paid % contacts;
        const more = Math.max(Math.floor(paid / contacts) - this.fed, 0);
        this.fed += more;
        return more;
      }
      protected override change(next: Settings): void {
        super.change(next);
        this.startRemainder = this.remainder;
        this.count = this.fed = 0;
      }
    },
  },
  {
    name: "16-bit remainder",
    does: "adds the remainder and the next contact's share in 16 bits",
    law: "proportion",
    settings: { strokes: 40_000, contacts: 50_000 },
    firmware: class extends Controller {
      protected override earn(): number {
        const paid = (this.remainder + this.settings.strokes) & 0xffff;
        this.remainder = paid % this.settings.contacts;
        return Math.floor(paid / this.settings.contacts);
      }
    },
  },
  {
    name: "remainder lost on hold",
    does: "clears the part of a stroke that is paid for when a hold begins",
    law: "proportion",
    firmware: class extends Controller {
      protected override beginHold(): void {
        super.beginHold();
        this.remainder = 0;
      }
    },
  },
  {
    name: "remainder lost on a settings change",
    does: "starts from nothing when the ratio is changed",
    law: "proportion",
    firmware: class extends Controller {
      protected override carriedRemainder(): number {
        return 0;
      }
    },
  },
  {
    name: "remainder rounded up on a settings change",
    does: "rounds the remainder up to the next part of the new divisor",
    law: "proportion",
    also: ["causality", "totality"],
    firmware: class extends Controller {
      protected override carriedRemainder(next: Settings): number {
        return Math.ceil((this.remainder * next.contacts) / this.settings.contacts);
      }
    },
  },
  {
    name: "remainder not rescaled",
    does: "keeps the remainder as a number when the divisor changes",
    law: "proportion",
    also: ["causality", "totality"],
    firmware: class extends Controller {
      protected override carriedRemainder(): number {
        return this.remainder;
      }
    },
  },
  {
    name: "unconfirmed change in force",
    does: "takes a ratio that multiplies the feed without waiting for confirmation",
    law: "proportion",
    also: ["causality"],
    firmware: class extends Controller {
      protected override increasesTooMuch(): boolean {
        return false;
      }
    },
  },
  {
    name: "contacts while held earn",
    does: "goes on counting contacts while held, and feeds them after",
    law: "proportion",
    also: ["causality"],
    firmware: class extends Controller {
      protected override ignoresContacts(): boolean {
        return this.priming && this.settings.contactsDuringPrime === "ignore";
      }
    },
  },
  {
    name: "contacts earn while priming",
    does: "counts contacts while prime is held though it was set to ignore them",
    law: "proportion",
    also: ["causality"],
    settings: { contactsDuringPrime: "ignore" },
    firmware: class extends Controller {
      protected override ignoresContacts(): boolean {
        return this.held;
      }
    },
  },
  {
    name: "contacts faster than the meter",
    does: "counts contacts that come sooner than the meter can make them",
    law: "proportion",
    also: ["causality"],
    settings: { leastContactMicros: SECOND },
    firmware: class extends Controller {
      protected override isTooFast(): boolean {
        return false;
      }
    },
  },
  {
    name: "contact lost during a stroke",
    does: "waits for the stroke to end and misses a contact that comes meanwhile",
    law: "proportion",
    also: ["bounce"],
    firmware: class extends Controller {
      protected override takeContact(atMicros: Micros): void {
        if (atMicros >= this.strokeMicros + this.settings.leastSpacingMicros / 2) super.takeContact(atMicros);
      }
    },
  },
  {
    name: "bounce counted twice",
    does: "takes each closure that lasts, though the contact was hardly open before",
    law: "bounce",
    also: ["causality"],
    firmware: class extends Controller {
      protected override closeLine(): void {
        if (!this.lineClosed) this.lineArmed = true;
        super.closeLine();
      }
    },
  },
  {
    name: "stuck contact counts again",
    does: "counts a contact that stays closed once more every second",
    law: "bounce",
    also: ["causality"],
    firmware: class extends Controller {
      protected override closureCountsMicros(): Micros {
        const isStuck = this.lineClosed && !this.lineArmed;
        return isStuck ? this.contactMicros + SECOND : super.closureCountsMicros();
      }
    },
  },
];
