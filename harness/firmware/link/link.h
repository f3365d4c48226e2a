/**
 * The device's end of the link, written once: bytes in, bytes out. LINK.md is its specification.
 *
 * Serves whatever side.h is to it, on whatever board.h is to it. Whatever comes, it answers. All memory is fixed: a
 * line, a queue, a window of answers.
 */
#ifndef LINK_H
#define LINK_H

#include <stdbool.h>
#include <stdint.h>

/** A device that has just started, and says so. */
void link_start(void);

/** Takes a byte from the bench. What comes of it has been sent when this returns. */
void link_take(uint8_t byte);

/** Does what is due by itself. To be called whenever the board wakes up. */
void link_work(void);

/** Whether link_work must be called by itself, and when on the board's counter. */
bool link_wakes(uint32_t *board_ticks_at);

/** All of it, for an image's main: never comes back. */
void link_serve(void);

#endif
