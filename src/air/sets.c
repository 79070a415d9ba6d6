/*
 * Which stations may work together: one set after another of one scene.
 */
#include "air/air_impl.h"

#include <limits.h>
#include <math.h>
#include <string.h>

static int place_of(const struct air_sets *s, int station)
{
  for (int i = 0; i < s->count; i++)
    if (s->station[i] == station)
      return i;
  return -1;
}

bool air_may_be_raised(const struct facility *f, const struct scene *scene, int station)
{
  const struct facility_station *s = &f->stations[station];
  bool nothing_to_raise = s->flow == FACILITY_CONSTANT && !s->has_openings;

  return s->in_service && !scene->stations[station].withdrawn && !nothing_to_raise;
}

/* ---- stations between which nothing but the name differs ---- */

static bool same_resistance(const struct facility_resistance *a,
                            const struct facility_resistance *b)
{
  return a->form == b->form && a->drop_Pa == b->drop_Pa && a->flow_m3_s == b->flow_m3_s &&
         a->exponent == b->exponent && a->lumped_Pa_s2_m6 == b->lumped_Pa_s2_m6 &&
         a->loss_ratio == b->loss_ratio && a->area_m2 == b->area_m2 &&
         a->hydraulic_diameter_m == b->hydraulic_diameter_m && a->length_m == b->length_m &&
         a->roughness_m == b->roughness_m;
}

static bool same_flow(const struct facility_station *a, const struct facility_station *b)
{
  return a->flow == b->flow && a->parked_m3_s == b->parked_m3_s && a->work_m3_s == b->work_m3_s &&
         a->velocity_m_s == b->velocity_m_s && a->least_m3_s == b->least_m3_s &&
         a->most_m3_s == b->most_m3_s && a->bypass_m3_s == b->bypass_m3_s &&
         a->face_coefficient_ratio == b->face_coefficient_ratio &&
         a->bypass_area_m2 == b->bypass_area_m2 && a->deck_share_ratio == b->deck_share_ratio;
}

static bool same_front(const struct facility_station *a, const struct facility_station *b)
{
  return a->has_width == b->has_width && a->has_openings == b->has_openings &&
         a->width_m == b->width_m && a->parked_m == b->parked_m && a->work_m == b->work_m &&
         a->criterion == b->criterion;
}

static bool are_of_a_kind(const struct air_sets *s, int i, int j)
{
  const struct facility_station *a = &s->search.air->facility->stations[s->station[i]];
  const struct facility_station *b = &s->search.air->facility->stations[s->station[j]];
  const struct scene_station *at = &s->parked.stations[s->station[i]];
  const struct scene_station *bt = &s->parked.stations[s->station[j]];

  return a->room == b->room && a->main == b->main && a->joins == b->joins && same_flow(a, b) &&
         same_front(a, b) && same_resistance(&a->branch, &b->branch) &&
         !air_station_changed(at, bt) && !at->has_measured && !bt->has_measured;
}

/* Nothing of the network changes when it is raised. */
static bool is_idle(const struct air_sets *s, int at)
{
  const struct facility *f = s->search.air->facility;
  int i = s->station[at];

  return f->stations[i].flow != FACILITY_PASSIVE && !s->parked.stations[i].has_measured &&
         air_work_ask_m3_s(s->search.air, i) == scene_station_ask_m3_s(f, &s->parked, i);
}

static enum err_code take_stations(struct air_sets *s, const struct scene *scene,
                                   const int *stations, int count, struct err *err)
{
  const struct facility *f = s->search.air->facility;

  if (count > AIR_SETS_MAX)
    return err_set(err, ERR_INPUT, "%d stations; all sets of at most %d are worked out: name fewer",
                   count, AIR_SETS_MAX);
  for (int i = 0; i < count; i++) {
    struct scene_station *now = &s->parked.stations[stations[i]];

    if (!air_may_be_raised(f, scene, stations[i]))
      return err_set(err, ERR_INPUT, "%s is out of service, or has nothing to raise",
                     f->stations[stations[i]].part.id);
    if (place_of(s, stations[i]) >= 0)
      return err_set(err, ERR_INPUT, "%s is named twice", f->stations[stations[i]].part.id);
    now->raised = now->has_ask = now->has_measured = false;
    now->opening_m = f->stations[stations[i]].parked_m;
    s->station[s->count++] = stations[i];
  }
  return ERR_OK;
}

struct air_sets *air_sets_new(struct air *air, const struct scene *scene, const int *stations,
                              int count, struct arena *arena, struct err *err)
{
  const struct facility *f = air->facility;
  struct air_sets *s = ARENA_NEW(arena, struct air_sets);
  size_t n = (size_t)f->station_count;
  enum air_fault *faults = ARENA_ARRAY(arena, enum air_fault, 3 * n + 1);

  if (!s || !faults) {
    err_set(err, ERR_LIMIT, "the answer is larger than the memory set aside for it");
    return NULL;
  }
  s->parked = scene_copy(f, scene, arena);
  s->search = (struct air_search){.air = air,
                                  .scene = &s->parked,
                                  .own_fault = faults,
                                  .at_work = faults + n,
                                  .judged = faults + 2 * n,
                                  .solves_left = LONG_MAX,
                                  .arena = arena};
  if (take_stations(s, scene, stations, count, err) != ERR_OK)
    return NULL;
  s->trial = scene_copy(f, &s->parked, arena);
  s->raised = scene_copy(f, &s->parked, arena);
  s->search.trial = scene_copy(f, &s->parked, arena);
  for (int i = 0; i < count; i++)
    air_raise_to_work(air, &s->raised, stations[i]);
  air_find_own_faults(&s->search);
  net_forget(air->net);
  for (int i = 0; i < count; i++) {
    s->idle |= is_idle(s, i) ? 1u << i : 0u;
    s->kind[i] = i;
    for (int j = i - 1; j >= 0; j--)
      if (are_of_a_kind(s, i, j))
        s->kind[i] = s->kind[j];
  }
  return s;
}

int air_sets_kind(const struct air_sets *s, int at)
{
  return s->kind[at];
}

bool air_sets_is_idle(const struct air_sets *s, int at)
{
  return s->idle >> at & 1u;
}

bool air_sets_has_own_fault(const struct air_sets *s, int at)
{
  return s->search.at_work[s->station[at]] != AIR_NO_FAULT;
}

double air_sets_extra_m3_s(const struct air_sets *s, int at)
{
  const struct facility *f = s->search.air->facility;

  return air_work_ask_m3_s(s->search.air, s->station[at]) -
         scene_station_ask_m3_s(f, &s->parked, s->station[at]);
}

void air_sets_cold(struct air_sets *s)
{
  net_forget(s->search.air->net);
}

/* ---- one set ---- */

static void open_to(struct air_sets *s, uint32_t open)
{
  for (int i = 0; i < s->count; i++)
    s->trial.stations[s->station[i]] =
        (open >> i & 1u ? &s->raised : &s->parked)->stations[s->station[i]];
}

/* What a station misses as the network stands, whether or not it was raised for the solve. */
static bool misses_as(struct air_sets *s, const struct scene *scene, int at)
{
  int i = s->station[at];
  struct air_station_verdict v = air_judge_station(s->search.air, scene, i);
  enum air_fault fault = scene->stations[i].raised ? s->search.at_work[i] : s->search.own_fault[i];

  return v.judged && !v.met && !(fault && !(fault == AIR_FAULT_OF_ASK && v.at_limit));
}

static bool some_rule_is_short(const struct air_sets *s)
{
  const struct air *air = s->search.air;

  for (int p = 0; p < air_pool_count(air->facility); p++) {
    struct air_declared d = air_pool_declared(air, &s->trial, p, NULL);

    if (d.given && d.state == FACILITY_SHORT)
      return true;
  }
  return false;
}

void air_sets_look(struct air_sets *s, uint32_t open, struct air_set *out)
{
  struct air_outcome o;
  struct net_report report;

  open_to(s, open);
  air_outcome_of(s->search.air, &s->trial, air_faults_in(&s->search, &s->trial), &o, &report);
  *out = (struct air_set){.answered = o.answered,
                          .several = o.verdict == NET_SEVERAL_SOLUTIONS,
                          .unknown = true,
                          .iterations = report.iterations,
                          .fallbacks = report.fallbacks,
                          .residual_kg_s = report.residual_kg_s};
  if (!o.answered)
    return;
  for (int i = 0; i < o.miss_count; i++) {
    int at = o.misses[i].kind == AIR_MISS_STATION ? place_of(s, o.misses[i].index) : -1;

    if (at >= 0 && s->idle >> at & 1u)
      continue;
    out->missed = true;
    out->unknown = out->unknown && o.misses[i].kind == AIR_MISS_UNKNOWN;
  }
  if (some_rule_is_short(s)) {
    out->missed = true;
    out->unknown = false;
  }
  for (int i = 0; i < s->count; i++)
    if (s->idle >> i & 1u) {
      out->parked |= misses_as(s, &s->parked, i) ? 1u << i : 0u;
      out->raised |= misses_as(s, &s->raised, i) ? 1u << i : 0u;
    }
  out->unknown = out->unknown && out->missed;
}

bool air_set_is_fine(const struct air_set *set, uint32_t open)
{
  return set->answered && !set->missed && !(set->parked & ~open) && !(set->raised & open);
}

int air_sets_misses(struct air_sets *s, uint32_t open, struct arena *arena,
                    const char *words_out[AIR_SET_MISSES_MAX])
{
  struct air_outcome o;
  struct air *air = s->search.air;
  int count = 0;

  open_to(s, open);
  net_forget(air->net);
  air_outcome_of(air, &s->trial, air_faults_in(&s->search, &s->trial), &o, NULL);
  if (!o.answered) {
    words_out[0] = "the air could not be solved";
    return 1;
  }
  for (int i = 0; i < o.miss_count; i++, count++)
    if (count < AIR_SET_MISSES_MAX)
      words_out[count] = air_miss_words(air, &o.misses[i], arena);
  for (int p = 0; p < air_pool_count(air->facility); p++) {
    struct air_declared d = air_pool_declared(air, &s->trial, p, arena);
    bool told = air->facility->main_count > p && air->facility->mains[p].at < 0;

    if (!d.given || d.state != FACILITY_SHORT || told) /* a main without network: above */
      continue;
    if (count < AIR_SET_MISSES_MAX)
      words_out[count] = air_say(arena, "%s, %s", air_pool_id(air->facility, p), d.why);
    count++;
  }
  return count;
}

double air_sets_pressure_Pa(const struct air_sets *s, int node)
{
  const struct air *air = s->search.air;

  return air_node_known(air, node) ? net_pressure_Pa(air->net, node) : (double)NAN;
}
