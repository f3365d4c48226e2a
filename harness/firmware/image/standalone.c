/**
 * A controller that knows nothing of the link: contacts in at a pin, strokes out at a pin, settings compiled in. It is what
 * a fixture is wired to, and the least that a firmware around the pacing core can be.
 *
 * It keeps nothing over a power cut: a product would keep a snapshot (ts_take_snapshot) in memory that lasts.
 */
#include "../board/board.h"
#include "../board/terminals.h"
#include "../pacing/tallystroke.h"

/** From seconds and milliseconds to ticks, rounded up. */
#define SECONDS(seconds) ((uint32_t)(seconds) * BOARD_TICKS_PER_SECOND)
#define MILLIS(millis) (((millis) * 1000u + BOARD_TICK_MICROS - 1u) / BOARD_TICK_MICROS)
#define DAY 86400u
#define HALF_RANGE 0x80000000u

/** Three strokes for every two contacts, at most two a second. */
static ts_settings settings = {
  .strokes = 3,
  .contacts = 2,
  .least_spacing_ticks = MILLIS(500u),
  .cadence = TS_SPREAD,
  .contacts_during_prime = TS_EARN,
  .owed_limit_strokes = 20,
  .grace_ticks = SECONDS(90),
  .longest_prime_ticks = SECONDS(60),
  .prime_spacing_ticks = MILLIS(500u),
  .guard_budget_strokes = 0,
  .guard_period_ticks = SECONDS(3600),
  .guard_burst_strokes = 1,
  .closed_ticks = MILLIS(10u),
  .open_ticks = MILLIS(10u),
  .least_contact_ticks = 0,
  .stuck_ticks = SECONDS(DAY),
  .silent_ticks = SECONDS(DAY),
  .largest_increase = 2,
};

static ts_state pacer;

/** What the pins show, and what is due by itself. */
static void work(uint32_t now) {
  ts_input input = {TS_WAKE, 0, 0};
  do {
    if (ts_step(&pacer, now, &input) != TS_NONE) terminals_stroke(now, settings.least_spacing_ticks);
  } while (terminals_next(&input));
  terminals_work(now);
}

int main(void) {
  board_start(false);
  terminals_start();
  if (ts_validate(&settings) != TS_SOUND) return 1;
  ts_start(&pacer, &settings, board_ticks());
  for (;;) {
    uint32_t pulse_end = 0;
    work(board_ticks());
    uint32_t alarm = pacer.wake_at_ticks;
    if (terminals_wakes(&pulse_end) && pulse_end - alarm >= HALF_RANGE) alarm = pulse_end;
    board_sleep(true, alarm);
  }
}
