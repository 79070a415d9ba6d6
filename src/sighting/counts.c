/* How often a mark was seen where it may not stand, and how sure so few cases make that. */
#include "sighting/sighting_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* That a Poisson count of that mean is at most so many. */
static double at_most(int count, double mean)
{
  double sum = 0, log_factorial = 0;

  for (int k = 0; k <= count; k++) {
    log_factorial += k > 1 ? log(k) : 0;
    sum += exp(k * log(mean) - mean - log_factorial);
  }
  return sum;
}

/* The mean at which a count is at most `count` with that probability: it falls as the mean grows. */
static double mean_at(int count, double probability)
{
  double low = 1e-9, high = 2.0 * count + 20;

  for (int i = 0; i < 100; i++) {
    double middle = (low + high) / 2;

    if (at_most(count, middle) > probability)
      low = middle;
    else
      high = middle;
  }
  return high;
}

void sighting_poisson_limits(int count, double *low_out, double *high_out)
{
  const double each_side = 0.025;

  *low_out = count == 0 ? 0 : mean_at(count - 1, 1 - each_side);
  *high_out = mean_at(count, each_side);
}

static struct sighting_count *count_of(struct sighting_list *list, const struct sighting_entry *e)
{
  struct sighting_count *c = list->counts;

  for (int i = 0; i < list->count_count; i++)
    if (strcmp(c[i].about, e->entry->about) == 0 && strcasecmp(c[i].mark, e->said.seen.mark) == 0)
      return &c[i];
  c += list->count_count++;
  *c = (struct sighting_count){
      .about = e->entry->about,
      .mark = e->said.seen.mark,
      .first = {.t_ms = e->entry->t_ms, .number = e->entry->number, .who = e->entry->who}};
  return c;
}

/* Cases of which one of these sightings tells. */
static int cases_of(const struct sighting_list *list, const struct sighting_count *c)
{
  int cases = 0;

  for (int i = 0; i < list->case_count; i++)
    cases += list->cases[i].is_lost && strcmp(list->cases[i].about, c->about) == 0 &&
             strcasecmp(list->cases[i].told.mark, c->mark) == 0 &&
             list->cases[i].last.t_ms >= c->first.t_ms;
  return cases;
}

static void judge(const struct sighting_list *list, struct sighting_count *c)
{
  const double shortest_s = 86400;
  double span_s = (double)(list->now_ms - list->since_ms) * 1e-3, low, high;

  c->cases = cases_of(list, c);
  c->mean_per_s = c->low_per_s = c->high_per_s = NAN;
  if (span_s < shortest_s)
    return;
  sighting_poisson_limits(c->sightings, &low, &high);
  c->mean_per_s = c->sightings / span_s;
  c->low_per_s = low / span_s;
  c->high_per_s = high / span_s;
}

static int by_number(const void *a, const void *b)
{
  const struct sighting_count *p = a, *q = b;

  if (p->sightings != q->sightings)
    return q->sightings - p->sightings;
  return p->first.number < q->first.number ? -1 : p->first.number > q->first.number;
}

bool sighting_counts(struct sighting_list *list, struct arena *arena)
{
  int64_t back_ms = list->now_ms - llround(list->facility->glass.count_over_s * 1e3);

  list->counts = ARENA_ARRAY(arena, struct sighting_count, (size_t)list->entry_count + 1);
  if (!list->counts)
    return false;
  if (list->since_ms != INT64_MIN && list->since_ms < back_ms)
    list->since_ms = back_ms;
  for (int i = 0; i < list->entry_count; i++) {
    const struct sighting_entry *e = &list->entries[i];

    if (e->is_void || e->said.act != SIGHTING_SEEN || !glass_is_lost(e->said.seen.verdict) ||
        e->entry->t_ms < back_ms)
      continue;

    struct sighting_count *c = count_of(list, e);

    c->sightings++;
    c->last = (struct sighting_moment){
        .t_ms = e->entry->t_ms, .number = e->entry->number, .who = e->entry->who};
  }
  for (int i = 0; i < list->count_count; i++)
    judge(list, &list->counts[i]);
  qsort(list->counts, (size_t)list->count_count, sizeof *list->counts, by_number);
  return true;
}
