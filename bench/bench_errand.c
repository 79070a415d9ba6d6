/*
 * Does it help to ask?  Simulated days of the demo suite, as a page.
 *
 *     bench_errand DAYS [FIRST_SEED]      from the top folder; 20 for the page that is kept (bench/errands.md)
 *
 * The people are assumed, every figure below is constructed, and nobody was watched: this says what asking is
 * worth if people are so, and nothing of how people are.  The air, the lists and the errands are the program's own.
 *
 * A day is ten hours.  At each station with a sash somebody works for a while, now and then; leaves the sash up
 * when done, often; and comes back for it, late.  The wall names what helps to everybody, asked or not.  Asked at
 * the station, some answer.  The same days (seeds) are lived with every share of people who answer.
 *
 * Fails where asking, with nine in ten answering, does not shorten the median day's shortage.
 */
#include "errand/errand.h"
#include "numeric/numeric.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- the people: constructed ---- */
static const double idle_mean_s = 75 * 60, work_mean_s = 45 * 60, work_least_s = 5 * 60;
static const double above_ratio = 0.2,
                    above_m = 0.10;              /* of the times a sash goes up, beyond its mark */
static const double forgets_ratio = 0.4;         /* leaves it up when done */
static const double comes_back_mean_s = 50 * 60; /* and lowers it then */
static const double wall_ratio = 0.05,
                    wall_mean_s = 600; /* who works at what the wall names sees it, and when */
static const double reacts_least_s = 10, reacts_mean_s = 60; /* who stands at the station */
static const double passes_mean_s = 300; /* nobody stands there: somebody passes */
static const double cannot_ratio = 0.1;  /* of those who answer */
static const double again_s = 10 * 60;   /* who lowered while at work opens again after */

enum { DAY_S = 36000, STEP_S = 10, DAYS_MOST = 400, SHARES = 4, STATIONS_MOST = 64 };
static const double shares[SHARES] = {0, 0.1, 0.5, 0.9};

struct person {                     /* at one station */
  struct numeric_random days, mood; /* apart: the day is the same however one answers */
  int point, presence;
  bool works, up;
  double opening_m;
  int64_t next_s; /* of work or idleness */
  int64_t back_s; /* comes back for what was left up; or opens again */
  int64_t acts_s; /* has decided to act */
  bool acts_cannot;
  int64_t asked_s; /* the errand last decided about */
  bool saw_wall;
};

struct day {
  double near_min, short_min;
  int asked, moved;
  double median_s;
};

struct world {
  struct arena arena;
  struct facility *facility;
  struct feeds *feeds;
  struct watch *watch;
  struct judge *judge;
  struct errands *errands;
  struct person people[STATIONS_MOST];
  enum facility_level state;
  bool named[STATIONS_MOST];
  double share;
  int64_t now_s;
};

static double exponential_s(struct numeric_random *random, double mean_s)
{
  return -mean_s * log(1 - numeric_random_unit(random));
}

static bool happens(struct numeric_random *random, double ratio)
{
  return numeric_random_unit(random) < ratio;
}

static void see(void *arg, const struct judge_seen *seen)
{
  struct world *w = arg;
  struct answer_live_asked asked;

  errands_see(w->errands, seen);
  w->state = seen->verdict->state;
  memset(w->named, 0, sizeof w->named);
  if (errands_named(w->errands, &asked))
    for (int i = 0; i < asked.count; i++)
      w->named[asked.named[i].station] = true;
  for (int i = 0; i < w->facility->station_count; i++)
    watch_need_flow(w->watch, i, errands_needs_flow(w->errands, i));
}

static int64_t next_ms(void *arg)
{
  const struct world *w = arg;

  return errands_next_ms(w->errands);
}

/* ---- one station ---- */

static void say(struct world *w, int point, double si)
{
  watch_take(w->watch, &(struct feed_observation){.point = point,
                                                  .t_ms = w->now_s * 1000,
                                                  .seen_ms = w->now_s * 1000,
                                                  .si = si,
                                                  .quality = FEED_GOOD});
}

static void set_sash(struct world *w, int i, bool up)
{
  const struct facility_station *s = &w->facility->stations[i];
  struct person *p = &w->people[i];

  p->up = up;
  p->opening_m = up ? s->work_m : s->parked_m;
  if (up && happens(&p->days, above_ratio))
    p->opening_m = fmin(s->work_m + above_m, s->most_m);
  say(w, p->point, p->opening_m);
}

static void begin_or_end_work(struct world *w, int i)
{
  struct person *p = &w->people[i];
  double span_s = p->works ? exponential_s(&p->days, idle_mean_s)
                           : work_least_s + exponential_s(&p->days, work_mean_s);
  bool forgets = happens(&p->days, forgets_ratio);
  double back_s = exponential_s(&p->days, comes_back_mean_s);

  p->works = !p->works;
  p->next_s = w->now_s + (int64_t)span_s;
  p->back_s = INT64_MAX;
  say(w, p->presence, p->works);
  if (p->works)
    set_sash(w, i, true);
  else if (p->up && forgets)
    p->back_s = w->now_s + (int64_t)back_s;
  else
    set_sash(w, i, false);
}

static void come_back(struct world *w, int i)
{
  w->people[i].back_s = INT64_MAX;
  set_sash(w, i, w->people[i].works);
}

/* Decided once for each thing that is asked, and once for each time that the wall names it. */
static void notice(struct world *w, int i)
{
  struct person *p = &w->people[i];
  const struct errand *errand = errands_at(w->errands, i);

  if (errand && errand_is_open(errand) && errand->asked_ms / 1000 != p->asked_s) {
    p->asked_s = errand->asked_ms / 1000;
    bool answers = happens(&p->mood, w->share);
    double after_s = p->works ? reacts_least_s + exponential_s(&p->mood, reacts_mean_s)
                              : exponential_s(&p->mood, passes_mean_s);

    p->acts_cannot = happens(&p->mood, cannot_ratio) && p->works;
    if (answers)
      p->acts_s = w->now_s + (int64_t)after_s;
  }
  if (w->named[i] && !p->saw_wall && happens(&p->mood, wall_ratio) && p->acts_s == INT64_MAX) {
    p->acts_s = w->now_s + (int64_t)exponential_s(&p->mood, wall_mean_s);
    p->acts_cannot = false;
  }
  p->saw_wall = w->named[i];
}

static void act(struct world *w, int i)
{
  struct person *p = &w->people[i];
  const struct errand *errand = errands_at(w->errands, i);
  bool is_asked = errand && errand_is_open(errand);
  struct err err = {0};

  p->acts_s = INT64_MAX;
  if (!p->up || !(is_asked || w->named[i]))
    return; /* it is over by now */
  if (p->acts_cannot && is_asked) {
    if (errands_answer(w->errands,
                       &(struct errand_answer){i, false, "", "it needs its flow", w->now_s * 1000},
                       &err) != ERR_OK)
      abort();
    return;
  }
  double to_m =
      is_asked && errand->what.has_to_m ? errand->what.to_m : w->facility->stations[i].parked_m;

  p->opening_m = to_m;
  p->up = to_m > w->facility->stations[i].parked_m;
  say(w, p->point, to_m);
  if (p->works && !p->up)
    p->back_s = w->now_s + (int64_t)again_s;
  else
    p->back_s = p->up ? p->back_s : INT64_MAX;
}

static void step(struct world *w)
{
  for (int i = 0; i < w->facility->station_count; i++) {
    struct person *p = &w->people[i];

    if (p->point < 0)
      continue;
    if (w->now_s >= p->next_s)
      begin_or_end_work(w, i);
    if (w->now_s >= p->back_s)
      come_back(w, i);
    notice(w, i);
    if (w->now_s >= p->acts_s)
      act(w, i);
  }
}

/* ---- the suite ---- */

static char *read_all(const char *path, size_t *size_out)
{
  FILE *file = fopen(path, "rb");
  char *bytes = malloc(1 << 20);

  if (!file || !bytes) {
    fprintf(stderr, "%s cannot be read: run it from the top folder\n", path);
    exit(3);
  }
  *size_out = fread(bytes, 1, 1 << 20, file);
  fclose(file);
  return bytes;
}

static void read_suite(struct world *w)
{
  struct complaints complaints;
  size_t size;
  char *bytes = read_all("examples/quillmere/suite.yaml", &size);
  struct buf feeds;

  arena_init(&w->arena, SIZE_MAX);
  complaints_init(&complaints, &w->arena);
  w->facility =
      facility_read(&(struct facility_text){"suite.yaml", bytes, size}, NULL, 0, &complaints);
  BUG_IF(!w->facility || w->facility->station_count > STATIONS_MOST);
  buf_init(&feeds, 1 << 20);
  buf_puts(
      &feeds,
      "inward: 1 feeds\nunmeasured: parked\nsources: {us: {old after: 1e5 s, hand: {}}}\npoints:\n");
  for (int i = 0; i < w->facility->station_count; i++)
    if (w->facility->stations[i].has_openings && w->facility->stations[i].in_service)
      buf_printf(&feeds,
                 "  o%d: {of: %s, what: opening, from: us, unit: m}\n"
                 "  p%d: {of: %s, what: presence, from: us}\n",
                 i, w->facility->stations[i].part.id, i, w->facility->stations[i].part.id);
  w->feeds = feeds_read(w->facility, &(struct facility_text){"feeds.yaml", feeds.text, feeds.used},
                        &complaints);
  BUG_IF(!w->feeds);
  buf_release(&feeds);
  free(bytes);
}

static void begin_day(struct world *w, uint64_t seed)
{
  struct err err = {0};

  w->watch = watch_new(w->facility, w->feeds);
  w->errands = errands_new(
      &(struct errands_settings){.facility = w->facility, .feeds = w->feeds, .zone = when_utc()});
  BUG_IF(judge_new(&(struct judge_settings){.facility = w->facility,
                                            .feeds = w->feeds,
                                            .zone = when_utc(),
                                            .watch = w->watch,
                                            .seen = see,
                                            .next_ms = next_ms,
                                            .arg = w},
                   &w->judge, &err) != ERR_OK);
  w->now_s = 0;
  memset(w->named, 0, sizeof w->named);
  for (int i = 0; i < w->facility->station_count; i++) {
    struct person *p = &w->people[i];
    char id[16];

    *p = (struct person){.back_s = INT64_MAX, .acts_s = INT64_MAX, .asked_s = -1};
    numeric_random_seed(&p->days, seed * 1000 + (uint64_t)i);
    numeric_random_seed(&p->mood, seed * 1000 + 500 + (uint64_t)i);
    snprintf(id, sizeof id, "o%d", i);
    p->point = feeds_point_find(w->feeds, id);
    snprintf(id, sizeof id, "p%d", i);
    p->presence = feeds_point_find(w->feeds, id);
    if (p->point < 0)
      continue;
    p->next_s = (int64_t)exponential_s(&p->days, idle_mean_s);
    say(w, p->presence, 0);
    set_sash(w, i, false);
  }
}

static struct day live_day(struct world *w, uint64_t seed, double share)
{
  struct day day = {0};

  w->share = share;
  begin_day(w, seed);
  for (; w->now_s < DAY_S; w->now_s += STEP_S) {
    step(w);
    judge_until(w->judge, w->now_s * 1000);
    judge_at(w->judge, w->now_s * 1000, true);
    day.short_min += w->state == FACILITY_SHORT ? STEP_S / 60.0 : 0;
    day.near_min +=
        w->state == FACILITY_SHORT || w->state == FACILITY_NEAR_LIMIT ? STEP_S / 60.0 : 0;
  }
  struct errands_tally t = errands_tally(w->errands);

  day.asked = t.asked;
  day.moved = t.moved;
  day.median_s = t.median_s;
  errands_free(w->errands);
  judge_free(w->judge);
  watch_free(w->watch);
  return day;
}

/* ---- the page ---- */

static int compare(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;

  return (x > y) - (x < y);
}

static double part_of(double *list, int count, double part_ratio)
{
  qsort(list, (size_t)count, sizeof *list, compare);
  double at = part_ratio * (count - 1);
  int low = (int)at;

  return low + 1 < count ? list[low] + (at - low) * (list[low + 1] - list[low]) : list[low];
}

/* One row; the median of the minutes short. */
static double row(struct world *w, int days, uint64_t first, double share)
{
  static double near_min[DAYS_MOST], short_min[DAYS_MOST];
  int asked = 0, moved = 0;

  for (int i = 0; i < days; i++) {
    struct day day = live_day(w, first + (uint64_t)i, share);

    near_min[i] = day.near_min;
    short_min[i] = day.short_min;
    asked += day.asked;
    moved += day.moved;
  }
  double median = part_of(short_min, days, 0.5);

  if (share > 0)
    printf("| asked at the station, %.0f %% answer ", 100 * share);
  else
    printf("| nobody answers: the wall alone ");
  printf("| %.0f | %.0f to %.0f | %.0f | %.0f to %.0f | %.1f | %.0f %% |\n",
         part_of(near_min, days, 0.5), part_of(near_min, days, 0.25), part_of(near_min, days, 0.75),
         median, part_of(short_min, days, 0.25), part_of(short_min, days, 0.75),
         (double)asked / days, asked ? 100.0 * moved / asked : 0.0);
  fflush(stdout);
  return median;
}

int main(int argc, char **argv)
{
  long days = argc > 1 ? strtol(argv[1], NULL, 10) : 0;
  uint64_t first = argc > 2 ? strtoull(argv[2], NULL, 10) : 1;
  static struct world w;
  double alone = 0, median = 0;

  if (days < 1 || days > DAYS_MOST) {
    fputs("usage: bench_errand DAYS [FIRST_SEED]    1 to 400\n", stderr);
    return 2;
  }
  read_suite(&w);
  puts(
      "## Does it help to ask?\n\n"
      "No published figure: simulated by `build-bench/bench/bench_errand 20 >bench/errands.md` (`make bench` builds it).\n"
      "The people are assumed: every figure of how they work, forget, look at the wall, answer and open again is\n"
      "constructed and stands at the head of bench/bench_errand.c; nobody was watched. The air, the lists and what is\n"
      "asked are the program's own, of the demo suite. The same days are lived with each share of people who answer: it\n"
      "says what asking is worth if people are so. Asked is only while the air is short; near its limit nobody is.\n");
  printf("%ld days of ten hours, first seed %llu. Medians and middle halves over the days.\n\n",
         days, (unsigned long long)first);
  puts(
      "| | min near limit or short a day | middle half | min short | middle half | asked a day | moved |\n"
      "|---|---|---|---|---|---|---|");
  for (int i = 0; i < SHARES; i++) {
    median = row(&w, (int)days, first, shares[i]);
    alone = i == 0 ? median : alone;
  }
  feeds_free(w.feeds);
  facility_free(w.facility);
  arena_release(&w.arena);
  return days < 5 || median < alone || alone <= 0 ? 0 : 1;
}
