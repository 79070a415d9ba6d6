/* Bookings that cannot both be, or not there. */
#include "day/day_impl.h"

#include <string.h>
#include <strings.h>

enum { CONFLICTS_MOST = 200 };

struct finding {
  struct day_answer *answer;
  struct arena *arena;
};

static void add(struct finding *f, enum day_conflict_kind kind, int a, int b, const char *text)
{
  struct day_answer *answer = f->answer;

  if (answer->conflict_count < CONFLICTS_MOST && text)
    answer->conflicts[answer->conflict_count++] = (struct day_conflict){kind, a, b, text};
}

static bool overlap(const struct day_booking *a, const struct day_booking *b)
{
  return a->start_ms < b->end_ms && b->start_ms < a->end_ms;
}

static bool same_person(const struct day_booking *a, const struct day_booking *b)
{
  return *a->who && strcasecmp(a->who, b->who) == 0;
}

static bool other_family(const struct day_booking *a, const struct day_booking *b)
{
  return *a->family && *b->family && strcasecmp(a->family, b->family) != 0;
}

/* Time between two of one station. */
static double between_s(const struct day_booking *a, const struct day_booking *b)
{
  int64_t gap_ms = a->start_ms < b->start_ms ? b->start_ms - a->end_ms : a->start_ms - b->end_ms;

  return (double)gap_ms / 1000;
}

static const char *pair_text(struct finding *f, int a, int b, const char *what)
{
  struct buf text;

  buf_init(&text, 1000);
  day_put_booking(f->answer, a, false, &text);
  buf_puts(&text, " and ");
  day_put_booking(f->answer, b, false, &text);
  buf_printf(&text, ": %s", what);

  const char *copy = arena_strdup(f->arena, text.text);

  buf_release(&text);
  return copy;
}

static void judge_pair(struct finding *f, int i, int j)
{
  const struct facility *facility = f->answer->request->facility;
  const struct day_booking *a = &f->answer->day.list[i], *b = &f->answer->day.list[j];

  if (a->station == b->station && overlap(a, b))
    add(f, DAY_SAME_STATION, i, j, pair_text(f, i, j, "one station, booked twice at once"));
  else if (a->station == b->station && other_family(a, b) &&
           between_s(a, b) < facility->day.clean_down_s)
    add(f, DAY_CLEAN_DOWN, i, j,
        pair_text(f, i, j,
                  arena_printf(f->arena, "%s, then %s: less than the %.0f min for cleaning down",
                               a->family, b->family, facility->day.clean_down_s / 60)));
  if (same_person(a, b) && a->station != b->station && overlap(a, b))
    add(f, DAY_SAME_PERSON, i, j, pair_text(f, i, j, "one person at two stations at once"));
}

/* What a station's card refuses: its words as they are written there. */
static void judge_place(struct finding *f, int i)
{
  const struct day_request *r = f->answer->request;
  const struct day_booking *b = &f->answer->day.list[i];
  const struct facility_station *s = &r->facility->stations[b->station];
  struct buf text;

  buf_init(&text, 1000);
  for (int k = 0; k < s->card.not_here_count; k++)
    if (*b->family && strcasecmp(s->card.not_here[k], b->family) == 0) {
      day_put_booking(f->answer, i, false, &text);
      buf_printf(&text, ": booked for %s, and the station's card says: not here", b->family);
      add(f, DAY_NOT_HERE, i, -1, arena_strdup(f->arena, text.text));
    }
  buf_clear(&text);
  const char *why = r->may_not ? r->may_not(r->arg, b) : NULL;

  if (why) {
    day_put_booking(f->answer, i, false, &text);
    buf_printf(&text, ": %s", why);
    add(f, DAY_NOT_MAY, i, -1, arena_strdup(f->arena, text.text));
  }
  buf_release(&text);
}

void day_find_conflicts(struct day_answer *answer, struct arena *arena)
{
  struct finding f = {answer, arena};

  answer->conflicts = ARENA_ARRAY(arena, struct day_conflict, CONFLICTS_MOST);
  BUG_IF(!answer->conflicts);
  for (int i = 0; i < answer->day.count; i++) {
    judge_place(&f, i);
    for (int j = i + 1; j < answer->day.count; j++)
      judge_pair(&f, i, j);
  }
}

bool day_is_free(const struct facility *facility, const struct day_bookings *day, int booking,
                 int64_t start_ms, int64_t end_ms)
{
  struct day_booking moved = day->list[booking];

  moved.start_ms = start_ms;
  moved.end_ms = end_ms;
  for (int i = 0; i < day->count; i++) {
    const struct day_booking *o = &day->list[i];

    if (i == booking)
      continue;
    if ((o->station == moved.station || same_person(o, &moved)) && overlap(o, &moved))
      return false;
    if (o->station == moved.station && other_family(o, &moved) &&
        between_s(o, &moved) < facility->day.clean_down_s)
      return false;
  }
  return true;
}
