/*
 * A program that uses so much of the core, and nothing else: how much flash does that take? CORE_NONE is what any program takes.
 */
#include "tallystroke.h"

#if !defined(CORE_NONE)
static ts_state state;
static ts_settings settings;
volatile uint8_t sink;
volatile ts_ticks counter;
#if defined(CORE_SNAPSHOT)
static uint8_t snapshot[TS_SNAPSHOT_BYTES];
#endif
#endif

int main(void) {
#if !defined(CORE_NONE)
#if defined(CORE_VALIDATE)
  sink = (uint8_t)ts_validate(&settings);
#endif
  ts_start(&state, &settings, counter);
  const ts_input input = {sink, 0, &settings};
  sink = ts_step(&state, counter, &input);
#if defined(CORE_SNAPSHOT)
  ts_take_snapshot(&state, snapshot);
  sink = (uint8_t)ts_restore_snapshot(&state, snapshot, sizeof snapshot, &settings, counter, counter);
#endif
#endif
  return 0;
}
