/*
 * Can the twin fail while it runs? A driver for Frama-C's Eva: any settings, any inputs at any times, any snapshot.
 *
 * Eva shows for every run of `main` that nothing is read outside its object or before it was written, that no divisor
 * is 0, that no shift is too wide and that no signed sum overflows. The loop has no bound: it stands for any number of
 * steps. What is assumed is written as an assumption of the driver, never as one of the twin.
 */
#include "../pacing/tallystroke.h"

/* Any value of its type; Eva knows nothing more of it. */
extern volatile uint32_t any_uint32;
extern volatile uint16_t any_uint16;
extern volatile uint8_t any_uint8;

static void any_settings(ts_settings *settings) {
  settings->strokes = any_uint16;
  settings->contacts = any_uint16;
  settings->least_spacing_ticks = any_uint32;
  settings->cadence = any_uint8;
  settings->contacts_during_prime = any_uint8;
  settings->owed_limit_strokes = any_uint16;
  settings->grace_ticks = any_uint32;
  settings->longest_prime_ticks = any_uint32;
  settings->prime_spacing_ticks = any_uint32;
  settings->guard_budget_strokes = any_uint16;
  settings->guard_period_ticks = any_uint32;
  settings->guard_burst_strokes = any_uint16;
  settings->closed_ticks = any_uint32;
  settings->open_ticks = any_uint32;
  settings->least_contact_ticks = any_uint32;
  settings->stuck_ticks = any_uint32;
  settings->silent_ticks = any_uint32;
  settings->largest_increase = any_uint16;
}

int main(void) {
  static ts_settings settings;
  static ts_settings next;
  static ts_state state;
  static uint8_t bytes[TS_SNAPSHOT_BYTES];
  ts_input input = {0};
  uint16_t i;

  any_settings(&settings);
  any_settings(&next);
  if ((ts_validate(&settings) != TS_SOUND) || (ts_validate(&next) != TS_SOUND)) {
    return 0;
  }
  ts_start(&state, &settings, any_uint32);
  while (any_uint8 != 0U) {
    switch (any_uint8) {
      case 0:
        ts_take_snapshot(&state, bytes);
        break;
      case 1:
        for (i = 0; i < (uint16_t)TS_SNAPSHOT_BYTES; i++) {
          bytes[i] = any_uint8;
        }
        (void)ts_restore_snapshot(&state, bytes, any_uint16, state.settings, any_uint32, any_uint32);
        break;
      case 2:
        (void)ts_unwrap_ticks(any_uint32, any_uint32, 16);
        (void)ts_unwrap_ticks(any_uint32, any_uint32, 24);
        (void)ts_unwrap_ticks(any_uint32, any_uint32, 32);
        break;
      default:
        input.kind = any_uint8;
        input.detail = any_uint8;
        input.settings = (state.settings == &settings) ? &next : &settings;
        (void)ts_step(&state, any_uint32, &input);
        break;
    }
  }
  return 0;
}
