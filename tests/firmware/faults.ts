/**
 * Mistakes in the firmware: the twin, or its snapshot, with one thing in it written wrongly. Test support.
 *
 * Each is a piece of the text of one function that must be there exactly once, and what stands there instead.
 */
import { cpSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { SOURCES } from "../../harness/firmware/build.js";
import type { LawName } from "../../lib/laws/index.js";
import type { SettingsInput } from "../../lib/pacing/index.js";

export interface FirmwareFault {
  readonly name: string;
  /** The law that an engineer would look up for it, and that must name it. */
  readonly law: LawName;
  /** The function that it is in. */
  readonly within: string;
  readonly find: string;
  readonly put: string;
  /** The scenario that shows it; without one it takes generated stimuli. */
  readonly scenario?: string;
  /** Where the usual settings do not let it show. */
  readonly settings?: Partial<SettingsInput>;
}

export const FAULTS: readonly FirmwareFault[] = [
  {
    name: "remainder lost on hold",
    law: "proportion",
    within: "begin_hold",
    find: "s->held = true;",
    put: "s->held = true; s->remainder = 0;",
    scenario: "hold-and-release",
  },
  {
    name: "remainder lost on a settings change",
    law: "proportion",
    within: "carried_remainder",
    find: "/ from_contacts",
    put: "* 0u / from_contacts",
    scenario: "ratio-change",
  },
  {
    name: "unconfirmed change in force",
    law: "proportion",
    within: "change_settings",
    find: "if ((!confirmed) &&",
    put: "if ((!confirmed) && false &&",
    scenario: "ratio-change",
  },
  {
    name: "contacts while held earn",
    law: "proportion",
    within: "take_contact",
    find: "if (s->held ||",
    put: "if (",
    scenario: "hold-and-release",
  },
  {
    name: "owed forgotten silently",
    law: "balance",
    within: "owe",
    find: "count(&s->tally.shed_limit",
    put: "if (false) count(&s->tally.shed_limit",
    scenario: "peak-above-the-cap",
  },
  {
    name: "cap ignored after prime",
    law: "cap",
    within: "release_prime",
    find: "s->priming = false;",
    put: "s->priming = false; s->stroke_ticks = LONG_AGO;",
    scenario: "prime-in-the-middle",
  },
  {
    name: "cap ignored after restart",
    law: "cap",
    within: "resume_times",
    find: "s->stroke_ticks = s->now_ticks;",
    put: "s->stroke_ticks = LONG_AGO;",
    scenario: "power-cycle-at-every-moment",
  },
  {
    name: "spacing counted in 16 bits",
    law: "cap",
    within: "due_ticks",
    find: "s->stroke_ticks + s->settings->least_spacing_ticks",
    put: "s->stroke_ticks + (uint16_t)s->settings->least_spacing_ticks",
    scenario: "peak-above-the-cap",
    settings: { leastSpacingMicros: 5_000_000, primeSpacingMicros: 5_000_000 },
  },
  {
    name: "a stroke that nobody paid for",
    law: "causality",
    within: "pay_stroke",
    find: "s->owed = (uint16_t)(s->owed - 1U);",
    put: "if ((s->tally.paced & 7U) != 3U) { s->owed = (uint16_t)(s->owed - 1U); } else { s->tally.earned++; }",
    scenario: "steady",
  },
  {
    name: "prime goes on after release",
    law: "prime",
    within: "release_prime",
    find: "s->priming = false;",
    put: "",
    scenario: "prime-in-the-middle",
  },
  {
    name: "longest prime taken twice",
    law: "prime",
    within: "prime_end_ticks",
    find: "s->settings->longest_prime_ticks",
    put: "(2U * s->settings->longest_prime_ticks)",
    scenario: "prime-too-long",
  },
  {
    name: "fed while inhibited",
    law: "silence",
    within: "earn",
    find: "} else if (s->inhibits != 0U) {",
    put: "} else if (false) {",
    scenario: "inhibit",
  },
  {
    name: "primed while held",
    law: "silence",
    within: "press_prime",
    find: "if (is_stopped(s)) {",
    put: "if (s->tripped) {",
  },
  {
    name: "unlimited owed",
    law: "debt",
    within: "owe",
    find: "if (strokes <= limit) {",
    put: "if (strokes <= 0xFFFFU) {",
    scenario: "peak-above-the-cap",
  },
  {
    name: "grace from the last stroke",
    law: "still-water",
    within: "grace_end_ticks",
    find: "return s->contact_ticks",
    put: "return ((s->stroke_ticks > s->contact_ticks) ? s->stroke_ticks : s->contact_ticks)",
    scenario: "stop-and-go",
  },
  {
    name: "two strokes on one late tick",
    law: "lateness",
    within: "make_stroke",
    find: "s->stroke_ticks = s->now_ticks;",
    put: "s->stroke_ticks = due_ticks(s);",
    scenario: "peak-above-the-cap",
  },
  {
    name: "spacing anew at every wake-up",
    law: "wake-ups",
    within: "ts_step",
    find: "if (input->kind != (uint8_t)TS_WAKE) {",
    put: "if ((input->kind == (uint8_t)TS_WAKE) && (passed < wake_in)) { s->stroke_ticks = s->now_ticks; } else {",
    scenario: "steady",
  },
  {
    name: "feed in slots of its counter",
    law: "time-shift",
    within: "plan_strokes",
    find: "s->plan_ticks = from;",
    put: "s->plan_ticks = from + (0x1FFFU - (s->clock_ticks & 0x1FFFU));",
    scenario: "steady",
  },
  {
    name: "remainder lost in a power cut",
    law: "power-cycle",
    within: "ts_take_snapshot",
    find: "FIELD_REMAINDER, s->remainder",
    put: "FIELD_REMAINDER, 0U",
    scenario: "power-cycle-at-every-moment",
  },
  {
    name: "bounce counted twice",
    law: "bounce",
    within: "close_line",
    find: "if ((at - s->line_since_ticks) >= s->settings->open_ticks) {",
    put: "if (true) {",
    scenario: "bounce",
  },
  {
    name: "guard blind to prime",
    law: "guard",
    within: "make_stroke",
    find: "(s->settings->guard_budget_strokes > 0U)",
    put: "(!s->priming) && (s->settings->guard_budget_strokes > 0U)",
    scenario: "prime-too-long",
    settings: { guardBudgetStrokes: 6, guardPeriodMicros: 3_600_000_000 },
  },
];

const TWIN = "pacing/tallystroke.c";

/** Copies the firmware's sources to a folder, with a fault in them. Throws if its place is not there exactly once. */
export function writeFaulty({ name, within, find, put }: FirmwareFault, folder: string): void {
  cpSync(SOURCES, folder, { recursive: true });
  const path = join(folder, TWIN);
  const text = readFileSync(path, "utf8");
  const head = new RegExp(`^[a-z][\\w ]*\\b${within}\\([^;]*?\\) \\{`, "gm");
  const starts = [...text.matchAll(head)].map(({ index }) => index);
  const start = once(starts, `${name}: the function ${within}`);
  const after = text.indexOf("\n}\n", start);
  const line = text.indexOf("\n", start);
  // A function of one line ends with it.
  const end = text.slice(start, line).endsWith("}") ? line : after;
  const body = text.slice(start, end);
  once(body.split(find).slice(1), `${name}: "${find}" in ${within}`);
  writeFileSync(path, text.slice(0, start) + body.replace(find, () => put) + text.slice(end));
}

function once<T>(found: readonly T[], what: string): T {
  const [only] = found;
  if (only === undefined || found.length > 1) throw new Error(`${what} is there ${found.length} times`);
  return only;
}
