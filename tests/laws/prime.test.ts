/**
 * Does priming end when it must, and leave the accounts alone? Law 5, to the microsecond.
 */
import { expect, test } from "vitest";
import type { Status } from "../../lib/trace/index.js";
import {
  alarm,
  at,
  broken,
  change,
  counted,
  cut,
  foundIn,
  holds,
  inhibit,
  type Row,
  settings,
  shed,
  status,
} from "./kit.js";

const NOT_HELD = "a primed stroke, but prime is not held";
const NEVER = { margin: null, checked: 1 };

/** A primed stroke at 60 µs that must not be. */
function forbidden(title: string, before: Row["trace"]): Row {
  return {
    title,
    trace: [...before, ...at("primed", 60)],
    verdict: broken("prime", NEVER, 60, NOT_HELD),
  };
}

/** A primed stroke at 60 µs that may be, since 10 µs. */
function allowed(title: string, before: Row["trace"], margin = 450): Row {
  return {
    title,
    trace: [...before, ...at("primed", 60)],
    verdict: holds("prime", { margin, checked: 1 }),
  };
}

const press = at("prime-on", 10);

const HOLD: readonly Row[] = [
  allowed("a stroke while pressed", press),
  allowed("a second press while pressed begins nothing", [...press, ...at("prime-on", 50)]),
  allowed("a press after a release begins anew", [...at("prime-on", 1), ...at("prime-off", 5), ...press]),
  allowed("a press after a hold", [...at("hold-on", 1), ...at("hold-off", 5), ...press]),
  forbidden("a stroke with nothing pressed", []),
  forbidden("a stroke at the moment of release", [...press, ...at("prime-off", 60)]),
  forbidden("a press that a hold has ended", [...press, ...at("hold-on", 20), ...at("hold-off", 30)]),
  forbidden("a press that an inhibit has ended", [
    ...press,
    inhibit("inhibit-on", 20, "tank"),
    inhibit("inhibit-off", 30, "tank"),
  ]),
  forbidden("a press that a trip has ended", [
    ...press,
    alarm("alarm-on", 20, "tripped"),
    ...at("reset", 30),
  ]),
  forbidden("a press that a power cut has ended", [...press, ...cut(20, 30)]),
  allowed("a press after a power cut needs no release", [...at("prime-on", 1), ...cut(2, 5), ...press]),
  forbidden("a press while held", [...at("hold-on", 1), ...press, ...at("hold-off", 30)]),
  forbidden("a press while inhibited", [
    inhibit("inhibit-on", 1, "flow"),
    ...press,
    inhibit("inhibit-off", 30, "flow"),
  ]),
  forbidden("a press while tripped", [alarm("alarm-on", 1, "tripped"), ...press, ...at("reset", 30)]),
  forbidden("a press that is held on to through a hold, pressed again without a release", [
    ...at("hold-on", 1),
    ...at("prime-on", 5),
    ...at("hold-off", 7),
    ...press,
  ]),
  {
    title: "however many were made while pressed, one after it has no margin",
    trace: [...press, ...at("primed", 60), ...at("prime-off", 100), ...at("primed", 160)],
    verdict: broken("prime", { margin: null, checked: 2 }, 160, NOT_HELD),
  },
  {
    title: "a stroke at the end of the longest hold",
    trace: [...press, ...at("primed", 510)],
    verdict: holds("prime", { margin: 0, checked: 1 }),
  },
  {
    title: "a stroke one microsecond later",
    trace: [...press, ...at("primed", 511)],
    verdict: broken("prime", { margin: -1, checked: 1 }, 511, "a primed stroke 501 µs into the hold"),
  },
  {
    title: "a stroke at the edge of the tolerance",
    options: { toleranceMicros: 5 },
    trace: [...press, ...at("primed", 515)],
    verdict: holds("prime", { margin: 0, checked: 1 }),
  },
  {
    title: "a stroke past the tolerance",
    options: { toleranceMicros: 5 },
    trace: [...press, ...at("primed", 516)],
    verdict: broken("prime", { margin: -1, checked: 1 }, 516, "a primed stroke 506 µs into the hold"),
  },
  {
    title: "a longer longest hold that comes in time",
    trace: [...press, change(509, settings({ longestPrimeMicros: 900 })), ...at("primed", 910)],
    verdict: holds("prime", { margin: 0, checked: 1 }),
  },
  {
    title: "a longer longest hold does not revive a press that has run out",
    trace: [...press, change(510, settings({ longestPrimeMicros: 900 })), ...at("primed", 600)],
    verdict: broken("prime", NEVER, 600, NOT_HELD),
  },
];

const BEFORE = { earned: 4, paced: 1, owed: 2, shed: 1, remainder: 2 };

/** The accounts, a primed stroke with something in between, and the accounts after it. */
function accounts(after: Partial<Status>, between: Row["trace"] = []): Row["trace"] {
  return [...press, status(20, BEFORE), ...at("primed", 60), ...between, status(70, { ...BEFORE, ...after })];
}

const ACCOUNTS: readonly Row[] = [
  {
    title: "the same accounts before and after",
    trace: accounts({ primed: 1 }),
    verdict: holds("prime", { margin: 450, checked: 2 }),
  },
  {
    title: "what is owed may be shed meanwhile",
    trace: accounts({ owed: 0, shed: 3 }, [shed(65, 2)]),
    verdict: holds("prime", { margin: 450, checked: 2 }),
  },
  {
    title: "a primed stroke taken off what is owed",
    trace: accounts({ owed: 1 }),
    verdict: broken(
      "prime",
      { margin: null, checked: 2 },
      70,
      "priming took owed from 2 to 1, the remainder from 2 to 2",
    ),
  },
  {
    title: "a primed stroke that clears the remainder",
    trace: accounts({ remainder: 0 }),
    verdict: broken(
      "prime",
      { margin: null, checked: 2 },
      70,
      "priming took owed from 2 to 2, the remainder from 2 to 0",
    ),
  },
  ...[
    { title: "a contact", event: counted(65, 0) },
    { title: "a paced stroke", event: { kind: "paced", atMicros: 65 } as const },
    { title: "a change of settings", event: change(65, settings()) },
  ].map(({ title, event }): Row => ({
    title: `${title} in between may change them`,
    trace: accounts({ owed: 1, remainder: 0 }, [event]),
    verdict: holds("prime", { margin: 450, checked: 1 }),
  })),
  {
    title: "accounts without a primed stroke between them",
    trace: [status(20, BEFORE), status(70)],
    verdict: holds("prime", { margin: null, checked: 0 }),
  },
  {
    title: "a primed stroke is looked at once",
    trace: [...accounts({}), status(80)],
    verdict: holds("prime", { margin: 450, checked: 2 }),
  },
  {
    title: "the last accounts before the stroke",
    trace: [...press, status(15), ...accounts({}).slice(1)],
    verdict: holds("prime", { margin: 450, checked: 2 }),
  },
  ...[
    { title: "a press", event: at("prime-on", 60) },
    { title: "a release", event: at("prime-off", 60) },
  ].map(({ title, event }): Row => ({
    title: `${title} that clears the remainder, before any primed stroke`,
    trace: [status(20, BEFORE), ...event, status(60, { ...BEFORE, remainder: 0 })],
    verdict: broken(
      "prime",
      { margin: null, checked: 1 },
      60,
      "priming took owed from 2 to 2, the remainder from 2 to 0",
    ),
  })),
  {
    title: "a primed stroke with no accounts before it",
    trace: [...press, ...at("primed", 60), status(70, BEFORE)],
    verdict: holds("prime", { margin: 450, checked: 1 }),
  },
];

test.each(HOLD)("prime held: $title", (row) => {
  expect(foundIn(row)).toEqual(row.verdict);
});

test.each(ACCOUNTS)("prime and the accounts: $title", (row) => {
  expect(foundIn(row)).toEqual(row.verdict);
});
