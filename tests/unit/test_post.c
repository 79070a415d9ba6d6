#include "post/post.h"

#include "check.h"
#include "post/post_impl.h"

#include <string.h>

/* How often something is sent, and what: without a network.  Times in minutes where it says _min. */

enum { MINUTE_MS = 60000 };

static void no_more_than_the_limit_goes_within_any_hour(void)
{
  struct post_limit limit = {0};

  /* three an hour: at 0, 10 and 20 min; the fourth at 60, the fifth at 70 */
  for (int i = 0; i < 3; i++) {
    CHECK(post_limit_free_ms(&limit, 3, i * 10 * MINUTE_MS) == i * 10 * MINUTE_MS);
    post_limit_note(&limit, i * 10 * MINUTE_MS);
  }
  CHECK(post_limit_free_ms(&limit, 3, 30 * MINUTE_MS) == 60 * MINUTE_MS);
  post_limit_note(&limit, 60 * MINUTE_MS);
  CHECK(post_limit_free_ms(&limit, 3, 61 * MINUTE_MS) == 70 * MINUTE_MS);
}

static void of_a_thousand_an_hour_every_one_is_counted(void)
{
  static struct post_limit limit;
  int64_t now_ms = 0;
  int within = 0;

  for (int i = 0; i < 5000; i++) {
    int64_t free_ms = post_limit_free_ms(&limit, 1000, now_ms);

    now_ms = free_ms > now_ms ? free_ms : now_ms + 100;
    within += now_ms < POST_HOUR_MS;
    post_limit_note(&limit, now_ms);
  }
  CHECK(within == 1000);
  CHECK(now_ms >= 4 * (int64_t)POST_HOUR_MS);
}

static void one_cause_is_told_once_an_hour(void)
{
  static struct post_causes causes;

  CHECK(!post_cause_is_told(&causes, "alarm short Acid", 0));
  CHECK(post_cause_is_told(&causes, "alarm short Acid", 59 * MINUTE_MS));
  CHECK(!post_cause_is_told(&causes, "alarm short Solvent", 59 * MINUTE_MS));
  CHECK(!post_cause_is_told(&causes, "alarm short Acid", 60 * MINUTE_MS));
  CHECK(post_cause_is_told(&causes, "alarm short Acid", 61 * MINUTE_MS));
  CHECK(!post_cause_is_told(&causes, "alarm short Acid",
                            30 * MINUTE_MS)); /* the clock was stepped back */
}

static const struct post_settings settings = {.suite = "Quillmere Microfabrication",
                                              .label = "DEMO"};

static void a_mail_has_the_headers_that_rfc_5322_wants_and_one_line_each(void)
{
  static const char *const to[] = {"a@example.org", "b@example.org"};
  struct feeds_message mail = {.from = "board@example.org", .to_count = 2, .to = to};
  struct post_letter letter = {.what = "alarm",
                               .priority = "urgent",
                               .about = "AF",
                               .text = "AF: 1 of 2\r\nBcc: <x@example.org>",
                               .more = 12};
  struct buf out;

  buf_init(&out, 1 << 16);
  post_mail(&settings, &mail, &letter, 1793000000000,
            &out); /* Mon, 26 Oct 2026 07:33:20 +0000, by date(1) */
  CHECK(strncmp(out.text,
                "Date: Mon, 26 Oct 2026 07:33:20 +0000\r\nFrom: <board@example.org>\r\n"
                "To: <a@example.org>,\r\n <b@example.org>\r\n",
                strlen("Date: Mon, 26 Oct 2026 07:33:20 +0000\r\nFrom: <board@example.org>\r\n"
                       "To: <a@example.org>,\r\n <b@example.org>\r\n")) == 0);
  CHECK(strstr(out.text, "\r\nBcc:") == NULL); /* no text ends a line */
  CHECK(strstr(out.text, "\r\nAuto-Submitted: auto-generated\r\n") != NULL);
  CHECK(strstr(out.text, "\r\nand 12 more: look at the board\r\n") != NULL);
  for (const char *c = strchr(out.text, '\n'); c; c = strchr(c + 1, '\n'))
    CHECK(c[-1] == '\r');
  buf_release(&out);
}

static void a_webhook_gets_one_json_object(void)
{
  struct post_letter letter = {
      .what = "errand", .about = "A1", .text = "A1: Lower to parked", .t_ms = 0};
  struct buf out;

  buf_init(&out, 1 << 16);
  post_json(&settings, &letter, &out);
  CHECK(strstr(out.text, "\"schema\": \"inward.message.1\"") != NULL);
  CHECK(strstr(out.text, "\"priority\": null") != NULL);
  CHECK(strstr(out.text, "\"t\": \"1970-01-01T00:00:00Z\"") != NULL);
  CHECK(strstr(out.text, "\"more\": 0") != NULL);
  buf_release(&out);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(no_more_than_the_limit_goes_within_any_hour);
  RUN(of_a_thousand_an_hour_every_one_is_counted);
  RUN(one_cause_is_told_once_an_hour);
  RUN(a_mail_has_the_headers_that_rfc_5322_wants_and_one_line_each);
  RUN(a_webhook_gets_one_json_object);
  return check_end();
}
