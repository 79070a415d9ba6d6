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

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(every_character_has_its_size_and_surrogates_have_none);
  RUN(bytes_that_are_no_character_are_found);
  RUN(a_cut_character_is_taken_off);
  RUN(characters_are_counted_not_bytes);
  return check_end();
}
