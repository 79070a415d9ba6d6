/* The sheet of an incident, out of the record. */
#include "past/past_impl.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ENTRIES_MOST = 20000, EVENTS_MOST = 200, DAY_MS = 86400 * 1000 };

struct sheeting {
  const struct past_place *place;
  struct arena *arena;
  struct incident_sheet *out;
};

static enum err_code entries_of(const struct sheeting *s, int kind, const char *about,
                                const struct past_span *span, struct past_entries *out,
                                struct err *err)
{
  const struct record_wanted wanted = {.from_ms = span->from_ms,
                                       .to_ms = span->to_ms,
                                       .about = about,
                                       .kind = kind,
                                       .known_ms = span->known_ms,
                                       .most = ENTRIES_MOST};
  struct record_entry *list;
  enum err_code code = record_entries(s->place->record, &wanted, s->arena, &list, &out->count, err);

  out->list = list;
  return code;
}

static const struct past_span ever = {INT64_MIN, INT64_MAX, INT64_MAX};

/* ---- the entry itself, and what adds to it ---- */

static struct incident told_by(const struct sheeting *s, const struct record_entry *entry)
{
  struct incident what = {.kind = INCIDENT_OTHER};

  if (!incident_read(entry->detail, s->arena, &what))
    what.values[0] = entry->text; /* told in words only */
  return what;
}

/* In the words of nobody's options: the page asks too. */
static enum err_code refuse_number(int64_t number, const struct past_entries *all, struct err *err)
{
  enum { NAMED_MOST = 3 };
  struct buf there;

  buf_init(&there, 200);
  for (int i = all->count - 1; i >= 0 && i >= all->count - NAMED_MOST; i--)
    buf_printf(&there, "%s%" PRId64, *there.text ? ", " : "", all->list[i].number);

  enum err_code code =
      err_set(err, ERR_INPUT, "entry %" PRId64 " is no incident of this record; %s%s", number,
              all->count == 0 ? "it holds none" : "the newest it holds: ",
              all->count == 0 ? "" : there.text);

  buf_release(&there);
  return code;
}

static enum err_code find_entry(const struct sheeting *s, const struct past_entries *all,
                                struct err *err)
{
  struct incident_sheet *out = s->out;
  const struct record_entry *entry = NULL;

  for (int i = 0; i < all->count && !entry; i++)
    if (all->list[i].number == out->number)
      entry = &all->list[i];
  if (!entry)
    return refuse_number(out->number, all, err);
  out->what = told_by(s, entry);
  if (out->what.adds_to > 0)
    return err_set(err, ERR_INPUT,
                   "entry %" PRId64 " adds to entry %" PRId64 ": ask for the sheet of that one",
                   out->number, out->what.adds_to);
  out->t_ms = entry->t_ms;
  out->at_said = out->what.at_said || entry->t_ms < entry->written_ms - 60000;
  out->told_ms = entry->written_ms;
  out->about = entry->about;
  out->who = entry->who;
  out->text = entry->text;
  out->station = facility_station_find(out->facility, entry->about);
  return ERR_OK;
}

static enum err_code find_more(const struct sheeting *s, const struct past_entries *all,
                               struct err *err)
{
  struct incident_more *list = ARENA_ARRAY(s->arena, struct incident_more, (size_t)all->count + 1);

  if (!list)
    return err_set(err, ERR_LIMIT, "too many entries for one sheet");
  s->out->more = list;
  for (int i = 0; i < all->count; i++) {
    const struct record_entry *entry = &all->list[i];
    struct incident what = told_by(s, entry);

    if (what.adds_to == s->out->number)
      list[s->out->more_count++] = (struct incident_more){
          entry->number, entry->t_ms, entry->written_ms, entry->who, entry->text, what};
    if (what.adds_to == s->out->number && what.at_said) {
      s->out->t_ms = entry->t_ms;
      s->out->at_said = true;
    }
  }
  return ERR_OK;
}

/* ---- what stands near, and whether it was withdrawn ---- */

static enum err_code find_near(const struct sheeting *s, struct err *err)
{
  struct incident_sheet *out = s->out;
  const struct facility *f = out->facility;
  int room = out->station >= 0 ? f->stations[out->station].room : facility_node_find(f, out->about);
  int main = out->station >= 0 ? f->stations[out->station].main : -1;
  int *list = ARENA_ARRAY(s->arena, int, (size_t)f->station_count + 1);

  if (!list)
    return err_set(err, ERR_LIMIT, "too many stations for one sheet");
  out->near = list;
  for (int round = 0; round < 2; round++)
    for (int i = 0; i < f->station_count; i++) {
      bool same_room = f->stations[i].room == room;

      if (i != out->station &&
          (round == 0 ? same_room : !same_room && main >= 0 && f->stations[i].main == main))
        list[out->near_count++] = i;
    }
  return ERR_OK;
}

static enum err_code look_for_withdrawal(const struct sheeting *s, struct err *err)
{
  struct incident_sheet *out = s->out;
  const struct past_span before = {INT64_MIN, out->t_ms + 1, INT64_MAX};
  struct past_entries withdrawn = {0}, released = {0};
  enum err_code code;

  if (out->station < 0)
    return ERR_OK;
  code = entries_of(s, RECORD_WITHDRAWN, out->about, &before, &withdrawn, err);
  if (code == ERR_OK)
    code = entries_of(s, RECORD_RELEASED, out->about, &before, &released, err);
  if (code != ERR_OK || withdrawn.count == 0)
    return code;

  const struct record_entry *last = &withdrawn.list[withdrawn.count - 1];
  bool given_back = released.count > 0 && released.list[released.count - 1].number > last->number;

  out->withdrawn_number = given_back ? 0 : last->number;
  return ERR_OK;
}

/* ---- what was measured: of the samples or of the entry, what knows more ---- */

static enum err_code from_samples(const struct sheeting *s, struct err *err)
{
  struct incident_sheet *out = s->out;
  const struct feeds_incidents *given = &s->place->feeds->incidents;
  int64_t end_ms = out->t_ms + llround(given->after_s * 1000);
  const struct incident_frozen span = {.number = out->number,
                                       .from_ms = out->t_ms - llround(given->before_s * 1000),
                                       .t_ms = out->t_ms,
                                       .to_ms = end_ms < out->now_ms ? end_ms : out->now_ms};
  struct incident_freezer *freezer =
      incident_freezer_new(out->facility, s->place->feeds, out->about, &span, s->arena);
  const struct feed_sink sink = {incident_freezer_take, freezer};
  enum err_code code;

  out->waits = end_ms > out->now_ms;
  if (!freezer)
    return err_set(err, ERR_LIMIT, "too many points for one sheet");
  code = record_replay(s->place->record, span.from_ms, span.to_ms, INT64_MAX, &sink, err);

  const struct incident_frozen *frozen = code == ERR_OK ? incident_freezer_end(freezer) : NULL;

  if (frozen && incident_known_s(frozen) > 0) {
    out->frozen = frozen;
    out->source = INCIDENT_SAMPLES;
  }
  return code;
}

static enum err_code from_entry(const struct sheeting *s, struct err *err)
{
  struct incident_sheet *out = s->out;
  const struct past_span day = {out->t_ms, out->t_ms + DAY_MS + 1, INT64_MAX};
  struct past_entries events = {0};
  enum err_code code = entries_of(s, RECORD_EVENT, NULL, &day, &events, err);
  double known_s = out->frozen ? incident_known_s(out->frozen) : -1;

  for (int i = 0; code == ERR_OK && i < events.count; i++) {
    struct incident_frozen *frozen = ARENA_NEW(s->arena, struct incident_frozen);

    if (!frozen || !strstr(events.list[i].detail, "inward.freeze.1") ||
        !incident_frozen_read(events.list[i].detail, s->arena, frozen) ||
        frozen->number != out->number || frozen->t_ms != out->t_ms ||
        incident_known_s(frozen) <= known_s)
      continue;
    known_s = incident_known_s(frozen);
    out->frozen = frozen;
    out->source = INCIDENT_ENTRY;
    out->frozen_number = events.list[i].number;
    out->frozen_written_ms = events.list[i].written_ms;
  }
  return code;
}

/* ---- what else was written down ---- */

static enum err_code find_events(const struct sheeting *s, struct err *err)
{
  struct incident_sheet *out = s->out;
  struct past_span span = {out->t_ms - 900000, out->t_ms + 900000, INT64_MAX};
  struct past_entries found = {0};
  struct incident_event *list;

  if (s->place->feeds) {
    span.from_ms = out->t_ms - llround(s->place->feeds->incidents.before_s * 1000);
    span.to_ms = out->t_ms + llround(s->place->feeds->incidents.after_s * 1000) + 1;
  }
  enum err_code code = entries_of(s, -1, NULL, &span, &found, err);

  list =
      code == ERR_OK ? ARENA_ARRAY(s->arena, struct incident_event, (size_t)found.count + 1) : NULL;
  if (!list)
    return code != ERR_OK ? code : err_set(err, ERR_LIMIT, "too many entries for one sheet");
  out->events = list;
  for (int i = 0; i < found.count && out->event_count < EVENTS_MOST; i++) {
    const struct record_entry *e = &found.list[i];

    if (e->number != out->number && !strstr(e->detail, "inward.freeze.1") &&
        told_by(s, e).adds_to != out->number)
      list[out->event_count++] =
          (struct incident_event){e->number, e->t_ms, record_kind_name(e->kind), e->about, e->text};
  }
  return ERR_OK;
}

/* ---- the use of stations since each was last known clear ---- */

/* The newest round of the station, of its room or of all before the finding. */
static enum err_code last_round(const struct sheeting *s, struct incident_used *u, struct err *err)
{
  const struct facility *f = s->out->facility;
  const struct past_span before = {INT64_MIN, s->out->t_ms, INT64_MAX};
  const char *abouts[] = {f->stations[u->station].part.id,
                          facility_node_id(f, f->stations[u->station].room), ""};

  for (size_t i = 0; i < sizeof abouts / sizeof *abouts; i++) {
    struct past_entries rounds = {0};
    enum err_code code = entries_of(s, RECORD_ROUND, abouts[i], &before, &rounds, err);

    if (code != ERR_OK)
      return code;
    if (rounds.count > 0 &&
        (u->round_number == 0 || rounds.list[rounds.count - 1].t_ms > u->from_ms)) {
      u->from_ms = rounds.list[rounds.count - 1].t_ms;
      u->round_number = rounds.list[rounds.count - 1].number;
    }
  }
  return ERR_OK;
}

static bool tells_use(const struct sheeting *s, const struct past_signal *signal)
{
  return signal->tells_sash || s->place->feeds->points[signal->point].what == FEEDS_PRESENCE;
}

static void add_uses(const struct sheeting *s, const struct past_signal *signal,
                     struct incident_used *u)
{
  u->measured = true;
  for (int i = 0; i < signal->count; i++) {
    const struct past_piece *p = &signal->list[i];
    bool used = p->known && (signal->tells_sash ? p->raised : p->high_si > 0.5);
    const char *what = !p->known            ? arena_printf(s->arena, "%s not known: %s",
                                                signal->tells_sash ? "sash" : "presence", p->why)
                       : signal->tells_sash ? "sash up"
                                            : "somebody there";
    struct incident_use *last = u->use_count > 0 ? &u->uses[u->use_count - 1] : NULL;

    if (p->known && !used)
      continue;
    if (last && last->to_ms == p->from_ms && what && strcmp(last->what, what) == 0)
      last->to_ms = p->to_ms;
    else if (what)
      u->uses[u->use_count++] = (struct incident_use){p->from_ms, p->to_ms, what};
  }
}

static int by_time(const void *a, const void *b)
{
  const struct incident_use *one = a, *other = b;

  return one->from_ms < other->from_ms ? -1 : one->from_ms > other->from_ms;
}

/* What was so from the same moment to the same is one line. */
static void join_uses(const struct sheeting *s, struct incident_used *u)
{
  int kept = 0;

  for (int i = 0; i < u->use_count; i++) {
    struct incident_use *last = kept > 0 ? &u->uses[kept - 1] : NULL;
    const char *both =
        last && last->from_ms == u->uses[i].from_ms && last->to_ms == u->uses[i].to_ms
            ? arena_printf(s->arena, "%s, %s", last->what, u->uses[i].what)
            : NULL;

    if (both)
      last->what = both;
    else
      u->uses[kept++] = u->uses[i];
  }
  u->use_count = kept;
}

static enum err_code find_use(const struct sheeting *s, struct incident_used *u, struct err *err)
{
  const struct past_span span = {u->from_ms, s->out->t_ms, INT64_MAX};
  struct past_timeline timeline;
  size_t room = 1;
  enum err_code code = past_timeline_ask(s->place, u->station, &span, s->arena, &timeline, err);

  if (code != ERR_OK)
    return code;
  for (int i = 0; i < timeline.signal_count; i++)
    room += (size_t)timeline.signals[i].count;
  u->uses = ARENA_ARRAY(s->arena, struct incident_use, room);
  if (!u->uses)
    return err_set(err, ERR_LIMIT, "too much use for one sheet");
  for (int i = 0; i < timeline.signal_count; i++)
    if (tells_use(s, &timeline.signals[i]))
      add_uses(s, &timeline.signals[i], u);
  qsort(u->uses, (size_t)u->use_count, sizeof *u->uses, by_time);
  join_uses(s, u);
  return ERR_OK;
}

/* Of the room where it was found; of all where no room is said. */
static bool may_be_from(const struct incident_sheet *sheet, int station)
{
  const struct facility *f = sheet->facility;
  int room =
      sheet->station >= 0 ? f->stations[sheet->station].room : facility_node_find(f, sheet->about);

  return room < 0 || f->stations[station].room == room;
}

static enum err_code find_used(const struct sheeting *s, struct err *err)
{
  struct incident_sheet *out = s->out;
  const struct facility *f = out->facility;
  struct incident_used *list =
      ARENA_ARRAY(s->arena, struct incident_used, (size_t)f->station_count + 1);
  double back_s = s->place->feeds ? s->place->feeds->incidents.back_s : 0;
  enum err_code code = ERR_OK;

  if (!list)
    return err_set(err, ERR_LIMIT, "too many stations for one sheet");
  out->used = list;
  for (int i = 0; code == ERR_OK && i < f->station_count; i++) {
    struct incident_used *u = &list[out->used_count];

    if (!may_be_from(out, i))
      continue;
    *u = (struct incident_used){.station = i, .from_ms = out->t_ms - llround(back_s * 1000)};
    code = last_round(s, u, err);
    if (code == ERR_OK && s->place->feeds && u->from_ms < out->t_ms)
      code = find_use(s, u, err);
    out->used_count++;
  }
  return code;
}

/* ---- asking ---- */

enum err_code past_sheet_told(const struct past_place *place, int64_t number, struct arena *arena,
                              struct incident_sheet *out, struct err *err)
{
  const struct sheeting s = {place, arena, out};
  struct past_entries all = {0};

  *out = (struct incident_sheet){
      .facility = place->facility, .zone = place->zone, .number = number, .station = -1};
  enum err_code code = entries_of(&s, RECORD_INCIDENT, NULL, &ever, &all, err);

  if (code == ERR_OK)
    code = find_entry(&s, &all, err);
  return code == ERR_OK ? find_more(&s, &all, err) : code;
}

enum err_code past_sheet_takes(const struct incident_sheet *sheet, struct incident_told *told,
                               struct err *err)
{
  if (told->what.kind != sheet->what.kind)
    return err_set(
        err, ERR_INPUT, "entry %" PRId64 " tells of '%s', this of '%s': tell it on its own",
        sheet->number, incident_form(sheet->what.kind)->id, incident_form(told->what.kind)->id);
  if (*told->about && strcmp(told->about, sheet->about) != 0)
    return err_set(err, ERR_INPUT,
                   "entry %" PRId64 " is about %s, this about %s: tell it on its own",
                   sheet->number, *sheet->about ? sheet->about : "no place", told->about);
  told->about = sheet->about;
  return ERR_OK;
}

enum err_code past_sheet_ask(const struct past_place *place, int64_t number, int64_t now_ms,
                             struct arena *arena, struct incident_sheet *out, struct err *err)
{
  const struct sheeting s = {place, arena, out};
  enum err_code code = past_sheet_told(place, number, arena, out, err);

  out->now_ms = now_ms;
  if (code == ERR_OK)
    code = find_near(&s, err);
  if (code == ERR_OK)
    code = look_for_withdrawal(&s, err);
  if (code == ERR_OK && place->feeds)
    code = from_samples(&s, err);
  if (code == ERR_OK)
    code = from_entry(&s, err);
  if (code == ERR_OK)
    code = find_events(&s, err);
  if (code == ERR_OK && out->what.kind == INCIDENT_BEAKER)
    code = find_used(&s, err);
  return code;
}
