/**
 * A board in virtual time, for tests: what comes over the line and at the pins is read from standard input, each with its
 * tick; what is said goes to standard output, and each change of an output as `# TICK OUTPUT LEVEL`.
 *
 * A line of the script: `TICK send TEXT`, `TICK pins BITS`, `TICK cost TICKS` (so much passes whenever the counter is read,
 * as where work takes time), `TICK end`. The first may be `TICK start`: what the counter reads at the start.
 */
#include "../../harness/firmware/board/board.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LINE_MOST 512u
#define OUTPUTS 5u

static uint64_t now;
static uint64_t cost;
static uint64_t next_at;
static char next_what[LINE_MOST];
static char next_text[LINE_MOST];
static char in[LINE_MOST];
static size_t in_first;
static uint8_t inputs;
static bool outputs[OUTPUTS];
static bool has_changed;

static void read_next(void) {
  char line[LINE_MOST];
  next_text[0] = '\0';
  if (fgets(line, (int)sizeof line, stdin) == NULL) exit(EXIT_SUCCESS);
  line[strcspn(line, "\n")] = '\0';
  if (sscanf(line, "%" SCNu64 " %500s %500[^\n]", &next_at, next_what, next_text) < 2) exit(EXIT_FAILURE);
}

/** Does what the script has for now; false if there is nothing more for now. */
static bool play(void) {
  if (next_at > now || in[in_first] != '\0') return false;
  if (strcmp(next_what, "end") == 0) exit(EXIT_SUCCESS);
  if (strcmp(next_what, "cost") == 0) cost = strtoull(next_text, NULL, 10);
  if (strcmp(next_what, "pins") == 0) {
    inputs = (uint8_t)strtoul(next_text, NULL, 10);
    has_changed = true;
  }
  if (strcmp(next_what, "send") == 0) {
    (void)snprintf(in, sizeof in, "%.500s\n", next_text);
    in_first = 0;
  }
  read_next();
  return true;
}

void board_start(bool is_fixture) {
  (void)is_fixture;
  read_next();
  if (strcmp(next_what, "start") != 0) return;
  now = next_at;
  read_next();
}

uint32_t board_ticks(void) {
  now += cost;
  return (uint32_t)now;
}

bool board_read(uint8_t *byte) {
  while (play()) {
  }
  if (in[in_first] == '\0') return false;
  *byte = (uint8_t)in[in_first];
  in_first++;
  return true;
}

void board_write(uint8_t byte) {
  (void)putchar(byte);
}

uint8_t board_inputs(void) {
  return inputs;
}

void board_drive(board_output output, bool on) {
  if (outputs[output] == on) return;
  outputs[output] = on;
  (void)printf("# %" PRIu64 " %d %d\n", now, (int)output, (int)on);
}

void board_sleep(bool has_alarm, uint32_t alarm_ticks) {
  const uint32_t ahead = alarm_ticks - (uint32_t)now;
  if (has_changed || in[in_first] != '\0') {
    has_changed = false;
    return;
  }
  uint64_t until = next_at;
  if (has_alarm && ahead < UINT32_C(0x80000000) && now + ahead < until) until = now + ahead;
  if (until > now) now = until;
}
