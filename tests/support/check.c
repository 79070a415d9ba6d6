#include "check.h"

#include <fnmatch.h>
#include <math.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static struct {
  char row[96];
  int checks, failures;
} now; /* the test being run */

static struct {
  char **patterns;
  bool *matched; /* per pattern */
  int pattern_count, passed, failed;
} run; /* the whole program */

static bool verdict(const char *file, int line, bool ok, const char *fmt, ...)
    __attribute__((format(printf, 4, 5)));

static bool verdict(const char *file, int line, bool ok, const char *fmt, ...)
{
  va_list args;

  now.checks++;
  if (ok)
    return true;
  now.failures++;
  printf("%s:%d: %s%s", file, line, now.row, now.row[0] ? ": " : "");
  va_start(args, fmt);
  vprintf(fmt, args);
  va_end(args);
  putchar('\n');
  return false;
}

void check_count(const char *file, int line, const char *what, bool ok)
{
  verdict(file, line, ok, "failed: %s", what);
}

bool check_int(const char *file, int line, const char *what, long long got, long long want)
{
  return verdict(file, line, got == want, "%s is %lld, wanted %lld", what, got, want);
}

bool check_str(const char *file, int line, const char *what, const char *got, const char *want)
{
  return verdict(file, line, got && want && strcmp(got, want) == 0,
                 "%s is\n  \"%s\"\nwanted\n  \"%s\"", what, got ? got : "(null)",
                 want ? want : "(null)");
}

bool check_near(const char *file, int line, const char *what, double got, double want,
                double rel_tol, double abs_tol)
{
  /* An infinity wanted is met by nothing but itself, however wide the tolerance grows with it. */
  bool ok = got == want ||
            (isfinite(got) && isfinite(want) && fabs(got - want) <= abs_tol + rel_tol * fabs(want));

  return verdict(file, line, ok, "%s is %.17g, wanted %.17g (off by %.3g, allowed %.3g)", what, got,
                 want, got - want, abs_tol + rel_tol * fabs(want));
}

bool check_aborts(const char *file, int line, const char *what, void (*function)(void))
{
  int status = 0;
  pid_t child;

  fflush(stdout);
  child = fork();
  if (child == 0) {
    signal(SIGABRT, SIG_DFL);
    close(STDERR_FILENO);
    function();
    _exit(0);
  }
  return verdict(file, line,
                 child > 0 && waitpid(child, &status, 0) == child && WIFSIGNALED(status) &&
                     WTERMSIG(status) == SIGABRT,
                 "%s did not abort", what);
}

void check_case(const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  vsnprintf(now.row, sizeof now.row, fmt, args);
  va_end(args);
}

void check_begin(int argc, char **argv)
{
  setvbuf(stdout, NULL, _IOLBF, 0); /* keep what was printed if a test crashes */
  free(run.matched);
  memset(&run, 0, sizeof run);
  run.patterns = argv + 1;
  run.pattern_count = argc - 1;
  run.matched = calloc((size_t)argc + 1, sizeof *run.matched);
  if (!run.matched)
    abort();
}

static bool wanted(const char *name)
{
  bool any = run.pattern_count == 0;

  for (int i = 0; i < run.pattern_count; i++)
    if (fnmatch(run.patterns[i], name, 0) == 0)
      any = run.matched[i] = true;
  return any;
}

void check_run(const char *name, void (*test)(void))
{
  if (!wanted(name))
    return;
  memset(&now, 0, sizeof now);
  test();
  if (now.checks == 0) {
    printf("%s: checked nothing\n", name);
    now.failures++;
  }
  printf("%s %s\n", now.failures ? "FAIL" : "ok  ", name);
  now.failures ? run.failed++ : run.passed++;
}

int check_end(void)
{
  for (int i = 0; i < run.pattern_count; i++)
    if (!run.matched[i]) {
      printf("no test is called %s\n", run.patterns[i]);
      run.failed++;
    }
  if (run.passed + run.failed == 0) {
    printf("no test was run\n");
    run.failed++;
  }
  free(run.matched);
  run.matched = NULL;
  run.pattern_count = 0;
  printf("%d passed, %d failed\n", run.passed, run.failed);
  return run.failed > 0;
}
