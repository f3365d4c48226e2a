/*
 * What does an ATmega328P at 16 MHz do with this image? Our host program around libsimavr: the UART on standard streams or on a
 * pseudo-terminal, pins by script and into a log. C99 and POSIX.
 *
 * In virtual time nothing here looks at a clock: the same bytes in give the same bytes out. A line goes in when the part sleeps and
 * has sent all it had to, so that it does not matter in what pieces the bytes come.
 */
#define _GNU_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <poll.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include "part.h"

#define LINE_MOST IN_MOST
#define OUT_MOST 65536u
/* How often a live run looks at the clock and at the terminal. */
#define LIVE_CYCLES (HERTZ / 2000u)

static const char USAGE[] =
    "Runs an image for the ATmega328P at 16 MHz.\n"
    "usage: emulator IMAGE.hex                  UART on standard input and output, in virtual time\n"
    "       emulator --bench IMAGE.hex          by commands: settle CYCLE BYTES, advance CYCLE 0\n"
    "       emulator --script FILE IMAGE.hex    CYCLE pin PD2 0, CYCLE send TEXT, CYCLE end: one a line\n"
    "       emulator --live IMAGE.hex           in real time, UART on a pseudo-terminal, whose path is printed;\n"
    "                                           ends when standard input does\n"
    "with --pins FILE, before IMAGE: each change of an output pin, as CYCLE PIN LEVEL\n";

static avr_t *avr;
static int terminal = -1;
static uint8_t out[OUT_MOST];
static size_t out_length;

static void write_all(int file, const uint8_t *bytes, size_t length) {
  while (length > 0) {
    const ssize_t written = write(file, bytes, length);
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) exit(DONE); /* Nobody reads any more. */
    bytes += written;
    length -= (size_t)written;
  }
}

static void flush_out(void) {
  write_all(STDOUT_FILENO, out, out_length);
  out_length = 0;
}

static void on_byte(uint8_t byte) {
  if (terminal >= 0) {
    /* As on a wire, what nobody takes is lost. */
    if (write(terminal, &byte, 1) < 0 && errno != EAGAIN) exit(DONE);
    return;
  }
  if (out_length == OUT_MOST) fail(FAILED, "more than %u bytes were sent at one command\n", OUT_MOST);
  out[out_length++] = byte;
}

/* Standard input and output in virtual time. */
static int run_plain(void) {
  static char line[LINE_MOST];
  for (;;) {
    while (!part_is_idle()) {
      part_run_once(FOREVER, true);
      if (out_length > OUT_MOST / 2) flush_out();
    }
    flush_out();
    if (fgets(line, sizeof line, stdin) == NULL) return DONE;
    part_feed((const uint8_t *)line, strlen(line));
  }
}

/* Commands of a bench that owns the time: each is answered by the cycle, whether the part is idle, and what it sent. */
static int run_bench(void) {
  static char line[128];
  static uint8_t bytes[LINE_MOST];
  while (fgets(line, sizeof line, stdin) != NULL) {
    char verb[16];
    uint64_t until;
    unsigned length;
    if (sscanf(line, "%15s %" SCNu64 " %u", verb, &until, &length) != 3 || length > LINE_MOST)
      fail(BAD_USAGE, "bad command: %s", line);
    if (fread(bytes, 1, length, stdin) != length) return DONE;
    part_feed(bytes, length);
    if (strcmp(verb, "advance") == 0) part_run_until(until, false, true);
    else part_run_until(until, true, false);
    char head[64];
    const int head_length = snprintf(head, sizeof head, "%" PRIu64 " %s %zu\n", avr->cycle, part_is_idle() ? "idle" : "busy", out_length);
    write_all(STDOUT_FILENO, (const uint8_t *)head, (size_t)head_length);
    flush_out();
  }
  return DONE;
}

static int run_script(const char *path) {
  FILE *file = fopen(path, "r");
  if (file == NULL) fail(BAD_USAGE, "%s: %s\n", path, strerror(errno));
  char line[256];
  while (fgets(line, sizeof line, file) != NULL) {
    uint64_t at;
    char verb[8];
    char rest[200] = "";
    if (sscanf(line, "%" SCNu64 " %7s %199[^\n]", &at, verb, rest) < 2) fail(BAD_USAGE, "%s: bad line: %s", path, line);
    part_run_until(at, false, false);
    if (strcmp(verb, "end") == 0) break;
    if (strcmp(verb, "pin") == 0 && strlen(rest) == 5 && rest[3] == ' ') {
      rest[3] = '\0';
      part_set_pin(rest, rest[4] == '1');
    } else if (strcmp(verb, "send") == 0) {
      const size_t length = strlen(rest);
      rest[length] = '\n';
      part_feed((const uint8_t *)rest, length + 1);
    } else fail(BAD_USAGE, "%s: bad line: %s", path, line);
    flush_out();
  }
  (void)fclose(file);
  flush_out();
  return DONE;
}

static double real_seconds(void) {
  struct timespec now;
  (void)clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

/* Waits for the real time, and takes what has come on the terminal. */
static avr_cycle_count_t keep_pace(avr_t *at, avr_cycle_count_t when, void *param) {
  static double start = -1;
  (void)param;
  const double due = (double)when / HERTZ;
  if (start < 0) start = real_seconds() - due;
  double ahead = start + due - real_seconds();
  /* Behind by more than a process is usually kept waiting: what was missed is not run after. */
  if (ahead < -0.2) start -= ahead;
  struct pollfd files[2] = {{.fd = terminal, .events = POLLIN}, {.fd = STDIN_FILENO, .events = POLLIN}};
  do {
    struct timespec wait = {0, ahead > 0 ? (long)(ahead * 1e9) : 0};
    if (part_room() < LINE_MOST / 2) files[0].fd = -1;
    if (ppoll(files, 2, &wait, NULL) > 0) {
      uint8_t bytes[256];
      if ((files[1].revents & (POLLIN | POLLHUP)) != 0 && read(STDIN_FILENO, bytes, sizeof bytes) <= 0) exit(DONE);
      if ((files[0].revents & POLLIN) != 0) {
        const ssize_t length = read(terminal, bytes, sizeof bytes);
        if (length > 0) part_feed(bytes, (size_t)length);
      }
    }
    ahead = start + due - real_seconds();
  } while (ahead > 0);
  (void)at;
  return when + LIVE_CYCLES;
}

static void run_live(void) {
  terminal = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
  if (terminal < 0 || grantpt(terminal) != 0 || unlockpt(terminal) != 0)
    fail(FAILED, "no pseudo-terminal: %s\n", strerror(errno));
  const char *path = ptsname(terminal);
  /* Held open, so that the bench may come and go. */
  const int other = open(path, O_RDWR | O_NOCTTY);
  struct termios settings;
  if (other < 0 || tcgetattr(other, &settings) != 0) fail(FAILED, "%s: %s\n", path, strerror(errno));
  settings.c_iflag = settings.c_oflag = settings.c_lflag = 0;
  settings.c_cflag = CS8 | CREAD | CLOCAL;
  (void)tcsetattr(other, TCSANOW, &settings);
  (void)printf("%s\n", path);
  (void)fflush(stdout);
  avr_cycle_timer_register(avr, LIVE_CYCLES, keep_pace, NULL);
  for (;;) part_run_once(FOREVER, false);
}

int main(int argc, char **argv) {
  bool is_live = false;
  bool is_bench = false;
  const char *script = NULL;
  FILE *pin_log = NULL;
  int next = 1;
  for (; next < argc && argv[next][0] == '-'; next++) {
    if (strcmp(argv[next], "--live") == 0) is_live = true;
    else if (strcmp(argv[next], "--bench") == 0) is_bench = true;
    else if (strcmp(argv[next], "--script") == 0 && next + 1 < argc) script = argv[++next];
    else if (strcmp(argv[next], "--pins") == 0 && next + 1 < argc) {
      pin_log = fopen(argv[++next], "w");
      if (pin_log == NULL) fail(BAD_USAGE, "%s: %s\n", argv[next], strerror(errno));
    } else fail(strcmp(argv[next], "--help") == 0 ? DONE : BAD_USAGE, "%s", USAGE);
  }
  if (argc - next != 1) fail(BAD_USAGE, "%s", USAGE);
  avr = part_start(argv[next], on_byte, pin_log);
  if (is_live) run_live();
  if (is_bench) return run_bench();
  return script != NULL ? run_script(script) : run_plain();
}
