#include "base/buf.h"

#include "check.h"

#include <string.h>

static void a_text_grows_and_stays_terminated(void)
{
  struct buf buf;

  buf_init(&buf, 100000);
  CHECK_STR(buf.text, "");
  for (int i = 0; i < 5000; i++) {
    buf_printf(&buf, "%d,", i % 10);
    if (strlen(buf.text) != buf.used)
      CHECK_INT((long long)strlen(buf.text), (long long)buf.used);
  }
  CHECK_INT((long long)buf.used, 10000);
  CHECK(!buf.full);
  CHECK(memcmp(buf.text + 9980, "0,1,2,3,4,5,6,7,8,9,", 21) == 0);
  buf_release(&buf);
}

/* Whatever is added, and with whichever call, up to the last byte and no further. */
static void past_the_limit_what_was_there_is_kept_whole(void)
{
  for (size_t limit = 1; limit < 600; limit++) {
    struct buf buf;
    size_t want = limit / 7 * 7;

    CHECK_CASE("limit %zu", limit);
    buf_init(&buf, limit);
    for (int i = 0; i < 100; i++)
      switch (i % 3) {
      case 0:
        buf_puts(&buf, "1234567");
        break;
      case 1:
        buf_printf(&buf, "%d", 1234567);
        break;
      default:
        buf_add(&buf, "1234567890", 7);
      }
    want = want < 700 ? want : 700;
    CHECK_INT((long long)buf.used, (long long)want);
    CHECK_INT(buf.full, want < 700);
    CHECK_INT(buf.text[buf.used], 0);
    buf_release(&buf);
  }
}

static void a_full_text_takes_nothing_more_even_if_it_would_fit(void)
{
  struct buf buf;

  buf_init(&buf, 4);
  buf_puts(&buf, "abc");
  buf_puts(&buf, "too long");
  buf_putc(&buf, 'd'); /* would fit, but the text would then have a hole */
  CHECK_STR(buf.text, "abc");
  CHECK(buf.full);
  buf_clear(&buf);
  buf_puts(&buf, "abcd");
  CHECK_STR(buf.text, "abcd");
  CHECK(!buf.full);
  buf_release(&buf);
}

static void bytes_of_zero_are_bytes(void)
{
  struct buf buf;

  buf_init(&buf, 10);
  buf_add(&buf, "a\0b", 3);
  CHECK_INT((long long)buf.used, 3);
  CHECK(memcmp(buf.text, "a\0b", 4) == 0);
  buf_release(&buf);
}

static void a_number_reads_back_to_the_same_bits_in_few_digits(void)
{
  static const double values[] = {0.1, 1.0 / 3.0, 5e-324, 1.7976931348623157e308, -249.089};
  struct buf buf;

  buf_init(&buf, 40);
  for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
    buf_clear(&buf);
    buf_number(&buf, values[i]);
    CHECK_CASE("%s", buf.text);
    CHECK(strtod(buf.text, NULL) == values[i]);
  }
  buf_clear(&buf);
  buf_number(&buf, 0.1);
  CHECK_STR(buf.text, "0.1");
  buf_release(&buf);
}

/* The entities of HTML 4 and XML; what is none of them stays, bytes above 127 too. */
static void markup_is_written_as_text(void)
{
  struct buf buf;

  buf_init(&buf, 200);
  buf_put_markup(&buf, "<a href=\"x\">R&D's m\302\263</a>");
  CHECK_STR(buf.text, "&lt;a href=&quot;x&quot;&gt;R&amp;D's m\302\263&lt;/a&gt;");
  buf_clear(&buf);
  buf_add_markup(&buf, "1 < 2 < 3", 3);
  CHECK_STR(buf.text, "1 &lt;");
  buf_release(&buf);
}

static void only_the_end_is_trimmed(void)
{
  struct buf buf;

  buf_init(&buf, 200);
  buf_puts(&buf, " a\n b \r\n\t\n");
  buf_trim_end(&buf);
  CHECK_STR(buf.text, " a\n b");
  CHECK_INT((long)buf.used, 5);
  buf_clear(&buf);
  buf_puts(&buf, "\n");
  buf_trim_end(&buf);
  buf_trim_end(&buf);
  CHECK_STR(buf.text, "");
  buf_release(&buf);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_text_grows_and_stays_terminated);
  RUN(past_the_limit_what_was_there_is_kept_whole);
  RUN(a_full_text_takes_nothing_more_even_if_it_would_fit);
  RUN(bytes_of_zero_are_bytes);
  RUN(a_number_reads_back_to_the_same_bits_in_few_digits);
  RUN(markup_is_written_as_text);
  RUN(only_the_end_is_trimmed);
  return check_end();
}
