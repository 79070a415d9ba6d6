/*
 * A clock for tests of the program from outside: loaded before it (LD_PRELOAD), it lets the program's
 * clock go TEST_CLOCK_AHEAD_S seconds ahead of the machine's, or behind it.
 * Only the clock of the day is moved: a wait until a time of day goes by the machine's.
 */
#include <stdlib.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

#define SEEN __attribute__((visibility("default")))

static time_t ahead_s;

__attribute__((constructor)) static void begin(void)
{
  const char *said = getenv("TEST_CLOCK_AHEAD_S");

  if (said)
    ahead_s = strtoll(said, NULL, 10);
}

/* NOLINTBEGIN(readability-inconsistent-declaration-parameter-name): theirs begin with __ */
SEEN int clock_gettime(clockid_t id, struct timespec *out)
{
  int result = (int)syscall(SYS_clock_gettime, id, out);

  if (result == 0 && id == CLOCK_REALTIME)
    out->tv_sec += ahead_s;
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
