/**
 * Staged settings; see staged.h.
 */
#include "staged.h"

#include <stddef.h>

#include "../board/board.h"

#define RATE ((uint32_t)BOARD_TICKS_PER_SECOND)
// As wide as a week is: an int of the AVR has 16 bits.
#define HOUR UINT32_C(3600)
#define DAY (24u * HOUR)
#define WEEK (7u * DAY)
/** So many seconds in ticks, as far as the twin takes them. */
#define TICKS_WITHIN(seconds) ((seconds) > TS_DURATION_MOST / RATE ? TS_DURATION_MOST : (seconds) * RATE)
/** … rounded up, from milliseconds below 4,294. */
#define TICKS_OF_MILLIS(millis) (((millis) * 1000u + BOARD_TICK_MICROS - 1u) / BOARD_TICK_MICROS)
#define NUMBER_MOST 65535u
#define INCREASE_MOST 1000u
#define CONTACTS_OWED 10u
#define MINUTE_AND_A_HALF 90u
#define MINUTE 60u

/** How the value of a setting is written. */
enum { COUNT, CHOICE, AT_LEAST, AT_MOST };

typedef struct {
  uint8_t form;
  /** 0 or 1. */
  uint8_t least;
  /** A count's, or a time's in seconds. */
  uint32_t most;
} range;

static const range ranges[SETTINGS_COUNT] BOARD_FLASH = {
  [SETTING_STROKES] = {COUNT, 1, NUMBER_MOST},
  [SETTING_CONTACTS] = {COUNT, 1, NUMBER_MOST},
  [SETTING_CADENCE] = {CHOICE, 0, 0},
  [SETTING_LEAST_SPACING] = {AT_LEAST, 1, HOUR},
  [SETTING_OWED_LIMIT] = {COUNT, 1, NUMBER_MOST},
  [SETTING_GRACE] = {AT_MOST, 1, DAY},
  [SETTING_LONGEST_PRIME] = {AT_MOST, 1, HOUR},
  [SETTING_PRIME_SPACING] = {AT_LEAST, 1, HOUR},
  [SETTING_CONTACTS_DURING_PRIME] = {CHOICE, 0, 0},
  [SETTING_GUARD_BUDGET] = {COUNT, 0, NUMBER_MOST},
  [SETTING_GUARD_PERIOD] = {AT_LEAST, 1, DAY},
  [SETTING_GUARD_BURST] = {COUNT, 1, NUMBER_MOST},
  [SETTING_CLOSED] = {AT_LEAST, 0, 10},
  [SETTING_OPEN] = {AT_LEAST, 0, 10},
  [SETTING_LEAST_CONTACT] = {AT_LEAST, 0, HOUR},
  [SETTING_STUCK] = {AT_LEAST, 0, WEEK},
  [SETTING_SILENT] = {AT_LEAST, 0, WEEK},
  [SETTING_LARGEST_INCREASE] = {COUNT, 1, INCREASE_MOST},
};

/** Bit by number of those that have been staged, and their values. */
static uint32_t given;
static ts_settings staged;

static uint16_t *count_of(ts_settings *s, uint8_t setting) {
  switch (setting) {
    case SETTING_STROKES:
      return &s->strokes;
    case SETTING_CONTACTS:
      return &s->contacts;
    case SETTING_OWED_LIMIT:
      return &s->owed_limit_strokes;
    case SETTING_GUARD_BUDGET:
      return &s->guard_budget_strokes;
    case SETTING_GUARD_BURST:
      return &s->guard_burst_strokes;
    default:
      return &s->largest_increase;
  }
}

static ts_ticks *time_of(ts_settings *s, uint8_t setting) {
  switch (setting) {
    case SETTING_LEAST_SPACING:
      return &s->least_spacing_ticks;
    case SETTING_GRACE:
      return &s->grace_ticks;
    case SETTING_LONGEST_PRIME:
      return &s->longest_prime_ticks;
    case SETTING_PRIME_SPACING:
      return &s->prime_spacing_ticks;
    case SETTING_GUARD_PERIOD:
      return &s->guard_period_ticks;
    case SETTING_CLOSED:
      return &s->closed_ticks;
    case SETTING_OPEN:
      return &s->open_ticks;
    case SETTING_LEAST_CONTACT:
      return &s->least_contact_ticks;
    case SETTING_STUCK:
      return &s->stuck_ticks;
    default:
      return &s->silent_ticks;
  }
}

static bool set_choice(uint8_t setting, link_word value) {
  const bool is_cadence = setting == SETTING_CADENCE;
  const uint8_t choice = words_find(is_cadence ? words_cadences : words_during_prime, value);
  if (choice == WORDS_NONE) return false;
  if (is_cadence) staged.cadence = choice;
  else staged.contacts_during_prime = choice;
  return true;
}

static bool set_count(uint8_t setting, link_word value, uint8_t least, uint32_t most) {
  uint32_t count = 0;
  if (!words_number(value, most, &count) || count < least) return false;
  *count_of(&staged, setting) = (uint16_t)count;
  return true;
}

/** Divided by the tick digit by digit, as one does by hand: microseconds of a week take more than 32 bits. */
static bool set_time(uint8_t setting, link_word value, uint8_t form, uint8_t least, uint32_t most_seconds) {
  const uint32_t most = TICKS_WITHIN(most_seconds);
  uint32_t ticks = 0;
  uint32_t rest = 0;
  if (value.length > 1 && value.text[0] == '0') return false;
  for (uint8_t i = 0; i < value.length; i++) {
    const char digit = value.text[i];
    if (digit < '0' || digit > '9') return false;
    rest = rest * 10u + (uint32_t)(digit - '0');
    // One digit more than fits the most is past it, whatever comes.
    if (ticks > most / 10u) return false;
    ticks = ticks * 10u + rest / BOARD_TICK_MICROS;
    rest %= BOARD_TICK_MICROS;
  }
  if (ticks > most || (ticks == most && rest > 0)) return false;
  if (ticks == 0 && rest < least) return false;
  // A time that is not 0 must not become it.
  if (rest > 0 && (form == AT_LEAST || ticks == 0)) ticks++;
  *time_of(&staged, setting) = ticks;
  return true;
}

void staged_forget(void) {
  given = 0;
}

link_reason staged_set(link_word name, link_word value) {
  const uint8_t setting = words_find(words_settings, name);
  if (setting == WORDS_NONE) return LINK_WORD;
  const uint8_t form = BOARD_FLASH_BYTE(&ranges[setting].form);
  const uint8_t least = BOARD_FLASH_BYTE(&ranges[setting].least);
  const uint32_t most = BOARD_FLASH_LONG(&ranges[setting].most);
  bool is_set = false;
  if (form == CHOICE) is_set = set_choice(setting, value);
  else if (form == COUNT) is_set = set_count(setting, value, least, most);
  else is_set = set_time(setting, value, form, least, most);
  if (!is_set) return LINK_VALUE;
  given |= (uint32_t)1 << setting;
  return LINK_DONE;
}

static bool is_given(link_setting setting) {
  return (given >> setting & 1u) != 0;
}

static void or_count(ts_settings *s, link_setting setting, uint32_t usual) {
  if (!is_given(setting)) *count_of(s, (uint8_t)setting) = (uint16_t)(usual > NUMBER_MOST ? NUMBER_MOST : usual);
}

static void or_time(ts_settings *s, link_setting setting, ts_ticks usual) {
  if (!is_given(setting)) *time_of(s, (uint8_t)setting) = usual;
}

/** The usual value of what was not staged, as lib/pacing has it; the ratio 1:1 at two strokes a second. */
static void complete(ts_settings *s) {
  or_count(s, SETTING_STROKES, 1);
  or_count(s, SETTING_CONTACTS, 1);
  or_time(s, SETTING_LEAST_SPACING, TICKS_OF_MILLIS(500u));
  if (!is_given(SETTING_CADENCE)) s->cadence = TS_SPREAD;
  or_count(s, SETTING_OWED_LIMIT, CONTACTS_OWED * (((uint32_t)s->strokes + s->contacts - 1u) / s->contacts));
  or_time(s, SETTING_GRACE, TICKS_WITHIN(MINUTE_AND_A_HALF));
  or_time(s, SETTING_LONGEST_PRIME, TICKS_WITHIN(MINUTE));
  or_time(s, SETTING_PRIME_SPACING, s->least_spacing_ticks);
  if (!is_given(SETTING_CONTACTS_DURING_PRIME)) s->contacts_during_prime = TS_EARN;
  or_count(s, SETTING_GUARD_BUDGET, 0);
  or_time(s, SETTING_GUARD_PERIOD, TICKS_WITHIN(HOUR));
  or_count(s, SETTING_GUARD_BURST, s->guard_budget_strokes == 0 ? 1u : s->guard_budget_strokes);
  or_time(s, SETTING_CLOSED, TICKS_OF_MILLIS(10u));
  or_time(s, SETTING_OPEN, TICKS_OF_MILLIS(10u));
  or_time(s, SETTING_LEAST_CONTACT, 0);
  or_time(s, SETTING_STUCK, TICKS_WITHIN(DAY));
  or_time(s, SETTING_SILENT, TICKS_WITHIN(DAY));
  or_count(s, SETTING_LARGEST_INCREASE, 2);
}

static uint8_t setting_at_fault(ts_fault fault) {
  // The twin looks at choices last; the link has them in their place.
  if (fault == TS_FAULT_CADENCE) return SETTING_CADENCE;
  if (fault == TS_FAULT_CONTACTS_DURING_PRIME) return SETTING_CONTACTS_DURING_PRIME;
  uint8_t setting = (uint8_t)(fault - TS_FAULT_STROKES);
  if (setting >= SETTING_CADENCE) setting++;
  if (setting >= SETTING_CONTACTS_DURING_PRIME) setting++;
  return setting;
}

uint8_t staged_take(ts_settings *settings) {
  *settings = staged;
  complete(settings);
  const ts_fault fault = ts_validate(settings);
  return fault == TS_SOUND ? WORDS_NONE : setting_at_fault(fault);
}
