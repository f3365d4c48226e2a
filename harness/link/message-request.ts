/**
 * How does a request stand on a line? Text and back; parsing never throws. Harness layer; its types are in message.ts.
 */
import { INHIBIT_CAUSES } from "../../lib/pacing/index.js";
import { detailOf, type TraceEvent } from "../../lib/trace/index.js";
import { whole } from "./message-number.js";
import {
  type AnyRequest,
  type LinkInput,
  NUMBER_MOST,
  type NumberedRequest,
  type Request,
  type RequestFault,
  type RequestNumber,
  VALUE_MOST,
} from "./message-kinds.js";

const CLOCKS = ["stepped", "free"] as const;

/** The text of a request, without its check; never longer than a line to the device can be. */
export function formatRequest({ number, request }: NumberedRequest<AnyRequest>): string {
  const words = requestWords(request);
  return number === undefined ? words : `${number} ${words}`;
}

function requestWords(request: AnyRequest): string {
  switch (request.verb) {
    case "hello":
      return `hello ${request.nonce}`;
    case "set":
      return `set ${request.name} ${request.value}`;
    case "clock":
    case "go":
    case "lag":
      return `${request.verb} ${request.ticks}`;
    case "begin":
      return `begin ${request.clock}`;
    case "at":
      return `at ${request.ticks} ${inputWords(request.input)}`;
    case "do":
      return `do ${inputWords(request.input)}`;
    case "again":
      return `again ${request.report}`;
    case "stroke":
      return `stroke ${request.stroke}`;
    case "register":
    case "last":
    case "time":
    case "tell":
    case "end":
    case "bye":
      return request.verb;
  }
}

function inputWords(input: LinkInput): string {
  if (input.kind === "settings") return `settings ${input.confirmed ? "confirmed" : "unconfirmed"}`;
  const detail = detailOf(input as TraceEvent);
  return detail === "" ? input.kind : `${input.kind} ${detail}`;
}

/**
 * Reads a request to a controller or a fixture: with its number if the line was checked, without one if it was typed. What depends on the device
 * (its counter's width, what it takes, what settings it has) is for the device to look at.
 */
export function parseRequest(text: string, checked: boolean): NumberedRequest | RequestFault {
  const words = text.split(" ");
  let number: RequestNumber;
  if (checked) {
    number = whole(words.shift(), 0, NUMBER_MOST);
    if (number === undefined) return { fault: "word", number };
  }
  const isHello = words[0] === "hello";
  if (number === 0 && !isHello) return { fault: "order", number };
  if (checked && number !== 0 && isHello) return { fault: "word", number };
  const request = readRequest(words);
  return typeof request === "string" ? { fault: request, number } : { number, request };
}

function readRequest(words: readonly string[]): Request | "word" | "value" {
  const [verb, first, second] = words;
  const of = <Value>(value: Value | undefined, count: number, make: (value: Value) => Request) => {
    if (words.length !== count) return "word";
    return value === undefined ? "value" : make(value);
  };
  switch (verb) {
    case "hello":
      return of(whole(first, 1, NUMBER_MOST), 2, (nonce) => ({ verb, nonce }));
    case "set":
      if (words.length !== 3 || !first) return "word";
      return second ? { verb, name: first, value: second } : "value";
    case "clock":
    case "go":
    case "lag":
      return of(whole(first, 0, VALUE_MOST), 2, (ticks) => ({ verb, ticks }));
    case "begin":
      return of(
        CLOCKS.find((name) => name === first),
        2,
        (clock) => ({ verb, clock }),
      );
    case "again":
      return of(whole(first, 1, NUMBER_MOST), 2, (report) => ({ verb, report }));
    case "at": {
      const input = readInput(words.slice(2));
      if (input === undefined) return "word";
      return of(whole(first, 0, VALUE_MOST), words.length, (ticks) => ({ verb, ticks, input }));
    }
    case "do": {
      const input = readInput(words.slice(1));
      return input === undefined ? "word" : { verb, input };
    }
    case "time":
    case "tell":
    case "end":
    case "bye":
      return words.length === 1 ? { verb } : "word";
    case undefined:
    default:
      return "word";
  }
}

function readInput([kind, detail, ...more]: readonly string[]): LinkInput | undefined {
  if (more.length > 0) return undefined;
  switch (kind) {
    case "wake":
    case "contact":
    case "close":
    case "open":
    case "prime-on":
    case "prime-off":
    case "hold-on":
    case "hold-off":
    case "reset":
    case "power-off":
      return detail === undefined ? { kind } : undefined;
    case "inhibit-on":
    case "inhibit-off": {
      const cause = INHIBIT_CAUSES.find((name) => name === detail);
      return cause === undefined ? undefined : { kind, cause };
    }
    case "settings":
      return choice(detail, "confirmed", "unconfirmed", (confirmed) => ({ kind, confirmed }));
    case "power-on":
      return choice(detail, "dark-known", "dark-unknown", (darkKnown) => ({ kind, darkKnown }));
    case undefined:
    default:
      return undefined;
  }
}

function choice(
  word: string | undefined,
  yes: string,
  no: string,
  make: (isYes: boolean) => LinkInput,
): LinkInput | undefined {
  return word === yes || word === no ? make(word === yes) : undefined;
}
