#include "base/err.h"

#include "check.h"

#include "base/utf8.h"

#include <string.h>

static void exit_statuses_keep_their_contract(void)
{
  CHECK_INT(err_exit_status(ERR_OK), 0);
  for (int code = ERR_OK + 1; code < ERR_COUNT; code++) {
    int status = err_exit_status((enum err_code)code);

    CHECK_CASE("%s", err_name((enum err_code)code));
    CHECK(status == 2 || status == 3); /* 0 and 1 are answers */
    CHECK(strlen(err_meaning((enum err_code)code)) > 10);
  }
  CHECK_INT(err_exit_status(ERR_INPUT), 2);
  CHECK_INT(err_exit_status(ERR_IO), 3);
}

static void a_failure_returns_its_code_and_keeps_its_words(void)
{
  struct err err = {.col = 3};

  CHECK_INT(err_set(&err, ERR_INPUT, "station %s has no main", "S3"), ERR_INPUT);
  CHECK_INT(err.code, ERR_INPUT);
  CHECK_STR(err.text, "station S3 has no main");
  CHECK_INT(err.col, 3);
  CHECK_INT(err_set(NULL, ERR_IO, "nobody %s", "listens"), ERR_IO);
  err_prefix(NULL, "nobody %s", "listens");
}

static void words_are_put_in_front_on_the_way_up(void)
{
  struct err err = {0};

  CHECK_INT(err_set(&err, ERR_INPUT, "no unit"), ERR_INPUT);
  err_prefix(&err, "duct %s: ", "A4");
  err_prefix(&err, "reading %s: ", "suite.yaml");
  CHECK_STR(err.text, "reading suite.yaml: duct A4: no unit");
}

static void too_many_words_are_cut_between_characters(void)
{
  for (int head = 0; head < 8; head++) {
    struct err err = {0};
    char text[400] = "";

    CHECK_CASE("%d bytes before the long part", head);
    memset(text, 'a', (size_t)head);
    for (int i = head; i < 390; i += 3)
      memcpy(text + i, "\xe2\x82\xac", 4); /* a euro sign: three bytes */
    CHECK_INT(err_set(&err, ERR_INPUT, "%s", text), ERR_INPUT);
    CHECK(strlen(err.text) > sizeof err.text - 5);
    CHECK(utf8_fault(err.text) == NULL);
    err_prefix(&err, "%s", text);
    CHECK(utf8_fault(err.text) == NULL);
    CHECK(strncmp(err.text, text, strlen(err.text)) == 0);
  }
}

static void break_a_promise(void)
{
  BUG_IF(sizeof(char) == 1);
}

static void succeed_as_a_failure(void)
{
  (void)err_set(NULL, ERR_OK, "no failure has this code");
}

static void a_broken_promise_ends_the_process(void)
{
  CHECK_ABORTS(break_a_promise);
  CHECK_ABORTS(succeed_as_a_failure);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(exit_statuses_keep_their_contract);
  RUN(a_failure_returns_its_code_and_keeps_its_words);
  RUN(words_are_put_in_front_on_the_way_up);
  RUN(too_many_words_are_cut_between_characters);
  RUN(a_broken_promise_ends_the_process);
  return check_end();
}
