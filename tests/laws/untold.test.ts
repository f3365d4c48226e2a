/**
 * What can be judged of a controller that does not tell everything? What it never tells of is not held against it.
 */
import { expect, test } from "vitest";
import type { EventKind } from "../../lib/trace/index.js";
import {
  alarm,
  at,
  broken,
  cannotTell,
  change,
  cut,
  foundIn,
  holds,
  inhibit,
  type Row,
  settings,
  status,
} from "./kit.js";

const STROKES: readonly EventKind[] = ["paced", "primed"];
const KNOWN = { startRemainder: 0 };
const UNTOLD = { ...KNOWN, tells: new Set(STROKES) };
const MISSING = "1 earned strokes neither made nor shed";
const MAY_BE_SHED = "what was shed is not told of, and something may have been";
const ONE_MISSING = [...at("contact", 10, 20), ...at("paced", 120)];

function unweighed(title: string, before: Row["trace"], given: Partial<Row> = {}): Row {
  return {
    title,
    options: UNTOLD,
    trace: [...before, ...at("wake", 3_000)],
    verdict: cannotTell("proportion", { margin: 1, checked: 1 }, MAY_BE_SHED),
    ...given,
  };
}

const TELLS: readonly Row[] = [
  {
    title: "a missing stroke is seen as long as nothing may have been shed",
    options: UNTOLD,
    trace: [...ONE_MISSING, ...at("wake", 3_000)],
    verdict: broken("proportion", { margin: -1, checked: 1 }, 3_000, MISSING),
  },
  ...[
    at("hold-on", 130),
    at("prime-on", 130),
    [inhibit("inhibit-on", 130, "tank")],
    [change(130, settings())],
    cut(130, 140),
    [alarm("alarm-on", 130, "owed-limit")],
  ].map((events) =>
    unweighed(`a missing stroke may have been shed after ${events[0]?.kind ?? ""}`, [
      ...ONE_MISSING,
      ...events,
    ]),
  ),
  unweighed("a missing stroke may have been shed at the owed limit", ONE_MISSING, {
    settings: settings({ owedLimitStrokes: 1 }),
  }),
  unweighed("a missing stroke may have been shed where the cap does not let all through", ONE_MISSING, {
    settings: settings({ graceMicros: 199 }),
  }),
  unweighed("a missing stroke may have been owed longer than it seems", ONE_MISSING, {
    settings: settings({ owedLimitStrokes: 2 }),
    options: { ...UNTOLD, toleranceMicros: 5 },
  }),
  unweighed("a missing stroke may have been shed by a trip", ONE_MISSING, {
    settings: settings({ guardBudgetStrokes: 1, guardPeriodMicros: 1_000 }),
  }),
  {
    title: "too many strokes are seen whatever may have been shed",
    options: UNTOLD,
    trace: [...at("contact", 10), ...at("prime-on", 20, 30), ...at("paced", 110, 220), ...at("wake", 3_000)],
    verdict: broken(
      "proportion",
      { margin: -1, checked: 1 },
      3_000,
      "-1 earned strokes neither made nor shed",
    ),
  },
  {
    title: "a bounce cannot be told where contacts are not told of",
    options: UNTOLD,
    trace: [...at("close", 10), ...at("open", 50)],
    verdict: cannotTell(
      "bounce",
      { margin: null, checked: 0 },
      "the controller does not tell of its contacts",
    ),
  },
  {
    title: "contacts that did not earn are not missed where they are not told of",
    options: { ...KNOWN, tells: new Set<EventKind>(["counted"]) },
    trace: [...at("hold-on", 5), ...at("close", 10), ...at("open", 50)],
    verdict: holds("bounce", { margin: null, checked: 0 }),
  },
  {
    title: "what is owed cannot be told without sheddings or accounts",
    options: UNTOLD,
    settings: settings({ owedLimitStrokes: 1 }),
    trace: [...at("contact", 10, 20), ...at("paced", 110)],
    verdict: cannotTell("debt", { margin: null, checked: 0 }, "the controller does not tell what it owes"),
  },
  {
    title: "what is owed is reckoned where sheddings are told",
    options: { ...KNOWN, tells: new Set<EventKind>([...STROKES, "shed"]) },
    settings: settings({ owedLimitStrokes: 1 }),
    trace: [...at("contact", 10, 20), ...at("paced", 110)],
    verdict: broken("debt", { margin: -1, checked: 1 }, 110, "2 owed, limit 1"),
  },
  {
    title: "sheddings that are not told of are not missed in the accounts",
    options: { ...KNOWN, tells: new Set<EventKind>([...STROKES, "status"]) },
    trace: [...at("contact", 10), status(1_010, { earned: 1, shed: 1 })],
    verdict: holds("balance", { margin: 0, checked: 1 }),
  },
];

test.each(TELLS)("$title", (row) => {
  expect(foundIn(row)).toEqual(row.verdict);
});
