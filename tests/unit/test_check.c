#include "check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

/* The framework is tried on tests that fail, each in a process of its own, so that what it says of
 * them is seen from outside. */
static struct {
  char text[4096];
  int status;
} child;

static void run_child(void (*test)(void), char *pattern, char *other_pattern)
{
  int ends[2];
  char *argv[] = {(char[]){"child"}, pattern, other_pattern, NULL};
  size_t used = 0;
  ssize_t got;
  pid_t pid;

  child.status = -1;
  child.text[0] = '\0';
  fflush(stdout);
  REQUIRE(pipe(ends) == 0);
  pid = fork();
  REQUIRE(pid >= 0);
  if (pid == 0) {
    dup2(ends[1], STDOUT_FILENO);
    close(ends[0]);
    check_begin(pattern ? other_pattern ? 3 : 2 : 1, argv);
    if (test)
      check_run("a_child", test);
    int status = check_end();
    fflush(stdout);
    _exit(status);
  }
  close(ends[1]);
  while (used < sizeof child.text - 1 &&
         (got = read(ends[0], child.text + used, sizeof child.text - 1 - used)) > 0)
    used += (size_t)got;
  child.text[used] = '\0';
  close(ends[0]);
  REQUIRE(waitpid(pid, &child.status, 0) == pid && WIFEXITED(child.status));
  child.status = WEXITSTATUS(child.status);
}

static double nothing_known(void)
{
  return (double)NAN;
}

static void compare_with_nan(void)
{
  CHECK_NEAR(nothing_known(), 1.0, 1.0, 1e300);
  CHECK_NEAR(1.0, nothing_known(), 1.0, 1e300);
  CHECK_NEAR(nothing_known(), nothing_known(), 1.0, 1e300);
  CHECK_NEAR(1.0, 1.0 + 1e-9, nothing_known(), 0.0);
}

static void compare_with_infinity(void)
{
  CHECK_NEAR(1.0, (double)INFINITY, 1e-9, 0.0);
  CHECK_NEAR((double)-INFINITY, (double)INFINITY, 1e-9, 0.0);
  CHECK_NEAR((double)INFINITY, 1.0, 0.0, 1e300);
}

static void compare_a_billionth_off(void)
{
  CHECK_NEAR(1.0, 1.0 + 1e-9, 1e-12, 0.0);
}

static void compare_a_sum_of_tenths(void)
{
  CHECK_NEAR(0.1 + 0.2, 0.3, 0.0, 0.0);
}

static void fail_twice(void)
{
  CHECK_CASE("row %d", 7);
  CHECK_INT(2, 3);
  CHECK_STR(NULL, "air");
}

static void require_then_crash(void)
{
  REQUIRE(1 > 2);
  CHECK_INT(4, 5);
}

static void expect_an_abort_of_what_returns(void)
{
  CHECK_ABORTS(compare_a_billionth_off);
}

static void check_nothing(void)
{
}

static void pass(void)
{
  CHECK(true);
}

static int count(const char *text, const char *word)
{
  int n = 0;

  for (const char *p = strstr(text, word); p; p = strstr(p + 1, word))
    n++;
  return n;
}

static void not_a_number_never_passes(void)
{
  run_child(compare_with_nan, NULL, NULL);
  CHECK_INT(child.status, 1);
  CHECK_INT(count(child.text, "wanted"), 4);
}

static void an_infinity_is_met_by_nothing_but_itself(void)
{
  run_child(compare_with_infinity, NULL, NULL);
  CHECK_INT(count(child.text, "wanted"), 3);
  CHECK_NEAR((double)INFINITY, (double)INFINITY, 0.0, 0.0);
}

static void doubles_are_compared_as_doubles(void)
{
  run_child(compare_a_billionth_off, NULL, NULL);
  CHECK_INT(child.status, 1);
}

static void a_difference_in_the_last_bit_can_be_read(void)
{
  run_child(compare_a_sum_of_tenths, NULL, NULL);
  CHECK_INT(child.status, 1);
  CHECK(strstr(child.text, "0.30000000000000004") != NULL);
  CHECK(strstr(child.text, "0.29999999999999999") != NULL);
}

static void a_failure_does_not_stop_the_test_and_names_its_row(void)
{
  run_child(fail_twice, NULL, NULL);
  CHECK_INT(child.status, 1);
  CHECK_INT(count(child.text, "row 7: "), 2);
  CHECK(strstr(child.text, "FAIL a_child") != NULL);
  CHECK(strstr(child.text, "\n0 passed, 1 failed\n") != NULL);
}

static void a_requirement_stops_the_test(void)
{
  run_child(require_then_crash, NULL, NULL);
  CHECK_INT(count(child.text, "test_check.c:"), 1);
}

static void what_goes_on_did_not_abort(void)
{
  run_child(expect_an_abort_of_what_returns, NULL, NULL);
  CHECK_INT(child.status, 1);
  CHECK(strstr(child.text, "did not abort") != NULL);
}

static void no_test_is_a_failure(void)
{
  run_child(NULL, NULL, NULL);
  CHECK_INT(child.status, 1);
  CHECK(strstr(child.text, "0 passed, 1 failed\n") != NULL);
}

static void a_test_that_checks_nothing_is_a_failure(void)
{
  run_child(check_nothing, NULL, NULL);
  CHECK_INT(child.status, 1);
}

static void a_pattern_that_matches_nothing_is_a_failure(void)
{
  char good[] = "a_*", bad[] = "a_chidl";

  run_child(pass, good, NULL);
  CHECK_INT(child.status, 0);
  run_child(pass, bad, NULL);
  CHECK_INT(child.status, 1);
  run_child(pass, good, bad);
  CHECK_INT(child.status, 1);
  CHECK(strstr(child.text, "1 passed, 1 failed\n") != NULL);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(not_a_number_never_passes);
  RUN(an_infinity_is_met_by_nothing_but_itself);
  RUN(doubles_are_compared_as_doubles);
  RUN(a_difference_in_the_last_bit_can_be_read);
  RUN(a_failure_does_not_stop_the_test_and_names_its_row);
  RUN(a_requirement_stops_the_test);
  RUN(what_goes_on_did_not_abort);
  RUN(no_test_is_a_failure);
  RUN(a_test_that_checks_nothing_is_a_failure);
  RUN(a_pattern_that_matches_nothing_is_a_failure);
  return check_end();
}
