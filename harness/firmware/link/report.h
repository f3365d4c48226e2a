/**
 * Which number does a report bear, and how does it begin? LINK.md, section 3. None is kept to be sent again.
 */
#ifndef REPORT_H
#define REPORT_H

#include <stdint.h>

#include "words.h"

/** Number of the last report, 0 if there is none yet. */
uint16_t report_last(void);

/** The next report is number 1. */
void report_forget(void);

/** Begins a line of the greeting or a report, `M `; the caller goes on with the line and ends it. */
void report_number(void);

/** Begins a report, `M KIND T`. */
void report_begin(link_report_kind kind, uint32_t ticks);

/** A whole report that has no detail. */
void report_bare(link_report_kind kind, uint32_t ticks);

/** An input has acted: the number of its request, 0 if it was typed. */
void report_did(uint32_t ticks, uint16_t request);

/** ` NAME=VALUE` of a report; `name` stands in flash. */
void report_figure(const char *name, uint32_t value);

#endif
