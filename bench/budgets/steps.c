/*
 * The core alone on the part, one step at a time: what does each cost? The bench that runs the emulator writes into a box in RAM
 * what is to be done and reads what came of it; two writes to a register that nothing uses stand around the step.
 */
#include <avr/io.h>

#include "tallystroke.h"

enum { REST, START, STEP };

/* In the order of the bench's list; see steps.ts. */
enum {
  STROKES,
  CONTACTS,
  LEAST_SPACING,
  CADENCE,
  CONTACTS_DURING_PRIME,
  OWED_LIMIT,
  GRACE,
  LONGEST_PRIME,
  PRIME_SPACING,
  GUARD_BUDGET,
  GUARD_PERIOD,
  GUARD_BURST,
  CLOSED,
  OPEN,
  LEAST_CONTACT,
  STUCK,
  SILENT,
  LARGEST_INCREASE,
  VALUES
};

/* Begins at address 0x100, the first of RAM, so that the bench needs no symbols. */
static volatile struct {
  uint8_t command;
  uint8_t answer; /* the fault of the settings, or the stroke that the step made */
  uint8_t kind;
  uint8_t detail;
  uint32_t now;
  uint32_t wake_at;
  uint16_t state_bytes;
  uint16_t tally_bytes;
  uint16_t settings_bytes;
  uint32_t values[VALUES];
} box __attribute__((section(".data.box")));

static ts_settings settings[2];
static ts_state state;

static uint8_t take_settings(ts_settings *into) {
  into->strokes = (uint16_t)box.values[STROKES];
  into->contacts = (uint16_t)box.values[CONTACTS];
  into->least_spacing_ticks = box.values[LEAST_SPACING];
  into->cadence = (uint8_t)box.values[CADENCE];
  into->contacts_during_prime = (uint8_t)box.values[CONTACTS_DURING_PRIME];
  into->owed_limit_strokes = (uint16_t)box.values[OWED_LIMIT];
  into->grace_ticks = box.values[GRACE];
  into->longest_prime_ticks = box.values[LONGEST_PRIME];
  into->prime_spacing_ticks = box.values[PRIME_SPACING];
  into->guard_budget_strokes = (uint16_t)box.values[GUARD_BUDGET];
  into->guard_period_ticks = box.values[GUARD_PERIOD];
  into->guard_burst_strokes = (uint16_t)box.values[GUARD_BURST];
  into->closed_ticks = box.values[CLOSED];
  into->open_ticks = box.values[OPEN];
  into->least_contact_ticks = box.values[LEAST_CONTACT];
  into->stuck_ticks = box.values[STUCK];
  into->silent_ticks = box.values[SILENT];
  into->largest_increase = (uint16_t)box.values[LARGEST_INCREASE];
  return (uint8_t)ts_validate(into);
}

int main(void) {
  box.state_bytes = sizeof(ts_state);
  box.tally_bytes = sizeof(ts_tally);
  box.settings_bytes = sizeof(ts_settings);
  for (;;) {
    while (box.command == REST) {
    }
    if (box.command == START) {
      box.answer = take_settings(&settings[0]);
      if (box.answer == TS_SOUND) ts_start(&state, &settings[0], box.now);
    } else {
      ts_input input = {box.kind, box.detail, 0};
      box.answer = TS_NONE;
      if (input.kind == TS_SETTINGS) {
        ts_settings *other = state.settings == &settings[0] ? &settings[1] : &settings[0];
        input.settings = other;
        box.answer = take_settings(other);
      }
      if (box.answer == TS_SOUND) {
        const uint32_t now = box.now;
        GPIOR0 = 1;
        const uint8_t stroke = ts_step(&state, now, &input);
        GPIOR0 = 0;
        box.answer = stroke;
      }
    }
    box.wake_at = state.wake_at_ticks;
    box.command = REST;
  }
}
