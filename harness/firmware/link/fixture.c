/**
 * A fixture behind the link: it works the terminals of another controller and sees its strokes; see side.h.
 *
 * An output that is on drives an optocoupler across the controller's terminals. All causes of inhibit work the one
 * permission terminal. Every rise of the stroke signal is a stroke: what it means is for the bench to say.
 */
#include "../board/board.h"
#include "line.h"
#include "report.h"
#include "side.h"

const side_profile side = {
  .is_fixture = true,
  .clocks = 1u << CLOCK_FREE | 1u << CLOCK_SETTABLE,
  .takes = 1u << INPUT_CLOSE | 1u << INPUT_OPEN | 1u << INPUT_PRIME_ON | 1u << INPUT_PRIME_OFF |
           1u << INPUT_HOLD_ON | 1u << INPUT_HOLD_OFF | 1u << INPUT_INHIBIT_ON | 1u << INPUT_INHIBIT_OFF,
  .tells = 1u << REPORT_STROKE,
  // Proportion, cap, causality, prime, silence, still water, totality, guard.
  .laws = 1u << 0 | 1u << 2 | 1u << 3 | 1u << 4 | 1u << 5 | 1u << 7 | 1u << 13 | 1u << 14,
  .has_settings = false,
};

static bool is_on;
static bool has_stroke;
/** Bits by cause. */
static uint8_t inhibits;

void side_forget(void) {
}

link_reason side_set(link_word name, link_word value) {
  (void)name;
  (void)value;
  return LINK_WORD;
}

uint8_t side_unsound(void) {
  return WORDS_NONE;
}

static void release_all(void) {
  inhibits = 0;
  board_drive(BOARD_CLOSE_CONTACT, false);
  board_drive(BOARD_WORK_PRIME, false);
  board_drive(BOARD_WORK_HOLD, false);
  board_drive(BOARD_WORK_INHIBIT, false);
}

void side_begin(uint32_t now, uint32_t lag, bool is_free) {
  (void)now;
  (void)lag;
  (void)is_free;
  release_all();
  is_on = true;
  has_stroke = (board_inputs() & BOARD_STROKE_SEEN) != 0;
}

void side_end(void) {
  is_on = false;
  release_all();
}

static void inhibit(uint8_t cause, bool on) {
  const uint8_t bit = (uint8_t)(1u << cause);
  if (on) inhibits |= bit;
  else inhibits &= (uint8_t)~bit;
  board_drive(BOARD_WORK_INHIBIT, inhibits != 0);
}

static void work(link_input input) {
  switch (input.kind) {
    case INPUT_CLOSE:
    case INPUT_OPEN:
      board_drive(BOARD_CLOSE_CONTACT, input.kind == INPUT_CLOSE);
      return;
    case INPUT_PRIME_ON:
    case INPUT_PRIME_OFF:
      board_drive(BOARD_WORK_PRIME, input.kind == INPUT_PRIME_ON);
      return;
    case INPUT_HOLD_ON:
    case INPUT_HOLD_OFF:
      board_drive(BOARD_WORK_HOLD, input.kind == INPUT_HOLD_ON);
      return;
    default:
      inhibit(input.detail, input.kind == INPUT_INHIBIT_ON);
      return;
  }
}

void side_act(uint32_t now, link_input input, uint16_t number) {
  if (!is_on) return;
  work(input);
  report_did(now, number);
}

bool side_wakes(uint32_t *at_ticks) {
  (void)at_ticks;
  return false;
}

void side_wake(uint32_t now) {
  (void)now;
}

void side_look(uint32_t now) {
  const bool had_stroke = has_stroke;
  has_stroke = (board_inputs() & BOARD_STROKE_SEEN) != 0;
  if (is_on && has_stroke && !had_stroke) report_bare(REPORT_STROKE, now);
}

void side_tell(uint32_t now) {
  (void)now;
}
