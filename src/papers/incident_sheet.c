/* The sheet of an incident: what was told, what was measured; of an exposure a page for the doctor. */
#include "papers/papers_impl.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

enum { COLUMNS = 6 };
static const double smallest_ratio = 0.4; /* of the usual size: 6 points */

struct sheet_page {
  const struct papers_request *request;
  struct draw *draw;
  const struct incident_sheet *sheet;
  const char *from;
  double size_ratio; /* 1, or smaller where an exposure must fit its one page */
};

static void say(struct sheet_page *p, double size_pt, bool bold, const char *text)
{
  draw_flow(p->draw,
            &(struct draw_text){.text = text,
                                .from = p->from,
                                .size_pt = size_pt * p->size_ratio * draw_scale_ratio(p->draw),
                                .bold = bold});
}

static void gap(struct sheet_page *p, double height_mm)
{
  draw_skip(p->draw, height_mm * p->size_ratio * draw_scale_ratio(p->draw));
}

static const char *moment(struct sheet_page *p, int64_t t_ms)
{
  struct buf out;

  buf_init(&out, 100);
  incident_put_moment(p->sheet->zone, t_ms, &out);

  const char *words = papers_words(p->request, "%s", out.text);

  buf_release(&out);
  return words;
}

static void first(struct sheet_page *p, double size_pt)
{
  const struct incident_form *form = incident_form(p->sheet->what.kind);

  for (int i = 0; i < INCIDENT_FIRST_MOST && form->first[i]; i++) {
    struct buf line;

    buf_init(&line, 4096);
    incident_put_first(form->first[i], p->sheet->facility, p->sheet->station, &line);
    say(p, size_pt, true, papers_words(p->request, "%s", line.text));
    buf_release(&line);
  }
}

static const char *place(struct sheet_page *p)
{
  const struct incident_sheet *s = p->sheet;
  const struct facility *f = s->facility;

  if (s->station >= 0)
    return papers_words(p->request, "%s (%s), %s", s->about, f->stations[s->station].part.name,
                        facility_node_id(f, f->stations[s->station].room));
  return *s->about ? s->about : "no place said";
}

/* ---- for the doctor ---- */

/* A line to write on where nothing was said. */
static void answer(struct sheet_page *p, const char *ask, const char *said)
{
  double scale = p->size_ratio * draw_scale_ratio(p->draw);

  gap(p, 2.5);
  say(p, 10, false, ask);
  if (said) {
    say(p, 15, true, said);
    return;
  }
  draw_need(p->draw, 9 * scale);
  draw_skip(p->draw, 8 * scale);

  struct draw_place area = draw_area(p->draw);
  double y_mm = draw_y_mm(p->draw);

  draw_line(p->draw, (struct draw_point){area.x_mm, y_mm},
            (struct draw_point){area.x_mm + area.width_mm, y_mm},
            &(struct draw_look){.line_mm = 0.3, .line = DRAW_GREY, .dashed = true});
  draw_skip(p->draw, 1 * scale);
}

static void exposure(struct sheet_page *p)
{
  const struct incident_sheet *s = p->sheet;
  const char *chemistry = s->station >= 0 ? s->facility->stations[s->station].card.chemistry : NULL;
  const struct incident_form *form = incident_form(INCIDENT_EXPOSURE);

  say(p, 22, true, "Exposure: for the doctor");
  first(p, 11);
  gap(p, 2);
  say(p, 9, false,
      "In the words of who told it; nothing here was judged or computed. What is blank was not said.");
  answer(p, "Minute of contact: local time (UTC)", s->at_said ? moment(p, s->t_ms) : NULL);
  answer(p, "Told: local time (UTC), by",
         papers_words(p->request, "%s, by %s", moment(p, s->told_ms), s->who));
  answer(p, "Where", place(p));
  for (int i = 0; i < form->field_count; i++)
    answer(p, form->fields[i].ask, incident_said(s, form->fields[i].key));
  if (s->station >= 0)
    answer(p, "What the suite file lists for this station",
           chemistry ? chemistry : "not stated there");
  answer(p, "Data sheet, and who brings it", NULL);
}

/* ---- the others ---- */

static void told(struct sheet_page *p)
{
  const struct incident_sheet *s = p->sheet;
  const struct incident_form *form = incident_form(s->what.kind);
  bool open = false;

  gap(p, 3);
  say(p, 11, true, "Told");
  say(p, 10, false, s->text);
  for (int i = 0; i < s->more_count; i++)
    say(p, 10, false,
        papers_words(p->request, "entry %" PRId64 ", %s, by %s: %s", s->more[i].number,
                     moment(p, s->more[i].told_ms), s->more[i].who, s->more[i].text));
  for (int i = 0; i < form->field_count; i++) {
    if (!form->fields[i].next)
      continue;
    if (!open) {
      gap(p, 3);
      say(p, 12, true, form->next ? form->next : "Afterwards");
    }
    open = true;
    answer(p, form->fields[i].ask, incident_said(s, form->fields[i].key));
  }
}

static void near(struct sheet_page *p)
{
  const struct incident_sheet *s = p->sheet;
  struct buf ids;

  if (s->withdrawn_number > 0)
    say(p, 10, true,
        papers_words(p->request, "%s was withdrawn then (entry %" PRId64 ").", s->about,
                     s->withdrawn_number));
  if (s->near_count == 0)
    return;
  gap(p, 3);
  say(p, 11, true, "Nearest stations");
  buf_init(&ids, 32 << 10);
  for (int i = 0; i < s->near_count; i++)
    buf_printf(&ids, "%s%s", i ? ", " : "", s->facility->stations[s->near[i]].part.id);
  say(p, 10, false,
      papers_words(p->request, "%s. Those of the same room first; the suite file has no distances.",
                   ids.text));
  buf_release(&ids);
}

static const char *value(struct sheet_page *p, const struct incident_point *point, double si)
{
  struct buf out;

  buf_init(&out, 64);
  incident_put_value(point, si, &out);

  const char *words = papers_words(p->request, "%s", out.text);

  buf_release(&out);
  return words;
}

static const char *clock_words(struct sheet_page *p, double after_s)
{
  struct when_civil at =
      when_civil(p->sheet->zone, p->sheet->frozen->t_ms + llround(after_s * 1000), NULL);

  return papers_words(p->request, "%02d:%02d:%02d", at.hour, at.minute, at.second);
}

/* "14:10:00 0.45 m; 14:20:00 to 14:31:00 not known" */
static const char *turned(struct sheet_page *p, const struct incident_point *point)
{
  struct buf out;

  buf_init(&out, 8192);
  for (int i = 0; i < point->turn_count; i++)
    buf_printf(&out, "%s%s %s", out.used ? "; " : "", clock_words(p, point->turns[i].at_s),
               value(p, point, point->turns[i].si));
  if (point->turns_more > 0)
    buf_printf(&out, "; and %d more turns", point->turns_more);
  for (int i = 0; i < point->gap_count; i++)
    buf_printf(&out, "%s%s to %s not known", out.used ? "; " : "",
               clock_words(p, point->gaps[i].from_s), clock_words(p, point->gaps[i].to_s));
  if (point->gaps_more > 0)
    buf_printf(&out, "; and %d more stretches not known", point->gaps_more);

  const char *words = papers_words(p->request, "%s", out.text);

  buf_release(&out);
  return words;
}

static const char *between(struct sheet_page *p, const struct incident_point *point)
{
  const char *least = value(p, point, point->least_si);
  const char *greatest = value(p, point, point->greatest_si);

  return strcmp(least, greatest) == 0 ? least : papers_words(p->request, "%s\n%s", least, greatest);
}

static void measured_rows(struct sheet_page *p)
{
  static const double shares_ratio[COLUMNS] = {0.22, 0.12, 0.12, 0.12, 0.12, 0.30};
  static const char *const heads[COLUMNS] = {"",      "before",           "then",
                                             "after", "least / greatest", "turned"};
  const struct incident_frozen *z = p->sheet->frozen;
  double scale = draw_scale_ratio(p->draw);
  struct draw_column columns[COLUMNS];
  const struct draw_table table = {.columns = columns,
                                   .column_count = COLUMNS,
                                   .size_pt = 8 * scale,
                                   .head_size_pt = 7 * scale,
                                   .least_height_mm = 4.5 * scale,
                                   .pad_mm = 0.6};

  for (int i = 0; i < COLUMNS; i++)
    columns[i] =
        (struct draw_column){heads[i], draw_area(p->draw).width_mm * shares_ratio[i], DRAW_LEFT};
  draw_table_head(p->draw, &table);
  for (int i = 0; i < z->point_count; i++) {
    const struct incident_point *point = &z->points[i];
    const char *cells[COLUMNS] = {
        papers_words(p->request, "%s %s%s%s", *point->of ? point->of : "suite", point->what,
                     point->over ? " over " : "", point->over ? point->over : ""),
        value(p, point, point->first_si),
        value(p, point, point->then_si),
        value(p, point, point->last_si),
        between(p, point),
        turned(p, point)};

    draw_table_row(p->draw, &table, cells, p->from, point->turn_count > 0);
  }
  if (z->points_left_out > 0)
    say(p, 9, false,
        papers_words(p->request, "%d points farther away did not fit the record's entry.",
                     z->points_left_out));
}

static void measured(struct sheet_page *p)
{
  const struct incident_sheet *s = p->sheet;

  gap(p, 4);
  if (!s->frozen) {
    say(p, 11, true, "Nothing was measured around it that this record holds.");
    return;
  }
  say(p, 11, true,
      papers_words(p->request, "Measured %s to %s%s",
                   clock_words(p, (double)(s->frozen->from_ms - s->frozen->t_ms) * 1e-3),
                   clock_words(p, (double)(s->frozen->to_ms - s->frozen->t_ms) * 1e-3),
                   s->waits ? "; its time is not over" : ""));
  say(p, 8, false,
      s->source == INCIDENT_ENTRY
          ? papers_words(p->request, "As kept in entry %" PRId64 " of the record.",
                         s->frozen_number)
          : "From the record's samples.");
  measured_rows(p);
}

static void used(struct sheet_page *p)
{
  const struct incident_sheet *s = p->sheet;
  static const double shares_ratio[] = {0.14, 0.30, 0.56};
  static const char *const heads[] = {"station", "looked at from", "use until it was found"};
  double scale = draw_scale_ratio(p->draw);
  struct draw_column columns[3];
  const struct draw_table table = {.columns = columns,
                                   .column_count = 3,
                                   .size_pt = 9 * scale,
                                   .head_size_pt = 8 * scale,
                                   .least_height_mm = 6 * scale,
                                   .pad_mm = 0.8};

  gap(p, 4);
  say(p, 14, true, "STAFF ONLY: which stations were used since each was last known clear");
  say(p, 9, false, "Times of sashes and presence, and no names: it does not tell whose it is.");
  for (int i = 0; i < 3; i++)
    columns[i] =
        (struct draw_column){heads[i], draw_area(p->draw).width_mm * shares_ratio[i], DRAW_LEFT};
  draw_table_head(p->draw, &table);
  for (int i = 0; i < s->used_count; i++) {
    const struct incident_used *u = &s->used[i];
    struct buf uses;

    buf_init(&uses, 64 << 10);
    for (int k = 0; k < u->use_count; k++) {
      buf_puts(&uses, k ? "\n" : "");
      when_print(&uses, s->zone, u->uses[k].from_ms);
      buf_puts(&uses, " to ");
      when_print(&uses, s->zone, u->uses[k].to_ms);
      buf_printf(&uses, "\n   %s", u->uses[k].what);
    }
    const char *cells[] = {
        s->facility->stations[u->station].part.id,
        papers_words(p->request, "%s\n%s", moment(p, u->from_ms),
                     u->round_number > 0
                         ? papers_words(p->request, "round, entry %" PRId64, u->round_number)
                         : "no round is told"),
        u->use_count > 0 ? papers_words(p->request, "%s", uses.text)
        : u->measured    ? "no use was seen, and nothing was missing"
                         : "nothing tells its use"};

    buf_release(&uses);
    draw_table_row(p->draw, &table, cells, p->from, false);
  }
}

static void sheet(struct sheet_page *p)
{
  const struct incident_sheet *s = p->sheet;

  say(p, 22, true, incident_form(s->what.kind)->title);
  say(p, 14, true, place(p));
  say(p, 11, false,
      papers_words(p->request, "%s%s", s->at_said ? "It was " : "When it was is not said; told ",
                   moment(p, s->t_ms)));
  say(p, 11, false,
      papers_words(p->request, "Written down %s, by %s", moment(p, s->told_ms), s->who));
  gap(p, 3);
  first(p, 13);
  told(p);
  near(p);
  if (s->what.kind == INCIDENT_BEAKER)
    used(p);
  measured(p);
}

enum err_code papers_incident(const struct papers_request *request,
                              const struct incident_sheet *incident, struct buf *out,
                              struct err *err)
{
  struct sheet_page p = {.request = request,
                         .sheet = incident,
                         .from = papers_words(request, "entry %" PRId64, incident->number),
                         .size_ratio = 1};

  for (;;) {
    p.draw = papers_open(request, papers_words(request, "Entry %" PRId64, incident->number), err);
    if (!p.draw)
      return err->code;
    draw_page(p.draw);
    if (incident->what.kind != INCIDENT_EXPOSURE) {
      sheet(&p);
      break;
    }
    exposure(&p);
    if (draw_page_count(p.draw) == 1 || p.size_ratio < smallest_ratio)
      break;
    draw_free(p.draw); /* once more, smaller: a doctor gets one page */
    p.size_ratio *= 0.85;
  }
  return papers_close(request, p.draw, out, err);
}
