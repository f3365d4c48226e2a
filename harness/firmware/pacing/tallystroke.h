/*
 * The pacing core in C99: contacts in, stroke commands out. The twin of lib/pacing, word for word where it can be.
 *
 * One header, one source; no allocation, no floating point, no recursion, no library, no clock of its own. The caller
 * gives the time of every step and is told when the next one is needed at the latest. Names are those of lib/pacing in
 * snake_case; what is Micros there is ticks here.
 *
 * Time. A tick is what the caller's free-running 32-bit counter counts: 1 µs to 1 ms, 64 µs being a good choice. The
 * counter may start anywhere and wraps. It is compared in one place alone, with its value at the last step; inside the
 * record times are counted from a horizon that follows TS_HORIZON ticks behind, so that nothing in there ever wraps.
 * What lies before the horizon has faded to 0, "longer ago than any setting can tell".
 *
 * Invariants at rest, between two calls: earned = paced + owed + every shed cause, modulo 2^32; owed is at most the
 * owed limit; remainder is below contacts; while held, inhibited or tripped nothing is owed and nothing is primed.
 */
#ifndef TALLYSTROKE_H
#define TALLYSTROKE_H

#include <stdbool.h>
#include <stdint.h>

/** A time or a duration, in ticks of the caller's counter. */
typedef uint32_t ts_ticks;

/** Longest duration that can be set: 1 day at 64 µs a tick. */
#define TS_DURATION_MOST UINT32_C(1350000000)
/** Longest qualifying time of the line (closed, open): 10 s at 1 µs a tick. */
#define TS_QUALIFY_MOST UINT32_C(10000000)
/** How far back the record can tell times apart: further than any setting reaches from any time that it looks at. */
#define TS_HORIZON (TS_DURATION_MOST + TS_QUALIFY_MOST)
/** A wake-up is asked for at the latest this long after a step, so that the counter can be read across its wrap. */
#define TS_WAKE_MOST UINT32_C(1073741824)
/**
 * Longest time between two steps that is taken as it is, some 500 million ticks of lateness. A longer one, below 2^31,
 * acts as this one: strokes come later, nothing else. From 2^31 on the counter is taken to have been read earlier
 * than at the last step, and the step acts at the time of that one.
 */
#define TS_GAP_MOST UINT32_C(1570000000)

/** `cadence`: evenly over the last contact interval, or as soon as the cap allows. */
enum { TS_SPREAD, TS_PROMPT };
/** `contacts_during_prime`. */
enum { TS_EARN, TS_IGNORE };

/** What a user may set, and what `ts_validate` derives from it. It must not change while it is in force. */
typedef struct {
  uint16_t strokes;              /* m of the ratio m:d, from 1: strokes for every `contacts` contacts */
  uint16_t contacts;             /* d of the ratio m:d, from 1 */
  ts_ticks least_spacing_ticks;  /* the rate cap, from 1; exactly this far apart is allowed */
  uint8_t cadence;               /* TS_SPREAD or TS_PROMPT */
  uint8_t contacts_during_prime; /* TS_EARN or TS_IGNORE */
  uint16_t owed_limit_strokes;   /* from 1; beyond it strokes are shed */
  ts_ticks grace_ticks;          /* still-water grace, from 1 */
  ts_ticks longest_prime_ticks;  /* from 1 */
  ts_ticks prime_spacing_ticks;  /* from least_spacing_ticks */
  uint16_t guard_budget_strokes; /* per guard_period_ticks, of every cause; 0 is no guard */
  ts_ticks guard_period_ticks;   /* from 1 */
  uint16_t guard_burst_strokes;  /* from 1: strokes that may come at once after a rest */
  ts_ticks closed_ticks;         /* a closure counts once closed this long, up to TS_QUALIFY_MOST */
  ts_ticks open_ticks;           /* ... after having been open this long, up to TS_QUALIFY_MOST */
  ts_ticks least_contact_ticks;  /* contacts closer than this are rejected; 0 rejects none */
  ts_ticks stuck_ticks;          /* closed for longer is alarmed; 0 is never */
  ts_ticks silent_ticks;         /* no contact for longer is alarmed; 0 is never */
  uint16_t largest_increase;     /* 1 to 1,000: a change that multiplies the feed by more must be confirmed */

  uint16_t strokes_per_contact_most; /* from here on derived: most strokes that one contact can earn */
  uint16_t contact_whole_strokes;    /* strokes / contacts, whole ... */
  uint16_t contact_rest;             /* ... and a rest over contacts */
  ts_ticks guard_interval_ticks;     /* period / budget, whole ... */
  uint16_t guard_interval_rest;      /* ... and a rest over the budget */
  ts_ticks guard_tolerance_ticks;    /* (burst - 1) * period / budget, in the same two parts */
  uint16_t guard_tolerance_rest;
} ts_settings;

/** The first setting that is at fault; single values are looked at first, then how they stand to each other. */
typedef enum {
  TS_SOUND,
  TS_FAULT_STROKES,
  TS_FAULT_CONTACTS,
  TS_FAULT_LEAST_SPACING,
  TS_FAULT_OWED_LIMIT,
  TS_FAULT_GRACE,
  TS_FAULT_LONGEST_PRIME,
  TS_FAULT_PRIME_SPACING,
  TS_FAULT_GUARD_BUDGET,
  TS_FAULT_GUARD_PERIOD,
  TS_FAULT_GUARD_BURST,
  TS_FAULT_CLOSED,
  TS_FAULT_OPEN,
  TS_FAULT_LEAST_CONTACT,
  TS_FAULT_STUCK,
  TS_FAULT_SILENT,
  TS_FAULT_LARGEST_INCREASE,
  TS_FAULT_CADENCE,
  TS_FAULT_CONTACTS_DURING_PRIME
} ts_fault;

/** Bits of `alarms`, `raised` and `cleared`; lib/pacing/state.ts says when each is raised, and until when it stands. */
enum {
  TS_STUCK = 1,
  TS_SILENT = 2,
  TS_TOO_FAST = 4,
  TS_OWED_LIMIT = 8,
  TS_STILL_WATER = 16,
  TS_SHED_IN_HOLD = 32,
  TS_SHED_IN_INHIBIT = 64,
  TS_TRIPPED = 128,
  TS_PRIME_TOO_LONG = 256,
  TS_SHED_AT_RESTART = 512,
  TS_CHANGE_REFUSED = 1024,
  TS_ALARMS = 11 /* how many there are */
};

/** Why strokes are forbidden for now; bit `1 << cause` of `inhibits`. */
enum { TS_PERMISSION, TS_TANK, TS_PUMP, TS_FLOW, TS_OTHER, TS_INHIBIT_CAUSES };

/** What can happen to a pacer. */
enum {
  TS_WAKE,
  TS_CLOSE,
  TS_OPEN,
  TS_CONTACT,
  TS_PRIME_ON,
  TS_PRIME_OFF,
  TS_HOLD_ON,
  TS_HOLD_OFF,
  TS_INHIBIT_ON,
  TS_INHIBIT_OFF,
  TS_RESET,
  TS_SETTINGS,
  TS_INPUT_KINDS /* how many there are */
};

/**
 * One input. `detail`: the cause of an inhibit (one that is not known forbids as TS_OTHER does, and ends nothing), or
 * for TS_SETTINGS whether a person has confirmed a large increase. `settings`: for TS_SETTINGS, found sound by
 * `ts_validate`, and not the object that is in force.
 */
typedef struct {
  uint8_t kind;
  uint8_t detail;
  const ts_settings *settings;
} ts_input;

/** The stroke that a step made. */
enum { TS_NONE, TS_PACED, TS_PRIMED };

/** Counts since the start, modulo 2^32, in the order of a snapshot. */
typedef struct {
  uint32_t counted;  /* contacts that earned */
  uint32_t ignored;  /* contacts that did not earn, while held or, as set, while priming */
  uint32_t rejected; /* contacts that came sooner than the meter can make them */
  uint32_t bounces;  /* closures of the line that were bounce */
  uint32_t earned;   /* from here on strokes */
  uint32_t paced;
  uint32_t primed;
  uint32_t shed_limit;
  uint32_t shed_still;
  uint32_t shed_hold;
  uint32_t shed_inhibit;
  uint32_t shed_trip;
  uint32_t shed_power;
  uint32_t refused; /* changes of settings that were refused */
} ts_tally;

/** What a pacer remembers. Read what you like; only the functions below may write. */
typedef struct {
  const ts_settings *settings; /* in force */
  ts_ticks clock_ticks;        /* the counter at the last step */
  ts_ticks wake_at_ticks;      /* the counter when it next needs a step; earlier is harmless */

  /* Times from here on are counted from the horizon. */
  ts_ticks now_ticks;         /* of the last step */
  ts_ticks stroke_ticks;      /* of the last stroke of either cause */
  ts_ticks plan_ticks;        /* when the next owed stroke is planned; looked at only while strokes are owed */
  ts_ticks contact_ticks;     /* of the last contact */
  ts_ticks line_since_ticks;  /* since when the line is closed or open */
  ts_ticks listen_ticks;      /* from when silence is measured */
  ts_ticks prime_since_ticks; /* looked at only while priming */
  ts_ticks guard_full_ticks;  /* when the guard's budget would be whole again ... */

  bool held;
  bool tripped;
  uint8_t inhibits; /* bit mask over the causes */
  bool prime_pressed;
  bool priming; /* the override is obeyed */
  bool line_closed;
  bool line_armed;    /* the line has stayed open long enough since the last closure that qualified */
  uint16_t owed;      /* strokes */
  uint16_t remainder; /* contacts * m mod d */
  uint16_t alarms;    /* that stand */
  uint16_t raised;    /* by the last step */
  uint16_t cleared;   /* by the last step */

  uint16_t guard_full_rest; /* ... and a rest over the budget */
  ts_ticks interval_ticks;  /* a duration: how long after the one before it the last contact came, up to the grace */
  ts_ticks plan_step_ticks; /* a duration: how far apart the strokes of the plan are ... */
  uint16_t plan_step_rest;  /* ... and its rest over plan_parts */
  uint16_t plan_parts;
  uint16_t plan_carry;

  ts_tally tally;
} ts_state;

/** Completes the derived fields. TS_SOUND, or the first setting at fault; then nothing else may take the settings. */
ts_fault ts_validate(ts_settings *settings);

/** A pacer that has seen nothing yet: contact open, nothing owed, remainder 0. */
void ts_start(ts_state *s, const ts_settings *settings, ts_ticks now);

/**
 * The one step. Call it with every input, and with TS_WAKE when the counter reaches `wake_at_ticks`; a stroke that is
 * due acts before an input of the same tick. Answers with the stroke to make now, TS_NONE, TS_PACED or TS_PRIMED: at
 * most one, stamped `now`. Afterwards `wake_at_ticks`, `raised`, `cleared` and the tallies tell the rest.
 */
uint8_t ts_step(ts_state *s, ts_ticks now, const ts_input *input);

/** Length of a snapshot, in bytes: "TS", version, number of fields, fields of 4 bytes, CRC; most significant first. */
#define TS_SNAPSHOT_FIELDS 27U
#define TS_SNAPSHOT_BYTES (4U + (4U * TS_SNAPSHOT_FIELDS) + 2U)
/** The version of lib/pacing is 1: 8 bytes a field, times in microseconds. This is 2: 4 bytes, times in ticks. */
#define TS_SNAPSHOT_VERSION 2U

/** Why a snapshot was refused: nothing of a refused one is used. */
typedef enum {
  TS_RESTORED,
  TS_WRONG_LENGTH,
  TS_NOT_A_SNAPSHOT,
  TS_UNKNOWN_VERSION,
  TS_BAD_CHECKSUM,
  TS_IMPOSSIBLE_VALUES
} ts_refusal;

/** The restart does not know how long it was dark. */
#define TS_DARK_UNKNOWN UINT32_C(0xFFFFFFFF)

/** Everything that must outlive a power cut, as of the last step: step a TS_WAKE first, to make that now. */
void ts_take_snapshot(const ts_state *s, uint8_t *bytes);

/**
 * Starts a pacer from a snapshot, `dark` ticks after it was taken (longer than TS_HORIZON acts as that). What was owed
 * is still fed if the still-water grace has not passed meanwhile; otherwise, or where `dark` is not known, it is shed.
 * Afterwards `raised` and `cleared` tell of the whole restart; it makes no stroke. Refused, it leaves `s` as it was.
 */
ts_refusal ts_restore_snapshot(ts_state *s, const uint8_t *bytes, uint16_t length, const ts_settings *settings,
                               ts_ticks now, ts_ticks dark);

/** CRC-16/IBM-3740: check value 0x29B1 for the nine digits "123456789". */
uint16_t ts_crc16(const uint8_t *bytes, uint16_t length);
/** The same byte by byte: start with TS_CRC16_START, hand the answer on. */
uint16_t ts_crc16_next(uint16_t crc, uint8_t byte);
#define TS_CRC16_START 0xFFFFU

/**
 * The first count at or after `last` that reads as `raw` on a counter of `bits` bits (16, 24 or 32). Call it at least
 * once a wrap of that counter.
 */
ts_ticks ts_unwrap_ticks(ts_ticks last, ts_ticks raw, uint8_t bits);

#endif
