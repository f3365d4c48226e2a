/**
 * A controller behind the link: the twin of the pacing core, its terminals, and the power that it may lose; see side.h.
 *
 * On a free clock strokes drive the pump's pin, and the contact, prime, hold and permission pins count beside the link. In
 * a stepped run time is not that of the world, so no pin is looked at or driven.
 */
#include "../board/board.h"
#include "../board/terminals.h"
#include "../pacing/tallystroke.h"
#include "effects.h"
#include "line.h"
#include "report.h"
#include "side.h"
#include "staged.h"

const side_profile side = {
  .is_fixture = false,
  .clocks = 1u << CLOCK_STEPPED | 1u << CLOCK_FREE | 1u << CLOCK_SETTABLE | 1u << CLOCK_LAG,
  .takes = 0x3FFF,
  .tells = (uint16_t)(0x0FFFu & ~(1u << REPORT_DID | 1u << REPORT_STROKE)),
  .laws = 0x7FFF,
  .has_settings = true,
};

/** Odd, so that lags are spread over their range. */
#define LAG_STRIDE 31u
#define HALF_RANGE 0x80000000u

static const char unsound_words[] BOARD_FLASH = " was staged so that it cannot come into force";
static const char refused_words[] BOARD_FLASH = " snapshot refused";

static ts_state pacer;
/** In force and, while a change is looked at, the next ones: they take turns. */
static ts_settings settings[2];
static uint8_t in_force;
static effects_before before;

static struct {
  bool is_on;
  /** Neither stepped any more, nor heeding inputs: it has failed. */
  bool has_failed;
  bool is_free;
  bool is_dark;
  /** Dark for so long that nothing can tell it from longer. */
  bool is_long_dark;
  uint32_t dark_since;
  uint32_t lag;
  uint8_t snapshot[TS_SNAPSHOT_BYTES];
} now_on;

void side_forget(void) {
  staged_forget();
}

link_reason side_set(link_word name, link_word value) {
  return staged_set(name, value);
}

uint8_t side_unsound(void) {
  return staged_take(&settings[1u - in_force]);
}

void side_begin(uint32_t now, uint32_t lag, bool is_free) {
  in_force = 0;
  (void)staged_take(&settings[in_force]);
  ts_start(&pacer, &settings[in_force], now);
  now_on.is_on = true;
  now_on.has_failed = false;
  now_on.is_free = is_free;
  now_on.is_dark = false;
  now_on.lag = lag;
  terminals_start();
}

void side_end(void) {
  now_on.is_on = false;
  terminals_start();
}

/** One step, which the pump feels before anybody is told of it. */
static void step(uint32_t now, const ts_input *input) {
  effects_note(&before, &pacer);
  const uint8_t made = ts_step(&pacer, now, input);
  if (made != TS_NONE && now_on.is_free) terminals_stroke(now, pacer.settings->least_spacing_ticks);
  effects_tell(&before, &pacer, now, false);
}

static void wake(uint32_t now) {
  const ts_input input = {TS_WAKE, 0, 0};
  step(now, &input);
}

static void fail(uint32_t now, const char *words, uint8_t setting) {
  report_begin(REPORT_FAULT, now);
  if (setting != WORDS_NONE) {
    line_char(' ');
    line_word(words_settings, setting);
  }
  line_text(words);
  line_end();
  now_on.has_failed = true;
}

/** When the pacer is to be woken: late as told, repeatably. */
static uint32_t wake_ticks(void) {
  const uint32_t range = now_on.lag + 1u;
  return pacer.wake_at_ticks + (range == 1u ? 0u : pacer.wake_at_ticks % range * LAG_STRIDE % range);
}

static bool is_pacing(void) {
  return now_on.is_on && !now_on.has_failed && !now_on.is_dark;
}

/** Whether the pacer, or the darkness, has something to come by itself. */
static bool paces_at(uint32_t *at_ticks) {
  if (is_pacing()) {
    *at_ticks = wake_ticks();
    return true;
  }
  *at_ticks = now_on.dark_since + TS_HORIZON;
  return now_on.is_on && now_on.is_dark && !now_on.is_long_dark;
}

bool side_wakes(uint32_t *at_ticks) {
  uint32_t pulse_end = 0;
  const bool is_due = paces_at(at_ticks);
  if (!terminals_wakes(&pulse_end)) return is_due;
  if (!is_due || pulse_end - *at_ticks >= HALF_RANGE) *at_ticks = pulse_end;
  return true;
}

void side_wake(uint32_t now) {
  uint32_t at = 0;
  terminals_work(now);
  if (!paces_at(&at) || now - at >= HALF_RANGE) return;
  if (now_on.is_dark) now_on.is_long_dark = true;
  else wake(now);
}

static void power_on(uint32_t now, bool is_known) {
  const uint32_t dark = now_on.is_long_dark ? TS_HORIZON : now - now_on.dark_since;
  if (!now_on.is_dark) return;
  now_on.is_dark = false;
  effects_note(&before, &pacer);
  const ts_refusal refusal = ts_restore_snapshot(&pacer, now_on.snapshot, TS_SNAPSHOT_BYTES, pacer.settings, now,
                                                 is_known ? dark : TS_DARK_UNKNOWN);
  if (refusal == TS_RESTORED) effects_tell(&before, &pacer, now, true);
  else fail(now, refused_words, WORDS_NONE);
}

static void power_off(uint32_t now) {
  wake(now);
  ts_take_snapshot(&pacer, now_on.snapshot);
  terminals_release();
  now_on.is_dark = true;
  now_on.is_long_dark = false;
  now_on.dark_since = now;
}

/** What was staged comes into force, or not. */
static void change(uint32_t now, bool is_confirmed) {
  const uint8_t other = (uint8_t)(1u - in_force);
  const ts_input input = {TS_SETTINGS, is_confirmed ? 1u : 0u, &settings[other]};
  step(now, &input);
  if (pacer.settings == &settings[other]) in_force = other;
}

void side_act(uint32_t now, link_input input, uint16_t number) {
  uint8_t unsound = WORDS_NONE;
  if (!now_on.is_on || now_on.has_failed) return;
  if (input.kind == INPUT_SETTINGS) unsound = staged_take(&settings[1u - in_force]);
  if (unsound != WORDS_NONE) {
    fail(now, unsound_words, unsound);
    return;
  }
  // A late one finds what was due still undone: that acts before the input, so it is told before.
  if (is_pacing() && now - pacer.wake_at_ticks < HALF_RANGE) wake(now);
  report_did(now, number);
  if (input.kind == INPUT_POWER_ON) power_on(now, input.detail == 0);
  else if (now_on.is_dark) return;
  else if (input.kind == INPUT_POWER_OFF) power_off(now);
  else if (input.kind == INPUT_SETTINGS) change(now, input.detail == 0);
  else {
    // The link numbers inputs and causes as the twin does.
    const ts_input step_input = {input.kind, input.detail, 0};
    step(now, &step_input);
  }
}

void side_look(uint32_t now) {
  ts_input input;
  // What changes in the dark shows when the power is back.
  while (is_pacing() && terminals_next(&input)) step(now, &input);
}

void side_tell(uint32_t now) {
  effects_status(&pacer, now);
}
