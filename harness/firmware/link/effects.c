/**
 * Effects of a step; see effects.h.
 */
#include "effects.h"

#include "../board/board.h"
#include "line.h"
#include "report.h"

#define SHED_CAUSES 6u

static const char contacts_name[] BOARD_FLASH = "contacts";
static const char earned_name[] BOARD_FLASH = "earned";
static const char paced_name[] BOARD_FLASH = "paced";
static const char primed_name[] BOARD_FLASH = "primed";
static const char owed_name[] BOARD_FLASH = "owed";
static const char shed_name[] BOARD_FLASH = "shed";
static const char remainder_name[] BOARD_FLASH = "remainder";
static const char strokes_name[] BOARD_FLASH = "strokes";
static const char cause_name[] BOARD_FLASH = "cause";

void effects_note(effects_before *before, const ts_state *s) {
  before->tally = s->tally;
  before->owed = s->owed;
  before->remainder = s->remainder;
  before->alarms = s->alarms;
}

static uint32_t shed_by(const ts_tally *tally, uint8_t cause) {
  switch (cause) {
    case 0:
      return tally->shed_limit;
    case 1:
      return tally->shed_still;
    case 2:
      return tally->shed_hold;
    case 3:
      return tally->shed_inhibit;
    case 4:
      return tally->shed_trip;
    default:
      return tally->shed_power;
  }
}

static uint32_t shed_in_all(const ts_tally *tally) {
  uint32_t sum = 0;
  for (uint8_t cause = 0; cause < SHED_CAUSES; cause++) sum += shed_by(tally, cause);
  return sum;
}

static void tell_contacts(link_report_kind kind, uint32_t contacts, uint32_t now) {
  if (contacts == 0) return;
  report_begin(kind, now);
  report_figure(contacts_name, contacts);
  line_end();
}

static void tell_shed(const ts_tally *before, const ts_tally *after, uint32_t now) {
  for (uint8_t cause = 0; cause < SHED_CAUSES; cause++) {
    const uint32_t strokes = shed_by(after, cause) - shed_by(before, cause);
    if (strokes == 0) continue;
    report_begin(REPORT_SHED, now);
    line_char(' ');
    line_text(cause_name);
    line_char('=');
    line_word(words_shed_causes, cause);
    report_figure(strokes_name, strokes);
    line_end();
  }
}

static void tell_alarm(link_report_kind kind, uint8_t alarm, uint32_t now) {
  report_begin(kind, now);
  line_char(' ');
  line_word(words_alarms, alarm);
  line_end();
}

/** On and off by turns, whatever happened within the step: an alarm that stood goes off before it comes on again. */
static void tell_alarms(uint16_t before, const ts_state *s, uint32_t now) {
  uint16_t rest = (uint16_t)(s->raised | s->cleared);
  for (uint8_t alarm = 0; rest != 0; alarm++, rest = (uint16_t)(rest >> 1u)) {
    const uint16_t bit = (uint16_t)(1u << alarm);
    const bool stands = (s->alarms & bit) != 0;
    const bool is_raised = (s->raised & bit) != 0;
    if ((before & s->cleared & bit) != 0) {
      tell_alarm(REPORT_ALARM_OFF, alarm, now);
    } else if (!stands && is_raised) {
      tell_alarm(REPORT_ALARM_ON, alarm, now);
      tell_alarm(REPORT_ALARM_OFF, alarm, now);
    }
    if (stands && is_raised) tell_alarm(REPORT_ALARM_ON, alarm, now);
  }
}

static bool has_changed(const effects_before *before, const ts_state *s) {
  const ts_tally *was = &before->tally;
  return s->tally.earned != was->earned || s->tally.paced != was->paced || s->tally.primed != was->primed ||
         s->owed != before->owed || s->remainder != before->remainder ||
         shed_in_all(&s->tally) != shed_in_all(was);
}

void effects_tell(const effects_before *before, const ts_state *s, uint32_t now, bool is_told_anyhow) {
  const ts_tally *was = &before->tally;
  const ts_tally *is = &s->tally;
  if (is->counted != was->counted) {
    report_begin(REPORT_COUNTED, now);
    report_figure(contacts_name, is->counted - was->counted);
    report_figure(earned_name, is->earned - was->earned);
    line_end();
  }
  tell_contacts(REPORT_IGNORED, is->ignored - was->ignored, now);
  tell_contacts(REPORT_REJECTED, is->rejected - was->rejected, now);
  tell_shed(was, is, now);
  if (is->paced != was->paced) report_bare(REPORT_PACED, now);
  if (is->primed != was->primed) report_bare(REPORT_PRIMED, now);
  if (is->refused != was->refused) report_bare(REPORT_REFUSED, now);
  tell_alarms(before->alarms, s, now);
  if (is_told_anyhow || has_changed(before, s)) effects_status(s, now);
}

void effects_status(const ts_state *s, uint32_t now) {
  report_begin(REPORT_STATUS, now);
  report_figure(earned_name, s->tally.earned);
  report_figure(paced_name, s->tally.paced);
  report_figure(primed_name, s->tally.primed);
  report_figure(owed_name, s->owed);
  report_figure(shed_name, shed_in_all(&s->tally));
  report_figure(remainder_name, s->remainder);
  line_end();
}
