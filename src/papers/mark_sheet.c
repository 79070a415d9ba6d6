#include "papers/papers_impl.h"

#include <math.h>

/* Widths of the columns as shares of the page's: mark, its words, station, for, sash mark. */
enum { MARK, WORDS, STATION, PURPOSE, SASH, COLUMNS };

static const struct {
  const char *head;
  double share_ratio;
} columns[COLUMNS] = {
    [MARK] = {"mark", 0.13},   [WORDS] = {"in words", 0.24}, [STATION] = {"only at station", 0.25},
    [PURPOSE] = {"for", 0.20}, [SASH] = {"sash mark", 0.18},
};

/* ---- faults ---- */

enum { LINES_MAX = 12 }; /* of one kind on the page; the rest is counted, and marked in the table */

struct sheet {
  const struct papers_request *request;
  struct draw *draw;
  bool *marked; /* per station: something is wrong with its mark */
  double size_pt;
};

static const struct likeness {
  enum papers_likeness likeness;
  bool fault;
  const char *words;
} likenesses[] = {
    {PAPERS_SAME, true, "its mark is that of"},
    {PAPERS_UNCERTAIN, true, "its mark cannot be told from that of"},
    {PAPERS_COLOUR_ONLY, false, "only the colour tells its mark from that of"}, /* the last */
};

enum { LIKENESSES = sizeof likenesses / sizeof likenesses[0] };

/* An earlier station it is like in this way, so that a pair is told once; -1: none. */
static int earlier(const struct sheet *s, int station, const struct likeness *row)
{
  int other = papers_marks_find(s->request->facility, station, row->likeness, 0);

  return other < station ? other : -1;
}

static void note_station(struct sheet *s, int station)
{
  const struct facility *f = s->request->facility;
  const struct facility_mark *mark = &f->stations[station].card.mark;
  const char *missing = papers_mark_missing(s->request, mark);

  if (!papers_mark_given(mark))
    papers_note(s->request, station, true, "it has no glass mark");
  else if (missing)
    papers_note(s->request, station, false, "of its glass mark, %s not stated", missing);
  s->marked[station] = !papers_mark_given(mark);
  for (int i = 0; i < LIKENESSES; i++) {
    const struct likeness *row = &likenesses[i];
    int other = earlier(s, station, row);

    s->marked[station] |= row->fault && papers_marks_find(f, station, row->likeness, 0) >= 0;
    if (other >= 0)
      papers_note(s->request, station, row->fault, "%s %s", row->words, f->stations[other].part.id);
  }
  if (!f->stations[station].has_openings)
    papers_note(s->request, station, false, "sash mark not stated");
}

static void say(struct sheet *s, bool bold, const char *words)
{
  draw_flow(s->draw,
            &(struct draw_text){
                .text = words, .from = "the list of faults", .size_pt = s->size_pt, .bold = bold});
}

static void say_missing(struct sheet *s)
{
  const struct facility *f = s->request->facility;
  struct buf list;

  buf_init(&list, 1 << 20);
  for (int i = 0; i < f->station_count; i++)
    if (!papers_mark_given(&f->stations[i].card.mark))
      buf_printf(&list, "%s %s", list.used ? "," : "No mark:", f->stations[i].part.id);
  if (list.used)
    say(s, false, papers_words(s->request, "%s", list.text));
  buf_release(&list);
}

static void say_alike(struct sheet *s, const struct likeness *row)
{
  const struct facility *f = s->request->facility;
  int count = 0;

  for (int i = 0; i < f->station_count; i++) {
    int other = earlier(s, i, row);

    if (other < 0)
      continue;
    count++;
    if (count <= LINES_MAX)
      say(s, false,
          papers_words(s->request, "%s: %s %s", f->stations[i].part.id, row->words,
                       f->stations[other].part.id));
  }
  if (count > LINES_MAX)
    say(s, false, papers_words(s->request, "and %d more like that", count - LINES_MAX));
}

/* Where lists know no more than colours, nearly all are in one such group: a line for each group. */
static void say_colour_only(struct sheet *s)
{
  const struct facility *f = s->request->facility;
  const struct likeness *row = &likenesses[LIKENESSES - 1];
  int count = 0;

  for (int first = 0; first < f->station_count; first++) {
    struct buf list;

    buf_init(&list, 1 << 20);
    for (int i = first + 1; i < f->station_count; i++)
      if (earlier(s, i, row) == first)
        buf_printf(&list, ", %s", f->stations[i].part.id);
    count += list.used > 0;
    if (list.used && count <= LINES_MAX)
      say(s, false,
          papers_words(s->request, "Only the colour tells these marks apart: %s%s",
                       f->stations[first].part.id, list.text));
    buf_release(&list);
  }
  if (count > LINES_MAX)
    say(s, false, papers_words(s->request, "and %d more groups like that", count - LINES_MAX));
}

static void say_faults(struct sheet *s)
{
  const struct papers_report *report = s->request->report;
  double before_mm = draw_y_mm(s->draw);

  if (report->fault_count > 0)
    say(s, true,
        papers_words(s->request, "%d fault%s: mend the marks before you rely on them",
                     report->fault_count, report->fault_count == 1 ? "" : "s"));
  say_missing(s);
  for (int i = 0; i < LIKENESSES - 1; i++)
    say_alike(s, &likenesses[i]);
  say_colour_only(s);
  if (draw_y_mm(s->draw) > before_mm)
    draw_skip(s->draw, 3);
}

/* ---- the table ---- */

static const char *sash_words(const struct papers_request *request,
                              const struct facility_station *s)
{
  return s->has_openings ? papers_height(request, s->work_m) : "not stated";
}

static const char *mark_words(const struct papers_request *request,
                              const struct facility_mark *mark)
{
  const char *missing = papers_mark_missing(request, mark);

  if (!papers_mark_given(mark))
    return "not stated";
  return missing ? papers_words(request, "%s\n(%s not stated)", papers_mark_words(request, mark),
                                missing)
                 : papers_mark_words(request, mark);
}

static void one_row(struct sheet *s, const struct draw_table *table, int station)
{
  const struct facility_station *of = &s->request->facility->stations[station];
  const char *cells[COLUMNS] = {
      [WORDS] = mark_words(s->request, &of->card.mark),
      [STATION] = papers_words(s->request, "%s  %s", of->part.id,
                               of->part.name == of->part.id ? "" : of->part.name),
      [PURPOSE] = of->card.chemistry ? of->card.chemistry : "not stated",
      [SASH] = sash_words(s->request, of),
  };
  const char *from = papers_from(s->request, station, "glass mark");
  struct draw_place row = draw_table_row(s->draw, table, cells, from, s->marked[station]);
  struct draw_mark mark = papers_mark_drawn(&of->card.mark, from);
  double side_mm = table->least_height_mm - 2 * table->pad_mm,
         wide_mm = draw_mark_width_mm(s->draw, &mark, side_mm),
         most_mm = table->columns[MARK].width_mm - table->pad_mm;

  if (wide_mm > most_mm)
    side_mm *= most_mm / wide_mm;
  draw_mark(s->draw, &mark,
            (struct draw_place){row.x_mm + table->pad_mm, row.y_mm + (row.height_mm - side_mm) / 2,
                                most_mm + 0.1, side_mm});
}

static void all_rows(struct sheet *s)
{
  double k = draw_scale_ratio(s->draw), width_mm = draw_area(s->draw).width_mm;
  struct draw_column drawn[COLUMNS];
  struct draw_table table = {.columns = drawn,
                             .column_count = COLUMNS,
                             .size_pt = 11.5 * k,
                             .head_size_pt = 10 * k,
                             .least_height_mm = 15 * k,
                             .pad_mm = 1.5 * k};

  for (int i = 0; i < COLUMNS; i++)
    drawn[i] = (struct draw_column){columns[i].head, columns[i].share_ratio * width_mm, DRAW_LEFT};
  draw_table_head(s->draw, &table);
  for (int i = 0; i < s->request->facility->station_count; i++)
    one_row(s, &table, i);
}

enum err_code papers_marks(const struct papers_request *request, struct buf *out, struct err *err)
{
  const struct facility *f = request->facility;
  struct sheet s = {.request = request, .draw = papers_open(request, "Glass marks", err)};
  struct draw_text heading = {.text = "Glass marks", .from = "a heading"},
                   rule = {.text = "A piece of glass or plastic goes only to the station of its "
                                   "mark. One without a mark, or with a mark that is not here: "
                                   "leave it and ask.",
                           .from = "a rule"};

  if (!s.draw)
    return err->code;
  s.marked = ARENA_ARRAY(request->report->arena, bool, (size_t)f->station_count + 1);
  BUG_IF(!s.marked);

  double k = draw_scale_ratio(s.draw);

  heading.size_pt = 30 * k;
  heading.bold = true;
  rule.size_pt = 12.5 * k;
  s.size_pt = 12.5 * k;
  for (int i = 0; i < f->station_count; i++)
    note_station(&s, i);
  draw_page(s.draw);
  draw_flow(s.draw, &heading);
  draw_flow(s.draw, &rule);
  draw_skip(s.draw, 4 * k);
  say_faults(&s);
  all_rows(&s);
  return papers_close(request, s.draw, out, err);
}
