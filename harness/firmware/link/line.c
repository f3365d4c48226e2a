/**
 * Lines of the link; see line.h.
 */
#include "line.h"

#include "../board/board.h"
#include "../pacing/tallystroke.h"

#define FIRST_PRINTABLE 0x20u
#define LAST_PRINTABLE 0x7Eu
#define CR 0x0Du
#define LF 0x0Au
/** The check: `*CCCC`. */
#define CHECK_LENGTH 5u
#define DIGITS_MOST 10u

/** The check of the line that goes. */
static uint16_t check;

static char hex_digit(uint16_t nibble) {
  const uint8_t low = (uint8_t)(nibble & 15u);
  return (char)(low < 10u ? '0' + low : 'A' + (low - 10));
}

static bool is_printable(uint8_t byte) {
  return byte >= FIRST_PRINTABLE && byte <= LAST_PRINTABLE;
}

/** Whether a CR was the last byte that came, and was kept. */
static bool ends_in_return(const line_reader *reader) {
  return reader->length > 0 && reader->length <= LINE_MOST && (uint8_t)reader->bytes[reader->length - 1] == CR;
}

static bool is_check(const char *at, uint16_t crc) {
  for (uint8_t i = 1; i < CHECK_LENGTH; i++) {
    if (at[i] != hex_digit((uint16_t)(crc >> (4u * (CHECK_LENGTH - 1u - i))))) return false;
  }
  return true;
}

/** What kind of line the first `end` bytes are. */
static line_kind kind_of(const line_reader *reader, uint8_t end, uint8_t *text_length) {
  uint16_t crc = TS_CRC16_START;
  uint8_t star = 0;
  if (end == 0) return LINE_NONE;
  if (end > LINE_MOST - 1u) return LINE_TOO_LONG;
  if (!reader->is_printable) return LINE_BAD_BYTE;
  while (star < end && reader->bytes[star] != '*') {
    crc = ts_crc16_next(crc, (uint8_t)reader->bytes[star]);
    star++;
  }
  *text_length = star;
  if (star == end) return LINE_TYPED;
  if (end - star != CHECK_LENGTH || !is_check(&reader->bytes[star], crc)) return LINE_UNCHECKED;
  return LINE_CHECKED;
}

void line_start(line_reader *reader) {
  reader->length = 0;
  reader->is_printable = true;
}

line_kind line_take(line_reader *reader, uint8_t byte, uint8_t *text_length) {
  if (byte == LF) {
    const uint8_t end = (uint8_t)(reader->length - (ends_in_return(reader) ? 1u : 0u));
    const line_kind kind = kind_of(reader, end, text_length);
    line_start(reader);
    return kind;
  }
  // A CR is sound only as the last byte before LF: another byte after it shows that it was not.
  if (ends_in_return(reader)) reader->is_printable = false;
  if (byte != CR && !is_printable(byte)) reader->is_printable = false;
  if (reader->length < LINE_MOST) reader->bytes[reader->length] = (char)byte;
  if (reader->length <= LINE_MOST) reader->length++;
  return LINE_NONE;
}

void line_begin(void) {
  check = TS_CRC16_START;
}

void line_char(char c) {
  check = ts_crc16_next(check, (uint8_t)c);
  board_write((uint8_t)c);
}

void line_text(const char *flash) {
  for (const char *at = flash; BOARD_FLASH_BYTE(at) != 0; at++) line_char((char)BOARD_FLASH_BYTE(at));
}

void line_word(const char *list, uint8_t number) {
  line_text(words_at(list, number));
}

void line_number(uint32_t value) {
  char digits[DIGITS_MOST];
  uint8_t count = 0;
  uint32_t rest = value;
  do {
    digits[count] = (char)('0' + (char)(rest % 10u));
    rest /= 10u;
    count++;
  } while (rest > 0);
  while (count > 0) {
    count--;
    line_char(digits[count]);
  }
}

void line_end(void) {
  board_write((uint8_t)'*');
  for (uint8_t i = 0; i < CHECK_LENGTH - 1u; i++) {
    board_write((uint8_t)hex_digit((uint16_t)(check >> (12u - 4u * i))));
  }
  board_write(LF);
}
