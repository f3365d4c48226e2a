/*
 * The part itself: an ATmega328P at 16 MHz by libsimavr, one in a process. No clock and no I/O but the log of its pins.
 */
#ifndef PART_H
#define PART_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <sim_avr.h>

#define HERTZ 16000000u
/* Most bytes that may wait to go in. */
#define IN_MOST 4096u
#define FOREVER UINT64_MAX

enum { DONE = 0, BAD_USAGE = 2, FAILED = 3 };

/* Ends the program with words on standard error. */
void fail(int status, const char *format, ...) __attribute__((noreturn));

/* Starts the part with an Intel HEX file, its pins pulled up. `on_byte` is told what it sends, `pin_log` or NULL what it drives. */
avr_t *part_start(const char *path, void (*on_byte)(uint8_t byte), FILE *pin_log);

/* Sends bytes in, one after the other at the rate of the UART. */
void part_feed(const uint8_t *bytes, size_t length);

/* How many bytes may be fed just now. */
size_t part_room(void);

/* A level from outside on a pin such as PD2. */
void part_set_pin(const char *pin, bool is_high);

/* Asleep, with no byte on its way: only the timer, or a pin, can wake it. */
bool part_is_idle(void);

/* One stretch of the library's, never past `until`. */
void part_run_once(avr_cycle_count_t until, bool to_idle);

/* Until a moment, or until it is idle or sends a byte where that is asked for. */
void part_run_until(avr_cycle_count_t until, bool to_idle, bool to_byte);

#endif
