/*
 * What an answer says beside its figures: why the state is what it is, what was
 * not solved, and what was assumed.
 */
#include "air/air_impl.h"

#include <math.h>
#include <string.h>

struct texts {
  struct arena *arena;
  const char **list;
  int count, room;
};

static struct texts texts_new(struct arena *arena, int room)
{
  return (struct texts){arena, ARENA_ARRAY(arena, const char *, (size_t)room + 1), 0, room};
}

static void texts_add(struct texts *texts, const char *text)
{
  if (texts->count < texts->room)
    texts->list[texts->count++] = text;
}

static void assume_for_supplies(const struct facility *f, struct texts *out)
{
  for (int i = 0; i < f->supply_count && !air_is_bare(f); i++)
    for (int j = 0; f->supplies[i].has_most && j < f->supplies[i].feed_count; j++)
      if (!f->supplies[i].feeds[j].has_wide_open)
        texts_add(out, air_say(out->arena,
                               "feed %s: wide open it takes half of the plenum's %.4g Pa at its "
                               "most flow (common practice, no source)",
                               f->supplies[i].feeds[j].part.id, f->supplies[i].plenum_Pa));
}

static void assume_for_exhausts(const struct facility *f, struct texts *out)
{
  for (int i = 0; i < f->exhaust_count; i++)
    if (f->exhausts[i].to >= 0 && f->exhausts[i].to != facility_node_outdoors(f))
      texts_add(out, air_say(out->arena,
                             "exhaust %s: flows as fixed as long as its main pulls 1 Pa (common "
                             "practice, no source)",
                             f->exhausts[i].part.id));
}

static int count_feeds(const struct facility *f)
{
  int count = 0;

  for (int i = 0; i < f->supply_count; i++)
    count += f->supplies[i].feed_count;
  return count;
}

void air_assume(const struct air_search *search, struct air_answer *answer)
{
  const struct facility *f = search->air->facility;
  struct arena *arena = search->arena;
  struct texts out = texts_new(arena, f->assumed_count + f->exhaust_count + count_feeds(f) + 3);

  texts_add(&out, "steady air: no one is moving, nothing has just changed");
  if (answer->density_fixed)
    texts_add(&out, air_say(arena, "air density fixed by the file: %.4g kg/m3 everywhere",
                            answer->density_kg_m3));
  assume_for_supplies(f, &out);
  assume_for_exhausts(f, &out);
  if (search->cut)
    texts_add(&out, air_say(arena,
                            "the advice stopped after %ld trial solves: lists may be longer than "
                            "needed and counts lower than true",
                            search->budget));
  for (int i = 0; i < f->assumed_count; i++)
    texts_add(&out, f->assumed[i]);
  answer->assumed = out.list;
  answer->assumed_count = out.count;
}

/* A unit without a limit gives what its terminals take: its plenum is no question of anybody's. */
static bool is_idle_plenum(const struct facility *f, int node)
{
  int supply = node - facility_node_outdoors(f) - 1;

  return supply >= 0 && !f->supplies[supply].has_most;
}

void air_report_unsolved(const struct air *air, struct air_answer *answer, struct arena *arena)
{
  struct texts out = texts_new(arena, answer->node_count + answer->crossing_count + 1);

  bool bare = air_is_bare(air->facility); /* then `cannot` says it once */

  for (int i = 0; i < answer->node_count && !bare; i++)
    if (!answer->nodes[i].known && answer->nodes[i].why && !is_idle_plenum(air->facility, i))
      texts_add(&out, air_say(arena, "%s: %s", answer->nodes[i].id, answer->nodes[i].why));
  for (int i = 0; i < answer->crossing_count; i++) {
    const struct air_crossing *c = &answer->crossings[i];

    texts_add(&out, air_say(arena,
                            "%s: one of several crossings of its curve and the system: %.0f m3/h%s "
                            "(shown: the largest on the falling side)",
                            air->facility->fans[c->fan].part.id, c->flow_m3_s * 3600.0,
                            c->left_of_peak ? ", left of its peak" : ""));
  }
  if (answer->report.verdict == NET_FAILED || answer->report.verdict == NET_AT_FLOOR ||
      answer->report.verdict == NET_ILL_POSED)
    if (answer->report.reason[0])
      texts_add(&out, air_say(arena, "solver: %s", answer->report.reason));
  answer->unsolved = out.list;
  answer->unsolved_count = out.count;
}

/* A supply that cannot hold a room whose keep is missed says the same again. */
static bool is_said_by_keep(const struct facility *f, const struct air_outcome *now, int miss)
{
  const struct air_miss *m = &now->misses[miss];

  for (int i = 0; m->kind == AIR_MISS_FEED && i < now->miss_count; i++)
    if (now->misses[i].kind == AIR_MISS_KEEP &&
        now->misses[i].index == f->supplies[m->index].feeds[m->sub].room)
      return true;
  return false;
}

enum { STATIONS_APART = 3 }; /* more stations than this share a line */

static bool starves(const struct air_miss *miss)
{
  return miss->kind == AIR_MISS_STATION && miss->actual < miss->wanted;
}

static int stations_missing(const struct air *air, const struct air_outcome *now, int main)
{
  int count = 0;

  for (int i = 0; i < now->miss_count; i++)
    count += starves(&now->misses[i]) && air->facility->stations[now->misses[i].index].main == main;
  return count;
}

/* A lost fan starves every station of its main: that is one thing to say. */
static void starved_mains(const struct air *air, const struct air_outcome *now, struct texts *out)
{
  const struct facility *f = air->facility;

  for (int m = 0; m < f->main_count; m++) {
    const char *who = NULL;

    if (stations_missing(air, now, m) <= STATIONS_APART)
      continue;
    for (int i = 0; i < now->miss_count; i++) {
      int station = now->misses[i].index;

      if (!starves(&now->misses[i]) || f->stations[station].main != m)
        continue;
      who = who ? air_say(out->arena, "%s, %s", who, f->stations[station].part.id)
                : f->stations[station].part.id;
    }
    texts_add(out, air_say(out->arena, "%s: not enough air for %s", f->mains[m].part.id, who));
  }
}

static bool is_said_by_main(const struct air *air, const struct air_outcome *now, int miss)
{
  const struct air_miss *m = &now->misses[miss];

  return starves(m) &&
         stations_missing(air, now, air->facility->stations[m->index].main) > STATIONS_APART;
}

/* What is missed, each once, behind the pools that answer for it. */
static void reasons_for_misses(const struct air *air, const struct air_outcome *now,
                               struct texts *out)
{
  const struct facility *f = air->facility;

  for (int i = 0; i < now->miss_count; i++) {
    const char *who = NULL;

    if (is_said_by_keep(f, now, i) || is_said_by_main(air, now, i))
      continue;
    for (int p = 0; p < air_pool_count(f); p++)
      if (air_pool_has_miss(f, p, &now->misses[i]))
        who = who ? air_say(out->arena, "%s, %s", who, air_pool_id(f, p)) : air_pool_id(f, p);
    texts_add(out, air_say(out->arena, "%s%s%s%s", who ? who : "", who ? ": " : "",
                           air_miss_words(air, &now->misses[i], out->arena),
                           who ? "" : " (no pool answers for it)"));
  }
}

/* Why a pool stands where it stands though it misses nothing, without its name; NULL when
 * nothing is to be said. */
static const char *pool_reason(const struct air *air, const struct air_levels *levels, int p,
                               struct arena *arena)
{
  const struct facility *f = air->facility;

  if (air_pool_is_blind(f, p))
    return "not known: the file gives it neither fans nor a capacity";
  if (levels->missed[p] || levels->unknown[p])
    return NULL; /* said by what is missed */
  if (levels->binding_station[p] >= 0)
    return air_say(arena, "opening %s to work would miss: %s",
                   f->stations[levels->binding_station[p]].part.id,
                   air_miss_words(air, &levels->binding_miss[p], arena));
  if (levels->margin_short[p])
    return air_say(arena, "less headroom than the suite's own margin: %s",
                   air_miss_words(air, &levels->binding_miss[p], arena));
  return NULL;
}

/* Pools of which the same is to be said share a line. */
static void say_together(const struct facility *f, const char **why, int count, struct texts *out)
{
  for (int p = 0; p < count; p++) {
    const char *who = air_pool_id(f, p);

    if (!why[p])
      continue;
    for (int q = p + 1; q < count; q++)
      if (why[q] && strcmp(why[p], why[q]) == 0) {
        who = air_say(out->arena, "%s, %s", who, air_pool_id(f, q));
        why[q] = NULL;
      }
    texts_add(out, air_say(out->arena, "%s: %s", who, why[p]));
  }
}

/* Pools with one reason share its line: "Acid, MU: ...". */
static void reasons_for_pools(const struct air *air, const struct air_levels *levels, int count,
                              struct texts *out)
{
  const char *why[AIR_POOLS_MAX];

  for (int p = 0; p < count; p++)
    why[p] = pool_reason(air, levels, p, out->arena);
  say_together(air->facility, why, count, out);
}

static void declared_reasons(const struct air *air, const struct air_levels *levels,
                             const struct air_answer *answer, int p, struct texts *out)
{
  const char *id = air_pool_id(air->facility, p);

  if (!answer->pools[p].declared.given)
    return;
  texts_add(out, air_say(out->arena, "%s: %s", id, answer->pools[p].declared.why));
  if (levels->declared[p] != levels->computed[p] && levels->computed[p] != FACILITY_NOT_KNOWN &&
      !air_is_bare(air->facility))
    texts_add(out,
              air_say(out->arena, "%s: declared says %s, computed says %s: they disagree", id,
                      air_level_name(levels->declared[p]), air_level_name(levels->computed[p])));
}

/* What is not as usual explains what is missed better than any pressure. */
static void plant_reasons(const struct facility *f, const struct scene *scene, struct texts *out)
{
  for (int i = 0; i < f->fan_count; i++)
    if (scene->fan_running[i] < f->fans[i].running)
      texts_add(out, air_say(out->arena, "%s: %d of the usual %d running", f->fans[i].part.id,
                             scene->fan_running[i], f->fans[i].running));
  for (int i = 0; i < f->supply_count; i++)
    if (scene->supply_off[i])
      texts_add(out, air_say(out->arena, "%s is off", f->supplies[i].part.id));
  for (int i = 0; i < f->door_count; i++)
    if (scene->door_open[i])
      texts_add(out, air_say(out->arena, "door %s stands open", f->doors[i].part.id));
}

/* Where the state follows the doubtful end, or could be better than it. */
static const char *sure_reason(const struct air_pool *pool, bool counts, struct arena *arena)
{
  const char *left =
      air_say(arena, "%.0f m3/h %s, ± %.0f m3/h", fabs(pool->spare.flow_m3_s) * 3600.0,
              pool->spare.flow_m3_s < 0.0 ? "too little" : "left", pool->spare.pm_m3_s * 3600.0);

  if (pool->within_short && !counts)
    return air_say(arena, "short is within the assumed ± (%s): `doubts` says how sure you are",
                   left);
  if (pool->within_short)
    return air_say(arena, "short is within the ± (%s): treat as near limit, open nothing more",
                   left);
  if (pool->within_fine)
    return air_say(arena, "not short is within the ± too (%s): treat as short", left);
  if (pool->state != pool->best)
    return air_say(arena, "%s at the best estimate only (%s): treat as %s",
                   air_level_name(pool->best), left, air_level_name(pool->state));
  return NULL;
}

static void sure_reasons(const struct facility *f, const struct air_answer *answer,
                         struct texts *out)
{
  const char *why[AIR_POOLS_MAX];

  for (int p = 0; p < answer->pool_count; p++)
    why[p] = sure_reason(&answer->pools[p], answer->counts_doubts, out->arena);
  say_together(f, why, answer->pool_count, out);
}

static bool anyone_waits(const struct air *air, const struct scene *scene)
{
  for (int i = 0; i < air->facility->station_count; i++)
    if (air_station_waits(air, scene, i))
      return true;
  return false;
}

void air_give_reasons(const struct air_search *search, const struct air_outcome *now,
                      const struct air_levels *levels, struct air_answer *answer)
{
  const struct air *air = search->air;
  const struct scene *scene = search->scene;
  struct arena *arena = search->arena;
  const struct facility *f = air->facility;
  struct texts out =
      texts_new(arena, AIR_MISSES_MAX + 4 * AIR_POOLS_MAX + f->station_count + f->fan_count +
                           f->supply_count + f->door_count + f->not_counted_count + 8);

  if (answer->report.verdict == NET_FAILED)
    texts_add(&out, "the air could not be solved: treat as no");
  for (int i = 0; i < f->not_counted_count; i++)
    texts_add(&out, air_say(arena, "not counted: %s; the answer is too good by what it draws",
                            f->not_counted[i]));
  if (answer->state != FACILITY_AMPLE)
    plant_reasons(f, scene, &out);
  starved_mains(air, now, &out);
  reasons_for_misses(air, now, &out);
  reasons_for_pools(air, levels, answer->pool_count, &out);
  sure_reasons(f, answer, &out);
  for (int p = 0; p < answer->pool_count; p++)
    declared_reasons(air, levels, answer, p, &out);
  for (int i = 0; i < f->station_count; i++)
    if (answer->stations[i].own_fault)
      texts_add(&out, air_say(arena,
                              "%s misses its criterion with all others parked and the plant in "
                              "order too: its own fault, not the shared air",
                              f->stations[i].part.id));
  if (levels->unsure)
    texts_add(&out, "not every opening could be tried: what is not said here may not be concluded");
  if (answer->pool_count == 0)
    texts_add(&out, "no main and no supply in the file: nothing shared is judged");
  if (out.count == f->not_counted_count)
    texts_add(&out, anyone_waits(air, scene)
                        ? "nothing is missed, and any one station that is still parked may open"
                        : "nothing is missed, and no station is left to open");
  answer->reasons = out.list;
  answer->reason_count = out.count;
}
