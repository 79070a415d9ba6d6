#include "check.h"

#include "base/query.h"

#include <string.h>

static struct query query;

static enum err_code parse(const char *text, struct err *err)
{
  return query_parse(text, strlen(text), &query, err);
}

static void changes_keep_the_order_they_were_written_in(void)
{
  struct err err = {0};

  REQUIRE(parse("scene=busy&sash=S3=0.45m&door=D2%3Dopen&sash=S3=work", &err) == ERR_OK);
  REQUIRE(query.count == 4);
  CHECK_STR(query.pairs[1].key, "sash");
  CHECK_STR(query.pairs[1].value, "S3=0.45m");
  CHECK_STR(query.pairs[2].value, "D2=open");
  CHECK_STR(query.pairs[3].value, "S3=work");
  CHECK_STR(query_find(&query, "sash"), "S3=0.45m");
  CHECK_INT(query_count(&query, "sash"), 2);
  CHECK(query_find(&query, "off") == NULL);
}

static void odd_but_harmless_texts_are_read(void)
{
  struct err err = {0};

  REQUIRE(parse("", &err) == ERR_OK);
  CHECK_INT(query.count, 0);
  REQUIRE(parse("&&a&=&b=&c=+%2b%26%3d+", &err) == ERR_OK);
  REQUIRE(query.count == 4);
  CHECK_STR(query.pairs[0].key, "a");
  CHECK_STR(query.pairs[0].value, "");
  CHECK_STR(query.pairs[1].key, "");
  CHECK_STR(query.pairs[3].value, " +&= ");
  REQUIRE(parse("cover=B1=40%25&name=\xc3\xa9%E2%82%ac", &err) == ERR_OK);
  CHECK_STR(query.pairs[0].value, "B1=40%");
  CHECK_STR(query.pairs[1].value, "\xc3\xa9\xe2\x82\xac");
}

static void a_refusal_says_where_and_leaves_no_pairs(void)
{
  static const struct {
    const char *text;
    int col;
  } rows[] = {
      {"a=%", 3},         {"a=%4", 3},           {"a=%g1", 3},     {"ab=1&c=%00", 8},
      {"a=\x01", 3},      {"a=%7f", 3},          {"x=1&a=%ff", 5}, {"a=%c0%af", 1},
      {"a=%ed%a0%80", 1}, {"a=%f4%90%80%80", 1}, {"a=%e2%82", 1},  {"a=%80", 1},
  };

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    struct err err = {0};

    CHECK_CASE("%s", rows[i].text);
    CHECK_INT(parse(rows[i].text, &err), ERR_INPUT);
    CHECK_INT(err.col, rows[i].col);
    CHECK_INT(query.count, 0);
  }
}

static void what_is_too_long_or_too_many_is_a_limit(void)
{
  static char text[QUERY_MAX_BYTES + 2];
  struct err err = {0};

  memset(text, 'a', QUERY_MAX_BYTES);
  CHECK_INT(parse(text, &err), ERR_OK);
  text[QUERY_MAX_BYTES] = 'a';
  CHECK_INT(parse(text, &err), ERR_LIMIT);
  memset(text, 0, sizeof text);
  for (int i = 0; i < QUERY_MAX_PAIRS; i++)
    memcpy(text + 2 * i, "a&", 2);
  CHECK_INT(parse(text, &err), ERR_OK);
  memcpy(text + (size_t)2 * QUERY_MAX_PAIRS, "a", 1);
  CHECK_INT(parse(text, &err), ERR_LIMIT);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(changes_keep_the_order_they_were_written_in);
  RUN(odd_but_harmless_texts_are_read);
  RUN(a_refusal_says_where_and_leaves_no_pairs);
  RUN(what_is_too_long_or_too_many_is_a_limit);
  return check_end();
}
