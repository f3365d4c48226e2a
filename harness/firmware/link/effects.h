/**
 * What came of a step of the twin, as reports? LINK.md, section 3. Told from the tallies alone, as lib/pacing/effects.ts does.
 */
#ifndef EFFECTS_H
#define EFFECTS_H

#include "../pacing/tallystroke.h"

/** What must be known of the state before a step. */
typedef struct {
  ts_tally tally;
  uint32_t owed;
  uint16_t remainder;
  uint16_t alarms;
} effects_before;

void effects_note(effects_before *before, const ts_state *s);

/** Reports what came of the step since `before` was noted; the accounts if they changed, or if `is_told_anyhow`. */
void effects_tell(const effects_before *before, const ts_state *s, uint32_t now, bool is_told_anyhow);

/** Reports the accounts. */
void effects_status(const ts_state *s, uint32_t now);

#endif
