/**
 * The board as a program on a POSIX terminal: the link on standard input and output, so that a pseudo-terminal makes a
 * serial line of it and the very link code of the microcontroller runs natively. It has no pins: inputs are off.
 */
#define _POSIX_C_SOURCE 200809L

#include "board.h"

#include <poll.h>
#include <stdlib.h>
#include <time.h>
#include <unistd.h>

#define IN_MOST 128u
#define OUT_MOST 4096u
#define MICROS_PER_SECOND 1000000u
#define NANOS_PER_MICRO 1000
#define MICROS_PER_MILLI 1000u
#define LONGEST_WAIT_MILLIS 60000

static uint8_t in[IN_MOST];
static size_t in_first;
static size_t in_end;
static uint8_t out[OUT_MOST];
static size_t out_end;

static void send_all(void) {
  size_t sent = 0;
  while (sent < out_end) {
    const ssize_t count = write(STDOUT_FILENO, &out[sent], out_end - sent);
    if (count <= 0) exit(EXIT_SUCCESS); // Nobody listens any more.
    sent += (size_t)count;
  }
  out_end = 0;
}

/** Waits for bytes, at most so long. The program ends with its input. */
static void receive(int millis) {
  struct pollfd ready = {.fd = STDIN_FILENO, .events = POLLIN};
  if (poll(&ready, 1, millis) <= 0) return;
  const ssize_t count = read(STDIN_FILENO, in, IN_MOST);
  if (count <= 0) exit(EXIT_SUCCESS);
  in_first = 0;
  in_end = (size_t)count;
}

void board_start(bool is_fixture) {
  (void)is_fixture;
}

uint32_t board_ticks(void) {
  struct timespec now;
  (void)clock_gettime(CLOCK_MONOTONIC, &now);
  const uint64_t micros = (uint64_t)now.tv_sec * MICROS_PER_SECOND + (uint64_t)(now.tv_nsec / NANOS_PER_MICRO);
  return (uint32_t)(micros / BOARD_TICK_MICROS);
}

bool board_read(uint8_t *byte) {
  if (in_first == in_end) return false;
  *byte = in[in_first];
  in_first++;
  return true;
}

void board_write(uint8_t byte) {
  if (out_end == OUT_MOST) send_all();
  out[out_end] = byte;
  out_end++;
}

uint8_t board_inputs(void) {
  return 0;
}

void board_drive(board_output output, bool on) {
  (void)output;
  (void)on;
}

void board_sleep(bool has_alarm, uint32_t alarm_ticks) {
  int millis = LONGEST_WAIT_MILLIS;
  send_all();
  if (in_first < in_end) return;
  if (has_alarm) {
    const uint32_t ahead = alarm_ticks - board_ticks();
    if (ahead == 0 || ahead >= UINT32_C(0x80000000)) return;
    // Rounded down, and the last millisecond spent looking again: late is late, early costs nothing.
    const uint64_t wait = (uint64_t)ahead * BOARD_TICK_MICROS / MICROS_PER_MILLI;
    if (wait < LONGEST_WAIT_MILLIS) millis = (int)wait;
  }
  receive(millis);
}
