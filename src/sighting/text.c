/* What was told of glass, for people. */
#include "sighting/sighting_impl.h"

#include <math.h>
#include <stdlib.h>

static void put_moment(const struct sighting_list *list, int64_t t_ms, struct buf *out)
{
  when_print(out, list->zone ? list->zone : when_utc(), t_ms);
}

static const char *id(const struct sighting_list *list, int station)
{
  return list->facility->stations[station].part.id;
}

/* ---- one case ---- */

static void put_owner(const struct sighting_list *list, const struct sighting_case *c,
                      struct buf *out)
{
  const struct facility *f = list->facility;

  if (c->owner < 0)
    return;
  buf_printf(out, ", %s's", id(list, c->owner));
  if (f->stations[c->owner].card.chemistry && c->station >= 0 &&
      f->stations[c->station].card.chemistry)
    buf_printf(out, " (%s, seen where it is %s)", f->stations[c->owner].card.chemistry,
               f->stations[c->station].card.chemistry);
}

void sighting_put_case(const struct sighting_list *list, const struct sighting_case *c,
                       struct buf *out)
{
  buf_printf(out, "%s: ", c->about);
  glass_told_text(&c->told, out);
  put_owner(list, c, out);
  if (c->station < 0)
    buf_puts(out, "; the suite has that station no more");
}

static void put_when(const struct sighting_list *list, const struct sighting_case *c,
                     struct buf *out)
{
  buf_puts(out, "      First seen ");
  put_moment(list, c->first.t_ms, out);
  buf_printf(out, " by %s, entry %lld", c->first.who, (long long)c->first.number);
  if (c->times > 1) {
    buf_printf(out, "; told %d times, last ", c->times);
    put_moment(list, c->last.t_ms, out);
    buf_printf(out, ", entry %lld", (long long)c->last.number);
  }
  buf_puts(out, ".");
  if (c->last.words)
    buf_printf(out, " Said: %s", c->last.words);
  buf_putc(out, '\n');
  if (c->home.t_ms == INT64_MIN)
    return;
  buf_puts(out, "      One like it was seen at its own station ");
  put_moment(list, c->home.t_ms, out);
  buf_printf(out, " (entry %lld)%s.\n", (long long)c->home.number,
             c->is_lost ? "; that gives no status back" : "");
}

static const struct facility_glass *piece_of(const struct sighting_list *list,
                                             const struct sighting_case *c)
{
  return c->owner >= 0 && c->told.piece
             ? sighting_piece_of(list->facility, c->owner, c->told.piece, NULL)
             : NULL;
}

static void put_open(const struct sighting_list *list, const struct sighting_case *c,
                     struct buf *out)
{
  const struct facility_glass *piece = piece_of(list, c);

  buf_puts(out, c->is_lost ? "  ! " : "    ");
  sighting_put_case(list, c, out);
  buf_putc(out, '\n');
  put_when(list, c, out);
  if (c->settled.t_ms != INT64_MIN)
    buf_printf(out, "      %d of %d left: of the others entry %lld says what was done.\n", c->left,
               c->told.count, (long long)c->settled.number);
  if (!c->is_lost)
    buf_printf(out, "      Before it goes back: %s.\n",
               piece && piece->on_return ? piece->on_return
                                         : "not stated; ask who looks after the stations");
}

static void put_cases(const struct sighting_list *list, struct buf *out)
{
  if (list->lost_count) {
    buf_puts(out, "\nLost their status, until somebody writes what was done\n");
    for (int i = 0; i < list->case_count; i++)
      if (list->cases[i].left > 0 && list->cases[i].is_lost)
        put_open(list, &list->cases[i], out);
    buf_puts(out,
             "  Do not use, move or empty them before who looks after the stations decides.\n");
  }
  if (list->open_count > list->lost_count)
    buf_puts(out, "\nMay stand where they were seen, for a while\n");
  for (int i = 0; i < list->case_count; i++)
    if (list->cases[i].left > 0 && !list->cases[i].is_lost)
      put_open(list, &list->cases[i], out);
}

static void put_settled(const struct sighting_list *list, struct buf *out)
{
  enum { MOST = 10 };
  int shown = 0;

  for (int i = list->case_count - 1; i >= 0; i--) {
    const struct sighting_case *c = &list->cases[i];

    if (c->left > 0 || shown++ >= MOST)
      continue;
    buf_printf(out, "%s    ", shown == 1 ? "\nWhat was done\n" : "");
    sighting_put_case(list, c, out);
    buf_printf(out, "\n      %s%s%s ", sighting_act_name(c->done), c->how ? ": " : "",
               c->how ? c->how : "");
    put_moment(list, c->settled.t_ms, out);
    buf_printf(out, " by %s, entry %lld.\n", c->settled.who, (long long)c->settled.number);
  }
  if (shown > MOST)
    buf_printf(out, "    and %d older\n", shown - MOST);
}

/* ---- how often ---- */

static void put_counts(const struct sighting_list *list, struct buf *out)
{
  const double month_s = 30 * 86400.0;

  if (list->count_count == 0)
    return;
  buf_puts(out, "\nSeen where they may not stand, since ");
  put_moment(list, list->since_ms, out);
  buf_putc(out, '\n');
  for (int i = 0; i < list->count_count; i++) {
    const struct sighting_count *c = &list->counts[i];

    buf_printf(out, "    %s: %s: %d time%s, %d case%s", c->about, c->mark, c->sightings,
               c->sightings == 1 ? "" : "s", c->cases, c->cases == 1 ? "" : "s");
    if (isnan(c->mean_per_s))
      buf_puts(out, "; too short a span to say how often\n");
    else
      buf_printf(
          out,
          "; about %.2g in 30 d, and so few cases leave room for %.2g to %.2g (Poisson, 95 %%)\n",
          c->mean_per_s * month_s, c->low_per_s * month_s, c->high_per_s * month_s);
  }
  buf_puts(out, "  Seen by who happened to look: how many stood there unseen nobody knows.\n");
}

/* ---- drawers ---- */

static void put_drawer(const struct sighting_list *list, const struct sighting_drawer *d,
                       struct buf *out)
{
  static const char *const words[] = {[SIGHTING_MISSING] = "MISSING",
                                      [SIGHTING_TOO_MANY] = "TOO MANY",
                                      [SIGHTING_OVERDUE] = "counted too long ago",
                                      [SIGHTING_NOT_KNOWN] = "never counted",
                                      [SIGHTING_RIGHT] = "as the suite says"};
  static const char signs[] = {[SIGHTING_MISSING] = '!',
                               [SIGHTING_TOO_MANY] = '!',
                               [SIGHTING_OVERDUE] = '-',
                               [SIGHTING_NOT_KNOWN] = '?',
                               [SIGHTING_RIGHT] = ' '};
  int apart = abs(d->piece->count - d->counted);

  buf_printf(out, "  %c %s drawer %s: %s: ", signs[d->state], id(list, d->station),
             d->piece->drawer ? d->piece->drawer : "not stated", d->piece->what);
  if (d->state == SIGHTING_MISSING || d->state == SIGHTING_TOO_MANY)
    buf_printf(out, "%d ", apart);
  buf_puts(out, words[d->state]);
  if (d->state == SIGHTING_NOT_KNOWN) {
    buf_printf(out, "; the suite says %d", d->piece->count);
  } else {
    buf_printf(out, "; %d of %d counted ", d->counted, d->piece->count);
    when_print_span(out, (double)(list->now_ms - d->when.t_ms) * 1e-3);
    buf_printf(out, " ago by %s, entry %lld%s", d->when.who, (long long)d->when.number,
               d->late && d->state != SIGHTING_OVERDUE ? ", too long ago" : "");
  }
  if (d->elsewhere)
    buf_printf(out, "; %d of that mark and kind lost %s status elsewhere", d->elsewhere,
               d->elsewhere == 1 ? "its" : "their");
  buf_putc(out, '\n');
}

void sighting_text(const struct sighting_list *list, struct buf *out)
{
  const struct facility *f = list->facility;

  buf_printf(out, "%s%s%s%s   glass that was seen and counted, ", f->name ? f->name : "(no name)",
             f->label ? "   [" : "", f->label ? f->label : "", f->label ? "]" : "");
  put_moment(list, list->now_ms, out);
  buf_putc(out, '\n');
  if (list->unread)
    buf_printf(out, "\n  %d entr%s of glass cannot be read; what %s said is not known.\n",
               list->unread, list->unread == 1 ? "y" : "ies", list->unread == 1 ? "it" : "they");
  if (list->lost_count == 0)
    buf_puts(out,
             "\nNo piece is told that lost its status and of which nobody wrote what was done.\n");
  put_cases(list, out);
  put_settled(list, out);
  put_counts(list, out);
  if (list->drawer_count)
    buf_puts(out, "\nDrawers\n");
  for (int i = 0; i < list->drawer_count; i++)
    put_drawer(list, &list->drawers[i], out);
  buf_puts(out,
           "\nAs told by people who looked. A mark says where glass belongs, not what it held.\n");
}
