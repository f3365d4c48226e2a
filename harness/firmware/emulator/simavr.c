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
#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include <avr_ioport.h>
#include <avr_uart.h>
#include <sim_avr.h>
#include <sim_core.h>
#include <sim_hex.h>

#define HERTZ 16000000u
#define LINE_MOST 4096u
#define OUT_MOST 65536u
/* How often a live run looks at the clock and at the terminal. */
#define LIVE_CYCLES (HERTZ / 2000u)
/* Addresses of the UART's registers in data memory (data sheet, "Register Summary"). */
#define UCSR0A 0xc0u
#define UBRR0L 0xc4u
#define UBRR0H 0xc5u
#define U2X0 0x02u
#define BITS_A_BYTE 10u
#define FOREVER UINT64_MAX

enum { DONE = 0, BAD_USAGE = 2, FAILED = 3 };

static const char USAGE[] =
    "Runs an image for the ATmega328P at 16 MHz.\n"
    "usage: emulator IMAGE.hex                  UART on standard input and output, in virtual time\n"
    "       emulator --bench IMAGE.hex          by commands: settle CYCLE BYTES, advance CYCLE 0\n"
    "       emulator --script FILE IMAGE.hex    CYCLE pin PD2 0, CYCLE send TEXT, CYCLE end: one a line\n"
    "       emulator --live IMAGE.hex           in real time, UART on a pseudo-terminal, whose path is printed;\n"
    "                                           ends when standard input does\n"
    "with --pins FILE, before IMAGE: each change of an output pin, as CYCLE PIN LEVEL\n";

static avr_t *avr;
static avr_uart_t *uart;
static FILE *pin_log;
static int terminal = -1;

static uint8_t out[OUT_MOST];
static size_t out_length;
/* The UART is busy until then. */
static avr_cycle_count_t sent_at;
static bool has_sent;

static uint8_t in[LINE_MOST];
static size_t in_length, in_next;
static bool is_receiving;

static void fail(int status, const char *format, ...) {
  va_list words;
  va_start(words, format);
  (void)vfprintf(stderr, format, words);
  va_end(words);
  exit(status);
}

static void log_errors(avr_t *source, const int level, const char *format, va_list words) {
  (void)source;
  if (level <= LOG_ERROR) (void)vfprintf(stderr, format, words);
}

static avr_cycle_count_t cycles_a_byte(void) {
  const unsigned divider = (unsigned)avr->data[UBRR0L] | ((unsigned)avr->data[UBRR0H] & 0x0fu) << 8;
  return (divider + 1u) * ((avr->data[UCSR0A] & U2X0) != 0 ? 8u : 16u) * BITS_A_BYTE;
}

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

static void on_byte(avr_irq_t *irq, uint32_t value, void *param) {
  (void)irq;
  (void)param;
  const uint8_t byte = (uint8_t)value;
  sent_at = (sent_at > avr->cycle ? sent_at : avr->cycle) + cycles_a_byte();
  has_sent = true;
  if (terminal >= 0) {
    /* As on a wire, what nobody takes is lost. */
    if (write(terminal, &byte, 1) < 0 && errno != EAGAIN) exit(DONE);
    return;
  }
  if (out_length == OUT_MOST) fail(FAILED, "more than %u bytes were sent at one command\n", OUT_MOST);
  out[out_length++] = byte;
}

/* The next byte has arrived; simavr takes the time of one byte to let it in. */
static avr_cycle_count_t receive(avr_t *at, avr_cycle_count_t when, void *param) {
  (void)at;
  (void)param;
  if (in_next == in_length) {
    is_receiving = false;
    return 0;
  }
  avr_raise_irq(uart->io.irq + UART_IRQ_INPUT, in[in_next++]);
  return when + cycles_a_byte();
}

static void feed(const uint8_t *bytes, size_t length) {
  if (in_next == in_length) in_next = in_length = 0;
  if (length > LINE_MOST - in_length) fail(FAILED, "more than %u bytes at once\n", LINE_MOST);
  memcpy(in + in_length, bytes, length);
  in_length += length;
  if (is_receiving || length == 0) return;
  is_receiving = true;
  avr_cycle_timer_register(avr, 1, receive, NULL);
}

/* Asleep, with no byte on its way: only the timer, or a pin, can wake it. */
static bool is_idle(void) {
  return avr->state == cpu_Sleeping && avr->cycle >= sent_at && !is_receiving && avr->interrupt_state == 0;
}

/* As the library's own run, but that a sleep ends at `until`, and that one which is to end at idle does so before time goes on. */
static void run_once(avr_cycle_count_t until, bool to_idle) {
  /* simavr counts eleven bits, and does not see a change of U2X alone. */
  uart->cycles_per_byte = cycles_a_byte();
  avr_flashaddr_t next = avr->pc;
  if (avr->state == cpu_Running) next = avr_run_one(avr);
  const avr_cycle_count_t wait = avr_cycle_timer_process(avr);
  avr->pc = next;
  if (avr->state == cpu_Sleeping && avr->interrupt_state == 0) {
    if (avr->sreg[S_I] == 0) fail(FAILED, "the firmware sleeps with interrupts off\n");
    if (to_idle && is_idle()) return;
    avr_cycle_count_t end = avr->cycle + wait + 1;
    if (end > until) end = until;
    if (end > sent_at && sent_at > avr->cycle) end = sent_at;
    if (end > avr->cycle) avr->cycle = end;
  }
  if (avr->interrupt_state != 0) avr_service_interrupts(avr);
  if (avr->state != cpu_Running && avr->state != cpu_Sleeping) fail(FAILED, "the firmware went astray\n");
}

/* Until it is idle, or sends a byte, or a moment has come. */
static void run_until(avr_cycle_count_t until, bool to_idle, bool to_byte) {
  has_sent = false;
  while (avr->cycle < until && !(to_idle && is_idle()) && !(to_byte && has_sent)) run_once(until, to_idle);
}

/* Standard input and output in virtual time. */
static int run_plain(void) {
  static char line[LINE_MOST];
  for (;;) {
    while (!is_idle()) {
      run_once(FOREVER, true);
      if (out_length > OUT_MOST / 2) flush_out();
    }
    flush_out();
    if (fgets(line, sizeof line, stdin) == NULL) return DONE;
    feed((const uint8_t *)line, strlen(line));
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
    feed(bytes, length);
    if (strcmp(verb, "advance") == 0) run_until(until, false, true);
    else run_until(until, true, false);
    char head[64];
    const int head_length = snprintf(head, sizeof head, "%" PRIu64 " %s %zu\n", avr->cycle, is_idle() ? "idle" : "busy", out_length);
    write_all(STDOUT_FILENO, (const uint8_t *)head, (size_t)head_length);
    flush_out();
  }
  return DONE;
}

static avr_irq_t *pin_irq(const char *pin) {
  if (strlen(pin) != 3 || pin[0] != 'P' || (pin[1] != 'B' && pin[1] != 'D') || pin[2] < '0' || pin[2] > '7')
    fail(BAD_USAGE, "%s is no pin: PB0 to PB7, PD0 to PD7\n", pin);
  return avr_io_getirq(avr, (uint32_t)AVR_IOCTL_IOPORT_GETIRQ(pin[1]), pin[2] - '0');
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
    run_until(at, false, false);
    if (strcmp(verb, "end") == 0) break;
    if (strcmp(verb, "pin") == 0 && strlen(rest) == 5 && rest[3] == ' ') {
      const uint32_t level = rest[4] == '1';
      rest[3] = '\0';
      avr_raise_irq(pin_irq(rest), level);
    } else if (strcmp(verb, "send") == 0) {
      const size_t length = strlen(rest);
      rest[length] = '\n';
      feed((const uint8_t *)rest, length + 1);
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
    if (in_length - in_next > LINE_MOST / 2) files[0].fd = -1;
    if (ppoll(files, 2, &wait, NULL) > 0) {
      uint8_t bytes[256];
      if ((files[1].revents & (POLLIN | POLLHUP)) != 0 && read(STDIN_FILENO, bytes, sizeof bytes) <= 0) exit(DONE);
      if ((files[0].revents & POLLIN) != 0) {
        const ssize_t length = read(terminal, bytes, sizeof bytes);
        if (length > 0) feed(bytes, (size_t)length);
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
  for (;;) run_once(FOREVER, false);
}

static void on_pin(avr_irq_t *irq, uint32_t value, void *param) {
  const uintptr_t pin = (uintptr_t)param;
  const char port = (char)(pin >> 4);
  const unsigned bit = pin & 7u;
  const unsigned direction = avr->data[port == 'B' ? 0x24 : 0x2a];
  (void)irq;
  /* A pull-up, or a level from outside, is not the firmware's. */
  if ((direction & 1u << bit) == 0) return;
  (void)fprintf(pin_log, "%" PRIu64 " P%c%u %u\n", avr->cycle, port, bit, (unsigned)(value & 1u));
}

static void connect_pins(void) {
  for (const char *port = "BD"; *port != '\0'; port++) {
    for (unsigned bit = 0; bit < 8; bit++) {
      avr_irq_t *irq = avr_io_getirq(avr, (uint32_t)AVR_IOCTL_IOPORT_GETIRQ(*port), (int)bit);
      /* Pulled up from outside, as open contacts are. */
      avr_raise_irq(irq, 1);
      if (pin_log != NULL) avr_irq_register_notify(irq, on_pin, (void *)((uintptr_t)*port << 4 | bit));
    }
  }
}

static void load(const char *path) {
  uint32_t size = 0;
  uint32_t start = 0;
  uint8_t *image = access(path, R_OK) == 0 ? read_ihex_file(path, &size, &start) : NULL;
  if (image == NULL) fail(BAD_USAGE, "%s is no Intel HEX file that can be read\n", path);
  avr = avr_make_mcu_by_name("atmega328p");
  if (avr == NULL) fail(FAILED, "this libsimavr knows no ATmega328P\n");
  avr_global_logger_set(log_errors);
  avr_init(avr);
  avr->frequency = HERTZ;
  avr->log = LOG_ERROR;
  if (start + size > avr->flashend + 1) fail(BAD_USAGE, "%s does not fit the part\n", path);
  avr_loadcode(avr, image, size, start);
  avr->codeend = avr->flashend;
  free(image);
  uint32_t flags = 0;
  avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
  avr_io_t *io = avr->io_port;
  while (io != NULL && strcmp(io->kind, "uart") != 0) io = io->next;
  if (io == NULL) fail(FAILED, "this libsimavr gives the part no UART\n");
  /* Its first member is the io. */
  uart = (avr_uart_t *)(void *)io;
  avr_irq_register_notify(uart->io.irq + UART_IRQ_OUTPUT, on_byte, NULL);
}

int main(int argc, char **argv) {
  bool is_live = false;
  bool is_bench = false;
  const char *script = NULL;
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
  load(argv[next]);
  connect_pins();
  if (is_live) run_live();
  if (is_bench) return run_bench();
  return script != NULL ? run_script(script) : run_plain();
}
