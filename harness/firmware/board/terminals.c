/**
 * The terminals of a controller; see terminals.h.
 */
#include "terminals.h"

#include "board.h"

#define PULSE_TICKS (50000u / BOARD_TICK_MICROS)
#define HALF_RANGE 0x80000000u

typedef struct {
  uint8_t pin;
  uint8_t on;
  uint8_t off;
  uint8_t detail;
} terminal;

/** What stops comes last, so that in doubt the stop wins. */
#define TERMINALS 4u
static const terminal terminals[TERMINALS] BOARD_FLASH = {
  {BOARD_CONTACT, TS_CLOSE, TS_OPEN, 0},
  {BOARD_PRIME, TS_PRIME_ON, TS_PRIME_OFF, 0},
  {BOARD_HOLD, TS_HOLD_ON, TS_HOLD_OFF, 0},
  {BOARD_PERMISSION_MISSING, TS_INHIBIT_ON, TS_INHIBIT_OFF, TS_PERMISSION},
};

/** The inputs that were on when last looked at. */
static uint8_t seen;
static bool is_pulsing;
static uint32_t pulse_end;

void terminals_start(void) {
  seen = 0;
  terminals_release();
}

void terminals_release(void) {
  is_pulsing = false;
  board_drive(BOARD_STROKE, false);
}

bool terminals_next(ts_input *input) {
  const uint8_t now_on = board_inputs();
  for (uint8_t i = 0; i < TERMINALS; i++) {
    const terminal *at = &terminals[i];
    const uint8_t pin = BOARD_FLASH_BYTE(&at->pin);
    if (((now_on ^ seen) & pin) == 0) continue;
    seen ^= pin;
    input->kind = (now_on & pin) != 0 ? BOARD_FLASH_BYTE(&at->on) : BOARD_FLASH_BYTE(&at->off);
    input->detail = BOARD_FLASH_BYTE(&at->detail);
    input->settings = 0;
    return true;
  }
  return false;
}

void terminals_stroke(uint32_t now, uint32_t least_spacing_ticks) {
  const uint32_t half = least_spacing_ticks > 1u ? least_spacing_ticks / 2u : 1u;
  board_drive(BOARD_STROKE, true);
  is_pulsing = true;
  pulse_end = now + (half < PULSE_TICKS ? half : PULSE_TICKS);
}

bool terminals_wakes(uint32_t *at_ticks) {
  *at_ticks = pulse_end;
  return is_pulsing;
}

void terminals_work(uint32_t now) {
  if (is_pulsing && now - pulse_end < HALF_RANGE) terminals_release();
}
