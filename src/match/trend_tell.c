/* What a trend says that is in no reading of it, and why. */
#include "match/trend_impl.h"

enum { NAMED_MOST = 20 };

static void note(struct match_trend *t, const char *text)
{
  if (text)
    t->out->notes[t->out->note_count++] = text;
}

/* Up to so many are named, what `is` says of each; the rest is counted. */
static void tell_points(struct match_trend *t, const char *what,
                        bool (*is)(const struct said *said, struct buf *words))
{
  struct buf out;
  int named = 0, more = 0;

  buf_init(&out, 4000);
  for (int i = 0; i < t->feeds->point_count; i++) {
    struct buf words;

    buf_init(&words, 100);
    if (!t->said[i].measures || !is(&t->said[i], &words))
      ; /* nothing to tell of it */
    else if (named < NAMED_MOST)
      buf_printf(&out, "%s%s%s", named++ ? ", " : "", t->feeds->points[i].part.id, words.text);
    else
      more++;
    buf_release(&words);
  }
  if (more > 0)
    buf_printf(&out, " and %d more", more);
  if (named > 0)
    note(t, arena_printf(t->arena, "%s: %s", what, out.text));
  buf_release(&out);
}

static bool is_silent(const struct said *said, struct buf *words)
{
  (void)words;
  return said->heard == 0;
}

static bool is_bad(const struct said *said, struct buf *words)
{
  buf_printf(words, " (%ld of %ld)", said->bad, said->heard);
  return said->bad > 0;
}

static bool is_frozen(const struct said *said, struct buf *words)
{
  buf_printf(words, " (%ld)", said->frozen);
  return said->frozen > 0;
}

static bool is_stuck(const struct said *said, struct buf *words)
{
  (void)words;
  return said->stuck;
}

static void tell_quality(struct match_trend *t)
{
  struct buf span;

  buf_init(&span, 60);
  when_print_span(&span, t->f->match.stuck_s);
  tell_points(t, "points of which nothing came", is_silent);
  tell_points(t, "values that are no measurement (missing, faulty, set by hand ...), in no mean",
              is_bad);
  tell_points(t, "values of a point that was frozen, in no mean", is_frozen);
  tell_points(t,
              arena_printf(t->arena,
                           "points that did not move at all for %s or longer, taken as stuck "
                           "(match: stuck after), wholly",
                           span.text),
              is_stuck);
  buf_release(&span);
}

static void tell_nothing(struct match_trend *t)
{
  struct buf span;

  buf_init(&span, 60);
  when_print_span(&span, t->f->match.steady_s);
  note(t, arena_printf(t->arena, "nothing stood still and was known for %s (match: steady)",
                       span.text));
  buf_release(&span);
}

void match_trend_tell(struct match_trend *t, int left_out)
{
  if (t->kept_count == 0)
    tell_nothing(t);
  note(t,
       arena_printf(t->arena,
                    "scenes that stood long enough: %d; stretches that did not, because something "
                    "moved: %d",
                    t->kept_count, t->moved));
  if (left_out > 0)
    note(t, arena_printf(t->arena, "scenes that were read less often than those of a match: %d",
                         left_out));
  if (t->unknown > 0)
    note(t, arena_printf(t->arena,
                         "moments left out, because something the air hangs on was not known: %d",
                         t->unknown));
  if (t->alarms > 0)
    note(t, arena_printf(t->arena, "moments left out, because the building's alarm stood: %d",
                         t->alarms));
  tell_quality(t);
}
