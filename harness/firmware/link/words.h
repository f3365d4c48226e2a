/**
 * Which words does the link know, and how is a number written? LINK.md, sections 2 to 6.
 *
 * A list is one text in flash, a NUL after each word and one more at its end; a word's place in it is its number here.
 */
#ifndef WORDS_H
#define WORDS_H

#include <stdbool.h>
#include <stdint.h>

/** No word of the list. */
#define WORDS_NONE 0xFFu

typedef enum {
  VERB_HELLO,
  VERB_SET,
  VERB_CLOCK,
  VERB_LAG,
  VERB_BEGIN,
  VERB_AT,
  VERB_DO,
  VERB_GO,
  VERB_TIME,
  VERB_TELL,
  VERB_AGAIN,
  VERB_END,
  VERB_BYE
} link_verb;
extern const char words_verbs[];

/** Why a request is not done; `LINK_DONE` is none of them, and `words_reasons` begins after it. */
typedef enum {
  LINK_DONE,
  LINK_CHECK,
  LINK_LONG,
  LINK_BYTE,
  LINK_ORDER,
  LINK_WORD,
  LINK_VALUE,
  LINK_SETTINGS,
  LINK_STATE,
  LINK_FULL,
  LINK_LATE,
  LINK_FAR
} link_reason;
extern const char words_reasons[];

typedef enum {
  INPUT_WAKE,
  INPUT_CLOSE,
  INPUT_OPEN,
  INPUT_CONTACT,
  INPUT_PRIME_ON,
  INPUT_PRIME_OFF,
  INPUT_HOLD_ON,
  INPUT_HOLD_OFF,
  INPUT_INHIBIT_ON,
  INPUT_INHIBIT_OFF,
  INPUT_RESET,
  INPUT_SETTINGS,
  INPUT_POWER_OFF,
  INPUT_POWER_ON
} link_input_kind;
extern const char words_inputs[];
/** An input's second word: `words_causes`; 0 is `confirmed` of `words_confirmed` and `dark-known` of `words_dark`. */
extern const char words_causes[];
extern const char words_confirmed[];
extern const char words_dark[];

typedef enum {
  REPORT_DID,
  REPORT_PACED,
  REPORT_PRIMED,
  REPORT_STROKE,
  REPORT_COUNTED,
  REPORT_IGNORED,
  REPORT_REJECTED,
  REPORT_SHED,
  REPORT_REFUSED,
  REPORT_ALARM_ON,
  REPORT_ALARM_OFF,
  REPORT_STATUS,
  REPORT_FAULT
} link_report_kind;
extern const char words_reports[];
extern const char words_shed_causes[];
extern const char words_alarms[];

typedef enum { CLOCK_STEPPED, CLOCK_FREE, CLOCK_SETTABLE, CLOCK_LAG } link_clock;
extern const char words_clocks[];

typedef enum {
  SETTING_STROKES,
  SETTING_CONTACTS,
  SETTING_CADENCE,
  SETTING_LEAST_SPACING,
  SETTING_OWED_LIMIT,
  SETTING_GRACE,
  SETTING_LONGEST_PRIME,
  SETTING_PRIME_SPACING,
  SETTING_CONTACTS_DURING_PRIME,
  SETTING_GUARD_BUDGET,
  SETTING_GUARD_PERIOD,
  SETTING_GUARD_BURST,
  SETTING_CLOSED,
  SETTING_OPEN,
  SETTING_LEAST_CONTACT,
  SETTING_STUCK,
  SETTING_SILENT,
  SETTING_LARGEST_INCREASE,
  SETTINGS_COUNT
} link_setting;
extern const char words_settings[];
extern const char words_cadences[];
extern const char words_during_prime[];

/** A word of a line: not ended by NUL. */
typedef struct {
  const char *text;
  uint8_t length;
} link_word;

/** The number of a word in a list, or WORDS_NONE. */
uint8_t words_find(const char *list, link_word word);

/** Where the word of that number begins in flash; its length is `words_length`. */
const char *words_at(const char *list, uint8_t number);
uint8_t words_length(const char *word);

/** A decimal number without sign or leading zeros, at most `most`, which is 9 or more; false if the word is none. */
bool words_number(link_word word, uint32_t most, uint32_t *value);

#endif
