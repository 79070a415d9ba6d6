/* The keeper and what is overdue. */
#include "keeper/keeper_impl.h"

#include "check.h"
#include "kept.h"

#include <string.h>

static void tell_round(struct kept *w)
{
  struct record_entry entry = {
      .kind = RECORD_ROUND,
      .about = "A2",
      .who = "staff",
      .text = "round",
      .detail =
          "{\"schema\": \"inward.round.1\", \"found\": [{\"item\": \"deck\", \"said\": \"yes\"}]}"};
  struct err err = {0};

  entry.t_ms = entry.written_ms = keeper_now_ms(w->keeper);
  CHECK_INT(keeper_enter(w->keeper, &entry, &err), ERR_OK);
}

static int reminded(struct kept *w)
{
  char *events = kept_entries(w, RECORD_EVENT);
  int count = 0;

  for (const char *at = events; at && (at = strstr(at, "Reminder, no alarm: 1 overdue. A2: round"));
       at++)
    count++;
  return count;
}

/* The usual items are seven days old at most; the clock begins at 16:13. */
static void an_overdue_round_is_one_reminder_over_a_restart_and_gone_when_it_is_done(void)
{
  const int64_t week_ms = 7 * 86400000LL;
  struct kept w;

  REQUIRE(kept_make(&w));
  REQUIRE(kept_begin(&w));
  tell_round(&w);
  CHECK(kept_comes(&w, "\"reminders\": []"));
  kept_pass(week_ms + 31 * 60 * 1000);
  CHECK(kept_comes(&w, "A2: round overdue (deck)"));
  CHECK(kept_comes(&w, "\"told\": \"1970"));
  CHECK_INT(reminded(&w), 1);
  kept_pass(30 * 60 * 1000);
  CHECK(kept_comes(&w, "A2: round overdue (deck)"));
  kept_end(&w);
  REQUIRE(kept_begin(&w));
  kept_pass(60 * 60 * 1000);
  CHECK(kept_comes(&w, "A2: round overdue (deck)"));
  CHECK_INT(reminded(&w), 1);
  tell_round(&w);
  CHECK(kept_comes(&w, "\"reminders\": []"));
  CHECK_INT(reminded(&w), 1);
  kept_release(&w);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(an_overdue_round_is_one_reminder_over_a_restart_and_gone_when_it_is_done);
  return check_end();
}
