/**
 * What commands reach every corner of the twin? Test support.
 *
 * The generator looks at the record that it leads, so as to wake exactly when asked, a tick sooner or later, far too
 * late, or not at all. Durations come at every scale, from a few ticks, where everything meets, to the longest there
 * are; the counter starts near its wrap.
 */
import { crc16, INHIBIT_CAUSES, takeSnapshot, validateSettings } from "../../../lib/pacing/index.js";
import { randomFrom } from "../../../harness/stimuli/random.js";
import { Follower } from "./follow.js";
import {
  ANSWER_WORDS,
  DURATION_MOST,
  FIELD,
  GAP_MOST,
  HORIZON,
  isInReach,
  KINDS,
  OP,
  QUALIFY_MOST,
  RANGE,
  SETTING_WORDS,
  settingsOf,
  SLOTS,
  SNAPSHOT_WORDS,
  twinSnapshot,
} from "./words.js";

/** Whole numbers from a seed. */
export class Chance {
  private readonly draw: () => number;
  constructor(seed: number) {
    this.draw = randomFrom(seed);
  }
  /** From 0 up to, not including, `below`. */
  below(below: number): number {
    return Math.floor(this.draw() * below);
  }
  /** From `least` to `most`. */
  from(least: number, most: number): number {
    return least + this.below(most - least + 1);
  }
  one(times: number): boolean {
    return this.below(times) === 0;
  }
}

const SCALES = [3, 12, 60, 1_000, 100_000, 10_000_000, DURATION_MOST];

function ticks(chance: Chance, scale: number, most: number): number {
  const reach = chance.one(8) ? (SCALES[chance.below(SCALES.length)] as number) : scale;
  return chance.one(40) ? most : chance.from(0, Math.min(reach, most));
}

/** Words of settings that may be sound, with limits near what one contact needs. */
export function anySettings(chance: Chance, scale: number): Uint32Array {
  const w = new Uint32Array(SETTING_WORDS);
  const strokes = 1 + chance.below(chance.one(6) ? 65_535 : 9);
  const contacts = 1 + chance.below(chance.one(6) ? 65_535 : 9);
  const most = Math.ceil(strokes / contacts);
  const spacing = 1 + ticks(chance, scale, Math.floor(DURATION_MOST / most) - 1);
  w.set([strokes, contacts, spacing, chance.below(2), chance.below(2)]);
  w[5] = Math.min(65_535, most + chance.below(chance.one(8) ? 65_535 : 4));
  w[6] = Math.min(DURATION_MOST, most * spacing + ticks(chance, scale * 4, DURATION_MOST));
  w[7] = 1 + ticks(chance, scale * 4, DURATION_MOST - 1);
  w[8] = spacing + ticks(chance, scale, DURATION_MOST - spacing);
  w[9] = chance.one(2) ? 0 : 1 + chance.below(chance.one(5) ? 65_535 : 20);
  w[10] = 1 + ticks(chance, scale * 8, DURATION_MOST - 1);
  w[11] = Math.min(65_535, most + chance.below(chance.one(5) ? 65_535 : 6));
  w[12] = ticks(chance, chance.one(2) ? 2 : scale, QUALIFY_MOST);
  w[13] = ticks(chance, chance.one(2) ? 2 : scale, QUALIFY_MOST);
  w[14] = chance.one(2) ? 0 : ticks(chance, Math.ceil(scale / 4), DURATION_MOST);
  w[15] = chance.one(2) ? 0 : ticks(chance, scale * 4, DURATION_MOST);
  w[16] = chance.one(2) ? 0 : ticks(chance, scale * 8, DURATION_MOST);
  w[17] = 1 + chance.below(chance.one(2) ? 1_000 : 3);
  return w;
}

/** Words of settings that often are not sound: at a limit, or just past it. */
function doubtfulSettings(chance: Chance, scale: number): Uint32Array {
  const w = anySettings(chance, scale);
  const odd = [0, 1, 2, 65_535, 65_535, QUALIFY_MOST + 1, DURATION_MOST, DURATION_MOST + 1, RANGE - 1];
  for (let i = chance.below(3); i > 0; i--) {
    const at = chance.below(w.length);
    const most = COUNTS.includes(at) ? 4 : odd.length - 1;
    w[at] = CHOICES.includes(at) ? chance.below(3) : (odd[chance.from(0, most)] as number);
  }
  if (chance.one(3)) w[5] = chance.from(1, 4);
  if (chance.one(3)) w[11] = chance.from(1, 4);
  return w;
}

/** The words that are 16 bits wide, and those that are one of two. */
const COUNTS = [0, 1, 5, 9, 11, 17];
const CHOICES = [3, 4];

function soundSettings(chance: Chance, scale: number): Uint32Array {
  for (;;) {
    const w = anySettings(chance, scale);
    if (isInReach(w) && validateSettings(settingsOf(w)).ok) return w;
  }
}

/** Makes up commands, leads a follower through them, and keeps what it answers. */
export class Generator {
  readonly follower = new Follower();
  readonly commands: Uint32Array[] = [];
  readonly answers: Uint32Array[] = [];
  private readonly chance: Chance;
  private readonly scale: number;
  private now: number;

  constructor(seed: number) {
    this.chance = new Chance(seed);
    this.scale = SCALES[this.chance.below(SCALES.length)] as number;
    this.now = this.chance.one(2) ? RANGE - 1 - this.chance.below(this.scale) : this.chance.below(RANGE);
  }

  run(count: number): void {
    for (let slot = 0; slot < SLOTS; slot++) this.giveSettings(slot);
    this.give([OP.start, this.now, 0, this.chance.below(SLOTS)]);
    if (this.chance.one(2)) this.load(this.worn());
    while (this.commands.length < count) this.next();
  }

  private next(): void {
    const { chance, follower } = this;
    const { s } = follower;
    const what = chance.below(1_000);
    this.now = (follower.clock + this.gap()) % RANGE;
    if (what < 4) this.giveSettings(chance.below(SLOTS));
    else if (what < 10) this.powerCycle();
    else if (what < 12) this.load(this.damaged());
    else if (what < 14) this.wakeAt(follower.clock + RANGE - 1 - chance.below(1_000));
    else if (what < 15) this.wakeAt(follower.clock + chance.from(GAP_MOST, 2 ** 31 - 1));
    else if (what < 16) this.unwrap();
    else if (what < 300) this.give([KINDS.indexOf("contact"), this.now, 0, 0]);
    else if (what < 500) this.wakeAt(this.now);
    else if (what < 600) this.give([chance.one(2) ? 1 : 2, this.now, 0, 0]);
    // Stops are short, since little else happens while one lasts.
    else if (what < 800 && s.held + s.inhibits + s.tripped > 0) this.endStop();
    else {
      const kind = chance.below(KINDS.length);
      const detail = KINDS[kind] === "settings" ? chance.below(2) : chance.below(INHIBIT_CAUSES.length + 1);
      this.give([kind, this.now, detail, chance.below(SLOTS)]);
    }
  }

  private wakeAt(counter: number): void {
    this.give([0, counter % RANGE, 0, 0]);
  }

  private endStop(): void {
    const { s } = this.follower;
    const lowest = Math.log2(s.inhibits & -s.inhibits);
    if (s.inhibits) this.give([KINDS.indexOf("inhibit-off"), this.now, lowest, 0]);
    else this.give([KINDS.indexOf(s.held ? "hold-off" : "reset"), this.now, 0, 0]);
  }

  private gap(): number {
    const { chance } = this;
    const { s } = this.follower;
    const wakeIn = Math.min(s.wakeAtMicros - s.nowMicros, 2 ** 30);
    switch (chance.below(12)) {
      case 0:
      case 1:
        return 0;
      case 2:
      case 3:
      case 4:
      case 5:
        return wakeIn;
      case 6:
        return wakeIn - 1;
      case 7:
        return Math.min(GAP_MOST, wakeIn + 1 + ticks(chance, this.scale, GAP_MOST));
      case 8:
        return chance.one(10) ? chance.from(0, GAP_MOST) : chance.from(0, 2);
      default:
        return Math.min(GAP_MOST, ticks(chance, this.scale, GAP_MOST));
    }
  }

  private giveSettings(slot: number): void {
    const { chance, scale } = this;
    this.give([OP.validate, 0, 0, slot], soundSettings(chance, scale));
    // Beside them some that may be refused: then the slot keeps what it has.
    for (let i = 0; i < 4; i++) this.give([OP.validate, 0, 0, slot], doubtfulSettings(chance, scale));
  }

  private powerCycle(): void {
    const { chance } = this;
    this.give([0, this.now, 0, 0]);
    this.give([OP.take, 0, 0, 0]);
    this.restore();
    if (chance.one(3)) this.restore();
  }

  private unwrap(): void {
    const bits = [16, 24, 32][this.chance.below(3)] as number;
    const last = this.chance.one(2) ? this.now : this.chance.below(RANGE);
    this.give([OP.unwrap, last, this.chance.below(this.chance.one(2) ? RANGE : 2 ** bits), bits]);
  }

  private restore(): void {
    const { chance } = this;
    const dark = chance.one(4) ? RANGE - 1 : ticks(chance, this.scale, chance.one(9) ? RANGE - 2 : HORIZON);
    this.now = chance.one(2) ? chance.below(RANGE) : this.follower.clock;
    const lost = chance.one(20) ? 1 : 0;
    this.give([OP.restore, this.now, dark, chance.below(SLOTS) + (lost << 8)]);
  }

  private load(bytes: Uint8Array): void {
    const words = new Uint8Array(SNAPSHOT_WORDS * 4);
    words.set(bytes);
    this.give([OP.load, 0, 0, 0], new Uint32Array(words.buffer));
    this.restore();
  }

  /** A snapshot of a pacer that has run for so long that its counts are about to wrap. */
  private worn(): Uint8Array {
    const bytes = this.own();
    const many = RANGE - 1 - this.chance.below(200);
    const sink = this.chance.one(2) ? FIELD.paced : this.chance.from(FIELD.firstShed, FIELD.lastShed);
    for (const field of FIELD.free) put(bytes, field, RANGE - 1 - this.chance.below(50));
    put(bytes, FIELD.earned, many);
    put(bytes, sink, many);
    return seal(bytes);
  }

  /** The present snapshot with one thing about it wrong, or odd. */
  private damaged(): Uint8Array {
    const { chance } = this;
    const bytes = this.own();
    if (chance.one(2)) {
      const at = chance.below(chance.one(2) ? 4 : bytes.length);
      bytes[at] = (bytes[at] as number) ^ chance.from(1, 255);
      return bytes;
    }
    const field = chance.below(FIELD.count);
    const odd = chance.one(2) ? chance.below(4) : chance.one(2) ? 70_000 : chance.below(DURATION_MOST);
    put(bytes, field, odd);
    return seal(bytes);
  }

  private own(): Uint8Array {
    return twinSnapshot(takeSnapshot(this.follower.s));
  }

  private give(command: readonly number[], more: ArrayLike<number> = []): void {
    const words = new Uint32Array(4 + more.length);
    words.set(command);
    words.set(more, 4);
    const answer = new Uint32Array(ANSWER_WORDS);
    this.follower.obey(words, 0, answer, 0);
    this.commands.push(words);
    this.answers.push(answer);
  }
}

function put(snapshot: Uint8Array, field: number, value: number): void {
  new DataView(snapshot.buffer).setUint32(4 + field * 4, value);
}

function seal(snapshot: Uint8Array): Uint8Array {
  const end = snapshot.length - 2;
  new DataView(snapshot.buffer).setUint16(end, crc16(snapshot, end));
  return snapshot;
}
