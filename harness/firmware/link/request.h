/**
 * What does the bench ask? A line's text to a request; LINK.md, section 2.
 *
 * Looks at words alone. What depends on the device (what it takes, which settings it has, whether a run is on) is looked
 * at by whoever does the request.
 */
#ifndef REQUEST_H
#define REQUEST_H

#include <stdbool.h>
#include <stdint.h>

#include "words.h"

/** An input, and its second word by its number in its list; 0 if it has none. */
typedef struct {
  uint8_t kind;
  uint8_t detail;
} link_input;

typedef struct {
  /** The number of the request stands in `number`. */
  bool has_number;
  uint16_t number;
  uint8_t verb;
  /** NONCE, T, L or M; of `begin` the clock. */
  uint32_t value;
  link_input input;
  /** Of `set`, within the line. */
  link_word name;
  link_word setting;
} link_request;

/**
 * Reads a request: with its number if the line was checked, without one if it was typed. LINK_DONE if it is one; else
 * LINK_WORD, LINK_VALUE or, for number 0 without `hello`, LINK_ORDER. `verb` is VERB_HELLO only in a sound `hello`.
 */
link_reason request_read(link_request *request, const char *text, uint8_t length, bool is_checked);

#endif
