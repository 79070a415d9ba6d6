#include "serve/chemistry_impl.h"

#include "ask/ask.h"
#include "base/query.h"
#include "bath/bath.h"
#include "chem/chem.h"
#include "etch/etch.h"
#include "meet/meet.h"
#include "serve/may_impl.h"
#include "serve/now_impl.h"
#include "vapour/vapour.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { TABLES_BYTES = 256 << 20, WORK_BYTES = 256 << 20 };

struct chemistry {
  const struct facility *facility;
  const struct chemicals *own;
  const struct scene *start;
  const struct serve_live *live;
  const struct may *may;
  struct arena arena;
  const struct chem *chem;
  const struct meet_facts *meet;
};

struct chemistry *chemistry_new(const struct facility *facility, const struct chemicals *own,
                                const struct scene *start, const struct serve_live *live,
                                const struct may *may)
{
  struct chemistry *c = calloc(1, sizeof *c);

  if (!c)
    err_no_memory();
  c->facility = facility;
  c->own = own;
  c->start = start;
  c->live = live;
  c->may = may;
  arena_init(&c->arena, TABLES_BYTES);
  c->chem = chem_with(chem_read(&c->arena), own, &c->arena);
  c->meet = meet_read(c->chem, &c->arena);
  return c;
}

void chemistry_free(struct chemistry *chemistry)
{
  if (!chemistry)
    return;
  arena_release(&chemistry->arena);
  free(chemistry);
}

struct wet_place chemistry_place(const struct chemistry *chemistry)
{
  return (struct wet_place){.facility = chemistry->facility,
                            .own = chemistry->own,
                            .chem = chemistry->chem,
                            .meet = chemistry->meet};
}

static enum err_code get_etch(const struct chemistry *c, const struct query *query,
                              struct arena *arena, struct buf *out, struct err *err)
{
  struct etch_request request = {.facility = c->facility, .own = c->own};

  for (int i = 0; i < query->count; i++) {
    enum err_code code = etch_take(&request, query->pairs[i].key, query->pairs[i].value, err);

    if (code != ERR_OK)
      return code;
  }
  const struct etch_answer *answer = etch_answer(c->chem, &request, arena, err);

  if (!answer)
    return err->code;
  etch_json(answer, out);
  return ERR_OK;
}

static enum err_code get_meet(const struct chemistry *c, const struct query *query,
                              struct arena *arena, struct buf *out, struct err *err)
{
  struct meet_request request = {.at_K = NAN, .facility = c->facility, .own = c->own};

  for (int i = 0; i < query->count; i++) {
    enum err_code code = meet_take(&request, query->pairs[i].key, query->pairs[i].value, err);

    if (code != ERR_OK)
      return code;
  }
  const struct meet_answer *answer = meet_answer(c->meet, &request, arena, err);

  if (!answer)
    return err->code;
  meet_json(answer, out);
  return ERR_OK;
}

static enum err_code get_vapour(const struct chemistry *c, const struct query *query,
                                struct arena *arena, struct buf *out, struct err *err)
{
  struct vapour_request request = {
      .chem = c->chem, .facility = c->facility, .start = c->start, .own = c->own};

  for (int i = 0; i < query->count; i++) {
    enum err_code code = vapour_take(&request, query->pairs[i].key, query->pairs[i].value, err);

    if (code != ERR_OK)
      return code;
  }
  if (c->live && (!request.scene || strcmp(request.scene, "live") == 0)) {
    enum err_code code = now_live(c->facility, c->live, arena, &request.live, err);

    if (code != ERR_OK)
      return code;
  }
  const struct vapour_answer *answer = vapour_answer(&request, arena, err);

  if (!answer)
    return err->code;
  vapour_json(answer, out);
  return ERR_OK;
}

static enum err_code get_bath(const struct chemistry *c, const struct query *query,
                              struct arena *arena, struct buf *out, struct err *err)
{
  const struct bath_place place = {.chem = c->chem, .facility = c->facility, .own = c->own};
  struct bath_request request = {0};
  char today[40];
  time_t now = time(NULL);
  struct tm parts;

  for (int i = 0; i < query->count; i++) {
    enum err_code code = bath_take(&request, query->pairs[i].key, query->pairs[i].value, err);

    if (code != ERR_OK)
      return code;
  }
  if (!request.on && c->live) { /* a replay has a day of its own */
    struct when_civil day = when_civil(c->live->zone, keeper_now_ms(c->live->keeper), NULL);

    snprintf(today, sizeof today, "%04d-%02d-%02d", day.year, day.month, day.day);
    request.on = today;
  } else if (!request.on && localtime_r(&now, &parts) &&
             strftime(today, sizeof today, "%Y-%m-%d", &parts) > 0) {
    request.on = today;
  }

  const struct bath_answer *answer = bath_answer(&place, &request, arena, err);

  if (!answer)
    return err->code;
  bath_json(answer, out);
  return ERR_OK;
}

static enum err_code get_names(const struct chemistry *c, const struct query *query,
                               struct arena *arena, struct buf *out, struct err *err)
{
  const struct bath_place place = {.chem = c->chem, .facility = c->facility, .own = c->own};

  if (query->count > 0)
    return err_set(err, ERR_USAGE, "'%.40s': this address takes no parameter", query->pairs[0].key);
  bath_names_json(&place, arena, out);
  return ERR_OK;
}

static enum err_code need_may(const struct chemistry *c, struct err *err)
{
  return c->may ? ERR_OK
                : err_set(err, ERR_INPUT,
                          "the suite names no processes file; write files: {people: people.yaml, "
                          "processes: processes.yaml, rules: rules.yaml}");
}

static enum err_code get_may(const struct chemistry *c, const struct query *query,
                             struct arena *arena, struct buf *out, struct err *err)
{
  struct wet_place wet = chemistry_place(c);
  enum err_code code = need_may(c, err);

  wet.zone = c->live ? c->live->zone : NULL;
  return code == ERR_OK ? may_get(c->may, c->live, &wet, query, arena, out, err) : code;
}

static enum err_code get_processes(const struct chemistry *c, const struct query *query,
                                   struct arena *arena, struct buf *out, struct err *err)
{
  enum err_code code = need_may(c, err);

  (void)arena;
  if (code == ERR_OK && query->count > 0)
    return err_set(err, ERR_USAGE, "'%.40s': this address takes no parameter", query->pairs[0].key);
  if (code == ERR_OK)
    may_processes_json(may_place(c->may), out);
  return code;
}

static const struct {
  const char *path;
  enum err_code (*get)(const struct chemistry *c, const struct query *query, struct arena *arena,
                       struct buf *out, struct err *err);
} rows[] = {
    {"/api/bath", get_bath},           {"/api/chemicals", get_names}, {"/api/etch", get_etch},
    {"/api/meet", get_meet},           {"/api/vapour", get_vapour},   {"/api/may", get_may},
    {"/api/processes", get_processes},
};

static int row_of(const char *path)
{
  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
    if (strcmp(rows[i].path, path) == 0)
      return (int)i;
  return -1;
}

bool chemistry_knows(const char *path)
{
  return row_of(path) >= 0;
}

int chemistry_get(const struct chemistry *chemistry, const char *path, const char *search,
                  size_t size, struct buf *out)
{
  struct query *query = calloc(1, sizeof *query);
  struct err err = {0};
  struct arena arena;

  if (!query)
    err_no_memory();
  arena_init(&arena, WORK_BYTES);
  enum err_code code = query_parse(search, size, query, &err);

  if (code == ERR_OK)
    code = rows[row_of(path)].get(chemistry, query, &arena, out, &err);
  arena_release(&arena);
  free(query);
  if (code != ERR_OK)
    return ask_refuse(out, err_exit_status(code) == 2 ? 400 : 500, err.text);
  return out->full ? ask_refuse(out, 500, "the answer is too long") : 200;
}
