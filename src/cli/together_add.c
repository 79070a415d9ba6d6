/* inward together SUITE --add OVERLAY: one station more, by its stated use and what was recorded. */
#include "cli/together_impl.h"

#include "cli/cli.h"
#include "cli/day_site.h"
#include "cli/zone.h"
#include "record/record.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { QUARTER_MS = 900000 };

struct adding {
  const struct cli_together_add *asked;
  struct arena *arena;
  struct together_use *uses[2];
  struct facility *facility[2]; /* before, after */
  int moment_count, weeks;
  struct together_moment *moments;
};

/* ---- the record ---- */

/* In which way is a sash at that moment: up, not, or not known? */
static void look(const struct day_uses *uses, int64_t t_ms, uint64_t *up, uint64_t *unknown)
{
  *up = *unknown = 0;
  for (int i = 0; i < uses->count; i++) {
    const struct day_use *use = &uses->list[i];

    if (t_ms < use->from_ms || t_ms >= use->to_ms)
      continue;
    *(use->known ? up : unknown) |= (uint64_t)1 << use->station;
  }
}

struct seen {
  int known[TOGETHER_HOURS], up[TOGETHER_HOURS]; /* quarter hours */
};

/* Hours that were recorded; the others stay as stated for all. */
static void use_seen(const struct adding *a, const struct seen *seen, struct together_use *use)
{
  bool stated = use->known, all = true, any = false;

  for (int hour = 0; hour < TOGETHER_HOURS; hour++) {
    bool known = seen->known[hour] > 0;

    all = all && known;
    any = any || known;
    if (known)
      use->up_ratio[hour] = (double)seen->up[hour] / seen->known[hour];
    else if (!stated)
      use->up_ratio[hour] = NAN;
  }
  if (!any)
    return;
  use->known = true;
  use->from = arena_printf(a->arena, "recorded, %d week%s%s", a->weeks, a->weeks == 1 ? "" : "s",
                           all ? "" : ", else stated");
}

/* Shares of known quarter hours by hour of week, and each quarter in which all is known. */
static void learn(struct adding *a, const struct when_zone *zone, const struct day_uses *uses)
{
  const struct facility *f = a->facility[0];
  int64_t from_ms = (uses->from_ms / QUARTER_MS + 1) * QUARTER_MS;
  size_t most = (size_t)((uses->to_ms - from_ms) / QUARTER_MS + 1);
  struct seen *seen = ARENA_ARRAY(a->arena, struct seen, (size_t)f->station_count + 1);

  a->moments = ARENA_ARRAY(a->arena, struct together_moment, most);
  BUG_IF(!seen || !a->moments);
  for (int64_t t_ms = from_ms; t_ms + QUARTER_MS <= uses->to_ms; t_ms += QUARTER_MS) {
    struct when_civil civil = when_civil(zone, t_ms + QUARTER_MS / 2, NULL);
    int hour = 24 * when_weekday(&civil) + civil.hour;
    uint64_t set, unknown;

    look(uses, t_ms + QUARTER_MS / 2, &set, &unknown);
    for (int i = 0; i < f->station_count && i < 64; i++)
      if (!(unknown >> i & 1u)) {
        seen[i].known[hour]++;
        seen[i].up[hour] += (int)(set >> i & 1u);
      }
    if (!unknown)
      a->moments[a->moment_count++] = (struct together_moment){
          hour, (int)((t_ms - from_ms) / (7 * 96 * (int64_t)QUARTER_MS)), set};
  }
  a->weeks = (int)((uses->to_ms - from_ms + 7 * 96 * (int64_t)QUARTER_MS - 1) /
                   (7 * 96 * (int64_t)QUARTER_MS));
  for (int i = 0; i < f->station_count; i++) {
    int then = facility_station_find(a->facility[1], f->stations[i].part.id);

    if (then >= 0)
      use_seen(a, &seen[i], &a->uses[1][then]);
  }
}

static enum err_code read_record(struct adding *a, struct err *err)
{
  struct cli_day_site site = {
      .facility = a->facility[0], .suite = a->asked->suite, .record = a->asked->record};
  struct day_uses uses = {0};
  enum err_code code = cli_day_open(&site, err);
  int64_t now_ms = cli_now_ms();

  if (code == ERR_OK && a->asked->until)
    code = when_read_bound(a->asked->until, site.zone, &now_ms, err);

  if (code == ERR_OK)
    code = cli_day_uses(&site, now_ms - (int64_t)(a->facility[0]->day.back_s * 1000), now_ms,
                        a->arena, &uses, err);
  if (code == ERR_OK && uses.to_ms <= uses.from_ms)
    code =
        err_set(err, ERR_INPUT, "record %.200s: nothing in the %.0f days before then (--until DAY)",
                a->asked->record, a->facility[0]->day.back_s / 86400);
  if (code == ERR_OK)
    learn(a, site.zone, &uses);
  cli_day_close(&site);
  return code;
}

/* ---- who is used how much ---- */

/* What is said of all counts for what nothing else tells; what is said of one, before the record. */
static enum err_code take_stated(struct adding *a, bool of_all, struct err *err)
{
  enum err_code code = ERR_OK;

  for (int k = 0; k < a->asked->use_count && code == ERR_OK; k++)
    if ((strncmp(a->asked->uses[k], "all=", 4) == 0) == of_all)
      code = together_take_use(a->facility[1], a->asked->uses[k], a->uses[1], a->arena, err);
  return code;
}

static enum err_code take_uses(struct adding *a, struct err *err)
{
  const struct facility *before = a->facility[0], *after = a->facility[1];

  for (int side = 0; side < 2; side++) {
    a->uses[side] =
        ARENA_ARRAY(a->arena, struct together_use, (size_t)a->facility[side]->station_count + 1);
    if (!a->uses[side])
      return err_set(err, ERR_LIMIT, "more stations than are taken");
  }
  if (take_stated(a, true, err) != ERR_OK || (a->asked->record && read_record(a, err) != ERR_OK) ||
      take_stated(a, false, err) != ERR_OK)
    return err->code;
  for (int i = 0; i < before->station_count; i++) {
    int then = facility_station_find(after, before->stations[i].part.id);

    if (then >= 0)
      a->uses[0][i] = a->uses[1][then];
  }
  return ERR_OK;
}

/* ---- the question ---- */

static const struct together_answer *ask(const struct facility *f,
                                         const struct cli_together_add *asked, struct arena *arena,
                                         struct err *err)
{
  struct scene *scene = ARENA_NEW(arena, struct scene);
  struct together_request request = {.scene = scene};

  BUG_IF(!scene);
  if (cli_together_scene(f, asked, scene, arena, err) != ERR_OK)
    return NULL;
  return together_ask(f, &request, arena, err);
}

static enum err_code read_correlation(const struct adding *a, struct together_add_request *r,
                                      struct err *err)
{
  char *end;

  r->together_ratio = a->facility[0]->day.together_ratio;
  r->together_from = "the suite's 'day: together', or its default";
  if (!a->asked->together)
    return ERR_OK;
  r->together_ratio = strtod(a->asked->together, &end) / 100;
  r->together_from = "stated";
  if (end == a->asked->together || strcmp(end, "%") != 0 || !(r->together_ratio >= 0) ||
      !(r->together_ratio < 1))
    return err_set(err, ERR_INPUT, "together '%.40s': a share below 100 %%, as 20%%",
                   a->asked->together);
  return ERR_OK;
}

enum err_code cli_together_add(const struct cli_together_add *asked, struct facility *before,
                               struct facility *after, struct arena *arena, struct buf *out,
                               struct err *err)
{
  struct adding a = {.asked = asked, .arena = arena, .facility = {before, after}};
  struct together_add_request r = {0};
  const struct together_added *added;

  if (take_uses(&a, err) != ERR_OK || read_correlation(&a, &r, err) != ERR_OK)
    return err->code;
  r.before = ask(before, asked, arena, err);
  r.after = r.before ? ask(after, asked, arena, err) : NULL;
  if (!r.after)
    return err->code;
  r.before_use = a.uses[0];
  r.after_use = a.uses[1];
  r.moments = a.moments;
  r.moment_count = a.moment_count;
  added = together_add(&r, arena, err);
  if (!added)
    return err->code;
  if (asked->json)
    together_added_json(added, out);
  else
    together_added_text(added, out);
  return ERR_OK;
}
