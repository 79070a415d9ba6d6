#include "feed/calendar_impl.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

/*
 * Calendars to bookings, through libical.
 *
 * icalcomponent_foreach_recurrence counts a rule out and minds EXDATE (the bare iterator does not).
 * What it leaves to its caller is done here: RDATE in a zone, single occurrences that were moved
 * (RECURRENCE-ID), days and times without a zone, and everything that could go on for ever.
 */
enum {
  MOST_STEPS = 200000, /* of one rule: a daily one since 1970 takes 20,000 */
  MOST_ALL_STEPS = 20000000,
  MOST_EXCEPTIONS = 20000, /* EXDATE and RDATE of one event */
  SHORTEST_EVENT = 22,     /* BEGIN:VEVENT END:VEVENT */
  MARGIN_S = 26 * 3600     /* local time against UTC, either way */
};

struct event {
  icalcomponent *component;
  const char *uid;
  bool moved; /* stands in for one occurrence */
  time_t instead_s;
  int sequence, order;
};

struct reading {
  struct arena *arena;
  struct complaints *complaints;
  const struct facility_text *text;
  struct calendar_places places;
  icaltimezone *zone;
  time_t from_s, to_s;
  struct event *events;
  int event_count, most_events;
  struct feed_booking *bookings;
  int booking_count;
  bool too_many;
  double steps;
  struct feed_calendar_report report;
  /* of the event at hand */
  const struct event *event, *first_moved, *group_end; /* of its uid */
  bool local, all_day;                                 /* its times are without a zone */
  time_t length_s; /* as a clock on the wall counts when local */
};

/* A process-wide lock, because libical's zones and its error flag are the process's. */
static pthread_mutex_t library = PTHREAD_MUTEX_INITIALIZER;

/* ---- faults ---- */

static bool refuse(struct reading *r, int line, const char *what)
{
  complaints_add(r->complaints, (struct place){r->text->file, line, 1}, 0, "%s", what);
  return false;
}

static void complain(struct reading *r, const struct event *event, const char *fmt, ...)
    PRINTF_LIKE(3, 4);
static void complain(struct reading *r, const struct event *event, const char *fmt, ...)
{
  const char *summary = icalcomponent_get_summary(event->component);
  char said[240];
  va_list args;

  r->report.left_out++;
  if (r->complaints->count == COMPLAINTS_MAX) { /* no line is looked for in vain */
    r->complaints->dropped++;
    return;
  }
  va_start(args, fmt);
  vsnprintf(said, sizeof said, fmt, args);
  va_end(args);
  complaints_add(r->complaints,
                 (struct place){r->text->file, calendar_line(&r->places, event->uid), 1}, 0,
                 "event '%.60s': %s", summary ? summary : event->uid, said);
}

/* ---- zones of the calendar itself ---- */

/* The library counts a zone's rules out whatever they are, so what is no zone is taken out. */
static void drop_bad_zones(struct reading *r, icalcomponent *calendar)
{
  icalcomponent *next;

  for (icalcomponent *c = icalcomponent_get_first_component(calendar, ICAL_VTIMEZONE_COMPONENT); c;
       c = next) {
    next = icalcomponent_get_next_component(calendar, ICAL_VTIMEZONE_COMPONENT);
    if (calendar_zone_fits(c))
      continue;
    refuse(r, 0, "a zone whose rules are not yearly, or too many; events in it are left out");
    icalcomponent_remove_component(calendar, c);
    icalcomponent_free(c);
  }
}

/* ---- moments ---- */

/* False with `fault` when it is in a zone that nobody knows. */
static bool moment_of(const struct reading *r, icalproperty *property, icalcomponent *component,
                      time_t *out_s, bool *local_out, const char **fault)
{
  struct icaltimetype t = icalproperty_get_datetime_with_component(property, component);
  icalparameter *tzid = icalproperty_get_first_parameter(property, ICAL_TZID_PARAMETER);

  *fault = NULL;
  if (icaltime_is_null_time(t) || !icaltime_is_valid_time(t) || t.year < 1970 || t.year > 2500)
    *fault = "a time that cannot be read, or is outside the years 1970 to 2500";
  else if (tzid && !t.is_date && !t.zone)
    *fault = "its zone is neither defined in the calendar nor known here";
  if (*fault)
    return false;
  *local_out = t.is_date || !t.zone;
  *out_s =
      *local_out ? icaltime_as_timet_with_zone(t, r->zone) : icaltime_as_timet_with_zone(t, t.zone);
  return true;
}

/* The other way round: as if local time were UTC, which is how the library counts it. */
static time_t wall_of(const struct reading *r, time_t moment_s)
{
  struct icaltimetype t = icaltime_from_timet_with_zone(moment_s, 0, r->zone);

  return icaltime_as_timet_with_zone(t, icaltimezone_get_utc_timezone());
}

/* The library counts local time as if it were UTC; here it gets the calendar's zone. */
static time_t local_to_utc(const struct reading *r, time_t as_utc_s)
{
  struct icaltimetype t =
      icaltime_from_timet_with_zone(as_utc_s, 0, icaltimezone_get_utc_timezone());

  t.zone = NULL;
  return icaltime_as_timet_with_zone(t, r->zone);
}

static struct icaltimetype limit_of(time_t moment_s)
{
  return icaltime_from_timet_with_zone(moment_s, 0, icaltimezone_get_utc_timezone());
}

/* ---- bookings ---- */

static const char *text_of(struct reading *r, const char *text)
{
  return text ? arena_strdup(r->arena, text) : "";
}

static int by_instead(const void *key, const void *element)
{
  const time_t *start_s = key;
  const struct event *e = element;

  return *start_s < e->instead_s ? -1 : *start_s > e->instead_s;
}

/* Does an event of the same uid stand in for the occurrence that would start then? */
static bool was_moved(const struct reading *r, time_t start_s)
{
  const struct event *first = r->first_moved;
  size_t count = (size_t)(r->group_end - first);

  return !r->event->moved && count > 0 &&
         bsearch(&start_s, first, count, sizeof *first, by_instead) != NULL;
}

static void add_booking(struct reading *r, time_t start_s, time_t end_s)
{
  if (end_s < start_s || start_s >= r->to_s || (end_s <= r->from_s && start_s < r->from_s) ||
      was_moved(r, start_s))
    return;
  if (r->booking_count == FEED_CALENDAR_MOST_BOOKINGS) {
    r->too_many = true;
    return;
  }

  struct feed_booking *b = &r->bookings[r->booking_count];

  *b =
      (struct feed_booking){.uid = r->event->uid,
                            .start_ms = (int64_t)start_s * 1000,
                            .end_ms = (int64_t)end_s * 1000,
                            .all_day = r->all_day,
                            .summary = text_of(r, icalcomponent_get_summary(r->event->component)),
                            .location = text_of(r, icalcomponent_get_location(r->event->component)),
                            .who = calendar_who(r->event->component, r->arena),
                            .category = calendar_category(r->event->component, r->arena),
                            .line = calendar_line(&r->places, r->event->uid)};
  if (b->summary && b->location)
    r->booking_count++;
  else
    r->too_many = true; /* the arena is full */
}

static void on_span(icalcomponent *component, struct icaltime_span *span, void *arg)
{
  struct reading *r = arg;

  (void)component;
  if (r->local)
    add_booking(r, local_to_utc(r, span->start), local_to_utc(r, span->start + r->length_s));
  else
    add_booking(r, span->start, span->start + r->length_s);
}

/* ---- events ---- */

/* What of an event could take for ever, counted before it is begun. */
static const char *check_cost(struct reading *r, icalcomponent *component, time_t start_s)
{
  double steps = 1;
  int exceptions = 1;

  for (icalproperty *p = icalcomponent_get_first_property(component, ICAL_ANY_PROPERTY); p;
       p = icalcomponent_get_next_property(component, ICAL_ANY_PROPERTY)) {
    icalproperty_kind kind = icalproperty_isa(p);

    if (kind == ICAL_RRULE_PROPERTY) {
      struct icalrecurrencetype rule = icalproperty_get_rrule(p);

      steps += calendar_steps(&rule, start_s, r->to_s + MARGIN_S);
    }
    if (kind == ICAL_EXRULE_PROPERTY)
      return "EXRULE is not read (RFC 5545 took it out); write EXDATE";
    exceptions += kind == ICAL_EXDATE_PROPERTY || kind == ICAL_RDATE_PROPERTY;
  }
  if (steps > MOST_STEPS)
    return "it recurs within a day, or too often to be counted out";
  if (exceptions > MOST_EXCEPTIONS)
    return "it has more exceptions than are read";
  r->steps += steps * (1 + exceptions / 100.0);
  return r->steps > MOST_ALL_STEPS ? "the calendar recurs too often to be counted out" : NULL;
}

/* Extra dates: taken out of the event, for the library would read them without their zone. */
static void take_extra_dates(struct reading *r, icalcomponent *component)
{
  icalproperty *next;

  for (icalproperty *p = icalcomponent_get_first_property(component, ICAL_RDATE_PROPERTY); p;
       p = next) {
    const char *fault;
    time_t start_s;
    bool local;

    next = icalcomponent_get_next_property(component, ICAL_RDATE_PROPERTY);
    if (icalvalue_isa(icalproperty_get_value(p)) == ICAL_PERIOD_VALUE)
      complain(r, r->event, "an RDATE that is a period is not read");
    else if (!moment_of(r, p, component, &start_s, &local, &fault))
      complain(r, r->event, "RDATE: %s", fault);
    else
      add_booking(r, start_s,
                  local ? local_to_utc(r, wall_of(r, start_s) + r->length_s)
                        : start_s + r->length_s);
    icalcomponent_remove_property(component, p);
    icalproperty_free(p);
  }
}

static bool is_cancelled(const struct reading *r)
{
  icalcomponent *calendar = icalcomponent_get_parent(r->event->component);

  return icalcomponent_get_status(r->event->component) == ICAL_STATUS_CANCELLED ||
         (calendar && icalcomponent_get_method(calendar) == ICAL_METHOD_CANCEL);
}

static const char *read_event(struct reading *r)
{
  icalcomponent *component = r->event->component;
  icalproperty *start = icalcomponent_get_first_property(component, ICAL_DTSTART_PROPERTY);
  icalproperty *end = icalcomponent_get_first_property(component, ICAL_DTEND_PROPERTY);
  time_t start_s, end_s, margin_s;
  const char *fault;
  bool end_local;

  if (!start)
    return "it says no start that can be read (DTSTART)";
  if (!moment_of(r, start, component, &start_s, &r->local, &fault) ||
      (end && !moment_of(r, end, component, &end_s, &end_local, &fault)))
    return fault;
  if (end && end_local != r->local)
    return "its start and its end are not in the same kind of time";
  if (!end) {
    struct icaltimetype t = icalcomponent_get_dtend(component); /* from DURATION, or a whole day */

    end_s = icaltime_as_timet_with_zone(t, r->local ? r->zone : t.zone);
  }
  if (end_s < start_s)
    return "it ends before it starts";
  fault = check_cost(r, component, start_s);
  if (fault)
    return fault;
  r->all_day = icaltime_is_date(icalproperty_get_dtstart(start));
  margin_s = r->local ? MARGIN_S : 0;
  r->length_s = r->local ? wall_of(r, end_s) - wall_of(r, start_s) : end_s - start_s;
  take_extra_dates(r, component);
  icalcomponent_foreach_recurrence(component, limit_of(r->from_s - margin_s),
                                   limit_of(r->to_s + margin_s), on_span, r);
  return NULL;
}

static void take_event(struct reading *r, const struct event *event)
{
  const char *fault;

  r->event = event;
  if (is_cancelled(r)) {
    r->report.cancelled++;
    return;
  }
  fault = read_event(r);
  if (fault)
    complain(r, event, "%s", fault);
}

/* ---- the calendar ---- */

/* By uid; of one, the whole series before its moved occurrences; the newest version last. */
static int by_identity(const void *a, const void *b)
{
  const struct event *x = a, *y = b;
  int uid = strcmp(x->uid, y->uid);

  if (uid != 0)
    return uid;
  if (x->moved != y->moved)
    return x->moved ? 1 : -1;
  if (x->instead_s != y->instead_s)
    return x->instead_s < y->instead_s ? -1 : 1;
  if (x->sequence != y->sequence)
    return x->sequence < y->sequence ? -1 : 1;
  return x->order - y->order;
}

static bool same_identity(const struct event *a, const struct event *b)
{
  return *a->uid && strcmp(a->uid, b->uid) == 0 && a->moved == b->moved &&
         a->instead_s == b->instead_s;
}

static void note_event(struct reading *r, icalcomponent *component)
{
  icalproperty *instead = icalcomponent_get_first_property(component, ICAL_RECURRENCEID_PROPERTY);
  const char *uid = icalcomponent_get_uid(component), *fault;
  struct event e = {.component = component,
                    .uid = uid ? arena_strdup(r->arena, uid) : "",
                    .sequence = icalcomponent_get_sequence(component),
                    .order = r->event_count};
  bool local;

  r->report.events++;
  if (!e.uid || r->event_count == r->most_events) {
    r->too_many = true;
    return;
  }
  if (instead) {
    e.moved = true;
    if (!moment_of(r, instead, component, &e.instead_s, &local, &fault)) {
      complain(r, &e, "RECURRENCE-ID: %s", fault);
      return;
    }
    if (icalproperty_get_first_parameter(instead, ICAL_RANGE_PARAMETER)) {
      complain(r, &e, "a change of this and all later ones (RANGE) is not read");
      return;
    }
  }
  r->events[r->event_count++] = e;
}

/* All events of one uid.  One without a uid is alone. */
static const struct event *take_group(struct reading *r, const struct event *first)
{
  const struct event *end = first + 1, *all_end = r->events + r->event_count;

  while (*first->uid && end < all_end && strcmp(end->uid, first->uid) == 0)
    end++;
  r->group_end = end;
  r->first_moved = first;
  while (r->first_moved < end && !r->first_moved->moved)
    r->first_moved++;
  for (const struct event *e = first; e < end; e++)
    if (e + 1 == end || !same_identity(e, e + 1)) /* else an older version */
      take_event(r, e);
  return end;
}

static void take_events(struct reading *r)
{
  const struct event *at = r->events;

  qsort(r->events, (size_t)r->event_count, sizeof *r->events, by_identity);
  while (at < r->events + r->event_count)
    at = take_group(r, at);
}

static int by_start(const void *a, const void *b)
{
  const struct feed_booking *x = a, *y = b;

  if (x->start_ms != y->start_ms)
    return x->start_ms < y->start_ms ? -1 : 1;
  if (x->end_ms != y->end_ms)
    return x->end_ms < y->end_ms ? -1 : 1;
  return strcmp(x->uid, y->uid);
}

/* In order of time; what a rule and an extra date both name is one booking. */
static void sort_bookings(struct reading *r)
{
  int kept = 0;

  qsort(r->bookings, (size_t)r->booking_count, sizeof *r->bookings, by_start);
  for (int i = 0; i < r->booking_count; i++)
    if (kept == 0 || !*r->bookings[i].uid || by_start(&r->bookings[kept - 1], &r->bookings[i]) != 0)
      r->bookings[kept++] = r->bookings[i];
  r->booking_count = kept;
}

static bool read_calendar(struct reading *r)
{
  icalcomponent *calendar = icalparser_parse_string(calendar_begin(r->text->bytes));

  if (!calendar || icalcomponent_isa(calendar) != ICAL_VCALENDAR_COMPONENT) {
    if (calendar)
      icalcomponent_free(calendar);
    return refuse(r, 0, "no single calendar (RFC 5545)");
  }
  drop_bad_zones(r, calendar);
  for (icalcomponent *c = icalcomponent_get_first_component(calendar, ICAL_VEVENT_COMPONENT); c;
       c = icalcomponent_get_next_component(calendar, ICAL_VEVENT_COMPONENT))
    note_event(r, c);
  take_events(r);
  icalcomponent_free(calendar);
  if (r->too_many)
    refuse(r, 0, "more events or bookings than are read; the rest is left out");
  sort_bookings(r);
  return true;
}

bool feed_calendar(const struct facility_text *text, const struct feed_window *window,
                   const struct feed_booking_sink *sink, struct arena *arena,
                   struct complaints *complaints, struct feed_calendar_report *report_out)
{
  char *copy = arena_push(arena, text->size + 1, 1);
  struct facility_text own = {text->file, copy, text->size};
  struct reading r = {.arena = arena,
                      .complaints = complaints,
                      .text = &own,
                      .from_s = (time_t)(window->from_ms / 1000),
                      .to_s = (time_t)(window->to_ms / 1000)};
  const char *why;
  bool fine;
  int line;

  *report_out = (struct feed_calendar_report){0};
  r.most_events = (int)(text->size / SHORTEST_EVENT) + 1;
  if (r.most_events > FEED_CALENDAR_MOST_EVENTS)
    r.most_events = FEED_CALENDAR_MOST_EVENTS;
  r.events = ARENA_ARRAY(arena, struct event, (size_t)r.most_events);
  r.bookings = ARENA_ARRAY(arena, struct feed_booking, FEED_CALENDAR_MOST_BOOKINGS);
  if (!copy || !r.events || !r.bookings)
    return refuse(&r, 0, "it does not fit into memory");
  memcpy(copy, text->bytes, text->size);
  if (!calendar_find_places(copy, arena, &r.places))
    return refuse(&r, 0, "it does not fit into memory");
  why = calendar_shape(&own, &line);
  if (why)
    return refuse(&r, line, why);
  pthread_mutex_lock(&library);
  icalerror_set_errors_are_fatal(0);
  r.zone = strcmp(window->zone, "UTC") == 0 ? icaltimezone_get_utc_timezone()
                                            : icaltimezone_get_builtin_timezone(window->zone);
  fine = r.zone ? read_calendar(&r) : refuse(&r, 0, "the calendar's own zone is not known here");
  pthread_mutex_unlock(&library);
  r.report.bookings = r.booking_count;
  for (int i = 0; fine && i < r.booking_count; i++)
    sink->take(sink->arg, &r.bookings[i]);
  *report_out = r.report;
  return fine;
}
