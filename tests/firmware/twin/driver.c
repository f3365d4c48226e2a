/*
 * Drives the C twin natively for the lockstep test: commands in on standard input, one answer of fixed length each.
 *
 * All numbers are 32-bit words, least significant byte first. A command is four words, op, now, detail, slot, and for
 * two of them more words. An answer is ANSWER_WORDS words: what the op gave, then the record as `project` shows it.
 * With the arguments `generate SEED COUNT` it makes up the commands itself and writes each before its answer.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tallystroke.h"

/* Below these an op is an input kind. */
enum { OP_START = 16, OP_VALIDATE, OP_TAKE, OP_LOAD, OP_RESTORE, OP_UNWRAP };
enum { SLOTS = 4, SETTING_WORDS = 18, SNAPSHOT_WORDS = (TS_SNAPSHOT_BYTES + 3) / 4, ANSWER_WORDS = 37 };

static ts_state state;
/* Settings in force must not change under the pacer: validated into a slot, copied into one of two when taken. */
static ts_settings slots[SLOTS];
static ts_settings taken[2];
static int turn;
static uint8_t snapshot[SNAPSHOT_WORDS * 4];

static ts_ticks age(ts_ticks at) {
  const ts_ticks since = state.now_ticks - at;
  return since < TS_HORIZON ? since : TS_HORIZON;
}

/*
 * A plan that was left behind for longer than the horizon has faded. The strokes of a plan lie within TS_DURATION_MOST
 * of each other, so all that can be said of each of them is that it lies at least TS_QUALIFY_MOST back: due at once.
 */
static ts_ticks plan_ahead(void) {
  const ts_ticks behind = state.now_ticks - state.plan_ticks;
  const bool is_left_behind = state.plan_ticks < state.now_ticks && behind > TS_QUALIFY_MOST;
  return 0u - (is_left_behind ? TS_QUALIFY_MOST : behind);
}

/* What the record means, in words that do not depend on where its horizon stands; lockstep.ts does the same. */
static void project(uint32_t first, uint32_t *w) {
  const ts_tally *t = &state.tally;
  const bool is_planned = state.owed > 0;
  const bool is_used_up = state.guard_full_ticks >= state.now_ticks;
  const uint32_t words[ANSWER_WORDS] = {
      first,
      state.clock_ticks,
      state.wake_at_ticks - state.clock_ticks,
      age(state.line_since_ticks),
      age(state.contact_ticks),
      state.interval_ticks,
      age(state.listen_ticks),
      is_planned ? plan_ahead() : 0,
      is_planned ? state.plan_step_ticks : 0,
      is_planned ? state.plan_step_rest : 0,
      is_planned ? state.plan_parts : 0u,
      is_planned ? state.plan_carry : 0,
      age(state.stroke_ticks),
      state.priming ? age(state.prime_since_ticks) : 0,
      is_used_up ? state.guard_full_ticks - state.now_ticks : 0,
      is_used_up ? state.guard_full_rest : 0u,
      state.owed,
      state.remainder,
      state.alarms,
      state.raised,
      state.cleared,
      state.inhibits,
      (uint32_t)state.held | (uint32_t)state.tripped << 1 | (uint32_t)state.prime_pressed << 2 |
          (uint32_t)state.priming << 3 | (uint32_t)state.line_closed << 4 | (uint32_t)state.line_armed << 5,
      t->counted,
      t->ignored,
      t->rejected,
      t->bounces,
      t->earned,
      t->paced,
      t->primed,
      t->shed_limit,
      t->shed_still,
      t->shed_hold,
      t->shed_inhibit,
      t->shed_trip,
      t->shed_power,
      t->refused,
  };
  memcpy(w, words, sizeof words);
}

static uint32_t validate(ts_settings *s, const uint32_t *w) {
  ts_settings next = {0};
  next.strokes = (uint16_t)w[0];
  next.contacts = (uint16_t)w[1];
  next.least_spacing_ticks = w[2];
  next.cadence = (uint8_t)w[3];
  next.contacts_during_prime = (uint8_t)w[4];
  next.owed_limit_strokes = (uint16_t)w[5];
  next.grace_ticks = w[6];
  next.longest_prime_ticks = w[7];
  next.prime_spacing_ticks = w[8];
  next.guard_budget_strokes = (uint16_t)w[9];
  next.guard_period_ticks = w[10];
  next.guard_burst_strokes = (uint16_t)w[11];
  next.closed_ticks = w[12];
  next.open_ticks = w[13];
  next.least_contact_ticks = w[14];
  next.stuck_ticks = w[15];
  next.silent_ticks = w[16];
  next.largest_increase = (uint16_t)w[17];
  const ts_fault fault = ts_validate(&next);
  if (fault == TS_SOUND) *s = next;
  return (uint32_t)fault;
}

/* Answers with what was derived, where the settings are sound. */
static void answer_validate(uint32_t slot, const uint32_t *more, uint32_t *answer) {
  const ts_settings *s = &slots[slot];
  memset(answer, 0, ANSWER_WORDS * sizeof *answer);
  answer[0] = validate(&slots[slot], more);
  if (answer[0] != TS_SOUND) return;
  answer[1] = s->strokes_per_contact_most;
  answer[2] = s->guard_interval_ticks;
  answer[3] = s->guard_interval_rest;
  answer[4] = s->guard_tolerance_ticks;
  answer[5] = s->guard_tolerance_rest;
}

static const ts_settings *take(uint32_t slot) {
  turn ^= 1;
  if (&taken[turn] == state.settings) turn ^= 1;
  taken[turn] = slots[slot];
  return &taken[turn];
}

static size_t more_words(uint32_t op) {
  return op == OP_VALIDATE ? SETTING_WORDS : op == OP_LOAD ? SNAPSHOT_WORDS : 0;
}

static bool is_untouched(const ts_state *s) {
  const uint8_t *bytes = (const uint8_t *)s;
  for (size_t i = 0; i < sizeof *s; i++)
    if (bytes[i] != 0xA5) return false;
  return true;
}

static void obey(const uint32_t *command, const uint32_t *more, uint32_t *answer) {
  const uint32_t op = command[0], now = command[1], detail = command[2], slot = command[3] % SLOTS;
  uint32_t first = 0;
  if (op == OP_VALIDATE) {
    answer_validate(slot, more, answer);
    return;
  }
  if (op == OP_UNWRAP) {
    memset(answer, 0, ANSWER_WORDS * sizeof *answer);
    answer[0] = ts_unwrap_ticks(now, detail, (uint8_t)command[3]);
    return;
  }
  if (op == OP_TAKE) {
    memset(answer, 0, ANSWER_WORDS * sizeof *answer);
    ts_take_snapshot(&state, snapshot);
    memcpy(answer, snapshot, TS_SNAPSHOT_BYTES);
    return;
  }
  if (op == OP_LOAD) {
    memcpy(snapshot, more, sizeof snapshot);
  } else if (op == OP_START) {
    ts_start(&state, take(slot), now);
  } else if (op == OP_RESTORE) {
    /* Beside the slot stands how many bytes were lost. */
    const uint16_t length = (uint16_t)(TS_SNAPSHOT_BYTES - (command[3] >> 8));
    ts_state restored;
    memset(&restored, 0xA5, sizeof restored);
    first = (uint32_t)ts_restore_snapshot(&restored, snapshot, length, take(slot), now, detail);
    if (first == TS_RESTORED) state = restored;
    else if (!is_untouched(&restored)) first |= 0x100u;
  } else {
    const ts_input input = {(uint8_t)op, (uint8_t)detail, op == TS_SETTINGS ? take(slot) : NULL};
    first = ts_step(&state, now, &input);
  }
  project(first, answer);
}

static void follow(void) {
  uint32_t command[4], more[SNAPSHOT_WORDS], answer[ANSWER_WORDS];
  while (fread(command, sizeof command, 1, stdin) == 1) {
    const size_t words = more_words(command[0]);
    if (words > 0 && fread(more, sizeof *more, words, stdin) != words) exit(2);
    obey(command, more, answer);
    if (fwrite(answer, sizeof answer, 1, stdout) != 1) exit(2);
  }
}

/* G. Marsaglia, Xorshift RNGs, Journal of Statistical Software 8 (14), 2003: the 32-bit generator with 13, 17, 5. */
static uint32_t seed;
static uint32_t any(uint32_t below) {
  seed ^= seed << 13;
  seed ^= seed >> 17;
  seed ^= seed << 5;
  return seed % below;
}

static ts_ticks any_ticks(ts_ticks most) {
  const ts_ticks mosts[] = {4, 60, 5000, most};
  const ts_ticks reach = mosts[any(4)];
  return any((reach < most ? reach : most) + 1);
}

static void any_settings(uint32_t *w) {
  const uint32_t most_strokes = any(4) == 0 ? 65535 : 9;
  w[0] = 1 + any(most_strokes);
  w[1] = 1 + any(any(4) == 0 ? 65535 : 9);
  const uint32_t most = (w[0] + w[1] - 1) / w[1];
  w[2] = 1 + any_ticks(200000000 / most);
  w[3] = any(2);
  w[4] = any(2);
  w[5] = most + any(any(3) == 0 ? 65536 - most : 3 < 65536 - most ? 3 : 65536 - most);
  w[6] = most * w[2] + any_ticks(TS_DURATION_MOST - most * w[2]);
  w[7] = 1 + any_ticks(TS_DURATION_MOST - 1);
  w[8] = w[2] + any_ticks(TS_DURATION_MOST - w[2]);
  w[9] = any(3) == 0 ? 0 : 1 + any(any(3) == 0 ? 65535 : 30);
  w[10] = 1 + any_ticks(TS_DURATION_MOST - 1);
  w[11] = 1 + any(any(3) == 0 ? 65535 : most + 5);
  w[12] = any_ticks(any(3) == 0 ? TS_QUALIFY_MOST : 40);
  w[13] = any_ticks(any(3) == 0 ? TS_QUALIFY_MOST : 40);
  w[14] = any(2) == 0 ? 0 : any_ticks(any(3) == 0 ? TS_DURATION_MOST : 100);
  w[15] = any(2) == 0 ? 0 : any_ticks(TS_DURATION_MOST);
  w[16] = any(2) == 0 ? 0 : any_ticks(TS_DURATION_MOST);
  w[17] = 1 + any(any(2) == 0 ? 1000 : 3);
}

static void tell(const uint32_t *command, const uint32_t *more) {
  uint32_t answer[ANSWER_WORDS];
  const size_t words = more_words(command[0]);
  obey(command, more, answer);
  if (fwrite(command, 4 * sizeof *command, 1, stdout) != 1) exit(2);
  if (words > 0 && fwrite(more, sizeof *more, words, stdout) != words) exit(2);
  if (fwrite(answer, sizeof answer, 1, stdout) != 1) exit(2);
}

static void tell_settings(uint32_t slot) {
  uint32_t more[SETTING_WORDS];
  const uint32_t command[4] = {OP_VALIDATE, 0, 0, slot};
  ts_settings tried;
  do any_settings(more);
  while (validate(&tried, more) != TS_SOUND);
  tell(command, more);
}

static ts_ticks any_gap(void) {
  const ts_ticks wake_in = state.wake_at_ticks - state.clock_ticks;
  const ts_ticks gaps[] = {0, wake_in, wake_in - 1, wake_in + any_ticks(TS_GAP_MOST - wake_in), any_ticks(TS_GAP_MOST)};
  return gaps[any(sizeof gaps / sizeof *gaps)];
}

/* Stops are short, since little else happens while one lasts. */
static void tell_end_of_stop(ts_ticks now) {
  uint32_t cause = 0;
  if (state.inhibits == 0) {
    tell((const uint32_t[]){state.held ? TS_HOLD_OFF : TS_RESET, now, 0, 0}, NULL);
    return;
  }
  while ((state.inhibits >> cause & 1) == 0) cause++;
  tell((const uint32_t[]){TS_INHIBIT_OFF, now, cause, 0}, NULL);
}

static void generate(uint32_t count) {
  ts_ticks now = any(UINT32_MAX);
  for (uint32_t slot = 0; slot < SLOTS; slot++) tell_settings(slot);
  tell((const uint32_t[]){OP_START, now, 0, any(SLOTS)}, NULL);
  for (uint32_t i = 0; i < count; i++) {
    const uint32_t what = any(1000);
    now = state.clock_ticks + any_gap();
    if (what < 3) {
      tell_settings(any(SLOTS));
    } else if (what < 8) {
      const uint32_t dark = any(3) == 0 ? TS_DARK_UNKNOWN : any_ticks(TS_HORIZON);
      tell((const uint32_t[]){TS_WAKE, now, 0, 0}, NULL);
      tell((const uint32_t[]){OP_TAKE, 0, 0, 0}, NULL);
      tell((const uint32_t[]){OP_RESTORE, any(UINT32_MAX), dark, any(SLOTS)}, NULL);
    } else if (what < 450) {
      tell((const uint32_t[]){any(3) == 0 ? TS_WAKE : TS_CONTACT, now, 0, 0}, NULL);
    } else if (what < 700 && (state.held || state.tripped || state.inhibits > 0)) {
      tell_end_of_stop(now);
    } else {
      const uint32_t kind = any(TS_INPUT_KINDS);
      const uint32_t detail = kind == TS_SETTINGS ? any(2) : any(TS_INHIBIT_CAUSES + 1);
      tell((const uint32_t[]){kind, now, detail, any(SLOTS)}, NULL);
    }
  }
}

int main(int count, char **words) {
  if (count == 1) {
    follow();
  } else if (count == 4 && strcmp(words[1], "generate") == 0) {
    /* Spread by Knuth's multiplier, since near seeds would begin alike; 0 is no seed for this generator. */
    seed = (uint32_t)strtoul(words[2], NULL, 10) * 2654435761u;
    if (seed == 0) seed = 1;
    generate((uint32_t)strtoul(words[3], NULL, 10));
  } else {
    fprintf(stderr, "usage: %s [generate SEED COUNT]\n", words[0]);
    return 2;
  }
  return 0;
}
