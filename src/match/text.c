/* A match for people. */
#include "match/match_impl.h"

#include "base/utf8.h"

#include <math.h>
#include <string.h>

static const double far_less_ratio = 0.25; /* of the squares that are usual: worth a hint */

static const struct {
  const char *words, *key;
} verdicts[] = {
    [MATCH_MATCHES] = {"MATCHES WITHIN ITS ±", "matches"},
    [MATCH_DIFFERS] = {"DOES NOT MATCH", "differs"},
    [MATCH_UNEXPLAINED] = {"DOES NOT MATCH, AND NO FIGURES EXPLAIN ALL OF IT", "unexplained"},
    [MATCH_CONTRADICTS] = {"THE READINGS CONTRADICT EACH OTHER", "contradicts"},
    [MATCH_TOO_FEW] = {"TOO FEW DATA", "too_few"},
};

const char *match_verdict_words(enum match_verdict verdict)
{
  return verdicts[verdict].words;
}

const char *match_verdict_key(enum match_verdict verdict)
{
  return verdicts[verdict].key;
}

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

static void in_pm_cell(struct buf *out, double ratio, int width)
{
  struct buf text;

  buf_init(&text, 32);
  buf_printf(&text, "%+.1f", ratio / 2.0);
  cell(out, text.text, width);
  buf_release(&text);
}

/* ---- the table ---- */

bool match_is_foretold(const struct match_reading *r)
{
  return r->printed && fabs(r->measured_si - r->printed_middle_si) <= r->printed_half_si;
}

static void remarks(const struct match_result *r, int i, struct buf *out)
{
  const struct match_row *row = &r->rows[i];
  const struct match_reading *it = &r->readings->list[i];

  if (row->outside)
    buf_puts(out, "OUTSIDE the file's ±. ");
  if (row->outlier)
    buf_puts(out, "NOT EXPLAINED. ");
  if (row->weight_ratio < 1.0)
    buf_printf(out, "Counts as %.2f of a reading. ", row->weight_ratio);
  if (row->against >= 0)
    buf_printf(out, "EXCLUDES reading %s. ", r->readings->list[row->against].id);
  if (it->printed)
    buf_puts(out,
             match_is_foretold(it) ? "Predicted before: inside. " : "Predicted before: MISSED. ");
  if (it->remark)
    buf_printf(out, "\"%s\" ", it->remark);
  if ((row->outlier || row->against >= 0) && it->place.line > 0)
    buf_printf(out, "%s:%d:%d", it->place.file, it->place.line, it->place.column);
  buf_trim_end(out);
  buf_putc(out, '\n');
}

static void row_text(const struct match_result *r, int i, enum units_system system, struct buf *out)
{
  const struct match_reading *it = &r->readings->list[i];
  const struct match_row *row = &r->rows[i];

  buf_puts(out, "  ");
  cell(out, it->id, 12);
  cell(out, it->name, 26);
  value_cell(out, row->written_si, it->gauge, system, 12);
  value_cell(out, row->written_pm_si, it->gauge, system, 12);
  value_cell(out, it->measured_si, it->gauge, system, 12);
  in_pm_cell(out, row->before_ratio, 9);
  value_cell(out, row->fitted_si, it->gauge, system, 12);
  in_pm_cell(out, row->after_ratio, 9);
  remarks(r, i, out);
}

static void table(const struct match_result *r, enum units_system system, struct buf *out)
{
  buf_puts(out,
           "\nPredicted against measured\n"
           "  reading     what                      predicted   ±           measured    of its ±  "
           "fitted      of its ±\n");
  for (int s = 0; s < r->readings->scene_count; s++) {
    bool titled = false;

    for (int i = 0; i < r->readings->count; i++) {
      if (r->readings->list[i].scene != s)
        continue;
      if (!titled)
        buf_printf(out, "  -- %s\n", r->readings->scenes[s].words);
      titled = true;
      row_text(r, i, system, out);
    }
  }
}

/* ---- figures ---- */

static void put_value(const struct match_figure *f, double si, enum units_system system,
                      struct buf *out)
{
  if (f->dimension == UNITS_RATIO)
    buf_printf(out, fabs(si) < 0.095 && f->of == MATCH_OF_SLOPE ? "%.3f" : "%.2f", si);
  else
    units_print(out, si, f->dimension, system);
}

static void values(const struct match_figure *f, enum units_system system, struct buf *out)
{
  bool times = f->of == MATCH_OF_FIGURE && f->dimension == UNITS_RATIO;
  bool nothing = fabs(f->fitted_si) < 0.02 * f->pm_si; /* no digits of what is not there */

  put_value(f, nothing ? 0.0 : f->fitted_si, system, out);
  buf_puts(out, " ± ");
  put_value(f, f->pm_si, system, out);
  if (times) {
    buf_puts(out, " times what is written, which is known to ± ");
  } else if (f->of == MATCH_OF_FIGURE || f->of == MATCH_OF_EXPONENT) {
    buf_puts(out, " where the file says ");
    put_value(f, f->written_si, system, out);
    buf_puts(out, " ± ");
  } else {
    buf_puts(out, ", known before to ± ");
  }
  put_value(f, f->was_pm_si, system, out);
  if (f->beyond)
    buf_puts(out, "; BEYOND ITS OWN ±");
  if (f->at_bound)
    buf_puts(out, "; AT ITS BOUND: the readings ask for what cannot be, so look for another cause");
}

static void together_with(const struct match_result *r, const struct match_figure *f,
                          struct buf *out)
{
  buf_puts(out, "; told only together with ");
  for (int w = 0; w < f->with_count; w++)
    buf_printf(out, "%s%s",
               w == 0                   ? ""
               : w + 1 == f->with_count ? " and "
                                        : ", ",
               r->figures[f->with[w]].name);
}

static bool is_listed(const struct match_figure *f, enum match_known known)
{
  return f->at_bound ? known == MATCH_KNOWN : f->known == known;
}

static void group(const struct match_result *r, enum match_known known, const char *heading,
                  enum units_system system, struct buf *out)
{
  bool any = false;

  for (int k = 0; k < r->figure_count; k++) {
    const struct match_figure *f = &r->figures[k];

    if (!is_listed(f, known))
      continue;
    if (!any)
      buf_printf(out, "\n%s\n", heading);
    any = true;
    buf_printf(out, "  %s: ", f->name);
    values(f, system, out);
    if (known == MATCH_TOGETHER)
      together_with(r, f, out);
    buf_putc(out, '\n');
  }
}

/* ---- figures no reading tells of, those of one kind and key together ---- */

static const struct facility_input *silent(const struct match_result *r, int k)
{
  const struct match_figure *f = &r->figures[k];
  bool is = f->known == MATCH_NOT && !f->at_bound && f->of == MATCH_OF_FIGURE;

  return is ? &r->facility->inputs[f->index] : NULL;
}

static bool alike(const struct facility_input *a, const struct facility_input *b)
{
  return a && b && strcmp(a->kind, b->kind) == 0 && strcmp(a->key, b->key) == 0;
}

static bool is_first(const struct match_result *r, int k)
{
  for (int i = 0; i < k; i++)
    if (alike(silent(r, i), silent(r, k)))
      return false;
  return silent(r, k) != NULL;
}

static void untouched(const struct match_result *r, struct buf *out)
{
  bool any = false;

  for (int k = 0; k < r->figure_count; k++) {
    int count = 0;

    if (!is_first(r, k))
      continue;
    buf_printf(out, "%s  %s %s: ", any ? "" : "\nNot told by any of these readings\n",
               silent(r, k)->kind, silent(r, k)->key);
    any = true;
    for (int i = k; i < r->figure_count; i++)
      if (alike(silent(r, i), silent(r, k)))
        buf_printf(out, "%s%s", count++ ? ", " : "", silent(r, i)->part);
    buf_putc(out, '\n');
  }
}

/* "the flow of MU/Gown with everything parked" */
static void next(const struct match_result *r, enum units_system system, struct buf *out)
{
  const struct match_next *n = &r->next;
  bool in_a_walk = false;

  if (!n->pool)
    return;
  buf_printf(out, "\nWhat is left in %s is known to ± ", n->pool);
  units_print(out, n->now_m3_s, UNITS_FLOW, system);
  buf_puts(out, ", by the file alone to ± ");
  units_print(out, n->written_m3_s, UNITS_FLOW, system);
  buf_puts(out, n->count > 0 ? ". Next read\n"
                             : ". No single reading of a walk or a flow hood would narrow it.\n");
  for (int i = 0; i < n->count; i++) {
    const struct match_next_reading *it = &n->list[i];

    buf_printf(out, "  %s %s%s%s (%s): then ± ", i == 0 ? "->     " : "or else", it->what,
               it->scene ? ", " : " itself", it->scene ? it->scene : "", it->how);
    in_a_walk = in_a_walk || it->scene;
    units_print(out, it->after_m3_s, UNITS_FLOW, system);
    buf_putc(out, '\n');
  }
  if (in_a_walk)
    buf_puts(out, "  How to get there, and what to see to first: inward walk.\n");
}

static void foot(const struct match_result *r, struct buf *out)
{
  if (r->misfit_most_ratio > 0.0)
    buf_printf(out,
               "\nAll together: misfit %.1f where chance allows %.1f; a single reading is OUTSIDE "
               "beyond %.2f of its ±.\n",
               r->misfit_ratio, r->misfit_most_ratio, r->coverage_factor_ratio / 2.0);
  if (r->misfit_ratio < far_less_ratio * r->readings->count)
    buf_puts(out,
             "The readings scatter far less than their ± would have it: give your instruments' own "
             "(section 'walk'), and more becomes known.\n");
  if (!r->converged)
    buf_puts(out, "THE FIT DID NOT SETTLE: take its figures for a hint.\n");
  buf_printf(
      out,
      "Figures and instruments may be off by their own ±; beyond %.2g standard uncertainties "
      "a reading pulls no harder (section 'match').\n"
      "%d steps. Suite %.12s.\n",
      r->facility->match.full_ratio, r->iterations, r->facility->sha256);
}

/* Of a sheet of predictions that came back: how many it met. */
static void foretold(const struct match_result *r, struct buf *out)
{
  int printed = 0, inside = 0;

  for (int i = 0; i < r->readings->count; i++) {
    printed += r->readings->list[i].printed;
    inside += match_is_foretold(&r->readings->list[i]);
  }
  if (printed == 0)
    return;
  buf_printf(out, "Predicted before the test%s%s: %d of %d inside their band",
             r->readings->printed_on ? ", on " : "",
             r->readings->printed_on ? r->readings->printed_on : "", inside, printed);
  if (r->readings->signed_by)
    buf_printf(out, "; signed before it by %s", r->readings->signed_by);
  else if (r->readings->printed_on) /* a sheet with a line for it */
    buf_puts(out, "; nobody signed before it");
  buf_puts(out, ".\n");
}

void match_text(const struct match_result *r, enum units_system system, struct buf *out)
{
  const struct facility *f = r->facility;

  buf_printf(out, "%s: %s\nNext: %s\n", verdicts[r->verdict].words, r->sentence, r->next_action);
  buf_printf(out, "%s%s%s%s   %s; readings: %d; scenes: %d%s%s%s%s\n",
             f->name ? f->name : "(no name)", f->label ? "   [" : "", f->label ? f->label : "",
             f->label ? "]" : "", r->readings->source, r->readings->count, r->readings->scene_count,
             r->readings->date ? ", read " : "", r->readings->date ? r->readings->date : "",
             r->readings->by ? " by " : "", r->readings->by ? r->readings->by : "");
  foretold(r, out);
  buf_puts(out, "It is no test of containment and releases no station.\n");
  if (r->other_suite)
    buf_puts(out, "READ FOR ANOTHER REVISION OF THE SUITE FILE.\n");
  buf_put_list(out, "Left out", r->readings->notes, r->readings->note_count);
  table(r, system, out);
  group(r, MATCH_KNOWN, "Known now", system, out);
  group(r, MATCH_BETTER, "Known better than before", system, out);
  group(r, MATCH_TOGETHER, "Only told together", system, out);
  untouched(r, out);
  next(r, system, out);
  foot(r, out);
}
