/* Who may work together, for a wall; and a card for each part that can be lost. */
#include "papers/papers_impl.h"

#include <string.h>

struct page {
  const struct papers_request *request;
  const struct papers_together *sheet;
  const struct together_answer *answer;
  struct draw *draw;
  double scale;
  const char *from;
};

static void say(struct page *p, double size_pt, bool bold, const char *text)
{
  draw_flow(p->draw, &(struct draw_text){.text = papers_words(p->request, "%s", text),
                                         .from = p->from,
                                         .size_pt = size_pt * p->scale,
                                         .bold = bold});
}

static void heading(struct page *p, const char *text)
{
  draw_skip(p->draw, 3 * p->scale);
  draw_need(p->draw, 18 * p->scale);
  say(p, 11, true, text);
}

static const char *ids(struct page *p, uint32_t set)
{
  return together_ids(p->answer, set, p->request->report->arena);
}

/* What makes a sheet void, and until when it holds. */
static void say_validity(struct page *p)
{
  const struct facility *f = p->request->facility;

  draw_skip(p->draw, 3 * p->scale);
  say(p, 9, true,
      papers_words(
          p->request,
          "Suite revision %.12s. Date: %s. Expires: %s. Void after any change of fan, damper, "
          "filter or balance.",
          f->sha256, p->request->date ? p->request->date : "____________",
          p->sheet->expires ? p->sheet->expires : "____________"));
}

/* ---- the chart: how many may be open, over what is lost ---- */

struct bar {
  const char *what;
  const struct together_sets *sets;
  bool this_one;
};

struct chart {
  struct page *p;
  double left_mm, cell_mm, row_mm, words_mm;
};

static void put_words(struct chart *c, const char *text, struct draw_place place, bool bold)
{
  place.height_mm = 0;
  draw_text(c->p->draw,
            &(struct draw_text){
                .text = text, .from = c->p->from, .size_pt = 8 * c->p->scale, .bold = bold},
            place);
}

static int any_of(const struct together_sets *s)
{
  return s->nothing || !s->known ? 0 : s->any[s->sure];
}

/* Full: any so many. Outlined: only if they are the right ones. */
static void put_cells(struct chart *c, const struct together_sets *s, double y_mm)
{
  int any = any_of(s), best = s->nothing || !s->known ? 0 : s->best[s->sure];
  double size = 0.62 * c->row_mm;

  for (int i = 0; i < c->p->answer->count; i++) {
    const struct draw_place cell = {c->left_mm + i * c->cell_mm, y_mm + 0.12 * c->row_mm,
                                    0.62 * c->cell_mm, size};
    const struct draw_look full = {.filled = true, .fill = DRAW_BLACK};
    const struct draw_look some = {.line_mm = 0.2, .line = DRAW_GREY};
    const struct draw_look none = {.filled = true, .fill = DRAW_PALE};

    draw_box(c->p->draw, cell, i < any ? &full : i < best ? &some : &none);
  }
}

/* The staircase along the ends of the full cells. */
static void put_stair(struct chart *c, double from_y_mm, int before, int now)
{
  const struct draw_look line = {.line_mm = 0.5, .line = DRAW_BLACK};
  double x0 = c->left_mm + before * c->cell_mm - 0.19 * c->cell_mm;
  double x1 = c->left_mm + now * c->cell_mm - 0.19 * c->cell_mm;

  draw_line(c->p->draw, (struct draw_point){x0, from_y_mm}, (struct draw_point){x1, from_y_mm},
            &line);
  draw_line(c->p->draw, (struct draw_point){x1, from_y_mm},
            (struct draw_point){x1, from_y_mm + c->row_mm}, &line);
}

static void put_bar(struct chart *c, const struct bar *bar, int before)
{
  struct draw_place area = draw_area(c->p->draw);
  const struct together_sets *s = bar->sets;
  double y = draw_y_mm(c->p->draw);

  put_words(c, papers_words(c->p->request, "%s%s", bar->this_one ? "▶ " : "", bar->what),
            (struct draw_place){area.x_mm, y, c->words_mm, 0}, bar->this_one);
  put_cells(c, s, y);
  put_stair(c, y, before, any_of(s));
  put_words(c,
            s->nothing || !s->known ? "none"
                                    : papers_words(c->p->request, "any %d; at best %d",
                                                   s->any[s->sure], s->best[s->sure]),
            (struct draw_place){c->left_mm + c->p->answer->count * c->cell_mm + 1, y,
                                32 * c->p->scale, 0},
            bar->this_one);
  draw_skip(c->p->draw, c->row_mm);
}

/* What takes least away first, so that the staircase only goes down. */
static const struct together_lost **in_order(struct page *p)
{
  const struct together_answer *a = p->answer;
  const struct together_lost **list = ARENA_ARRAY(
      p->request->report->arena, const struct together_lost *, (size_t)a->lost_count + 1);

  BUG_IF(!list);
  for (int i = 0; i < a->lost_count; i++) {
    int at = i;

    for (; at > 0 && any_of(&list[at - 1]->sets) < any_of(&a->lost[i].sets); at--)
      list[at] = list[at - 1];
    list[at] = &a->lost[i];
  }
  return list;
}

static void put_chart(struct page *p, const struct together_lost *this_one)
{
  const struct together_answer *a = p->answer;
  struct draw_place area = draw_area(p->draw);
  const struct together_lost **order = in_order(p);
  struct chart c = {.p = p, .row_mm = 4.6 * p->scale, .words_mm = 0.40 * area.width_mm};
  int before;

  c.left_mm = area.x_mm + c.words_mm + 2;
  c.cell_mm = (0.60 * area.width_mm - 34 * p->scale) / (a->count > 0 ? a->count : 1);
  heading(p, "How many stations may be open, and what is lost");
  draw_need(p->draw, (a->lost_count + 2) * c.row_mm);
  before = any_of(&a->sets);
  put_bar(&c, &(struct bar){"nothing lost", &a->sets, false}, before);
  for (int i = 0; i < a->lost_count; i++) {
    const struct together_lost *lost = order[i];

    put_bar(&c, &(struct bar){lost->what, &lost->sets, lost == this_one}, before);
    before = any_of(&lost->sets);
  }
  say(p, 8, false,
      "Full: any so many, whichever they are. Outlined: only if they are the right ones.");
}

/* ---- the sheet for a wall ---- */

static void put_sets(struct page *p, const char *title, const struct together_set *list, int count,
                     bool with)
{
  if (count > 0)
    heading(p, title);
  for (int i = 0; i < count; i++) {
    const char *more = with && list[i].next >= 0
                           ? papers_words(p->request, "; with %s: ", ids(p, 1u << list[i].next))
                       : list[i].miss_count > 0 ? ": "
                                                : "";

    say(p, 9, false,
        papers_words(p->request, "- %s%s%s", ids(p, list[i].stations), more,
                     list[i].miss_count > 0 ? list[i].misses[0] : ""));
  }
}

static int at_most(int count, int most)
{
  return count < most ? count : most;
}

static void put_wall(struct page *p)
{
  const struct together_answer *a = p->answer;
  const struct together_sets *s = &a->sets;

  draw_page(p->draw);
  say(p, 15, true, "Who may work together");
  if (a->base)
    say(p, 12, true, papers_words(p->request, "With %s", a->base));
  draw_skip(p->draw, 4 * p->scale);
  say(p, 26, true, s->words);
  draw_skip(p->draw, 3 * p->scale);
  say(p, 11, false,
      "Open: at the mark. All others parked, doors shut. The board or your station's own alarm says "
      "otherwise at any time, and then it decides.");
  if (!s->known) {
    say(p, 10, false, s->why);
  } else if (!s->nothing) {
    say(p, 11, false,
        papers_words(
            p->request,
            "Any %d of %d, whichever they are; at best %d. Of %ld sets %ld miss nothing; these "
            "words allow %ld of them.",
            s->any[s->sure], a->count, s->best[s->sure], 1l << a->count,
            s->sure ? s->sure_count : s->fine_count, s->allowed_count));
    put_sets(p, "Largest", s->largest, at_most(s->best_shown, 3), false);
    put_sets(p, "Full, though few are open", s->tightest, at_most(s->tightest_shown, 3), true);
    put_sets(p, "What breaks it", s->breaking, at_most(s->breaking_shown, 4), false);
  }
  if (a->lost_count > 0)
    put_chart(p, NULL);
  say_validity(p);
}

enum err_code papers_together(const struct papers_request *request,
                              const struct papers_together *sheet, struct buf *out, struct err *err)
{
  struct page p = {.request = request,
                   .sheet = sheet,
                   .answer = sheet->answer,
                   .draw = papers_open(request, "Who may work together", err),
                   .from = "who may work together"};

  if (!p.draw)
    return err->code;
  p.scale = draw_scale_ratio(p.draw);
  put_wall(&p);
  return papers_close(request, p.draw, out, err);
}

/* ---- failure cards ---- */

enum { STATION, FLOW, MEASURED, RELEASED, COLUMNS };

static const char *flow_words(struct page *p, const struct facility_station *s)
{
  struct buf text;
  const char *out;

  if (s->flow == FACILITY_PASSIVE)
    return "as its last test";
  buf_init(&text, 100);
  units_print(&text, facility_station_rule_m3_s(s, true, s->work_m), UNITS_FLOW, p->request->units);
  out = papers_words(p->request, "%s", text.text);
  buf_release(&text);
  return out;
}

/* Stations that the words let open at all: counted, and not for more than is allowed. */
static bool may_be_listed(const struct together_sets *s, int at)
{
  for (int i = 0; i < s->rule_count; i++)
    if (s->rules[i].stations >> at & 1u && s->rules[i].weight[at] > s->rules[i].allowed)
      return false;
  return true;
}

static void put_staff(struct page *p, const struct together_sets *s)
{
  static const char *const heads[COLUMNS] = {"station", "asks at its mark", "measured",
                                             "released by, at"};
  static const double shares[COLUMNS] = {0.34, 0.20, 0.20, 0.26};
  struct draw_column columns[COLUMNS];
  struct draw_table table = {.columns = columns,
                             .column_count = COLUMNS,
                             .size_pt = 8.5 * p->scale,
                             .head_size_pt = 8 * p->scale,
                             .least_height_mm = 5.6 * p->scale,
                             .pad_mm = 0.8 * p->scale};
  const struct facility *f = p->answer->facility;

  heading(p, "Staff list: a station is released once measured");
  say(p, 12, true, s->words);
  for (int c = 0; c < COLUMNS; c++)
    columns[c] =
        (struct draw_column){.head = heads[c], .width_mm = shares[c] * draw_area(p->draw).width_mm};
  draw_table_head(p->draw, &table);
  for (int i = 0; i < p->answer->count; i++) {
    const struct facility_station *station = &f->stations[p->answer->stations[i]];
    const char *cells[COLUMNS] = {
        [STATION] = strcmp(station->part.id, station->part.name) == 0
                        ? station->part.id
                        : papers_words(p->request, "%s %s", station->part.id, station->part.name),
        [FLOW] = flow_words(p, station),
        [MEASURED] = "",
        [RELEASED] = ""};

    if (may_be_listed(s, i))
      draw_table_row(p->draw, &table, cells, p->from, false);
  }
}

static void put_nothing(struct page *p, const struct together_sets *s)
{
  heading(p, "Staff: no station is released while this is lost");
  say(p, 10, false, "With every station parked this is missed already:");
  for (int i = 0; i < s->parked_count; i++)
    say(p, 10, false, papers_words(p->request, "- %s", s->parked_misses[i]));
  say(p, 10, false, "Staff say who may be in the rooms.");
}

static void put_card(struct page *p, const struct together_lost *lost)
{
  const struct facility *f = p->answer->facility;

  draw_page(p->draw);
  say(p, 18, true, together_first_line); /* one line, on A5 too */
  draw_skip(p->draw, 3 * p->scale);
  say(p, 15, true,
      papers_words(p->request, "%s: %s", lost->part == TOGETHER_DOOR ? "Door" : "Lost",
                   lost->what));
  draw_skip(p->draw, 2 * p->scale);
  say(p, 12, false,
      papers_words(
          p->request,
          "Everybody: all stations down to parked, at once. Nobody opens one until staff release "
          "it by name. Call: %s.",
          f->call ? f->call : "who looks after the stations"));
  if (lost->sets.nothing || !lost->sets.known)
    put_nothing(p, &lost->sets);
  else
    put_staff(p, &lost->sets);
  put_chart(p, lost);
  draw_skip(p->draw, 2 * p->scale);
  say(p, 8, false,
      "Steady air as the model has it, each at its mark or parked. It does not know why the part was lost, "
      "the first minutes, or what else fails with it: measured flows decide.");
  say_validity(p);
}

enum err_code papers_failure(const struct papers_request *request,
                             const struct papers_together *sheet, struct buf *out, struct err *err)
{
  struct page p = {.request = request,
                   .sheet = sheet,
                   .answer = sheet->answer,
                   .draw = papers_open(request, "Failure cards", err),
                   .from = "failure card"};

  if (!p.draw)
    return err->code;
  p.scale = draw_scale_ratio(p.draw);
  for (int i = 0; i < sheet->answer->lost_count; i++)
    if (!sheet->lost || sheet->lost == &sheet->answer->lost[i])
      put_card(&p, &sheet->answer->lost[i]);
  return papers_close(request, p.draw, out, err);
}
