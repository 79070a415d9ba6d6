/* What happens next, as a picture: each keep over time with its line, events as ticks; words below. */
#include "papers/papers_impl.h"

#include <math.h>

static const double lead_s = 5,
                    beyond_s = 90; /* shown before the first event, and behind the last */
static const double strip_mm = 21, words_mm = 31, gap_mm = 5;
enum { STRIPS_MAX = 9, TURNS_SHOWN = 3 };

struct strip {
  const struct papers_request *request;
  const struct after_answer *a;
  struct draw *draw;
  double from_s, to_s, least_Pa, most_Pa;
  struct draw_place at; /* of the plot itself */
};

static void say(const struct papers_request *request, struct draw *draw, double size_pt, bool bold,
                const char *text)
{
  draw_flow(draw, &(struct draw_text){.text = text,
                                      .from = "what happens next",
                                      .size_pt = size_pt * draw_scale_ratio(draw),
                                      .bold = bold});
  (void)request;
}

static double x_mm(const struct strip *s, double time_s)
{
  return s->at.x_mm + (time_s - s->from_s) / (s->to_s - s->from_s) * s->at.width_mm;
}

static double y_mm(const struct strip *s, double Pa)
{
  double share = (Pa - s->least_Pa) / (s->most_Pa - s->least_Pa);

  return s->at.y_mm + (1.0 - fmin(1.0, fmax(0.0, share))) * s->at.height_mm;
}

static void put(const struct strip *s, const char *text, double size_pt, enum draw_align align,
                struct draw_place place)
{
  draw_text(s->draw,
            &(struct draw_text){.text = text,
                                .from = "what happens next",
                                .size_pt = size_pt * draw_scale_ratio(s->draw),
                                .align = align},
            place);
}

static const char *pressure(const struct strip *s, double Pa)
{
  struct buf text;
  const char *out;

  buf_init(&text, 64);
  units_print(&text, fabs(Pa) < 0.05 ? 0.0 : Pa, UNITS_PRESSURE_DIFFERENCE, s->request->units);
  out = papers_words(s->request, "%s", text.text);
  buf_release(&text);
  return out;
}

static void line_at(const struct strip *s, double Pa, bool dashed, double line_mm)
{
  draw_line(s->draw, (struct draw_point){s->at.x_mm, y_mm(s, Pa)},
            (struct draw_point){s->at.x_mm + s->at.width_mm, y_mm(s, Pa)},
            &(struct draw_look){.line_mm = line_mm, .line = DRAW_GREY, .dashed = dashed});
  put(s, pressure(s, Pa), 6.5, DRAW_RIGHT,
      (struct draw_place){s->at.x_mm - 16, y_mm(s, Pa) - 1.6, 15, 0});
}

static void put_events(const struct strip *s, bool numbered)
{
  for (int i = 0; i < s->a->turn_count; i++) {
    double x = x_mm(s, s->a->turns[i].at_s);

    draw_line(s->draw, (struct draw_point){x, s->at.y_mm},
              (struct draw_point){x, s->at.y_mm + s->at.height_mm},
              &(struct draw_look){.line_mm = 0.15, .line = DRAW_GREY, .dashed = true});
    if (numbered)
      put(s, papers_words(s->request, "%d", i + 1), 7, DRAW_CENTRE,
          (struct draw_place){x - 3, s->at.y_mm - 4, 6, 0});
  }
}

/* Thick where it is below its keep. */
static void put_curve(const struct strip *s, int column, double limit_Pa)
{
  const struct after_trace *t = &s->a->trace;

  for (int r = 1; r < t->count; r++) {
    double a_s = t->rows[r - 1][0], b_s = t->rows[r][0];
    double a = t->rows[r - 1][column], b = t->rows[r][column];

    if (!isfinite(a) || !isfinite(b) || b_s < s->from_s || a_s > s->to_s)
      continue;
    if (a_s < s->from_s) {
      a += (b - a) * (s->from_s - a_s) / (b_s - a_s);
      a_s = s->from_s;
    }
    if (b_s > s->to_s) {
      b = a + (b - a) * (s->to_s - a_s) / (b_s - a_s);
      b_s = s->to_s;
    }
    draw_line(
        s->draw, (struct draw_point){x_mm(s, a_s), y_mm(s, a)},
        (struct draw_point){x_mm(s, b_s), y_mm(s, b)},
        &(struct draw_look){.line_mm = fmin(a, b) < limit_Pa ? 0.9 : 0.35, .line = DRAW_BLACK});
  }
}

static void find_range(struct strip *s, int column, double limit_Pa)
{
  const struct after_trace *t = &s->a->trace;

  s->least_Pa = fmin(0.0, isfinite(limit_Pa) ? limit_Pa : 0.0);
  s->most_Pa = fmax(1.0, isfinite(limit_Pa) ? limit_Pa : 0.0);
  for (int r = 0; r < t->count; r++) {
    double Pa = t->rows[r][column];

    if (t->rows[r][0] < s->from_s || t->rows[r][0] > s->to_s || !isfinite(Pa))
      continue;
    s->least_Pa = fmin(s->least_Pa, Pa);
    s->most_Pa = fmax(s->most_Pa, Pa);
  }
}

static void put_strip(struct strip *s, const char *name, int column, double limit_Pa, bool first)
{
  struct draw_place area = draw_area(s->draw);

  draw_need(s->draw, strip_mm + gap_mm);
  find_range(s, column, limit_Pa);
  s->at = (struct draw_place){area.x_mm + words_mm, draw_y_mm(s->draw) + (first ? 4 : 0),
                              area.width_mm - words_mm, strip_mm - 4};
  put(s, name, 8, DRAW_LEFT, (struct draw_place){area.x_mm, s->at.y_mm, words_mm - 14, 0});
  line_at(s, 0.0, false, 0.15);
  if (isfinite(limit_Pa))
    line_at(s, limit_Pa, true, 0.3);
  if (s->least_Pa < -1.0)
    put(s, pressure(s, s->least_Pa), 6.5, DRAW_RIGHT,
        (struct draw_place){s->at.x_mm - 16, s->at.y_mm + s->at.height_mm - 2, 15, 0});
  if (s->most_Pa > 1.6 * fmax(limit_Pa, 1.0))
    put(s, pressure(s, s->most_Pa), 6.5, DRAW_RIGHT,
        (struct draw_place){s->at.x_mm - 16, s->at.y_mm - 1.2, 15, 0});
  put_events(s, first);
  put_curve(s, column, limit_Pa);
  draw_skip(s->draw, strip_mm + (first ? 4 : 0));
}

static void put_axis(struct strip *s)
{
  double span = s->to_s - s->from_s, every = pow(10.0, floor(log10(span / 4.0)));

  every *= span / every > 20.0 ? 5.0 : span / every > 8.0 ? 2.0 : 1.0;
  for (int k = (int)ceil(s->from_s / every); k * every <= s->to_s + 1e-9; k++)
    put(s, papers_words(s->request, "%.0f s", k * every), 7, DRAW_CENTRE,
        (struct draw_place){x_mm(s, k * every) - 8, draw_y_mm(s->draw) - 3.5, 16, 0});
  draw_skip(s->draw, 3);
}

static void put_strips(struct strip *s)
{
  const struct facility *f = s->request->facility;
  int column = s->a->trace.keeps, shown = 0;

  for (int i = 0; i < f->room_count; i++)
    for (int j = 0; j < f->rooms[i].keep_count; j++, column++) {
      const struct facility_keep *k = &f->rooms[i].keeps[j];

      if (!isfinite(s->a->trace.rows[0][column]) || shown == STRIPS_MAX)
        continue;
      put_strip(
          s,
          papers_words(s->request, "%s over %s", f->rooms[i].part.id, facility_node_id(f, k->over)),
          column, k->has_least ? k->least_Pa : (double)NAN, shown == 0);
      shown++;
    }
  if (shown > 0)
    put_axis(s);
}

static void put_words(struct strip *s)
{
  const struct after_answer *a = s->a;
  struct arena *arena = s->request->report->arena;

  for (int i = 0; i < a->turn_count; i++)
    say(s->request, s->draw, 9, true,
        papers_words(s->request, "%d  %s", i + 1, after_turn_title(a, &a->turns[i], arena)));
  draw_skip(s->draw, 2);
  say(s->request, s->draw, 11, true, a->turn_count > 1 ? "The worst first" : "What it does");
  for (int i = 0; i < a->turn_count && i < TURNS_SHOWN; i++)
    say(s->request, s->draw, 9, false,
        papers_words(s->request, "%d: %s", a->worst_first[i] + 1,
                     after_turn_words(a, &a->turns[a->worst_first[i]], s->request->units, arena)));
  if (a->turn_count > TURNS_SHOWN)
    say(s->request, s->draw, 9, false, "The rest: inward after ...");
}

enum err_code papers_after(const struct papers_request *request, const struct after_answer *a,
                           struct buf *out, struct err *err)
{
  struct draw *draw = papers_open(request, "What happens next", err);
  struct strip s = {.request = request, .a = a, .draw = draw};

  if (!draw)
    return err->code;
  s.from_s = fmax(0.0, a->turns[0].at_s - lead_s);
  s.to_s = fmin(a->for_s, a->turns[a->turn_count - 1].at_s + beyond_s);
  draw_page(draw);
  say(request, draw, 18, true, "What happens next");
  say(request, draw, 10, false,
      papers_words(request,
                   "TRIAL, not live. From %s. Thick: below its keep (the dashed line). Shared air "
                   "only: a station's own alarm decides.",
                   a->scene));
  draw_skip(draw, 3);
  put_strips(&s);
  put_words(&s);
  say(request, draw, 8, false,
      papers_words(request, "%d assumptions and the three clocks: inward after ...",
                   a->assumed_count));
  return papers_close(request, draw, out, err);
}
