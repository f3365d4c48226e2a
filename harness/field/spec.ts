/**
 * Which meter or pump is meant? From what was given to `--meter` and `--pump` to a valid specification. Harness layer.
 */
import type { Micros } from "../../lib/pacing/index.js";
import { InputError } from "../files/fault.js";
import { isRefusal, readDuration } from "../files/quantity.js";

/** Modem-control lines that a contact can be read on, and that a relay can be worked by. */
export const CONTACT_LINES = ["cts", "dsr", "dcd"] as const;
export const STROKE_LINES = ["rts", "dtr"] as const;
export type ContactLine = (typeof CONTACT_LINES)[number];
export type StrokeLine = (typeof STROKE_LINES)[number];

export interface LinesSpec {
  readonly form: "lines";
  readonly path: string;
  readonly contact?: ContactLine;
  readonly stroke?: StrokeLine;
  /** Kept on while the port is open, to feed the contact; the other one is the stroke's. */
  readonly supply?: StrokeLine;
  readonly pulseMicros: Micros;
  readonly pollMicros: Micros;
}

export type FieldSpec =
  | { readonly form: "mock"; readonly pace: number }
  | { readonly form: "serial" | "exec"; readonly place: string }
  | { readonly form: "tcp"; readonly host: string; readonly port: number }
  | LinesSpec;

/** The forms of a specification, and what each means. */
export const FIELD_SPECS: readonly (readonly [form: string, meaning: string])[] = [
  ["mock", "an invented meter or pump in this process; mock?pace=4 runs its day four times as fast"],
  ["serial:PATH", "a meter or pump that speaks the link, on a serial port, 115,200 baud"],
  ["tcp:HOST:PORT", "one behind a raw TCP serial server"],
  ["exec:COMMAND", "a program that speaks the link, on a pseudo-terminal"],
  [
    "lines:PATH?contact=cts&stroke=rts",
    "the modem-control lines of a serial port: contact=cts|dsr|dcd, stroke=rts|dtr, pulse=50ms, poll=2ms, supply=rts|dtr",
  ],
];

const PACE_LEAST = 0.1;
const PACE_MOST = 100;
const PULSE = { least: 10_000, most: 1_000_000, usual: 50_000 } as const;
const POLL = { least: 1_000, most: 20_000, usual: 2_000 } as const;

/** Throws an InputError that names `option`. */
export function readFieldSpec(option: string, spec: string): FieldSpec {
  const [, mock, form, rest = ""] = /^(?:mock(|\?.*)|(serial|tcp|exec|lines):(.+))$/s.exec(spec) ?? [];
  if (mock !== undefined) return readMock(option, spec, mock);
  if (form === "serial" || form === "exec") return { form, place: rest };
  if (form === "lines" && !rest.startsWith("?")) return readLines(option, spec, rest);
  const [, host, digits] = /^\[?(.+?)\]?:(\d{1,5})$/.exec(rest) ?? [];
  const port = Number(digits);
  if (form === "tcp" && host !== undefined && port >= 1 && port <= 65_535) return { form, host, port };
  const forms = FIELD_SPECS.map(([each]) => each).join(", ");
  throw specFault(option, spec, "names no meter or pump", `give ${forms}`);
}

export function specFault(option: string, spec: string, fault: string, mend: string): InputError {
  return new InputError([{ field: option, fault: `"${spec}" ${fault}`, mend }]);
}

function readMock(option: string, spec: string, options: string): FieldSpec {
  const given = readOptions(option, spec, options, ["pace"]);
  const text = given.get("pace") ?? "1";
  const pace = /^\d{1,3}(\.\d{1,3})?$/.test(text) ? Number(text) : NaN;
  if (pace >= PACE_LEAST && pace <= PACE_MOST) return { form: "mock", pace };
  throw specFault(option, spec, `has a pace of "${text}"`, `give ${PACE_LEAST} to ${PACE_MOST}`);
}

function readLines(option: string, spec: string, rest: string): LinesSpec {
  const at = rest.indexOf("?");
  const path = at < 0 ? rest : rest.slice(0, at);
  const given = readOptions(option, spec, at < 0 ? "" : rest.slice(at), [
    "contact",
    "stroke",
    "supply",
    "pulse",
    "poll",
  ]);
  const one = <Line extends string>(name: string, lines: readonly Line[]): Line | undefined => {
    const text = given.get(name);
    const line = lines.find((each) => each === text);
    if (text === undefined || line !== undefined) return line;
    throw specFault(option, spec, `has ${name}=${text}`, `give ${name}=${lines.join(` or ${name}=`)}`);
  };
  const contact = one("contact", CONTACT_LINES);
  const stroke = one("stroke", STROKE_LINES);
  const supply = one("supply", STROKE_LINES);
  if (supply !== undefined && supply === stroke) {
    throw specFault(option, spec, `has ${supply} both as stroke and as supply`, "give one line for each");
  }
  const within = (name: "pulse" | "poll", { least, most, usual }: typeof PULSE | typeof POLL): Micros => {
    const text = given.get(name);
    const micros = text === undefined ? usual : readDuration(text);
    if (!isRefusal(micros) && micros >= least && micros <= most) return micros;
    const range = `${least / 1_000} to ${most / 1_000} ms, such as ${name}=${usual / 1_000}ms`;
    throw specFault(option, spec, `has ${name}=${text ?? ""}`, `give ${range}`);
  };
  return {
    form: "lines",
    path,
    ...(contact && { contact }),
    ...(stroke && { stroke }),
    ...(supply && { supply }),
    pulseMicros: within("pulse", PULSE),
    pollMicros: within("poll", POLL),
  };
}

/** What follows the `?`, each at most once and none but those that there are. */
function readOptions(
  option: string,
  spec: string,
  text: string,
  names: readonly string[],
): ReadonlyMap<string, string> {
  const given = new Map<string, string>();
  if (text === "") return given;
  for (const part of text.replace(/^\?/, "").split("&")) {
    const at = part.indexOf("=");
    const name = at < 0 ? part : part.slice(0, at);
    const mend = `give ${names.join("=…, ")}=…, each once, with & between them`;
    if (at < 0 || !names.includes(name)) throw specFault(option, spec, `has "${part}"`, mend);
    if (given.has(name)) throw specFault(option, spec, `has ${name} twice`, mend);
    given.set(name, part.slice(at + 1));
  }
  return given;
}
