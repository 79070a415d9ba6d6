#include "base/utf8.h"

#include "check.h"

#include <stdio.h>
#include <string.h>

/* An encoder from the definition, RFC 3629 section 3, so that the reader is checked against
 * something that is not itself. */
static int encode(unsigned code, char out[5])
{
  static const struct {
    unsigned below, lead;
  } forms[] = {{0x80, 0x00}, {0x800, 0xc0}, {0x10000, 0xe0}, {0x200000, 0xf0}};
  int more = 0;

  while (code >= forms[more].below)
    more++;
  for (int i = 0; i <= more; i++) {
    unsigned bits = code >> (6 * (more - i));

    out[i] = (char)(i == 0 ? forms[more].lead | bits : 0x80 | (bits & 0x3f));
  }
  out[more + 1] = '\0';
  return more + 1;
}

static void every_character_has_its_size_and_surrogates_have_none(void)
{
  int wrong = 0;

  for (unsigned code = 1; code < 0x1fffff; code++) {
    char text[5];
    int size = encode(code, text);
    int valid = code <= 0x10ffff && !(code >= 0xd800 && code <= 0xdfff);

    wrong += utf8_size(text) != (valid ? size : 0);
  }
  CHECK_INT(wrong, 0);
}

static void bytes_that_are_no_character_are_found(void)
{
  static const struct {
    const char *text;
    int at; /* -1: all is well */
  } rows[] = {
      {"", -1},         {"Gr\xc3\xbc n", -1},     {"\xc0\xaf", 0},     {"a\xe2\x82", 1},
      {"ab\x80", 2},    {"\xf4\x90\x80\x80", 0},  {"\xed\xa0\x80", 0}, {"\xe0\x80\xaf", 0},
      {"x\xff\xfe", 1}, {"\xf0\x9f\x98\x80", -1},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    const char *fault = utf8_fault(rows[i].text);

    CHECK_CASE("row %zu", i);
    CHECK_INT(fault ? (int)(fault - rows[i].text) : -1, rows[i].at);
  }
}

static void a_cut_character_is_taken_off(void)
{
  const char *whole = "a\xc3\xbc\xe2\x82\xac\xf0\x9f\x98\x80z";

  for (size_t cut = 0; cut <= strlen(whole); cut++) {
    char text[16];

    CHECK_CASE("cut at %zu", cut);
    snprintf(text, sizeof text, "%.*s", (int)cut, whole);
    utf8_mend_end(text);
    CHECK(utf8_fault(text) == NULL);
    CHECK(strlen(text) + 3 >= cut);
    CHECK(strncmp(text, whole, strlen(text)) == 0);
  }
}

static void characters_are_counted_not_bytes(void)
{
  CHECK_INT(utf8_count("450 m\xc2\xb3/h", 9), 8);
  CHECK_INT(utf8_count("\xe2\x82\xac\xf0\x9f\x98\x80", 7), 2);
  CHECK_INT(utf8_count("abc", 2), 2);
}

/* Unicode's property Bidi_Control (UAX #9, PropList.txt): these twelve and no other. */
static void what_turns_the_order_round_is_named_and_letters_stay(void)
{
  static const unsigned bidi[] = {0x061c, 0x200e, 0x200f, 0x202a, 0x202b, 0x202c,
                                  0x202d, 0x202e, 0x2066, 0x2067, 0x2068, 0x2069};
  /* a letter, line feed, the joiners, an emoji and its selector, Hebrew, Arabic */
  static const unsigned stays[] = {'a', '\n', 0xe9, 0x200c, 0x200d, 0x1f9ea, 0xfe0f, 0x5d0, 0x627};
  char said[UTF8_SAID_BYTES], text[8];
  int turning = 0;

  for (unsigned code = 1; code <= 0x10ffff; code++) {
    if (code >= 0xd800 && code <= 0xdfff)
      continue;
    encode(code, text);
    turning += utf8_unseen(text, said) == text && strstr(said, "turns the order") != NULL;
  }
  CHECK_INT(turning, (int)(sizeof bidi / sizeof *bidi));
  for (size_t i = 0; i < sizeof bidi / sizeof *bidi; i++) {
    encode(bidi[i], text);
    CHECK(utf8_unseen(text, said) == text);
  }
  for (size_t i = 0; i < sizeof stays / sizeof *stays; i++) {
    encode(stays[i], text);
    CHECK(utf8_unseen(text, said) == NULL);
  }
  CHECK(utf8_unseen("f\xc3\xa9\xe2\x80\xae"
                    "gpj",
                    said) != NULL);
  CHECK_STR(said, "character 3, U+202E, turns the order of letters round; leave it out");
  CHECK(utf8_unseen("a\x1b[2J", said) && strstr(said, "U+001B, is a control character"));
  CHECK(utf8_unseen("a\xc2\x9b", said) && strstr(said, "U+009B, is a control character"));
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(every_character_has_its_size_and_surrogates_have_none);
  RUN(bytes_that_are_no_character_are_found);
  RUN(a_cut_character_is_taken_off);
  RUN(characters_are_counted_not_bytes);
  RUN(what_turns_the_order_round_is_named_and_letters_stay);
  return check_end();
}
