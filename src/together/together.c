/* The question: one state of the plant, then each part lost in turn. */
#include "together/together_impl.h"

#include <limits.h>
#include <math.h>
#include <string.h>

/* Of all tables of an answer together; above the second not every state is solved. */
static const long usual_budget = 1000000;
static const unsigned long usual_states = 1u << 15;

struct asking {
  const struct facility *f;
  const struct together_request *request;
  struct together_answer *out;
  struct arena *arena;
  struct err *err;
  long budget;
  struct air *air;
  struct facility_moved *moved;
  bool said_cannot;
  const struct air_answer *doubts; /* of the scene in work: what the ± of each figure is worth */
};

/* ---- one table ---- */

static bool fill_one(struct asking *q, struct air *air, const struct scene *scene,
                     unsigned char bit, struct together_sets *s, struct air_sets **sets_out)
{
  struct fill fill = {.count = q->out->count,
                      .budget = &q->budget,
                      .most_states = q->request->most_states_solved ? q->request->most_states_solved
                                                                    : usual_states,
                      .one_by_one = q->request->one_by_one,
                      .path = q->request->path,
                      .bit = bit,
                      .table = s->table,
                      .work = &s->work,
                      .arena = q->arena};

  fill.sets = air_sets_new(air, scene, q->out->stations, q->out->count, q->arena, q->err);
  if (!fill.sets || !together_fill(&fill))
    return false;
  s->exact = s->exact && fill.exact;
  if (sets_out)
    *sets_out = fill.sets;
  return true;
}

/* ---- the doubtful end: the figures moved against what is left in each pool ---- */

static void move_against(struct asking *q, const double *slope)
{
  const double grain_ratio =
      1e-6; /* of a ±: slopes of equal stations differ in their last digits */
  double squares = 0.0;

  for (int i = 0; slope && i < q->f->input_count; i++)
    squares += slope[i] * slope[i];
  for (int i = 0; i < q->f->input_count; i++) {
    double by = 0.0;

    if (slope && slope[i] != 0.0 && squares > 0.0)
      by = q->f->doubts_at_worst ? -copysign(1.0, slope[i]) : -slope[i] / sqrt(squares);
    facility_move(q->moved, i, round(by / grain_ratio) * grain_ratio);
  }
}

/* An air of its own: nothing of an earlier table may show in this one. */
static bool fill_moved(struct asking *q, const struct scene *scene, struct together_sets *s)
{
  struct air *air = air_new(facility_moved_as(q->moved), q->err);
  bool ok = air && fill_one(q, air, scene, TOGETHER_SURE, s, NULL);

  air_free(air);
  return ok;
}

/* What an answer of this tier does not tell, once. */
static void say_cannot(struct asking *q, const struct air_answer *answer)
{
  enum { CANNOT_MOST = 24 };

  for (int i = 0; i < answer->cannot_count && i < CANNOT_MOST && !q->said_cannot; i++)
    q->out->unknown[q->out->unknown_count++] = answer->cannot[i];
  q->said_cannot = true;
}

static bool fill_doubts(struct asking *q, const struct scene *scene, struct together_sets *s)
{
  static const struct air_settings spare = {
      .advise = true, .solve_budget = 6000, .sure = true, .sure_budget = 6000, .spare_only = true};
  size_t sets = (size_t)1 << q->out->count;
  unsigned char *kept;
  struct scene parked = scene_copy(q->f, scene, q->arena);
  const struct air_answer *answer;

  for (int i = 0; i < q->out->count; i++) {
    struct scene_station *now = &parked.stations[q->out->stations[i]];

    now->raised = now->has_ask = now->has_measured = false;
    now->opening_m = q->f->stations[q->out->stations[i]].parked_m;
  }
  answer = air_ask(q->air, &parked, &spare, q->arena, q->err);
  if (!answer)
    return false;
  q->doubts = answer;
  say_cannot(q, answer);
  q->out->tier = answer->tier;
  s->sure = answer->counts_doubts && answer->sure;
  if (!s->sure) /* the figures are taken at their word */
    return true;
  kept = ARENA_ARRAY(q->arena, unsigned char, sets);
  if (!kept)
    return false;
  memcpy(kept, s->table, sets);
  for (size_t i = 0; i < sets; i++)
    kept[i] |= kept[i] & TOGETHER_FINE ? TOGETHER_SURE : 0;
  for (int p = 0; p < answer->pool_count; p++) {
    if (!answer->pools[p].spare.known)
      continue;
    memset(s->table, 0, sets);
    move_against(q, answer->left_slopes_m3_s + (ptrdiff_t)p * q->f->input_count);
    if (!fill_moved(q, scene, s))
      return false;
    for (size_t i = 0; i < sets; i++)
      kept[i] &= (unsigned char)(s->table[i] | TOGETHER_FINE);
  }
  move_against(q, NULL);
  memcpy(s->table, kept, sets);
  return true;
}

/* With all parked something is missed: then none may open, whatever a set would make of it. */
static bool misses_parked(struct asking *q, const struct scene *scene, struct together_sets *s)
{
  struct air_sets *sets =
      air_sets_new(q->air, scene, q->out->stations, q->out->count, q->arena, q->err);
  const char *words[AIR_SET_MISSES_MAX];

  if (!sets)
    return false;
  s->parked_count = air_sets_misses(sets, 0, q->arena, words);
  if (s->parked_count == 0)
    return false;
  s->parked_count = s->parked_count < AIR_SET_MISSES_MAX ? s->parked_count : AIR_SET_MISSES_MAX;
  s->parked_misses = ARENA_ARRAY(q->arena, const char *, AIR_SET_MISSES_MAX);
  if (!s->parked_misses)
    return false;
  memcpy(s->parked_misses, words, (size_t)s->parked_count * sizeof *words);
  s->work = (struct together_work){.states = 1, .solved = 1};
  return true;
}

/* What a shown set misses at the doubtful end of this pool, where it misses nothing else. */
static void say_at_end(struct asking *q, struct air_sets *sets, uint32_t open,
                       struct together_set *set)
{
  const char *words[AIR_SET_MISSES_MAX];

  if (set->miss_count > 0 || air_sets_misses(sets, open, q->arena, words) == 0)
    return;
  set->misses = ARENA_ARRAY(q->arena, const char *, 2);
  if (!set->misses)
    return;
  set->misses[0] = arena_printf(q->arena, "within the doubt of the figures: %s", words[0]);
  set->miss_count = 1;
}

static void say_all_at_end(struct asking *q, struct air_sets *sets, struct together_sets *s)
{
  struct together_set parked = {.miss_count = s->parked_count, .misses = s->parked_misses};

  for (int i = 0; i < s->breaking_shown; i++)
    say_at_end(q, sets, s->breaking[i].stations, &s->breaking[i]);
  for (int i = 0; i < s->tightest_shown; i++)
    if (s->tightest[i].next >= 0)
      say_at_end(q, sets, s->tightest[i].stations | 1u << s->tightest[i].next, &s->tightest[i]);
  if (s->nothing) {
    say_at_end(q, sets, 0, &parked);
    s->parked_count = parked.miss_count;
    s->parked_misses = parked.misses;
  }
}

static void say_doubts(struct asking *q, const struct scene *scene, struct together_sets *s)
{
  for (int p = 0; s->sure && p < q->doubts->pool_count; p++) {
    struct air *air;
    struct air_sets *sets;

    if (!q->doubts->pools[p].spare.known)
      continue;
    move_against(q, q->doubts->left_slopes_m3_s + (ptrdiff_t)p * q->f->input_count);
    air = air_new(facility_moved_as(q->moved), q->err);
    sets = air ? air_sets_new(air, scene, q->out->stations, q->out->count, q->arena, q->err) : NULL;
    if (sets)
      say_all_at_end(q, sets, s);
    air_free(air);
  }
  move_against(q, NULL);
}

/* ---- too many for a table, or the purse ended: bounds ---- */

/* By `air`: choices of one size were tried, the more demanding of a room and junction for the less, and
 * fewer follow. */
static bool bound(struct asking *q, const struct scene *scene, struct together_sets *s,
                  const char *because)
{
  static const struct air_settings by_kind = {
      .advise = true, .solve_budget = 60000, .sure = true, .sure_budget = 60000, .by_kind = true};
  struct scene parked = scene_copy(q->f, scene, q->arena);
  const struct air_answer *a;
  struct buf text;

  for (int i = 0; i < q->f->station_count; i++)
    if (air_may_be_raised(q->f, scene, i)) {
      parked.stations[i].raised = parked.stations[i].has_ask = false;
      parked.stations[i].has_measured = false;
      parked.stations[i].opening_m = q->f->stations[i].parked_m;
    }
  a = air_ask(q->air, &parked, &by_kind, q->arena, q->err);
  if (!a)
    return false;
  q->out->tier = a->tier;
  buf_init(&text, 1 << 14);
  for (int p = 0; p < a->pool_count; p++)
    if (a->pools[p].has_mark)
      buf_printf(&text, "%s%s: any %d of %d", text.used ? "; " : "", air_pool_id(q->f, p),
                 a->counts_doubts ? a->pools[p].mark_guaranteed : a->pools[p].mark_perhaps,
                 a->pools[p].mark_of);
  s->known = false;
  s->why = arena_printf(
      q->arena,
      "%s: name fewer (--stations). By bounds instead, all others parked; choices of one "
      "number were tried, where of one room and junction the more demanding stand for the "
      "less, and smaller numbers follow as an opened sash only takes air away: %s",
      because, text.used ? text.text : "nothing that can be said");
  s->words = text.used ? arena_strdup(q->arena, text.text) : "Not known: treat as no.";
  buf_release(&text);
  return true;
}

static bool is_blind(const struct facility *f, int main)
{
  return f->mains[main].at < 0 && !f->mains[main].declared.given;
}

/* A main of which the file knows nothing: no set that touches it can be called fine. */
static bool is_judged_by_nothing(struct asking *q, struct together_sets *s)
{
  for (int i = 0; i < q->out->count; i++) {
    int main = q->f->stations[q->out->stations[i]].main;

    if (!is_blind(q->f, main))
      continue;
    s->why = arena_printf(
        q->arena,
        "main %s has neither a network nor a capacity in the file, so nothing tells "
        "whether it has enough for %s; name stations of other mains (--stations), or say "
        "its capacity",
        q->f->mains[main].part.id, q->f->stations[q->out->stations[i]].part.id);
    s->words = "Not known: treat as no.";
    return true;
  }
  return false;
}

static bool work_out(struct asking *q, const struct scene *scene, struct together_sets *s)
{
  struct air_sets *sets = NULL;

  if (is_judged_by_nothing(q, s))
    return true;
  s->known = s->exact = s->nothing = misses_parked(q, scene, s);
  if (s->nothing) {
    together_words(s, q->out, q->arena);
    return true;
  }
  s->table = ARENA_ARRAY(q->arena, unsigned char, (size_t)1 << q->out->count);
  s->exact = s->known = true;
  if (!s->table || !fill_one(q, q->air, scene, TOGETHER_FINE, s, &sets) ||
      (s->exact && !fill_doubts(q, scene, s)))
    return false;
  if (!s->exact)
    return bound(q, scene, s, "the purse of solves ended before every set was judged");
  if (!together_find(s, q->out, sets, q->arena))
    return false;
  say_doubts(q, scene, s);
  if (!s->nothing)
    together_rules(s, q->out, sets);
  together_words(s, q->out, q->arena);
  return true;
}

/* ---- each part lost in turn ---- */

static struct together_lost *add_lost(struct asking *q, enum together_part part, int index)
{
  struct together_lost *lost = &q->out->lost[q->out->lost_count++];

  *lost = (struct together_lost){.part = part,
                                 .index = index,
                                 .lost = 1,
                                 .of = 1,
                                 .scene = scene_copy(q->f, q->request->scene, q->arena)};
  return lost;
}

static const char *named(struct asking *q, const char *id, const struct facility_part *part)
{
  return strcmp(part->id, part->name) == 0 ? arena_printf(q->arena, "%s", id)
                                           : arena_printf(q->arena, "%s (%s)", id, part->name);
}

static void lose_fan(struct asking *q, int fan)
{
  const struct facility_fan *f = &q->f->fans[fan];
  int running = q->request->scene->fan_running[fan];
  struct together_lost *lost;

  if (running > 1) { /* one of several equal ones: the last that runs */
    int unit = f->count - 1;

    while (!(q->request->scene->fan_units[fan] >> unit & 1u))
      unit--;
    lost = add_lost(q, TOGETHER_FAN_UNIT, fan);
    scene_run_unit(q->f, &lost->scene, fan, unit, false);
    lost->of = running;
    lost->id = arena_printf(q->arena, "%s/%d", f->part.id, unit + 1);
    lost->what = named(q, lost->id, &f->part);
  }
  if (running == 0)
    return;
  lost = add_lost(q, TOGETHER_FAN, fan);
  scene_run_unit(q->f, &lost->scene, fan, -1, false);
  lost->lost = lost->of = running;
  lost->id = f->part.id;
  lost->what = running > 1
                   ? arena_printf(q->arena, "%s, all %d", named(q, f->part.id, &f->part), running)
                   : named(q, f->part.id, &f->part);
}

/* Where a main has one group of fans, losing the group is losing the main. */
static void lose_main(struct asking *q, int main)
{
  const struct facility_main *m = &q->f->mains[main];
  struct together_lost *lost;

  if (m->fan_count < 2)
    return;
  lost = add_lost(q, TOGETHER_MAIN, main);
  for (int i = 0; i < m->fan_count; i++)
    scene_run_unit(q->f, &lost->scene, m->fans[i], -1, false);
  lost->id = m->part.id;
  lost->what = arena_printf(q->arena, "%s, all its fans", named(q, m->part.id, &m->part));
}

static void lose_all(struct asking *q)
{
  const struct facility *f = q->f;
  int most = 2 * f->fan_count + f->main_count + f->supply_count + f->door_count;

  q->out->lost = ARENA_ARRAY(q->arena, struct together_lost, (size_t)most + 1);
  if (!q->out->lost)
    return;
  for (int i = 0; i < f->fan_count; i++)
    lose_fan(q, i);
  for (int i = 0; i < f->main_count; i++)
    lose_main(q, i);
  for (int i = 0; i < f->supply_count; i++)
    if (!q->request->scene->supply_off[i]) {
      struct together_lost *lost = add_lost(q, TOGETHER_SUPPLY, i);

      lost->scene.supply_off[i] = true;
      lost->id = f->supplies[i].part.id;
      lost->what = named(q, lost->id, &f->supplies[i].part);
    }
  for (int i = 0; i < f->door_count; i++)
    if (!q->request->scene->door_open[i] && f->doors[i].open.form != FACILITY_NO_LEAK) {
      struct together_lost *lost = add_lost(q, TOGETHER_DOOR, i);

      lost->scene.door_open[i] = true;
      lost->id = f->doors[i].part.id;
      lost->what = arena_printf(q->arena, "%s, stands open", named(q, lost->id, &f->doors[i].part));
    }
}

const struct together_lost *together_find_lost(const struct together_answer *a, const char *id)
{
  for (int i = 0; i < a->lost_count; i++)
    if (strcmp(a->lost[i].id, id) == 0)
      return &a->lost[i];
  return NULL;
}

/* ---- which stations ---- */

/* One id of a list; ERR_INPUT says what it may have meant. */
static enum err_code take_id(const struct facility *f, const char *at, size_t size, int *out,
                             struct err *err)
{
  char id[40];

  if (size >= sizeof id)
    return err_set(err, ERR_INPUT, "'%.40s': stations by their ids: A1,S3", at);
  memcpy(id, at, size);
  id[size] = '\0';
  *out = facility_station_find(f, id);
  if (*out >= 0)
    return ERR_OK;

  const char *near = facility_nearest_id(f, id);

  return err_set(err, ERR_INPUT, "no station '%s'%s%s%s", id, near ? "; is it " : "",
                 near ? near : "", near ? "?" : "");
}

int together_stations(const struct facility *f, const char *list, int *out, struct err *err)
{
  int count = 0;

  for (const char *at = list; *at;) {
    size_t size = strcspn(at, ", ");

    if (size > 0 && count == AIR_SETS_MAX) {
      (void)err_set(err, ERR_INPUT, "at most %d stations", AIR_SETS_MAX);
      return -1;
    }
    if (size > 0 && take_id(f, at, size, &out[count++], err) != ERR_OK)
      return -1;
    at += size + (at[size] ? 1 : 0);
  }
  if (count == 0)
    (void)err_set(err, ERR_INPUT, "no station is named: write their ids, as A1,S3");
  return count > 0 ? count : -1;
}

static void take_stations(struct asking *q)
{
  struct together_answer *out = q->out;

  if (q->request->station_count > 0) {
    out->count = out->all_count = q->request->station_count;
    memcpy(out->stations, q->request->stations, (size_t)out->count * sizeof *out->stations);
    return;
  }
  for (int i = 0; i < q->f->station_count; i++)
    if (air_may_be_raised(q->f, q->request->scene, i)) {
      if (out->count < AIR_SETS_MAX)
        out->stations[out->count++] = i;
      out->all_count++;
    }
}

/* ---- what is not known ---- */

static void say(struct asking *q, const char *text)
{
  q->out->unknown[q->out->unknown_count++] = text;
}

static void say_unknown(struct asking *q)
{
  const struct facility *f = q->f;

  q->out->unknown = ARENA_ARRAY(q->arena, const char *, (size_t)f->main_count * 2 + 32);
  if (!q->out->unknown)
    return;
  say(q, "the minutes of opening and closing: steady air only, each at its mark or parked");
  say(q, "openings above the mark, and what doors, draughts and people do to one face");
  for (int i = 0; i < f->main_count; i++) {
    if (is_blind(f, i))
      say(q,
          arena_printf(q->arena,
                       "whether main %s has enough air: it has neither a network nor a capacity in "
                       "the file; treat it as no",
                       f->mains[i].part.id));
    else if (f->mains[i].fan_count == 0 && q->request->lost)
      say(q,
          arena_printf(q->arena,
                       "what main %s does with a fan less: it has no fan in the file ('inward stop "
                       "SUITE --off %s', where its capacity is given by running fans)",
                       f->mains[i].part.id, f->mains[i].part.id));
  }
}

static const char *base_of(struct asking *q)
{
  const struct scene *scene = q->request->scene;
  const struct facility *f = q->f;
  struct buf text;
  const char *out;

  buf_init(&text, 1 << 14);
  for (int i = 0; i < f->fan_count; i++)
    if (scene->fan_running[i] != f->fans[i].running)
      buf_printf(&text, "%s%s %d of %d running", text.used ? ", " : "", f->fans[i].part.id,
                 scene->fan_running[i], f->fans[i].count);
  for (int i = 0; i < f->supply_count; i++)
    if (scene->supply_off[i])
      buf_printf(&text, "%s%s off", text.used ? ", " : "", f->supplies[i].part.id);
  for (int i = 0; i < f->door_count; i++)
    if (scene->door_open[i])
      buf_printf(&text, "%s%s open", text.used ? ", " : "", f->doors[i].part.id);
  out = text.used ? arena_strdup(q->arena, text.text) : NULL;
  buf_release(&text);
  return out;
}

static bool answer(struct asking *q)
{
  struct together_answer *out = q->out;

  take_stations(q);
  if (out->count == 0) {
    (void)err_set(q->err, ERR_INPUT,
                  "no station may be raised: all are out of service, withdrawn, or have no sash");
    return false;
  }
  say_unknown(q);
  if (!out->unknown)
    return false;
  out->base = base_of(q);
  if (out->all_count > AIR_SETS_MAX)
    return bound(
        q, q->request->scene, &out->sets,
        arena_printf(q->arena,
                     "%d stations may be raised, and all sets are worked out of at most %d",
                     out->all_count, AIR_SETS_MAX));
  if (!work_out(q, q->request->scene, &out->sets))
    return false;
  if (q->request->lost)
    lose_all(q);
  for (int i = 0; i < out->lost_count; i++)
    if (!work_out(q, &out->lost[i].scene, &out->lost[i].sets))
      return false;
  return true;
}

struct together_answer *together_ask(const struct facility *facility,
                                     const struct together_request *request, struct arena *arena,
                                     struct err *err)
{
  struct asking q = {.f = facility,
                     .request = request,
                     .arena = arena,
                     .err = err,
                     .budget = request->solve_budget ? request->solve_budget : usual_budget,
                     .out = ARENA_NEW(arena, struct together_answer),
                     .moved = facility_moved_new(facility, arena)};
  bool ok = false;

  if (q.out && q.moved) {
    q.out->facility = facility;
    q.out->scene = request->scene->name;
    q.air = air_new(facility, err);
    ok = q.air && answer(&q);
    air_free(q.air);
  }
  if (!ok && err->code == ERR_OK)
    (void)err_set(err, ERR_LIMIT, "the answer is larger than the memory set aside for it");
  return ok ? q.out : NULL;
}
