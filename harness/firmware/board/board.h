/**
 * What must another microcontroller be given? The hardware layer: implement this page and the rest of the firmware
 * compiles unchanged. avr.c is the ATmega328P, arm.c an emulated Cortex-M3, host.c a program on a POSIX terminal.
 *
 * One thread; no function here is called from an interrupt. Only board_write and board_sleep may wait.
 */
#ifndef BOARD_H
#define BOARD_H

#include <stdbool.h>
#include <stdint.h>

/** Microseconds in a tick of the counter, 1 to 1,000, a divisor of 1,000,000. A day must fit into 2^31 ticks less room. */
#ifndef BOARD_TICK_MICROS
#define BOARD_TICK_MICROS 64u
#endif
#define BOARD_TICKS_PER_SECOND (1000000u / BOARD_TICK_MICROS)

/** What the device calls itself, beside its role. */
#ifndef BOARD_NAME
#if defined(__AVR__)
#define BOARD_NAME "ATmega328P"
#elif defined(__arm__)
#define BOARD_NAME "Cortex-M3"
#else
#define BOARD_NAME "native"
#endif
#endif

/** Constant text that need not take up RAM: how it is placed, and how a byte of it is read. */
#if defined(__AVR__)
#include <avr/pgmspace.h>
#define BOARD_FLASH PROGMEM
#define BOARD_FLASH_BYTE(at) pgm_read_byte(at)
#define BOARD_FLASH_LONG(at) pgm_read_dword(at)
#else
#define BOARD_FLASH
#define BOARD_FLASH_BYTE(at) (*(at))
#define BOARD_FLASH_LONG(at) (*(at))
#endif

/** Inputs, as bits: a controller's terminals, on when the wire is closed; the stroke that a fixture sees. */
#define BOARD_CONTACT 0x01u
#define BOARD_PRIME 0x02u
#define BOARD_HOLD 0x04u
#define BOARD_PERMISSION_MISSING 0x08u
#define BOARD_STROKE_SEEN 0x10u

/** Outputs: a controller's stroke; what a fixture works. */
typedef enum {
  BOARD_STROKE,
  BOARD_CLOSE_CONTACT,
  BOARD_WORK_PRIME,
  BOARD_WORK_HOLD,
  BOARD_WORK_INHIBIT
} board_output;

/** Starts the counter, the serial line and the pins; all outputs off. `is_fixture` chooses which pins are in use. */
void board_start(bool is_fixture);

/** The free-running counter of ticks, modulo 2^32. */
uint32_t board_ticks(void);

/** Takes the next byte that came over the line; false if there is none. 128 bytes must be able to wait. */
bool board_read(uint8_t *byte);

/** Sends a byte; waits for room if need be. */
void board_write(uint8_t byte);

/** The inputs that are on. */
uint8_t board_inputs(void);

/** Puts an output on or off. */
void board_drive(board_output output, bool on);

/**
 * Waits until a byte has come, an input has changed or, if `has_alarm`, the counter has reached `alarm_ticks`.
 * May come back early, which costs nothing; what it comes back late, a stroke comes late.
 */
void board_sleep(bool has_alarm, uint32_t alarm_ticks);

#endif
