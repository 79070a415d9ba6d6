#include "papers/papers_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- scale ---- */

/* The largest round scale at which so many metres fit into the height. */
static double round_scale(double top_m, double height_mm)
{
  static const double scales[] = {2, 4, 5, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100};
  size_t count = sizeof scales / sizeof scales[0];

  for (size_t i = 0; i < count; i++)
    if (top_m * 1000 / scales[i] <= height_mm)
      return scales[i];
  return ceil(top_m * 1000 / height_mm);
}

/* The first step of the reader's whose ticks stand far enough apart on paper. */
static const char *tick_step(enum units_system units, double mm_per_m, double apart_mm,
                             double *step_out_m)
{
  enum { STEPS = 7 };
  static const char *const steps[][STEPS] = {
      [UNITS_SYSTEM_SI] = {"0.01 m", "0.02 m", "0.05 m", "0.1 m", "0.2 m", "0.5 m", "1 m"},
      [UNITS_SYSTEM_US] = {"1 in", "2 in", "5 in", "10 in", "20 in", "50 in", "100 in"},
  };
  struct units_quantity step = {0};
  int i = -1;

  do {
    i++;
    BUG_IF(units_parse(steps[units][i], UNITS_LENGTH, UNITS_NOTHING, &step, NULL) != ERR_OK);
  } while (step.si * mm_per_m < apart_mm && i + 1 < STEPS);
  *step_out_m = step.si;
  return strchr(steps[units][i], ' ') + 1;
}

struct front {
  struct draw *draw;
  const struct papers_sash *sash;
  double foot_mm, left_mm, right_mm; /* of the opening */
  double mm_per_m, top_m;            /* of the drawing */
};

static double at(const struct front *f, double height_m)
{
  return f->foot_mm - height_m * f->mm_per_m;
}

static void draw_ruler(const struct front *f)
{
  enum { TICKS_MAX = 64 };
  struct draw_tick ticks[TICKS_MAX];
  const struct papers_request *request = f->sash->request;
  double step_m;
  const char *unit = tick_step(request->units, f->mm_per_m, f->sash->size_pt * 0.55, &step_m);
  int count = 0;

  for (; count < TICKS_MAX && count * step_m <= f->top_m; count++) {
    struct buf text;

    buf_init(&text, 60);
    units_print_in(&text, count * step_m, UNITS_LENGTH, unit);
    ticks[count] = (struct draw_tick){
        .at_mm = count * step_m * f->mm_per_m,
        .text = papers_words(request, "%s", text.text),
    };
    buf_release(&text);
  }
  draw_scale(f->draw, &(struct draw_scale){.x_mm = f->left_mm - 0.35 * f->sash->size_pt,
                                           .foot_mm = f->foot_mm,
                                           .height_mm = f->top_m * f->mm_per_m,
                                           .size_pt = f->sash->size_pt * 0.8,
                                           .ticks = ticks,
                                           .tick_count = count});
}

/* ---- the front ---- */

static void level(const struct front *f, double height_m, const struct draw_look *look)
{
  draw_line(f->draw, (struct draw_point){f->left_mm, at(f, height_m)},
            (struct draw_point){f->right_mm, at(f, height_m)}, look);
}

static void draw_front(const struct front *f)
{
  const struct facility_station *s = f->sash->station;
  double edge_mm = 0.12 * f->sash->size_pt;
  struct draw_place pane = {f->left_mm, at(f, f->top_m), f->right_mm - f->left_mm,
                            (f->top_m - s->work_m) * f->mm_per_m};
  struct draw_place edge = {f->left_mm, at(f, s->work_m) - edge_mm, f->right_mm - f->left_mm,
                            edge_mm};

  draw_box(f->draw, pane, &(struct draw_look){.filled = true, .fill = DRAW_PALE});
  draw_box(f->draw, edge, &(struct draw_look){.filled = true, .fill = DRAW_BLACK});
  for (int side = 0; side < 2; side++) {
    double x_mm = side ? f->right_mm : f->left_mm;

    draw_line(f->draw, (struct draw_point){x_mm, f->foot_mm},
              (struct draw_point){x_mm, at(f, f->top_m)}, &(struct draw_look){.line_mm = 0.4});
  }
  if (s->parked_m > 0)
    level(f, s->parked_m, &(struct draw_look){.line_mm = 0.35, .dashed = true});
  draw_line(f->draw, (struct draw_point){f->left_mm - 0.35 * f->sash->size_pt, f->foot_mm},
            (struct draw_point){f->right_mm + 2.5, f->foot_mm}, &(struct draw_look){.line_mm = 1});
}

/* Reader's units, and what a tape of the other kind shows, on a line each. */
static struct draw_text mark_text(const struct papers_sash *sash)
{
  char *words = arena_strdup(sash->request->report->arena,
                             papers_height(sash->request, sash->station->work_m)),
       *second = strstr(words, " (");

  if (second)
    *second = '\n';
  return (struct draw_text){
      .text = words, .from = "the sash mark", .size_pt = sash->size_pt, .bold = true};
}

/* Beside a level, its middle on it; returns half its height. */
static double say(const struct front *f, double height_m, const struct draw_text *text, double x_mm,
                  double width_mm)
{
  double high_mm = draw_text_height_mm(f->draw, text, width_mm);

  draw_text(f->draw, text, (struct draw_place){x_mm, at(f, height_m) - high_mm / 2, width_mm, 0});
  return high_mm / 2;
}

static void draw_words(const struct front *f, double right_mm)
{
  const struct papers_sash *sash = f->sash;
  const struct facility_station *s = sash->station;
  double arrow_mm = 0.75 * sash->size_pt, x_mm = f->right_mm + 1 + arrow_mm + 1,
         width_mm = right_mm - x_mm;
  struct draw_text mark = mark_text(sash);
  struct draw_text closed = {.text = "closed", .from = "the sash", .size_pt = sash->size_pt * 0.8};

  draw_arrow(f->draw, (struct draw_point){x_mm - 1, at(f, s->work_m)},
             (struct draw_point){f->right_mm + 1, at(f, s->work_m)}, 0.09 * sash->size_pt);

  double half_mm = say(f, s->work_m, &mark, x_mm, width_mm);

  if ((s->work_m - s->parked_m) * f->mm_per_m > half_mm + 0.4 * sash->size_pt)
    say(f, s->parked_m, &closed, f->right_mm + 3.5, right_mm - f->right_mm - 3.5);
}

/* ---- to scale ---- */

static double shown_m(const struct papers_sash *sash)
{
  return fmax(sash->station->most_m, sash->station->work_m * 1.2);
}

/* Above the topmost tick and below the lowest, for half of their words. */
static double margin_mm(const struct papers_sash *sash)
{
  return 0.2 * sash->size_pt;
}

static double scale_of(const struct papers_sash *sash)
{
  return round_scale(shown_m(sash), sash->most_height_mm - 2 * margin_mm(sash));
}

double papers_sash_height_mm(const struct papers_sash *sash)
{
  return shown_m(sash) * 1000 / scale_of(sash) + 2 * margin_mm(sash);
}

const char *papers_sash_scale(const struct papers_sash *sash)
{
  return papers_words(sash->request, "heights 1 : %.0f", scale_of(sash));
}

void papers_draw_sash(struct draw *draw, const struct papers_sash *sash, struct draw_place place)
{
  struct draw_text mark = mark_text(sash);
  double ruler_mm = 1.6 * sash->size_pt,
         words_mm = draw_text_width_mm(draw, &mark) + 0.85 * sash->size_pt + 2;
  struct front f = {
      .draw = draw,
      .sash = sash,
      .foot_mm = place.y_mm + place.height_mm - margin_mm(sash),
      .left_mm = place.x_mm + ruler_mm,
      .right_mm = place.x_mm + place.width_mm - words_mm,
      .top_m = shown_m(sash),
      .mm_per_m = 1000 / scale_of(sash),
  };

  draw_front(&f);
  draw_ruler(&f);
  draw_words(&f, place.x_mm + place.width_mm);
}
