/* What a change of the suite changes in the air: two answers, side by side by id. */
#include "answer/answer.h"

#include "answer/page_impl.h"

#include <math.h>
#include <string.h>

/* Smaller differences than these are not worth a person's time.  Common practice, no source. */
static const double worth_Pa = 0.1, worth_m3_s = 10.0 / 3600.0;

struct pair {
  const char *what, *id, *sub;
  double before, after;
  enum units_dimension dimension;
};

struct telling {
  struct buf *out;
  struct emit *json; /* one of the two */
  int count;
};

static int same_pool(const struct answer_side *a, int pool, const struct answer_side *b)
{
  for (int j = 0; j < b->answer->pool_count; j++)
    if (strcmp(air_pool_id(a->facility, pool), air_pool_id(b->facility, j)) == 0)
      return j;
  return -1;
}

static void tell(struct telling *t, const struct pair *p)
{
  double worth = p->dimension == UNITS_FLOW ? worth_m3_s : worth_Pa;

  if (isnan(p->before) && isnan(p->after))
    return;
  if (fabs(p->after - p->before) < worth)
    return;
  t->count++;
  if (t->json) {
    emit_object(t->json, NULL);
    emit_text(t->json, "what", p->what);
    emit_text(t->json, "id", p->id);
    emit_text(t->json, "over", p->sub);
    emit_number(t->json, p->dimension == UNITS_FLOW ? "before_m3_s" : "before_Pa", p->before);
    emit_number(t->json, p->dimension == UNITS_FLOW ? "after_m3_s" : "after_Pa", p->after);
    emit_close(t->json);
    return;
  }
  buf_printf(t->out, "    %s %s%s%s: ", p->id, p->what, p->sub ? " over " : "",
             p->sub ? p->sub : "");
  units_print(t->out, p->before, p->dimension, UNITS_SYSTEM_SI);
  buf_puts(t->out, " -> ");
  units_print(t->out, p->after, p->dimension, UNITS_SYSTEM_SI);
  buf_putc(t->out, '\n');
}

static void compare_pools(struct telling *t, const struct answer_side *a,
                          const struct answer_side *b)
{
  for (int i = 0; i < a->answer->pool_count; i++) {
    int j = same_pool(a, i, b);

    if (j < 0)
      continue;

    const struct air_pool *p = &a->answer->pools[i], *q = &b->answer->pools[j];

    tell(t, &(struct pair){"demand", air_pool_id(a->facility, i), NULL, p->demand_m3_s,
                           q->demand_m3_s, UNITS_FLOW});
    tell(t, &(struct pair){"headroom", air_pool_id(a->facility, i), NULL,
                           p->has_headroom ? p->headroom_m3_s : (double)NAN,
                           q->has_headroom ? q->headroom_m3_s : (double)NAN, UNITS_FLOW});
  }
}

/* The same keep on the other side, or NaN. */
static double keep_Pa(const struct answer_side *s, const char *room, const char *over)
{
  for (int i = 0; i < s->facility->room_count; i++)
    for (int k = 0; k < s->answer->rooms[i].keep_count; k++) {
      const struct air_keep *keep = &s->answer->rooms[i].keeps[k];

      if (strcmp(s->facility->rooms[i].part.id, room) == 0 && keep->known &&
          strcmp(facility_node_id(s->facility, keep->keep->over), over) == 0)
        return keep->actual_Pa;
    }
  return (double)NAN;
}

static void compare_rooms(struct telling *t, const struct answer_side *a,
                          const struct answer_side *b)
{
  for (int i = 0; i < a->facility->room_count; i++)
    for (int k = 0; k < a->answer->rooms[i].keep_count; k++) {
      const char *room = a->facility->rooms[i].part.id;
      const char *over = facility_node_id(a->facility, a->answer->rooms[i].keeps[k].keep->over);

      tell(t, &(struct pair){"pressure", room, over, keep_Pa(a, room, over), keep_Pa(b, room, over),
                             UNITS_PRESSURE_DIFFERENCE});
    }
}

static void compare_stations(struct telling *t, const struct answer_side *a,
                             const struct answer_side *b)
{
  for (int i = 0; i < a->facility->station_count; i++) {
    int j = facility_station_find(b->facility, a->facility->stations[i].part.id);

    if (j >= 0)
      tell(t, &(struct pair){"flow", a->facility->stations[i].part.id, NULL,
                             a->answer->stations[i].flow_m3_s, b->answer->stations[j].flow_m3_s,
                             UNITS_FLOW});
  }
}

/* ---- does the later answer lie within the earlier one's ±? ---- */

struct interval {
  const char *id;
  const struct air_spare *before, *after;
};

enum lie { LIES_INSIDE, LIES_ACROSS, LIES_OUTSIDE };

/* Two that differ by less are the same. */
static const double same_ratio = 1e-6;

static enum lie lie_of(const struct interval *i)
{
  double apart = fabs(i->after->flow_m3_s - i->before->flow_m3_s);
  double within = i->before->pm_m3_s * (1.0 + same_ratio);

  if (apart + i->after->pm_m3_s <= within)
    return LIES_INSIDE;
  return apart <= within ? LIES_ACROSS : LIES_OUTSIDE;
}

static bool is_narrower(const struct interval *i)
{
  return i->before->pm_m3_s - i->after->pm_m3_s >= worth_m3_s;
}

static bool is_wider(const struct interval *i)
{
  return i->after->pm_m3_s - i->before->pm_m3_s >= worth_m3_s;
}

/* A figure of both sides that moved by more than the earlier ± allowed, or NULL. */
static const struct facility_input *wrong_input(const struct facility *before,
                                                const struct facility *after,
                                                const struct facility_input **now_out)
{
  for (int i = 0; i < before->input_count; i++)
    for (int j = 0; j < after->input_count; j++) {
      const struct facility_input *was = &before->inputs[i], *now = &after->inputs[j];

      if (strcmp(was->part, now->part) == 0 && strcmp(was->key, now->key) == 0 &&
          was->dimension == now->dimension &&
          was->figure != FACILITY_FIGURE_PRESSURE && /* over what may differ */
          fabs(now->value_si - was->value_si) > was->plus_minus_si) {
        *now_out = now;
        return was;
      }
    }
  return NULL;
}

/* A figure that only one of the two has, or NULL. */
static const struct facility_input *only_in(const struct facility *one,
                                            const struct facility *other)
{
  for (int i = 0; i < one->input_count; i++) {
    bool found = false;

    for (int j = 0; j < other->input_count && !found; j++)
      found = strcmp(one->inputs[i].part, other->inputs[j].part) == 0 &&
              strcmp(one->inputs[i].key, other->inputs[j].key) == 0;
    if (!found)
      return &one->inputs[i];
  }
  return NULL;
}

static void put_only(const char *words, const struct facility_input *input, struct buf *out)
{
  if (!input)
    return;
  buf_puts(out, words);
  answer_input(input, UNITS_SYSTEM_SI, out);
}

/* Why the later one, which knows more or other things, is no narrower. */
static void why_not_narrower(const struct answer_side *a, const struct answer_side *b,
                             const struct interval *i, struct buf *out)
{
  if (i->after->narrow_count == 0 || !(is_wider(i) || b->answer->tier > a->answer->tier))
    return;
  buf_puts(out, "weakest now: ");
  answer_input(&b->facility->inputs[i->after->narrow[0].input], UNITS_SYSTEM_SI, out);
}

/* Why the earlier answer was wrong. */
static void why_outside(const struct answer_side *a, const struct answer_side *b,
                        const struct interval *i, struct buf *out)
{
  const struct facility_input *now = NULL, *was = wrong_input(a->facility, b->facility, &now);

  if (was) {
    answer_input(was, UNITS_SYSTEM_SI, out);
    buf_puts(out, " is now ");
    units_print(out, now->value_si, now->dimension, UNITS_SYSTEM_SI);
    buf_puts(out, "; ");
  }
  if (strcmp(i->before->binding, i->after->binding) == 0 && !was) {
    buf_puts(out, "the same binds; what differs is listed above");
    put_only("; only the earlier suite has ", only_in(a->facility, b->facility), out);
    put_only("; only the later suite has ", only_in(b->facility, a->facility), out);
  } else {
    buf_printf(out, "what binds now: %s (before: %s)", i->after->binding, i->before->binding);
  }
}

static void interval_json(struct emit *j, const struct interval *i, enum lie lie, const char *why)
{
  static const char *const words[] = {"inside", "across", "outside"};

  emit_object(j, NULL);
  emit_text(j, "pool", i->id);
  emit_number(j, "before_m3_s", i->before->flow_m3_s);
  emit_number(j, "before_pm_m3_s", i->before->pm_m3_s);
  emit_number(j, "after_m3_s", i->after->flow_m3_s);
  emit_number(j, "after_pm_m3_s", i->after->pm_m3_s);
  emit_text(j, "lies", words[lie]);
  emit_bool(j, "narrower", is_narrower(i));
  emit_text(j, "why", why);
  emit_close(j);
}

static void interval_text(struct buf *out, const struct interval *i, enum lie lie, const char *why)
{
  static const char *const words[] = {"inside", "its ± reaches beyond", "OUTSIDE"};

  buf_printf(out, "    %s left: ", i->id);
  units_print(out, i->before->flow_m3_s, UNITS_FLOW, UNITS_SYSTEM_SI);
  buf_puts(out, " ± ");
  units_print(out, i->before->pm_m3_s, UNITS_FLOW, UNITS_SYSTEM_SI);
  buf_puts(out, " -> ");
  units_print(out, i->after->flow_m3_s, UNITS_FLOW, UNITS_SYSTEM_SI);
  buf_puts(out, " ± ");
  units_print(out, i->after->pm_m3_s, UNITS_FLOW, UNITS_SYSTEM_SI);
  buf_printf(out, ": %s, %s%s",
             is_narrower(i) ? "narrower"
             : is_wider(i)  ? "wider"
                            : "as wide",
             words[lie], why ? ": " : "");
  page_say(&(struct page){.system = UNITS_SYSTEM_SI, .out = out}, why ? why : "");
  buf_putc(out, '\n');
}

static void compare_intervals(struct telling *t, const struct answer_side *a,
                              const struct answer_side *b)
{
  for (int p = 0; p < a->answer->pool_count; p++) {
    int q = same_pool(a, p, b);
    struct interval i = {air_pool_id(a->facility, p), &a->answer->pools[p].spare,
                         q >= 0 ? &b->answer->pools[q].spare : NULL};
    struct buf why;

    if (!i.after || !i.before->known || !i.after->known)
      continue;

    enum lie lie = lie_of(&i);

    buf_init(&why, 2048);
    if (lie == LIES_OUTSIDE)
      why_outside(a, b, &i, &why);
    else if (!is_narrower(&i))
      why_not_narrower(a, b, &i, &why);
    if (t->json)
      interval_json(t->json, &i, lie, why.used ? why.text : NULL);
    else
      interval_text(t->out, &i, lie, why.used ? why.text : NULL);
    buf_release(&why);
  }
}

static void compare_all(struct telling *t, const struct answer_side *a, const struct answer_side *b)
{
  compare_pools(t, a, b);
  compare_rooms(t, a, b);
  compare_stations(t, a, b);
}

void answer_compare_text(const struct answer_side *before, const struct answer_side *after,
                         struct buf *out)
{
  struct telling t = {.out = out};

  buf_printf(
      out, "  scene %s: %s%s%s\n", before->scene->name, air_level_name(before->answer->state),
      before->answer->state == after->answer->state ? "" : " -> ",
      before->answer->state == after->answer->state ? "" : air_level_name(after->answer->state));
  compare_all(&t, before, after);
  compare_intervals(&t, before, after);
  if (t.count == 0)
    buf_puts(out, "    no flow by 10 m3/h and no pressure by 0.1 Pa\n");
}

void answer_compare_json(const struct answer_side *before, const struct answer_side *after,
                         struct emit *json)
{
  struct telling t = {.json = json};

  emit_object(json, NULL);
  emit_text(json, "scene", before->scene->name);
  emit_text(json, "state_before", air_level_key(before->answer->state));
  emit_text(json, "state_after", air_level_key(after->answer->state));
  emit_array(json, "changes");
  compare_all(&t, before, after);
  emit_close(json);
  emit_array(json, "intervals");
  compare_intervals(&t, before, after);
  emit_close(json);
  emit_close(json);
}
