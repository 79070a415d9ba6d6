#include "ask/ask_impl.h"

#include "after/after.h"
#include "answer/answer.h"
#include "base/emit.h"
#include "together/together.h"

#include <stdlib.h>
#include <string.h>

void ask_site_init(struct ask_site *site, const struct facility *facility,
                   const struct scene *start)
{
  *site = (struct ask_site){.facility = facility, .start = start};
  buf_init(&site->plan, ASK_ANSWER_MAX_BYTES);
  answer_plan_json(facility, start, &site->plan);
  BUG_IF(site->plan.full);
}

void ask_site_release(struct ask_site *site)
{
  buf_release(&site->plan);
}

void ask_worker_release(struct ask_worker *worker)
{
  air_free(worker->air);
  worker->air = NULL;
}

int ask_refuse(struct buf *out, int status, const char *why)
{
  struct emit json;

  buf_clear(out);
  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "error", why);
  emit_int(&json, "status", status);
  emit_close(&json);
  emit_end(&json);
  return status;
}

/* ---- scenes ---- */

static enum err_code no_parameter(const char *key, unsigned takes, struct err *err)
{
  struct buf words;

  if (takes == ASK_NOTHING)
    return err_set(err, ERR_INPUT, "no parameter \"%.32s\": this address takes none", key);
  buf_init(&words, 160);
  scene_list_changes(&words);
  err_set(err, ERR_INPUT, "no parameter \"%.32s\": use scene, %s%s", key, words.text,
          takes & ASK_STATION    ? ", station, and sure"
          : takes & ASK_SURE     ? ", and sure"
          : takes & ASK_TOGETHER ? ", stations, and lost"
          : takes & ASK_AFTER    ? ", event, and for"
          : takes & ASK_SAMPLE   ? ", draws, and seed"
                                 : "");
  buf_release(&words);
  return ERR_INPUT;
}

/* The keys that change no scene; those said once only, with what is said of a second. */
static const struct asked_key {
  const char *key;
  unsigned is;
  const char *once;
} asked_keys[] = {
    {"scene", ASK_SCENE, "more than one scene; name one, then the changes to it"},
    {"station", ASK_STATION, "more than one station; ask about one at a time"},
    {"sure", ASK_SURE, "sure twice; say it once, yes or no"},
    {"stations", ASK_TOGETHER, "stations and lost: each once at most"},
    {"lost", ASK_TOGETHER, "stations and lost: each once at most"},
    {"event", ASK_AFTER, NULL},
    {"draws", ASK_SAMPLE, "draws and seed: each once at most"},
    {"seed", ASK_SAMPLE, "draws and seed: each once at most"},
    {"for", ASK_AFTER, "for twice; say once how long"},
};
enum { ASKED_KEYS = sizeof asked_keys / sizeof *asked_keys };

static unsigned key_is(const char *key)
{
  for (int i = 0; i < ASKED_KEYS; i++)
    if (strcmp(key, asked_keys[i].key) == 0)
      return asked_keys[i].is;
  return scene_is_change(key) ? ASK_SCENE : 0;
}

enum err_code ask_keys(unsigned takes, const struct query *query, struct err *err)
{
  for (int i = 0; i < query->count; i++)
    if (!(key_is(query->pairs[i].key) & takes))
      return no_parameter(query->pairs[i].key, takes, err);
  for (int i = 0; i < ASKED_KEYS; i++)
    if (asked_keys[i].once && query_count(query, asked_keys[i].key) > 1)
      return err_set(err, ERR_INPUT, "%s", asked_keys[i].once);
  return ERR_OK;
}

enum err_code ask_scene(const struct ask_site *site, const struct query *query, struct arena *arena,
                        struct scene *scene_out, struct err *err)
{
  const char *name = query_find(query, "scene");
  struct scene scene;
  enum err_code code;

  if (!name)
    scene = scene_copy(site->facility, site->start, arena);
  else if (!*name)
    scene = scene_parked(site->facility, arena);
  else {
    const struct scene *named;

    code = scene_named(site->facility, name, &named, err);
    if (code)
      return code;
    scene = scene_copy(site->facility, named, arena);
  }
  for (int i = 0; i < query->count; i++) {
    const struct query_pair *pair = &query->pairs[i];

    if (!scene_is_change(pair->key))
      continue;
    code = scene_change(site->facility, &scene, pair->key, pair->value, err);
    if (code)
      return code;
  }
  *scene_out = scene;
  return ERR_OK;
}

/* ---- the addresses ---- */

/* The air of this thread, made when it is first needed. */
static enum err_code need_air(struct ask_worker *worker, struct err *err)
{
  if (!worker->air)
    worker->air = air_new(worker->site->facility, err);
  return worker->air ? ERR_OK : err->code;
}

/* Without `sure`: yes.  A page says no while something is dragged. */
static enum err_code settings_of(const struct query *query, const struct air_settings **out,
                                 struct err *err)
{
  const char *sure = query_find(query, "sure");

  if (sure && strcmp(sure, "yes") != 0 && strcmp(sure, "no") != 0)
    return err_set(err, ERR_INPUT, "sure is yes or no, not \"%.32s\"", sure);
  *out = sure && strcmp(sure, "no") == 0 ? &air_settings_default : &air_settings_sure;
  return ERR_OK;
}

static enum err_code answer_air(struct ask_worker *worker, const struct query *query,
                                struct arena *arena, struct buf *out, struct err *err)
{
  const struct facility *facility = worker->site->facility;
  const struct air_settings *settings = NULL;
  struct scene scene;
  enum err_code code = ask_scene(worker->site, query, arena, &scene, err);

  code = code ? code : settings_of(query, &settings, err);
  code = code ? code : need_air(worker, err);
  if (code)
    return code;
  struct air_answer *answer = air_ask(worker->air, &scene, settings, arena, err);

  if (!answer)
    return err->code;
  answer_air_json(facility, &scene, answer, out);
  return ERR_OK;
}

static enum err_code answer_why(struct ask_worker *worker, const struct query *query,
                                struct arena *arena, struct buf *out, struct err *err)
{
  const struct facility *facility = worker->site->facility;
  const char *id = query_find(query, "station");
  int station = id ? facility_station_find(facility, id) : -1;
  const struct air_settings *settings = NULL;
  struct scene scene;

  if (station < 0)
    return err_set(err, ERR_INPUT, id ? "no station \"%.40s\"" : "say which: station=ID", id);
  enum err_code code = ask_scene(worker->site, query, arena, &scene, err);

  code = code ? code : settings_of(query, &settings, err);
  code = code ? code : need_air(worker, err);
  if (code)
    return code;
  struct answer_why why = {facility, &scene, station, NULL, NULL, NULL};

  code = answer_why_of(worker->air, settings->sure, &why, arena, err);
  if (code)
    return code;
  answer_why_json(&why, out);
  return ERR_OK;
}

/* As `inward air --per-cm --json`, byte for byte. */
static enum err_code answer_per_cm(struct ask_worker *worker, const struct query *query,
                                   struct arena *arena, struct buf *out, struct err *err)
{
  const struct air_per_cm *per_cm;
  struct scene scene;
  enum err_code code = ask_scene(worker->site, query, arena, &scene, err);

  code = code ? code : need_air(worker, err);
  if (code)
    return code;
  per_cm = air_per_cm(worker->air, &scene, arena, err);
  if (!per_cm)
    return err->code;
  answer_per_cm_json(worker->site->facility, &scene, per_cm, out);
  return ERR_OK;
}

/* A whole number from 1 to most; `without` where the query does not say. */
static enum err_code count_of(const struct query *query, const char *key, long without, long most,
                              long *out, struct err *err)
{
  const char *text = query_find(query, key);
  char *end = NULL;

  *out = text ? strtol(text, &end, 10) : without;
  if (text && (end == text || *end || *out < 1 || *out > most))
    return err_set(err, ERR_INPUT, "%s is a whole number from 1 to %ld, not \"%.32s\"", key, most,
                   text);
  return ERR_OK;
}

/* As `inward air --sample --json`, byte for byte; a thread of the board is not lent for long. */
static enum err_code answer_sample(struct ask_worker *worker, const struct query *query,
                                   struct arena *arena, struct buf *out, struct err *err)
{
  struct answer_sample sample = {.facility = worker->site->facility};
  struct air_sampler *sampler;
  struct scene scene;
  enum err_code code = ask_scene(worker->site, query, arena, &scene, err);

  code = code ? code : count_of(query, "draws", 1000, ASK_DRAWS_MOST, &sample.asked, err);
  code = code ? code : count_of(query, "seed", 1, ASK_SEED_MOST, &sample.seed, err);
  code = code ? code : need_air(worker, err);
  if (code)
    return code;
  sample.scene = &scene;
  sample.answer = air_ask(worker->air, &scene, &air_settings_sure, arena, err);
  if (!sample.answer)
    return err->code;
  sampler = air_sampler_new(worker->air, &scene, (uint64_t)sample.seed, arena, err);
  if (!sampler)
    return err->code;
  air_sampler_draw(sampler, sample.asked);
  sample.tally = air_sampler_tally(sampler);
  answer_sample_json(&sample, out);
  air_sampler_free(sampler);
  return ERR_OK;
}

/* As `inward together --json`, byte for byte. */
static enum err_code answer_together(struct ask_worker *worker, const struct query *query,
                                     struct arena *arena, struct buf *out, struct err *err)
{
  const struct facility *facility = worker->site->facility;
  const char *stations = query_find(query, "stations"), *lost = query_find(query, "lost");
  struct scene scene;
  int list[AIR_SETS_MAX];
  struct together_request request = {.scene = &scene, .stations = list};
  const struct together_answer *answer;
  struct arena work;
  enum err_code code = ask_scene(worker->site, query, arena, &scene, err);

  if (code)
    return code;
  if (lost && strcmp(lost, "yes") != 0 && strcmp(lost, "no") != 0)
    return err_set(err, ERR_INPUT, "lost is yes or no, not \"%.32s\"", lost);
  request.lost = !lost || strcmp(lost, "yes") == 0;
  if (stations) {
    request.station_count = together_stations(facility, stations, list, err);
    if (request.station_count < 0)
      return ERR_INPUT;
  }
  arena_init(&work, TOGETHER_WORK_MAX_BYTES);
  answer = together_ask(facility, &request, &work, err);
  if (answer)
    together_json(answer, out);
  arena_release(&work);
  return answer ? ERR_OK : err->code;
}

/* As `inward after --json`, byte for byte. */
static enum err_code answer_after(struct ask_worker *worker, const struct query *query,
                                  struct arena *arena, struct buf *out, struct err *err)
{
  const char *events[AFTER_EVENTS_MAX], *for_time = query_find(query, "for");
  struct scene scene;
  struct after_request request = {.scene = &scene, .events = events};
  const struct after_answer *answer;
  struct arena work;
  enum err_code code = ask_scene(worker->site, query, arena, &scene, err);

  if (code == ERR_OK && for_time)
    code = after_read_span(for_time, &request.for_s, err);
  if (code == ERR_OK && query_count(query, "event") > AFTER_EVENTS_MAX)
    code = err_set(err, ERR_INPUT, "more than %d events", AFTER_EVENTS_MAX);
  if (code != ERR_OK)
    return code;
  for (int i = 0; i < query->count; i++)
    if (strcmp(query->pairs[i].key, "event") == 0)
      events[request.event_count++] = query->pairs[i].value;
  arena_init(&work, AFTER_WORK_MAX_BYTES);
  answer = after_ask(worker->site->facility, &request, &work, err);
  if (answer)
    after_json(answer, out);
  arena_release(&work);
  return answer ? ERR_OK : err->code;
}

static enum err_code answer_plan(struct ask_worker *worker, const struct query *query,
                                 struct arena *arena, struct buf *out, struct err *err)
{
  (void)query, (void)arena, (void)err;
  buf_add(out, worker->site->plan.text, worker->site->plan.used);
  return ERR_OK;
}

/* Alive, and which suite: a page that sees the hash change loads itself anew. */
static enum err_code answer_health(struct ask_worker *worker, const struct query *query,
                                   struct arena *arena, struct buf *out, struct err *err)
{
  struct emit json;

  (void)query, (void)arena, (void)err;
  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.health.1");
  emit_text(&json, "suite_sha256", worker->site->facility->sha256);
  emit_close(&json);
  emit_end(&json);
  return ERR_OK;
}

static enum err_code answer_openapi(struct ask_worker *worker, const struct query *query,
                                    struct arena *arena, struct buf *out, struct err *err)
{
  (void)worker, (void)query, (void)arena, (void)err;
  ask_print_openapi(out);
  return ERR_OK;
}

static enum err_code answer_schema(struct ask_worker *worker, const struct query *query,
                                   struct arena *arena, struct buf *out, struct err *err)
{
  (void)worker, (void)query, (void)arena, (void)err;
  facility_print_json_schema(out);
  return ERR_OK;
}

static const struct ask_route routes[] = {
    {"/api/air", answer_air, ASK_SCENE | ASK_SURE, "air", "air",
     "The air of a scene: state, act, pools, rooms, stations, what to lower first."},
    {"/api/plan", answer_plan, ASK_NOTHING, "plan", "plan",
     "The place and its named scenes, to draw from."},
    {"/api/why", answer_why, ASK_SCENE | ASK_STATION | ASK_SURE, "why", "why",
     "One station: the pressure from its room to outdoors, how sure it is, a centimetre of its sash."},
    {"/api/per-cm", answer_per_cm, ASK_SCENE, "per_cm", "perCm",
     "What one centimetre of each raised sash is worth, to keeps and to what is left in pools."},
    {"/api/sample", answer_sample, ASK_SCENE | ASK_SAMPLE, "sample", "sample",
     "Draws of every figure from its ±, each solved: how often each keep and criterion is missed."},
    {"/api/together", answer_together, ASK_SCENE | ASK_TOGETHER, "together", "together",
     "Which stations may be at work together; each fan, make-up unit and door lost in turn."},
    {"/api/after", answer_after, ASK_SCENE | ASK_AFTER, "after", "after",
     "What happens next: pressures, flows and the three clocks in time. Imagined, never live."},
    {"/api/openapi.json", answer_openapi, ASK_NOTHING, NULL, "openapi", "This document."},
    {"/api/suite.schema.json", answer_schema, ASK_NOTHING, NULL, "suiteSchema",
     "JSON Schema of suite files and overlays, for editors."},
    {"/healthz", answer_health, ASK_NOTHING, "health", "health",
     "Alive, and which suite: a page that sees the hash change loads itself anew."},
};

const struct ask_route *ask_route_at(int index)
{
  int count = sizeof routes / sizeof *routes;

  return index >= 0 && index < count ? &routes[index] : NULL;
}

static const struct ask_route *find_route(const char *path)
{
  for (size_t i = 0; i < sizeof routes / sizeof *routes; i++)
    if (strcmp(routes[i].path, path) == 0)
      return &routes[i];
  return NULL;
}

bool ask_knows(const char *path)
{
  return find_route(path) != NULL;
}

int ask_answer(struct ask_worker *worker, const char *path, const char *search, size_t size,
               struct buf *out)
{
  const struct ask_route *route = find_route(path);
  struct query query;
  struct arena arena;
  struct err err = {0};
  int status = 200;

  buf_clear(out);
  if (!route)
    return ask_refuse(out, 404, "nothing is at this address");
  arena_init(&arena, ASK_WORK_MAX_BYTES);
  if (query_parse(search, size, &query, &err) || ask_keys(route->takes, &query, &err) ||
      route->answer(worker, &query, &arena, out, &err))
    status = ask_refuse(out, err_exit_status(err.code) == 2 ? 400 : 500, err.text);
  else if (out->full)
    status = ask_refuse(out, 500, "the answer is larger than may be sent");
  arena_release(&arena);
  return status;
}
