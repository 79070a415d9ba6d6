#include "past/past_impl.h"

#include "units/units.h"

void past_put_span(struct emit *json, const struct past_place *place, const struct past_span *span)
{
  emit_text(json, "suite", place->facility->name);
  emit_text(json, "label", place->facility->label);
  emit_text(json, "zone", when_zone_name(place->zone));
  when_emit(json, "from", span->from_ms);
  when_emit(json, "to", span->to_ms);
  when_emit(json, "as_of", span->known_ms);
}

void past_head(const struct past_place *place, const char *what, const struct past_span *span,
               struct buf *out)
{
  const struct facility *f = place->facility;

  buf_printf(out, "%s%s%s%s   %s\n", f->name ? f->name : "(no name)", f->label ? "   [" : "",
             f->label ? f->label : "", f->label ? "]" : "", what);
  when_print(out, place->zone, span->from_ms);
  buf_puts(out, " to ");
  when_print(out, place->zone, span->to_ms);
  buf_puts(out, " (");
  when_print_span(out, (double)(span->to_ms - span->from_ms) * 1e-3);
  buf_puts(out, ")\n");
  if (span->known_ms == INT64_MAX)
    return;
  buf_puts(out, "as known at ");
  when_print(out, place->zone, span->known_ms);
  buf_putc(out, '\n');
}

/* A record that cannot be read is told by what reads the span itself. */
int64_t past_kept_ms(const struct past_place *place, int64_t from_ms)
{
  int64_t kept_ms = INT64_MIN;
  struct err err = {0};

  if (!place->record || record_kept(place->record, &kept_ms, &err) != ERR_OK)
    return INT64_MIN;
  return from_ms < kept_ms ? kept_ms : INT64_MIN;
}

void past_put_kept(const struct past_place *place, int64_t from_ms, struct buf *out)
{
  int64_t kept_ms = past_kept_ms(place, from_ms);

  if (kept_ms == INT64_MIN)
    return;
  buf_puts(out, "NOT KEPT ANY MORE: single values of before ");
  when_print(out, place->zone, kept_ms);
  buf_puts(
      out,
      ", as `record:` of the feeds file says; not known there does not say that nothing came.\n");
}

void past_emit_kept(const struct past_place *place, int64_t from_ms, struct emit *json)
{
  when_emit(json, "kept_from", past_kept_ms(place, from_ms));
}

void past_put_value(const struct feeds_point *point, double si, struct buf *out)
{
  if (point->yes_no)
    buf_puts(out, si != 0 ? "yes" : "no");
  else if (point->count || point->dimension == UNITS_RATIO)
    buf_printf(out, "%.6g", si);
  else
    units_print(out, si, point->dimension, UNITS_SYSTEM_SI);
}

void past_put_cell(const char *text, int wide, struct buf *out)
{
  int shown = 0;

  for (const char *at = text; *at; at++)
    shown += ((unsigned char)*at & 0xc0) != 0x80; /* a letter of UTF-8 begins */
  buf_printf(out, "%s%*s", text, shown < wide ? wide - shown : 1, "");
}

void past_put_clock(const struct when_zone *zone, int64_t t_ms, struct buf *out)
{
  struct when_civil at = when_civil(zone, t_ms, NULL);

  buf_printf(out, "%02d:%02d", at.hour, at.minute);
  if (at.second != 0)
    buf_printf(out, ":%02d", at.second);
}

void past_put_day(const struct when_zone *zone, int64_t t_ms, struct buf *out)
{
  static const char *const days[] = {"Monday", "Tuesday",  "Wednesday", "Thursday",
                                     "Friday", "Saturday", "Sunday"};
  int offset_s;
  struct when_civil at = when_civil(zone, t_ms, &offset_s);
  int minutes = (offset_s < 0 ? -offset_s : offset_s) / 60;

  buf_printf(out, "%04d-%02d-%02d, %s, %c%02d:%02d", at.year, at.month, at.day,
             days[when_weekday(&at)], offset_s < 0 ? '-' : '+', minutes / 60, minutes % 60);
}

bool past_is_same_day(const struct when_zone *zone, int64_t a_ms, int64_t b_ms)
{
  int a_s, b_s;
  struct when_civil a = when_civil(zone, a_ms, &a_s), b = when_civil(zone, b_ms, &b_s);

  return a.year == b.year && a.month == b.month && a.day == b.day && a_s == b_s;
}

const char *past_unit(const struct feeds_point *point)
{
  return point->yes_no || point->count ? "" : units_si_text(point->dimension);
}

void past_put_stretch(const struct past_place *place, int64_t from_ms, int64_t to_ms,
                      struct buf *out)
{
  when_print(out, place->zone, from_ms);
  buf_puts(out, " to ");
  if (past_is_same_day(place->zone, from_ms, to_ms))
    past_put_clock(place->zone, to_ms, out);
  else
    when_print(out, place->zone, to_ms);
  buf_puts(out, " (");
  when_print_span(out, (double)(to_ms - from_ms) * 1e-3);
  buf_putc(out, ')');
}
