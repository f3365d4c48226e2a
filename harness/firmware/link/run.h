/**
 * How does time go on? Runs, their queue and the counter of LINK.md, sections 2, 6 and 7.
 *
 * The counter is the board's while a run on a free clock is on; else it stands still. On a stepped clock things act at
 * their own times, on a free one at what the counter reads by then.
 */
#ifndef RUN_H
#define RUN_H

#include <stdbool.h>
#include <stdint.h>

#include "request.h"
#include "words.h"

/** Inputs that may wait for their time. */
#ifndef RUN_QUEUE
#define RUN_QUEUE 4u
#endif
/** A lag below this can be spread over its range in 32 bits. */
#define RUN_LAG_MOST 0x07FFFFFFu

/** The counter stands at 0; no run is on. */
void run_start(void);

/** The counter now: what a request that comes now is done at. */
uint32_t run_now(void);

/** A line has come. */
void run_heard(void);

bool run_is_on(void);
bool run_is_stepped(void);

/** LINK_STATE while a run is on. */
link_reason run_set_counter(uint32_t ticks);

/** Of the next run. LINK_VALUE beyond RUN_LAG_MOST. */
link_reason run_set_lag(uint32_t lag);

/** Ends a run that is on, and begins one with what is staged, which is sound. */
void run_begin(uint32_t now, bool is_stepped);

void run_end(void);

/** Lets a run on a free clock catch up with the board's counter; the bench that has been silent for too long ends it. */
void run_catch_up(void);

/** Lets a stepped run go on to `until`, less than half the range ahead. */
void run_go(uint32_t until);

/** Why a time is none to come, seen from `now`: LINK_DONE, LINK_LATE or LINK_FAR. */
link_reason run_ahead(uint32_t now, uint32_t ticks);

/** Puts an input into the queue; LINK_VALUE if it is earlier than the last one there, LINK_FULL. */
link_reason run_put(uint32_t now, uint32_t at_ticks, link_input input, uint16_t number);

/** Does an input at once, after what is queued for this very tick. */
void run_do(uint32_t now, link_input input, uint16_t number);

/** Whether run_catch_up must be called by itself, and when on the board's counter. */
bool run_wakes(uint32_t *board_ticks_at);

#endif
