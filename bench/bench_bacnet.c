#include "bacnet/bacnet.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

/* usage: bench_bacnet ROUNDS <ANSWER      reads one answer to ReadPropertyMultiple again and again
 * Prints nanoseconds an answer and the sum of its numbers; see bench_bacnet.mjs. */

static double now_ns(void)
{
  struct timespec now;

  clock_gettime(CLOCK_MONOTONIC, &now);
  return 1e9 * (double)now.tv_sec + (double)now.tv_nsec;
}

/* The sum of all numbers and bits, so that nothing is read in vain; -1 for no answer. */
static double read_once(const uint8_t *bytes, size_t size)
{
  struct bacnet_message m;
  struct bacnet_property p;
  struct bacnet_value v;
  struct bacnet_scan scan;
  double sum = 0;

  if (bacnet_read(bytes, size, &m, NULL) != ERR_OK || m.kind != BACNET_COMPLEX_ACK)
    return -1;
  bacnet_scan_property(&scan, &m);
  while (bacnet_next_property(&scan, &p, NULL) == BACNET_ONE) {
    if (bacnet_value(p.bytes, p.size, &v, NULL) != ERR_OK)
      return -1;
    sum += v.type == BACNET_BITS ? v.bits : v.number;
  }
  return sum;
}

int main(int argc, char **argv)
{
  static uint8_t bytes[BACNET_MOST_BYTES];
  size_t size = fread(bytes, 1, sizeof bytes, stdin);
  long rounds = argc == 2 ? strtol(argv[1], NULL, 10) : 0;
  double from_ns, sum = 0;

  if (rounds < 1) {
    fprintf(stderr, "usage: bench_bacnet ROUNDS <ANSWER\n");
    return 2;
  }
  from_ns = now_ns();
  for (long i = 0; i < rounds; i++)
    sum += read_once(bytes, size);
  printf("%.1f %.6f\n", (now_ns() - from_ns) / (double)rounds, sum / (double)rounds);
  return 0;
}
