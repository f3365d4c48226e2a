/*
 * Does the device's end of the link stand whatever comes over the line? A harness for a coverage-guided fuzzer.
 *
 * The board is played: its counter stands still until the input moves it. Bytes go to the link as they are, but three
 * that no line holds: END ends the line with its right check, WAIT and PINS take the byte after them for a time or the
 * terminals' levels. Looked for beside what the sanitizers see: that all that is sent are whole lines, printable, not too
 * long and rightly checked; and that a typed request is answered.
 */
#include <setjmp.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include "../board/board.h"
#include "../link/line.h"
#include "../link/link.h"
#include "../pacing/tallystroke.h"

#define END 0xFCu
#define PINS 0xFDu
#define WAIT 0xFEu
#define LF 0x0Au

/* Longest line that a device may send, with check and LF. */
#define SENT_MOST 128u
/* A run may stroke for as long as it likes; an input that makes it say more than this is cut off there. */
#define OUTPUT_MOST 16384u
/* Wake-ups within one wait. */
#define WAKES_MOST 256u

static uint32_t ticks;
static uint8_t inputs;
static uint8_t sent[SENT_MOST];
static size_t sent_length;
static size_t output;
static size_t sent_lines;
static jmp_buf enough;

static void must(bool holds) {
  if (!holds) abort();
}

static uint8_t digit(uint16_t crc, unsigned place) {
  const unsigned nibble = ((unsigned)crc >> (4u * place)) & 15u;
  return (uint8_t)(nibble < 10u ? '0' + nibble : 'A' + (nibble - 10u));
}

/* A whole line has been sent: TEXT*CCCC. */
static void look(void) {
  const size_t text = sent_length - 5u;
  must(sent_length > 5u);
  for (size_t i = 0; i < sent_length; i++) must(sent[i] >= 0x20u && sent[i] <= 0x7Eu && (i == text) == (sent[i] == '*'));
  const uint16_t crc = ts_crc16(sent, (uint16_t)text);
  for (unsigned place = 0; place < 4u; place++) must(sent[sent_length - 1u - place] == digit(crc, place));
}

void board_start(bool is_fixture) { (void)is_fixture; }

uint32_t board_ticks(void) { return ticks; }

bool board_read(uint8_t *byte) {
  (void)byte;
  return false;
}

void board_write(uint8_t byte) {
  output++;
  if (byte == LF) {
    look();
    sent_length = 0;
    sent_lines++;
    if (output > OUTPUT_MOST) longjmp(enough, 1);
    return;
  }
  must(sent_length < SENT_MOST - 1u);
  sent[sent_length] = byte;
  sent_length++;
}

uint8_t board_inputs(void) { return inputs; }

void board_drive(board_output pin, bool on) {
  must(pin <= BOARD_WORK_INHIBIT);
  (void)on;
}

void board_sleep(bool has_alarm, uint32_t alarm_ticks) {
  (void)has_alarm;
  (void)alarm_ticks;
}

/* Lets time go on by 2^exponent ticks, waking the link whenever it asks. */
static void wait_for(uint8_t exponent) {
  const uint32_t until = ticks + (UINT32_C(1) << (exponent & 30u));
  for (unsigned i = 0; i < WAKES_MOST; i++) {
    uint32_t alarm = 0;
    if (!link_wakes(&alarm) || alarm - ticks > until - ticks) break;
    ticks = alarm;
    link_work();
  }
  ticks = until;
  link_work();
}

/* The line that is being typed, to be able to end it with its check, and to know whether it must be answered. */
static uint8_t typed[LINE_MOST];
static size_t typed_length;
static bool is_plain;
static bool has_checked;

static void take(uint8_t byte) {
  const size_t before = sent_lines;
  link_take(byte);
  if (byte == LF) {
    /* Checked requests may be late repetitions, which are passed over. */
    if (typed_length > 0 && is_plain && !has_checked) must(sent_lines > before);
    typed_length = 0;
    is_plain = true;
    return;
  }
  must(sent_lines == before);
  if (byte < 0x20u || byte > 0x7Eu) is_plain = false;
  if (byte == '*') has_checked = true;
  if (typed_length < LINE_MOST) {
    typed[typed_length] = byte;
    typed_length++;
  }
}

static void end_checked(void) {
  const uint16_t crc = ts_crc16(typed, (uint16_t)typed_length);
  take('*');
  for (unsigned place = 4u; place > 0u; place--) take(digit(crc, place - 1u));
  take(LF);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  ticks = 0;
  inputs = 0;
  output = 0;
  sent_length = 0;
  typed_length = 0;
  is_plain = true;
  has_checked = false;
  if (setjmp(enough) != 0) return 0;
  link_start();
  for (volatile size_t i = 0; i < size; i++) {
    const uint8_t byte = data[i];
    if (byte == END) {
      end_checked();
    } else if ((byte == WAIT || byte == PINS) && i + 1u < size) {
      i++;
      if (byte == WAIT) {
        wait_for(data[i]);
      } else {
        inputs = data[i] & 31u;
        link_work();
      }
    } else {
      take(byte);
    }
  }
  return 0;
}
