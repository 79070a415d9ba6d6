/* How likely each keep and criterion is met, within the ± of the figures, and which are to blame. */
#include "answer/answer.h"

#include "answer/page_impl.h"
#include "numeric/numeric.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Beyond this the tail of a normal distribution is no longer believed. */
static const double sure_enough_ratio = 0.99;

/* ---- for programs ---- */

static const char *const doubt_from[] = {"stated", "doubts", "assumed"};

static void cause_json(struct emit *j, const struct facility *f, const struct air_cause *cause)
{
  const struct facility_input *in = &f->inputs[cause->input];
  struct buf words;

  buf_init(&words, 512);
  answer_input(in, UNITS_SYSTEM_SI, &words);
  emit_object(j, NULL);
  emit_text(j, "input", words.text);
  emit_text(j, "kind", in->kind);
  emit_text(j, "part", in->part);
  emit_text(j, "key", in->key);
  emit_text(j, "from", doubt_from[in->from]);
  emit_bool(j, "raises", cause->raises);
  emit_number(j, "share_ratio", cause->share_ratio);
  emit_text(j, "find", in->find);
  emit_close(j);
  buf_release(&words);
}

void causes_json(struct emit *j, const struct facility *f, const struct air_causes *causes)
{
  emit_array(j, "causes");
  for (int k = 0; k < causes->count; k++)
    cause_json(j, f, &causes->list[k]);
  emit_close(j);
}

void odds_json(struct emit *j, const struct facility *f, const struct air_odds *odds)
{
  emit_object(j, "odds");
  emit_number_if(j, "met_ratio", odds->known, odds->met_ratio);
  emit_number_if(j, "met_least_ratio", odds->known, odds->met_least_ratio);
  emit_text(j, "why", odds->why);
  causes_json(j, f, &odds->causes);
  emit_close(j);
}

/* ---- for a person ---- */

/* "1 in 6 that it is missed"; nothing is said more closely than it can be known. */
void page_odds_words(const struct page *p, const struct air_odds *odds)
{
  double least = 1.0 - odds->met_ratio, most = 1.0 - odds->met_least_ratio;
  struct buf low, high;

  if (!odds->known) {
    buf_puts(p->out, odds->why ? odds->why : "not known");
    return;
  }
  if (least >= sure_enough_ratio) {
    buf_puts(p->out, "missed in more than 99 of 100 such buildings");
    return;
  }
  if (least > 0.95) {
    buf_puts(p->out, "missed in more than 19 of 20 such buildings");
    return;
  }
  if (most <= 1.0 - sure_enough_ratio) {
    buf_puts(p->out, "missed in fewer than 1 of 100 such buildings");
    return;
  }
  buf_init(&low, 64);
  buf_init(&high, 64);
  numeric_odds(fmax(least, 1e-3), &low);
  numeric_odds(most, &high);
  buf_puts(p->out, low.text);
  if (strcmp(low.text, high.text) != 0)
    buf_printf(p->out, " to %s that it is missed (a limit lies within the ±)", high.text);
  else
    buf_puts(p->out, " that it is missed");
  buf_release(&low);
  buf_release(&high);
}

void page_causes(const struct page *p, const char *indent, const struct air_causes *causes)
{
  for (int k = 0; k < causes->count; k++) {
    buf_printf(p->out, "%s%d. ", indent, k + 1);
    answer_input(&p->f->inputs[causes->list[k].input], p->system, p->out);
    buf_puts(p->out, ", ");
    page_percent(causes->list[k].share_ratio, p->out);
    buf_puts(p->out, " of its ±\n");
  }
}

static bool in_doubt(const struct air_odds *odds)
{
  return odds->known && odds->met_least_ratio < sure_enough_ratio;
}

struct told {
  int doubtful, sure;
};

static void tell(const struct page *p, struct told *told, const char *name,
                 const struct air_odds *odds)
{
  told->sure += odds->known && !in_doubt(odds);
  if (!in_doubt(odds))
    return;
  if (told->doubtful++ == 0)
    buf_printf(p->out, "\nHow likely, the figures anywhere within their ±%s\n",
               p->a->counts_doubts ? "" : " (which is assumed)");
  buf_puts(p->out, "  ");
  page_cell(p->out, name, 26);
  page_odds_words(p, odds);
  if (odds->causes.count > 0) {
    const struct facility_input *in = &p->f->inputs[odds->causes.list[0].input];

    buf_printf(p->out, "; most by %s, %s", in->part, in->key);
  }
  buf_putc(p->out, '\n');
}

static void tell_rest(const struct page *p, const struct told *told)
{
  if (told->doubtful > 0 && told->sure > 0)
    buf_printf(p->out, "  the others (%d): missed in fewer than 1 of 100 such buildings\n",
               told->sure);
  else if (told->sure > 0)
    buf_printf(p->out,
               "\nHow likely, the figures anywhere within their ±%s\n"
               "  all that is judged (%d): missed in fewer than 1 of 100 such buildings\n",
               p->a->counts_doubts ? "" : " (which is assumed)", told->sure);
}

void page_odds(const struct page *p)
{
  struct told told = {0, 0};
  char name[PAGE_TEXT];

  if (!p->a->sure)
    return;
  for (int i = 0; i < p->a->pool_count; i++) {
    snprintf(name, sizeof name, "%s: anything", air_pool_id(p->f, i));
    tell(p, &told, name, &p->a->pools[i].odds);
  }
  for (int i = 0; i < p->f->room_count; i++)
    for (int k = 0; k < p->a->rooms[i].keep_count; k++) {
      snprintf(name, sizeof name, "%s over %s", p->f->rooms[i].part.id,
               facility_node_id(p->f, p->a->rooms[i].keeps[k].keep->over));
      tell(p, &told, name, &p->a->rooms[i].keeps[k].odds);
    }
  for (int i = 0; i < p->f->station_count; i++) {
    snprintf(name, sizeof name, "%s: its criterion", p->f->stations[i].part.id);
    tell(p, &told, name, &p->a->stations[i].odds);
  }
  tell_rest(p, &told);
}
