/* The air with units off, and what it leaves each main and each station. */
#include "stop/stop_impl.h"

#include <math.h>
#include <string.h>

struct stopping {
  const struct facility *f;
  const struct stop_request *request;
  struct arena *arena;
  struct err *err;
  struct facility usual, stopped; /* the same but for the fans of coarse mains */
  bool *off_pool;                 /* per pool: a unit of it is off */
  struct scene scene;             /* everything parked, the units off */
  struct stop_notice *out;
};

/* ---- what is off ---- */

static bool is_coarse_main(const struct facility *f, const char *id, int *main_out)
{
  for (int i = 0; i < f->main_count; i++)
    if (strcmp(f->mains[i].part.id, id) == 0) {
      *main_out = i;
      return f->mains[i].fan_count == 0;
    }
  return false;
}

/* Rows of a declared table by running fans, counted from `running` of them: air then reads that row
 * for a main without fans of its own. */
static bool count_from(struct facility *f, int main, int running, struct arena *arena)
{
  struct facility_main *mains = ARENA_ARRAY(arena, struct facility_main, (size_t)f->main_count + 1);
  struct facility_declared *d;
  int *rows;

  if (!mains)
    return false;
  memcpy(mains, f->mains, (size_t)f->main_count * sizeof *mains);
  d = &mains[main].declared;
  rows = ARENA_ARRAY(arena, int, (size_t)d->value_count + 1);
  if (!rows)
    return false;
  for (int i = 0; i < d->value_count; i++)
    rows[i] = d->running_fans[i] - running;
  d->running_fans = rows;
  f->mains = mains;
  return true;
}

/* All fans of every coarse main run, as far as its table knows. */
static bool run_coarse(struct stopping *s, struct facility *f, const int *standing)
{
  for (int i = 0; i < s->f->main_count; i++) {
    const struct facility_declared *d = &s->f->mains[i].declared;

    if (s->f->mains[i].fan_count > 0 || !d->given || !d->running_fans)
      continue;
    if (!count_from(f, i, d->running_fans[d->value_count - 1] - (standing ? standing[i] : 0),
                    s->arena))
      return false;
  }
  return true;
}

static enum err_code stop_coarse(struct stopping *s, int main, int *standing)
{
  const struct facility_declared *d = &s->f->mains[main].declared;
  const char *id = s->f->mains[main].part.id;

  if (!d->given || !d->running_fans)
    return err_set(
        s->err, ERR_INPUT,
        "main %s: what it draws with a fan less is not known, for it has no network; say it "
        "in the file: capacity: {by running fans: {1: 4000 m3/h, 2: 7000 m3/h}}",
        id);
  if (++standing[main] > d->running_fans[d->value_count - 1])
    return err_set(s->err, ERR_INPUT, "main %s has %d fans; more of them are off", id,
                   d->running_fans[d->value_count - 1]);
  return ERR_OK;
}

/* A unit that does not run takes nothing away when it is off. */
static void mark_pool(struct stopping *s, const char *id)
{
  const struct facility *f = s->f;
  int fan = facility_fan_find(f, id, NULL), supply = facility_supply_find(f, id);

  for (int m = 0; m < f->main_count; m++)
    for (int k = 0; k < f->mains[m].fan_count; k++)
      s->off_pool[m] |=
          f->mains[m].fans[k] == fan && s->scene.fan_running[fan] < f->fans[fan].running;
  if (supply >= 0)
    s->off_pool[f->main_count + supply] = true;
}

/* ERR_INPUT names what there is. */
static enum err_code take_off(struct stopping *s, int *standing)
{
  for (int i = 0; i < s->request->off_count; i++) {
    const char *id = s->request->off[i];
    enum err_code code;
    int main;

    if (is_coarse_main(s->f, id, &main)) {
      code = stop_coarse(s, main, standing);
      s->off_pool[main] = true;
    } else {
      code = scene_change(s->f, &s->scene, "off", id, s->err);
      mark_pool(s, id);
    }
    if (code != ERR_OK)
      return code;
  }
  return ERR_OK;
}

static const char *name_units(const struct stopping *s)
{
  struct buf text;
  const char *out;

  buf_init(&text, 4096);
  for (int i = 0; i < s->request->off_count; i++) {
    const char *id = s->request->off[i];
    int unit = -1, fan = facility_fan_find(s->f, id, &unit), main;
    int supply = facility_supply_find(s->f, id);
    const char *name = fan >= 0      ? s->f->fans[fan].part.name
                       : supply >= 0 ? s->f->supplies[supply].part.name
                                     : id;

    buf_printf(&text, "%s%s%s", i ? " and " : "",
               fan < 0 && supply < 0 && is_coarse_main(s->f, id, &main)
                   ? i > 0 && strcmp(s->request->off[i - 1], id) == 0 ? "another fan of "
                                                                      : "one fan of "
                   : "",
               id);
    if (strcmp(name, id) != 0)
      buf_printf(&text, " (%s)", name);
  }
  out = arena_strdup(s->arena, text.text);
  buf_release(&text);
  return out;
}

/* ---- solving ---- */

/* Of the unit's stop nobody but the parked state is asked for: weather and what else stands, as the
 * scene has it. */
static bool park(struct stopping *s)
{
  const struct scene *from = s->request->scene;

  s->scene = from ? scene_copy(s->f, from, s->arena) : scene_parked(s->f, s->arena);
  if (!s->scene.stations)
    return false;
  for (int i = 0; i < s->f->station_count; i++) {
    s->scene.stations[i].raised = false;
    s->scene.stations[i].opening_m = s->f->stations[i].parked_m;
    s->scene.stations[i].has_ask = false;
    s->scene.stations[i].blocked =
        false; /* somebody has cleared it by then: asked for in the lines */
  }
  for (int i = 0; i < s->f->door_count; i++)
    s->scene.door_open[i] = false;
  return true;
}

static const struct air_answer *ask(struct stopping *s, const struct facility *f,
                                    const struct scene *scene)
{
  struct air *air = air_new(f, s->err);
  struct air_answer *answer =
      air ? air_ask(air, scene, &air_settings_sure, s->arena, s->err) : NULL;

  air_free(air);
  return answer;
}

static const struct air_answer *ask_plainly(struct stopping *s, const struct scene *scene)
{
  struct air_settings settings = air_settings_sure;
  struct air *air = air_new(&s->stopped, s->err);
  const struct air_answer *answer;

  settings.advise = false;
  answer = air ? air_ask(air, scene, &settings, s->arena, s->err) : NULL;
  air_free(air);
  return answer;
}

/* ---- what each station may do ---- */

/* Less than it asks; one that asks nothing, noticeably less than on another day. */
static bool is_served_less(const struct air_station *now, const struct air_station *usual)
{
  const double enough_ratio = 0.99, passive_ratio = 0.9;

  if (now->asked_m3_s > 0.0)
    return !(now->flow_m3_s >= enough_ratio * now->asked_m3_s);
  return usual->flow_m3_s > 0.0 && !(now->flow_m3_s >= passive_ratio * usual->flow_m3_s);
}

static bool opens_alone(const struct air_station *now)
{
  const struct air_may_open *may = &now->may_open;

  return may->asked && may->state_after != FACILITY_SHORT &&
         may->state_after != FACILITY_NOT_KNOWN && (!may->has_sure || may->sure);
}

/* Where something is missed with everything parked already, every opening ends short: then what
 * counts is the station's own main and rooms, and that nothing else becomes short. */
static bool opens_beside(struct stopping *s, int station)
{
  struct scene scene = scene_copy(s->f, &s->scene, s->arena);
  const struct air_answer *answer;
  bool fine;

  scene.stations[station].raised = true;
  scene.stations[station].opening_m = s->f->stations[station].work_m;
  answer = ask_plainly(s, &scene);
  fine = answer && answer->solved;
  for (int p = 0; fine && p < answer->pool_count; p++) {
    bool is_short = answer->pools[p].state == FACILITY_SHORT || answer->pools[p].within_fine;

    if (air_pool_has_station(s->f, p, station))
      fine = !is_short;
    else
      fine = !is_short || s->out->parked->pools[p].state == FACILITY_SHORT;
  }
  return fine;
}

static bool may_open(struct stopping *s, int station)
{
  const struct air_station *now = &s->out->parked->stations[station];

  if (opens_alone(now))
    return true;
  return now->may_open.asked && s->out->parked->state == FACILITY_SHORT && opens_beside(s, station);
}

static void judge_stations(struct stopping *s)
{
  struct stop_notice *n = s->out;

  for (int i = 0; i < s->f->station_count; i++) {
    const struct air_station *now = &n->parked->stations[i];

    if (!s->f->stations[i].in_service || s->scene.stations[i].withdrawn)
      n->stations[i] = STOP_OUT;
    else if (is_served_less(now, &n->usual->stations[i]))
      n->stations[i] = STOP_WITHOUT;
    else if (!now->may_open.asked)
      n->stations[i] = STOP_UNTOUCHED; /* always on, nothing to raise */
    else
      n->stations[i] = may_open(s, i) ? STOP_COUNTED : STOP_PARKED;
    n->why[i] = n->stations[i] == STOP_PARKED ? now->may_open.binding : NULL;
  }
}

static int least(int a, int b)
{
  return a < b ? a : b;
}

/* Those that may not open even alone are taken out, and the rest counted again. */
static const struct air_answer *count_the_rest(struct stopping *s)
{
  struct scene rest = scene_copy(s->f, &s->scene, s->arena);
  bool fewer = false;

  for (int i = 0; i < s->f->station_count; i++)
    if (s->out->stations[i] == STOP_PARKED || s->out->stations[i] == STOP_WITHOUT)
      fewer = rest.stations[i].withdrawn = true;
  return fewer ? ask(s, &s->stopped, &rest) : s->out->parked;
}

static int count_of(const struct stopping *s, int pool, enum stop_station which)
{
  int count = 0;

  for (int i = 0; i < s->f->station_count; i++)
    count += air_pool_has_station(s->f, pool, i) && s->out->stations[i] == which;
  return count;
}

static void judge_pool(struct stopping *s, int p, const struct air_answer *rest)
{
  const struct air_pool *usual = &s->out->usual->pools[p], *now = &s->out->parked->pools[p];
  struct stop_pool *out = &s->out->pools[p];
  int waiting =
      count_of(s, p, STOP_COUNTED) + count_of(s, p, STOP_PARKED) + count_of(s, p, STOP_WITHOUT);

  out->pool = p;
  out->of = count_of(s, p, STOP_COUNTED);
  out->usual_of = waiting;
  out->known = now->more_known && rest->pools[p].more_known && now->state != FACILITY_NOT_KNOWN;
  out->usual = usual->more_known ? least(usual->more_guaranteed, usual->more_sure) : 0;
  out->guaranteed =
      out->known ? least(least(rest->pools[p].more_guaranteed, rest->pools[p].more_sure), out->of)
                 : 0;
  out->perhaps = out->known ? least(rest->pools[p].more_perhaps, out->of) : 0;
  out->binding = rest->pools[p].binding;
  out->affected = s->off_pool[p] || !out->known || out->of < waiting ||
                  out->guaranteed < out->usual || now->state == FACILITY_SHORT;
}

/* ---- the mains' numbers together ---- */

/* How much air a station moves when it goes to its mark. */
static double change_m3_s(const struct facility_station *s)
{
  return facility_station_rule_m3_s(s, true, s->work_m) -
         facility_station_rule_m3_s(s, false, s->parked_m);
}

/* The most demanding of a main that is still down; -1: none. */
static int next_largest(const struct stopping *s, const struct scene *scene, int pool)
{
  int best = -1;

  for (int i = 0; i < s->f->station_count; i++)
    if (s->out->stations[i] == STOP_COUNTED && !scene->stations[i].raised &&
        air_pool_has_station(s->f, pool, i) &&
        (best < 0 || change_m3_s(&s->f->stations[i]) > change_m3_s(&s->f->stations[best])))
      best = i;
  return best;
}

/* Each main's number of its most demanding stations open at once: does the shared supply bear it? */
static bool bears_all(struct stopping *s)
{
  struct scene scene = scene_copy(s->f, &s->scene, s->arena);
  const struct air_answer *answer;
  bool fine;

  for (int p = 0; p < s->out->pool_count; p++)
    for (int k = 0;
         s->out->parked->pools[p].kind == AIR_POOL_MAIN && k < s->out->pools[p].guaranteed; k++) {
      int station = next_largest(s, &scene, p);

      if (station < 0)
        break;
      scene.stations[station].raised = true;
      scene.stations[station].opening_m = s->f->stations[station].work_m;
    }
  answer = ask_plainly(s, &scene);
  fine = answer && answer->solved;
  for (int p = 0; fine && p < answer->pool_count; p++)
    fine = (answer->pools[p].state != FACILITY_SHORT && !answer->pools[p].within_fine) ||
           s->out->parked->pools[p].state == FACILITY_SHORT;
  return fine;
}

/* A make-up unit's own number counts any stations of its rooms, so it repeats what the mains say
 * already.  Where it bears what the mains allow, only they are said. */
static void settle_supplies(struct stopping *s)
{
  bool bears = bears_all(s);

  for (int p = 0; p < s->out->pool_count; p++)
    if (s->out->parked->pools[p].kind == AIR_POOL_SUPPLY && bears && !s->off_pool[p] &&
        s->out->parked->pools[p].state != FACILITY_SHORT)
      s->out->pools[p].affected = false;
}

/* No number of its main or room changes: the station is as on any day. */
static void settle_stations(struct stopping *s)
{
  for (int i = 0; i < s->f->station_count; i++) {
    bool touched = false, room_for_one = true;

    for (int p = 0; p < s->out->pool_count; p++)
      if (air_pool_has_station(s->f, p, i)) {
        touched |= s->out->pools[p].affected;
        room_for_one &= s->out->pools[p].known && s->out->pools[p].guaranteed > 0;
      }
    if (s->out->stations[i] == STOP_COUNTED && !touched)
      s->out->stations[i] = STOP_UNTOUCHED;
    else if (s->out->stations[i] == STOP_COUNTED && !room_for_one)
      s->out->stations[i] = STOP_PARKED;
    s->out->affected |=
        touched || s->out->stations[i] == STOP_PARKED || s->out->stations[i] == STOP_WITHOUT;
  }
}

static bool solve(struct stopping *s)
{
  struct stop_notice *n = s->out;
  struct scene running = scene_copy(s->f, &s->scene, s->arena);
  const struct air_answer *rest;

  for (int i = 0; i < s->f->fan_count; i++) {
    running.fan_running[i] = s->f->fans[i].running;
    running.fan_units[i] = s->scene.fan_units[i];
    for (int unit = 0; unit < s->f->fans[i].running; unit++)
      scene_run_unit(s->f, &running, i, unit, true);
  }
  for (int i = 0; i < s->f->supply_count; i++)
    running.supply_off[i] = false;
  n->usual = ask(s, &s->usual, &running);
  n->parked = ask(s, &s->stopped, &s->scene);
  if (!n->usual || !n->parked)
    return false;
  n->solved = n->parked->solved && n->usual->solved;
  n->pool_count = n->parked->pool_count;
  n->pools = ARENA_ARRAY(s->arena, struct stop_pool, (size_t)n->pool_count + 1);
  if (!n->pools)
    return false;
  judge_stations(s);
  rest = count_the_rest(s);
  if (!rest)
    return false;
  for (int p = 0; p < n->pool_count; p++)
    judge_pool(s, p, rest);
  settle_supplies(s);
  settle_stations(s);
  return true;
}

static struct stop_notice *make(struct stopping *s)
{
  struct stop_notice *n = ARENA_NEW(s->arena, struct stop_notice);
  int *standing = ARENA_ARRAY(s->arena, int, (size_t)s->f->main_count + 1);
  size_t stations = (size_t)s->f->station_count + 1;

  s->off_pool = ARENA_ARRAY(s->arena, bool, (size_t)(s->f->main_count + s->f->supply_count) + 1);
  if (!n || !standing || !s->off_pool || !park(s))
    return NULL;
  *n = (struct stop_notice){.facility = s->f,
                            .scene = s->request->scene ? s->request->scene->name : NULL,
                            .stations = ARENA_ARRAY(s->arena, enum stop_station, stations),
                            .why = ARENA_ARRAY(s->arena, const char *, stations)};
  s->out = n;
  if (!n->stations || !n->why || take_off(s, standing) != ERR_OK)
    return NULL;
  if (s->request->from || s->request->to) {
    n->when = stop_when(s->request->from, s->request->to, s->arena, s->err);
    if (!n->when)
      return NULL;
  }
  n->what = name_units(s);
  if (!run_coarse(s, &s->usual, NULL) || !run_coarse(s, &s->stopped, standing) || !solve(s))
    return NULL;
  stop_say(n, s->request, s->arena);
  return n;
}

struct stop_notice *stop_notice(const struct facility *facility, const struct stop_request *request,
                                struct arena *arena, struct err *err)
{
  struct stopping stopping = {.f = facility,
                              .request = request,
                              .arena = arena,
                              .err = err,
                              .usual = *facility,
                              .stopped = *facility};
  struct stop_notice *notice;

  if (request->off_count == 0) {
    err_set(err, ERR_INPUT, "nothing is off: name a fan, a unit of it or a make-up unit");
    return NULL;
  }
  for (int i = 0; i < request->off_count; i++)
    for (int k = 0; k < i; k++)
      if (strchr(request->off[i], '/') && strcmp(request->off[i], request->off[k]) == 0) {
        err_set(err, ERR_INPUT, "'%.40s' is named twice; once is enough", request->off[i]);
        return NULL;
      }
  notice = make(&stopping);
  if (!notice && err && err->code == ERR_OK)
    err_set(err, ERR_LIMIT, "the notice is larger than the memory set aside for it");
  return notice;
}
