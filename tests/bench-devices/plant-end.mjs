// Can somebody write a meter or a pump from LINK.md, section 10, alone? The protocol of a stand-in for what stands in the
// plant, test code: lines in, lines out. It imports nothing of the library and knows no process, file or clock, so that
// the same device stands behind a pseudo-terminal, behind TCP and on a virtual clock. It misbehaves on request.

const RANGE = 2 ** 32;
const LONGEST_LINE = 64; // with its LF
const TELLING_MICROS = 3_000_000;
const NUMBER = /^(0|[1-9]\d*)$/;

/** What it can do wrong from, or at, a stroke of that ordinal, the first being 1. */
export const FAULTS = [
  "lose-answer", // at: makes it and loses the first answer
  "mute", // from: makes it and answers nothing any more
  "deaf", // from: neither makes it nor answers
  "restart", // at: makes it, then starts anew before it answers
  "restart-before", // at: starts anew instead of making it
  "forget", // at: starts anew with register and last stroke 0
  "hang-up", // at: makes it, then drops the line
  "busy", // at: refuses it
  "other-number", // at: answers with another number
  "nonsense", // at: answers with words that mean nothing
  "fault", // at: says that it cannot go on
  "register-back", // at: tells a register that went back
];

/** CRC-16/IBM-3740 of the characters of `text`, bit by bit. */
export function crc(text) {
  let c = 0xffff;
  for (const ch of text) {
    c ^= ch.charCodeAt(0) << 8;
    for (let bit = 0; bit < 8; bit += 1) c = ((c << 1) ^ (c & 0x8000 ? 0x1021 : 0)) & 0xffff;
  }
  return c.toString(16).toUpperCase().padStart(4, "0");
}

export class PlantEnd {
  #typedWelcome = true;
  #expected = 0; // only `hello` before the first
  #lastAnswer; // [number, line]
  #lastReport = 0;
  #heardAt = -Infinity;
  #isTelling = false;
  #partial = "";
  #strokesAsked = 0; // each once, repeated or not

  /**
   * `send` takes text; `now` gives µs, unwrapped; `made` is told the number of each stroke as it begins and `kept` both
   * numbers before that. `isBusy` tells whether a stroke is under way. `hangUp` drops the line.
   */
  constructor({ name, has, register, last, fault, at, send, now, made, kept, isBusy, hangUp }) {
    Object.assign(this, { name, has, register, last, fault, at, now, made, isBusy, hangUp });
    this.write = send;
    this.keep = () => kept(this.register, this.last);
  }

  /** It has started, for whatever reason. */
  boot() {
    this.#typedWelcome = true;
    this.#expected = 0;
    this.#lastAnswer = undefined;
    this.#isTelling = false;
    this.#lastReport = 0;
    this.newLine();
    this.#send(`boot ${this.name}`);
  }

  /** What was half said will not be finished. */
  newLine() {
    this.#partial = "";
  }

  /** Water has passed. */
  contact(count = 1) {
    this.register = (this.register + count) % RANGE;
    this.keep();
    if (this.now() - this.#heardAt > TELLING_MICROS) this.#isTelling = false;
    if (this.#isTelling) this.#tell(this.register);
  }

  /** Takes bytes, as a string of one character each. */
  take(piece) {
    const lines = (this.#partial + piece).split("\n");
    this.#partial = lines.pop().slice(0, LONGEST_LINE + 1); // of a line too long its length is all that matters
    for (const line of lines) this.#receive(line.endsWith("\r") ? line.slice(0, -1) : line);
  }

  #send(text) {
    if (!this.#isMute()) this.write(`${text}*${crc(text)}\n`);
  }

  #report(text) {
    this.#lastReport = (this.#lastReport % 65535) + 1;
    this.#send(`${this.#lastReport} ${text}`);
  }

  #tell(register) {
    this.#report(`register ${this.now() % RANGE} ${register}`);
  }

  #receive(line) {
    if (line.length === 0) return;
    this.#heardAt = this.now();
    if (line.length >= LONGEST_LINE) this.#send("no - long");
    else if (/[^\x20-\x7e]/.test(line)) this.#send("no - byte");
    else if (!line.includes("*") && this.#typedWelcome) this.#typed(line.split(" "));
    else if (!/^[^*]*\*[0-9A-F]{4}$/.test(line) || crc(line.slice(0, -5)) !== line.slice(-4))
      this.#send("no - check");
    else {
      this.#typedWelcome = false;
      this.#checked(line.slice(0, -5));
    }
  }

  #typed(words) {
    if (words[0] === "hello") this.#hello("-", words.slice(1));
    else this.#answer("-", this.#perform(words));
  }

  #checked(text) {
    const words = text.split(" ");
    const number = NUMBER.test(words[0]) ? Number(words.shift()) : -1;
    if (number === 0 && words[0] === "hello") return this.#hello(0, words.slice(1));
    if (number === 0) return this.#send(`no - order ${this.#expected}`);
    if (number < 1 || number > 65535 || words[0] === "hello") return this.#send("no - word");
    if (this.#lastAnswer?.[0] === number) {
      if (words[0] === "bye") this.#typedWelcome = true;
      return this.#send(this.#lastAnswer[1]);
    }
    const older = (this.#expected - 1 - number + 65535) % 65535;
    if (older <= 32 && this.#lastAnswer !== undefined) return undefined;
    if (number !== this.#expected) return this.#send(`no - order ${this.#expected}`);
    this.#expected = (number % 65535) + 1;
    return this.#answer(number, this.#perform(words));
  }

  #hello(number, args) {
    if (args.length !== 1) return this.#send("no - word");
    if (!within(args[0], 1, 65535)) return this.#send("no - value");
    this.#expected = 1;
    this.#lastAnswer = undefined;
    this.#isTelling = false;
    this.#lastReport = 0;
    this.#report("is link 1");
    this.#report(`is name ${this.name}`);
    this.#report("is role plant");
    this.#report("is ticks 1000000 32");
    this.#report(`is has ${this.has.join(" ")}`);
    return this.#answer(number, { value: args[0] });
  }

  /** Does a request; its answer without `ok N` or `no N` is { value }, { refusal } or, to answer nothing, undefined. */
  #perform([verb, ...args]) {
    const has = (end) => this.has.includes(end);
    if (verb === "stroke" && has("pump") && args.length === 1) return this.#stroke(args[0]);
    if (args.length > 0) return { refusal: "word" };
    if (verb === "register" && has("meter")) {
      this.#isTelling = true;
      return { value: this.register };
    }
    if (verb === "last" && has("pump")) return { value: this.last };
    if (verb !== "bye") return { refusal: "word" };
    this.#isTelling = false;
    this.#typedWelcome = true;
    return {};
  }

  #stroke(text) {
    if (!within(text, 0, RANGE - 1)) return { refusal: "value" };
    const number = Number(text);
    if (number === this.last) return { value: number };
    if (number !== (this.last + 1) % RANGE) return { refusal: `stroke ${this.last}` };
    if (this.isBusy()) return { refusal: "state" };
    this.#strokesAsked += 1;
    const wrong = this.#strokesAsked === this.at ? this.fault : undefined;
    if (wrong === "busy") return { refusal: "state" };
    if (wrong === "restart-before") return this.boot();
    if (this.fault === "deaf" && this.#strokesAsked >= this.at) return undefined;
    this.last = number;
    this.keep();
    this.made(number);
    return wrong === undefined ? { value: number } : this.#misbehave(wrong, number);
  }

  #isMute() {
    return (this.fault === "mute" || this.fault === "deaf") && this.#strokesAsked >= this.at;
  }

  #misbehave(wrong, number) {
    if (wrong === "other-number") return { value: number + 1 };
    if (wrong === "lose-answer") return { value: number, isLost: true };
    if (wrong === "hang-up") return void this.hangUp();
    if (wrong === "nonsense") return void this.#send("perhaps");
    if (wrong === "fault") return void this.#report(`fault ${this.now() % RANGE} the drive has seized`);
    if (wrong === "register-back") this.#tell((this.register - 1 + RANGE) % RANGE);
    if (wrong === "forget") this.register = this.last = 0;
    if (wrong === "forget") this.keep();
    if (wrong === "restart" || wrong === "forget") return this.boot();
    return { value: number };
  }

  #answer(number, outcome) {
    if (outcome === undefined) return;
    const { value, refusal, isLost } = outcome;
    const line =
      refusal !== undefined
        ? `no ${number} ${refusal}`
        : `ok ${number} ${this.#lastReport}${value === undefined ? "" : ` ${value}`}`;
    if (number !== "-" && number !== 0) this.#lastAnswer = [number, line];
    if (!isLost) this.#send(line);
  }
}

function within(text, least, most) {
  return NUMBER.test(text) && Number(text) >= least && Number(text) <= most;
}
