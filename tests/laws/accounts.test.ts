/**
 * Is every stroke that does not add up seen, and nothing else? Laws 2, 4, 7 and 12, to the boundary.
 */
import { describe, expect, test } from "vitest";
import type { Status } from "../../lib/trace/index.js";
import {
  at,
  broken,
  cannotTell,
  counted,
  cut,
  foundIn,
  holds,
  type Row,
  settings,
  shed,
  status,
} from "./kit.js";

/** Three contacts, one paced stroke, one primed, one shed; then the accounts that are told. */
function told(given: Partial<Status>): Row["trace"] {
  const right = { earned: 3, paced: 1, primed: 1, owed: 1, shed: 1 };
  return [
    ...at("contact", 10, 20, 30),
    ...at("paced", 130),
    shed(140, 1),
    ...at("prime-on", 230),
    ...at("primed", 230),
    status(240, { ...right, ...given }),
  ];
}

const SEEN = "seen: paced 1, primed 1, shed 1";
const STALE = "the controller stopped telling its accounts while they changed";
const UNTOLD = "the controller does not tell its accounts";

const BALANCE: readonly Row[] = [
  {
    title: "accounts that agree with each other and with what was seen",
    trace: told({}),
    verdict: holds("balance", { margin: 0, checked: 1 }),
  },
  {
    title: "strokes earned beyond those accounted for",
    trace: told({ earned: 5 }),
    verdict: broken(
      "balance",
      { margin: -2, checked: 1 },
      240,
      `told: earned 5, paced 1, primed 1, owed 1, shed 1; ${SEEN}`,
    ),
  },
  {
    title: "a stroke owed that was never earned",
    trace: told({ owed: 2 }),
    verdict: broken(
      "balance",
      { margin: -1, checked: 1 },
      240,
      `told: earned 3, paced 1, primed 1, owed 2, shed 1; ${SEEN}`,
    ),
  },
  {
    title: "more strokes than were seen",
    trace: told({ earned: 5, paced: 3 }),
    verdict: broken(
      "balance",
      { margin: -2, checked: 1 },
      240,
      `told: earned 5, paced 3, primed 1, owed 1, shed 1; ${SEEN}`,
    ),
  },
  {
    title: "fewer primed strokes than were seen",
    trace: told({ primed: 0 }),
    verdict: broken(
      "balance",
      { margin: -1, checked: 1 },
      240,
      `told: earned 3, paced 1, primed 0, owed 1, shed 1; ${SEEN}`,
    ),
  },
  {
    title: "a shedding that was not told of when it happened",
    trace: told({ owed: 0, shed: 2 }),
    verdict: broken(
      "balance",
      { margin: -1, checked: 1 },
      240,
      `told: earned 3, paced 1, primed 1, owed 0, shed 2; ${SEEN}`,
    ),
  },
  {
    title: "a stroke owed that is forgotten, and that it was earned",
    trace: [
      ...at("contact", 10),
      counted(10, 1),
      status(10, { earned: 1, owed: 1 }),
      ...at("hold-on", 20),
      status(20),
    ],
    verdict: broken(
      "balance",
      { margin: -1, checked: 2 },
      20,
      "told: earned 0, paced 0, primed 0, owed 0, shed 0; seen: earned 1, paced 0, primed 0, shed 0",
    ),
  },
  {
    title: "no accounts at all",
    trace: [...at("contact", 10), ...at("paced", 10)],
    verdict: cannotTell("balance", { margin: null, checked: 0 }, UNTOLD),
  },
  {
    title: "accounts told once, and never again while they change",
    trace: [status(5), ...at("contact", 10), ...at("paced", 10)],
    verdict: cannotTell("balance", { margin: 0, checked: 1 }, STALE),
  },
  {
    title: "nothing at all",
    trace: [],
    verdict: cannotTell("balance", { margin: null, checked: 0 }, "nothing happened"),
  },
];

const KNOWN = { startRemainder: 0 };

const CAUSALITY: readonly Row[] = [
  {
    title: "a stroke at the moment of its contact",
    options: KNOWN,
    trace: [...at("contact", 10), ...at("paced", 10)],
    verdict: holds("causality", { margin: 0, checked: 1 }),
  },
  {
    title: "a stroke that leaves two to come",
    options: KNOWN,
    trace: [...at("contact", 10, 20, 30), ...at("paced", 30)],
    verdict: holds("causality", { margin: 2, checked: 1 }),
  },
  {
    title: "a stroke before its contact",
    options: KNOWN,
    trace: [...at("paced", 9), ...at("contact", 10)],
    verdict: broken("causality", { margin: -1, checked: 1 }, 9, "paced stroke 1, but only 0 are paid for"),
  },
  {
    title: "a stroke that was shed is not paid for any more",
    options: KNOWN,
    trace: [...at("contact", 10, 20), shed(20, 1), ...at("paced", 20, 120)],
    verdict: broken("causality", { margin: -1, checked: 2 }, 120, "paced stroke 2, but only 1 are paid for"),
  },
  {
    title: "with an unknown start the first may have been paid for before",
    trace: at("paced", 9),
    verdict: holds("causality", { margin: 0, checked: 1 }),
  },
  {
    title: "with an unknown start the second may not",
    trace: at("paced", 9, 109),
    verdict: broken("causality", { margin: -1, checked: 2 }, 109, "paced stroke 2, but only 0 are paid for"),
  },
  {
    title: "a primed stroke need not be paid for",
    options: KNOWN,
    trace: at("primed", 9),
    verdict: holds("causality", { margin: null, checked: 0 }),
  },
];

const TWO = settings({ owedLimitStrokes: 2 });

const DEBT: readonly Row[] = [
  {
    title: "as much as the limit, told",
    settings: TWO,
    trace: [status(10, { owed: 1 }), status(20, { owed: 2 })],
    verdict: holds("debt", { margin: 0, checked: 2 }),
  },
  {
    title: "one more than the limit, told",
    settings: TWO,
    trace: [status(10, { owed: 3 })],
    verdict: broken("debt", { margin: -1, checked: 1 }, 10, "3 owed, limit 2"),
  },
  {
    title: "as much as the limit, reckoned at a stroke",
    settings: TWO,
    trace: [...at("contact", 10, 20), ...at("paced", 20)],
    verdict: holds("debt", { margin: 0, checked: 1 }),
  },
  {
    title: "one more than the limit, reckoned at a stroke",
    settings: TWO,
    trace: [...at("contact", 10, 20, 30), ...at("paced", 30)],
    verdict: broken("debt", { margin: -1, checked: 1 }, 30, "3 owed, limit 2"),
  },
  {
    title: "what is told goes before what is reckoned",
    settings: TWO,
    trace: [status(5), ...at("contact", 10, 20, 30), ...at("paced", 30), status(30, { owed: 1 })],
    verdict: holds("debt", { margin: 1, checked: 2 }),
  },
  {
    title: "accounts told once, and never again while they change",
    settings: TWO,
    trace: [status(5), ...at("contact", 10, 20, 30), ...at("paced", 30)],
    verdict: cannotTell("debt", { margin: 2, checked: 1 }, STALE),
  },
  {
    title: "neither a primed stroke nor a wake-up is a moment",
    settings: TWO,
    trace: [...at("contact", 10, 20, 30), ...at("primed", 30), ...at("wake", 40)],
    verdict: holds("debt", { margin: null, checked: 0 }),
  },
];

const ACCOUNTS = { earned: 5, paced: 2, primed: 1, owed: 2, shed: 1, remainder: 2 };
const NO_CUT = "no power cut had accounts told before and after it";

/** The accounts before a power cut, and the changed ones after it. */
function over(given: Partial<Status>): Row["trace"] {
  return [status(10, ACCOUNTS), ...cut(20, 30), status(40, { ...ACCOUNTS, ...given })];
}

function lost(title: string, given: Partial<Status>, margin: number, after: string): Row {
  const evidence = `before: owed 2, remainder 2; after: ${after}`;
  return {
    title,
    trace: over(given),
    verdict: broken("power-cycle", { margin, checked: 1 }, 40, evidence),
  };
}

const POWER_CYCLE: readonly Row[] = [
  {
    title: "the same accounts before and after",
    trace: over({}),
    verdict: holds("power-cycle", { margin: 0, checked: 1 }),
  },
  {
    title: "what was owed may be shed",
    trace: over({ owed: 0, shed: 3 }),
    verdict: holds("power-cycle", { margin: 0, checked: 1 }),
  },
  lost("earned strokes gained", { earned: 7 }, -2, "owed 2, remainder 2, shed 1"),
  lost("paced strokes forgotten", { paced: 0 }, -2, "owed 2, remainder 2, shed 1"),
  lost("primed strokes gained", { primed: 2 }, -1, "owed 2, remainder 2, shed 1"),
  lost("owed strokes forgotten", { owed: 0 }, -2, "owed 0, remainder 2, shed 1"),
  lost("owed strokes gained", { owed: 4 }, -2, "owed 4, remainder 2, shed 1"),
  lost("a part of a stroke lost", { remainder: 0 }, -1, "owed 2, remainder 0, shed 1"),
  {
    title: "only the first accounts after it, and the last before",
    trace: [status(5), status(10, ACCOUNTS), ...cut(20, 30), status(40, ACCOUNTS), status(50)],
    verdict: holds("power-cycle", { margin: 0, checked: 1 }),
  },
  {
    title: "accounts told in the last moment, as the power goes, are the last before",
    trace: [
      status(10),
      ...at("power-off", 20),
      status(20, ACCOUNTS),
      { kind: "power-on", atMicros: 30, darkKnown: true },
      status(40, ACCOUNTS),
    ],
    verdict: holds("power-cycle", { margin: 0, checked: 1 }),
  },
  {
    title: "every cut",
    trace: [...over({}), ...cut(50, 60), status(70, { ...ACCOUNTS, remainder: 1 })],
    verdict: broken(
      "power-cycle",
      { margin: -1, checked: 2 },
      70,
      "before: owed 2, remainder 2; after: owed 2, remainder 1, shed 1",
    ),
  },
  {
    title: "power that was never off",
    trace: [status(10, ACCOUNTS), { kind: "power-on", atMicros: 30, darkKnown: true }, status(40)],
    verdict: cannotTell("power-cycle", { margin: null, checked: 0 }, NO_CUT),
  },
  {
    title: "power that was off with nothing told before",
    trace: [...cut(20, 30), status(40, ACCOUNTS), status(50)],
    verdict: cannotTell("power-cycle", { margin: null, checked: 0 }, NO_CUT),
  },
];

describe.each([
  { law: "balance", rows: BALANCE },
  { law: "causality", rows: CAUSALITY },
  { law: "debt", rows: DEBT },
  { law: "power-cycle", rows: POWER_CYCLE },
])("$law", ({ rows }) => {
  test.each(rows)("$title", (row) => {
    expect(foundIn(row)).toEqual(row.verdict);
  });
});
