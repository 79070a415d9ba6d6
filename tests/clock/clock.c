/*
 * A clock for tests of the program from outside: loaded before it (LD_PRELOAD), it lets the program
 * start at the moment TEST_CLOCK_S says (seconds since 1970, UTC) and its clock go on from there.
 * Only the clock of the day is moved.  A wait until a time of day is not: such a wait ends at once.
 */
#include <stdlib.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

#define SEEN __attribute__((visibility("default")))

static time_t moved_s;

__attribute__((constructor)) static void begin(void)
{
  const char *wanted = getenv("TEST_CLOCK_S");
  struct timespec now;

  if (wanted && syscall(SYS_clock_gettime, CLOCK_REALTIME, &now) == 0)
    moved_s = strtoll(wanted, NULL, 10) - now.tv_sec;
}

/* NOLINTBEGIN(readability-inconsistent-declaration-parameter-name): theirs begin with __ */
SEEN int clock_gettime(clockid_t id, struct timespec *out)
{
  int result = (int)syscall(SYS_clock_gettime, id, out);

  if (result == 0 && id == CLOCK_REALTIME)
    out->tv_sec += moved_s;
  return result;
}

SEEN time_t time(time_t *out)
{
  struct timespec now;

  clock_gettime(CLOCK_REALTIME, &now);
  if (out)
    *out = now.tv_sec;
  return now.tv_sec;
}
/* NOLINTEND(readability-inconsistent-declaration-parameter-name) */
