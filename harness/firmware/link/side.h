/**
 * What does the link serve? A paced side in one of two roles: controller.c paces by the twin, fixture.c works the
 * terminals of another controller. An image links one of them.
 *
 * A side knows nothing of requests, queues or the counter: it is told when, and does at once what it is told.
 */
#ifndef SIDE_H
#define SIDE_H

#include <stdbool.h>
#include <stdint.h>

#include "request.h"
#include "words.h"

/** What the greeting says; sets are bits by number, of the laws by number less one. */
typedef struct {
  bool is_fixture;
  uint16_t clocks;
  uint16_t takes;
  uint16_t tells;
  uint16_t laws;
  bool has_settings;
} side_profile;
extern const side_profile side;

/** Forgets what was staged. */
void side_forget(void);

/** Stages a setting: LINK_DONE, LINK_WORD if there is none of that name, LINK_VALUE if it cannot be. */
link_reason side_set(link_word name, link_word value);

/** The first of the staged settings that cannot be beside the others, by its number, or WORDS_NONE. */
uint8_t side_unsound(void);

/** Begins a run with the staged settings, which are sound; `is_free` where time runs by itself and pins count. */
void side_begin(uint32_t now, uint32_t lag, bool is_free);

/** Ends the run: nothing strokes any more, all outputs off. Without a run it does nothing. */
void side_end(void);

/** Does an input, reports `did` with the number of its request (0 if it was typed), and what comes of it. */
void side_act(uint32_t now, link_input input, uint16_t number);

/** Whether it must be called by itself, and when. */
bool side_wakes(uint32_t *at_ticks);

/** Does what is due by itself. */
void side_wake(uint32_t now);

/** Looks at the pins, and reports what comes of it. On a free clock only. */
void side_look(uint32_t now);

/** Reports `status`; asked only of a side that tells it. */
void side_tell(uint32_t now);

#endif
