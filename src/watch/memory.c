#include "watch/watch_impl.h"

#include <math.h>

/*
 * Everything here depends on the set of observations taken and not on their order: each field is the
 * greatest of something under one total order.
 */

/* Is `a` the newer one?  Of two for one moment the first that came stays, as in the record. */
static bool is_newer(const struct feed_observation *a, const struct feed_observation *b)
{
  if (a->t_ms != b->t_ms)
    return a->t_ms > b->t_ms;
  if (a->seen_ms != b->seen_ms)
    return a->seen_ms < b->seen_ms;
  if (a->quality != b->quality)
    return a->quality < b->quality;
  return a->si < b->si; /* never true of NaN, and two of those are equal */
}

static bool is_same(const struct feed_observation *a, const struct feed_observation *b)
{
  return !is_newer(a, b) && !is_newer(b, a);
}

bool observation_is_measured(const struct feed_observation *o)
{
  return (o->quality == FEED_GOOD || o->quality == FEED_OLD) && isfinite(o->si);
}

static void keep(struct memory *m, const struct feed_observation *o)
{
  int at = m->kept_count;

  while (at > 0 && is_newer(o, &m->kept[at - 1]))
    at--;
  if (at == WATCH_KEPT || (at > 0 && is_same(o, &m->kept[at - 1])))
    return;
  if (m->kept_count < WATCH_KEPT)
    m->kept_count++;
  for (int i = m->kept_count - 1; i > at; i--)
    m->kept[i] = m->kept[i - 1];
  m->kept[at] = *o;
}

/* `value` is the newest, `other` the newest that differs from it: both survive any order, since what
 * stops being the newest is newer than all else that differs from the next. */
static void follow(struct memory *m, const struct feed_observation *o)
{
  if (!m->has_value) {
    m->has_value = true;
    m->value = *o;
    m->first_ms = o->t_ms;
    return;
  }
  if (o->t_ms < m->first_ms)
    m->first_ms = o->t_ms;

  bool newer = is_newer(o, &m->value);
  const struct feed_observation older = newer ? m->value : *o;

  if (o->si != m->value.si && (newer || !m->has_other || older.t_ms > m->other_ms)) {
    m->has_other = true;
    m->other_ms = older.t_ms;
  }
  if (newer)
    m->value = *o;
}

void memory_take(struct memory *m, const struct feed_observation *o)
{
  if (o->quality == FEED_FUTURE || o->quality == FEED_UNTIMED) {
    bool later = !m->has_aside || o->seen_ms > m->aside.seen_ms ||
                 (o->seen_ms == m->aside.seen_ms && is_newer(o, &m->aside));

    if (later)
      m->aside = *o;
    m->has_aside = true;
    return;
  }
  keep(m, o);
  if (observation_is_measured(o))
    follow(m, o);
}

void memory_forget_from(struct memory *m, int64_t t_ms)
{
  const struct memory before = *m;

  *m = (struct memory){.has_aside = before.has_aside && before.aside.seen_ms < t_ms,
                       .aside = before.aside};
  for (int i = before.kept_count - 1; i >= 0; i--)
    if (before.kept[i].t_ms < t_ms)
      memory_take(m, &before.kept[i]);
}

const struct feed_observation *memory_newest(const struct memory *m, int64_t until_ms)
{
  for (int i = 0; i < m->kept_count; i++)
    if (m->kept[i].t_ms <= until_ms)
      return &m->kept[i];
  return NULL;
}

int64_t memory_unmoved_since_ms(const struct memory *m)
{
  return m->has_other ? m->other_ms : m->first_ms;
}
