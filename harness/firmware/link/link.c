/**
 * Numbers, answers and what requests do; see link.h.
 */
#include "link.h"

#include "../board/board.h"
#include "greet.h"
#include "line.h"
#include "report.h"
#include "request.h"
#include "run.h"
#include "side.h"

#define NUMBER_MOST 65535u
/** Requests up to so much older than the last are late repetitions. */
#define OLD_MOST 32u

/** What was answered, in as few bytes as it can be said again from. */
typedef struct {
  uint16_t number;
  uint16_t last_report;
  uint8_t reason;
  bool has_value;
  /** With a reason: the counter for `late`, a setting for `settings`. */
  uint32_t value;
} answer;

static struct {
  line_reader reader;
  bool wants_checks;
  bool has_greeted;
  uint16_t last_number;
  /** The newest first. */
  answer answered[LINK_WINDOW];
  uint8_t count;
} end;

static const char ok_word[] BOARD_FLASH = "ok ";
static const char no_word[] BOARD_FLASH = "no ";

static void write_answer(const answer *a, bool has_number) {
  line_begin();
  line_text(a->reason == LINK_DONE ? ok_word : no_word);
  if (has_number) line_number(a->number);
  else line_char('-');
  line_char(' ');
  if (a->reason == LINK_DONE) line_number(a->last_report);
  else line_word(words_reasons, (uint8_t)(a->reason - 1u));
  if (a->has_value) {
    line_char(' ');
    if (a->reason == LINK_SETTINGS) line_word(words_settings, (uint8_t)a->value);
    else line_number(a->value);
  }
  line_end();
}

/** An answer that uses up no number. */
static void refuse(link_reason reason) {
  const answer a = {.reason = (uint8_t)reason};
  write_answer(&a, false);
}

static uint16_t expected(void) {
  if (!end.has_greeted) return 0;
  return end.last_number == NUMBER_MOST ? 1u : (uint16_t)(end.last_number + 1u);
}

static void refuse_order(void) {
  const answer a = {.reason = LINK_ORDER, .has_value = true, .value = expected()};
  write_answer(&a, false);
}

static link_reason say(answer *a, uint32_t value) {
  a->has_value = true;
  a->value = value;
  return LINK_DONE;
}

static link_reason sound_settings(answer *a) {
  const uint8_t unsound = side_unsound();
  if (unsound == WORDS_NONE) return LINK_DONE;
  (void)say(a, unsound);
  return LINK_SETTINGS;
}

/** Why an input cannot be done, whenever that would be. */
static link_reason check_input(answer *a, const link_input *input) {
  if ((side.takes >> input->kind & 1u) == 0) return LINK_WORD;
  if (!run_is_on()) return LINK_STATE;
  return input->kind == INPUT_SETTINGS ? sound_settings(a) : LINK_DONE;
}

static link_reason check_time(answer *a, uint32_t now, uint32_t ticks) {
  const link_reason reason = run_ahead(now, ticks);
  if (reason == LINK_LATE) (void)say(a, now);
  return reason;
}

static link_reason put(answer *a, const link_request *request, uint32_t now) {
  link_reason reason = check_input(a, &request->input);
  if (reason == LINK_DONE) reason = check_time(a, now, request->value);
  if (reason == LINK_DONE) reason = run_put(now, request->value, request->input, request->number);
  return reason;
}

static link_reason do_at_once(answer *a, const link_request *request, uint32_t now) {
  const link_reason reason = check_input(a, &request->input);
  if (reason == LINK_DONE) run_do(now, request->input, request->number);
  return reason;
}

static link_reason begin(answer *a, bool is_stepped, uint32_t now) {
  const link_clock clock = is_stepped ? CLOCK_STEPPED : CLOCK_FREE;
  if ((side.clocks >> clock & 1u) == 0) return LINK_VALUE;
  const link_reason reason = sound_settings(a);
  if (reason != LINK_DONE) return reason;
  run_begin(now, is_stepped);
  return say(a, now);
}

static link_reason go(answer *a, uint32_t until, uint32_t now) {
  if (!run_is_on() || !run_is_stepped()) return LINK_STATE;
  const link_reason reason = check_time(a, now, until);
  if (reason != LINK_DONE) return reason;
  run_go(until);
  return say(a, until);
}

static link_reason tell(uint32_t now) {
  if ((side.tells >> REPORT_STATUS & 1u) == 0) return LINK_WORD;
  if (!run_is_on()) return LINK_STATE;
  side_tell(now);
  return LINK_DONE;
}

static link_reason set_lag(uint32_t lag) {
  return (side.clocks >> CLOCK_LAG & 1u) == 0 ? LINK_WORD : run_set_lag(lag);
}

static link_reason hello(answer *a, uint32_t nonce) {
  run_end();
  side_forget();
  (void)run_set_lag(0);
  report_forget();
  greet();
  return say(a, nonce);
}

static link_reason act(answer *a, const link_request *request) {
  run_catch_up();
  const uint32_t now = run_now();
  switch (request->verb) {
    case VERB_HELLO:
      return hello(a, request->value);
    case VERB_SET:
      return side_set(request->name, request->setting);
    case VERB_CLOCK:
      return run_set_counter(request->value);
    case VERB_LAG:
      return set_lag(request->value);
    case VERB_BEGIN:
      return begin(a, request->value == CLOCK_STEPPED, now);
    case VERB_AT:
      return put(a, request, now);
    case VERB_DO:
      return do_at_once(a, request, now);
    case VERB_GO:
      return go(a, request->value, now);
    case VERB_TIME:
      return say(a, now);
    case VERB_TELL:
      return tell(now);
    case VERB_AGAIN:
      return LINK_VALUE; // None is kept.
    default:
      run_end();
      return LINK_DONE;
  }
}

static void remember(const answer *a) {
  for (uint8_t i = LINK_WINDOW - 1u; i > 0; i--) end.answered[i] = end.answered[i - 1u];
  end.answered[0] = *a;
  if (end.count < LINK_WINDOW) end.count++;
}

static void answer_to(const link_request *request, link_reason fault) {
  answer a = {.number = request->number};
  if (request->verb == VERB_HELLO) {
    end.has_greeted = true;
    end.last_number = 0;
    end.count = 0;
  }
  a.reason = (uint8_t)(fault == LINK_DONE ? act(&a, request) : fault);
  a.last_report = report_last();
  if (request->has_number && request->number > 0) {
    remember(&a);
    end.last_number = request->number;
  }
  write_answer(&a, request->has_number);
  // A person may type again.
  if (request->verb == VERB_BYE) end.wants_checks = false;
}

static const answer *find_answer(uint16_t number) {
  for (uint8_t i = 0; i < end.count; i++) {
    if (end.answered[i].number == number) return &end.answered[i];
  }
  return 0;
}

static bool is_old(uint16_t number) {
  const uint32_t back = ((uint32_t)end.last_number + NUMBER_MOST - number) % NUMBER_MOST;
  return end.has_greeted && end.last_number != 0 && back <= OLD_MOST;
}

static void take_unexpected(const link_request *request) {
  const answer *again = find_answer(request->number);
  if (again != 0) {
    write_answer(again, true);
    if (request->verb == VERB_BYE) end.wants_checks = false;
  } else if (!is_old(request->number)) {
    refuse_order();
  }
}

static void take_text(uint8_t length, bool is_checked) {
  link_request request;
  const link_reason fault = request_read(&request, end.reader.bytes, length, is_checked);
  if (is_checked && !request.has_number) refuse(LINK_WORD);
  else if (fault == LINK_ORDER) refuse_order();
  else if (!request.has_number || request.number == 0 || request.number == expected()) answer_to(&request, fault);
  else take_unexpected(&request);
}

void link_start(void) {
  line_start(&end.reader);
  end.wants_checks = false;
  end.has_greeted = false;
  end.count = 0;
  run_start();
  side_forget();
  side_end();
  report_forget();
  greet_boot();
}

void link_take(uint8_t byte) {
  uint8_t length = 0;
  const line_kind kind = line_take(&end.reader, byte, &length);
  if (kind == LINE_NONE) return;
  run_heard();
  if (kind == LINE_TOO_LONG) refuse(LINK_LONG);
  else if (kind == LINE_BAD_BYTE) refuse(LINK_BYTE);
  else if (kind == LINE_UNCHECKED || (kind == LINE_TYPED && end.wants_checks)) refuse(LINK_CHECK);
  else {
    if (kind == LINE_CHECKED) end.wants_checks = true;
    take_text(length, kind == LINE_CHECKED);
  }
}

void link_work(void) {
  run_catch_up();
}

bool link_wakes(uint32_t *board_ticks_at) {
  return run_wakes(board_ticks_at);
}

void link_serve(void) {
  link_start();
  for (;;) {
    uint8_t byte = 0;
    uint32_t alarm = 0;
    while (board_read(&byte)) link_take(byte);
    link_work();
    const bool has_alarm = link_wakes(&alarm);
    board_sleep(has_alarm, alarm);
  }
}
