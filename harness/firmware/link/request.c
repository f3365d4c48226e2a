/**
 * Requests; see request.h.
 */
#include "request.h"

/** A request has at most five words: number, `at`, T, an input and its detail. One more shows that there are more. */
#define WORDS_MOST 6u
#define NUMBER_MOST 65535u
#define VALUE_MOST 4294967295u

typedef struct {
  link_word word[WORDS_MOST];
  uint8_t count;
} word_list;

/** Parts a text at every single space; two in a row have an empty word between them. */
static void split(word_list *words, const char *text, uint8_t length) {
  uint8_t begin = 0;
  words->count = 0;
  for (uint8_t i = 0; i <= length && words->count < WORDS_MOST; i++) {
    if (i < length && text[i] != ' ') continue;
    words->word[words->count].text = &text[begin];
    words->word[words->count].length = (uint8_t)(i - begin);
    words->count++;
    begin = (uint8_t)(i + 1u);
  }
}

/** The second word of an input, by its number; WORDS_NONE if it cannot be. */
static uint8_t detail_of(uint8_t kind, const link_word *word) {
  const char *list = words_dark;
  if (kind == INPUT_INHIBIT_ON || kind == INPUT_INHIBIT_OFF) list = words_causes;
  else if (kind == INPUT_SETTINGS) list = words_confirmed;
  else if (kind != INPUT_POWER_ON) return WORDS_NONE;
  return words_find(list, *word);
}

static bool read_input(link_input *input, const link_word *word, uint8_t count) {
  if (count != 1u && count != 2u) return false;
  input->kind = words_find(words_inputs, word[0]);
  input->detail = 0;
  if (input->kind == WORDS_NONE) return false;
  if (count == 2u) {
    input->detail = detail_of(input->kind, &word[1]);
    return input->detail != WORDS_NONE;
  }
  return input->kind != INPUT_INHIBIT_ON && input->kind != INPUT_INHIBIT_OFF && input->kind != INPUT_SETTINGS &&
         input->kind != INPUT_POWER_ON;
}

static link_reason number_word(link_request *request, const link_word *word, uint32_t least, uint32_t most) {
  return words_number(*word, most, &request->value) && request->value >= least ? LINK_DONE : LINK_VALUE;
}

/** The words from the verb on; `count` is one or more. */
static link_reason read_words(link_request *request, uint8_t verb, const link_word *word, uint8_t count) {
  switch (verb) {
    case VERB_HELLO:
    case VERB_AGAIN:
      return count == 2u ? number_word(request, &word[1], 1, NUMBER_MOST) : LINK_WORD;
    case VERB_CLOCK:
    case VERB_LAG:
    case VERB_GO:
      return count == 2u ? number_word(request, &word[1], 0, VALUE_MOST) : LINK_WORD;
    case VERB_SET:
      if (count != 3u || word[1].length == 0) return LINK_WORD;
      request->name = word[1];
      request->setting = word[2];
      return word[2].length > 0 ? LINK_DONE : LINK_VALUE;
    case VERB_BEGIN:
      if (count != 2u) return LINK_WORD;
      request->value = words_find(words_clocks, word[1]);
      return request->value <= CLOCK_FREE ? LINK_DONE : LINK_VALUE;
    case VERB_AT:
      if (count < 3u || !read_input(&request->input, &word[2], (uint8_t)(count - 2u))) return LINK_WORD;
      return number_word(request, &word[1], 0, VALUE_MOST);
    case VERB_DO:
      return read_input(&request->input, &word[1], (uint8_t)(count - 1u)) ? LINK_DONE : LINK_WORD;
    case VERB_TIME:
    case VERB_TELL:
    case VERB_END:
    case VERB_BYE:
      return count == 1u ? LINK_DONE : LINK_WORD;
    default:
      return LINK_WORD;
  }
}

link_reason request_read(link_request *request, const char *text, uint8_t length, bool is_checked) {
  word_list words;
  uint8_t first = 0;
  uint32_t number = 0;
  split(&words, text, length);
  request->has_number = is_checked && words_number(words.word[0], NUMBER_MOST, &number);
  request->number = (uint16_t)number;
  request->verb = VERB_END;
  if (is_checked) {
    if (!request->has_number) return LINK_WORD;
    first = 1;
  }
  const uint8_t verb = first < words.count ? words_find(words_verbs, words.word[first]) : WORDS_NONE;
  if (request->has_number && number == 0 && verb != VERB_HELLO) return LINK_ORDER;
  if (request->has_number && number != 0 && verb == VERB_HELLO) return LINK_WORD;
  if (verb == WORDS_NONE) return LINK_WORD;
  const link_reason reason = read_words(request, verb, &words.word[first], (uint8_t)(words.count - first));
  if (reason == LINK_DONE) request->verb = verb;
  return reason;
}
