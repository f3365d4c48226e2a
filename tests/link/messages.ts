/**
 * What can the two ends of the link say? Every message, as generators, and one of each kind. Test support.
 */
import fc from "fast-check";
import {
  type DeviceLine,
  type LinkInput,
  NUMBER_MOST,
  type NumberedRequest,
  OWED_MOST,
  REASONS,
  type Reported,
  type Request,
  VALUE_MOST,
  wireWords,
} from "../../harness/link/message.js";
import { SETTING_NAMES } from "../../harness/link/setting-names.js";
import { ALARMS, INHIBIT_CAUSES, SHED_CAUSES } from "../../lib/pacing/index.js";

const WORDS_MOST = 60;
/** The largest value of any setting: a week in µs. */
const SETTING_MOST = 604_800_000_000;

/** Numbers up to a most, at both ends more often. */
function upTo(most: number, least = 0): fc.Arbitrary<number> {
  return fc.oneof(fc.constantFrom(least, most), fc.integer({ min: least, max: most }));
}

export const EVERY_INPUT: readonly LinkInput[] = [
  ...(["wake", "contact", "close", "open", "prime-on", "prime-off"] as const).map((kind) => ({ kind })),
  ...(["hold-on", "hold-off", "reset", "power-off"] as const).map((kind) => ({ kind })),
  ...INHIBIT_CAUSES.flatMap((cause) => [
    { kind: "inhibit-on" as const, cause },
    { kind: "inhibit-off" as const, cause },
  ]),
  ...[true, false].flatMap((yes) => [
    { kind: "settings" as const, confirmed: yes },
    { kind: "power-on" as const, darkKnown: yes },
  ]),
];

const anyInput = fc.constantFrom(...EVERY_INPUT);
const anyTicks = upTo(VALUE_MOST);

const hello: fc.Arbitrary<Request> = upTo(NUMBER_MOST, 1).map((nonce) => ({ verb: "hello", nonce }));

const otherRequest: fc.Arbitrary<Request> = fc.oneof(
  fc.record({
    verb: fc.constant("set" as const),
    name: fc.constantFrom(...SETTING_NAMES),
    value: fc.oneof(upTo(SETTING_MOST).map(String), fc.constantFrom("spread", "prompt", "earn", "ignore")),
  }),
  fc.record({ verb: fc.constantFrom("clock" as const, "go" as const, "lag" as const), ticks: anyTicks }),
  fc.record({
    verb: fc.constant("begin" as const),
    clock: fc.constantFrom("stepped" as const, "free" as const),
  }),
  fc.record({ verb: fc.constant("at" as const), ticks: anyTicks, input: anyInput }),
  fc.record({ verb: fc.constant("do" as const), input: anyInput }),
  fc.record({ verb: fc.constant("again" as const), report: upTo(NUMBER_MOST, 1) }),
  fc.record({
    verb: fc.constantFrom("time" as const, "tell" as const, "end" as const, "bye" as const),
  }),
);

/** Any request, with the number that its line must have, or typed. */
export const anyNumberedRequest: fc.Arbitrary<NumberedRequest> = fc.oneof(
  { weight: 1, arbitrary: hello.map((request) => ({ number: 0, request })) },
  { weight: 8, arbitrary: fc.record({ number: upTo(NUMBER_MOST, 1), request: otherRequest }) },
  {
    weight: 3,
    arbitrary: fc.oneof(hello, otherRequest).map((request) => ({ number: undefined, request })),
  },
);

/** Words as a line carries them unchanged. */
const soundWords = fc
  .string({ unit: "grapheme-ascii", maxLength: WORDS_MOST })
  .map((text) => wireWords(text, WORDS_MOST));
const anyNumber = fc.option(upTo(NUMBER_MOST), { nil: undefined });
const count = upTo(VALUE_MOST);

const anyReported: fc.Arbitrary<Reported> = fc.oneof(
  anyNumber.map((number) => ({ kind: "did" as const, number })),
  fc.constantFrom<Reported>({ kind: "paced" }, { kind: "primed" }, { kind: "stroke" }, { kind: "refused" }),
  fc.record({ kind: fc.constant("counted" as const), contacts: count, earned: count }),
  fc.record({ kind: fc.constantFrom("ignored" as const, "rejected" as const), contacts: count }),
  fc.record({ kind: fc.constant("shed" as const), cause: fc.constantFrom(...SHED_CAUSES), strokes: count }),
  fc.record({
    kind: fc.constantFrom("alarm-on" as const, "alarm-off" as const),
    alarm: fc.constantFrom(...ALARMS),
  }),
  fc.record({
    kind: fc.constant("status" as const),
    earned: count,
    paced: count,
    primed: count,
    owed: upTo(OWED_MOST),
    shed: count,
    remainder: upTo(65_535),
  }),
  soundWords.map((message) => ({ kind: "fault" as const, message })),
);

/** Anything that a device says. */
export const anyDeviceLine: fc.Arbitrary<DeviceLine> = fc.oneof(
  fc.record(
    {
      kind: fc.constant("ok" as const),
      number: anyNumber,
      lastReport: upTo(NUMBER_MOST),
      value: count,
    },
    { requiredKeys: ["kind", "number", "lastReport"] },
  ),
  fc.record({
    kind: fc.constant("no" as const),
    number: anyNumber,
    reason: fc.constantFrom(...REASONS),
    words: soundWords,
  }),
  soundWords.map((name) => ({ kind: "boot" as const, name })),
  fc.record({
    kind: fc.constant("is" as const),
    report: upTo(NUMBER_MOST, 1),
    what: fc.constantFrom("link", "name", "role", "ticks", "queue", "window", "keep", "settings"),
    words: soundWords,
  }),
  {
    weight: 4,
    arbitrary: fc.record({
      kind: fc.constant("report" as const),
      report: upTo(NUMBER_MOST, 1),
      ticks: anyTicks,
      event: anyReported,
    }),
  },
  fc.record({
    kind: fc.constant("register" as const),
    report: upTo(NUMBER_MOST, 1),
    ticks: anyTicks,
    contacts: count,
  }),
);

/** One request of each kind, as the text of its line. */
export const REQUEST_TEXTS: readonly string[] = [
  "0 hello 7",
  "0 hello 65535",
  "1 set strokes 3",
  "12 set contactsDuringPrime ignore",
  "65535 set stuckMicros 604800000000",
  "3 clock 4294967295",
  "14 lag 31",
  "15 begin stepped",
  "25 begin free",
  "100 at 4294967295 inhibit-off permission",
  "1012 at 1000012 settings unconfirmed",
  "10000 do contact",
  "10101 do power-on dark-unknown",
  "65535 go 5000000",
  "19 time",
  "20 tell",
  "111 again 65535",
  "11 end",
  "12345 bye",
];

/** One line of each kind from the device, as text. */
export const DEVICE_TEXTS: readonly string[] = [
  "boot small controller",
  "1 is link 1",
  "2 is name small controller",
  "12 is takes contact close open prime-on prime-off",
  "ok 0 14 7",
  "ok 12 0",
  "ok 65535 65535 4294967295",
  "ok - 12",
  "no 5 late 1000000",
  "no - order 12",
  "no 17 settings owedLimitStrokes",
  "1 did 1000000 5",
  "11 did 1000000 -",
  "12 paced 1000000",
  "12345 primed 4294967295",
  "5 stroke 12",
  "2 counted 1000000 contacts=1 earned=2",
  "3 ignored 12 contacts=1",
  "4 rejected 12 contacts=4294967295",
  "15 shed 12000000 cause=inhibit strokes=3",
  "16 refused 0",
  "17 alarm-on 5 still-water",
  "117 alarm-off 5 shed-at-restart",
  "65535 status 4294967295 earned=4294967295 paced=4294967295 primed=4294967295 owed=16777215 shed=4294967295 remainder=65535",
  "18 fault 1000 no line has come for 10 s",
  "65535 register 4294967295 4294967295",
];
