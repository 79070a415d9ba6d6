/* All sets of a comb: block after block, and what the lanes leave open is asked for. */
#include "net/comb_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- paths ---- */

static comb_solve *const solvers[] = {
    [NET_PATH_PLAIN] = comb_solve_plain,
#if defined(__x86_64__)
    [NET_PATH_AVX2] = comb_solve_avx2,
    [NET_PATH_AVX512] = comb_solve_avx512,
#endif
};

/* ---- the lanes of each tooth ---- */

static void fill_lanes(struct comb_lanes *lanes, const struct comb_tooth *tooth)
{
  for (int i = 0; i < COMB_BLOCK; i++) {
    const struct comb_law *law = &tooth->law[i >> tooth->bit & 1];

    lanes->root[i] = law->root[0];
    lanes->cap[i] = law->cap;
    lanes->knee_Pa[i] = law->knee_Pa[0];
    lanes->holds_Pa[i] = law->holds_Pa;
    lanes->least_kg_s[i] = law->least_kg_s;
    lanes->most_kg_s[i] = law->most_kg_s;
  }
}

static bool is_bound(const struct comb_law *law)
{
  return law->least_kg_s > -(double)INFINITY || law->most_kg_s < (double)INFINITY;
}

static void take_teeth(struct net_comb *c)
{
  for (int t = 0; t < c->tooth_count; t++) {
    struct comb_tooth *tooth = &c->teeth[t];

    tooth->bound = is_bound(&tooth->law[0]) || is_bound(&tooth->law[1]);
    if (tooth->bit >= 0 && tooth->bit < COMB_LOW_BITS)
      fill_lanes(&c->lanes[tooth->bit], tooth);
  }
}

/* False where a decreed flow misses its bound whatever is open. */
static bool take_bounds(struct net_comb *c, const struct net_comb_bounds *bounds)
{
  bool met = true;

  c->room_least_Pa = bounds ? bounds->room_least_Pa : -(double)INFINITY;
  c->room_most_Pa = bounds ? bounds->room_most_Pa : (double)INFINITY;
  c->end_most_Pa = bounds ? bounds->end_most_Pa : (double)INFINITY;
  for (int t = 0; t < c->tooth_count; t++)
    for (int open = 0; open < 2; open++) {
      c->teeth[t].law[open].least_kg_s = -(double)INFINITY;
      c->teeth[t].law[open].most_kg_s = (double)INFINITY;
    }
  for (int l = 0; bounds && bounds->link && l < c->link_count; l++) {
    int t = c->link_tooth[l];
    double decreed = c->link_decree_kg_s[l];

    if (t == COMB_DECREE)
      met = met && decreed >= bounds->link[l].least_kg_s[0] &&
            decreed <= bounds->link[l].most_kg_s[0];
    for (int open = 0; t >= 0 && open < 2; open++) {
      struct comb_law *law = &c->teeth[t].law[open];

      law->least_kg_s = fmax(law->least_kg_s, bounds->link[l].least_kg_s[open]);
      law->most_kg_s = fmin(law->most_kg_s, bounds->link[l].most_kg_s[open]);
    }
  }
  return met;
}

/* ---- one block ---- */

static double comb_start(double y_Pa)
{
  return 1 / sqrt(fmax(y_Pa, 1));
}

/* Starts from the blocks without up to COMB_ORDER of its own open teeth, the lowest. */
static void find_start(struct comb_block *b)
{
  uint32_t high = b->base, bits[COMB_ORDER];
  int count = 0;

  for (; high && count < COMB_ORDER; high &= high - 1)
    bits[count++] = high & -high;
  b->from_count = (1 << count) - 1;
  for (int choice = 1; choice < 1 << count; choice++) {
    uint32_t without = 0;

    for (int i = 0; i < count; i++)
      without |= choice >> i & 1 ? bits[i] : 0;
    b->from[choice - 1] = b->base & ~without;
    b->minus[choice - 1] = __builtin_popcount((unsigned)choice) % 2 == 0;
  }
}

static void aim_block(struct net_comb *c, uint32_t base)
{
  struct comb_block *b = c->block;

  b->base = base;
  find_start(b);
  for (int t = 0; t < c->tooth_count; t++) {
    int bit = c->teeth[t].bit;

    b->lanes[t] = bit >= 0 && bit < COMB_LOW_BITS ? &c->lanes[bit] : NULL;
    b->law[t] = &c->teeth[t].law[bit >= COMB_LOW_BITS && (base >> bit & 1)];
  }
}

static bool ask(struct net_comb *c, const struct net_comb_job *job, uint32_t set)
{
  double room_Pa = NAN, far_Pa = NAN;
  enum net_comb_verdict verdict = job->ask(job->arg, set, &room_Pa, &far_Pa);

  if (isfinite(room_Pa - far_Pa))
    c->start[set] = comb_start(room_Pa - far_Pa);
  if (job->room_Pa)
    job->room_Pa[set] = room_Pa;
  if (job->far_Pa)
    job->far_Pa[set] = far_Pa;
  if (job->verdict)
    job->verdict[set] = (unsigned char)verdict;
  return verdict != NET_COMB_STOP;
}

static void take_block(struct net_comb *c, const struct net_comb_job *job, bool decrees_met,
                       struct net_comb_report *report)
{
  const struct comb_block *b = c->block;

  if (job->room_Pa)
    memcpy(job->room_Pa + b->base, b->room_Pa, sizeof b->room_Pa);
  if (job->far_Pa)
    memcpy(job->far_Pa + b->base, b->far_Pa, sizeof b->far_Pa);
  for (int i = 0; job->verdict && i < COMB_BLOCK; i++)
    job->verdict[b->base + (uint32_t)i] =
        !decrees_met || b->missed >> i & 1u ? NET_COMB_MISSED : NET_COMB_MET;
  report->lost += __builtin_popcount(b->lost);
  report->failed += __builtin_popcount(b->failed & ~b->lost);
  report->near += __builtin_popcount(b->near & ~b->lost);
  for (uint32_t open = b->failed | b->lost | b->near; open; open &= open - 1)
    if (!ask(c, job, b->base + (uint32_t)__builtin_ctz(open))) {
      report->stopped = true;
      return;
    }
}

void net_comb_all(struct net_comb *c, const struct net_comb_job *job,
                  struct net_comb_report *report)
{
  enum net_path path = job->path == NET_PATH_BEST ? net_path_best() : job->path;
  bool decrees_met = take_bounds(c, job->bounds);
  struct comb_block *b = c->block;

  BUG_IF(!net_path_has(path));
  *report = (struct net_comb_report){.path = path, .sets = 1l << c->switch_count};
  take_teeth(c);
  b->steps = b->looks = 0;
  b->worst_kg_s = 0;
  c->start[0] = comb_start(0);
  report->stopped = !ask(c, job, 0);
  for (int i = 1; i < COMB_BLOCK; i++) /* all start from none open */
    c->start[i] = c->start[0];
  for (long base = 0; base < report->sets && !report->stopped; base += COMB_BLOCK) {
    aim_block(c, (uint32_t)base);
    if (base == 0) {
      b->from_count = 1;
      b->from[0] = 0;
      b->minus[0] = false;
    }
    solvers[path](c, b);
    take_block(c, job, decrees_met, report);
  }
  report->steps = b->steps;
  report->looks = b->looks;
  report->worst_kg_s = b->worst_kg_s;
}

int net_comb_room(const struct net_comb *c)
{
  return c->room;
}

int net_comb_far(const struct net_comb *c)
{
  return c->far;
}
