#include "day/day_impl.h"
#include "feed/feed.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* ---- which station ---- */

static bool in_word(char c)
{
  return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '_' ||
         c == '-' || (unsigned char)c >= 0x80;
}

static bool has_word(const char *text, const char *word)
{
  size_t size = strlen(word);

  for (const char *at = strstr(text, word); at; at = strstr(at + 1, word))
    if ((at == text || !in_word(at[-1])) && !in_word(at[size]))
      return true;
  return false;
}

int day_station_in(const struct facility *facility, const char *text)
{
  int found = -1;

  for (int i = 0; i < facility->station_count; i++)
    if (has_word(text, facility->stations[i].part.id)) {
      if (found >= 0)
        return -2;
      found = i;
    }
  for (int i = 0; i < facility->station_count && found < 0; i++)
    if (strcasecmp(text, facility->stations[i].part.name) == 0)
      found = i;
  return found;
}

bool day_station_fits(const struct facility *facility, int station, struct place place,
                      struct complaints *complaints)
{
  const struct facility_station *s = &facility->stations[station];

  if (!s->in_service)
    complaints_add(complaints, place, 0,
                   "a booking for %s, which is out of service; it is left out: ask who booked it",
                   s->part.id);
  return s->in_service;
}

/* ---- the list ---- */

bool day_add(struct day_bookings *list, struct arena *arena, const struct day_booking *booking)
{
  if (list->count == DAY_BOOKINGS_MOST)
    return false;
  if (!list->list)
    list->list = ARENA_ARRAY(arena, struct day_booking, DAY_BOOKINGS_MOST);
  if (!list->list)
    return false;
  list->list[list->count++] = *booking;
  return true;
}

static int by_start(const void *a, const void *b)
{
  const struct day_booking *x = a, *y = b;

  if (x->start_ms != y->start_ms)
    return x->start_ms < y->start_ms ? -1 : 1;
  if (x->station != y->station)
    return x->station - y->station;
  return strcmp(x->id, y->id);
}

void day_sort(struct day_bookings *list)
{
  int kept = 0;

  if (list->count > 0)
    qsort(list->list, (size_t)list->count, sizeof *list->list, by_start);
  for (int i = 0; i < list->count; i++) {
    if (kept > 0 && by_start(&list->list[kept - 1], &list->list[i]) == 0)
      kept--;
    list->list[kept++] = list->list[i];
  }
  list->count = kept;
}

/* ---- calendars ---- */

struct taking {
  const struct day_read_job *job;
  const struct facility_text *text;
  struct arena *arena;
  struct complaints *complaints;
  struct day_bookings *list;
  struct day_read_report *report;
  const char *last_refused; /* a series is complained about once */
  bool full;
};

static bool told_before(struct taking *t, const char *uid)
{
  bool told = *uid && t->last_refused && strcmp(t->last_refused, uid) == 0;

  t->last_refused = uid;
  return told;
}

static void refuse(struct taking *t, const struct feed_booking *b, int station, struct place place)
{
  t->report->left_out++;
  if (told_before(t, b->uid))
    return;
  if (station >= 0)
    (void)day_station_fits(t->job->facility, station, place, t->complaints);
  else if (station == -2)
    complaints_add(t->complaints, place, 0,
                   "'%.60s' names two stations; write one booking for each", b->summary);
  else
    complaints_add(t->complaints, place, 0,
                   "'%.60s' names no station of the suite; its place (LOCATION) or its title "
                   "(SUMMARY) must have a station's id as a word",
                   b->summary);
}

static void take(void *arg, const struct feed_booking *b)
{
  struct taking *t = arg;
  const struct facility *f = t->job->facility;
  struct place place = {t->text->file, b->line, 1};
  int station = day_station_in(f, b->location);

  if (station == -1)
    station = day_station_in(f, b->summary);
  if (station < 0 || !f->stations[station].in_service) {
    refuse(t, b, station, place);
    return;
  }
  const struct day_booking booking = {.id = b->uid,
                                      .station = station,
                                      .start_ms = b->start_ms,
                                      .end_ms = b->end_ms,
                                      .who = b->who,
                                      .what = b->summary,
                                      .family = b->category,
                                      .place = place};

  if (b->end_ms <= b->start_ms) {
    t->report->left_out++;
    if (!told_before(t, b->uid))
      complaints_add(t->complaints, place, 0, "'%.60s' takes no time; give it an end (DTEND)",
                     b->summary);
  } else if (!day_add(t->list, t->arena, &booking)) {
    t->full = true;
  } else {
    t->report->bookings++;
  }
}

static bool read_calendar(struct taking *t)
{
  const struct feed_window window = {when_zone_name(t->job->zone), t->job->from_ms, t->job->to_ms};
  const struct feed_booking_sink sink = {take, t};
  struct feed_calendar_report counts;
  bool fine = feed_calendar(t->text, &window, &sink, t->arena, t->complaints, &counts);

  t->report->events = counts.events;
  t->report->left_out += counts.left_out;
  return fine;
}

/* A calendar says so in its first line that says anything. */
static bool is_calendar(const struct facility_text *text)
{
  static const char begin[] = "BEGIN:VCALENDAR";
  size_t at = 0;

  while (at < text->size && strchr("\xef\xbb\xbf \t\r\n", text->bytes[at]))
    at++;
  return text->size - at >= sizeof begin - 1 &&
         strncasecmp(text->bytes + at, begin, sizeof begin - 1) == 0;
}

bool day_read(const struct day_read_job *job, const struct facility_text *text, struct arena *arena,
              struct complaints *complaints, struct day_bookings *list,
              struct day_read_report *report_out)
{
  struct taking t = {.job = job,
                     .text = text,
                     .arena = arena,
                     .complaints = complaints,
                     .list = list,
                     .report = report_out};

  *report_out = (struct day_read_report){0};
  bool fine = is_calendar(text) ? read_calendar(&t)
                                : day_read_table(job, text, arena, complaints, list, report_out);

  if (t.full)
    complaints_add(complaints, (struct place){text->file, 0, 0}, 0,
                   "more than %d bookings; the rest is left out", DAY_BOOKINGS_MOST);
  return fine;
}
