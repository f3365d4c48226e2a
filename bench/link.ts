/**
 * `npx tsx bench/link.ts`: how many lines a second does the link carry, how much of the time is the wire, and how long
 * does a day of a controller take in virtual time? Bench.
 *
 * One invented day of contacts, holds and primes. First its lines through the codec alone, there and back, beside lines
 * of JSON; then the whole day through the client, over the mock and over a kernel pseudo-terminal to another process.
 * The wire is reckoned: ten bits a byte, both ways one after the other, as asking and answering mostly do.
 */
import { argv } from "node:process";
import { pathToFileURL } from "node:url";
import { openMockTransport } from "../harness/devices/mock.js";
import { openSerial } from "../harness/devices/serial.js";
import { connect } from "../harness/link/client.js";
import { BYTES_MOST_FROM_DEVICE, checkedLine, newLineReader } from "../harness/link/line.js";
import {
  type DeviceLine,
  formatDeviceLine,
  formatRequest,
  type NumberedRequest,
  parseDeviceLine,
  parseRequest,
} from "../harness/link/message.js";
import type { Transport } from "../harness/link/transport.js";
import { type Settings, validateSettings } from "../lib/pacing/index.js";
import type { StimulusEvent, TraceEvent } from "../lib/trace/index.js";
import { inventLog, KINDS, TERMS } from "./log.js";
import { encodeJsonLine, newJsonReader } from "./sides/json-lines.js";
import { openTerminalDevice } from "./terminal.js";

const SEED = 1;
const ROUNDS = 7;
const BITS_PER_BYTE = 10;
const BAUD_RATE = 115_200;
const LF = 0x0a;
const MICROS_PER_MILLI = 1_000;

if (argv[1] !== undefined && import.meta.url === pathToFileURL(argv[1]).href) await reportLink();

/** One day over one transport. */
interface Day {
  readonly wallSeconds: number;
  readonly lines: number;
  readonly bytes: number;
  readonly paced: number;
  /** Everything that went over the wire, to the device and from it. */
  readonly wire: { readonly asked: string[]; readonly said: string[] };
}

/** Runs all, prints a table, and returns the lines that may be quoted. */
export async function reportLink(): Promise<string[]> {
  const mock = await runDay(await openMockTransport());
  const terminal = openTerminalDevice();
  const pty = await runDay(await openSerial(terminal.path)).finally(() => {
    terminal.close();
  });
  const agree = mock.paced === pty.paced && mock.lines === pty.lines;
  if (!agree) process.exitCode = 1;
  const codec = codecOf(mock);
  const wireSeconds = (mock.bytes * BITS_PER_BYTE) / BAUD_RATE;
  const share = (day: Day): string =>
    `${((100 * wireSeconds) / (wireSeconds + day.wallSeconds)).toFixed(1)} %`;
  const perSecond = (day: Day): string => Math.round(day.lines / day.wallSeconds).toLocaleString("en");
  console.log(
    `The link: an invented day, ${mock.lines} lines of ${(mock.bytes / mock.lines).toFixed(1)} bytes, ` +
      `${mock.paced} paced strokes; the same over both: ${agree ? "yes" : "NO"}`,
  );
  for (const [name, ...cells] of [
    ["", "lines/s", "seconds", "wire at 115,200 baud"],
    ["codec alone, written and read *", Math.round(codec.link).toLocaleString("en"), "", ""],
    ["lines of JSON, the same *", Math.round(codec.json).toLocaleString("en"), "", ""],
    ["the day over the mock", perSecond(mock), mock.wallSeconds.toFixed(2), share(mock)],
    ["the day over a pseudo-terminal", perSecond(pty), pty.wallSeconds.toFixed(2), share(pty)],
  ] as const) {
    console.log(`  ${name.padEnd(34)}${cells.map((cell) => cell.padStart(22)).join("")}`);
  }
  console.log(
    `  * of processor time; lines of JSON are ${codec.jsonBytesTimes.toFixed(2)} times as long and have no check`,
  );
  console.log(`  On the wire the day takes ${wireSeconds.toFixed(0)} s.`);
  return [
    `link: a line costs the codec ${(codec.json / codec.link).toFixed(1)} times what JSON costs without a check, ` +
      `and is ${(1 / codec.jsonBytesTimes).toFixed(2)} times as long`,
    `link: at 115,200 baud ${share(pty)} of the time of a day over a serial port is the wire; ` +
      `over the mock a day takes ${mock.wallSeconds.toFixed(1)} s`,
  ];
}

async function runDay(inner: Transport): Promise<Day> {
  const wire: Day["wire"] = { asked: [], said: [] };
  let bytes = 0;
  let lines = 0;
  const note = (list: string[], piece: Uint8Array): void => {
    list.push(Buffer.from(piece).toString("latin1"));
    bytes += piece.length;
    for (const byte of piece) if (byte === LF) lines += 1;
  };
  const device = await connect({
    ...inner,
    send(piece) {
      note(wire.asked, piece);
      return inner.send(piece);
    },
    onBytes(take) {
      inner.onBytes((piece) => {
        note(wire.said, piece);
        take(piece);
      });
    },
  });
  bytes = lines = 0;
  let paced = 0;
  const sink = ({ kind }: TraceEvent): void => {
    if (kind === "paced") paced += 1;
  };
  const startMillis = performance.now();
  const end = await device.run({ ...day(), sink });
  const wallSeconds = (performance.now() - startMillis) / 1_000;
  await device.close();
  if (!end.ok) throw new Error(`${inner.name}: ${end.fault.message}`);
  return { wallSeconds, lines, bytes, paced, wire };
}

function day(): { settings: Settings; stimulus: StimulusEvent[]; untilMicros: number } {
  const log = inventLog(SEED, 1);
  const verdict = validateSettings({
    strokes: TERMS.strokes,
    contacts: TERMS.contacts,
    leastSpacingMicros: TERMS.spacingMillis * MICROS_PER_MILLI,
    longestPrimeMicros: TERMS.longestPrimeMillis * MICROS_PER_MILLI,
  });
  if (!verdict.ok) throw new Error(JSON.stringify(verdict.faults));
  const stimulus = Array.from(log.atMillis, (atMillis, i): StimulusEvent => ({
    kind: KINDS[log.kinds[i] ?? 0] ?? "contact",
    atMicros: atMillis * MICROS_PER_MILLI,
  }));
  return { settings: verdict.settings, stimulus, untilMicros: log.endMillis * MICROS_PER_MILLI };
}

/** Lines a second, written and read again, of what went over the wire in a day. */
function codecOf({ wire }: Day): { link: number; json: number; jsonBytesTimes: number } {
  const requests = textsOf(wire.asked).map((text) => parseRequest(text, true) as NumberedRequest);
  const said = textsOf(wire.said).map((text) => parseDeviceLine(text) as DeviceLine);
  const messages = [...requests, ...said];
  let linkBytes = 0;
  let jsonBytes = 0;
  const link = (): void => {
    const reader = newLineReader(BYTES_MOST_FROM_DEVICE);
    linkBytes = 0;
    for (const message of messages) {
      const isRequest = "request" in message;
      const bytes = Buffer.from(
        checkedLine(isRequest ? formatRequest(message) : formatDeviceLine(message)),
        "latin1",
      );
      linkBytes += bytes.length;
      for (const line of reader.push(bytes)) {
        if (!line.ok) throw new Error(line.fault);
        if (isRequest) parseRequest(line.text, line.checked);
        else parseDeviceLine(line.text);
      }
    }
  };
  const json = (): void => {
    const read = newJsonReader();
    jsonBytes = 0;
    for (const message of messages) {
      const bytes = encodeJsonLine(message);
      jsonBytes += bytes.length;
      read(bytes);
    }
  };
  const [linkMicros, jsonMicros] = medianMicros([link, json]);
  const rate = (micros: number | undefined): number => (messages.length * 1e6) / (micros ?? NaN);
  return { link: rate(linkMicros), json: rate(jsonMicros), jsonBytesTimes: jsonBytes / linkBytes };
}

function textsOf(pieces: readonly string[]): string[] {
  const reader = newLineReader(BYTES_MOST_FROM_DEVICE);
  return pieces
    .flatMap((piece) => reader.push(Buffer.from(piece, "latin1")))
    .flatMap((line) => (line.ok ? [line.text] : []));
}

/** Processor time of each, the median of rounds in which they take turns. */
function medianMicros(works: readonly (() => void)[]): number[] {
  const rounds = Array.from({ length: ROUNDS }, () =>
    works.map((work) => {
      const start = process.cpuUsage();
      work();
      const { user, system } = process.cpuUsage(start);
      return user + system;
    }),
  );
  return works.map(
    (_, i) => rounds.map((round) => round[i] ?? NaN).sort((a, b) => a - b)[Math.floor(ROUNDS / 2)] ?? NaN,
  );
}
