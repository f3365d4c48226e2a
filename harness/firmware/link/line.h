/**
 * Where does a line begin and end, and is it whole? Bytes to lines and back, with the check of LINK.md, section 1.
 *
 * For every split of the same bytes the same lines. Holds at most one line that comes, and none that goes: what is sent
 * is checked on its way out.
 */
#ifndef LINE_H
#define LINE_H

#include <stdbool.h>
#include <stdint.h>

#include "words.h"

/** Longest line to a device, in bytes, with its check and its LF. */
#define LINE_MOST 64u

/** What came: nothing yet, a typed line, a checked one, or why there is none. */
typedef enum { LINE_NONE, LINE_TYPED, LINE_CHECKED, LINE_UNCHECKED, LINE_TOO_LONG, LINE_BAD_BYTE } line_kind;

typedef struct {
  char bytes[LINE_MOST];
  /** How many have come, kept or not: never more than one past what there is room for. */
  uint8_t length;
  bool is_printable;
} line_reader;

void line_start(line_reader *reader);

/** Takes a byte. For LINE_TYPED and LINE_CHECKED the text is the first `text_length` of `bytes`, until the next call. */
line_kind line_take(line_reader *reader, uint8_t byte, uint8_t *text_length);

/**
 * A line that goes: begun, its parts in order, ended with its check and LF. The parts write no space by themselves.
 * Whoever writes keeps to 128 bytes.
 */
void line_begin(void);
void line_char(char c);
/** Text in flash, up to its NUL. */
void line_text(const char *flash);
/** A word of a list in flash. */
void line_word(const char *list, uint8_t number);
void line_number(uint32_t value);
void line_end(void);

#endif
