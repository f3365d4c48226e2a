/**
 * The board as a Cortex-M3 of the kind that qemu emulates (mps2-an385), 25 MHz: UART0, and two timers for ticks and alarm.
 *
 * For the link alone: the emulation keeps no time of a serial line, and no pins are wired, so inputs are off. With its
 * start-up it is all there is below the link: no library.
 */
#include "board.h"

#include <stddef.h>

#define CLOCKS_PER_TICK (25u * BOARD_TICK_MICROS)
/** Longest sleep, well below the 171 s in which the timer goes round. */
#define SLEEP_MOST_CLOCKS (60u * 25000000u)
#define IN_MOST 256u

/** Registers of UART and timer in Arm's Cortex-M System Design Kit (DDI 0479), from memory; the emulator bears them out. */
typedef struct {
  volatile uint32_t data, state, control, interrupts, divisor;
} uart;
typedef struct {
  volatile uint32_t control, value, reload, interrupts;
} timer;

#define UART0 ((uart *)0x40004000u)
#define UART_FULL_OUT 1u
#define UART_FULL_IN 2u
#define UART_SEND 1u
#define UART_RECEIVE 2u
#define UART_TELL_RECEIVED 8u
#define UART_RECEIVED 2u
#define FREE_TIMER ((timer *)0x40000000u)
#define ALARM_TIMER ((timer *)0x40001000u)
#define TIMER_ON 1u
#define TIMER_TELLS 8u
#define INTERRUPTS_ON (*(volatile uint32_t *)0xE000E100u)
#define UART0_RECEIVED_NUMBER 0u
#define ALARM_NUMBER 9u

int main(void);
void start_here(void);
void *memcpy(void *to, const void *from, size_t count);
void *memset(void *to, int byte, size_t count);
extern uint32_t data_begin[], data_end[], data_image[], bss_begin[], bss_end[], stack_top[];

static uint8_t in[IN_MOST];
static volatile uint32_t in_first;
static volatile uint32_t in_end;

/** The compiler asks for these two by name. */
void *memcpy(void *to, const void *from, size_t count) {
  for (size_t i = 0; i < count; i++) ((volatile uint8_t *)to)[i] = ((const uint8_t *)from)[i];
  return to;
}

void *memset(void *to, int byte, size_t count) {
  for (size_t i = 0; i < count; i++) ((volatile uint8_t *)to)[i] = (uint8_t)byte;
  return to;
}

void start_here(void) {
  (void)memcpy(data_begin, data_image, (size_t)((uint8_t *)data_end - (uint8_t *)data_begin));
  (void)memset(bss_begin, 0, (size_t)((uint8_t *)bss_end - (uint8_t *)bss_begin));
  (void)main();
  for (;;) {
  }
}

static void stop(void) {
  for (;;) {
  }
}

static void receive(void) {
  UART0->interrupts = UART_RECEIVED;
  while ((UART0->state & UART_FULL_IN) != 0) {
    const uint8_t byte = (uint8_t)UART0->data;
    if (in_end - in_first == IN_MOST) continue; // Lost: the line's check will tell.
    in[in_end % IN_MOST] = byte;
    in_end++;
  }
}

/** Nothing is left to do but to have woken up. */
static void ring(void) {
  ALARM_TIMER->control = 0;
  ALARM_TIMER->interrupts = 1;
}

typedef void (*handler)(void);

/** The first is where the stack begins; sixteen of the processor's, then those of the board. */
static const union {
  const uint32_t *stack;
  handler handler;
} vectors[] __attribute__((section(".vectors"), used)) = {
  [0] = {.stack = stack_top},
  [1] = {.handler = start_here},
  [2] = {.handler = stop},
  [3] = {.handler = stop},
  [16 + UART0_RECEIVED_NUMBER] = {.handler = receive},
  [16 + ALARM_NUMBER] = {.handler = ring},
};

void board_start(bool is_fixture) {
  (void)is_fixture;
  FREE_TIMER->reload = 0xFFFFFFFFu;
  FREE_TIMER->value = 0xFFFFFFFFu;
  FREE_TIMER->control = TIMER_ON;
  UART0->divisor = 25000000u / 115200u;
  UART0->control = UART_SEND | UART_RECEIVE | UART_TELL_RECEIVED;
  INTERRUPTS_ON = 1u << UART0_RECEIVED_NUMBER | 1u << ALARM_NUMBER;
}

uint32_t board_ticks(void) {
  static uint32_t last = 0xFFFFFFFFu;
  static uint32_t rest;
  static uint32_t ticks;
  const uint32_t value = FREE_TIMER->value;
  rest += last - value; // It counts down.
  last = value;
  ticks += rest / CLOCKS_PER_TICK;
  rest %= CLOCKS_PER_TICK;
  return ticks;
}

bool board_read(uint8_t *byte) {
  if (in_first == in_end) return false;
  *byte = in[in_first % IN_MOST];
  in_first++;
  return true;
}

void board_write(uint8_t byte) {
  while ((UART0->state & UART_FULL_OUT) != 0) {
  }
  UART0->data = byte;
}

uint8_t board_inputs(void) {
  return 0;
}

void board_drive(board_output output, bool on) {
  (void)output;
  (void)on;
}

void board_sleep(bool has_alarm, uint32_t alarm_ticks) {
  const uint32_t ahead = has_alarm ? alarm_ticks - board_ticks() : 0xFFFFFFFFu;
  if (has_alarm && (ahead == 0 || ahead >= 0x80000000u)) return;
  const uint32_t clocks =
    ahead > SLEEP_MOST_CLOCKS / CLOCKS_PER_TICK ? SLEEP_MOST_CLOCKS : ahead * CLOCKS_PER_TICK;
  __asm__ volatile("cpsid i" ::: "memory");
  if (in_first == in_end) {
    ALARM_TIMER->value = clocks;
    ALARM_TIMER->reload = clocks;
    ALARM_TIMER->control = TIMER_ON | TIMER_TELLS;
    // An interrupt that is held back ends the wait all the same: none can be missed.
    __asm__ volatile("wfi");
  }
  __asm__ volatile("cpsie i" ::: "memory");
}
