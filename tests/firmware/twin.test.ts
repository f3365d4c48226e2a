/**
 * Is the C twin the same thing as lib/pacing? Lockstep over random commands, with sanitizers; compilers and analysers.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { ALARMS, SHED_CAUSES } from "../../lib/pacing/index.js";
import { runs } from "../support/runs.js";
import { KINDS } from "./twin/follow.js";
import { followTwin, leadTwin, type Reach } from "./twin/lockstep.js";
import { buildDriver, isInstalled, TWIN_FOLDER } from "./twin/native.js";

const hasCompiler = isInstalled("cc");
const source = join(TWIN_FOLDER, "tallystroke.c");
const AT_ONCE = 10_000;

const MISTAKES: readonly (readonly [name: string, right: string, wrong: string])[] = [
  ["the cap is open", "s->now_ticks >= due_ticks(s)", "s->now_ticks > due_ticks(s)"],
  ["the plan forgets its rest", "s->plan_ticks += 1U;", ""],
  [
    "a remainder that is just whole is not earned",
    "s->settings->contact_rest >= missing",
    "s->settings->contact_rest > missing",
  ],
  ["the horizon does not follow the plan", "fade(&s->plan_ticks, by);", ""],
  ["old stamps are not faded", "(*at > by) ? (*at - by) : LONG_AGO", "*at - by"],
  ["the rest of the guard is forgotten", "s->guard_full_rest > terms->guard_tolerance_rest", "false"],
  ["a too large increase by exactly the factor", "(feed - 1U)", "(feed)"],
  [
    "a hold does not shed",
    "s->held = true;\n  s->priming = false;\n  shed_for_hold(s);",
    "s->held = true;\n  s->priming = false;\n  (void)shed_for_hold;",
  ],
  ["a wake-up on the tick is too early", "if (passed >= wake_in) {", "if (passed > wake_in) {"],
  ["the deadline before the stroke", "(TS_HORIZON + passed) - 1U", "TS_HORIZON + passed"],
  [
    "the counter's wrap is taken for a step back",
    "const ts_ticks passed = now - s->clock_ticks;",
    "const ts_ticks passed = (now < s->clock_ticks) ? 0U : (now - s->clock_ticks);",
  ],
  [
    "a restart forgets the remainder's denominator",
    "(uint16_t)get_field(bytes, FIELD_CONTACTS), settings->contacts",
    "settings->contacts, settings->contacts",
  ],
  ["a snapshot's checksum is not looked at", "ts_crc16(bytes, TS_SNAPSHOT_BYTES) != 0U", "false"],
  [
    "a closure qualifies before what else is due then",
    "meet(s, at);\n      s->line_armed = false;",
    "s->line_armed = false;",
  ],
];

let folder = "";
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "tallystroke-twin-test-"));
});
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

describe.skipIf(!hasCompiler)("lockstep (needs a C compiler, cc)", () => {
  test("the twin answers like lib/pacing after every command, whoever makes the commands up, and every corner is reached", () => {
    const driver = buildDriver({ sanitized: true });
    const reach: Reach = {};
    for (let seed = 1; seed <= runs(15); seed++) {
      leadTwin(driver, seed, AT_ONCE, reach);
      followTwin(driver, seed, AT_ONCE, reach);
    }
    const wanted = [
      ...KINDS.map((kind) => `op ${kind}`),
      ...ALARMS.flatMap((alarm) => [`alarm ${alarm}`, `alarm ${alarm} ends`]),
      ...SHED_CAUSES.map((cause) => `shed ${cause}`),
      ...["paced", "primed", "ignored", "rejected", "bounces", "qualified", "refused", "owed"],
      ...["held", "inhibited", "tripped", "priming", "line closed", "line armed"],
      ...["late", "wrap", "counter went back", "faded", "earned wraps"],
      // Every answer to a snapshot but "wrong length", which the driver cannot give.
      ...[0, 2, 3, 4, 5].map((answer) => `restore ${answer}`),
    ];
    expect(wanted.filter((name) => (reach[name] ?? 0) === 0)).toEqual([]);
  });

  test.each(MISTAKES)("a mistake in the twin shows: %s", (_name, right, wrong) => {
    const text = readFileSync(source, "utf8");
    expect(text.split(right)).toHaveLength(2);
    const twin = join(folder, "mistaken.c");
    writeFileSync(twin, text.replace(right, wrong));
    const driver = buildDriver({ twin });
    expect(() => {
      for (let seed = 1; seed <= 60; seed++) leadTwin(driver, seed, AT_ONCE, {});
    }).toThrow("the twin and lib/pacing differ");
  });
});
