/**
 * What is quickly proved of the twin stays proved, and a twin that keeps wrong accounts is not.
 */
import { expect, test } from "vitest";
import { analyse, contracted, missingProver, prove, twinSource } from "../../harness/firmware/proof/prove.js";

const missing = missingProver();
const why = missing === undefined ? "" : ` (${missing})`;
/** Each goal takes a tenth of this on an idle machine. */
const SECONDS = 30;

const LEDGER = ["count", "pay_stroke", "owe", "give_up", "shed_for_still_water"];

test.skipIf(missing)(`the ledger of the twin is proved to keep balance and bound${why}`, async () => {
  const { goals, proved, unproved } = await prove(LEDGER, SECONDS);
  expect(unproved).toEqual([]);
  expect(proved).toBe(goals);
  expect(goals).toBeGreaterThan(30);
});

test.skipIf(missing)(`no stroke is due closer than the least spacing${why}`, async () => {
  expect((await prove(["due_ticks", "is_stroke_due"], SECONDS)).unproved).toEqual([]);
});

test.skipIf(missing)(`a twin that pays a stroke without counting it is not proved${why}`, async () => {
  const broken = twinSource().replace("count(&s->tally.paced, 1U);", "");
  expect(broken).not.toBe(twinSource());
  expect((await prove(["pay_stroke"], 5, broken)).unproved).not.toEqual([]);
});

test.skipIf(missing)(`a twin that forgets the cap is not proved${why}`, async () => {
  const broken = twinSource().replace("(planned > allowed) ? planned : allowed", "planned");
  expect(broken).not.toBe(twinSource());
  expect((await prove(["due_ticks"], 5, broken)).unproved).not.toEqual([]);
});

// Each would need what only the relation of two values tells: ⌈m/d⌉ is at least 1 where m is; a remainder below the
// denominator leaves none that is 0.
test.skipIf(missing)(
  `no error at run time is left open but two divisors, each of which a check before it rules out${why}`,
  async () => {
    const { reached, alarms } = await analyse();
    const [statements, all] = reached.split(" of ");
    expect(statements).toBe(all);
    expect(alarms.map((alarm) => alarm.replace(/^\S+ /, ""))).toEqual([
      "division by zero. assert (ts_ticks)most ≢ 0;",
      "division by zero. assert (uint32_t)from_contacts ≢ 0;",
    ]);
  },
);

test("every function that a step calls has a contract", () => {
  const names = [...twinSource().matchAll(/^(?:ONE_COPY )?(?:static )?\w+ (\w+)\(.*\{/gm)].map(
    ([, name]) => name as string,
  );
  const steps = names.slice(0, names.indexOf("ts_step") + 1);
  expect(steps.length).toBeGreaterThan(50);
  expect(steps.filter((name) => !contracted().includes(name))).toEqual([]);
});
