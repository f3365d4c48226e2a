/*
 * Does the twin keep its laws whatever it is given? A harness for a coverage-guided fuzzer.
 *
 * The input is read as settings, then as steps, snapshots and restarts, times included; a snapshot may be one that was
 * taken, one with bytes changed and its check put right, or bytes from anywhere. Looked for beside what the sanitizers
 * see: balance, bounded debt, the cap over all strokes, silence, a sound remainder, and a wake-up that is ahead.
 */
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "../pacing/tallystroke.h"

static const uint8_t *bytes;
static size_t left;

static void must(bool holds) {
  if (!holds) abort();
}

/* A number of so many bytes; 0 when the input has run out. */
static uint32_t take(unsigned count) {
  uint32_t value = 0;
  for (unsigned i = 0; i < count && left > 0; i++) {
    value = (value << 8) | *bytes;
    bytes++;
    left--;
  }
  return value;
}

/* A time: small, large or any by its first byte, since whole numbers of bytes seldom land where things happen. */
static uint32_t take_ticks(void) {
  const uint32_t scale = take(1);
  return (scale & 0x80u) != 0 ? take(4) : take(1) << (scale & 24u);
}

static uint32_t at_most(uint32_t value, uint32_t most) { return value < most ? value : most; }

/* Most of what comes of it is sound; what is not goes to `ts_validate` all the same. */
static void take_settings(ts_settings *settings) {
  const uint32_t shape = take(1);
  memset(settings, 0, sizeof *settings);
  settings->strokes = (uint16_t)((shape & 1u) != 0 ? take(2) : take(1) + 1u);
  settings->contacts = (uint16_t)((shape & 2u) != 0 ? take(2) : take(1) + 1u);
  const uint32_t most = settings->contacts == 0 ? 1u : ((uint32_t)settings->strokes + settings->contacts) / settings->contacts;
  settings->least_spacing_ticks = at_most(take_ticks(), TS_DURATION_MOST / (most + 1u));
  settings->cadence = (uint8_t)((shape & 4u) != 0 ? TS_PROMPT : TS_SPREAD);
  settings->contacts_during_prime = (uint8_t)((shape & 8u) != 0 ? TS_IGNORE : TS_EARN);
  settings->owed_limit_strokes = (uint16_t)at_most(most + take(1), UINT16_MAX);
  settings->grace_ticks = at_most(most * settings->least_spacing_ticks + at_most(take_ticks(), TS_DURATION_MOST), TS_DURATION_MOST);
  settings->longest_prime_ticks = at_most(take_ticks(), TS_DURATION_MOST);
  settings->prime_spacing_ticks = settings->least_spacing_ticks + take(1);
  settings->guard_budget_strokes = (uint16_t)((shape & 16u) != 0 ? take(1) : 0u);
  settings->guard_period_ticks = (shape & 16u) != 0 ? at_most(take_ticks(), TS_DURATION_MOST) : 1u;
  settings->guard_burst_strokes = (uint16_t)at_most(most + take(1), UINT16_MAX);
  settings->closed_ticks = take(1);
  settings->open_ticks = take(1);
  settings->least_contact_ticks = (shape & 32u) != 0 ? take(1) : 0u;
  settings->stuck_ticks = (shape & 64u) != 0 ? at_most(settings->closed_ticks + take_ticks(), TS_DURATION_MOST) : 0u;
  settings->silent_ticks = (shape & 128u) != 0 ? at_most(take_ticks(), TS_DURATION_MOST) : 0u;
  settings->largest_increase = (uint16_t)(1u + (take(1) & 7u));
}

static void look(const ts_state *s) {
  const ts_tally *t = &s->tally;
  const uint32_t shed =
      t->shed_limit + t->shed_still + t->shed_hold + t->shed_inhibit + t->shed_trip + t->shed_power;
  const uint32_t ahead = s->wake_at_ticks - s->clock_ticks;
  must(t->earned == t->paced + s->owed + shed);
  must(s->owed <= s->settings->owed_limit_strokes);
  must(s->remainder < s->settings->contacts);
  must(!((s->held || s->tripped || s->inhibits != 0) && (s->owed > 0 || s->priming)));
  must(ahead > 0 && ahead <= TS_WAKE_MOST);
}

/* When strokes were made, on a clock of the harness's own that never wraps and never goes back. */
static uint64_t now;
static uint64_t last_stroke;
static bool has_stroked;

static void step(ts_state *s, uint32_t after, const ts_input *input) {
  const bool was_stopped = s->held || s->tripped || s->inhibits != 0;
  const uint32_t primed = s->tally.primed;
  const uint32_t paced = s->tally.paced;
  const uint32_t spacing_before = s->settings->least_spacing_ticks;
  now += after;
  const uint8_t made = ts_step(s, (uint32_t)now, input);
  must(s->tally.primed - primed == (made == (uint8_t)TS_PRIMED));
  must(s->tally.paced - paced == (made == (uint8_t)TS_PACED));
  if (made != (uint8_t)TS_NONE) {
    const uint32_t spacing = s->settings->least_spacing_ticks;
    const uint32_t least = spacing < spacing_before ? spacing : spacing_before;
    must(!was_stopped || input->kind == TS_HOLD_OFF || input->kind == TS_INHIBIT_OFF || input->kind == TS_RESET);
    must(!has_stroked || now - last_stroke >= least);
    has_stroked = true;
    last_stroke = now;
  }
  look(s);
}

static void restart(ts_state *s, uint8_t *snapshot) {
  const ts_settings *settings = s->settings;
  const ts_state before = *s;
  const uint32_t change = take(1);
  if ((change & 1u) != 0) snapshot[take(1) % TS_SNAPSHOT_BYTES] = (uint8_t)take(1);
  if ((change & 2u) != 0) {
    for (unsigned i = 0; i < TS_SNAPSHOT_BYTES; i++) snapshot[i] = (uint8_t)take(1);
  }
  if ((change & 4u) != 0) {
    const uint16_t crc = ts_crc16(snapshot, TS_SNAPSHOT_BYTES - 2);
    snapshot[TS_SNAPSHOT_BYTES - 2] = (uint8_t)(crc >> 8);
    snapshot[TS_SNAPSHOT_BYTES - 1] = (uint8_t)crc;
  }
  const uint16_t length = (uint16_t)((change & 8u) != 0 ? take(1) : TS_SNAPSHOT_BYTES);
  uint8_t *exact = malloc(length == 0 ? 1 : length);
  must(exact != NULL);
  memset(exact, 0, length);
  memcpy(exact, snapshot, length < TS_SNAPSHOT_BYTES ? length : TS_SNAPSHOT_BYTES);
  const ts_refusal refusal = ts_restore_snapshot(s, exact, length, settings, (uint32_t)now, take_ticks());
  free(exact);
  if (refusal == TS_RESTORED) {
    has_stroked = true;
    last_stroke = now;
    look(s);
  } else {
    must(memcmp(s, &before, sizeof before) == 0);
  }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  ts_settings settings[2];
  unsigned in_force = 0;
  ts_state state;
  uint8_t snapshot[TS_SNAPSHOT_BYTES] = {0};
  bytes = data;
  left = size;
  take_settings(&settings[0]);
  if (ts_validate(&settings[0]) != TS_SOUND) return 0;
  now = take(4);
  has_stroked = false;
  memset(&state, 0, sizeof state);
  ts_start(&state, &settings[0], (uint32_t)now);
  while (left > 0) {
    const uint32_t kind = take(1) & 15u;
    if (kind < (uint32_t)TS_INPUT_KINDS) {
      ts_input input = {(uint8_t)kind, 0, NULL};
      if (kind == TS_SETTINGS) {
        take_settings(&settings[1u - in_force]);
        input.settings = &settings[1u - in_force];
        if (ts_validate(&settings[1u - in_force]) != TS_SOUND) continue;
      }
      input.detail = (uint8_t)take(1);
      step(&state, take_ticks() & UINT32_C(0x7FFFFFFF), &input);
      if (state.settings == input.settings) in_force = 1u - in_force;
    } else if (kind == TS_INPUT_KINDS) {
      ts_take_snapshot(&state, snapshot);
    } else if (kind == TS_INPUT_KINDS + 1) {
      restart(&state, snapshot);
    } else {
      const ts_input wake = {TS_WAKE, 0, NULL};
      step(&state, state.wake_at_ticks - state.clock_ticks, &wake);
    }
  }
  return 0;
}
