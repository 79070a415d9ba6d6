#include "judge/judge_impl.h"

#include <stdlib.h>
#include <string.h>

enum { SOLVED_MOST_BYTES = 64 << 20 };

/* One answer with all it stands on. */
struct solved {
  struct arena arena;
  struct scene scene;
  const struct air_answer *air; /* NULL: it could not be computed */
  int64_t known_ms;             /* the last moment at which all of it was known; INT64_MIN: never */
};

struct judge {
  struct judge_settings given;
  struct air *air;
  struct solved *now, *earlier;
  struct judge_dwell *dwells; /* per pool */
  enum facility_level *held;
  enum facility_level state;
  bool has_state, behind;
  int64_t since_ms, last_ms;
  long changes;
};

static int pool_count(const struct facility *f)
{
  return f->main_count + f->supply_count;
}

static const struct facility_declared *declared_of(const struct facility *f, int pool)
{
  return pool < f->main_count ? &f->mains[pool].declared
                              : &f->supplies[pool - f->main_count].declared;
}

/* ---- solving ---- */

static void solved_free(struct solved *solved)
{
  if (!solved)
    return;
  arena_release(&solved->arena);
  free(solved);
}

static const enum facility_level *copy_levels(const struct judge *j, struct arena *arena)
{
  size_t count = (size_t)pool_count(j->given.facility);
  enum facility_level *levels = ARENA_ARRAY(arena, enum facility_level, count + 1);

  BUG_IF(!levels);
  memcpy(levels, j->held, count * sizeof *levels);
  return levels;
}

static struct solved *solve(struct judge *j, const struct watch_belief *belief)
{
  struct solved *s = calloc(1, sizeof *s);
  struct err err = {0};

  if (!s)
    err_no_memory();
  arena_init(&s->arena, SOLVED_MOST_BYTES);
  s->known_ms = INT64_MIN;
  s->scene = scene_copy(j->given.facility, &belief->scene, &s->arena);
  s->scene.was_of_pool = belief->scene.was_of_pool ? copy_levels(j, &s->arena) : NULL;
  s->air = air_ask(j->air, &s->scene, &air_settings_sure, &s->arena, &err);
  return s;
}

/* The last in which all was known stays, for pages that show it with its age. */
static void replace(struct judge *j, struct solved *next)
{
  if (j->now && j->now->known_ms != INT64_MIN) {
    solved_free(j->earlier);
    j->earlier = j->now;
  } else
    solved_free(j->now);
  j->now = next;
  j->changes++;
}

static void solve_if_it_differs(struct judge *j, const struct watch_belief *belief, bool may_solve)
{
  j->behind = j->now && !judge_is_same_scene(j->given.facility, &j->now->scene, &belief->scene);
  if (j->now && (!j->behind || !may_solve))
    return;
  replace(j, solve(j, belief));
  j->behind = false;
}

/* ---- levels of declared rules ---- */

static void hold_levels(struct judge *j, const struct watch_belief *belief)
{
  const struct facility *f = j->given.facility;

  for (int i = 0; i < pool_count(f); i++) {
    const struct facility_declared *rule = declared_of(f, i);
    bool not_known =
        i < f->main_count ? belief->main_not_known[i] : belief->supply_not_known[i - f->main_count];
    enum facility_level level =
        not_known || !j->now->air ? FACILITY_NOT_KNOWN : j->now->air->pools[i].declared.state;

    if (rule->given)
      j->held[i] = judge_dwell(&j->dwells[i], rule, level, belief->now_ms);
  }
}

/* ---- one judgement ---- */

static void take_verdict(struct judge *j, const struct watch_belief *belief,
                         const struct answer_live_verdict *verdict)
{
  struct judge_seen seen = {.facility = j->given.facility,
                            .feeds = j->given.feeds,
                            .t_ms = belief->now_ms,
                            .belief = belief,
                            .scene = &j->now->scene,
                            .air = j->now->air,
                            .verdict = verdict,
                            .turned = !j->has_state || verdict->state != j->state,
                            .had_state = j->has_state,
                            .before = j->state};

  if (seen.turned) {
    j->since_ms = belief->now_ms;
    j->changes++;
  }
  if (verdict->state != FACILITY_NOT_KNOWN)
    j->now->known_ms = belief->now_ms;
  j->state = verdict->state;
  j->has_state = true;
  if (j->given.seen)
    j->given.seen(j->given.arg, &seen);
}

bool judge_at(struct judge *j, int64_t t_ms, bool may_solve)
{
  struct arena arena;

  arena_init(&arena, SIZE_MAX);
  struct watch_belief belief = watch_believe(j->given.watch, t_ms, &arena);

  belief.scene.was_of_pool = j->has_state ? j->held : NULL;
  solve_if_it_differs(j, &belief, may_solve);
  if (!j->behind)
    hold_levels(j, &belief);

  struct answer_live live = {.facility = j->given.facility,
                             .feeds = j->given.feeds,
                             .belief = &belief,
                             .air = j->now->air,
                             .held = j->held,
                             .zone = j->given.zone,
                             .since_ms = INT64_MIN};
  struct answer_live_verdict verdict = answer_live_judge(&live, &arena);

  /* The air of another scene says nothing of this one; that something is not known needs no air. */
  if (!j->behind || verdict.state == FACILITY_NOT_KNOWN)
    take_verdict(j, &belief, &verdict);
  arena_release(&arena);
  j->last_ms = t_ms;
  return !j->behind;
}

/* ---- the moments between ---- */

static int64_t sooner(const struct judge *j, int64_t t_ms, int64_t next_ms)
{
  return t_ms > j->last_ms && t_ms < next_ms ? t_ms : next_ms;
}

static int64_t next_ms(const struct judge *j)
{
  const struct facility *f = j->given.facility;
  int64_t next_ms = watch_next_ms(j->given.watch, j->last_ms);

  if (j->given.next_ms)
    next_ms = sooner(j, j->given.next_ms(j->given.arg), next_ms);

  for (int i = 0; i < pool_count(f); i++)
    if (declared_of(f, i)->given)
      next_ms = sooner(j, judge_dwell_next_ms(&j->dwells[i], declared_of(f, i)), next_ms);
  return next_ms;
}

void judge_until(struct judge *j, int64_t t_ms)
{
  if (!j->has_state)
    return;
  for (int64_t at_ms = next_ms(j); at_ms < t_ms; at_ms = next_ms(j))
    judge_at(j, at_ms, true);
}

void judge_begin_again(struct judge *j)
{
  j->has_state = false;
  j->since_ms = INT64_MIN;
  memset(j->dwells, 0, (size_t)pool_count(j->given.facility) * sizeof *j->dwells);
}

struct judge_now judge_now(const struct judge *j)
{
  const struct solved *known =
      j->now && j->now->air && j->now->known_ms != INT64_MIN ? j->now : j->earlier;
  struct judge_now now = {.air = j->now ? j->now->air : NULL,
                          .held = j->held,
                          .state = j->state,
                          .has_state = j->has_state,
                          .since_ms = j->since_ms,
                          .changes = j->changes};

  if (known && known->air)
    now.known = (struct answer_live_earlier){known->known_ms, &known->scene, known->air};
  return now;
}

/* ---- life ---- */

static void *made(size_t count, size_t size)
{
  void *memory = calloc(count, size);

  if (!memory)
    err_no_memory();
  return memory;
}

enum err_code judge_new(const struct judge_settings *settings, struct judge **judge_out,
                        struct err *err)
{
  size_t pools = (size_t)pool_count(settings->facility) + 1;
  struct judge *j = made(1, sizeof *j);

  j->given = *settings;
  j->dwells = made(pools, sizeof *j->dwells);
  j->held = made(pools, sizeof *j->held);
  j->since_ms = INT64_MIN;
  j->air = air_new(settings->facility, err);
  if (!j->air) {
    judge_free(j);
    return err->code;
  }
  *judge_out = j;
  return ERR_OK;
}

void judge_free(struct judge *j)
{
  if (!j)
    return;
  solved_free(j->now);
  solved_free(j->earlier);
  air_free(j->air);
  free(j->dwells);
  free(j->held);
  free(j);
}
