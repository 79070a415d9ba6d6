/* The walk test on paper: boxes to write in with gloves, or what was found. */
#include "papers/papers_impl.h"

#include <math.h>
#include <string.h>

enum { ID, WHAT, PREDICTED, PASSES, MEASURED, COLUMNS };

static const struct {
  const char *head;
  double share_ratio;
  enum draw_align align;
} columns[COLUMNS] = {
    [ID] = {"no.", 0.07, DRAW_LEFT},
    [WHAT] = {"read", 0.37, DRAW_LEFT},
    [PREDICTED] = {"predicted", 0.15, DRAW_RIGHT},
    [PASSES] = {"passes", 0.19, DRAW_RIGHT},
    [MEASURED] = {"measured", 0.22, DRAW_LEFT},
};

struct walk_page {
  const struct papers_request *request;
  const struct walk_plan *plan;
  const struct walk_result *result; /* or NULL: a form */
  struct draw *draw;
  double size_pt;
};

static void say(struct walk_page *p, double size_ratio, bool bold, const char *text)
{
  draw_flow(p->draw, &(struct draw_text){.text = text,
                                         .from = "walk test",
                                         .size_pt = p->size_pt * size_ratio,
                                         .bold = bold});
}

static const char *shown(struct walk_page *p, double si, enum facility_gauge_of of)
{
  struct buf text;
  const char *out;

  buf_init(&text, 100);
  walk_print(&text, si, of, p->request->units);
  out = papers_words(p->request, "%s", text.text);
  buf_release(&text);
  return out;
}

static const char *band(struct walk_page *p, const struct walk_reading *r)
{
  enum facility_gauge_of of = r->quantity.of;
  const char *low = shown(p, r->predicted_si - r->band.half_si, of);

  return papers_words(p->request, "%.*s to %s", (int)strcspn(low, " "), low,
                      shown(p, r->predicted_si + r->band.half_si, of));
}

static const char *measured(struct walk_page *p, int i)
{
  static const char *const verdicts[] = {"not read", "inside", "OUTSIDE"};
  const struct walk_entry *e;

  if (!p->result)
    return NULL; /* a box to write in */
  e = &p->result->readings->entries[i];
  return papers_words(p->request, "%s%s%s",
                      e->read ? shown(p, e->value_si, p->plan->readings[i].quantity.of) : "",
                      e->read ? ": " : "", verdicts[p->result->rows[i].verdict]);
}

static void rows(struct walk_page *p, const struct draw_table *table, const struct walk_step *step)
{
  for (int i = step->first; i < step->first + step->count; i++) {
    const struct walk_reading *r = &p->plan->readings[i];
    const char *cells[COLUMNS] = {
        [ID] = r->id,
        [WHAT] = papers_words(p->request, "%s\n%s", r->what, r->how),
        [PREDICTED] = shown(p, r->predicted_si, r->quantity.of),
        [PASSES] = band(p, r),
        [MEASURED] = measured(p, i),
    };

    struct draw_place place =
        draw_table_row(p->draw, table, cells, papers_words(p->request, "reading %s", r->id),
                       p->result && p->result->rows[i].verdict == WALK_OUTSIDE);

    if (!p->result) {
      place.x_mm += place.width_mm * (1 - columns[MEASURED].share_ratio);
      place.width_mm *= columns[MEASURED].share_ratio;
      draw_box(p->draw, place, &(struct draw_look){.line_mm = 0.4, .line = DRAW_BLACK});
    }
  }
}

static void steps(struct walk_page *p)
{
  double scale = draw_scale_ratio(p->draw);
  struct draw_column heads[COLUMNS];
  struct draw_table table = {.columns = heads,
                             .column_count = COLUMNS,
                             .size_pt = p->size_pt,
                             .head_size_pt = p->size_pt * 0.85,
                             .least_height_mm = (p->result ? 8 : 12) * scale,
                             .pad_mm = 1};

  for (int i = 0; i < COLUMNS; i++)
    heads[i] = (struct draw_column){
        columns[i].head, draw_area(p->draw).width_mm * columns[i].share_ratio, columns[i].align};
  for (int s = 0; s < p->plan->step_count; s++) {
    const struct walk_step *step = &p->plan->steps[s];

    draw_skip(p->draw, 2 * scale);
    draw_need(p->draw, (step->count > 0 ? 40 : 12) * scale); /* its words stay with a reading */
    say(p, 1.15, true,
        papers_words(p->request, "Step %d: %s (%.0f min)%s", s + 1, step->title,
                     ceil(step->time_s / 60),
                     step->technician ? "  ONLY WITH THE VENTILATION TECHNICIAN" : ""));
    for (int i = 0; i < step->act_count; i++)
      say(p, 1.0, false, papers_words(p->request, "> %s", step->acts[i]));
    if (step->count > 0) {
      draw_table_head(p->draw, &table);
      rows(p, &table, step);
    }
  }
}

static void head(struct walk_page *p)
{
  const struct walk_plan *plan = p->plan;

  say(p, 1.8, true, p->result ? "Walk test: what was found" : "Walk test");
  if (p->result) {
    const struct walk_readings *r = p->result->readings;

    if (p->result->other_suite)
      say(p, 1.2, true, "READ AGAINST ANOTHER REVISION OF THE SUITE FILE");
    say(p, 1.0, false,
        papers_words(p->request, "Read: %s, by %s. Scene: %s.", r->date ? r->date : "no date",
                     r->by ? r->by : "nobody named", plan->scene));
    say(p, 1.2, true, p->result->sentence);
    say(p, 1.0, false, papers_words(p->request, "Next: %s", p->result->next));
    return;
  }
  say(p, 1.0, false,
      papers_words(p->request,
                   "%d steps, %d readings, about %.0f minutes. Predicted before anybody walked. "
                   "Scene: %s.",
                   plan->step_count, plan->reading_count, ceil(plan->time_s / 60), plan->scene));
  for (int i = 0; i < walk_caution_count; i++)
    say(p, 0.9, i < 2, papers_words(p->request, "- %s", walk_cautions[i]));
  for (int i = 0; i < plan->before_count; i++)
    say(p, 1.0, true, papers_words(p->request, "FIRST: %s", plan->before[i]));
}

static void causes(struct walk_page *p)
{
  for (int k = 0; p->result && k < p->result->cause_count; k++) {
    struct buf text;

    buf_init(&text, 4096);
    buf_puts(&text, k == 0 ? "The misses look like " : "or else ");
    walk_cause_words(p->result, k, p->request->units, &text);
    if (p->result->causes[k].look)
      buf_printf(&text, ". %s", p->result->causes[k].look);
    say(p, 1.0, k == 0, papers_words(p->request, "%s", text.text));
    buf_release(&text);
  }
  if (p->result && p->result->unexplained && p->result->outside > 0)
    say(p, 1.0, false, "No single figure explains all of it.");
}

static bool reads(const struct walk_page *p, enum facility_gauge_of of)
{
  for (int i = 0; i < p->plan->reading_count; i++)
    if (p->plan->readings[i].quantity.of == of)
      return true;
  return false;
}

/* Which instrument, when and who: together on one page, and only of what is read. */
static void sign(struct walk_page *p)
{
  const char *const lines[] = {
      reads(p, FACILITY_GAUGE_ROOM) || reads(p, FACILITY_GAUGE_DUCT)
          ? "Manometer, its number, calibrated on:"
          : NULL,
      reads(p, FACILITY_GAUGE_FACE) ? "Anemometer, its number, calibrated on:" : NULL,
      "Date, time:", "Read by, signature:"};
  enum { LINES = sizeof lines / sizeof lines[0] };
  double scale = draw_scale_ratio(p->draw);

  draw_need(p->draw, (lines[0] && lines[1] ? 36 : 27) * scale);
  for (int i = 0; i < LINES; i++) {
    struct draw_place area = draw_area(p->draw);
    double y_mm;

    if (!lines[i])
      continue;
    draw_skip(p->draw, 4 * scale);
    say(p, 1.0, false, lines[i]);
    y_mm = draw_y_mm(p->draw);
    draw_line(p->draw, (struct draw_point){area.x_mm + area.width_mm * 0.4, y_mm},
              (struct draw_point){area.x_mm + area.width_mm, y_mm},
              &(struct draw_look){.line_mm = 0.2, .line = DRAW_BLACK});
  }
}

static void tail(struct walk_page *p)
{
  double scale = draw_scale_ratio(p->draw);

  draw_skip(p->draw, 3 * scale);
  causes(p);
  if (p->result) {
    say(p, 0.9, false, "It is no test of containment and releases no station.");
    return;
  }
  for (int i = 0; i < p->plan->left_out_count; i++)
    say(p, 0.9, false, papers_words(p->request, "Left out: %s", p->plan->left_out[i]));
  sign(p);
}

enum err_code papers_walk(const struct papers_request *request, const struct walk_plan *plan,
                          const struct walk_result *result, struct buf *out, struct err *err)
{
  struct walk_page page = {.request = request, .plan = plan, .result = result};

  page.draw = papers_open(request, result ? "Walk test, result" : "Walk test", err);
  if (!page.draw)
    return err->code;
  page.size_pt = 9.5 * draw_scale_ratio(page.draw);
  if (page.size_pt < 7.5)
    page.size_pt = 7.5;
  draw_page(page.draw);
  head(&page);
  steps(&page);
  tail(&page);
  return papers_close(request, page.draw, out, err);
}
