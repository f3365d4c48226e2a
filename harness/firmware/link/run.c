/**
 * Runs; see run.h.
 */
#include "run.h"

#include "../board/board.h"
#include "line.h"
#include "report.h"
#include "side.h"

/** A run on a free clock ends after so long without a line. */
#define IDLE_TICKS (10u * (uint32_t)BOARD_TICKS_PER_SECOND)
#define HALF_RANGE 0x80000000u

typedef struct {
  uint32_t at_ticks;
  link_input input;
  uint16_t number;
} queued;

static struct {
  bool is_on;
  bool is_stepped;
  /** While the counter stands: what it reads. While it runs: what it is ahead of the board's. */
  uint32_t counter;
  uint32_t lag;
  uint32_t heard;
  queued queue[RUN_QUEUE];
  uint8_t first;
  uint8_t count;
} run;

static const char idle_words[] BOARD_FLASH = " no line has come for 10 s";

static bool is_running(void) {
  return run.is_on && !run.is_stepped;
}

/** Of two times less than half the range apart. */
static bool is_reached(uint32_t at_ticks, uint32_t by_ticks) {
  return by_ticks - at_ticks < HALF_RANGE;
}

/** Of the queue, from the one that comes next. */
static queued *place(uint32_t from_first) {
  return &run.queue[(run.first + from_first) % RUN_QUEUE];
}

void run_start(void) {
  run.is_on = false;
  run.counter = 0;
  run.lag = 0;
  run.count = 0;
}

uint32_t run_now(void) {
  return is_running() ? board_ticks() + run.counter : run.counter;
}

void run_heard(void) {
  run.heard = run_now();
}

bool run_is_on(void) {
  return run.is_on;
}

bool run_is_stepped(void) {
  return run.is_stepped;
}

link_reason run_set_counter(uint32_t ticks) {
  if (run.is_on) return LINK_STATE;
  run.counter = ticks;
  return LINK_DONE;
}

link_reason run_set_lag(uint32_t lag) {
  if (lag > RUN_LAG_MOST) return LINK_VALUE;
  run.lag = lag;
  return LINK_DONE;
}

void run_begin(uint32_t now, bool is_stepped) {
  run_end();
  report_forget();
  run.is_on = true;
  run.is_stepped = is_stepped;
  run.counter = is_stepped ? now : now - board_ticks();
  run.heard = now;
  side_begin(now, run.lag, !is_stepped);
}

void run_end(void) {
  run.counter = run_now();
  run.is_on = false;
  run.count = 0;
  side_end();
}

/** What comes next, by itself or from the queue, if that is not after `by`; false if nothing does. */
static bool act_next(uint32_t by) {
  const queued *next = place(0);
  uint32_t wake = 0;
  const bool is_due = run.count > 0 && is_reached(next->at_ticks, by);
  // A stroke that is due in the tick of an input comes before it.
  if (side_wakes(&wake) && is_reached(wake, by) && !(is_due && !is_reached(wake, next->at_ticks))) {
    if (run.is_stepped) run.counter = wake;
    side_wake(run_now());
    return true;
  }
  if (!is_due) return false;
  if (run.is_stepped) run.counter = next->at_ticks;
  const queued done = *next;
  run.first = (uint8_t)((run.first + 1u) % RUN_QUEUE);
  run.count--;
  side_act(run_now(), done.input, done.number);
  return true;
}

void run_go(uint32_t until) {
  while (act_next(until)) {
  }
  run.counter = until;
}

void run_catch_up(void) {
  if (!is_running()) return;
  side_look(run_now());
  while (act_next(run_now())) {
  }
  const uint32_t now = run_now();
  if (now - run.heard < IDLE_TICKS) return;
  report_begin(REPORT_FAULT, now);
  line_text(idle_words);
  line_end();
  run_end();
}

link_reason run_ahead(uint32_t now, uint32_t ticks) {
  const uint32_t ahead = ticks - now;
  if (ahead == HALF_RANGE) return LINK_FAR;
  return ahead < HALF_RANGE ? LINK_DONE : LINK_LATE;
}

link_reason run_put(uint32_t now, uint32_t at_ticks, link_input input, uint16_t number) {
  if (run.count > 0 && at_ticks - now < place(run.count - 1u)->at_ticks - now) return LINK_VALUE;
  if (run.count == RUN_QUEUE) return LINK_FULL;
  queued *next = place(run.count);
  next->at_ticks = at_ticks;
  next->input = input;
  next->number = number;
  run.count++;
  return LINK_DONE;
}

void run_do(uint32_t now, link_input input, uint16_t number) {
  if (run.is_stepped) run_go(now);
  side_act(now, input, number);
}

bool run_wakes(uint32_t *board_ticks_at) {
  if (!is_running()) return false;
  const uint32_t now = run_now();
  uint32_t next = run.heard + IDLE_TICKS;
  uint32_t wake = 0;
  if (run.count > 0 && is_reached(place(0)->at_ticks, next)) next = place(0)->at_ticks;
  if (side_wakes(&wake) && is_reached(wake, next)) next = wake;
  // What is overdue is due now; the board knows times to come only.
  if (is_reached(next, now)) next = now;
  *board_ticks_at = next - run.counter;
  return true;
}
