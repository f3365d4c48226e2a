/*
 * What does a pacer do next? The pacing core in C99, the twin of lib/pacing; tallystroke.h is its contract.
 *
 * The order is bottom up; the names are those of lib/pacing, and functions stand as in its file of that name. In here
 * every time is counted from the horizon and stays below 2^32: now is at most TS_HORIZON + TS_GAP_MOST, and nothing set
 * reaches further than TS_DURATION_MOST and a few ticks beyond it. So plain sums and comparisons are exact, as there.
 * Three things are told otherwise than there, to the same end: what a contact earns is divided once, in ts_validate;
 * deadlines are met kind by kind, not one by one; and the earliest of them is found when the wake-up is set, not kept.
 */
#include "tallystroke.h"

/* Stands for "never yet": before the horizon, so that every interval from it is longer than any setting. */
#define LONG_AGO UINT32_C(0)
/* Stands for "no deadline": later than any time. */
#define NO_DEADLINE UINT32_C(0xFFFFFFFF)

/* What is short in C can be long on an 8-bit part: kept to one copy there, a tenth of the flash is saved. */
#if defined(__GNUC__)
#define ONE_COPY __attribute__((noinline))
#else
#define ONE_COPY
#endif

/* ---- state ---- */

ONE_COPY static void count(uint32_t *tally, uint16_t by) { *tally += by; }

static void raise_alarm(ts_state *s, uint16_t alarm) {
  if ((s->alarms & alarm) != 0U) {
    return;
  }
  s->alarms |= alarm;
  s->raised |= alarm;
}

static void clear_alarms(ts_state *s, uint16_t alarms) {
  s->cleared |= (uint16_t)(s->alarms & alarms);
  s->alarms &= (uint16_t)~alarms;
}

/* ---- cadence: when is the next owed stroke due? ---- */

static ts_ticks span_ticks(const ts_state *s, ts_ticks from) {
  const ts_ticks grace_end = s->contact_ticks + s->settings->grace_ticks;
  /* None after a change to a shorter grace: what is owed is shed in this step, or a closure that qualifies keeps it. */
  const ts_ticks grace_left = (grace_end > from) ? (grace_end - from) : 0U;
  return (s->interval_ticks < grace_left) ? s->interval_ticks : grace_left;
}

/* Lays out all that is owed, from `from` on. */
static void plan_strokes(ts_state *s, ts_ticks from) {
  ts_ticks span;
  s->plan_ticks = from;
  s->plan_step_ticks = 0;
  s->plan_step_rest = 0;
  s->plan_parts = 1;
  s->plan_carry = 0;
  if ((s->settings->cadence == (uint8_t)TS_PROMPT) || (s->owed == 0U)) {
    return;
  }
  span = span_ticks(s, from);
  s->plan_parts = s->owed;
  s->plan_step_rest = (uint16_t)(span % s->owed);
  s->plan_step_ticks = span / s->owed;
  /* Slices shorter than the least spacing leave it to the cap to lay the strokes out: then every moment counts. */
  if (s->plan_step_ticks < s->settings->least_spacing_ticks) {
    return;
  }
  s->plan_ticks += s->plan_step_ticks / 2U;
}

/* Moves the plan on by one stroke. */
static void plan_next(ts_state *s) {
  const uint32_t carry = (uint32_t)s->plan_carry + s->plan_step_rest;
  s->plan_ticks += s->plan_step_ticks;
  if (carry >= s->plan_parts) {
    s->plan_carry = (uint16_t)(carry - s->plan_parts);
    s->plan_ticks += 1U;
  } else {
    s->plan_carry = (uint16_t)carry;
  }
}

/* Whether a stroke of either cause is to come, as things stand. */
ONE_COPY static bool is_stroke_wanted(const ts_state *s) { return (s->owed > 0U) || s->priming; }

/* The first primed stroke comes with the press, each other one spacing after the last. */
static ts_ticks prime_plan_ticks(const ts_state *s) {
  return (s->stroke_ticks < s->prime_since_ticks) ? s->prime_since_ticks
                                                  : (s->stroke_ticks + s->settings->prime_spacing_ticks);
}

/* When the next stroke may be made: as planned, but never closer to the last stroke than the cap allows. */
static ts_ticks due_ticks(const ts_state *s) {
  const ts_ticks planned = s->priming ? prime_plan_ticks(s) : s->plan_ticks;
  const ts_ticks allowed = s->stroke_ticks + s->settings->least_spacing_ticks;
  return (planned > allowed) ? planned : allowed;
}

static bool is_stroke_due(const ts_state *s) { return is_stroke_wanted(s) && (s->now_ticks >= due_ticks(s)); }

/* ---- ledger: invariant after every function here, earned = paced + owed + every shed cause ---- */

/* One owed stroke is being made. */
static void pay_stroke(ts_state *s) {
  s->owed = (uint16_t)(s->owed - 1U);
  count(&s->tally.paced, 1U);
  if (s->owed == 0U) {
    clear_alarms(s, TS_OWED_LIMIT);
  }
}

/* Owes so many strokes, up to the limit; beyond it they are shed. */
static void owe(ts_state *s, uint32_t strokes) {
  const uint16_t limit = s->settings->owed_limit_strokes;
  if (strokes <= limit) {
    s->owed = (uint16_t)strokes;
    return;
  }
  s->owed = limit;
  count(&s->tally.shed_limit, (uint16_t)(strokes - limit));
  raise_alarm(s, TS_OWED_LIMIT);
}

static uint16_t give_up(ts_state *s, uint16_t alarm) {
  const uint16_t strokes = s->owed;
  s->owed = 0;
  if (strokes > 0U) {
    raise_alarm(s, alarm);
  }
  clear_alarms(s, TS_OWED_LIMIT);
  return strokes;
}

static void shed_for_still_water(ts_state *s) { count(&s->tally.shed_still, give_up(s, TS_STILL_WATER)); }

static void shed_for_hold(ts_state *s) { count(&s->tally.shed_hold, give_up(s, TS_SHED_IN_HOLD)); }

static void shed_for_inhibit(ts_state *s) { count(&s->tally.shed_inhibit, give_up(s, TS_SHED_IN_INHIBIT)); }

/* The trip itself is the alarm. */
static void shed_for_trip(ts_state *s) { count(&s->tally.shed_trip, give_up(s, 0U)); }

static void shed_for_power(ts_state *s) { count(&s->tally.shed_power, give_up(s, TS_SHED_AT_RESTART)); }

static void earn(ts_state *s, ts_ticks at) {
  uint16_t earned = s->settings->contact_whole_strokes;
  /* What is missing to one more stroke, rather than the sum of remainder and rest, which might not fit. */
  const uint16_t missing = (uint16_t)(s->settings->contacts - s->remainder);
  if (s->settings->contact_rest >= missing) {
    s->remainder = (uint16_t)(s->settings->contact_rest - missing);
    earned = (uint16_t)(earned + 1U);
  } else {
    s->remainder = (uint16_t)(s->remainder + s->settings->contact_rest);
  }
  if (earned == 0U) {
    return;
  }
  count(&s->tally.earned, earned);
  if (s->tripped) {
    s->owed = earned; /* Nothing else is owed in a stop. */
    shed_for_trip(s);
  } else if (s->inhibits != 0U) {
    s->owed = earned;
    shed_for_inhibit(s);
  } else {
    owe(s, (uint32_t)s->owed + earned);
    plan_strokes(s, at);
  }
}

/* One closure that qualified, or one contact that was qualified elsewhere. */
static void take_contact(ts_state *s, ts_ticks at) {
  ts_ticks interval = at - s->contact_ticks;
  /* A closure can qualify before a contact that was given in between, when settings make its time shorter. */
  if ((at < s->contact_ticks) || (interval < s->settings->least_contact_ticks)) {
    count(&s->tally.rejected, 1U);
    raise_alarm(s, TS_TOO_FAST);
    return;
  }
  if (interval > s->settings->grace_ticks) {
    interval = s->settings->grace_ticks;
  }
  s->contact_ticks = at;
  s->interval_ticks = interval;
  s->listen_ticks = at;
  clear_alarms(s, TS_SILENT | TS_TOO_FAST | TS_STILL_WATER | TS_SHED_AT_RESTART);
  if (s->held || (s->priming && (s->settings->contacts_during_prime == (uint8_t)TS_IGNORE))) {
    count(&s->tally.ignored, 1U);
    return;
  }
  count(&s->tally.counted, 1U);
  earn(s, at);
}

/* ---- line: which closures of the meter's contact are worth counting, bounce and all? ---- */

/* The line closes. A second close in a row says nothing new. */
static void close_line(ts_state *s, ts_ticks at) {
  if (s->line_closed) {
    return;
  }
  if ((at - s->line_since_ticks) >= s->settings->open_ticks) {
    s->line_armed = true;
  }
  if (!s->line_armed) {
    count(&s->tally.bounces, 1U);
  }
  s->line_closed = true;
  s->line_since_ticks = at;
}

/* The line opens. A second open in a row says nothing new. */
static void open_line(ts_state *s, ts_ticks at) {
  if (!s->line_closed) {
    return;
  }
  if (s->line_armed) {
    count(&s->tally.bounces, 1U); /* It opened before it had stayed closed long enough. */
  }
  s->line_closed = false;
  s->line_since_ticks = at;
  clear_alarms(s, TS_STUCK);
}

/* Whether the present closure will count, if it lasts ... */
static bool is_qualifying(const ts_state *s) { return s->line_closed && s->line_armed; }

/* ... and when. */
static ts_ticks qualifying_ticks(const ts_state *s) { return s->line_since_ticks + s->settings->closed_ticks; }

/* Whether the present closure will be alarmed as stuck, if it lasts ... */
static bool is_stuck_ahead(const ts_state *s) {
  return s->line_closed && (s->settings->stuck_ticks > 0U) && ((s->alarms & (uint16_t)TS_STUCK) == 0U);
}

/* ... and when. */
static ts_ticks stuck_ticks(const ts_state *s) { return s->line_since_ticks + s->settings->stuck_ticks; }

/* ---- modes: a stop (hold, inhibit, trip) sheds what is owed and ends the prime override ---- */

static bool is_stopped(const ts_state *s) { return s->held || (s->inhibits != 0U) || s->tripped; }

static void press_prime(ts_state *s, ts_ticks at) {
  if (s->prime_pressed) {
    return;
  }
  s->prime_pressed = true;
  if (is_stopped(s)) {
    return;
  }
  s->priming = true;
  s->prime_since_ticks = at;
}

static void release_prime(ts_state *s) {
  s->prime_pressed = false;
  s->priming = false;
  clear_alarms(s, TS_PRIME_TOO_LONG);
}

/* The longest hold has passed: no more primed strokes until it is released and pressed again. */
static void expire_prime(ts_state *s) {
  s->priming = false;
  raise_alarm(s, TS_PRIME_TOO_LONG);
}

static void begin_hold(ts_state *s) {
  s->held = true;
  s->priming = false;
  shed_for_hold(s);
}

static void end_hold(ts_state *s) {
  s->held = false;
  clear_alarms(s, TS_SHED_IN_HOLD);
}

static uint8_t bit_of(uint8_t cause) { return (uint8_t)(1U << cause); }

/* A cause that the core does not know counts as TS_OTHER: an interlock is not passed over. */
static void begin_inhibit(ts_state *s, uint8_t cause) {
  s->inhibits = (uint8_t)(s->inhibits | bit_of((cause < (uint8_t)TS_OTHER) ? cause : (uint8_t)TS_OTHER));
  s->priming = false;
  shed_for_inhibit(s);
}

/* A cause that the core does not know ends nothing: which interlock it was meant for is a guess. */
static void end_inhibit(ts_state *s, uint8_t cause) {
  if (cause < (uint8_t)TS_INHIBIT_CAUSES) {
    s->inhibits = (uint8_t)(s->inhibits & (uint8_t)~bit_of(cause));
  }
  if (s->inhibits == 0U) {
    clear_alarms(s, TS_SHED_IN_INHIBIT);
  }
}

static void trip(ts_state *s) {
  s->tripped = true;
  s->priming = false;
  raise_alarm(s, TS_TRIPPED);
  shed_for_trip(s);
}

/* The operator's acknowledgement: the only way out of a trip. The guard's budget does not refill by it. */
static void reset(ts_state *s) {
  s->tripped = false;
  clear_alarms(s, TS_TRIPPED | TS_CHANGE_REFUSED);
}

/* ---- guard: the Generic Cell Rate Algorithm, the virtual-scheduling form of ITU-T I.371 (annex A) ---- */

/* Takes one stroke from the budget. False, and nothing taken, where that would go over it. */
static bool admit_stroke(ts_state *s, ts_ticks at) {
  const ts_settings *terms = s->settings;
  /* The two rests differ by less than one budget, so the exact earliest time lies within 1 tick of the whole one. */
  const ts_ticks rounding = (s->guard_full_rest > terms->guard_tolerance_rest) ? UINT32_C(1) : UINT32_C(0);
  uint32_t rest;
  if ((at + terms->guard_tolerance_ticks) < (s->guard_full_ticks + rounding)) {
    return false;
  }
  if (s->guard_full_ticks < at) {
    s->guard_full_ticks = at;
    s->guard_full_rest = 0;
  }
  s->guard_full_ticks += terms->guard_interval_ticks;
  rest = (uint32_t)s->guard_full_rest + terms->guard_interval_rest;
  if (rest >= terms->guard_budget_strokes) {
    rest -= terms->guard_budget_strokes;
    s->guard_full_ticks += 1U;
  }
  s->guard_full_rest = (uint16_t)rest;
  return true;
}

/* ---- change: what happens to a running pacer when its settings change? ---- */

/* m'/d' > factor * m/d, in whole numbers. The factor divides, since the product would not fit. */
static bool increases_too_much(const ts_settings *now, const ts_settings *next) {
  const uint32_t feed = (uint32_t)next->strokes * now->contacts;
  const uint32_t least = (uint32_t)now->strokes * next->contacts;
  return ((feed - 1U) / now->largest_increase) >= least;
}

/* The same part of a stroke over the new denominator, never more. */
static uint16_t carried_remainder(uint16_t remainder, uint16_t from_contacts, uint16_t to_contacts) {
  return (uint16_t)(((uint32_t)remainder * to_contacts) / from_contacts);
}

static bool is_same_guard(const ts_settings *now, const ts_settings *next) {
  return (now->guard_budget_strokes == next->guard_budget_strokes) &&
         (now->guard_period_ticks == next->guard_period_ticks) &&
         (now->guard_burst_strokes == next->guard_burst_strokes);
}

/*
 * What the old guard had used up counts against a new one, rounded up, but never shuts it outright. The same guard
 * goes on exactly as it was: a change of something else must not buy a stroke. Without a guard it is kept, and refills.
 */
static void carry_guard(ts_state *s, ts_ticks at, const ts_settings *next) {
  const ts_ticks fullest = at + next->guard_tolerance_ticks;
  if ((next->guard_budget_strokes == 0U) || is_same_guard(s->settings, next)) {
    return;
  }
  if (s->guard_full_rest > 0U) {
    s->guard_full_ticks += 1U;
  }
  s->guard_full_rest = 0;
  if (s->guard_full_ticks > fullest) {
    s->guard_full_ticks = fullest;
  }
}

static void change_settings(ts_state *s, ts_ticks at, const ts_settings *next, bool confirmed) {
  if ((!confirmed) && increases_too_much(s->settings, next)) {
    count(&s->tally.refused, 1U);
    raise_alarm(s, TS_CHANGE_REFUSED);
    return;
  }
  clear_alarms(s, TS_CHANGE_REFUSED);
  s->remainder = carried_remainder(s->remainder, s->settings->contacts, next->contacts);
  carry_guard(s, at, next);
  s->settings = next;
  owe(s, s->owed);
  plan_strokes(s, at);
}

/* ---- deadline: what happens by itself, without an input and without a stroke? ---- */

static ts_ticks grace_end_ticks(const ts_state *s) { return s->contact_ticks + s->settings->grace_ticks; }

static ts_ticks prime_end_ticks(const ts_state *s) {
  return s->prime_since_ticks + s->settings->longest_prime_ticks;
}

static bool is_silent_ahead(const ts_state *s) {
  return (s->settings->silent_ticks > 0U) && ((s->alarms & (uint16_t)TS_SILENT) == 0U);
}

static ts_ticks silent_ticks(const ts_state *s) { return s->listen_ticks + s->settings->silent_ticks; }

/* Meets all deadlines up to and including `until` but that of the line. What they do is independent of their order. */
static void meet(ts_state *s, ts_ticks until) {
  if ((s->owed > 0U) && (grace_end_ticks(s) <= until)) {
    shed_for_still_water(s);
  }
  if (s->priming && (prime_end_ticks(s) <= until)) {
    expire_prime(s);
  }
  if (is_stuck_ahead(s) && (stuck_ticks(s) <= until)) {
    raise_alarm(s, TS_STUCK);
  }
  if (is_silent_ahead(s) && (silent_ticks(s) <= until)) {
    raise_alarm(s, TS_SILENT);
  }
}

/*
 * Meets the deadlines up to and including `until`. Of deadlines in one tick, a closure qualifies last: just like a
 * contact that comes as an input then. It alone sets others anew, once.
 */
static void meet_deadlines(ts_state *s, ts_ticks until) {
  if (is_qualifying(s)) {
    const ts_ticks at = qualifying_ticks(s);
    if (at <= until) {
      meet(s, at);
      s->line_armed = false;
      take_contact(s, at);
    }
  }
  meet(s, until);
}

static void sooner(ts_ticks *wake, ts_ticks at) {
  if (at < *wake) {
    *wake = at;
  }
}

/* Finds the earliest moment, other than a stroke, at which something changes by itself. */
static ts_ticks deadline_ticks(const ts_state *s) {
  ts_ticks deadline = NO_DEADLINE;
  if (s->owed > 0U) {
    sooner(&deadline, grace_end_ticks(s));
  }
  if (s->priming) {
    sooner(&deadline, prime_end_ticks(s));
  }
  if (is_qualifying(s)) {
    sooner(&deadline, qualifying_ticks(s));
  }
  if (is_stuck_ahead(s)) {
    sooner(&deadline, stuck_ticks(s));
  }
  if (is_silent_ahead(s)) {
    sooner(&deadline, silent_ticks(s));
  }
  return deadline;
}

/* Sets the wake-up to when the next stroke will be due, or to the deadline, if that is sooner. */
static void set_wake(ts_state *s) {
  ts_ticks wake = s->now_ticks + TS_WAKE_MOST;
  sooner(&wake, deadline_ticks(s));
  if (is_stroke_wanted(s)) {
    sooner(&wake, due_ticks(s));
  }
  s->wake_at_ticks = s->clock_ticks + (wake - s->now_ticks);
}

/* ---- step: what acts in which order? ---- */

void ts_start(ts_state *s, const ts_settings *settings, ts_ticks now) {
  *s = (ts_state){.settings = settings,
                  .clock_ticks = now,
                  .now_ticks = TS_HORIZON,
                  .line_since_ticks = TS_HORIZON,
                  .contact_ticks = LONG_AGO,
                  .interval_ticks = settings->grace_ticks,
                  .listen_ticks = TS_HORIZON,
                  .plan_ticks = TS_HORIZON,
                  .plan_parts = 1,
                  .stroke_ticks = LONG_AGO,
                  .prime_since_ticks = TS_HORIZON,
                  .guard_full_ticks = TS_HORIZON,
                  .line_armed = true};
  set_wake(s);
}

static uint8_t make_stroke(ts_state *s) {
  if ((s->settings->guard_budget_strokes > 0U) && (!admit_stroke(s, s->now_ticks))) {
    trip(s);
    return TS_NONE;
  }
  s->stroke_ticks = s->now_ticks;
  if (s->priming) {
    count(&s->tally.primed, 1U);
    return TS_PRIMED;
  }
  pay_stroke(s);
  plan_next(s);
  return TS_PACED;
}

static uint8_t stroke_if_due(ts_state *s) {
  return is_stroke_due(s) ? make_stroke(s) : (uint8_t)TS_NONE;
}

static void act(ts_state *s, const ts_input *input, ts_ticks at) {
  switch (input->kind) {
    case TS_CONTACT:
      take_contact(s, at);
      break;
    case TS_CLOSE:
      close_line(s, at);
      break;
    case TS_OPEN:
      open_line(s, at);
      break;
    case TS_PRIME_ON:
      press_prime(s, at);
      break;
    case TS_PRIME_OFF:
      release_prime(s);
      break;
    case TS_HOLD_ON:
      begin_hold(s);
      break;
    case TS_HOLD_OFF:
      end_hold(s);
      break;
    case TS_INHIBIT_ON:
      begin_inhibit(s, input->detail);
      break;
    case TS_INHIBIT_OFF:
      end_inhibit(s, input->detail);
      break;
    case TS_RESET:
      reset(s);
      break;
    case TS_SETTINGS:
      change_settings(s, at, input->settings, input->detail != 0U);
      break;
    default: /* TS_WAKE, and kinds that do not exist, bring nothing. */
      break;
  }
}

/* The time since the last step. The one place where the caller's counter is compared. */
static ts_ticks passed_ticks(ts_state *s, ts_ticks now) {
  const ts_ticks passed = now - s->clock_ticks;
  if (passed >= UINT32_C(0x80000000)) {
    return 0;
  }
  s->clock_ticks = now;
  return (passed < TS_GAP_MOST) ? passed : TS_GAP_MOST;
}

ONE_COPY static void fade(ts_ticks *at, ts_ticks by) { *at = (*at > by) ? (*at - by) : LONG_AGO; }

/*
 * Lets the horizon follow to TS_HORIZON behind the last step; what is left behind it has faded. That holds for a plan
 * too: the strokes of one lie within TS_DURATION_MOST, so all of a faded one are past due, before as after.
 */
static void move_horizon(ts_state *s) {
  const ts_ticks by = s->now_ticks - TS_HORIZON;
  s->now_ticks = TS_HORIZON;
  fade(&s->line_since_ticks, by);
  fade(&s->contact_ticks, by);
  fade(&s->listen_ticks, by);
  fade(&s->plan_ticks, by);
  fade(&s->stroke_ticks, by);
  fade(&s->prime_since_ticks, by);
  fade(&s->guard_full_ticks, by);
}

uint8_t ts_step(ts_state *s, ts_ticks now, const ts_input *input) {
  const ts_ticks wake_in = s->wake_at_ticks - s->clock_ticks;
  const ts_ticks passed = passed_ticks(s, now);
  uint8_t made = TS_NONE;
  move_horizon(s);
  s->raised = 0;
  s->cleared = 0;
  if (passed >= wake_in) {
    meet_deadlines(s, (TS_HORIZON + passed) - 1U);
    s->now_ticks += passed;
    made = stroke_if_due(s);
    meet_deadlines(s, s->now_ticks);
  } else {
    s->now_ticks += passed;
  }
  if (input->kind != (uint8_t)TS_WAKE) {
    act(s, input, s->now_ticks);
      /* A closure that needs no time to qualify, or settings that shorten a deadline, are due at once. */
    meet_deadlines(s, s->now_ticks);
  }
  if (made == (uint8_t)TS_NONE) {
    made = stroke_if_due(s);
  }
  set_wake(s);
  return made;
}

/* ---- validate: which settings can keep the laws? ---- */

static bool is_whole(ts_ticks value, ts_ticks least, ts_ticks most) { return (value >= least) && (value <= most); }

static ts_fault single_fault(const ts_settings *s) {
  ts_fault fault = TS_SOUND;
  if (s->strokes == 0U) {
    fault = TS_FAULT_STROKES;
  } else if (s->contacts == 0U) {
    fault = TS_FAULT_CONTACTS;
  } else if (!is_whole(s->least_spacing_ticks, 1, TS_DURATION_MOST)) {
    fault = TS_FAULT_LEAST_SPACING;
  } else if (s->owed_limit_strokes == 0U) {
    fault = TS_FAULT_OWED_LIMIT;
  } else if (!is_whole(s->grace_ticks, 1, TS_DURATION_MOST)) {
    fault = TS_FAULT_GRACE;
  } else if (!is_whole(s->longest_prime_ticks, 1, TS_DURATION_MOST)) {
    fault = TS_FAULT_LONGEST_PRIME;
  } else if (!is_whole(s->prime_spacing_ticks, 1, TS_DURATION_MOST)) {
    fault = TS_FAULT_PRIME_SPACING;
  } else if (!is_whole(s->guard_period_ticks, 1, TS_DURATION_MOST)) {
    fault = TS_FAULT_GUARD_PERIOD;
  } else if (s->guard_burst_strokes == 0U) {
    fault = TS_FAULT_GUARD_BURST;
  } else if (s->closed_ticks > TS_QUALIFY_MOST) {
    fault = TS_FAULT_CLOSED;
  } else if (s->open_ticks > TS_QUALIFY_MOST) {
    fault = TS_FAULT_OPEN;
  } else if (s->least_contact_ticks > TS_DURATION_MOST) {
    fault = TS_FAULT_LEAST_CONTACT;
  } else if (s->stuck_ticks > TS_DURATION_MOST) {
    fault = TS_FAULT_STUCK;
  } else if (s->silent_ticks > TS_DURATION_MOST) {
    fault = TS_FAULT_SILENT;
  } else if (!is_whole(s->largest_increase, 1, 1000)) {
    fault = TS_FAULT_LARGEST_INCREASE;
  } else if (s->cadence > (uint8_t)TS_PROMPT) {
    fault = TS_FAULT_CADENCE;
  } else if (s->contacts_during_prime > (uint8_t)TS_IGNORE) {
    fault = TS_FAULT_CONTACTS_DURING_PRIME;
  } else {
    /* Each value is sound by itself. */
  }
  return fault;
}

/* The divisions that the core needs again and again, exactly. False where the guard reaches too far back. */
static bool derive(ts_settings *s) {
  const uint16_t budget = (s->guard_budget_strokes == 0U) ? 1U : s->guard_budget_strokes;
  const uint16_t others = (uint16_t)(s->guard_burst_strokes - 1U);
  uint32_t rest;
  s->contact_whole_strokes = (uint16_t)(s->strokes / s->contacts);
  s->contact_rest = (uint16_t)(s->strokes % s->contacts);
  s->strokes_per_contact_most = (uint16_t)(s->contact_whole_strokes + ((s->contact_rest > 0U) ? 1U : 0U));
  s->guard_interval_ticks = s->guard_period_ticks / budget;
  s->guard_interval_rest = (uint16_t)(s->guard_period_ticks % budget);
  rest = (uint32_t)others * s->guard_interval_rest;
  s->guard_tolerance_rest = (uint16_t)(rest % budget);
  s->guard_tolerance_ticks = TS_DURATION_MOST - s->guard_interval_ticks;
  if (s->guard_interval_ticks <= (TS_DURATION_MOST / s->guard_burst_strokes)) {
    const ts_ticks tolerance = (others * s->guard_interval_ticks) + (rest / budget);
    if (tolerance <= s->guard_tolerance_ticks) {
      s->guard_tolerance_ticks = tolerance;
      return true;
    }
  }
  return s->guard_budget_strokes == 0U;
}

/*
 * Whether the strokes of one contact, as close as the cap allows, pass an empty bucket. lib/pacing tries each; where
 * the guard's interval is longer than the spacing, each stroke asks more of the tolerance than the one before, so the
 * last one alone decides.
 */
static bool guard_admits_one_contact(const ts_settings *s) {
  const uint16_t others = (uint16_t)(s->strokes_per_contact_most - 1U);
  const uint32_t rest = (uint32_t)others * s->guard_interval_rest;
  ts_ticks each;
  ts_ticks asked;
  if ((others == 0U) || (s->guard_interval_ticks < s->least_spacing_ticks)) {
    return true;
  }
  each = s->guard_interval_ticks - s->least_spacing_ticks;
  if (each > (s->guard_tolerance_ticks / others)) {
    return false;
  }
  asked = (others * each) + (rest / s->guard_budget_strokes);
  return (asked < s->guard_tolerance_ticks) ||
         ((asked == s->guard_tolerance_ticks) && ((rest % s->guard_budget_strokes) <= s->guard_tolerance_rest));
}

ts_fault ts_validate(ts_settings *settings) {
  ts_fault fault = single_fault(settings);
  if (fault == TS_SOUND) {
    const bool is_guard_in_reach = derive(settings);
    const uint16_t most = settings->strokes_per_contact_most;
    if (settings->owed_limit_strokes < most) {
      fault = TS_FAULT_OWED_LIMIT;
    } else if ((settings->grace_ticks / most) < settings->least_spacing_ticks) {
      fault = TS_FAULT_GRACE;
    } else if (settings->prime_spacing_ticks < settings->least_spacing_ticks) {
      fault = TS_FAULT_PRIME_SPACING;
    } else if ((settings->stuck_ticks > 0U) && (settings->stuck_ticks <= settings->closed_ticks)) {
      fault = TS_FAULT_STUCK;
    } else if ((!is_guard_in_reach) ||
               ((settings->guard_budget_strokes > 0U) && (!guard_admits_one_contact(settings)))) {
      fault = TS_FAULT_GUARD_BURST;
    } else {
      /* They can keep the laws. */
    }
  }
  return fault;
}

/* ---- crc16: CRC-16/IBM-3740, polynomial 0x1021, bit by bit: a table would cost half a kilobyte ---- */

uint16_t ts_crc16_next(uint16_t crc, uint8_t byte) {
  uint16_t next = (uint16_t)(crc ^ ((uint16_t)byte << 8));
  uint8_t bit;
  for (bit = 0; bit < 8U; bit++) {
    const bool is_carried = (next & 0x8000U) != 0U;
    next = (uint16_t)(next << 1);
    if (is_carried) {
      next ^= 0x1021U;
    }
  }
  return next;
}

uint16_t ts_crc16(const uint8_t *bytes, uint16_t length) {
  uint16_t crc = TS_CRC16_START;
  uint16_t i;
  for (i = 0; i < length; i++) {
    crc = ts_crc16_next(crc, bytes[i]);
  }
  return crc;
}

/* ---- snapshot: how does a pacer live through a power cut? ---- */

/* The fields, in their order. Times are kept as ages, since the counter starts anew. */
enum {
  FIELD_REMAINDER,
  FIELD_OWED,
  FIELD_HELD,
  FIELD_INHIBITS,
  FIELD_TRIPPED,
  FIELD_LINE_CLOSED,
  FIELD_LINE_ARMED,
  FIELD_ALARMS,
  FIELD_COUNTED,
  FIELD_IGNORED,
  FIELD_REJECTED,
  FIELD_BOUNCES,
  FIELD_EARNED,
  FIELD_PACED,
  FIELD_PRIMED,
  FIELD_SHED_LIMIT,
  FIELD_SHED_STILL,
  FIELD_SHED_HOLD,
  FIELD_SHED_INHIBIT,
  FIELD_SHED_TRIP,
  FIELD_SHED_POWER,
  FIELD_REFUSED,
  FIELD_CONTACTS, /* the denominator of the remainder */
  FIELD_AGE,      /* of the last contact */
  FIELD_INTERVAL,
  FIELD_GUARD, /* what the guard has used up */
  FIELD_GUARD_REST
};
enum { HEADER_BYTES = 4, CRC_AT = TS_SNAPSHOT_BYTES - 2 };

static ts_ticks at_most(ts_ticks value, ts_ticks most) { return (value < most) ? value : most; }

static void put_field(uint8_t *bytes, uint8_t field, uint32_t value) {
  uint8_t *to = &bytes[HEADER_BYTES + (4U * (uint16_t)field)];
  to[0] = (uint8_t)(value >> 24);
  to[1] = (uint8_t)(value >> 16);
  to[2] = (uint8_t)(value >> 8);
  to[3] = (uint8_t)value;
}

static uint32_t get_field(const uint8_t *bytes, uint8_t field) {
  const uint8_t *from = &bytes[HEADER_BYTES + (4U * (uint16_t)field)];
  return ((uint32_t)from[0] << 24) | ((uint32_t)from[1] << 16) | ((uint32_t)from[2] << 8) | from[3];
}

void ts_take_snapshot(const ts_state *s, uint8_t *bytes) {
  const bool is_used_up = s->guard_full_ticks > s->now_ticks;
  uint16_t crc;
  bytes[0] = 0x54;
  bytes[1] = 0x53;
  bytes[2] = TS_SNAPSHOT_VERSION;
  bytes[3] = TS_SNAPSHOT_FIELDS;
  put_field(bytes, FIELD_REMAINDER, s->remainder);
  put_field(bytes, FIELD_OWED, s->owed);
  put_field(bytes, FIELD_HELD, s->held ? 1U : 0U);
  put_field(bytes, FIELD_INHIBITS, s->inhibits);
  put_field(bytes, FIELD_TRIPPED, s->tripped ? 1U : 0U);
  put_field(bytes, FIELD_LINE_CLOSED, s->line_closed ? 1U : 0U);
  put_field(bytes, FIELD_LINE_ARMED, s->line_armed ? 1U : 0U);
  put_field(bytes, FIELD_ALARMS, s->alarms);
  put_field(bytes, FIELD_COUNTED, s->tally.counted);
  put_field(bytes, FIELD_IGNORED, s->tally.ignored);
  put_field(bytes, FIELD_REJECTED, s->tally.rejected);
  put_field(bytes, FIELD_BOUNCES, s->tally.bounces);
  put_field(bytes, FIELD_EARNED, s->tally.earned);
  put_field(bytes, FIELD_PACED, s->tally.paced);
  put_field(bytes, FIELD_PRIMED, s->tally.primed);
  put_field(bytes, FIELD_SHED_LIMIT, s->tally.shed_limit);
  put_field(bytes, FIELD_SHED_STILL, s->tally.shed_still);
  put_field(bytes, FIELD_SHED_HOLD, s->tally.shed_hold);
  put_field(bytes, FIELD_SHED_INHIBIT, s->tally.shed_inhibit);
  put_field(bytes, FIELD_SHED_TRIP, s->tally.shed_trip);
  put_field(bytes, FIELD_SHED_POWER, s->tally.shed_power);
  put_field(bytes, FIELD_REFUSED, s->tally.refused);
  put_field(bytes, FIELD_CONTACTS, s->settings->contacts);
  put_field(bytes, FIELD_AGE, at_most(s->now_ticks - s->contact_ticks, TS_HORIZON));
  put_field(bytes, FIELD_INTERVAL, s->interval_ticks);
  put_field(bytes, FIELD_GUARD, is_used_up ? (s->guard_full_ticks - s->now_ticks) : 0U);
  put_field(bytes, FIELD_GUARD_REST, is_used_up ? s->guard_full_rest : 0U);
  crc = ts_crc16(bytes, CRC_AT);
  bytes[CRC_AT] = (uint8_t)(crc >> 8);
  bytes[CRC_AT + 1] = (uint8_t)crc;
}

/* A checksum shows that bytes are as written, not that they were ever right. */
static bool is_sound(const uint8_t *bytes) {
  const uint32_t owed = get_field(bytes, FIELD_OWED);
  const uint32_t contacts = get_field(bytes, FIELD_CONTACTS);
  const uint32_t stops =
      get_field(bytes, FIELD_HELD) | get_field(bytes, FIELD_INHIBITS) | get_field(bytes, FIELD_TRIPPED);
  uint32_t unaccounted = get_field(bytes, FIELD_EARNED) - owed - get_field(bytes, FIELD_PACED);
  uint8_t field;
  for (field = FIELD_SHED_LIMIT; field <= (uint8_t)FIELD_SHED_POWER; field++) {
    unaccounted -= get_field(bytes, field);
  }
  return (contacts <= UINT16_MAX) && (get_field(bytes, FIELD_REMAINDER) < contacts) && (owed <= UINT16_MAX) &&
         (unaccounted == 0U) && (get_field(bytes, FIELD_HELD) <= 1U) && (get_field(bytes, FIELD_TRIPPED) <= 1U) &&
         (get_field(bytes, FIELD_LINE_CLOSED) <= 1U) && (get_field(bytes, FIELD_LINE_ARMED) <= 1U) &&
         (get_field(bytes, FIELD_INHIBITS) < (UINT32_C(1) << TS_INHIBIT_CAUSES)) &&
         (get_field(bytes, FIELD_ALARMS) < (UINT32_C(1) << TS_ALARMS)) && (!((stops != 0U) && (owed > 0U)));
}

static ts_refusal refusal_of(const uint8_t *bytes, uint16_t length) {
  ts_refusal refusal = TS_RESTORED;
  if (length != TS_SNAPSHOT_BYTES) {
    refusal = TS_WRONG_LENGTH;
  } else if ((bytes[0] != 0x54U) || (bytes[1] != 0x53U)) {
    refusal = TS_NOT_A_SNAPSHOT;
  } else if ((bytes[2] != (uint8_t)TS_SNAPSHOT_VERSION) || (bytes[3] != (uint8_t)TS_SNAPSHOT_FIELDS)) {
    refusal = TS_UNKNOWN_VERSION;
  } else if (ts_crc16(bytes, TS_SNAPSHOT_BYTES) != 0U) {
    refusal = TS_BAD_CHECKSUM;
  } else if (!is_sound(bytes)) {
    refusal = TS_IMPOSSIBLE_VALUES;
  } else {
    /* Nothing speaks against it. */
  }
  return refusal;
}

/* Turns ages back into times, as of the restart. Not knowing how long it was dark, nothing owed is young enough. */
static void resume_times(ts_state *s, const uint8_t *bytes, ts_ticks dark) {
  const ts_ticks gone = at_most(get_field(bytes, FIELD_AGE), TS_HORIZON) + at_most(dark, TS_HORIZON);
  const ts_ticks used_up = get_field(bytes, FIELD_GUARD);
  const uint32_t rest = get_field(bytes, FIELD_GUARD_REST);
  /* ... but the guard's budget may not have refilled at all. No more is used up than the guard now in force has. */
  const ts_ticks refilled = (dark == TS_DARK_UNKNOWN) ? 0U : dark;
  const ts_ticks fullest = s->settings->guard_tolerance_ticks + s->settings->guard_interval_ticks + 1U;
  s->stroke_ticks = s->now_ticks;
  s->contact_ticks = (gone < s->now_ticks) ? (s->now_ticks - gone) : LONG_AGO;
  s->interval_ticks = get_field(bytes, FIELD_INTERVAL);
  if (used_up > refilled) {
    s->guard_full_ticks += at_most(used_up - refilled, fullest);
  }
  s->guard_full_rest = (rest < s->settings->guard_budget_strokes) ? (uint16_t)rest : 0U;
}

ts_refusal ts_restore_snapshot(ts_state *s, const uint8_t *bytes, uint16_t length, const ts_settings *settings,
                               ts_ticks now, ts_ticks dark) {
  static const ts_input wake = {TS_WAKE, 0, 0};
  const ts_refusal refusal = refusal_of(bytes, length);
  uint16_t raised;
  uint16_t cleared;
  if (refusal != TS_RESTORED) {
    return refusal;
  }
  ts_start(s, settings, now);
  s->owed = (uint16_t)get_field(bytes, FIELD_OWED);
  s->held = get_field(bytes, FIELD_HELD) != 0U;
  s->inhibits = (uint8_t)get_field(bytes, FIELD_INHIBITS);
  s->tripped = get_field(bytes, FIELD_TRIPPED) != 0U;
  s->line_closed = get_field(bytes, FIELD_LINE_CLOSED) != 0U;
  s->line_armed = get_field(bytes, FIELD_LINE_ARMED) != 0U;
  s->alarms = (uint16_t)get_field(bytes, FIELD_ALARMS);
  s->tally.counted = get_field(bytes, FIELD_COUNTED);
  s->tally.ignored = get_field(bytes, FIELD_IGNORED);
  s->tally.rejected = get_field(bytes, FIELD_REJECTED);
  s->tally.bounces = get_field(bytes, FIELD_BOUNCES);
  s->tally.earned = get_field(bytes, FIELD_EARNED);
  s->tally.paced = get_field(bytes, FIELD_PACED);
  s->tally.primed = get_field(bytes, FIELD_PRIMED);
  s->tally.shed_limit = get_field(bytes, FIELD_SHED_LIMIT);
  s->tally.shed_still = get_field(bytes, FIELD_SHED_STILL);
  s->tally.shed_hold = get_field(bytes, FIELD_SHED_HOLD);
  s->tally.shed_inhibit = get_field(bytes, FIELD_SHED_INHIBIT);
  s->tally.shed_trip = get_field(bytes, FIELD_SHED_TRIP);
  s->tally.shed_power = get_field(bytes, FIELD_SHED_POWER);
  s->tally.refused = get_field(bytes, FIELD_REFUSED);
  s->remainder = carried_remainder((uint16_t)get_field(bytes, FIELD_REMAINDER),
                                   (uint16_t)get_field(bytes, FIELD_CONTACTS), settings->contacts);
  resume_times(s, bytes, dark);
  clear_alarms(s, TS_PRIME_TOO_LONG);
  if (grace_end_ticks(s) <= s->now_ticks) {
    shed_for_power(s);
  }
  owe(s, s->owed);
  plan_strokes(s, s->now_ticks);
  s->wake_at_ticks = now;
  raised = s->raised;
  cleared = s->cleared;
  (void)ts_step(s, now, &wake);
  s->raised |= raised;
  s->cleared |= cleared;
  return TS_RESTORED;
}

/* ---- ticks ---- */

ts_ticks ts_unwrap_ticks(ts_ticks last, ts_ticks raw, uint8_t bits) {
  const ts_ticks mask = (bits < 32U) ? ((UINT32_C(1) << bits) - 1U) : UINT32_C(0xFFFFFFFF);
  return last + ((raw - last) & mask);
}
