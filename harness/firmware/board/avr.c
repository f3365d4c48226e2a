/**
 * The board as an ATmega328P at 16 MHz: UART0 at 115,200 baud, Timer1 for ticks of 64 µs, ports B and D.
 *
 * It sleeps whenever nothing is to be done; the timer's compare match, a byte or a pin that changes wakes it.
 */
#include "board.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>

#define CPU_HERTZ 16000000UL
#define BAUD_RATE 115200UL
/** At double speed a bit takes 8 clocks: rounded, 2.1 % fast. */
#define BAUD_DIVISOR ((CPU_HERTZ + BAUD_RATE * 4UL) / (BAUD_RATE * 8UL) - 1UL)
#define PRESCALER 1024UL

#if BOARD_TICK_MICROS * (CPU_HERTZ / 1000000UL) != PRESCALER
#error "a tick must be 1,024 clocks"
#endif

/** Room for what a bench sends unasked; and for what one step brings about, so that it seldom has to be waited for. */
#define IN_MOST 128u
#define OUT_MOST 256u

/** Places are counted modulo 256, of which both lengths are divisors. */
static volatile uint8_t in[IN_MOST];
static volatile uint8_t in_first;
static volatile uint8_t in_end;
static volatile uint8_t out[OUT_MOST];
static volatile uint8_t out_first;
static volatile uint8_t out_end;
/** The counter's bits above the timer's 16. */
static volatile uint16_t high;
static volatile bool has_changed;

/** A controller's terminals, in the order of their bits; closed pulls the pin low. */
#define TERMINALS (_BV(PD2) | _BV(PD3) | _BV(PD4) | _BV(PD5))
#define FIRST_TERMINAL PD2

ISR(TIMER1_OVF_vect) {
  high++;
}

/** Nothing is left to do but to have woken up. */
EMPTY_INTERRUPT(TIMER1_COMPA_vect)

ISR(PCINT2_vect) {
  has_changed = true;
}

ISR(USART_RX_vect) {
  const uint8_t byte = UDR0;
  if ((uint8_t)(in_end - in_first) == IN_MOST) return; // Lost: the line's check will tell.
  in[in_end % IN_MOST] = byte;
  in_end++;
}

ISR(USART_UDRE_vect) {
  UDR0 = out[out_first];
  out_first++;
  if (out_first == out_end) UCSR0B &= (uint8_t)~_BV(UDRIE0);
}

static void start_pins(bool is_fixture) {
  // What is not in use is pulled up rather than left afloat.
  PORTC = 0x3F;
  PORTB = _BV(PB5);
  if (is_fixture) {
    DDRB = _BV(PB1) | _BV(PB2) | _BV(PB3) | _BV(PB4);
    PORTB |= _BV(PB0);
    PORTD = TERMINALS | _BV(PD7);
    PCMSK2 = _BV(PCINT22);
  } else {
    DDRB = _BV(PB0);
    PORTB |= _BV(PB1) | _BV(PB2) | _BV(PB3) | _BV(PB4);
    PORTD = TERMINALS | _BV(PD6) | _BV(PD7);
    PCMSK2 = _BV(PCINT18) | _BV(PCINT19) | _BV(PCINT20) | _BV(PCINT21);
  }
  PCICR = _BV(PCIE2);
}

void board_start(bool is_fixture) {
  start_pins(is_fixture);
  TCCR1A = 0;
  TCCR1B = _BV(CS12) | _BV(CS10);
  TIMSK1 = _BV(TOIE1);
  UBRR0 = BAUD_DIVISOR;
  UCSR0A = _BV(U2X0);
  UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
  UCSR0B = _BV(RXCIE0) | _BV(RXEN0) | _BV(TXEN0);
  SMCR = 0; // Idle: the timer and the line go on.
  sei();
}

/** With interrupts off. */
static uint32_t read_ticks(void) {
  const uint16_t low = TCNT1;
  uint16_t above = high;
  // The timer has gone round and its interrupt not come yet.
  if ((TIFR1 & _BV(TOV1)) != 0 && low < 0x8000u) above++;
  return (uint32_t)above << 16u | low;
}

uint32_t board_ticks(void) {
  cli();
  const uint32_t ticks = read_ticks();
  sei();
  return ticks;
}

bool board_read(uint8_t *byte) {
  const uint8_t first = in_first;
  if (first == in_end) return false;
  *byte = in[first % IN_MOST];
  in_first = (uint8_t)(first + 1u);
  return true;
}

/** With interrupts off: sleeps till one comes. */
static void sleep_now(void) {
  sleep_enable();
  sei(); // The instruction after it is done before any interrupt: none can be missed.
  sleep_cpu();
  sleep_disable();
}

void board_write(uint8_t byte) {
  const uint8_t next = (uint8_t)(out_end + 1u);
  cli();
  while (next == out_first) {
    sleep_now();
    cli();
  }
  out[out_end] = byte;
  out_end = next;
  UCSR0B |= _BV(UDRIE0);
  sei();
}

uint8_t board_inputs(void) {
  const uint8_t pins = PIND;
  const uint8_t terminals = (uint8_t)((~pins & TERMINALS) >> FIRST_TERMINAL);
  return (pins & _BV(PD6)) != 0 ? (uint8_t)(terminals | BOARD_STROKE_SEEN) : terminals;
}

void board_drive(board_output output, bool on) {
  // PB0 is the stroke, PB1 to PB4 what a fixture works.
  const uint8_t pin = (uint8_t)_BV(output);
  if (on) PORTB |= pin;
  else PORTB &= (uint8_t)~pin;
}

/** With interrupts off: has the match wake us; false if it is too near for that. */
static bool set_alarm(uint32_t alarm_ticks) {
  const uint32_t ahead = alarm_ticks - read_ticks();
  if (ahead <= 2u || ahead >= 0x80000000u) return false;
  // The match is told at the end of its tick. Beyond one turn of the timer its overflow wakes us to look again.
  if (ahead < 0xFFFFu) {
    OCR1A = (uint16_t)(alarm_ticks - 1u);
    TIFR1 = _BV(OCF1A);
    TIMSK1 |= _BV(OCIE1A);
  }
  return true;
}

void board_sleep(bool has_alarm, uint32_t alarm_ticks) {
  cli();
  if (in_first == in_end && !has_changed && (!has_alarm || set_alarm(alarm_ticks))) sleep_now();
  has_changed = false;
  TIMSK1 &= (uint8_t)~_BV(OCIE1A);
  sei();
}
