#include "base/spelling.h"

#include "check.h"

#include <string.h>

static int distance(const char *a, const char *b)
{
  return spelling_distance(a, strlen(a), b, 9);
}

static void a_slip_of_the_finger_counts_once(void)
{
  CHECK_INT(distance("rooms", "rooms"), 0);
  CHECK_INT(distance("ROOMS", "rooms"), 0);
  CHECK_INT(distance("roms", "rooms"), 1);   /* dropped */
  CHECK_INT(distance("rroms", "rooms"), 1);  /* changed */
  CHECK_INT(distance("roooms", "rooms"), 1); /* added */
  CHECK_INT(distance("romos", "rooms"), 1);  /* swapped */
  CHECK_INT(distance("", "rooms"), 5);
}

/* The example of Wagner and Fischer's method that every textbook works: three edits. */
static void the_textbook_words_are_three_apart(void)
{
  CHECK_INT(distance("kitten", "sitting"), 3);
}

static void far_and_long_words_are_only_far(void)
{
  char long_word[SPELLING_LONGEST + 2];

  memset(long_word, 'a', sizeof long_word - 1);
  long_word[sizeof long_word - 1] = '\0';
  CHECK_INT(spelling_distance("fan", 3, "station", 2), 3);
  CHECK_INT(spelling_distance(long_word, strlen(long_word), "a", 2), 3);
  CHECK_INT(spelling_distance("a", 1, long_word, 2), 3);
  CHECK_INT(spelling_distance("flow=3", 4, "flow", 2), 0); /* only the first four letters */
}

static void one_sentence_refuses_a_field(void)
{
  static const char known[] = "incident|about|smell";
  struct buf out;

  buf_init(&out, 400);
  spelling_refuse(&out, "smel", known);
  CHECK_STR(out.text,
            "no field \"smel\" here; did you mean \"smell\"? There are: incident, about, smell");
  buf_clear(&out);
  spelling_refuse(&out, "x", known);
  CHECK_STR(out.text, "no field \"x\" here; there are: incident, about, smell");
  buf_release(&out);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_slip_of_the_finger_counts_once);
  RUN(the_textbook_words_are_three_apart);
  RUN(far_and_long_words_are_only_far);
  RUN(one_sentence_refuses_a_field);
  return check_end();
}
