/*
 * The part; see part.h. Ours are the rate of its UART, the order in which bytes go in, and that a sleep can be stopped.
 */
#include "part.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <avr_ioport.h>
#include <avr_uart.h>
#include <sim_core.h>
#include <sim_hex.h>

/* Addresses of registers in data memory (data sheet, "Register Summary"). */
#define DDRB 0x24u
#define DDRD 0x2au
#define UCSR0A 0xc0u
#define UBRR0L 0xc4u
#define UBRR0H 0xc5u
#define U2X0 0x02u
#define BITS_A_BYTE 10u

static avr_t *avr;
static avr_uart_t *uart;
static FILE *pins;
static void (*tell_byte)(uint8_t byte);

/* The UART is busy until then. */
static avr_cycle_count_t sent_at;
static bool has_sent;

static uint8_t in[IN_MOST];
static size_t in_length, in_next;
static bool is_receiving;

void fail(int status, const char *format, ...) {
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

static void on_byte(avr_irq_t *irq, uint32_t value, void *param) {
  (void)irq;
  (void)param;
  sent_at = (sent_at > avr->cycle ? sent_at : avr->cycle) + cycles_a_byte();
  has_sent = true;
  tell_byte((uint8_t)value);
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

size_t part_room(void) {
  return IN_MOST - (in_length - in_next);
}

void part_feed(const uint8_t *bytes, size_t length) {
  if (length > part_room()) fail(FAILED, "more than %u bytes at once\n", IN_MOST);
  memmove(in, in + in_next, in_length - in_next);
  in_length -= in_next;
  in_next = 0;
  memcpy(in + in_length, bytes, length);
  in_length += length;
  if (is_receiving || length == 0) return;
  is_receiving = true;
  avr_cycle_timer_register(avr, 1, receive, NULL);
}

bool part_is_idle(void) {
  return avr->state == cpu_Sleeping && avr->cycle >= sent_at && !is_receiving && avr->interrupt_state == 0;
}

/* As the library's own run, but that a sleep ends at `until`, and that one which is to end at idle does so before time goes on. */
void part_run_once(avr_cycle_count_t until, bool to_idle) {
  /* simavr counts eleven bits, and does not see a change of U2X alone. */
  uart->cycles_per_byte = cycles_a_byte();
  avr_flashaddr_t next = avr->pc;
  if (avr->state == cpu_Running) next = avr_run_one(avr);
  const avr_cycle_count_t wait = avr_cycle_timer_process(avr);
  avr->pc = next;
  if (avr->state == cpu_Sleeping && avr->interrupt_state == 0) {
    if (avr->sreg[S_I] == 0) fail(FAILED, "the firmware sleeps with interrupts off\n");
    if (to_idle && part_is_idle()) return;
    avr_cycle_count_t end = avr->cycle + wait + 1;
    if (end > until) end = until;
    if (end > sent_at && sent_at > avr->cycle) end = sent_at;
    if (end > avr->cycle) avr->cycle = end;
  }
  if (avr->interrupt_state != 0) avr_service_interrupts(avr);
  if (avr->state != cpu_Running && avr->state != cpu_Sleeping) fail(FAILED, "the firmware went astray\n");
}

void part_run_until(avr_cycle_count_t until, bool to_idle, bool to_byte) {
  has_sent = false;
  while (avr->cycle < until && !(to_idle && part_is_idle()) && !(to_byte && has_sent)) part_run_once(until, to_idle);
}

static avr_irq_t *pin_irq(const char *pin) {
  if (strlen(pin) != 3 || pin[0] != 'P' || (pin[1] != 'B' && pin[1] != 'D') || pin[2] < '0' || pin[2] > '7')
    fail(BAD_USAGE, "%s is no pin: PB0 to PB7, PD0 to PD7\n", pin);
  return avr_io_getirq(avr, (uint32_t)AVR_IOCTL_IOPORT_GETIRQ(pin[1]), pin[2] - '0');
}

void part_set_pin(const char *pin, bool is_high) {
  avr_raise_irq(pin_irq(pin), is_high ? 1 : 0);
}

static void on_pin(avr_irq_t *irq, uint32_t value, void *param) {
  const uintptr_t pin = (uintptr_t)param;
  const char port = (char)(pin >> 4);
  const unsigned bit = pin & 7u;
  const unsigned direction = avr->data[port == 'B' ? DDRB : DDRD];
  (void)irq;
  /* A pull-up, or a level from outside, is not the firmware's. */
  if ((direction & 1u << bit) == 0) return;
  (void)fprintf(pins, "%" PRIu64 " P%c%u %u\n", avr->cycle, port, bit, (unsigned)(value & 1u));
}

static void connect_pins(void) {
  for (const char *port = "BD"; *port != '\0'; port++) {
    for (unsigned bit = 0; bit < 8; bit++) {
      avr_irq_t *irq = avr_io_getirq(avr, (uint32_t)AVR_IOCTL_IOPORT_GETIRQ(*port), (int)bit);
      /* Pulled up from outside, as open contacts are. */
      avr_raise_irq(irq, 1);
      if (pins != NULL) avr_irq_register_notify(irq, on_pin, (void *)((uintptr_t)*port << 4 | bit));
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

avr_t *part_start(const char *path, void (*take_byte)(uint8_t byte), FILE *pin_log) {
  tell_byte = take_byte;
  pins = pin_log;
  load(path);
  connect_pins();
  return avr;
}
