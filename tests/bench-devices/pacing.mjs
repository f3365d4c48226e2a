// How does a controller that owes nothing to the library pace its strokes? The paced side of the stand-in controller,
// test code, plain JavaScript without imports. It shares the words of the design and none of its code: one object, its
// time an argument in microseconds, and a list of reports as the answer. Its cadence is its own: `spread` lays each
// stroke in the middle of its slice of the interval, `prompt` strokes as soon as the cap allows.

const ORDER = [
  "counted",
  "ignored",
  "rejected",
  "shed",
  "paced",
  "primed",
  "refused",
  "alarm-on",
  "alarm-off",
];

/** The mistakes that can be planted, by name; each is one that firmware really makes. */
export const FAULTS = ["cap-after-prime", "remainder-lost-on-hold", "late-double", "still-water-dosed"];

/** One controller from its first day; `fault` is the mistake planted in it, if any. */
export class Pacer {
  constructor(settings, nowMicros, fault) {
    this.s = settings;
    this.fault = fault;
    this.earned = this.paced = this.primed = this.owed = this.shedTotal = this.remainder = 0;
    this.held = this.tripped = this.dark = false;
    this.inhibits = new Set();
    this.alarms = new Set();
    this.prime = { pressed: false, expired: false, since: 0, lastStroke: -Infinity };
    this.raw = { closed: false, since: -Infinity, armed: true };
    this.lastStroke = this.lastContact = this.darkSince = -Infinity;
    this.graceFrom = this.heardFrom = nowMicros;
    this.plan = { from: nowMicros, half: 0, made: 0 };
    this.guardFullUntil = 0n; // in microseconds times the budget, so that it is exact; BigInt, as that exceeds 2^53
  }

  accounts() {
    const { earned, paced, primed, owed, shedTotal, remainder } = this;
    return `earned=${earned} paced=${paced} primed=${primed} owed=${owed} shed=${shedTotal} remainder=${remainder}`;
  }

  /** Does what is due at t, then `input` if there is one, then at most one stroke: [kind, detail] in LINK.md's order. */
  step(t, input) {
    this.out = [];
    const alarmsBefore = new Set(this.alarms);
    if (!this.dark) this.settle(t);
    if (input !== null) this.take(t, input);
    if (!this.dark) {
      this.shedIfSilent();
      const due = this.strokeDue();
      if (due <= t) this.stroke(t);
      if (this.fault === "late-double" && input === null && due < t && this.owed > 0) this.stroke(t);
    }
    for (const a of this.alarms) if (!alarmsBefore.has(a)) this.out.push(["alarm-on", a]);
    for (const a of alarmsBefore) if (!this.alarms.has(a)) this.out.push(["alarm-off", a]);
    return this.out.sort((a, b) => ORDER.indexOf(a[0]) - ORDER.indexOf(b[0]));
  }

  /** When step must be called next, in microseconds; Infinity for never. */
  wakeAt() {
    if (this.dark) return Infinity;
    const { s, raw, prime, alarms } = this;
    let at = this.strokeDue();
    const by = (when) => (at = Math.min(at, when));
    if (raw.closed && raw.armed) by(raw.since + s.closedMicros);
    if (raw.closed && s.stuckMicros > 0 && !alarms.has("stuck")) by(raw.since + s.stuckMicros);
    if (s.silentMicros > 0 && !alarms.has("silent")) by(this.heardFrom + s.silentMicros);
    if (this.owed > 0 && this.fault !== "still-water-dosed") by(this.graceFrom + s.graceMicros);
    if (prime.pressed && !prime.expired) by(prime.since + s.longestPrimeMicros);
    return at;
  }

  /** What time alone brings about, however late it is asked. */
  settle(t) {
    const { s, raw, prime } = this;
    if (raw.closed && raw.armed && t - raw.since >= s.closedMicros) {
      raw.armed = false;
      this.contact(t);
    }
    if (raw.closed && s.stuckMicros > 0 && t - raw.since >= s.stuckMicros) this.alarms.add("stuck");
    if (s.silentMicros > 0 && t - this.heardFrom >= s.silentMicros) this.alarms.add("silent");
    if (this.owed > 0 && t - this.graceFrom >= s.graceMicros && this.fault !== "still-water-dosed") {
      this.shed("still", this.owed, "still-water");
    }
    if (prime.pressed && !prime.expired && t - prime.since >= s.longestPrimeMicros) {
      prime.expired = true;
      this.alarms.add("prime-too-long");
    }
  }

  take(t, { kind, cause, confirmed, settings }) {
    if (kind === "power-on") this.powerOn(t, cause);
    else if (this.dark)
      return; // nobody is there to see it
    else if (kind === "close" || kind === "open") this.edge(t, kind === "close");
    else if (kind === "hold-on") this.hold();
    else if (kind === "hold-off") this.release("held", "shed-in-hold");
    else if (kind === "inhibit-on") this.inhibits.add(cause);
    else if (kind === "inhibit-off") this.uninhibit(cause);
    else if (kind === "settings") this.change(t, settings, confirmed);
    else if (kind === "contact") this.contact(t);
    else if (kind === "prime-on") this.primeOn(t);
    else if (kind === "prime-off") this.primeOff();
    else if (kind === "reset") this.release("tripped", "tripped");
    else if (kind === "power-off") this.powerOff(t);
    if (this.silentCause() !== undefined) this.prime.expired = true; // whoever wants it again must press again
  }

  edge(t, closed) {
    const { raw } = this;
    if (raw.closed === closed) return;
    if (closed && t - raw.since >= this.s.openMicros) raw.armed = true;
    raw.closed = closed;
    raw.since = t;
    if (!closed) this.alarms.delete("stuck");
    else this.settle(t); // a qualifying time of 0
  }

  contact(t) {
    const { s } = this;
    if (t - this.lastContact < s.leastContactMicros) {
      this.alarms.add("too-fast");
      this.out.push(["rejected", "contacts=1"]);
      return;
    }
    const interval = Math.min(t - this.lastContact, s.graceMicros);
    const first = this.lastContact === -Infinity;
    this.lastContact = this.heardFrom = t;
    for (const a of ["too-fast", "silent", "still-water", "owed-limit", "shed-at-restart"])
      this.alarms.delete(a);
    if (this.held || (this.primes() && s.contactsDuringPrime === "ignore")) {
      this.out.push(["ignored", "contacts=1"]);
      return;
    }
    const paid = this.remainder + s.strokes;
    this.remainder = paid % s.contacts;
    const earned = (paid - this.remainder) / s.contacts;
    this.earned += earned;
    this.owed += earned;
    this.graceFrom = t;
    this.out.push(["counted", `contacts=1 earned=${earned}`]);
    this.shedIfSilent();
    this.shedOverLimit();
    const spread = s.cadence === "spread" && !first && this.owed > 0;
    this.plan = { from: t, half: spread ? Math.floor(interval / (2 * this.owed)) : 0, made: 0 };
  }

  silentCause() {
    if (this.tripped) return "trip";
    if (this.held) return "hold";
    return this.inhibits.size > 0 ? "inhibit" : undefined;
  }

  shed(cause, strokes, alarm) {
    this.owed -= strokes;
    this.shedTotal += strokes;
    this.out.push(["shed", `cause=${cause} strokes=${strokes}`]);
    this.alarms.add(alarm);
  }

  shedIfSilent() {
    const cause = this.silentCause();
    if (cause === undefined || this.owed === 0) return;
    this.shed(cause, this.owed, { trip: "tripped", hold: "shed-in-hold", inhibit: "shed-in-inhibit" }[cause]);
  }

  shedOverLimit() {
    const over = this.owed - this.s.owedLimitStrokes;
    if (over > 0) this.shed("limit", over, "owed-limit");
  }

  hold() {
    this.held = true;
    if (this.fault === "remainder-lost-on-hold") this.remainder = 0;
  }

  release(mode, alarm) {
    this[mode] = false;
    this.alarms.delete(alarm);
  }

  uninhibit(cause) {
    this.inhibits.delete(cause);
    if (this.inhibits.size === 0) this.alarms.delete("shed-in-inhibit");
  }

  primes() {
    return this.prime.pressed && !this.prime.expired;
  }

  primeOn(t) {
    if (this.prime.pressed) return;
    Object.assign(this.prime, { pressed: true, expired: false, since: t });
  }

  primeOff() {
    this.prime.pressed = false;
    this.alarms.delete("prime-too-long");
    if (this.fault === "cap-after-prime") this.lastStroke = -Infinity;
  }

  strokeDue() {
    const { s, prime, plan } = this;
    if (this.silentCause() !== undefined) return Infinity;
    const capped = this.lastStroke + s.leastSpacingMicros;
    if (this.primes()) return Math.max(prime.since, capped, prime.lastStroke + s.primeSpacingMicros);
    return this.owed > 0 ? Math.max(plan.from + (2 * plan.made + 1) * plan.half, capped) : Infinity;
  }

  stroke(t) {
    if (!this.guardAllows(t)) {
      this.tripped = true;
      this.prime.expired = true;
      this.alarms.add("tripped");
      this.shedIfSilent();
      return;
    }
    this.lastStroke = t;
    if (this.primes()) {
      this.prime.lastStroke = t;
      this.primed += 1;
      this.out.push(["primed", ""]);
    } else {
      this.plan.made += 1;
      this.owed -= 1;
      this.paced += 1;
      this.out.push(["paced", ""]);
    }
  }

  /** The Generic Cell Rate Algorithm (ITU-T I.371): a stroke fills the bucket by a period over the budget. */
  guardAllows(t) {
    const { guardBudgetStrokes: budget, guardPeriodMicros: period, guardBurstStrokes: burst } = this.s;
    if (budget === 0) return true;
    const now = BigInt(t) * BigInt(budget);
    if (this.guardFullUntil - BigInt(burst - 1) * BigInt(period) > now) return false;
    this.guardFullUntil = (this.guardFullUntil > now ? this.guardFullUntil : now) + BigInt(period);
    return true;
  }

  change(t, next, confirmed) {
    const s = this.s;
    if (!confirmed && next.strokes * s.contacts > s.largestIncrease * s.strokes * next.contacts) {
      this.out.push(["refused", ""]);
      this.alarms.add("change-refused");
      return;
    }
    this.alarms.delete("change-refused");
    this.remainder = Math.floor((this.remainder * next.contacts) / s.contacts);
    if (s.guardBudgetStrokes > 0) {
      const was = BigInt(s.guardBudgetStrokes);
      this.guardFullUntil = ((this.guardFullUntil + was - 1n) / was) * BigInt(next.guardBudgetStrokes);
    }
    this.s = next;
    this.shedOverLimit();
    this.settle(t); // a shorter grace or prime may have passed already
  }

  powerOff(t) {
    this.dark = true;
    this.darkSince = t;
    this.prime.pressed = false;
    this.alarms.delete("prime-too-long");
  }

  powerOn(t, knowledge) {
    if (!this.dark) return;
    this.dark = false;
    this.lastStroke = this.heardFrom = t;
    this.raw.since = t;
    const known = knowledge === "dark-known";
    if (!known) this.lastContact = -Infinity;
    const stale = t - this.darkSince >= this.s.graceMicros || t - this.graceFrom >= this.s.graceMicros;
    if (this.owed > 0 && (!known || stale)) this.shed("power", this.owed, "shed-at-restart");
  }
}
