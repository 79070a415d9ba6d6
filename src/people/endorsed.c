#include "people/people.h"

#include <string.h>
#include <strings.h>

/* Whether an endorsement counts on a day, and until when. */

const char *people_standing_word(enum people_standing standing)
{
  static const char *const words[] = {"valid", "not known", "not valid"};

  return words[standing];
}

static const char *shown_day(int day, struct arena *arena)
{
  struct buf text;

  buf_init(&text, 40);
  roster_print_day(day, &text);
  const char *out = arena_strdup(arena, text.text);

  BUG_IF(!out);
  buf_release(&text);
  return out;
}

static struct people_verdict because(enum people_standing standing, const char *why)
{
  BUG_IF(!why);
  return (struct people_verdict){.standing = standing, .until_day = ROSTER_NO_DAY, .why = why};
}

static bool is_none(struct roster_span span)
{
  return span.months == 0 && span.days == 0;
}

static int earlier(int a, int b)
{
  return a == ROSTER_NO_DAY || (b != ROSTER_NO_DAY && b < a) ? b : a;
}

static bool is_of(const struct roster_demotion *d, int endorsement)
{
  for (int i = 0; i < d->endorsement_count; i++)
    if (d->endorsements[i] == endorsement)
      return true;
  return d->endorsement_count == 0;
}

/* The demotion that holds on that day, or NULL.  A grant after its first day ends one without an end. */
static const struct roster_demotion *demotion(const struct people *people, int person,
                                              int endorsement, int day)
{
  const struct roster *r = people->roster;
  const struct people_day *grant = &people->list[person].granted[endorsement];

  for (int i = 0; i < r->demotion_count; i++) {
    const struct roster_demotion *d = &r->demotions[i];

    if (strcasecmp(d->who, people->list[person].id) != 0 || !is_of(d, endorsement) ||
        day < d->from_day || (d->until_day != ROSTER_NO_DAY && day > d->until_day))
      continue;
    if (d->until_day == ROSTER_NO_DAY && grant->kind == PEOPLE_ON_DAY && grant->day > d->from_day)
      continue;
    return d;
  }
  return NULL;
}

/* By the last use: true, and *out, when it does not count for that. */
static bool lapsed(const struct roster_endorsement *e, const struct people_person *p, int grant_day,
                   int day, int *until_out, struct arena *arena, struct people_verdict *out)
{
  int used = grant_day;

  if (is_none(e->unused))
    return false;
  if (p->last_use.kind == PEOPLE_ON_DAY && p->last_use.day <= day && p->last_use.day > used)
    used = p->last_use.day;
  *until_out = roster_after(used, e->unused);
  if (day <= *until_out)
    return false;
  if (p->last_use.kind != PEOPLE_ON_DAY)
    *out =
        because(PEOPLE_NOT_KNOWN,
                arena_printf(arena, "it lapses without use, and the last use is not known%s%s",
                             p->last_use.why ? ": " : "", p->last_use.why ? p->last_use.why : ""));
  else
    *out = because(PEOPLE_NOT_VALID,
                   arena_printf(arena, "lapsed on %s: unused since %s",
                                shown_day(*until_out, arena), shown_day(used, arena)));
  return true;
}

/* Of this endorsement alone, without those it needs. */
static struct people_verdict alone(const struct people *people, int person, int endorsement,
                                   int day, struct arena *arena)
{
  const struct roster_endorsement *e = &people->roster->endorsements[endorsement];
  const struct people_person *p = &people->list[person];
  const struct people_day *grant = &p->granted[endorsement];
  const struct roster_demotion *down = demotion(people, person, endorsement, day);
  struct people_verdict out;
  int until = ROSTER_NO_DAY, unused_until = ROSTER_NO_DAY;

  if (down) {
    out = because(PEOPLE_NOT_VALID, arena_printf(arena, "taken back on %s by %s",
                                                 shown_day(down->from_day, arena), down->by));
    out.detail = down->why;
    return out;
  }
  if (grant->kind == PEOPLE_NOT_SAID)
    return because(PEOPLE_NOT_KNOWN,
                   grant->where
                       ? arena_printf(arena, "no day of a grant: %s is blank", grant->where)
                       : "no day of a grant is kept");
  if (grant->kind == PEOPLE_UNCLEAR)
    return because(PEOPLE_NOT_KNOWN, grant->why);
  if (grant->day > day)
    return because(PEOPLE_NOT_VALID, arena_printf(arena, "granted only on %s: in the future then",
                                                  shown_day(grant->day, arena)));
  if (!is_none(e->valid)) {
    until = roster_after(grant->day, e->valid);
    if (day > until)
      return because(PEOPLE_NOT_VALID,
                     arena_printf(arena, "expired on %s", shown_day(until, arena)));
  }
  if (lapsed(e, p, grant->day, day, &unused_until, arena, &out))
    return out;
  out = because(PEOPLE_VALID, "no end is set");
  out.until_day = earlier(until, unused_until);
  return out;
}

struct people_verdict people_endorsed(const struct people *people, int person, int endorsement,
                                      int day, struct arena *arena)
{
  const struct roster_endorsement *e = &people->roster->endorsements[endorsement];
  struct people_verdict out = alone(people, person, endorsement, day, arena);

  if (out.standing != PEOPLE_VALID)
    return out;
  for (int i = 0; i < e->need_count; i++) { /* no circles: roster_read refuses them */
    struct people_verdict need = people_endorsed(people, person, e->needs[i], day, arena);

    if (need.standing != PEOPLE_VALID) {
      const char *id = people->roster->endorsements[e->needs[i]].part.id;
      struct people_verdict lacks =
          because(need.standing, arena_printf(arena, "it needs %s: %s", id, need.why));

      lacks.detail = need.detail;
      return lacks;
    }
    out.until_day = earlier(out.until_day, need.until_day);
  }
  if (out.until_day != ROSTER_NO_DAY)
    out.why = arena_printf(arena, "until %s", shown_day(out.until_day, arena));
  return out;
}

/* ---- staffed hours ---- */

enum { A_YEAR = 366, DAY_MS = 86400 * 1000 };

static int day_number(const struct when_civil *at)
{
  const struct when_civil midnight = {.year = at->year, .month = at->month, .day = at->day};
  int64_t first_ms = 0, second_ms;

  (void)when_of(when_utc(), &midnight, &first_ms, &second_ms);
  return (int)(first_ms / DAY_MS);
}

static const struct roster_holiday *holiday(const struct roster *r, int day)
{
  for (int i = 0; i < r->holiday_count; i++)
    if (day >= r->holidays[i].from_day && day <= r->holidays[i].until_day)
      return &r->holidays[i];
  return NULL;
}

static void find_next(const struct roster *r, int day, int minutes, struct people_hours *out)
{
  out->next_day = ROSTER_NO_DAY;
  for (int ahead = 0; ahead < A_YEAR; ahead++) {
    int weekday = (day + ahead + 3) % 7; /* 1970-01-01 was a Thursday */

    if (r->closes_min[weekday] == 0 || holiday(r, day + ahead) ||
        (ahead == 0 && minutes >= r->closes_min[weekday]))
      continue;
    out->next_day = day + ahead;
    out->next_open_min =
        ahead == 0 && minutes > r->opens_min[weekday] ? minutes : r->opens_min[weekday];
    return;
  }
}

struct people_hours people_hours(const struct roster *roster, const struct when_civil *at,
                                 struct arena *arena)
{
  struct people_hours out = {.now = PEOPLE_HOURS_UNKNOWN,
                             .next_day = ROSTER_NO_DAY,
                             .why = "the people file says no staffed hours"};
  int day = day_number(at), weekday = when_weekday(at), minutes = 60 * at->hour + at->minute;
  const struct roster_holiday *off = holiday(roster, day);
  int opens = roster->opens_min[weekday], closes = roster->closes_min[weekday];

  if (!roster->has_hours)
    return out;
  find_next(roster, day, minutes, &out);
  out.now = PEOPLE_NOT_STAFFED;
  if (off) {
    out.why = arena_printf(arena, "a holiday: %s", off->called);
  } else if (closes == 0) {
    out.why = "no staff on that day of the week";
  } else {
    if (minutes >= opens && minutes < closes)
      out.now = PEOPLE_STAFFED;
    out.why = arena_printf(arena, "%s %02d:%02d to %02d:%02d",
                           out.now == PEOPLE_STAFFED ? "staffed, from"
                                                     : "outside staffed hours, which are",
                           opens / 60, opens % 60, closes / 60, closes % 60);
  }
  BUG_IF(!out.why);
  return out;
}
