/* Rounds: what was looked at, what stays open, and what nobody knows. */
#include "round/round.h"

#include "check.h"

#include <string.h>

#define SUITE                                                                                      \
  "inward: 1 suite\n"                                                                              \
  "site: {zone: UTC}\n"                                                                            \
  "rooms:\n  R: {}\n"                                                                              \
  "mains:\n  M: {capacity: {value: 2 m3/s}}\n"                                                     \
  "stations:\n"                                                                                    \
  "  B1: {kind: wet bench, room: R, main: M, flow: {constant: 0.1 m3/s}}\n"                        \
  "  B2: {kind: wet bench, room: R, main: M, flow: {constant: 0.1 m3/s}}\n"
#define ITEMS                                                                                      \
  "rounds:\n"                                                                                      \
  "  at most: 2 d\n"                                                                               \
  "  items:\n"                                                                                     \
  "    - {id: label, question: Labels?}\n"                                                         \
  "    - {id: deck, question: Free?, at most: 1 h, source: house rule 3}\n"                        \
  "    - {id: gel, question: Gel?, stations: [B2], expires: yes, at most: 40 d}\n"

enum { ENTRIES = 40 };
static const int64_t hour_ms = 3600 * 1000, day_ms = 86400 * 1000;
static const int64_t start_ms = 1795996800000; /* 2026-11-30 00:00 UTC */

struct world {
  struct facility *facility;
  struct arena arena;
  struct buf faults;
  struct record_entry entries[ENTRIES];
  int count;
  int64_t now_ms;
};

static bool begin(struct world *w, const char *more)
{
  struct complaints complaints;
  const char *text;

  *w = (struct world){.now_ms = start_ms};
  arena_init(&w->arena, 64 << 20);
  buf_init(&w->faults, 1 << 16);
  text = arena_printf(&w->arena, "%s%s", SUITE, more);

  struct facility_text suite = {"suite.yaml", text, strlen(text)};

  complaints_init(&complaints, &w->arena);
  w->facility = facility_read(&suite, NULL, 0, &complaints);
  return CHECK(w->facility != NULL);
}

static void end(struct world *w)
{
  facility_free(w->facility);
  buf_release(&w->faults);
  arena_release(&w->arena);
}

static const struct round_list *look(struct world *w)
{
  return round_look(w->facility, NULL, w->entries, w->count, w->now_ms, &w->arena);
}
static const struct round_station *at(struct world *w, int station)
{
  return &look(w)->stations[station];
}

static void enter(struct world *w, const char *about, const char *detail)
{
  w->entries[w->count] = (struct record_entry){.number = w->count + 1,
                                               .t_ms = w->now_ms,
                                               .kind = RECORD_ROUND,
                                               .about = about,
                                               .who = "E. Test",
                                               .text = "x",
                                               .detail = detail};
  w->count++;
}

/* Pairs "key", "value", ..., NULL: an entry, or a refusal. */
static enum err_code say(struct world *w, const char *const *words)
{
  struct typed_pair pairs[12];
  struct round_asked asked = {
      .facility = w->facility, .now_ms = w->now_ms, .back_most_s = 86400, .pairs = pairs};
  struct round_told told;

  for (; words[0]; words += 2)
    pairs[asked.count++] = (struct typed_pair){words[0], words[1]};
  buf_release(&w->faults);
  buf_init(&w->faults, 1 << 16);

  enum err_code code = round_take(&asked, &w->arena, &told, &w->faults);

  if (code == ERR_OK)
    enter(w, told.about, told.detail);
  return code;
}

#define SAY(w, ...)  say(w, (const char *const[]){__VA_ARGS__, NULL, NULL})
#define TOLD(w, ...) CHECK_INT(SAY(w, "who", "E. Test", "about", __VA_ARGS__), ERR_OK)
#define REFUSED(w, words, ...)                                                                     \
  do {                                                                                             \
    CHECK_INT(SAY(w, "who", "E. Test", "about", __VA_ARGS__), ERR_INPUT);                          \
    CHECK(strstr((w)->faults.text, words) != NULL);                                                \
  } while (0)

static void what_nobody_looked_at_is_not_known(void)
{
  struct world w;

  if (begin(&w, ITEMS)) {
    CHECK_INT(at(&w, 0)->state, ROUND_NOT_KNOWN);
    CHECK(at(&w, 0)->last.t_ms == INT64_MIN);
    TOLD(&w, "B1", "yes", "label");
    CHECK_INT(at(&w, 0)->found[0].state, ROUND_LOOKED);
    CHECK_INT(at(&w, 0)->found[1].state, ROUND_NOT_KNOWN);
    CHECK_INT(at(&w, 0)->state, ROUND_NOT_KNOWN);
    CHECK(at(&w, 0)->clear.t_ms == INT64_MIN);
    CHECK(round_asks_a_person(look(&w)));
  }
  end(&w);
}

static void a_finding_stays_open_from_its_first_no_until_a_yes(void)
{
  struct world w;

  if (begin(&w, ITEMS)) {
    TOLD(&w, "B1", "all", "yes", "no", "deck", "words", "beaker");
    w.now_ms += hour_ms / 2;
    TOLD(&w, "B1", "all", "yes", "no", "deck");
    w.now_ms += hour_ms / 4;
    TOLD(&w, "B1", "yes", "label"); /* not looked at the deck: it mends nothing */
    CHECK_INT(at(&w, 0)->state, ROUND_OPEN);
    CHECK_INT(at(&w, 0)->found[1].since_ms, start_ms);
    CHECK_INT(at(&w, 0)->found[1].t_ms, start_ms + hour_ms / 2);
    TOLD(&w, "B1", "yes", "deck");
    CHECK_INT(at(&w, 0)->state, ROUND_LOOKED);
    CHECK(at(&w, 0)->found[1].since_ms == INT64_MIN);
    CHECK(at(&w, 0)->clear.t_ms == INT64_MIN); /* no single round saw all of it */
  }
  end(&w);
}

static void an_answer_grows_too_old_by_the_limit_of_its_item(void)
{
  struct world w;

  if (begin(&w, ITEMS)) {
    TOLD(&w, "B1", "all", "yes");
    w.now_ms += hour_ms;
    CHECK_INT(at(&w, 0)->state, ROUND_LOOKED);
    w.now_ms += 1000;
    CHECK_INT(at(&w, 0)->found[1].state, ROUND_OVERDUE);
    CHECK_INT(at(&w, 0)->found[0].state, ROUND_LOOKED);
    CHECK_INT(at(&w, 0)->state, ROUND_OVERDUE);
    w.now_ms = start_ms + 2 * day_ms + 1;
    CHECK_INT(at(&w, 0)->found[0].state, ROUND_OVERDUE);
  }
  end(&w);
}

static void a_station_was_known_clear_at_the_moment_of_a_round_and_at_no_other(void)
{
  struct world w;

  if (begin(&w, ITEMS)) {
    TOLD(&w, "B1", "all", "yes");
    w.now_ms += hour_ms / 2;
    TOLD(&w, "B1", "all", "yes", "no", "label");
    CHECK_INT(at(&w, 0)->clear.t_ms, start_ms);
    CHECK_INT(at(&w, 0)->last.t_ms, w.now_ms);
    TOLD(&w, "B1", "all", "yes", "unseen", "deck");
    CHECK_INT(at(&w, 0)->clear.t_ms, start_ms);
    TOLD(&w, "B1", "all", "yes");
    CHECK_INT(at(&w, 0)->clear.t_ms, w.now_ms);
  }
  end(&w);
}

static void a_date_keeps_through_its_day_and_is_a_finding_after_it(void)
{
  struct world w;

  if (begin(&w, ITEMS)) {
    REFUSED(&w, "until when does 'gel' keep", "B2", "all", "yes");
    REFUSED(&w, "has passed", "B2", "all", "yes", "expires", "gel 2026-11-29");
    REFUSED(&w, "is no date", "B2", "all", "yes", "expires", "gel 2026-02-30");
    REFUSED(&w, "has no date", "B2", "all", "yes", "expires", "deck 2027-01-01, gel 2027-01-01");
    TOLD(&w, "B2", "all", "yes", "expires", "gel 2026-12-02");
    w.now_ms = start_ms + 3 * day_ms - 1;
    CHECK_INT(at(&w, 1)->found[2].state, ROUND_LOOKED);
    w.now_ms++;
    CHECK_INT(at(&w, 1)->found[2].state, ROUND_OPEN);
    CHECK_STR(at(&w, 1)->found[2].expires, "2026-12-02");
    TOLD(&w, "B2", "all", "yes", "expires", "gel 2027-12-02");
    CHECK_INT(at(&w, 1)->state, ROUND_LOOKED);
  }
  end(&w);
}

static void an_item_is_asked_where_the_suite_says_and_nowhere_else(void)
{
  struct world w;

  if (begin(&w, ITEMS)) {
    CHECK_INT(at(&w, 0)->count, 2);
    CHECK_INT(at(&w, 1)->count, 3);
    REFUSED(&w, "'gel' is nothing that is looked at there; there are: label, deck", "B1", "no",
            "gel");
  }
  end(&w);
}

static void a_round_in_words_is_a_last_round_and_answers_nothing(void)
{
  struct world w;

  if (begin(&w, ITEMS)) {
    enter(&w, "R", "");
    CHECK_INT(at(&w, 1)->last.t_ms, start_ms);
    CHECK(at(&w, 1)->in_words);
    CHECK_INT(at(&w, 1)->state, ROUND_NOT_KNOWN);
    CHECK_INT(look(&w)->unread, 0);
  }
  end(&w);
}

static void a_detail_with_anything_strange_in_it_is_not_half_read(void)
{
  static const char *const strange[] = {
      "{}",
      "[]",
      "{\"schema\":\"inward.round.2\",\"found\":[{\"item\":\"deck\",\"said\":\"yes\"}]}",
      "{\"schema\":\"inward.round.1\",\"found\":[]}",
      "{\"schema\":\"inward.round.1\",\"found\":[{\"item\":\"deck\",\"said\":\"maybe\"}]}",
      "{\"schema\":\"inward.round.1\",\"found\":[{\"item\":\"deck\",\"said\":\"yes\",\"by\":1}]}",
      "{\"schema\":\"inward.round.1\",\"found\":[{\"item\":\"deck\",\"said\":\"yes\"},{\"item\":\"deck\",\"said\":\"no\"}]}",
      "{\"schema\":\"inward.round.1\",\"found\":[{\"item\":\"gel\",\"said\":\"yes\",\"expires\":\"soon\"}]}",
      "{\"schema\":\"inward.round.1\",\"found\":[{\"item\":\"deck\",\"said\":\"yes\"}],\"more\":1}",
      "{\"schema\":\"inward.round.1\",\"found\":[{\"item\":\"deck\",\"said\":\"yes\"}],\"words\":1}",
  };

  for (size_t i = 0; i < sizeof strange / sizeof *strange; i++) {
    struct world w;

    CHECK_CASE("%s", strange[i]);
    if (begin(&w, ITEMS)) {
      enter(&w, "B1", strange[i]);
      CHECK_INT(look(&w)->unread, 1);
      CHECK_INT(at(&w, 0)->found[1].said, ROUND_UNSEEN);
      CHECK(at(&w, 0)->last.t_ms == INT64_MIN);
    }
    end(&w);
  }
}

static void every_fault_of_a_telling_is_named_at_once(void)
{
  struct world w;

  if (begin(&w, ITEMS)) {
    CHECK_INT(SAY(&w, "about", "B1", "who", "inward", "at", "2031-01-01 10:00", "all", "no", "yes",
                  "dek, label", "no", "label", "words", "a\nb", "colour", "red"),
              ERR_INPUT);

    static const char *const said[] = {"who: 'inward'",
                                       "not come yet",
                                       "all: yes or unseen",
                                       "'dek' is nothing",
                                       "answered twice",
                                       "words: one line",
                                       "colour"};

    for (size_t i = 0; i < sizeof said / sizeof *said; i++)
      CHECK(strstr(w.faults.text, said[i]) != NULL);
    REFUSED(&w, "nothing was looked at", "B1", "unseen", "deck");
    REFUSED(&w, "no station 'B9'", "B9", "all", "yes");
    CHECK_INT(w.count, 0);
  }
  end(&w);
}

static void a_suite_without_items_asks_the_usual_ones_everywhere(void)
{
  struct world w;

  if (begin(&w, "rounds: {at most: 3 h}\n")) {
    CHECK_INT(at(&w, 0)->count, at(&w, 1)->count);
    CHECK(at(&w, 0)->count > 0);
    CHECK(at(&w, 0)->found[0].item->at_most_s == 3 * 3600);
    CHECK_STR(at(&w, 0)->found[0].item->source, "common practice, no source");
  }
  end(&w);
}

static void items_that_cannot_be_told_apart_are_refused_with_their_place(void)
{
  struct arena arena;
  struct complaints complaints;
  static const char text[] = SUITE "rounds:\n  items:\n    - {id: deck, question: a}\n"
                                   "    - {id: deck, question: b}\n    - {id: all, question: c}\n";
  struct facility_text suite = {"suite.yaml", text, sizeof text - 1};
  struct buf out;

  arena_init(&arena, 64 << 20);
  buf_init(&out, 1 << 16);
  complaints_init(&complaints, &arena);
  CHECK(facility_read(&suite, NULL, 0, &complaints) == NULL);
  complaints_print(&complaints, "suite.yaml", NULL, &out);
  CHECK(strstr(out.text, "suite.yaml:13:12: ") != NULL);
  CHECK(strstr(out.text, "an item 'deck' stands above") != NULL);
  CHECK(strstr(out.text, "'all' is no short word") != NULL);
  buf_release(&out);
  arena_release(&arena);
}

static void a_no_about_glass_says_which_mark_was_seen(void)
{
  struct glass_told seen;
  struct world w;

  if (begin(&w, "rounds:\n  items:\n"
                "    - {id: glass, question: Own?, marks: yes}\n"
                "    - {id: deck, question: Free?}\n")) {
    REFUSED(&w, "say no to 'glass'", "B1", "yes", "glass", "mark", "unmarked");
    REFUSED(&w, "what stands on it", "B1", "no", "glass", "piece", "beaker");
    TOLD(&w, "B1", "no", "glass", "yes", "deck", "mark", "Red star z", "count", "2");
    CHECK_INT(at(&w, 0)->found[0].state, ROUND_OPEN);
    CHECK(round_seen(w.entries[0].detail, &w.arena, &seen));
    CHECK_STR(seen.mark, "red star z");
    CHECK_INT(seen.count, 2);
    CHECK_INT(seen.verdict, GLASS_STRANGER);
    CHECK(round_looked_at_glass(w.facility, w.entries[0].detail, &w.arena));
    TOLD(&w, "B1", "yes", "deck");
    CHECK(!round_seen(w.entries[1].detail, &w.arena, &seen));
    CHECK(!round_looked_at_glass(w.facility, w.entries[1].detail, &w.arena));
  }
  end(&w);
  if (begin(&w, ITEMS))
    REFUSED(&w, "about glass marks", "B1", "no", "deck", "mark", "unmarked");
  end(&w);
}

static void no_text_says_that_anything_is_safe_or_clear_now(void)
{
  struct world w;

  if (begin(&w, ITEMS)) {
    struct buf out;

    TOLD(&w, "B1", "all", "yes");
    buf_init(&out, 1 << 16);
    round_text(look(&w), &out);
    CHECK(strstr(out.text, "safe") == NULL);
    CHECK(strstr(out.text, "and at no other moment") != NULL);
    CHECK(strstr(out.text, "Look before you start") != NULL);
    buf_release(&out);
  }
  end(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(what_nobody_looked_at_is_not_known);
  RUN(a_finding_stays_open_from_its_first_no_until_a_yes);
  RUN(an_answer_grows_too_old_by_the_limit_of_its_item);
  RUN(a_station_was_known_clear_at_the_moment_of_a_round_and_at_no_other);
  RUN(a_date_keeps_through_its_day_and_is_a_finding_after_it);
  RUN(an_item_is_asked_where_the_suite_says_and_nowhere_else);
  RUN(a_round_in_words_is_a_last_round_and_answers_nothing);
  RUN(a_detail_with_anything_strange_in_it_is_not_half_read);
  RUN(every_fault_of_a_telling_is_named_at_once);
  RUN(a_suite_without_items_asks_the_usual_ones_everywhere);
  RUN(items_that_cannot_be_told_apart_are_refused_with_their_place);
  RUN(a_no_about_glass_says_which_mark_was_seen);
  RUN(no_text_says_that_anything_is_safe_or_clear_now);
  return check_end();
}
