/* A timeline as lines in order of time, and as JSON. */
#include "past/past_impl.h"

#include "units/units.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- one piece in words ---- */

static bool is_alone(const struct past_place *place, const struct past_timeline *t, int signal)
{
  const struct feeds_point *points = place->feeds->points;

  for (int i = 0; i < t->signal_count; i++)
    if (i != signal && points[t->signals[i].point].what == points[t->signals[signal].point].what)
      return false;
  return true;
}

static void range_words(const struct feeds_point *p, const struct past_piece *piece,
                        struct buf *out)
{
  struct buf low, high;

  buf_init(&low, 100);
  buf_init(&high, 100);
  past_put_value(p, piece->low_si, &low);
  past_put_value(p, piece->high_si, &high);
  if (strcmp(low.text, high.text) == 0)
    buf_puts(out, high.text);
  else
    buf_printf(out, "%.*s to %s", (int)strcspn(low.text, " "), low.text, high.text);
  buf_release(&low);
  buf_release(&high);
}

static void sash_words(const struct facility_station *s, const struct feeds_point *p,
                       const struct past_piece *piece, struct buf *out)
{
  if (p->what != FEEDS_OPENING) {
    buf_puts(out, piece->raised ? "at work by its flow, " : "parked by its flow, ");
    range_words(p, piece, out);
    return;
  }
  buf_puts(out, piece->raised ? "open " : "parked, ");
  range_words(p, piece, out);
  if (piece->raised && s->has_openings && piece->high_si > s->work_m + p->resolution_si)
    buf_printf(out, ", above its mark %.2f m", s->work_m);
}

static const char *yes_words(enum feeds_what what, bool yes)
{
  switch ((int)what) {
  case FEEDS_PRESENCE:
    return yes ? "somebody there" : "nobody there";
  case FEEDS_ALARM:
    return yes ? "OWN ALARM" : "no own alarm";
  case FEEDS_BLOCKED:
    return yes ? "something stands under the sash" : "nothing stands under the sash";
  default:
    return yes ? "yes" : "no";
  }
}

static void piece_words(const struct past_place *place, const struct past_timeline *t, int signal,
                        const struct past_piece *piece, struct buf *out)
{
  const struct past_signal *s = &t->signals[signal];
  const struct feeds_point *p = &place->feeds->points[s->point];

  if (!piece->known)
    buf_printf(out, "NOT KNOWN: %s", piece->why);
  else if (s->tells_sash)
    sash_words(&place->facility->stations[t->station], p, piece, out);
  else if (p->yes_no)
    buf_puts(out, yes_words(p->what, piece->high_si > 0.5));
  else
    range_words(p, piece, out);
  if (!is_alone(place, t, signal))
    buf_printf(out, " (%s)", p->part.id);
}

/* ---- lines ---- */

struct line {
  int64_t t_ms;
  int signal, piece; /* signal -1: an entry */
};

static int by_time(const void *a, const void *b)
{
  const struct line *x = a, *y = b;

  if (x->t_ms != y->t_ms)
    return x->t_ms < y->t_ms ? -1 : 1;
  return x->signal != y->signal ? (x->signal > y->signal) - (x->signal < y->signal)
                                : x->piece - y->piece;
}

static struct line *make_lines(const struct past_timeline *t, int *count_out)
{
  size_t count = (size_t)t->entry_count;

  for (int i = 0; i < t->signal_count; i++)
    count += (size_t)t->signals[i].count;

  struct line *lines = calloc(count + 1, sizeof *lines);

  if (!lines)
    err_no_memory();
  int at = 0;

  for (int i = 0; i < t->signal_count; i++)
    for (int k = 0; k < t->signals[i].count; k++)
      lines[at++] = (struct line){t->signals[i].list[k].from_ms, i, k};
  for (int i = 0; i < t->entry_count; i++)
    lines[at++] = (struct line){t->entries[i].t_ms, -1, i};
  if (count > 0)
    qsort(lines, count, sizeof *lines, by_time);
  *count_out = at;
  return lines;
}

static void entry_line(const struct record_entry *e, struct buf *out)
{
  size_t first = strcspn(e->text, "\n");

  past_put_cell(record_kind_name(e->kind), 14, out);
  buf_add(out, e->text, first);
  buf_printf(out, "%s (%s, entry %" PRId64 ")\n", e->text[first] ? " ..." : "", e->who, e->number);
}

static const struct past_piece *piece_of(const struct past_timeline *t, const struct line *line)
{
  return &t->signals[line->signal].list[line->piece];
}

/* Where a source is lost all its signals say the same: once is enough. */
static bool all_not_known(const struct past_timeline *t, const struct line *lines, int left)
{
  const struct past_piece *first = piece_of(t, lines);

  if (t->signal_count < 2 || left < t->signal_count || first->known)
    return false;
  for (int i = 1; i < t->signal_count; i++) {
    if (lines[i].signal < 0)
      return false;
    const struct past_piece *p = piece_of(t, &lines[i]);

    if (p->known || p->from_ms != first->from_ms || p->to_ms != first->to_ms ||
        strcmp(p->why, first->why) != 0)
      return false;
  }
  return true;
}

static void piece_line(const struct past_place *place, const struct past_timeline *t,
                       const struct line *line, bool all, struct buf *out)
{
  const struct past_piece *piece = piece_of(t, line);
  enum feeds_what what = place->feeds->points[t->signals[line->signal].point].what;
  struct buf words;

  buf_init(&words, 1000);
  if (all)
    buf_printf(&words, "NOT KNOWN: %s", piece->why);
  else
    piece_words(place, t, line->signal, piece, &words);
  past_put_cell(all ? "all signals" : feeds_what_name(what), 14, out);
  past_put_cell(words.text, 52, out);
  when_print_span(out, (double)(piece->to_ms - piece->from_ms) * 1e-3);
  buf_putc(out, '\n');
  buf_release(&words);
}

static void lines_text(const struct past_place *place, const struct past_timeline *t, int most,
                       struct buf *out)
{
  int count;
  struct line *lines = make_lines(t, &count);
  int first = count > most ? count - most : 0;

  if (first > 0)
    buf_printf(out, "\n(%d lines of before are left out: --from, --to, or --most %d)\n", first,
               count);
  for (int i = first; i < count; i++) {
    if (i == first || !past_is_same_day(place->zone, lines[i - 1].t_ms, lines[i].t_ms)) {
      buf_putc(out, '\n');
      past_put_day(place->zone, lines[i].t_ms, out);
      buf_putc(out, '\n');
    }
    size_t before = out->used;

    buf_puts(out, "  ");
    past_put_clock(place->zone, lines[i].t_ms, out);
    buf_printf(out, "%*s", (int)(12 - (out->used - before)), "");
    if (lines[i].signal < 0) {
      entry_line(&t->entries[lines[i].piece], out);
      continue;
    }
    bool all = all_not_known(t, &lines[i], count - i);

    piece_line(place, t, &lines[i], all, out);
    i += all ? t->signal_count - 1 : 0;
  }
  free(lines);
}

/* ---- the sentences above them ---- */

static void span_if(struct buf *out, const char *before, double span_s, const char *after)
{
  if (!(span_s > 0))
    return;
  buf_puts(out, before);
  when_print_span(out, span_s);
  buf_puts(out, after);
}

static void sum_text(const struct past_summary *sum, struct buf *out)
{
  if (isnan(sum->raised_s)) {
    buf_puts(out, "No point says how far up its sash was.\n");
  } else if (sum->raised_count == 0) {
    buf_puts(out, "Its sash was not seen open.\n");
  } else {
    buf_puts(out, "Open for ");
    when_print_span(out, sum->raised_s);
    buf_printf(out, ", %d time%s", sum->raised_count, sum->raised_count == 1 ? "" : "s");
    span_if(out, "; of that with nobody there: ", sum->raised_nobody_s, "");
    span_if(out, "; not known whether anybody was there: ", sum->raised_presence_not_known_s, "");
    buf_puts(out, ".\n");
  }
  span_if(out, "Not known how far up it was: ", sum->sash_not_known_s, ".\n");
  if (sum->own_alarm_count > 0) {
    buf_printf(out, "Its own alarm was on %d time%s, ", sum->own_alarm_count,
               sum->own_alarm_count == 1 ? "" : "s");
    when_print_span(out, sum->own_alarm_s);
    buf_puts(out, " in all.\n");
  }
}

void past_timeline_text(const struct past_place *place, const struct past_timeline *timeline,
                        int most, struct buf *out)
{
  const struct facility_part *part = &place->facility->stations[timeline->station].part;
  struct buf what;

  buf_init(&what, 1000);
  buf_printf(&what, "%s %s: what happened", part->id, part->name ? part->name : "");
  past_head(place, what.text, &timeline->span, out);
  past_put_kept(place, timeline->span.from_ms, out);
  buf_release(&what);
  if (timeline->signal_count == 0)
    buf_puts(out, "\nThe feeds file has no point of this station: nothing was measured here.\n");
  else if (!timeline->any_known)
    buf_puts(out, "\nNOT KNOWN: nothing was measured here in this span.\n");
  else {
    buf_putc(out, '\n');
    sum_text(&timeline->sum, out);
  }
  lines_text(place, timeline, most, out);
}

/* ---- JSON ---- */

static void piece_json(struct emit *json, const struct past_signal *s, const struct feeds_point *p,
                       const struct past_piece *piece)
{
  emit_object(json, NULL);
  when_emit(json, "from", piece->from_ms);
  when_emit(json, "to", piece->to_ms);
  emit_bool(json, "known", piece->known);
  if (p->yes_no) {
    if (piece->known)
      emit_bool(json, "value", piece->high_si > 0.5);
    else
      emit_null(json, "value");
  } else {
    emit_number(json, "min_si", piece->low_si);
    emit_number(json, "max_si", piece->high_si);
  }
  if (s->tells_sash) {
    if (piece->known)
      emit_text(json, "sash", piece->raised ? "raised" : "parked");
    else
      emit_null(json, "sash");
  }
  emit_text(json, "why", piece->known ? NULL : piece->why);
  emit_close(json);
}

static void sum_json(struct emit *json, const struct past_summary *sum)
{
  emit_object(json, "sums");
  emit_number(json, "raised_s", sum->raised_s);
  emit_int(json, "raised_count", sum->raised_count);
  emit_number(json, "raised_nobody_s", sum->raised_nobody_s);
  emit_number(json, "raised_presence_not_known_s", sum->raised_presence_not_known_s);
  emit_number(json, "sash_not_known_s", sum->sash_not_known_s);
  emit_number(json, "own_alarm_s", sum->own_alarm_s);
  emit_int(json, "own_alarm_count", sum->own_alarm_count);
  emit_close(json);
}

static void entries_json(struct emit *json, const struct past_timeline *t)
{
  emit_array(json, "entries");
  for (int i = 0; i < t->entry_count; i++) {
    const struct record_entry *e = &t->entries[i];

    emit_object(json, NULL);
    emit_int(json, "number", e->number);
    when_emit(json, "time", e->t_ms);
    emit_text(json, "kind", record_kind_name(e->kind));
    emit_text(json, "who", e->who);
    emit_text(json, "text", e->text);
    emit_close(json);
  }
  emit_close(json);
}

void past_timeline_json(const struct past_place *place, const struct past_timeline *timeline,
                        struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.timeline.1");
  past_put_span(&json, place, &timeline->span);
  past_emit_kept(place, timeline->span.from_ms, &json);
  emit_text(&json, "station", place->facility->stations[timeline->station].part.id);
  sum_json(&json, &timeline->sum);
  emit_array(&json, "signals");
  for (int i = 0; i < timeline->signal_count; i++) {
    const struct past_signal *s = &timeline->signals[i];
    const struct feeds_point *p = &place->feeds->points[s->point];

    emit_object(&json, NULL);
    emit_text(&json, "point", p->part.id);
    emit_text(&json, "what", feeds_what_name(p->what));
    emit_text(&json, "unit", past_unit(p));
    emit_array(&json, "spans");
    for (int k = 0; k < s->count; k++)
      piece_json(&json, s, p, &s->list[k]);
    emit_close(&json);
    emit_close(&json);
  }
  emit_close(&json);
  entries_json(&json, timeline);
  emit_close(&json);
  emit_end(&json);
}
