#include "keeper/keeper_impl.h"

#include "incident/incident.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/*
 * What was measured around an incident becomes an entry when its time is over: the samples are deleted
 * one day, entries never.  After a restart those are found that have no such entry.  One that is younger
 * than a month and has gaps is looked at again whenever a file was taken: a table comes late.
 */
enum { PENDING_MOST = 1000, DAY_MS = 86400 * 1000, AGAIN_MS = 60 * 1000, WORK_BYTES = 64 << 20 };
static const int64_t month_ms = (int64_t)31 * DAY_MS;

struct pending {
  int64_t number, t_ms;
  char about[RECORD_SHORT_MOST_BYTES + 1];
  double known_s; /* of the freeze there is; negative: none */
};
struct keeper_incidents {
  bool stale;       /* look in the record which there are */
  int64_t again_ms; /* of the clock: not sooner, where that failed */
  int count;
  struct pending list[PENDING_MOST];
};

void keeper_incident_told(struct keeper *k)
{
  if (k->incidents)
    k->incidents->stale = true;
}

void keeper_drop_incidents(struct keeper *k)
{
  free(k->incidents);
  k->incidents = NULL;
}

static int64_t end_ms(const struct keeper *k, int64_t t_ms)
{
  return t_ms + llround(k->given.feeds->incidents.after_s * 1000);
}

/* ---- which there are ---- */

/* How much the newest freeze of an incident knows; negative: there is none. */
static enum err_code known_already(struct keeper *k, int64_t number, int64_t t_ms,
                                   double *known_out_s, struct err *err)
{
  struct record_wanted wanted = {.from_ms = t_ms,
                                 .to_ms = t_ms + DAY_MS + 1,
                                 .kind = RECORD_EVENT,
                                 .known_ms = INT64_MAX,
                                 .most = 100000};
  struct record_entry *list;
  struct arena arena;
  int count = 0;

  *known_out_s = -1;
  arena_init(&arena, WORK_BYTES);
  enum err_code code = record_entries(k->record, &wanted, &arena, &list, &count, err);

  for (int i = 0; code == ERR_OK && i < count; i++) {
    struct incident_frozen frozen;

    if (strstr(list[i].detail, "inward.freeze.1") &&
        incident_frozen_read(list[i].detail, &arena, &frozen) && frozen.number == number &&
        frozen.t_ms == t_ms)
      *known_out_s = fmax(*known_out_s, incident_known_s(&frozen));
  }
  arena_release(&arena);
  return code;
}

static enum err_code look_at_one(struct keeper *k, const struct record_entry *entry,
                                 struct arena *arena, int64_t now_ms, struct err *err)
{
  struct keeper_incidents *all = k->incidents;
  struct incident what;
  double known_s;

  int64_t number = entry->number;

  /* What adds to it says nothing of the air, unless it says that it was at another time. */
  if (incident_read(entry->detail, arena, &what) && what.adds_to > 0) {
    if (!what.at_said)
      return ERR_OK;
    number = what.adds_to;
  }

  enum err_code code = known_already(k, number, entry->t_ms, &known_s, err);

  if (code != ERR_OK || (known_s >= 0 && entry->t_ms < now_ms - month_ms))
    return code;
  if (all->count < PENDING_MOST) {
    struct pending *next = &all->list[all->count++];

    *next = (struct pending){.number = number, .t_ms = entry->t_ms, .known_s = known_s};
    snprintf(next->about, sizeof next->about, "%s", entry->about);
  }
  return ERR_OK;
}

static enum err_code find(struct keeper *k, int64_t now_ms, struct err *err)
{
  struct record_wanted wanted = {.from_ms = INT64_MIN,
                                 .to_ms = INT64_MAX,
                                 .kind = RECORD_INCIDENT,
                                 .known_ms = INT64_MAX,
                                 .most = PENDING_MOST};
  struct record_entry *list;
  struct arena arena;
  int count = 0;

  arena_init(&arena, WORK_BYTES);
  enum err_code code = record_entries(k->record, &wanted, &arena, &list, &count, err);

  k->incidents->count = 0;
  for (int i = 0; code == ERR_OK && i < count; i++)
    code = look_at_one(k, &list[i], &arena, now_ms, err);
  k->incidents->stale = code != ERR_OK;
  k->incidents->again_ms = code != ERR_OK ? keeper_clock_ms(k) + AGAIN_MS : INT64_MIN;
  arena_release(&arena);
  return code;
}

/* ---- keeping what was measured ---- */

static void words_of(const struct incident_frozen *frozen, const struct pending *p, struct buf *out)
{
  int silent = 0;

  for (int i = 0; i < frozen->point_count; i++)
    silent += frozen->points[i].known_s <= 0;
  buf_printf(out, "what was measured around incident %" PRId64 " is kept: %d points", p->number,
             frozen->point_count);
  if (silent > 0)
    buf_printf(out, ", nothing known of %d of them", silent);
  if (p->known_s >= 0)
    buf_puts(out, "; more of it has come since");
}

static enum err_code append_frozen(struct keeper *k, const struct pending *p,
                                   const struct incident_frozen *frozen, struct err *err)
{
  struct buf text, detail;

  buf_init(&text, 400);
  buf_init(&detail, RECORD_TEXT_MOST_BYTES);
  words_of(frozen, p, &text);
  incident_frozen_json(frozen, RECORD_TEXT_MOST_BYTES, &detail);
  struct record_entry entry = {.t_ms = frozen->to_ms,
                               .kind = RECORD_EVENT,
                               .about = p->about,
                               .who = "inward",
                               .text = text.text,
                               .detail = detail.text};
  enum err_code code = keeper_append(k, &entry, err);

  buf_release(&text);
  buf_release(&detail);
  return code;
}

static enum err_code freeze(struct keeper *k, const struct pending *p, struct err *err)
{
  const struct incident_frozen span = {
      .number = p->number,
      .from_ms = p->t_ms - llround(k->given.feeds->incidents.before_s * 1000),
      .t_ms = p->t_ms,
      .to_ms = end_ms(k, p->t_ms)};
  const struct incident_frozen *frozen = NULL;
  struct incident_freezer *freezer;
  enum err_code code = ERR_OK;
  struct arena arena;

  arena_init(&arena, WORK_BYTES);
  freezer = incident_freezer_new(k->given.facility, k->given.feeds, p->about, &span, &arena);
  if (freezer) {
    const struct feed_sink sink = {incident_freezer_take, freezer};

    code = record_replay(k->record, span.from_ms, span.to_ms, INT64_MAX, &sink, err);
    frozen = code == ERR_OK ? incident_freezer_end(freezer) : NULL;
  }
  if (frozen && incident_known_s(frozen) > p->known_s)
    code = append_frozen(k, p, frozen, err);
  arena_release(&arena);
  return code;
}

void keeper_look_at_incidents(struct keeper *k, int64_t now_ms)
{
  struct err err = {0};
  int waiting = 0;

  if (!k->record || k->record_why[0])
    return;
  if (!k->incidents) {
    k->incidents = calloc(1, sizeof *k->incidents);
    if (!k->incidents)
      err_no_memory();
    k->incidents->stale = true;
    k->incidents->again_ms = INT64_MIN;
  }
  if (k->incidents->stale && keeper_clock_ms(k) < k->incidents->again_ms)
    return;
  if (k->incidents->stale && find(k, now_ms, &err) != ERR_OK)
    return;
  for (int i = 0; i < k->incidents->count; i++) {
    const struct pending p = k->incidents->list[i];
    bool over = end_ms(k, p.t_ms) <= now_ms;

    if (over)
      keeper_commit(k, true);
    if (!over || freeze(k, &p, &err) != ERR_OK)
      k->incidents->list[waiting++] = p;
  }
  k->incidents->count = waiting;
}
