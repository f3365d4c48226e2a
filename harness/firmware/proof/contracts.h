/*
 * What does every function of the twin owe? ACSL contracts for Frama-C's WP, read before the source they speak of.
 *
 * KEPT is the invariant of a state at rest. `ts_start` establishes it, `ts_step` keeps it, and laws 2 (balance), 3 (cap), 6
 * (silence) and 7 (bounded debt) stand in the contract of `ts_step`. Assumed, not proved: that settings which `ts_validate`
 * finds sound are `sound` below. Not spoken of: snapshots, termination, and tallies that wrap, since sums are those of
 * whole numbers; so a step asks that fewer than 4,000,000,000 strokes were ever earned (at one a second, 126 years).
 */
#include "../pacing/tallystroke.h"

/*
 * What is said of a state, as macros: a prover sees at once which part a store leaves alone, and each part is a goal.
 * ACCOUNTED: law 2, were so many strokes owed; before it what types say already, and provers have to be told.
 * QUIET: what law 6 rests on; in a stop there is nothing to stroke for. KEPT: the invariant at rest.
 */
#define PLACED(s) \
  (\valid(s) && \valid_read((s)->settings) && \separated(s, (s)->settings) && sound((s)->settings))
#define STOPPED(s) ((s)->held != 0 || (s)->inhibits != 0 || (s)->tripped != 0)
#define ACCOUNTED(s, strokes) \
  (0 <= (s)->tally.earned <= COUNT_MOST && 0 <= (s)->tally.paced && 0 <= (s)->owed <= 65535 && \
   0 <= (s)->tally.shed_limit && 0 <= (s)->tally.shed_still && 0 <= (s)->tally.shed_hold && \
   0 <= (s)->tally.shed_inhibit && 0 <= (s)->tally.shed_trip && 0 <= (s)->tally.shed_power && 0 <= (strokes) && \
   (s)->tally.earned == (s)->tally.paced + (strokes) + (s)->tally.shed_limit + (s)->tally.shed_still + \
     (s)->tally.shed_hold + (s)->tally.shed_inhibit + (s)->tally.shed_trip + (s)->tally.shed_power)
#define BALANCED(s) ACCOUNTED(s, (s)->owed)
#define BOUNDED(s) ((s)->owed <= (s)->settings->owed_limit_strokes)
#define QUIET(s) (STOPPED(s) ==> ((s)->owed == 0 && (s)->priming == 0))
#define KEPT(s) (PLACED(s) && BALANCED(s) && BOUNDED(s) && QUIET(s) && (s)->remainder < (s)->settings->contacts)
#define TIMED(s) (HORIZON <= (s)->now_ticks <= HORIZON + GAP && (s)->stroke_ticks <= (s)->now_ticks)

/*@
  logic integer DURATION = 1350000000;
  logic integer HORIZON = 1360000000;
  logic integer GAP = 1570000000;
  logic integer COUNT_MOST = 4294967295;
  // Most strokes that one contact can earn, whatever the ratio.
  logic integer EARNED = 65535;

  // What `ts_validate` finds sound, as far as the laws below need it.
  predicate sound{L}(ts_settings *c) =
    1 <= c->strokes && 1 <= c->contacts && 1 <= c->owed_limit_strokes &&
    1 <= c->least_spacing_ticks <= c->prime_spacing_ticks <= DURATION &&
    1 <= c->grace_ticks <= DURATION && 1 <= c->longest_prime_ticks <= DURATION &&
    c->closed_ticks <= 10000000 && c->open_ticks <= 10000000 &&
    c->stuck_ticks <= DURATION && c->silent_ticks <= DURATION && 1 <= c->largest_increase &&
    c->contact_rest < c->contacts && (c->contact_rest > 0 ==> c->contact_whole_strokes < 65535);

  // Law 1, proportion, for one contact; apart, since no other law rests on a product.
  predicate divided{L}(ts_settings *c) = c->contact_whole_strokes * c->contacts + c->contact_rest == c->strokes;

  // When the last stroke was, once the horizon has moved: at the horizon where it is too long ago to matter.
  logic integer faded{L}(ts_state *s) =
    s->stroke_ticks > s->now_ticks - HORIZON ? s->stroke_ticks - (s->now_ticks - HORIZON) : 0;

  predicate acceptable{L}(ts_state *s, ts_input *input) =
    \valid_read(input) && \separated(s, input) &&
    (input->kind == TS_SETTINGS ==>
      (\valid_read(input->settings) && \separated(s, input->settings) && sound(input->settings)));
*/

/*@ requires \valid(tally);
    assigns *tally;
    ensures \old(*tally) + by <= COUNT_MOST ==> *tally == \old(*tally) + by;
    ensures 0 <= *tally; */
static void count(uint32_t *tally, uint16_t by);

/*@ requires \valid(s);
    assigns s->alarms, s->raised; */
static void raise_alarm(ts_state *s, uint16_t alarm);

/*@ requires \valid(s);
    assigns s->alarms, s->cleared; */
static void clear_alarms(ts_state *s, uint16_t alarms);

/*@ requires PLACED(s);
    assigns \nothing; */
static ts_ticks span_ticks(const ts_state *s, ts_ticks from);

/*@ requires PLACED(s);
    assigns s->plan_ticks, s->plan_step_ticks, s->plan_step_rest, s->plan_parts, s->plan_carry; */
static void plan_strokes(ts_state *s, ts_ticks from);

/*@ requires \valid(s);
    assigns s->plan_ticks, s->plan_carry; */
static void plan_next(ts_state *s);

/*@ requires \valid_read(s);
    assigns \nothing;
    ensures \result != 0 <==> (s->owed > 0 || s->priming != 0); */
static bool is_stroke_wanted(const ts_state *s);

/*@ requires PLACED(s);
    assigns \nothing; */
static ts_ticks prime_plan_ticks(const ts_state *s);

/*@ requires PLACED(s) && TIMED(s);
    assigns \nothing;
    ensures \result >= s->stroke_ticks + s->settings->least_spacing_ticks; */
static ts_ticks due_ticks(const ts_state *s);

/*@ requires PLACED(s) && TIMED(s);
    assigns \nothing;
    ensures \result != 0 ==> s->owed > 0 || s->priming != 0;
    ensures \result != 0 ==> s->now_ticks >= s->stroke_ticks + s->settings->least_spacing_ticks; */
static bool is_stroke_due(const ts_state *s);

/*@ requires \valid(s) && s->owed > 0 && BALANCED(s);
    assigns s->owed, s->tally.paced, s->alarms, s->cleared;
    ensures BALANCED(s) && s->owed == \old(s->owed) - 1; */
static void pay_stroke(ts_state *s);

/*@ requires PLACED(s) && ACCOUNTED(s, strokes) && strokes <= s->settings->owed_limit_strokes + 65535;
    assigns s->owed, s->tally.shed_limit, s->alarms, s->raised;
    ensures BALANCED(s) && BOUNDED(s) && s->owed <= strokes && sound(s->settings); */
static void owe(ts_state *s, uint32_t strokes);

/*@ requires \valid(s);
    assigns s->owed, s->alarms, s->raised, s->cleared;
    ensures \result == \old(s->owed) && s->owed == 0; */
static uint16_t give_up(ts_state *s, uint16_t alarm);

/*@ requires \valid(s) && BALANCED(s);
    assigns s->owed, s->alarms, s->raised, s->cleared, s->tally.shed_still;
    ensures BALANCED(s) && s->owed == 0; */
static void shed_for_still_water(ts_state *s);

/*@ requires \valid(s) && BALANCED(s);
    assigns s->owed, s->alarms, s->raised, s->cleared, s->tally.shed_hold;
    ensures BALANCED(s) && s->owed == 0; */
static void shed_for_hold(ts_state *s);

/*@ requires \valid(s) && BALANCED(s);
    assigns s->owed, s->alarms, s->raised, s->cleared, s->tally.shed_inhibit;
    ensures BALANCED(s) && s->owed == 0; */
static void shed_for_inhibit(ts_state *s);

/*@ requires \valid(s) && BALANCED(s);
    assigns s->owed, s->alarms, s->raised, s->cleared, s->tally.shed_trip;
    ensures BALANCED(s) && s->owed == 0; */
static void shed_for_trip(ts_state *s);

/*@ requires \valid(s) && BALANCED(s);
    assigns s->owed, s->alarms, s->raised, s->cleared, s->tally.shed_power;
    ensures BALANCED(s) && s->owed == 0; */
static void shed_for_power(ts_state *s);

/*@ requires KEPT(s) && s->tally.earned + EARNED <= COUNT_MOST && s->held == 0;
    assigns s->remainder, s->tally.earned, s->owed, s->alarms, s->raised, s->cleared, s->tally.shed_limit,
      s->tally.shed_inhibit, s->tally.shed_trip, s->plan_ticks, s->plan_step_ticks, s->plan_step_rest, s->plan_parts,
      s->plan_carry;
    ensures KEPT(s);
    ensures growth: \old(s->tally.earned) <= s->tally.earned <= \old(s->tally.earned) + EARNED;
    ensures law_1_proportion: divided(s->settings) ==> (s->tally.earned - \old(s->tally.earned)) * s->settings->contacts + s->remainder ==
      \old(s->remainder) + s->settings->strokes; */
static void earn(ts_state *s, ts_ticks at);

/*@ requires KEPT(s) && s->tally.earned + EARNED <= COUNT_MOST;
    assigns s->remainder, s->tally.earned, s->owed, s->alarms, s->raised, s->cleared, s->tally.shed_limit,
      s->tally.shed_inhibit, s->tally.shed_trip, s->plan_ticks, s->plan_step_ticks, s->plan_step_rest, s->plan_parts,
      s->plan_carry, s->tally.rejected, s->tally.ignored, s->tally.counted, s->contact_ticks, s->interval_ticks,
      s->listen_ticks;
    ensures KEPT(s);
    ensures growth: \old(s->tally.earned) <= s->tally.earned <= \old(s->tally.earned) + EARNED; */
static void take_contact(ts_state *s, ts_ticks at);

/*@ requires PLACED(s);
    assigns s->line_armed, s->tally.bounces, s->line_closed, s->line_since_ticks; */
static void close_line(ts_state *s, ts_ticks at);

/*@ requires PLACED(s);
    assigns s->tally.bounces, s->line_closed, s->line_since_ticks, s->alarms, s->cleared; */
static void open_line(ts_state *s, ts_ticks at);

/*@ requires \valid_read(s);
    assigns \nothing; */
static bool is_qualifying(const ts_state *s);

/*@ requires PLACED(s);
    assigns \nothing; */
static ts_ticks qualifying_ticks(const ts_state *s);

/*@ requires PLACED(s);
    assigns \nothing; */
static bool is_stuck_ahead(const ts_state *s);

/*@ requires PLACED(s);
    assigns \nothing; */
static ts_ticks stuck_ticks(const ts_state *s);

/*@ requires \valid_read(s);
    assigns \nothing;
    ensures \result != 0 <==> STOPPED(s); */
static bool is_stopped(const ts_state *s);

/*@ requires KEPT(s);
    assigns s->prime_pressed, s->priming, s->prime_since_ticks;
    ensures KEPT(s); */
static void press_prime(ts_state *s, ts_ticks at);

/*@ requires KEPT(s);
    assigns s->prime_pressed, s->priming, s->alarms, s->cleared;
    ensures KEPT(s) && s->priming == 0; */
static void release_prime(ts_state *s);

/*@ requires KEPT(s);
    assigns s->priming, s->alarms, s->raised;
    ensures KEPT(s) && s->priming == 0; */
static void expire_prime(ts_state *s);

/*@ requires KEPT(s);
    assigns s->held, s->priming, s->owed, s->alarms, s->raised, s->cleared, s->tally.shed_hold;
    ensures KEPT(s) && s->held != 0; */
static void begin_hold(ts_state *s);

/*@ requires KEPT(s);
    assigns s->held, s->alarms, s->cleared;
    ensures KEPT(s) && s->held == 0; */
static void end_hold(ts_state *s);

/*@ requires cause < 8;
    assigns \nothing; */
static uint8_t bit_of(uint8_t cause);

/*@ requires KEPT(s);
    assigns s->inhibits, s->priming, s->owed, s->alarms, s->raised, s->cleared, s->tally.shed_inhibit;
    ensures KEPT(s); */
static void begin_inhibit(ts_state *s, uint8_t cause);

/*@ requires KEPT(s);
    assigns s->inhibits, s->alarms, s->cleared;
    ensures KEPT(s); */
static void end_inhibit(ts_state *s, uint8_t cause);

/*@ requires KEPT(s);
    assigns s->tripped, s->priming, s->owed, s->alarms, s->raised, s->cleared, s->tally.shed_trip;
    ensures KEPT(s) && s->tripped != 0; */
static void trip(ts_state *s);

/*@ requires KEPT(s);
    assigns s->tripped, s->alarms, s->cleared;
    ensures KEPT(s) && s->tripped == 0; */
static void reset(ts_state *s);

/*@ requires PLACED(s);
    assigns s->guard_full_ticks, s->guard_full_rest; */
static bool admit_stroke(ts_state *s, ts_ticks at);

/*@ requires \valid_read(now) && \valid_read(next) && sound(now) && sound(next);
    assigns \nothing; */
static bool increases_too_much(const ts_settings *now, const ts_settings *next);

/*@ requires remainder < from_contacts && 1 <= to_contacts;
    assigns \nothing;
    ensures \result < to_contacts; */
static uint16_t carried_remainder(uint16_t remainder, uint16_t from_contacts, uint16_t to_contacts);

/*@ requires \valid_read(now) && \valid_read(next);
    assigns \nothing; */
static bool is_same_guard(const ts_settings *now, const ts_settings *next);

/*@ requires PLACED(s) && \valid_read(next) && \separated(s, next) && sound(next);
    assigns s->guard_full_ticks, s->guard_full_rest; */
static void carry_guard(ts_state *s, ts_ticks at, const ts_settings *next);

/*@ requires KEPT(s) && \valid_read(next) && \separated(s, next) && sound(next);
    assigns s->tally.refused, s->alarms, s->raised, s->cleared, s->remainder, s->guard_full_ticks, s->guard_full_rest,
      s->settings, s->owed, s->tally.shed_limit, s->plan_ticks, s->plan_step_ticks, s->plan_step_rest, s->plan_parts,
      s->plan_carry;
    ensures KEPT(s);
    ensures s->settings == next || s->settings == \old(s->settings); */
static void change_settings(ts_state *s, ts_ticks at, const ts_settings *next, bool confirmed);

/*@ requires PLACED(s);
    assigns \nothing; */
static ts_ticks grace_end_ticks(const ts_state *s);

/*@ requires PLACED(s);
    assigns \nothing; */
static ts_ticks prime_end_ticks(const ts_state *s);

/*@ requires PLACED(s);
    assigns \nothing; */
static bool is_silent_ahead(const ts_state *s);

/*@ requires PLACED(s);
    assigns \nothing; */
static ts_ticks silent_ticks(const ts_state *s);

/*@ requires KEPT(s);
    assigns s->owed, s->priming, s->alarms, s->raised, s->cleared, s->tally.shed_still;
    ensures KEPT(s); */
static void meet(ts_state *s, ts_ticks until);

/*@ requires KEPT(s) && s->tally.earned + EARNED <= COUNT_MOST;
    assigns s->remainder, s->tally.earned, s->owed, s->alarms, s->raised, s->cleared, s->tally.shed_limit,
      s->tally.shed_inhibit, s->tally.shed_trip, s->plan_ticks, s->plan_step_ticks, s->plan_step_rest, s->plan_parts,
      s->plan_carry, s->tally.rejected, s->tally.ignored, s->tally.counted, s->contact_ticks, s->interval_ticks,
      s->listen_ticks, s->priming, s->tally.shed_still, s->line_armed;
    ensures KEPT(s);
    ensures growth: \old(s->tally.earned) <= s->tally.earned <= \old(s->tally.earned) + EARNED; */
static void meet_deadlines(ts_state *s, ts_ticks until);

/*@ requires \valid(wake);
    assigns *wake;
    ensures *wake <= \old(*wake) && *wake <= at; */
static void sooner(ts_ticks *wake, ts_ticks at);

/*@ requires PLACED(s);
    assigns \nothing; */
static ts_ticks deadline_ticks(const ts_state *s);

/*@ requires PLACED(s) && TIMED(s);
    assigns s->wake_at_ticks; */
static void set_wake(ts_state *s);

/*@ requires \valid(s) && \valid_read(settings) && \separated(s, settings) && sound(settings);
    assigns *s;
    ensures KEPT(s) && TIMED(s) && s->settings == settings && s->tally.earned == 0; */
void ts_start(ts_state *s, const ts_settings *settings, ts_ticks now);

/*@ requires KEPT(s) && TIMED(s) && (s->owed > 0 || s->priming != 0);
    assigns s->guard_full_ticks, s->guard_full_rest, s->tripped, s->priming, s->owed, s->alarms, s->raised, s->cleared,
      s->tally.shed_trip, s->stroke_ticks, s->tally.primed, s->tally.paced, s->plan_ticks, s->plan_carry;
    ensures KEPT(s);
    ensures \result == TS_NONE || \result == TS_PACED || \result == TS_PRIMED;
    ensures \result == TS_NONE ==> s->stroke_ticks == \old(s->stroke_ticks);
    ensures \result != TS_NONE ==> s->stroke_ticks == s->now_ticks;
    ensures \result == TS_PACED ==> \old(s->owed) > 0;
    ensures \result == TS_PRIMED ==> \old(s->priming) != 0; */
static uint8_t make_stroke(ts_state *s);

/*@ requires KEPT(s) && TIMED(s);
    assigns s->guard_full_ticks, s->guard_full_rest, s->tripped, s->priming, s->owed, s->alarms, s->raised, s->cleared,
      s->tally.shed_trip, s->stroke_ticks, s->tally.primed, s->tally.paced, s->plan_ticks, s->plan_carry;
    ensures KEPT(s);
    ensures \result == TS_NONE || \result == TS_PACED || \result == TS_PRIMED;
    ensures \result == TS_NONE ==> s->stroke_ticks == \old(s->stroke_ticks);
    ensures cap: \result != TS_NONE ==> s->stroke_ticks == s->now_ticks &&
      s->now_ticks >= \old(s->stroke_ticks) + s->settings->least_spacing_ticks;
    ensures silence: \result != TS_NONE ==> !\old(STOPPED(s));
    ensures \result == TS_PACED ==> \old(s->owed) > 0;
    ensures \result == TS_PRIMED ==> \old(s->priming) != 0; */
static uint8_t stroke_if_due(ts_state *s);

/*@ requires KEPT(s) && acceptable(s, input) && s->tally.earned + EARNED <= COUNT_MOST;
    assigns s->remainder, s->tally.earned, s->owed, s->alarms, s->raised, s->cleared, s->tally.shed_limit,
      s->tally.shed_inhibit, s->tally.shed_trip, s->plan_ticks, s->plan_step_ticks, s->plan_step_rest, s->plan_parts,
      s->plan_carry, s->tally.rejected, s->tally.ignored, s->tally.counted, s->contact_ticks, s->interval_ticks,
      s->listen_ticks, s->line_armed, s->tally.bounces, s->line_closed, s->line_since_ticks, s->prime_pressed,
      s->priming, s->prime_since_ticks, s->held, s->tally.shed_hold, s->inhibits, s->tripped, s->tally.refused,
      s->guard_full_ticks, s->guard_full_rest, s->settings;
    ensures KEPT(s);
    ensures s->settings == \old(s->settings) || (input->kind == TS_SETTINGS && s->settings == input->settings);
    ensures growth: \old(s->tally.earned) <= s->tally.earned <= \old(s->tally.earned) + EARNED; */
static void act(ts_state *s, const ts_input *input, ts_ticks at);

/*@ requires \valid(s);
    assigns s->clock_ticks;
    ensures \result <= GAP;
    ensures \result <= (uint32_t)(now - \old(s->clock_ticks)) || \result == 0; */
static ts_ticks passed_ticks(ts_state *s, ts_ticks now);

/*@ requires \valid(at);
    assigns *at;
    ensures *at == (\old(*at) > by ? \old(*at) - by : 0); */
static void fade(ts_ticks *at, ts_ticks by);

/*@ requires \valid(s) && TIMED(s);
    assigns s->now_ticks, s->line_since_ticks, s->contact_ticks, s->listen_ticks, s->plan_ticks, s->stroke_ticks,
      s->prime_since_ticks, s->guard_full_ticks;
    ensures s->now_ticks == HORIZON && s->stroke_ticks == \old(faded(s)) && s->stroke_ticks <= HORIZON; */
static void move_horizon(ts_state *s);

/*@ requires KEPT(s) && TIMED(s) && acceptable(s, input) && s->tally.earned <= 4000000000;
    assigns *s;
    ensures invariant: KEPT(s) && TIMED(s);
    ensures law_2_balance: BALANCED(s);
    ensures law_7_debt: BOUNDED(s);
    ensures at_most_one: \result == TS_NONE || \result == TS_PACED || \result == TS_PRIMED;
    ensures law_3_cap: \result != TS_NONE ==> s->stroke_ticks == s->now_ticks &&
      (s->now_ticks >= \old(faded(s)) + s->settings->least_spacing_ticks ||
       s->now_ticks >= \old(faded(s)) + \old(s->settings)->least_spacing_ticks);
    ensures law_3_memory: \result == TS_NONE ==> s->stroke_ticks == \old(faded(s));
    ensures law_6_silence: \old(STOPPED(s)) && input->kind != TS_HOLD_OFF && input->kind != TS_INHIBIT_OFF &&
      input->kind != TS_RESET ==> \result == TS_NONE;
    ensures growth: s->tally.earned <= \old(s->tally.earned) + 4 * EARNED; */
uint8_t ts_step(ts_state *s, ts_ticks now, const ts_input *input);
