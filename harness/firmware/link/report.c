/**
 * Reports; see report.h.
 */
#include "report.h"

#include "line.h"

#define NUMBER_MOST 65535u

static uint16_t last;

uint16_t report_last(void) {
  return last;
}

void report_forget(void) {
  last = 0;
}

void report_number(void) {
  last = last == NUMBER_MOST ? 1u : (uint16_t)(last + 1u);
  line_begin();
  line_number(last);
  line_char(' ');
}

void report_begin(link_report_kind kind, uint32_t ticks) {
  report_number();
  line_word(words_reports, (uint8_t)kind);
  line_char(' ');
  line_number(ticks);
}

void report_bare(link_report_kind kind, uint32_t ticks) {
  report_begin(kind, ticks);
  line_end();
}

void report_did(uint32_t ticks, uint16_t request) {
  report_begin(REPORT_DID, ticks);
  line_char(' ');
  if (request == 0) line_char('-');
  else line_number(request);
  line_end();
}

void report_figure(const char *name, uint32_t value) {
  line_char(' ');
  line_text(name);
  line_char('=');
  line_number(value);
}
