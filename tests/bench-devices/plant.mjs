// What stands in the plant, as a process: a meter whose water runs by itself and a pump that writes down every stroke
// it makes. Test code; plant-end.mjs speaks for it. It goes on while nobody listens, whatever becomes of the feed.
//
//   node plant.mjs [--has meter|pump|both] [--flow CONTACTS_PER_MINUTE] [--script FILE] [--strokes FILE]
//     [--contacts FILE] [--memory FILE] [--register R] [--last L] [--stroke-ms MS] [--late-ms MS] [--name WORDS]
//     [--fault NAME@STROKE] [--tcp PORT]
//
// The link is on standard input and output, or with --tcp on a socket (0 takes any port, and its first line of output is
// the port; it lives as long as its standard input is open); one feed at a time, the newest. --script holds a column `time_s` of contacts, in seconds from the start.
// --strokes gets rows `number,time_us`, --contacts `register,time_us`: monotonic time of this machine, as
// process.hrtime gives it in every process. --memory keeps register and last stroke over a death of this program too.
import {
  appendFileSync,
  closeSync,
  fsyncSync,
  openSync,
  readFileSync,
  write,
  writeFileSync,
  writeSync,
} from "node:fs";
import { createServer } from "node:net";
import { parseArgs } from "node:util";
import { FAULTS, PlantEnd } from "./plant-end.mjs";

const UNSENT_MOST = 4_096;
const FULL_MILLIS = 5;
const text = { type: "string" };
const { values: given } = parseArgs({
  options: {
    has: { ...text, default: "both" },
    flow: { ...text, default: "0" },
    script: text,
    strokes: text,
    contacts: text,
    memory: text,
    register: { ...text, default: "0" },
    last: { ...text, default: "0" },
    "stroke-ms": { ...text, default: "0" },
    "late-ms": { ...text, default: "0" },
    name: { ...text, default: "plant" },
    fault: text,
    tcp: text,
  },
});
const [fault, at] = given.fault?.split("@") ?? [];
if (fault !== undefined && !FAULTS.includes(fault)) throw new Error(`--fault is one of ${FAULTS.join(", ")}`);

const now = () => Number(process.hrtime.bigint() / 1000n);
const row = (file, number) => file !== undefined && appendFileSync(file, `${number},${now()}\n`);
for (const [file, header] of [
  [given.strokes, "number,time_us\n"],
  [given.contacts, "register,time_us\n"],
]) {
  // A restarted plant goes on with the same file.
  if (file !== undefined) appendFileSync(file, "", { flag: "a" });
  if (file !== undefined && readFileSync(file).length === 0) appendFileSync(file, header);
}

const remembered = given.memory === undefined ? undefined : recall(given.memory);
const memory = given.memory === undefined ? undefined : openSync(given.memory, "r+");
let strokeEnds = 0;
let deliver = () => undefined; // set by whatever carries the link
let hangUp = () => process.exit(0);

const end = new PlantEnd({
  name: given.name,
  has: given.has === "both" ? ["meter", "pump"] : [given.has],
  register: remembered?.register ?? Number(given.register),
  last: remembered?.last ?? Number(given.last),
  fault,
  at: Number(at),
  now,
  send: (line) => {
    if (given["late-ms"] === "0") deliver(line);
    else setTimeout(() => deliver(line), Number(given["late-ms"]));
  },
  made: (number) => {
    strokeEnds = now() + Number(given["stroke-ms"]) * 1000;
    row(given.strokes, number);
  },
  kept: (register, last) => {
    if (memory === undefined) return;
    // One width, so that it is overwritten whole.
    writeSync(memory, `${String(register).padStart(10)} ${String(last).padStart(10)}\n`, 0);
    fsyncSync(memory);
  },
  isBusy: () => now() < strokeEnds,
  hangUp: () => hangUp(),
});

if (given.tcp === undefined) serveStreams();
else serveTcp(Number(given.tcp));
runWater();

function recall(file) {
  closeSync(openSync(file, "a"));
  const [register, last] = readFileSync(file, "latin1").trim().split(/ +/).map(Number);
  if (last !== undefined) return { register, last };
  writeFileSync(file, " ".repeat(21) + "\n");
  return undefined;
}

/** Written without waiting: the stream of a terminal that nobody empties would stop the whole program. */
function serveStreams() {
  let unsent = Buffer.alloc(0);
  let isWriting = false;
  const flush = () => {
    if (isWriting || unsent.length === 0) return;
    isWriting = true;
    write(1, unsent, (error, written) => {
      isWriting = false;
      if (error?.code === "EAGAIN") return void setTimeout(flush, FULL_MILLIS);
      if (error) process.exit(0);
      unsent = unsent.subarray(written);
      flush();
    });
  };
  deliver = (line) => {
    // What nobody takes is lost, as on a wire.
    if (unsent.length + line.length > UNSENT_MOST) return;
    unsent = Buffer.concat([unsent, Buffer.from(line, "latin1")]);
    flush();
  };
  process.stdin.setEncoding("latin1");
  if (process.stdin.isTTY) process.stdin.setRawMode(true);
  process.stdin.on("data", (piece) => end.take(piece));
  for (const gone of ["end", "close", "error"]) process.stdin.on(gone, () => process.exit(0));
  end.boot();
}

function serveTcp(port) {
  let current;
  const server = createServer({ noDelay: true }, (socket) => {
    current?.destroy();
    current = socket;
    deliver = (line) =>
      socket.writable && socket.writableLength < UNSENT_MOST && socket.write(line, "latin1");
    hangUp = () => socket.destroy();
    socket.setEncoding("latin1");
    socket.on("data", (piece) => socket === current && end.take(piece));
    socket.on("error", () => undefined);
    end.newLine();
  });
  server.listen(port, "127.0.0.1", () => process.stdout.write(`${server.address().port}\n`));
  process.stdin.resume(); // whoever started it holds the other end: it does not outlive that
  process.stdin.on("end", () => process.exit(0));
}

/** Each contact at its own absolute time, however late the one before was told. */
function runWater() {
  const startedAt = now();
  const times = given.script === undefined ? undefined : scripted(given.script);
  const everyMicros = 60_000_000 / Number(given.flow);
  const dueAt = (index) =>
    startedAt + (times === undefined ? (index + 1) * everyMicros : (times[index] ?? Infinity));
  let index = 0;
  const look = () => {
    while (dueAt(index) <= now()) {
      index += 1;
      row(given.contacts, (end.register + 1) % 2 ** 32);
      end.contact();
    }
    const left = dueAt(index) - now();
    if (left < Infinity) setTimeout(look, Math.max(0, Math.min(left / 1000, 60_000)));
  };
  look();
}

function scripted(file) {
  return readFileSync(file, "utf8")
    .split("\n")
    .filter((line) => /^\d/.test(line))
    .map((line) => Math.round(Number(line.split(",")[0]) * 1_000_000));
}
