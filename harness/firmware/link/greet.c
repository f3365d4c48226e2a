/**
 * The greeting; see greet.h.
 */
#include "greet.h"

#include "../board/board.h"
#include "line.h"
#include "report.h"
#include "run.h"
#include "side.h"
#include "words.h"

#define COUNTER_WIDTH 32u
#define LAWS 15u
/** Longest text of a line from a device; a report's number has up to five digits, and ` is ` and a space stand around. */
#define TEXT_MOST 122u
#define AROUND 10u

static const char is_word[] BOARD_FLASH = "is ";
static const char boot_word[] BOARD_FLASH = "boot ";
static const char link_words[] BOARD_FLASH = "link 1";
static const char name_word[] BOARD_FLASH = "name ";
static const char name_words[] BOARD_FLASH = BOARD_NAME;
static const char role_words[] BOARD_FLASH = "role ";
static const char controller_word[] BOARD_FLASH = "controller";
static const char fixture_word[] BOARD_FLASH = "fixture";
static const char ticks_word[] BOARD_FLASH = "ticks";
static const char queue_word[] BOARD_FLASH = "queue";
static const char window_word[] BOARD_FLASH = "window";
static const char keep_words[] BOARD_FLASH = "keep 0";
static const char clock_word[] BOARD_FLASH = "clock";
static const char takes_word[] BOARD_FLASH = "takes";
static const char tells_word[] BOARD_FLASH = "tells";
static const char laws_word[] BOARD_FLASH = "laws";
static const char settings_word[] BOARD_FLASH = "settings";
static const char none_words[] BOARD_FLASH = "settings none";

static const char *role_word(void) {
  return side.is_fixture ? fixture_word : controller_word;
}

static void name(void) {
  line_text(name_words);
  line_char(' ');
  line_text(role_word());
}

void greet_boot(void) {
  line_begin();
  line_text(boot_word);
  name();
  line_end();
}

/** `M is WHAT`. */
static void begin(const char *what) {
  report_number();
  line_text(is_word);
  line_text(what);
}

static void number(uint32_t value) {
  line_char(' ');
  line_number(value);
}

static void whole(const char *what) {
  begin(what);
  line_end();
}

/** The words of a list whose bits are set, continued in further lines where they do not fit. */
static void list(const char *what, const char *words, uint32_t bits) {
  const uint8_t most = (uint8_t)(TEXT_MOST - AROUND - words_length(what));
  uint8_t length = 0;
  uint8_t index = 0;
  begin(what);
  for (const char *at = words; BOARD_FLASH_BYTE(at) != 0; at += words_length(at) + 1, index++) {
    if ((bits >> index & 1u) == 0) continue;
    if (length > 0 && length + 1 + words_length(at) > most) {
      line_end();
      begin(what);
      length = 0;
    }
    length = (uint8_t)(length + (length > 0) + words_length(at));
    line_char(' ');
    line_text(at);
  }
  line_end();
}

void greet(void) {
  whole(link_words);
  begin(name_word);
  name();
  line_end();
  begin(role_words);
  line_text(role_word());
  line_end();
  begin(ticks_word);
  number(BOARD_TICKS_PER_SECOND);
  number(COUNTER_WIDTH);
  line_end();
  begin(queue_word);
  number(RUN_QUEUE);
  line_end();
  begin(window_word);
  number(LINK_WINDOW);
  line_end();
  whole(keep_words);
  list(clock_word, words_clocks, side.clocks);
  list(takes_word, words_inputs, side.takes);
  list(tells_word, words_reports, side.tells);
  begin(laws_word);
  for (uint8_t law = 0; law < LAWS; law++) {
    if ((side.laws >> law & 1u) != 0) number(law + 1u);
  }
  line_end();
  if (side.has_settings) list(settings_word, words_settings, 0xFFFFFFFFu);
  else whole(none_words);
}
