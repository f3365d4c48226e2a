/**
 * The words of the link, and numbers among them; see words.h.
 */
#include "words.h"

#include "../board/board.h"

const char words_verbs[] BOARD_FLASH =
  "hello\0set\0clock\0lag\0begin\0at\0do\0go\0time\0tell\0again\0end\0bye\0";
const char words_reasons[] BOARD_FLASH =
  "check\0long\0byte\0order\0word\0value\0settings\0state\0full\0late\0far\0";
const char words_inputs[] BOARD_FLASH =
  "wake\0close\0open\0contact\0prime-on\0prime-off\0hold-on\0hold-off\0inhibit-on\0inhibit-off\0reset\0settings\0"
  "power-off\0power-on\0";
const char words_causes[] BOARD_FLASH = "permission\0tank\0pump\0flow\0other\0";
const char words_confirmed[] BOARD_FLASH = "confirmed\0unconfirmed\0";
const char words_dark[] BOARD_FLASH = "dark-known\0dark-unknown\0";
const char words_reports[] BOARD_FLASH =
  "did\0paced\0primed\0stroke\0counted\0ignored\0rejected\0shed\0refused\0alarm-on\0alarm-off\0status\0fault\0";
const char words_shed_causes[] BOARD_FLASH = "limit\0still\0hold\0inhibit\0trip\0power\0";
const char words_alarms[] BOARD_FLASH =
  "stuck\0silent\0too-fast\0owed-limit\0still-water\0shed-in-hold\0shed-in-inhibit\0tripped\0prime-too-long\0"
  "shed-at-restart\0change-refused\0";
const char words_clocks[] BOARD_FLASH = "stepped\0free\0settable\0lag\0";
const char words_settings[] BOARD_FLASH =
  "strokes\0contacts\0cadence\0leastSpacingMicros\0owedLimitStrokes\0graceMicros\0longestPrimeMicros\0"
  "primeSpacingMicros\0contactsDuringPrime\0guardBudgetStrokes\0guardPeriodMicros\0guardBurstStrokes\0"
  "closedMicros\0openMicros\0leastContactMicros\0stuckMicros\0silentMicros\0largestIncrease\0";
const char words_cadences[] BOARD_FLASH = "spread\0prompt\0";
const char words_during_prime[] BOARD_FLASH = "earn\0ignore\0";

static bool is_same(const char *flash, link_word word) {
  for (uint8_t i = 0; i < word.length; i++) {
    // A line holds no NUL, so a word that is shorter here differs at its end.
    if (BOARD_FLASH_BYTE(&flash[i]) != word.text[i]) return false;
  }
  return BOARD_FLASH_BYTE(&flash[word.length]) == 0;
}

uint8_t words_find(const char *list, link_word word) {
  uint8_t number = 0;
  if (word.length == 0) return WORDS_NONE;
  for (const char *at = list; BOARD_FLASH_BYTE(at) != 0; at += words_length(at) + 1) {
    if (is_same(at, word)) return number;
    number++;
  }
  return WORDS_NONE;
}

const char *words_at(const char *list, uint8_t number) {
  const char *at = list;
  for (uint8_t i = 0; i < number; i++) at += words_length(at) + 1;
  return at;
}

uint8_t words_length(const char *word) {
  uint8_t length = 0;
  while (BOARD_FLASH_BYTE(&word[length]) != 0) length++;
  return length;
}

bool words_number(link_word word, uint32_t most, uint32_t *value) {
  uint32_t sum = 0;
  if (word.length == 0 || (word.length > 1 && word.text[0] == '0')) return false;
  for (uint8_t i = 0; i < word.length; i++) {
    const char digit = word.text[i];
    if (digit < '0' || digit > '9') return false;
    const uint8_t add = (uint8_t)(digit - '0');
    if (sum > (most - add) / 10u) return false;
    sum = sum * 10u + add;
  }
  *value = sum;
  return true;
}
