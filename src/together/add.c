/*
 * One station more: how probable near limit and short are in each hour of a week, before and after.
 *
 * Every set is weighted by how probable it is and read off its table: no capacity, and no sum of flows
 * stands for it.  Three ways to weight, none of them for the others: each station by itself; all of them
 * by a common cause; and the sets that the record saw, where there is one, with the new station added to
 * each by its stated use.
 */
#include "together/together_impl.h"

#include "numeric/numeric.h"

#include <math.h>
#include <string.h>

enum { SHARES = 32 }; /* middles of equal shares of the common quantile */

struct side {
  const struct together_answer *answer;
  const struct together_use *use; /* per station of its facility */
  unsigned char *level;           /* per set: enum facility_level */
  double *weight;
};

struct adding {
  const struct together_add_request *request;
  struct side before, after;
  int after_of[AIR_SETS_MAX]; /* bit of `after` for each of `before`; -1: gone */
  struct together_added *out;
};

/* ---- levels ---- */

/* Short by the best estimate; near limit where some station that is parked may not open for certain. */
static void find_levels(struct side *side)
{
  const struct together_sets *s = &side->answer->sets;
  unsigned char bit = s->sure ? TOGETHER_SURE : TOGETHER_FINE;

  for (uint32_t set = 0; set < 1u << side->answer->count; set++) {
    side->level[set] = s->nothing || !(s->table[set] & TOGETHER_FINE) ? FACILITY_SHORT
                       : !(s->table[set] & bit)                       ? FACILITY_NEAR_LIMIT
                                                                      : FACILITY_AMPLE;
    for (int i = 0; i < side->answer->count && side->level[set] == FACILITY_AMPLE; i++)
      if (!(set >> i & 1u) && !(s->table[set | 1u << i] & bit))
        side->level[set] = FACILITY_NEAR_LIMIT;
  }
}

static bool make_side(struct side *side, struct arena *arena)
{
  size_t sets = (size_t)1 << side->answer->count;

  side->level = ARENA_ARRAY(arena, unsigned char, sets);
  side->weight = ARENA_ARRAY(arena, double, sets);
  if (!side->level || !side->weight)
    return false;
  find_levels(side);
  return true;
}

/* ---- weights ---- */

static void weigh(struct side *side, const double *up_ratio, double *short_out, double *near_out)
{
  double sums[3] = {0};

  numeric_set_weights(side->answer->count, up_ratio, side->weight);
  for (uint32_t set = 0; set < 1u << side->answer->count; set++)
    sums[side->level[set]] += side->weight[set];
  *short_out += sums[FACILITY_SHORT];
  *near_out += sums[FACILITY_SHORT] + sums[FACILITY_NEAR_LIMIT];
}

static void weigh_hour(const struct adding *a, struct side *side, int hour,
                       struct together_chance *out)
{
  double up[AIR_SETS_MAX], common[AIR_SETS_MAX];
  int n = side->answer->count;

  for (int i = 0; i < n; i++)
    up[i] = side->use[side->answer->stations[i]].up_ratio[hour];
  *out = (struct together_chance){.short_like_ratio = NAN, .near_like_ratio = NAN};
  weigh(side, up, &out->short_ratio, &out->near_ratio);
  if (!(a->request->together_ratio > 0)) {
    out->short_together_ratio = out->short_ratio;
    out->near_together_ratio = out->near_ratio;
    return;
  }
  for (int share = 0; share < SHARES; share++) {
    numeric_share_common(n, up, a->request->together_ratio, (share + 0.5) / SHARES, common);
    weigh(side, common, &out->short_together_ratio, &out->near_together_ratio);
  }
  out->short_together_ratio /= SHARES;
  out->near_together_ratio /= SHARES;
}

/* ---- recorded days ---- */

static uint32_t bits_of(const struct together_answer *answer, uint64_t up)
{
  uint32_t set = 0;

  for (int i = 0; i < answer->count; i++)
    set |= up >> answer->stations[i] & 1u ? 1u << i : 0u;
  return set;
}

/* The set as it was, with every choice of the new ones by how much they are used then. */
static void add_moment(const struct adding *a, uint32_t before, int hour, double *is_short,
                       double *is_near)
{
  const struct side *side = &a->after;
  uint32_t added = a->out->added, base = 0;

  for (int i = 0; i < a->before.answer->count; i++)
    base |= before >> i & 1u && a->after_of[i] >= 0 ? 1u << a->after_of[i] : 0u;
  for (uint32_t some = added;; some = (some - 1) & added) {
    double weight = 1;

    for (uint32_t left = added; left; left &= left - 1) {
      int i = __builtin_ctz(left);
      double up = side->use[side->answer->stations[i]].up_ratio[hour];

      weight *= some >> i & 1u ? up : 1 - up;
    }
    *is_short += side->level[base | some] == FACILITY_SHORT ? weight : 0;
    *is_near += side->level[base | some] >= FACILITY_NEAR_LIMIT ? weight : 0;
    if (!some)
      break;
  }
}

static void add_like(const struct adding *a, int hour)
{
  struct together_hour *h = &a->out->hours[hour];
  double sums[4] = {0};
  int count = 0, last_week = -1;

  for (int i = 0; i < a->request->moment_count; i++) {
    const struct together_moment *m = &a->request->moments[i];
    uint32_t set;

    if (m->hour != hour)
      continue;
    set = bits_of(a->before.answer, m->up);
    count++;
    h->like_days += m->week != last_week; /* moments are in order */
    last_week = m->week;
    sums[0] += a->before.level[set] == FACILITY_SHORT;
    sums[1] += a->before.level[set] >= FACILITY_NEAR_LIMIT;
    add_moment(a, set, hour, &sums[2], &sums[3]);
  }
  if (count == 0)
    return;
  h->before.short_like_ratio = sums[0] / count;
  h->before.near_like_ratio = sums[1] / count;
  h->after.short_like_ratio = sums[2] / count;
  h->after.near_like_ratio = sums[3] / count;
}

/* ---- the question ---- */

static bool is_known(const struct together_use *use)
{
  for (int hour = 0; hour < TOGETHER_HOURS; hour++)
    if (isnan(use->up_ratio[hour]))
      return false;
  return use->known;
}

static enum err_code check(const struct side *side, struct err *err)
{
  const struct together_answer *a = side->answer;

  if (!a->sets.known)
    return err_set(err, ERR_INPUT, "%.400s", a->sets.why);
  if (a->count > TOGETHER_ADD_MAX)
    return err_set(err, ERR_INPUT,
                   "%d stations; one more is worked out for at most %d: name fewer "
                   "(--stations)",
                   a->count, TOGETHER_ADD_MAX);
  for (int i = 0; i < a->count; i++)
    if (!is_known(&side->use[a->stations[i]]))
      return err_set(
          err, ERR_INPUT,
          "how much %s is used is not known in every hour: --use %s=20%%, or --use all=20%%, or a record",
          a->facility->stations[a->stations[i]].part.id,
          a->facility->stations[a->stations[i]].part.id);
  return ERR_OK;
}

static enum err_code match(struct adding *a, struct err *err)
{
  uint32_t known = 0;

  for (int i = 0; i < a->before.answer->count; i++) {
    const char *id = a->before.answer->facility->stations[a->before.answer->stations[i]].part.id;

    a->after_of[i] = -1;
    for (int k = 0; k < a->after.answer->count; k++)
      if (strcmp(a->after.answer->facility->stations[a->after.answer->stations[k]].part.id, id) ==
          0)
        a->after_of[i] = k;
    known |= a->after_of[i] >= 0 ? 1u << a->after_of[i] : 0u;
  }
  a->out->added = ((1u << a->after.answer->count) - 1) & ~known;
  if (!a->out->added)
    return err_set(err, ERR_INPUT,
                   "the overlay adds no station that may be raised: what is there before and after "
                   "has the same stations");
  if (__builtin_popcount(a->out->added) > 6)
    return err_set(err, ERR_INPUT, "the overlay adds %d stations; at most 6 at once",
                   __builtin_popcount(a->out->added));
  return ERR_OK;
}

static bool same_use(const struct side *side, int hour, int other)
{
  for (int i = 0; i < side->answer->count; i++) {
    const struct together_use *use = &side->use[side->answer->stations[i]];

    if (use->up_ratio[hour] != use->up_ratio[other])
      return false;
  }
  return true;
}

static void ask_hour(struct adding *a, int hour)
{
  struct together_hour *h = &a->out->hours[hour];

  h->first = hour;
  for (int other = 0; other < hour && h->first == hour; other++)
    if (a->out->hours[other].first == other && same_use(&a->before, hour, other) &&
        same_use(&a->after, hour, other))
      h->first = other;
  if (h->first == hour) {
    weigh_hour(a, &a->before, hour, &h->before);
    weigh_hour(a, &a->after, hour, &h->after);
  } else {
    h->before = a->out->hours[h->first].before;
    h->after = a->out->hours[h->first].after;
    h->before.short_like_ratio = h->before.near_like_ratio = NAN;
    h->after.short_like_ratio = h->after.near_like_ratio = NAN;
  }
  add_like(a, hour);
  if (h->like_days > 0 || a->out->hours[h->first].like_days > 0)
    h->first = hour;
}

struct together_added *together_add(const struct together_add_request *request, struct arena *arena,
                                    struct err *err)
{
  struct adding a = {.request = request,
                     .before = {.answer = request->before, .use = request->before_use},
                     .after = {.answer = request->after, .use = request->after_use},
                     .out = ARENA_NEW(arena, struct together_added)};

  if (!a.out) {
    (void)err_set(err, ERR_LIMIT, "the answer is larger than the memory set aside for it");
    return NULL;
  }
  a.out->request = request;
  if (check(&a.before, err) != ERR_OK || check(&a.after, err) != ERR_OK || match(&a, err) != ERR_OK)
    return NULL;
  if (!make_side(&a.before, arena) || !make_side(&a.after, arena)) {
    (void)err_set(err, ERR_LIMIT, "the answer is larger than the memory set aside for it");
    return NULL;
  }
  for (int hour = 0; hour < TOGETHER_HOURS; hour++)
    ask_hour(&a, hour);
  return a.out;
}
