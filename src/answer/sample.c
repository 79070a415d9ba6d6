/* What draws of the figures say, beside what their slopes say. */
#include "answer/answer.h"

#include "answer/page_impl.h"
#include "numeric/numeric.h"

#include <math.h>
#include <stdio.h>

/* Clopper and Pearson 1934: exact, nineteen times in twenty. */
static void bounds(long missed, long draws, double *low_out, double *high_out)
{
  double k = (double)missed, n = (double)draws;

  *low_out = missed > 0 ? numeric_beta_quantile_ratio(k, n - k + 1, 0.025) : 0.0;
  *high_out = missed < draws ? numeric_beta_quantile_ratio(k + 1, n - k, 0.975) : 1.0;
}

/* Nearer than this no odds are told anywhere. */
static const double alike_ratio = 0.01;

struct answer_drawn answer_drawn_of(long missed, long draws, const struct air_odds *odds)
{
  struct answer_drawn d = {.missed = missed};

  if (draws <= 0) {
    d.missed_ratio = d.low_ratio = d.high_ratio = NAN;
    return d;
  }
  d.missed_ratio = (double)missed / (double)draws;
  bounds(missed, draws, &d.low_ratio, &d.high_ratio);
  d.compared = odds->known;
  d.agrees = odds->known && 1.0 - odds->met_ratio <= d.high_ratio + alike_ratio &&
             1.0 - odds->met_least_ratio >= d.low_ratio - alike_ratio;
  return d;
}

/* ---- one row after another, for text and JSON alike ---- */

struct rows {
  const struct page *page;
  const struct answer_sample *s;
  void (*row)(struct rows *rows, const char *kind, const char *id, const char *over,
              const struct air_odds *odds, const struct answer_drawn *d);
  struct emit *json;
  int disagreeing;
};

static void put(struct rows *r, const char *kind, const char *id, const char *over,
                const struct air_odds *odds, long missed)
{
  struct answer_drawn d = answer_drawn_of(missed, r->s->tally->draws - r->s->tally->unsolved, odds);

  r->disagreeing += d.compared && !d.agrees;
  r->row(r, kind, id, over, odds, &d);
}

static void each(struct rows *r)
{
  const struct facility *f = r->page->f;
  const struct air_answer *a = r->page->a;
  const struct air_sample *t = r->s->tally;
  int at = 0;

  for (int p = 0; p < a->pool_count; p++)
    put(r, "pool", air_pool_id(f, p), NULL, &a->pools[p].odds, t->pool_missed[p]);
  for (int i = 0; i < f->room_count; i++)
    for (int k = 0; k < f->rooms[i].keep_count; k++, at++)
      if (a->rooms[i].keeps[k].known)
        put(r, "keep", f->rooms[i].part.id, facility_node_id(f, f->rooms[i].keeps[k].over),
            &a->rooms[i].keeps[k].odds, t->keep_missed[at]);
  for (int i = 0; i < f->station_count; i++)
    if (a->stations[i].has_verdict && f->stations[i].criterion >= 0)
      put(r, "criterion", f->stations[i].part.id, NULL, &a->stations[i].odds, t->station_missed[i]);
}

/* ---- for programs ---- */

static void row_json(struct rows *r, const char *kind, const char *id, const char *over,
                     const struct air_odds *odds, const struct answer_drawn *d)
{
  struct emit *j = r->json;

  emit_object(j, NULL);
  emit_text(j, "kind", kind);
  emit_text(j, "id", id);
  emit_text(j, "over", over);
  emit_int(j, "missed", d->missed);
  emit_number(j, "missed_ratio", d->missed_ratio);
  emit_number(j, "low_ratio", d->low_ratio);
  emit_number(j, "high_ratio", d->high_ratio);
  emit_number_if(j, "met_ratio", odds->known, odds->met_ratio);
  emit_number_if(j, "met_least_ratio", odds->known, odds->met_least_ratio);
  if (d->compared)
    emit_bool(j, "agrees", d->agrees);
  else
    emit_null(j, "agrees");
  emit_close(j);
}

void answer_sample_json(const struct answer_sample *s, struct buf *out)
{
  const struct page page = {s->facility, s->scene, s->answer, UNITS_SYSTEM_SI, NULL};
  struct emit j;
  struct rows r = {.page = &page, .s = s, .row = row_json, .json = &j};

  emit_begin(&j, out);
  emit_object(&j, NULL);
  emit_text(&j, "schema", "inward.sample.1");
  emit_text(&j, "suite", s->facility->name);
  emit_text(&j, "label", s->facility->label);
  emit_text(&j, "suite_sha256", s->facility->sha256);
  emit_text(&j, "engine", answer_engine_version());
  answer_scene(&j, s->facility, s->scene);
  emit_int(&j, "seed", s->seed);
  emit_int(&j, "draws", s->tally->draws);
  emit_int(&j, "draws_asked", s->asked);
  emit_int(&j, "unsolved", s->tally->unsolved);
  emit_array(&j, "rows");
  each(&r);
  emit_close(&j);
  emit_int(&j, "disagreeing", r.disagreeing);
  emit_close(&j);
  emit_end(&j);
}

/* ---- for a person ---- */

static void share_cell(const struct page *p, double low, double high, int width)
{
  char text[PAGE_TEXT];

  if (high - low < 5e-4)
    snprintf(text, sizeof text, "%.1f %%", 100.0 * low);
  else
    snprintf(text, sizeof text, "%.1f to %.1f %%", 100.0 * low, 100.0 * high);
  if (width > 0)
    page_cell(p->out, text, width);
  else
    buf_puts(p->out, text);
}

static void row_text(struct rows *r, const char *kind, const char *id, const char *over,
                     const struct air_odds *odds, const struct answer_drawn *d)
{
  const struct page *p = r->page;
  char text[PAGE_TEXT];

  snprintf(text, sizeof text, "%s%s%s", id,
           over             ? " over "
           : kind[0] == 'p' ? ": anything"
                            : "",
           over             ? over
           : kind[0] == 'c' ? ": its criterion"
                            : "");
  page_cell(p->out, text, 26);
  snprintf(text, sizeof text, "%ld", d->missed);
  page_cell(p->out, text, 10);
  share_cell(p, d->low_ratio, d->high_ratio, 18);
  if (odds->known)
    share_cell(p, 1.0 - odds->met_ratio, 1.0 - odds->met_least_ratio,
               d->compared && !d->agrees ? 18 : 0);
  else
    buf_putc(p->out, '-');
  buf_puts(p->out, d->compared && !d->agrees ? "DIFFER: believe the draws\n" : "\n");
}

void answer_sample_text(const struct answer_sample *s, struct buf *out)
{
  const struct page page = {s->facility, s->scene, s->answer, UNITS_SYSTEM_SI, out};
  struct rows r = {.page = &page, .s = s, .row = row_text};
  const struct facility *f = s->facility;

  buf_printf(out, "%s%s%s%s   scene: %s%s\n\n", f->name ? f->name : "(no name)",
             f->label ? "   [" : "", f->label ? f->label : "", f->label ? "]" : "", s->scene->name,
             s->scene->is_trial ? ", changed   [TRIAL, not live]" : "");
  buf_printf(out, "%ld buildings drawn, every figure from its ±%s, each one solved; seed %ld\n",
             s->tally->draws, s->answer->counts_doubts ? "" : " (which is assumed)", s->seed);
  if (s->tally->draws < s->asked)
    buf_printf(out, "%ld were asked for: the time set aside for it ended first\n", s->asked);
  if (s->tally->unsolved > 0)
    buf_printf(out, "%ld of them could not be solved and count nowhere\n", s->tally->unsolved);
  buf_puts(out, "\nMissed                    in draws  that is           by slopes\n");
  each(&r);
  buf_puts(out,
           "\n\"That is\" holds nineteen times in twenty for so many draws; \"by slopes\" is what "
           "inward air says.\n");
  buf_printf(out,
             r.disagreeing > 0
                 ? "%d differ: a limit within the ± bends what the slopes take as straight.\n"
                 : "None differ by more than the draws' own error and 1 in 100.\n",
             r.disagreeing);
  buf_puts(out, "Figures are drawn normal (± is k = 2), independent of each other. What the file "
                "leaves out is in no draw.\n");
}
