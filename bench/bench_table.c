/* usage: bench_table SUITE FEEDS TABLE RUNS      parses a table, prints the seconds of each run, then
 * how many values were good and what they add up to.  bench_table.py makes the files and compares. */
#include "feed/feed.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static struct facility_text read_file(const char *path)
{
  FILE *file = fopen(path, "rb");
  long size = 0;
  char *bytes;

  if (!file || fseek(file, 0, SEEK_END) != 0 || (size = ftell(file)) < 0) {
    perror(path);
    exit(3);
  }
  rewind(file);
  bytes = malloc((size_t)size + 1);
  if (!bytes || fread(bytes, 1, (size_t)size, file) != (size_t)size) {
    perror(path);
    exit(3);
  }
  fclose(file);
  bytes[size] = '\0';
  return (struct facility_text){path, bytes, (size_t)size};
}

struct sums {
  long count;
  double total_si;
};

static void add(void *arg, const struct feed_observation *o)
{
  struct sums *sums = arg;

  if (o->quality == FEED_GOOD) {
    sums->count++;
    sums->total_si += o->si;
  }
}

static double seconds(void)
{
  struct timespec now;

  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

static const struct when_zone *paris(struct arena *arena)
{
  struct facility_text text = read_file("/usr/share/zoneinfo/Europe/Paris");
  const struct when_zone *zone = NULL;

  if (when_zone_read("Europe/Paris", text.bytes, text.size, arena, &zone, NULL) != ERR_OK)
    exit(3);
  return zone;
}

static void fail(const struct complaints *complaints)
{
  for (int i = 0; i < complaints->count; i++)
    fprintf(stderr, "%s\n", complaints->list[i].text);
  exit(1);
}

int main(int argc, char **argv)
{
  struct arena arena;
  struct complaints complaints;

  if (argc != 5)
    return 2;
  arena_init(&arena, (size_t)1 << 30);
  complaints_init(&complaints, &arena);

  struct facility_text suite = read_file(argv[1]), file = read_file(argv[2]),
                       table = read_file(argv[3]);
  struct facility *facility = facility_read(&suite, NULL, 0, &complaints);
  struct feeds *feeds = facility ? feeds_read(facility, &file, &complaints) : NULL;

  if (!feeds)
    fail(&complaints);

  struct feed_table_job job = {feeds, 0, paris(&arena), &table, 4102444800000};
  struct sums sums = {0};

  for (long run = strtol(argv[4], NULL, 10); run > 0; run--) {
    struct feed_sink sink = {add, &sums};
    struct feed_table_report report;
    struct arena work;
    double start = seconds();

    arena_init(&work, (size_t)1 << 30);
    sums = (struct sums){0};
    if (!feed_table(&job, &sink, &work, &complaints, &report) || complaints.count > 0)
      fail(&complaints);
    printf("%.6f\n", seconds() - start);
    arena_release(&work);
  }
  printf("%ld %.17g\n", sums.count, sums.total_si);
  feeds_free(feeds);
  facility_free(facility);
  arena_release(&arena);
  return 0;
}
