/**
 * Which settings have been staged, in ticks of this board? LINK.md, section 5.
 *
 * Times come in microseconds. What must at least have passed (spacings, qualifying times, the guard's period) is rounded
 * up to whole ticks and what may at most pass (grace, longest prime) down, so that ticks keep every law that
 * microseconds state. What was never staged is as this device likes it.
 */
#ifndef STAGED_H
#define STAGED_H

#include "../pacing/tallystroke.h"
#include "words.h"

void staged_forget(void);

/** LINK_DONE; LINK_WORD for an unknown name; LINK_VALUE for what is out of range, or more ticks than the twin takes. */
link_reason staged_set(link_word name, link_word value);

/** Completes `settings` as they are staged: WORDS_NONE, or the number of the first that cannot be beside the others. */
uint8_t staged_take(ts_settings *settings);

#endif
