/*
 * Does what `inward match` calls known hold?  Buildings drawn by chance, each matched; how often the truth
 * lies inside the 95 % intervals of what the match itself calls known, better known or told together.
 *
 *     bench_match [TRIALS]
 */
#include "matched_trend.h"

#include <stdlib.h>
#include <time.h>

static double seconds(void)
{
  struct timespec now;

  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void say(const char *what, const struct matched_count *c, double took_s)
{
  printf("%-30s %5d trials  %6d intervals  %.1f %% inside (wanted 93 to 97)  known now: %d, %.1f %%"
         "  called no match: %.1f %%  unsettled %d  failed %d  %.0f ms each\n",
         what, c->trials, c->intervals, 100.0 * c->inside / fmax(1, c->intervals), c->known,
         100.0 * c->known_inside / fmax(1, c->known), 100.0 * c->false_alarms / fmax(1, c->trials),
         c->unsettled, c->failed, 1e3 * took_s / fmax(1, c->trials));
}

/* Of a day of a building, as the board's own match takes it out of its record; of a report; of a walk. */
static struct match_readings *readings(struct walked *w, const char *table, struct feeds **feeds)
{
  if (table && strstr(table, "day.csv"))
    return matched_trend(w, "examples/quillmere/feeds.yaml", table, feeds);
  return table ? matched_file(w, table) : matched_walk(w);
}

int main(int argc, char **argv)
{
  int trials = argc > 1 ? (int)strtol(argv[1], NULL, 10) : 1000, bad = 0;
  static const char *const suites[][4] = {
      {"Quillmere, a balancing report", "examples/quillmere/suite.yaml", NULL,
       "examples/quillmere/balancing.csv"},
      {"Quillmere, a walk", "examples/quillmere/suite.yaml", "examples/quillmere/walk.yaml", NULL},
      {"Quillmere, balanced, a walk", "examples/quillmere/tiers/balanced.yaml", NULL, NULL},
      {"Quillmere, a day and a night", "examples/quillmere/suite.yaml", NULL,
       "examples/quillmere/day.csv"},
  };

  check_begin(1, argv);
  for (size_t s = 0; s < sizeof suites / sizeof suites[0]; s++) {
    struct walked w;
    struct numeric_random random;
    struct matched_count count = {0};
    struct match_readings *r;
    double began = seconds();
    struct feeds *feeds = NULL;
    bool is_day = suites[s][3] && strstr(suites[s][3], "day.csv");
    int wanted = is_day && trials > 100 ? 100 : trials; /* each of 360 readings: fifty intervals */

    numeric_random_seed(&random, 20261130 + s);
    if (!walked_open(&w, suites[s][1], suites[s][2], NULL, true) ||
        !(r = readings(&w, suites[s][3], &feeds)))
      return 1;
    for (int i = 0; i < wanted; i++)
      matched_trial(w.facility, r, &random, &count);
    say(suites[s][0], &count, seconds() - began);
    if (wanted >= 200 || (is_day && wanted == 100))
      bad += count.inside < 0.93 * count.intervals || count.inside > 0.97 * count.intervals;
    feeds_free(feeds);
    walked_close(&w);
  }
  return bad ? 1 : 0;
}
