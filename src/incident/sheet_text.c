/* The sheet of one incident, for people. */
#include "incident/incident_impl.h"

#include "units/units.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

enum { OF_WIDE = 29, VALUE_WIDE = 13 };

const char *incident_said(const struct incident_sheet *sheet, const char *key)
{
  const struct incident_form *form = incident_form(sheet->what.kind);
  int field = incident_field_find(form, key);
  const char *said = field >= 0 ? sheet->what.values[field] : NULL;

  for (int i = 0; field >= 0 && i < sheet->more_count; i++)
    if (sheet->more[i].what.kind == sheet->what.kind && sheet->more[i].what.values[field])
      said = sheet->more[i].what.values[field];
  return said;
}

static enum units_dimension dimension_of(const char *what)
{
  static const struct {
    enum feeds_what what;
    enum units_dimension dimension;
  } rows[] = {{FEEDS_OPENING, UNITS_LENGTH},         {FEEDS_FLOW, UNITS_FLOW},
              {FEEDS_FACE_VELOCITY, UNITS_VELOCITY}, {FEEDS_PRESSURE, UNITS_PRESSURE_DIFFERENCE},
              {FEEDS_COVERED, UNITS_SHARE},          {FEEDS_SPEED, UNITS_SHARE}};

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
    if (strcmp(feeds_what_name(rows[i].what), what) == 0)
      return rows[i].dimension;
  return UNITS_RATIO;
}

void incident_put_value(const struct incident_point *point, double si, struct buf *out)
{
  enum units_dimension dimension = dimension_of(point->what);

  if (!isfinite(si))
    buf_puts(out, "not known");
  else if (strcmp(point->unit, "yes_no") == 0)
    buf_puts(out, si > 0.5 ? "yes" : "no");
  else if (strcmp(point->unit, "count") == 0 || dimension == UNITS_RATIO)
    buf_printf(out, "%.4g", si);
  else
    units_print(out, si, dimension, UNITS_SYSTEM_SI);
}

void incident_put_moment(const struct when_zone *zone, int64_t t_ms, struct buf *out)
{
  when_print(out, zone, t_ms);
  buf_puts(out, " (UTC ");
  when_print(out, when_utc(), t_ms);
  while (out->used > 0 && out->text[out->used - 1] != ' ')
    out->used--;
  out->text[--out->used] = '\0'; /* UTC needs no offset */
  buf_putc(out, ')');
}

/* ---- the parts of the sheet ---- */

static void put_head(const struct incident_sheet *s, struct buf *out)
{
  const struct facility *f = s->facility;
  const struct incident_form *form = incident_form(s->what.kind);

  buf_printf(out, "%s%s%s%s   entry %" PRId64 ": %s\n", f->name ? f->name : "(no name)",
             f->label ? "   [" : "", f->label ? f->label : "", f->label ? "]" : "", s->number,
             form->title);
  if (s->station >= 0)
    buf_printf(out, "at %s (%s), %s\n", s->about, f->stations[s->station].part.name,
               facility_node_id(f, f->stations[s->station].room));
  else
    buf_printf(out, "at %s\n", *s->about ? s->about : "no place said");
  buf_puts(out, s->at_said ? "it was   " : "it was   not said; told ");
  incident_put_moment(s->zone, s->t_ms, out);
  buf_puts(out, "\ntold     ");
  incident_put_moment(s->zone, s->told_ms, out);
  buf_printf(out, ", by %s\n", s->who);
}

static void put_first(const struct incident_sheet *s, struct buf *out)
{
  const struct incident_form *form = incident_form(s->what.kind);

  buf_putc(out, '\n');
  for (int i = 0; i < INCIDENT_FIRST_MOST && form->first[i]; i++) {
    incident_put_first(form->first[i], s->facility, s->station, out);
    buf_putc(out, '\n');
  }
}

/* No entry speaks to the terminal. */
static void put_lines(const char *text, struct buf *out)
{
  buf_puts(out, "  ");
  for (; *text; text++)
    if (*text == '\n')
      buf_puts(out, "\n  ");
    else
      buf_putc(out, (unsigned char)*text < 0x20 || *text == 0x7f ? '?' : *text);
  buf_putc(out, '\n');
}

static void put_told(const struct incident_sheet *s, struct buf *out)
{
  const struct incident_form *form = incident_form(s->what.kind);
  bool open = false;

  buf_puts(out, "\ntold:\n");
  put_lines(s->text, out);
  for (int i = 0; i < s->more_count; i++) {
    buf_printf(out, "entry %" PRId64 ", ", s->more[i].number);
    when_print(out, s->zone, s->more[i].told_ms);
    buf_printf(out, ", by %s:\n", s->more[i].who);
    put_lines(s->more[i].text, out);
  }
  for (int i = 0; i < form->field_count; i++)
    if (form->fields[i].next) {
      const char *said = incident_said(s, form->fields[i].key);

      if (!open)
        buf_printf(out, "\n%s\n", form->next ? form->next : "Afterwards:");
      open = true;
      buf_printf(out, "  %s %s\n", form->fields[i].ask, said ? said : "not said");
    }
}

static void put_near(const struct incident_sheet *s, struct buf *out)
{
  if (s->withdrawn_number > 0)
    buf_printf(out, "\n%s was withdrawn then (entry %" PRId64 ").\n", s->about,
               s->withdrawn_number);
  if (s->near_count == 0)
    return;
  buf_puts(
      out,
      "\nnearest stations, those of the same room first (the suite file has no distances):\n ");
  for (int i = 0; i < s->near_count; i++)
    buf_printf(out, " %s", s->facility->stations[s->near[i]].part.id);
  buf_putc(out, '\n');
}

/* ---- what was measured ---- */

static void put_cell(const char *text, int wide, struct buf *out)
{
  int shown = 0;

  for (const char *at = text; *at; at++)
    shown += ((unsigned char)*at & 0xc0) != 0x80;
  buf_printf(out, "%s%*s", text, shown < wide ? wide - shown : 1, "");
}

static void put_number(const struct incident_point *p, double si, struct buf *out)
{
  struct buf cell;

  buf_init(&cell, 64);
  incident_put_value(p, si, &cell);
  put_cell(cell.text, VALUE_WIDE, out);
  buf_release(&cell);
}

static void put_clock(const struct when_zone *zone, int64_t t_ms, struct buf *out)
{
  struct when_civil at = when_civil(zone, t_ms, NULL);

  buf_printf(out, "%02d:%02d:%02d", at.hour, at.minute, at.second);
}

static int64_t at_ms(const struct incident_sheet *s, double after_s)
{
  return s->frozen->t_ms + llround(after_s * 1000);
}

static void put_turns(const struct incident_sheet *s, const struct incident_point *p,
                      struct buf *out)
{
  for (int i = 0; i < p->turn_count; i++) {
    buf_puts(out, "    ");
    put_clock(s->zone, at_ms(s, p->turns[i].at_s), out);
    buf_puts(out, "  ");
    incident_put_value(p, p->turns[i].si, out);
    buf_putc(out, '\n');
  }
  if (p->turns_more > 0)
    buf_printf(out, "    and %d more, left out\n", p->turns_more);
  for (int i = 0; i < p->gap_count; i++) {
    buf_puts(out, "    ");
    put_clock(s->zone, at_ms(s, p->gaps[i].from_s), out);
    buf_puts(out, " to ");
    put_clock(s->zone, at_ms(s, p->gaps[i].to_s), out);
    buf_puts(out, "  not known\n");
  }
  if (p->gaps_more > 0)
    buf_printf(out, "    and %d more stretches not known, left out\n", p->gaps_more);
}

static bool is_steady(const struct incident_point *p)
{
  return p->turn_count + p->turns_more + p->gap_count == 0;
}

static void put_point(const struct incident_sheet *s, const struct incident_point *p,
                      struct buf *out)
{
  struct buf name;

  buf_init(&name, 200);
  buf_printf(&name, "%s %s%s%s", *p->of ? p->of : "suite", p->what, p->over ? " over " : "",
             p->over ? p->over : "");
  put_cell(name.text, OF_WIDE, out);
  buf_release(&name);
  if (!isfinite(p->least_si)) {
    buf_puts(out, "nothing is known of it\n");
    return;
  }
  put_number(p, p->first_si, out);
  put_number(p, p->then_si, out);
  put_number(p, p->last_si, out);
  put_number(p, p->least_si, out);
  put_number(p, p->greatest_si, out);
  if (!is_steady(p))
    buf_puts(out, "turned:");
  buf_trim_end(out);
  buf_putc(out, '\n');
  put_turns(s, p, out);
}

static void put_frozen(const struct incident_sheet *s, struct buf *out)
{
  const struct incident_frozen *z = s->frozen;

  if (!z) {
    buf_puts(out, "\nNothing was measured around it that this record holds.\n");
    return;
  }
  buf_puts(out, "\nmeasured ");
  when_print(out, s->zone, z->from_ms);
  buf_puts(out, " to ");
  put_clock(s->zone, z->to_ms, out);
  if (s->source == INCIDENT_ENTRY)
    buf_printf(out, ", as kept in entry %" PRId64, s->frozen_number);
  else
    buf_puts(out, ", from the samples");
  if (s->waits)
    buf_puts(out, "; its time is not over");
  buf_puts(out, "\nchanges smaller than two resolutions and a tenth are no turn\n");
  put_cell("", OF_WIDE, out);
  static const char *const heads[] = {"before", "then", "after", "least", "greatest"};
  for (size_t i = 0; i < sizeof heads / sizeof *heads; i++)
    put_cell(heads[i], VALUE_WIDE, out);
  buf_trim_end(out);
  buf_putc(out, '\n');
  for (int i = 0; i < z->point_count; i++)
    put_point(s, &z->points[i], out);
  if (z->points_left_out > 0)
    buf_printf(out, "%d points farther away did not fit and are left out\n", z->points_left_out);
}

static void put_events(const struct incident_sheet *s, struct buf *out)
{
  if (s->event_count == 0)
    return;
  buf_puts(out, "\nalso written down of that time:\n");
  for (int i = 0; i < s->event_count; i++) {
    const struct incident_event *e = &s->events[i];
    size_t line = strcspn(e->text, "\n");

    put_clock(s->zone, e->t_ms, out);
    buf_printf(out, "  %s%s%s: ", e->kind, *e->about ? " " : "", e->about);
    for (size_t c = 0; c < line; c++)
      buf_putc(out, (unsigned char)e->text[c] < 0x20 ? '?' : e->text[c]);
    buf_printf(out, " (entry %" PRId64 ")\n", e->number);
  }
}

/* ---- who could know of a beaker: for staff ---- */

static void put_used(const struct incident_sheet *s, const struct incident_used *u, struct buf *out)
{
  buf_printf(out, "%s, ", s->facility->stations[u->station].part.id);
  if (u->round_number > 0)
    buf_printf(out, "since the round of entry %" PRId64 ", ", u->round_number);
  else
    buf_puts(out, "no round is told; looked back to ");
  when_print(out, s->zone, u->from_ms);
  buf_puts(out, u->measured ? "\n" : ": nothing tells its use\n");
  for (int i = 0; i < u->use_count; i++) {
    buf_puts(out, "    ");
    when_print(out, s->zone, u->uses[i].from_ms);
    buf_puts(out, " to ");
    when_print(out, s->zone, u->uses[i].to_ms);
    buf_printf(out, "  %s\n", u->uses[i].what);
  }
  if (u->measured && u->use_count == 0)
    buf_puts(out, "    no use was seen, and nothing was missing\n");
}

static void put_staff(const struct incident_sheet *s, bool staff, struct buf *out)
{
  if (s->what.kind != INCIDENT_BEAKER)
    return;
  if (!staff) {
    buf_puts(out, "\nWhich stations were used since the last round is for staff only: inward past "
                  "SUITE --record FILE --sheet N\n");
    return;
  }
  buf_puts(out, "\nSTAFF ONLY: which stations were used since each was last known clear. Times of "
                "sashes and presence, and no names: it does not tell whose it is.\n");
  for (int i = 0; i < s->used_count; i++)
    put_used(s, &s->used[i], out);
}

void incident_sheet_text(const struct incident_sheet *sheet, bool staff, struct buf *out)
{
  put_head(sheet, out);
  put_first(sheet, out);
  put_told(sheet, out);
  put_near(sheet, out);
  put_staff(sheet, staff, out);
  put_frozen(sheet, out);
  put_events(sheet, out);
}
