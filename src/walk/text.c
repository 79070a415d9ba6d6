/* A walk and its result for people. */
#include "walk/walk_impl.h"

#include "base/utf8.h"

#include <math.h>
#include <string.h>

const char *const walk_cautions[] = {
    "Ask everyone working there first, and the safety officer and the ventilation technician: they "
    "must know that you walk, and when.",
    "Only stations that stand empty: no process running, no chemicals open, nothing hot. Whoever "
    "works at a station decides; never move another's sash.",
    "Dress as the room asks. Nothing of paper goes in that the room does not allow.",
    "If any alarm sounds, a station's or the building's: stop, park what you opened, follow the "
    "house rule. A station's own alarm decides.",
    "If a room pressure is far from its band, park what you opened before you look any further.",
    "A band that is met shows that the model fits there. It is no test of containment and releases "
    "no station.",
};
const int walk_caution_count = (int)(sizeof walk_cautions / sizeof walk_cautions[0]);

static void cell(struct buf *out, const char *text, int width)
{
  int characters = utf8_count(text, strlen(text));

  buf_puts(out, text);
  do
    buf_putc(out, ' ');
  while (++characters < width);
}

static void value_cell(struct buf *out, double si, enum facility_gauge_of of,
                       enum units_system system, int width)
{
  struct buf text;

  buf_init(&text, 64);
  walk_print(&text, si, of, system);
  cell(out, text.text, width);
  buf_release(&text);
}

/* "6.8 to 12.4 Pa" */
static void band_cell(struct buf *out, const struct walk_reading *r, enum units_system system,
                      int width)
{
  struct buf text;
  char *unit;

  buf_init(&text, 96);
  walk_print(&text, r->predicted_si - r->band.half_si, r->quantity.of, system);
  unit = strchr(text.text, ' ');
  if (unit) {
    text.used = (size_t)(unit - text.text);
    *unit = '\0';
  }
  buf_puts(&text, " to ");
  walk_print(&text, r->predicted_si + r->band.half_si, r->quantity.of, system);
  cell(out, text.text, width);
  buf_release(&text);
}

static void title(const struct walk_plan *plan, struct buf *out)
{
  const struct facility *f = plan->facility;

  buf_printf(out, "%s%s%s%s   walk test   scene: %s\n", f->name ? f->name : "(no name)",
             f->label ? "   [" : "", f->label ? f->label : "", f->label ? "]" : "", plan->scene);
}

static void notes(struct buf *out, const char *heading, const char *const *list, int count)
{
  if (count > 0)
    buf_printf(out, "\n%s\n", heading);
  for (int i = 0; i < count; i++)
    buf_printf(out, "  - %s\n", list[i]);
}

static double minutes(double time_s)
{
  return ceil(time_s / 60.0);
}

static void bears(const struct walk_reading *r, struct buf *out)
{
  if (r->bears_count == 0)
    buf_puts(out, "-");
  for (int i = 0; i < r->bears_count; i++)
    buf_printf(out, "%s%s", i ? "; " : "", r->bears[i]);
  buf_putc(out, '\n');
}

static void step_text(const struct walk_plan *plan, int s, enum units_system system,
                      struct buf *out)
{
  const struct walk_step *step = &plan->steps[s];

  buf_printf(out, "\nStep %d   %s   (%.0f min)\n", s + 1, step->title, minutes(step->time_s));
  if (step->technician)
    buf_puts(out, "  ONLY WITH THE VENTILATION TECHNICIAN THERE\n");
  for (int i = 0; i < step->act_count; i++)
    buf_printf(out, "  > %s\n", step->acts[i]);
  for (int i = step->first; i < step->first + step->count; i++) {
    const struct walk_reading *r = &plan->readings[i];

    buf_puts(out, "  ");
    cell(out, r->id, 4);
    cell(out, r->what, 26);
    value_cell(out, r->predicted_si, r->quantity.of, system, 12);
    band_cell(out, r, system, 22);
    bears(r, out);
    if (i == step->first || strcmp(r->how, r[-1].how) != 0)
      buf_printf(out, "      %s\n", r->how);
  }
}

void walk_plan_text(const struct walk_plan *plan, enum units_system system, struct buf *out)
{
  title(plan, out);
  buf_printf(out,
             "\n  %d steps, %d readings, about %.0f minutes. Predicted before anybody walks.\n",
             plan->step_count, plan->reading_count, minutes(plan->time_s));
  buf_puts(out, "  Shared air only. A station's own alarm decides.\n");
  notes(out, "Before you start", walk_cautions, walk_caution_count);
  notes(out, "See to this first", plan->before, plan->before_count);
  buf_puts(out, "\nReading                       predicted   passes                bears on\n");
  for (int s = 0; s < plan->step_count; s++)
    step_text(plan, s, system, out);
  notes(out, "Left out", plan->left_out, plan->left_out_count);
  buf_printf(out,
             "\nBands: %.2f standard uncertainties, so that %.0f %% of walks end without a miss "
             "where everything is as the file says\n(instrument, hand and model together; section "
             "'walk' of the suite file). Tier: %s. Suite %.12s.\n",
             plan->coverage_factor_ratio, plan->facility->walk.covers_ratio * 100.0,
             air_tier_name(plan->tier), plan->facility->sha256);
}

/* ---- the result ---- */

static void verdict_words(const struct walk_result *result, int i, enum units_system system,
                          struct buf *out)
{
  const struct walk_reading *r = &result->plan->readings[i];
  double difference_si = result->rows[i].difference_si;

  switch (result->rows[i].verdict) {
  case WALK_NOT_READ:
    buf_puts(out, "not read");
    break;
  case WALK_INSIDE:
    buf_puts(out, "inside the band");
    break;
  case WALK_OUTSIDE:
    buf_puts(out, "OUTSIDE: ");
    walk_print_step(
        out, difference_si > 0 ? difference_si - r->band.half_si : difference_si + r->band.half_si,
        r->quantity.of, system);
    break;
  }
  if (result->other_suite && result->rows[i].printed_verdict != WALK_NOT_READ)
    buf_printf(out, "   (as printed: %s)",
               result->rows[i].printed_verdict == WALK_INSIDE ? "inside" : "OUTSIDE");
}

static void row_text(const struct walk_result *result, int i, enum units_system system,
                     struct buf *out)
{
  const struct walk_reading *r = &result->plan->readings[i];
  const struct walk_entry *e = &result->readings->entries[i];
  enum facility_gauge_of of = r->quantity.of;
  struct buf text;

  buf_init(&text, 64);
  if (e->read)
    walk_print_step(&text, result->rows[i].difference_si, of, system);
  else
    buf_puts(&text, "-");
  buf_puts(out, "  ");
  cell(out, r->id, 4);
  cell(out, r->what, 26);
  value_cell(out, r->predicted_si, of, system, 12);
  if (e->read)
    value_cell(out, e->value_si, of, system, 12);
  else
    cell(out, "-", 12);
  cell(out, text.text, 13);
  band_cell(out, r, system, 22);
  verdict_words(result, i, system, out);
  if (e->remark)
    buf_printf(out, "   \"%s\"", e->remark);
  buf_putc(out, '\n');
  if (result->rows[i].verdict == WALK_OUTSIDE && r->bears_count > 0) {
    buf_puts(out, "      bears on: ");
    bears(r, out);
  }
  buf_release(&text);
}

void walk_cause_words(const struct walk_result *result, int cause, enum units_system system,
                      struct buf *out)
{
  const struct walk_cause *c = &result->causes[cause];
  const struct facility_input *in = c->input < 0 ? NULL : &result->plan->facility->inputs[c->input];

  buf_puts(out, c->figure);
  if (in && in->dimension == UNITS_RATIO) {
    buf_printf(out, ": about %.2g times what is written", c->value_si / in->value_si);
  } else if (in) {
    buf_puts(out, ": about ");
    units_print(out, c->value_si, in->dimension, system);
    buf_puts(out, " where the file says ");
    units_print(out, in->value_si, in->dimension, system);
  }
  buf_printf(out, " (would bring %d of %d inside, and take %.0f %% of the misfit away)",
             c->explains, result->outside, 100.0 * (1.0 - c->left_ratio));
}

static void causes(const struct walk_result *result, enum units_system system, struct buf *out)
{
  if (result->outside == 0)
    return;
  buf_puts(out, "\nWhat the misses may mean\n");
  for (int k = 0; k < result->cause_count; k++) {
    buf_puts(out, k == 0 ? "  looks like " : "  or else    ");
    walk_cause_words(result, k, system, out);
    if (result->causes[k].look)
      buf_printf(out, "\n             %s", result->causes[k].look);
    buf_putc(out, '\n');
  }
  if (result->cause_count > 1)
    buf_puts(out, "  These readings cannot tell them apart.\n");
  if (result->unexplained)
    buf_puts(out, "  No single figure explains all of it: more than one may be off, or something "
                  "stands that the file does not know.\n");
}

void walk_result_text(const struct walk_result *result, enum units_system system, struct buf *out)
{
  title(result->plan, out);
  if (result->readings->date || result->readings->by)
    buf_printf(out, "  read %s%s%s\n", result->readings->date ? result->readings->date : "",
               result->readings->by ? " by " : "",
               result->readings->by ? result->readings->by : "");
  if (result->other_suite) {
    buf_puts(out, "\n  READ AGAINST ANOTHER REVISION OF THE SUITE FILE. The form's own predictions "
                  "stand beside today's.\n");
    if (result->readings->foreign_count > 0)
      buf_printf(out, "  %d of its readings are not asked by today's walk and are not shown.\n",
                 result->readings->foreign_count);
  }
  buf_printf(out, "\n  %s\n  Next: %s\n", result->sentence, result->next);
  buf_puts(out, "  It is no test of containment and releases no station.\n");
  buf_puts(out,
           "\nReading                       predicted   measured    difference   passes        "
           "        verdict\n");
  for (int i = 0; i < result->plan->reading_count; i++)
    row_text(result, i, system, out);
  causes(result, system, out);
  buf_printf(out, "\nTier: %s. Suite %.12s.\n", air_tier_name(result->plan->tier),
             result->plan->facility->sha256);
}
