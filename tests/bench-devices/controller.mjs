// Can somebody write a device from LINK.md alone? A stand-in controller, test code: a program that speaks the link on
// its standard streams (so a pseudo-terminal makes a serial line of it) and paces by pacing.mjs. It imports nothing of
// the library. `--faulty NAME` plants a mistake, `--free-only` hides the stepped clock, `--noise` begins with what a
// boot loader might print. Both clocks, 1 µs ticks, 32 bits, queue 4, window 2, keep 16. Time stamps tell when it
// acted, not when it should have.
import { FAULTS, Pacer } from "./pacing.mjs";
import { defaults, impossible, NUMBER, SETTINGS, stage, within } from "./settings.mjs";

const RANGE = 2 ** 32;
const QUEUE = 4;
const WINDOW = 2;
const KEEP = 16;
const LONGEST_LINE = 64; // with its LF
const IDLE_MICROS = 10_000_000;

const PLAIN = [
  "contact",
  "close",
  "open",
  "prime-on",
  "prime-off",
  "hold-on",
  "hold-off",
  "reset",
  "wake",
  "power-off",
];
const CAUSED = {
  "inhibit-on": ["permission", "tank", "pump", "flow", "other"],
  "inhibit-off": ["permission", "tank", "pump", "flow", "other"],
  settings: ["confirmed", "unconfirmed"],
  "power-on": ["dark-known", "dark-unknown"],
};
const GREETING = [
  "link 1",
  "name small controller",
  "role controller",
  "ticks 1000000 32",
  `queue ${QUEUE}`,
  `window ${WINDOW}`,
  `keep ${KEEP}`,
  process.argv.includes("--free-only") ? "clock free settable lag" : "clock stepped free settable lag",
  `takes ${PLAIN.join(" ")}`,
  `takes ${Object.keys(CAUSED).join(" ")}`,
  "tells paced primed counted ignored rejected shed refused alarm-on alarm-off status",
  "laws 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15",
  ...[0, 5, 9, 13].map(
    (from, i, all) =>
      `settings ${Object.keys(SETTINGS)
        .slice(from, all[i + 1])
        .join(" ")}`,
  ),
];

const option = (name) => process.argv.includes(name) && process.argv[process.argv.indexOf(name) + 1];
const fault = option("--faulty") || undefined;
if (fault !== undefined && !FAULTS.includes(fault))
  throw new Error(`--faulty is one of ${FAULTS.join(", ")}`);

let typedWelcome = true;
let expected = 1; // the number of the next request
let lastAnswers = []; // [number, line] of the last WINDOW requests, the newest last
let reports = []; // [number, line], the newest KEEP
let lastReport = 0;
let staged = defaults();
let lag = 0;
let run = null; // { free, pacer, queue, lateness, lateBy, heardAt } while a run is on
let clock = 0; // the counter unwrapped, in µs; on a free clock as of `clockAt`
let clockAt = 0n;
let timer;

/** CRC-16/IBM-3740 of the characters of `text`, bit by bit. */
function crc(text) {
  let c = 0xffff;
  for (const ch of text) {
    c ^= ch.charCodeAt(0) << 8;
    for (let bit = 0; bit < 8; bit += 1) c = ((c << 1) ^ (c & 0x8000 ? 0x1021 : 0)) & 0xffff;
  }
  return c.toString(16).toUpperCase().padStart(4, "0");
}

function send(text) {
  process.stdout.write(`${text}*${crc(text)}\n`);
}

function report(text) {
  lastReport = (lastReport % 65535) + 1;
  const line = `${lastReport} ${text}`;
  reports = [...reports, [lastReport, line]].slice(-KEEP);
  send(line);
}

function now() {
  if (run?.free !== true) return clock;
  const passed = (process.hrtime.bigint() - clockAt) / 1000n;
  return clock + Number(passed);
}

const raw = (t) => t % RANGE;

/** The unwrapped time that the counter value `ticks` stands for, or why there is none. */
function unwrap(ticks) {
  const t = now();
  const ahead = (((ticks - raw(t)) % RANGE) + RANGE) % RANGE;
  if (ahead === RANGE / 2) return { refusal: "far" };
  return ahead > RANGE / 2 ? { refusal: `late ${raw(t)}` } : { at: t + ahead };
}

/** One step of the pacer at t, and its reports; `entry` is the queued input that acts, or null for a wake-up. */
function act(t, entry) {
  const before = run.pacer.accounts();
  const out = run.pacer.step(t, entry && entry.input);
  if (entry) report(`did ${raw(t)} ${entry.number}`);
  for (const [kind, detail] of out) report(`${kind} ${raw(t)}${detail && " "}${detail}`);
  const isBack = entry?.input.kind === "power-on";
  if (isBack || run.pacer.accounts() !== before) report(`status ${raw(t)} ${run.pacer.accounts()}`);
}

/** All that is due until `t`, in the order of time, own wake-ups before inputs; a free clock stamps what it reads. */
function advance(t) {
  for (;;) {
    const wake = run.pacer.wakeAt() + run.lateBy;
    const queued = run.queue[0]?.at ?? Infinity;
    const next = Math.min(wake, queued);
    if (next > t) break;
    if (!run.free) clock = Math.max(clock, next);
    if (wake <= queued) {
      act(run.free ? now() : clock, null);
      run.lateness = (run.lateness * 1103515245 + 12345) % 2 ** 31; // repeatable: each run begins with the same
      run.lateBy = Math.floor((run.lateness / 2 ** 31) * (run.lag + 1));
    } else {
      act(run.free ? now() : clock, run.queue.shift());
    }
  }
  if (!run.free) clock = t;
}

/** A free run acts when its timer fires; late is late, and the time stamps say so. */
function pump() {
  clearTimeout(timer);
  if (run?.free !== true) return;
  advance(now());
  const idleAt = run.heardAt + IDLE_MICROS;
  if (now() >= idleAt) {
    report(`fault ${raw(now())} no line has come for 10 s`);
    endRun();
    return;
  }
  const next = Math.min(run.pacer.wakeAt() + run.lateBy, run.queue[0]?.at ?? Infinity, idleAt);
  timer = setTimeout(pump, Math.max(0, Math.ceil((next - now()) / 1000)));
}

function endRun() {
  clock = now();
  run = null;
  clearTimeout(timer);
}

/** An input from its words: { input }, or { refusal }. */
function inputOf(words) {
  const [kind, cause] = words;
  if (words.length === 1 && PLAIN.includes(kind)) return { input: { kind } };
  if (words.length !== 2 || !CAUSED[kind]?.includes(cause)) return { refusal: "word" };
  if (kind !== "settings") return { input: { kind, cause } };
  const bad = impossible(staged);
  if (bad !== undefined) return { refusal: `settings ${bad}` };
  return { input: { kind, confirmed: cause === "confirmed", settings: { ...staged } } };
}

function enqueue([ticks, ...words], number) {
  if (run === null) return { refusal: "state" };
  const parsed = inputOf(words);
  if (parsed.refusal !== undefined) return parsed;
  const time = unwrap(ticks);
  if (time.refusal !== undefined) return time;
  if (time.at < (run.queue.at(-1)?.at ?? 0)) return { refusal: "value" };
  if (run.queue.length === QUEUE) return { refusal: "full" };
  run.queue.push({ at: time.at, input: parsed.input, number });
  return {};
}

function doNow(words, number) {
  if (run === null) return { refusal: "state" };
  const parsed = inputOf(words);
  if (parsed.refusal !== undefined) return parsed;
  advance(now()); // what was asked for earlier acts earlier
  act(now(), { input: parsed.input, number });
  return {};
}

function begin(kind) {
  const bad = impossible(staged);
  if (bad !== undefined) return { refusal: `settings ${bad}` };
  if (run !== null) endRun();
  lastReport = 0;
  reports = [];
  clockAt = process.hrtime.bigint();
  const pacer = new Pacer({ ...staged }, clock, fault);
  run = { free: kind === "free", pacer, queue: [], lag, lateness: 1, lateBy: 0, heardAt: clock };
  return { value: raw(clock) };
}

function again(from) {
  const kept = reports.findIndex(([number]) => number === Number(from));
  if (kept < 0) return { refusal: "value" };
  for (const [, line] of reports.slice(kept)) send(line);
  return {};
}

function go(ticks) {
  if (run === null || run.free) return { refusal: "state" };
  const time = unwrap(ticks);
  if (time.refusal !== undefined) return time;
  advance(time.at);
  return { value: raw(clock) };
}

/** Each verb: how its arguments must look, and what it does. A `T` is a counter value. */
const VERBS = {
  set: { words: (a) => a.length === 2, does: ([name, value]) => stage(staged, name, value) },
  clock: { words: "T", does: ([t]) => (run ? { refusal: "state" } : void (clock = t) || {}) },
  lag: { words: "T", does: ([l]) => void (lag = l) || {} },
  begin: {
    words: (a) => a.length === 1 && ["stepped", "free"].includes(a[0]),
    does: ([kind]) => begin(kind),
  },
  at: { words: "T…", does: enqueue },
  do: { words: (a) => a.length > 0, does: doNow },
  go: { words: "T", does: ([t]) => go(t) },
  time: { words: (a) => a.length === 0, does: () => ({ value: raw(now()) }) },
  tell: {
    words: (a) => a.length === 0,
    does: () =>
      run ? void report(`status ${raw(now())} ${run.pacer.accounts()}`) || {} : { refusal: "state" },
  },
  again: { words: (a) => a.length === 1, does: ([from]) => again(from) },
  end: { words: (a) => a.length === 0, does: () => (run && endRun()) || {} },
  bye: { words: (a) => a.length === 0, does: () => (run && endRun()) || void (typedWelcome = true) || {} },
};

/** Does a request; its answer without `ok N` or `no N` is { value } or { refusal }. */
function perform([verb, ...args], number) {
  const known = Object.hasOwn(VERBS, verb ?? "") ? VERBS[verb] : undefined;
  if (known === undefined) return { refusal: "word" };
  if (typeof known.words === "function") {
    return known.words(args) ? known.does(args, number) : { refusal: "word" };
  }
  if (known.words === "T" ? args.length !== 1 : args.length < 2) return { refusal: "word" };
  if (!within(args[0], [0, RANGE - 1])) return { refusal: "value" };
  return known.does([Number(args[0]), ...args.slice(1)], number);
}

function answer(number, { value, refusal }) {
  if (refusal !== undefined) return `no ${number} ${refusal}`;
  return `ok ${number} ${lastReport}${value === undefined ? "" : ` ${value}`}`;
}

function hello(number, args) {
  if (args.length !== 1) return send(answer("-", { refusal: "word" }));
  if (!within(args[0], [1, 65535])) return send(answer("-", { refusal: "value" }));
  if (run !== null) endRun();
  staged = defaults();
  lag = lastReport = 0;
  expected = 1;
  reports = lastAnswers = [];
  for (const text of GREETING) report(`is ${text}`);
  send(answer(number, { value: args[0] }));
}

function checked(text) {
  const words = text.split(" ");
  const number = NUMBER.test(words[0]) ? Number(words.shift()) : -1;
  if (number === 0 && words[0] === "hello") return hello(0, words.slice(1));
  if (number < 1 || number > 65535) return send("no - word");
  const repeated = lastAnswers.find(([n]) => n === number);
  if (repeated) return send(repeated[1]);
  const older = (expected - 1 - number + 65535) % 65535;
  if (older <= 32 && lastAnswers.length > 0) return undefined;
  if (number !== expected) return send(`no - order ${expected}`);
  expected = (expected % 65535) + 1;
  const line = answer(number, perform(words, number));
  lastAnswers = [...lastAnswers, [number, line]].slice(-WINDOW);
  send(line);
}

/** One line, without its LF, as a string of one character per byte. */
function receive(bytes) {
  if (bytes.length === 0) return;
  if (run !== null) run.heardAt = now();
  if (bytes.length >= LONGEST_LINE) send("no - long");
  else if (/[^\x20-\x7e]/.test(bytes)) send("no - byte");
  else if (!bytes.includes("*") && typedWelcome) typed(bytes.split(" "));
  else if (!/^[^*]*\*[0-9A-F]{4}$/.test(bytes) || crc(bytes.slice(0, -5)) !== bytes.slice(-4))
    send("no - check");
  else {
    typedWelcome = false;
    checked(bytes.slice(0, -5));
  }
  pump();
}

function typed(words) {
  if (words[0] === "hello") hello("-", words.slice(1));
  else send(answer("-", perform(words, "-")));
}

let partial = "";
process.stdin.setEncoding("latin1");
if (process.stdin.isTTY) process.stdin.setRawMode(true);
process.stdin.on("data", (piece) => {
  const lines = (partial + piece).split("\n");
  partial = lines.pop().slice(0, LONGEST_LINE + 1); // of a line too long its length is all that matters
  for (const line of lines) receive(line.endsWith("\r") ? line.slice(0, -1) : line);
});
for (const gone of ["end", "close", "error"]) process.stdin.on(gone, () => process.exit(0));
process.stdout.on("error", () => process.exit(0));
if (process.argv.includes("--noise"))
  process.stdout.write(Buffer.from("\0\xff~\x80ets Jun\r\nrst:0x1*\xfe\n~~", "latin1"));
send("boot small controller");
