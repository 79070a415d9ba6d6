/* One value over time: least, mean, greatest and how much of each row is known. */
#include "past/past_impl.h"

#include "units/units.h"

#include <math.h>
#include <string.h>

static const int64_t hour_ms = 3600 * 1000;

enum err_code past_plot_ask(const struct past_place *place, int point, const struct past_span *span,
                            int most, struct arena *arena, struct record_plot *out, struct err *err)
{
  int offset_s;

  (void)when_civil(place->zone, span->from_ms, &offset_s);
  *out = (struct record_plot){.point = point,
                              .from_ms = span->from_ms,
                              .to_ms = span->to_ms,
                              .most = most,
                              .list = ARENA_ARRAY(arena, struct record_bucket, (size_t)most + 1),
                              .as_of = span->known_ms != INT64_MAX,
                              .known_ms = span->known_ms,
                              /* days begin at midnight; the record counts in whole hours */
                              .origin_ms = -(int64_t)(offset_s / 3600) * hour_ms};
  if (!out->list)
    return err_set(err, ERR_LIMIT, "too many rows for one plot");
  return record_plot(place->record, out, err);
}

static double mean_si(const struct record_bucket *b)
{
  return b->good_s > 0 ? b->integral_si_s / b->good_s : b->last_si;
}

bool past_plot_known(const struct record_plot *plot)
{
  for (int i = 0; i < plot->count; i++)
    if (!isnan(plot->list[i].min_si))
      return true;
  return false;
}

/* ---- for people ---- */

struct totals {
  double least_si, most_si, mean_si, known_s;
  int least, most; /* rows */
};

/* How much of a row lies in the span that was asked for. */
static double asked_s(const struct record_plot *plot, int i)
{
  int64_t from_ms = plot->list[i].t_ms, to_ms = from_ms + llround(plot->width_s * 1000);

  from_ms = from_ms < plot->from_ms ? plot->from_ms : from_ms;
  to_ms = to_ms > plot->to_ms ? plot->to_ms : to_ms;
  return (double)(to_ms - from_ms) * 1e-3;
}

static struct totals add_up(const struct record_plot *plot)
{
  struct totals t = {.least = -1, .most = -1, .least_si = INFINITY, .most_si = -INFINITY};
  double integral_si_s = 0, good_s = 0;

  for (int i = 0; i < plot->count; i++) {
    const struct record_bucket *b = &plot->list[i];

    if (isnan(b->min_si))
      continue;
    if (b->min_si < t.least_si) {
      t.least_si = b->min_si;
      t.least = i;
    }
    if (b->max_si > t.most_si) {
      t.most_si = b->max_si;
      t.most = i;
    }
    t.known_s += fmin(b->good_s, asked_s(plot, i));
    good_s += b->good_s;
    integral_si_s += b->good_s > 0 ? b->integral_si_s : 0;
  }
  t.mean_si = good_s > 0 ? integral_si_s / good_s : (double)NAN;
  return t;
}

/* A number without its unit, which stands in the head of the table. */
static void put_number(const struct feeds_point *p, double si, struct buf *out)
{
  struct buf text;

  buf_init(&text, 100);
  if (p->yes_no)
    buf_printf(&text, "%.0f", si * 100);
  else
    past_put_value(p, si, &text);
  buf_printf(out, "%8.*s", (int)strcspn(text.text, " "), text.text);
  buf_release(&text);
}

static const char *shown_unit(const struct feeds_point *p, struct buf *room)
{
  const char *blank;

  if (p->yes_no)
    return "% yes";
  past_put_value(p, p->dimension == UNITS_TEMPERATURE ? 300 : 1, room);
  blank = strchr(room->text, ' ');
  return blank ? blank + 1 : "";
}

static void put_row_time(const struct past_place *place, const struct record_plot *plot, int i,
                         struct buf *out)
{
  static const char *const days[] = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
  int64_t t_ms = plot->list[i].t_ms;
  struct when_civil at = when_civil(place->zone, t_ms, NULL);
  bool new_day = i == 0 || !past_is_same_day(place->zone, plot->list[i - 1].t_ms, t_ms);
  bool by_day = plot->width_s >= 86400;
  size_t before = out->used;

  if (new_day || by_day)
    buf_printf(out, "%s %04d-%02d-%02d ", days[when_weekday(&at)], at.year, at.month, at.day);
  else
    buf_printf(out, "%15s", "");
  if (!by_day)
    buf_printf(out, "%02d:%02d", at.hour, at.minute);
  if (plot->width_s < 60)
    buf_printf(out, ":%02d", at.second);
  if (plot->width_s < 1)
    buf_printf(out, ".%03d", at.millisecond);
  buf_printf(out, "%*s", (int)(30 - (out->used - before)), "");
}

enum { BAR_WIDE = 32 };

static int place_in_bar(const struct totals *t, double si)
{
  double range_si = t->most_si - t->least_si;
  double at = range_si > 0 ? (si - t->least_si) / range_si * (BAR_WIDE - 1) : 0;

  return (int)lround(fmin(fmax(at, 0), BAR_WIDE - 1));
}

static void put_bar(const struct totals *t, const struct record_bucket *b, struct buf *out)
{
  char bar[BAR_WIDE + 1];
  int from = place_in_bar(t, b->min_si), to = place_in_bar(t, b->max_si);

  for (int i = 0; i < BAR_WIDE; i++)
    bar[i] = i >= from && i <= to ? '-' : ' ';
  bar[place_in_bar(t, mean_si(b))] = 'o';
  bar[BAR_WIDE] = '\0';
  buf_printf(out, "|%s|\n", bar);
}

static void put_share(double part_s, double whole_s, struct buf *out)
{
  double percent = fmin(100.0, 100.0 * part_s / whole_s);

  if (percent > 99.5 && percent < 100) /* not all of it */
    percent = 99;
  if (percent > 0 && percent < 0.5)
    buf_puts(out, "  <1 %");
  else
    buf_printf(out, "%4.0f %%", percent);
}

static void put_row(const struct past_place *place, const struct record_plot *plot,
                    const struct totals *t, int i, struct buf *out)
{
  const struct feeds_point *p = &place->feeds->points[plot->point];
  const struct record_bucket *b = &plot->list[i];

  put_row_time(place, plot, i, out);
  if (isnan(b->min_si)) {
    buf_printf(out, "%24s     0 %%  |%-*s|\n", "not known   ", BAR_WIDE, "");
    return;
  }
  put_number(p, b->min_si, out);
  put_number(p, mean_si(b), out);
  put_number(p, b->max_si, out);
  buf_puts(out, "  ");
  put_share(b->good_s, asked_s(plot, i), out);
  buf_puts(out, "  ");
  put_bar(t, b, out);
}

static void put_sentence(const struct past_place *place, const struct record_plot *plot,
                         const struct totals *t, const char *unit, struct buf *out)
{
  const struct feeds_point *p = &place->feeds->points[plot->point];

  buf_puts(out, "Known for");
  put_share(t->known_s, (double)(plot->to_ms - plot->from_ms) * 1e-3, out);
  buf_puts(out, " of it. ");
  if (p->yes_no) {
    buf_printf(out, "Yes for %.0f %% of that.", t->mean_si * 100);
  } else {
    struct buf number;

    buf_init(&number, 400);
    buf_puts(out, "Mean ");
    put_number(p, t->mean_si, &number);
    buf_printf(out, "%s %s, least", number.text + strspn(number.text, " "), unit);
    buf_clear(&number);
    put_number(p, t->least_si, &number);
    buf_printf(out, " %s, greatest", number.text + strspn(number.text, " "));
    buf_clear(&number);
    put_number(p, t->most_si, &number);
    buf_printf(out, " %s.", number.text + strspn(number.text, " "));
    buf_release(&number);
  }
  buf_puts(out, " A row is ");
  when_print_span(out, plot->width_s);
  buf_puts(out, plot->count > 1 ? "; o is the mean, - from least to greatest.\n\n" : ".\n\n");
}

/* The bars' own ends stand above them. */
static void put_table_head(const struct feeds_point *p, const struct totals *t, const char *unit,
                           struct buf *out)
{
  struct buf left, right;

  buf_init(&left, 100);
  buf_init(&right, 100);
  put_number(p, t->least_si, &left);
  put_number(p, t->most_si, &right);
  const char *low = left.text + strspn(left.text, " ");
  const char *high = right.text + strspn(right.text, " ");
  size_t used = strlen(low) + strlen(high);

  buf_printf(out, "%-30s%8s%8s%8s   known   %s%*s%s  %s\n", "from", "least", "mean", "most", low,
             used < BAR_WIDE ? BAR_WIDE - (int)used : 1, "", high, unit);
  buf_release(&left);
  buf_release(&right);
}

void past_plot_text(const struct past_place *place, const struct record_plot *plot, struct buf *out)
{
  const struct feeds_point *p = &place->feeds->points[plot->point];
  const struct past_span span = {plot->from_ms, plot->to_ms,
                                 plot->as_of ? plot->known_ms : INT64_MAX};
  const struct totals t = add_up(plot);
  struct buf what, about, room;

  buf_init(&what, 1000);
  buf_init(&about, 300);
  buf_init(&room, 100);
  const char *unit = shown_unit(p, &room);

  feeds_about(place->facility, p, &about);
  buf_printf(&what, "%s: %s of %s", p->part.id, feeds_what_name(p->what),
             about.used ? about.text : "the suite");
  if (p->of == FEEDS_OF_ROOM && p->what == FEEDS_PRESSURE)
    buf_printf(&what, " over %s", facility_node_id(place->facility, p->over));
  past_head(place, what.text, &span, out);
  past_put_kept(place, span.from_ms, out);
  if (t.least < 0) {
    buf_printf(out, "\nNOT KNOWN: nothing of this span %s.\n",
               past_kept_ms(place, span.from_ms) != INT64_MIN ? "is kept any more"
               : plot->as_of                                  ? "had come by then"
                                                              : "is in the record");
  } else {
    put_sentence(place, plot, &t, unit, out);
    put_table_head(p, &t, unit, out);
    for (int i = 0; i < plot->count; i++)
      put_row(place, plot, &t, i, out);
  }
  buf_release(&room);
  buf_release(&about);
  buf_release(&what);
}

/* ---- for programs ---- */

static void put_column(struct emit *json, const char *key, const struct record_plot *plot,
                       size_t offset)
{
  emit_array(json, key);
  for (int i = 0; i < plot->count; i++) {
    double value_si;

    memcpy(&value_si, (const char *)&plot->list[i] + offset, sizeof value_si);
    emit_number(json, NULL, value_si);
  }
  emit_close(json);
}

static void plot_object(struct emit *json, const struct feeds *feeds,
                        const struct record_plot *plot)
{
  const struct feeds_point *p = &feeds->points[plot->point];

  emit_object(json, NULL);
  emit_text(json, "schema", "inward.plot.1");
  emit_text(json, "point", p->part.id);
  emit_text(json, "what", feeds_what_name(p->what));
  emit_text(json, "unit", past_unit(p));
  emit_number(json, "width_s", plot->width_s);
  emit_array(json, "t_s");
  for (int i = 0; i < plot->count; i++)
    emit_number(json, NULL, (double)plot->list[i].t_ms * 1e-3);
  emit_close(json);
  put_column(json, "min_si", plot, offsetof(struct record_bucket, min_si));
  put_column(json, "max_si", plot, offsetof(struct record_bucket, max_si));
  emit_array(json, "mean_si");
  for (int i = 0; i < plot->count; i++)
    emit_number(json, NULL, plot->list[i].good_s > 0 ? mean_si(&plot->list[i]) : (double)NAN);
  emit_close(json);
  put_column(json, "good_s", plot, offsetof(struct record_bucket, good_s));
  emit_close(json);
}

void past_plot_json(const struct feeds *feeds, const struct record_plot *plot, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  plot_object(&json, feeds, plot);
  emit_end(&json);
}

void past_plots_json(const struct past_place *place, const struct past_span *span,
                     const struct record_plot *plots, int count, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.plots.1");
  past_put_span(&json, place, span);
  past_emit_kept(place, span->from_ms, &json);
  emit_array(&json, "plots");
  for (int i = 0; i < count; i++)
    plot_object(&json, place->feeds, &plots[i]);
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}
