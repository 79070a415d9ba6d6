/* How sure an answer is, for a person. */
#include "answer/answer.h"

#include "answer/page_impl.h"

#include <math.h>
#include <string.h>

double page_two_digits(double pm)
{
  double step = pm > 0.0 ? pow(10.0, floor(log10(pm)) - 1.0) : 1.0;

  return round(pm / step) * step;
}

void page_percent(double ratio, struct buf *out)
{
  buf_printf(out, ratio < 0.01 ? "%.1f %%" : "%.0f %%", ratio * 100.0);
}

/* A ± beside what it belongs to: in the same unit for pressures, else in percent. */
static void spread(const struct facility_input *in, double plus_minus_si, enum units_system system,
                   struct buf *out)
{
  if (in->figure == FACILITY_FIGURE_PRESSURE || in->value_si == 0.0)
    units_print(out, plus_minus_si, in->dimension, system);
  else
    page_percent(plus_minus_si / fabs(in->value_si), out);
}

void page_spread(const struct page *p, const struct facility_input *in, double plus_minus_si)
{
  spread(in, plus_minus_si, p->system, p->out);
}

void answer_input(const struct facility_input *in, enum units_system system, struct buf *out)
{
  buf_printf(out, "%s, %s", in->part, in->key);
  if (in->dimension != UNITS_RATIO) {
    buf_puts(out, ": ");
    units_print(out, in->value_si, in->dimension, system);
  }
  buf_puts(out, " ± ");
  spread(in, in->plus_minus_si, system, out);
  if (in->from != FACILITY_DOUBT_STATED)
    buf_puts(out, in->from == FACILITY_DOUBT_OF_SUITE ? " (doubts)" : " (assumed)");
}

static void flow(const struct page *p, double flow_m3_s)
{
  char text[PAGE_TEXT];

  buf_puts(p->out, page_shown(p, text, sizeof text, true, flow_m3_s, UNITS_FLOW));
}

/* ---- how many at the mark ---- */

/* The weakest pool first: where several allow the same number, it is the one that binds. */
static const struct air_pool *least_at_mark(const struct air_answer *a, int *pool_out)
{
  const struct air_pool *least = NULL;

  for (int k = a->weakest >= 0 ? -1 : 0; k < a->pool_count; k++) {
    int i = k < 0 ? a->weakest : k;
    const struct air_pool *p = &a->pools[i];

    if (p->has_mark && p->mark_guaranteed < p->mark_of &&
        (!least || p->mark_guaranteed < least->mark_guaranteed ||
         (p->mark_guaranteed == least->mark_guaranteed && p->mark_perhaps < least->mark_perhaps))) {
      least = p;
      *pool_out = i;
    }
  }
  return least;
}

/* Stations that have something to raise, whatever pool they are in. */
static int marks(const struct page *p)
{
  int count = 0;

  for (int i = 0; i < p->f->station_count; i++) {
    const struct facility_station *s = &p->f->stations[i];

    count += s->in_service && !p->scene->stations[i].withdrawn &&
             (s->flow != FACILITY_CONSTANT || s->has_openings);
  }
  return count;
}

static void at_mark(const struct page *p)
{
  int pool = -1, perhaps = marks(p);
  const struct air_pool *least = least_at_mark(p->a, &pool);
  bool any = false;

  for (int i = 0; i < p->a->pool_count; i++) {
    const struct air_pool *q = &p->a->pools[i];

    any = any || q->has_mark;
    if (q->has_mark && q->mark_perhaps < q->mark_of && q->mark_perhaps < perhaps)
      perhaps = q->mark_perhaps;
  }
  if (!any)
    return;
  if (!least) {
    buf_printf(p->out, "  At the mark, all others parked: all %d\n", marks(p));
    return;
  }
  buf_printf(p->out, "  At the mark, all others parked: any %d of %d", least->mark_guaranteed,
             marks(p));
  if (perhaps > least->mark_guaranteed)
    buf_printf(p->out, "; perhaps %d", perhaps);
  buf_printf(p->out, "; %s binds\n", air_pool_id(p->f, pool));
}

void page_sure(const struct page *p)
{
  const struct air_spare *spare;
  const struct air_pool *pool;

  if (!p->a->sure)
    return;
  at_mark(p);
  if (p->a->weakest < 0)
    return;
  pool = &p->a->pools[p->a->weakest];
  spare = &pool->spare;
  buf_printf(p->out, "  %s has ", air_pool_id(p->f, p->a->weakest));
  flow(p, fabs(spare->flow_m3_s));
  buf_puts(p->out, spare->flow_m3_s < 0.0 ? " too little, ± " : " left, ± ");
  flow(p, spare->pm_m3_s);
  if (pool->within_short)
    buf_puts(p->out, p->a->counts_doubts ? ": SHORT IS WITHIN THE ±"
                                         : ": short is within the ±, which is assumed");
  if (spare->narrow_count > 0) {
    buf_puts(p->out, "; weakest input: ");
    answer_input(&p->f->inputs[spare->narrow[0].input], p->system, p->out);
  }
  buf_putc(p->out, '\n');
}

/* ---- what would narrow it ---- */

static void one_figure(const struct page *p, int rank, const struct air_narrow *n)
{
  const struct facility_input *in = &p->f->inputs[n->input];

  buf_printf(p->out, "  %d. ", rank);
  answer_input(in, p->system, p->out);
  buf_puts(p->out, ", ");
  page_percent(n->share_ratio, p->out);
  buf_printf(p->out, " of it%s%s; known to ± ", in->find ? ": " : "", in->find ? in->find : "");
  spread(in, in->at_best_si, p->system, p->out);
  buf_puts(p->out, ", ± ");
  flow(p, n->after_m3_s);
  buf_puts(p->out, " would be left\n");
}

void page_narrow(const struct page *p)
{
  static const char *const numbers[] = {"", "The figure", "The two figures", "The three figures"};
  const struct air_spare *spare;

  if (!p->a->sure || p->a->weakest < 0)
    return;
  spare = &p->a->pools[p->a->weakest].spare;
  if (spare->narrow_count == 0)
    return;
  buf_printf(p->out, "\n%s that would narrow %s's ± ", numbers[spare->narrow_count],
             air_pool_id(p->f, p->a->weakest));
  flow(p, spare->pm_m3_s);
  buf_puts(p->out, " most\n");
  for (int i = 0; i < spare->narrow_count; i++)
    one_figure(p, i + 1, &spare->narrow[i]);
  if (spare->narrow_count > 1) {
    buf_puts(p->out, "  together: ± ");
    flow(p, spare->narrowed_m3_s);
    buf_putc(p->out, '\n');
  }
  buf_puts(p->out, p->f->doubts_at_worst ? "  all figures at their worst at once (doubts: combine)"
                                         : "  figures taken as independent, nineteen times in "
                                           "twenty; all at their worst at once: ± ");
  if (!p->f->doubts_at_worst)
    flow(p, spare->worst_m3_s);
  buf_putc(p->out, '\n');
}

void page_cannot(const struct page *p)
{
  if (p->a->cannot_count == 0)
    return;
  buf_printf(p->out, "\nNot told at this tier (%s)\n", air_tier_name(p->a->tier));
  for (int i = 0; i < p->a->cannot_count; i++)
    buf_printf(p->out, "  - %s\n", p->a->cannot[i]);
}
