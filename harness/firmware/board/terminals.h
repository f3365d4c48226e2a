/**
 * What do the pins tell the pacing core, and what does a stroke do to them? Between board.h and the twin.
 *
 * One input at a time, as the pins have changed since they were last looked at; a stroke is a pulse on the pump's pin.
 */
#ifndef TERMINALS_H
#define TERMINALS_H

#include <stdbool.h>
#include <stdint.h>

#include "../pacing/tallystroke.h"

/** Every input counts as off and open until the pins say otherwise; the pump's pin is off. */
void terminals_start(void);

/** Ends a pulse at once. */
void terminals_release(void);

/** The next input that the pins show; false if there is none. */
bool terminals_next(ts_input *input);

/** Begins a pulse: 50 ms, but no longer than half of the least spacing. */
void terminals_stroke(uint32_t now, uint32_t least_spacing_ticks);

/** Whether a pulse is on, and when it ends. */
bool terminals_wakes(uint32_t *at_ticks);

/** Ends a pulse that has been long enough. */
void terminals_work(uint32_t now);

#endif
