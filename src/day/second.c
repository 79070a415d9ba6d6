/* Bookings that want another person inside: who could be that, when nobody is, and the nearest time at which somebody would be. */
#include "day/day_impl.h"

#include <string.h>
#include <strings.h>

struct looking {
  const struct day_answer *answer;
  const struct day_booking *booking; /* perhaps moved */
  int index;
};

static bool is_there(const struct day_booking *b, int64_t from_ms, int64_t to_ms)
{
  return b->start_ms <= from_ms && b->end_ms >= to_ms;
}

/* Another booking whose person could be it then; -1: none.  The endorsed ones first. */
static int somebody(const struct looking *l, int64_t from_ms, int64_t to_ms)
{
  const struct day_request *r = l->answer->request;
  int found = -1;

  for (int i = 0; i < l->answer->day.count; i++) {
    const struct day_booking *o = &l->answer->day.list[i];
    enum day_can can = i == l->index || !is_there(o, from_ms, to_ms)
                           ? DAY_CANNOT
                           : r->second_can(r->arg, l->booking, o);

    if (can == DAY_CAN_ENDORSED)
      return i;
    if (can == DAY_CAN && found < 0)
      found = i;
  }
  return found;
}

static void note_who(struct day_second *s, int who)
{
  for (int i = 0; i < s->who_count; i++)
    if (s->who[i] == who)
      return;
  if (s->who_count < DAY_SECOND_MOST)
    s->who[s->who_count++] = who;
}

static void note_lacking(struct day_second *s, int64_t from_ms, int64_t to_ms)
{
  struct day_span *last = s->lacking_count > 0 ? &s->lacking[s->lacking_count - 1] : NULL;

  if (last && last->to_ms == from_ms)
    last->to_ms = to_ms;
  else if (s->lacking_count < DAY_SECOND_MOST)
    s->lacking[s->lacking_count++] = (struct day_span){from_ms, to_ms};
}

/* The hours of staff may end within it: the graver of its beginning and its end. */
static enum day_need need_within(const struct looking *l, int64_t from_ms, int64_t to_ms)
{
  const struct day_request *r = l->answer->request;
  enum day_need first = r->second_needs(r->arg, l->booking, from_ms),
                last = r->second_needs(r->arg, l->booking, to_ms - 1);

  if (first == DAY_NEED || last == DAY_NEED)
    return DAY_NEED;
  return first > last ? first : last;
}

/* By the quarter hour from its start on. */
static void look(const struct looking *l, struct day_second *s)
{
  for (int64_t t = l->booking->start_ms; t < l->booking->end_ms; t += DAY_QUARTER_MS) {
    int64_t to_ms =
        t + DAY_QUARTER_MS < l->booking->end_ms ? t + DAY_QUARTER_MS : l->booking->end_ms;
    enum day_need need = need_within(l, t, to_ms);
    int who = need == DAY_NO_NEED ? -1 : somebody(l, t, to_ms);

    if (need == DAY_NO_NEED)
      continue;
    s->needed_s += (double)(to_ms - t) / 1000;
    s->known = s->known && need != DAY_NEED_NOT_KNOWN;
    s->staff = s->staff || need == DAY_NEED_STAFF_THERE;
    if (who >= 0)
      note_who(s, who);
    else if (need != DAY_NEED_STAFF_THERE)
      note_lacking(s, t, to_ms);
  }
}

static bool is_open(const struct day_answer *answer, int64_t start_ms, int64_t end_ms)
{
  const struct facility_day *day = &answer->request->facility->day;

  return (double)(start_ms - answer->from_ms) >= day->from_s * 1000 &&
         (double)(end_ms - answer->from_ms) <= day->to_s * 1000;
}

/* Whether somebody would be there throughout, at another time. */
static bool would_do(const struct day_answer *answer, int index, int64_t start_ms)
{
  struct day_booking moved = answer->day.list[index];
  struct day_second then = {.known = true};

  moved.end_ms += start_ms - moved.start_ms;
  moved.start_ms = start_ms;
  if (!is_open(answer, moved.start_ms, moved.end_ms) ||
      !day_is_free(answer->request->facility, &answer->day, index, moved.start_ms, moved.end_ms))
    return false;
  look(&(struct looking){answer, &moved, index}, &then);
  return then.known && then.lacking_count == 0;
}

static int64_t nearest_ms(const struct day_answer *answer, int index)
{
  int64_t start_ms = answer->day.list[index].start_ms,
          most_ms = (int64_t)(answer->request->facility->day.within_s * 1000);

  for (int64_t shift_ms = DAY_QUARTER_MS; shift_ms <= most_ms; shift_ms += DAY_QUARTER_MS) {
    if (would_do(answer, index, start_ms - shift_ms))
      return start_ms - shift_ms;
    if (would_do(answer, index, start_ms + shift_ms))
      return start_ms + shift_ms;
  }
  return INT64_MIN;
}

void day_find_seconds(struct day_answer *answer, struct arena *arena)
{
  const struct day_request *r = answer->request;

  answer->seconds = ARENA_ARRAY(arena, struct day_second, (size_t)answer->day.count + 1);
  BUG_IF(!answer->seconds);
  for (int i = 0; r->second_needs && i < answer->day.count; i++) {
    struct day_second s = {.booking = i, .known = true, .move_ms = INT64_MIN};

    look(&(struct looking){answer, &answer->day.list[i], i}, &s);
    if (s.needed_s <= 0)
      continue;
    if (s.lacking_count > 0)
      s.move_ms = nearest_ms(answer, i);
    answer->seconds[answer->second_count++] = s;
  }
}
