/* Own matches for people and programs. */
#include "nightly/nightly_impl.h"

#include "units/units.h"

#include <math.h>
#include <string.h>

static const struct when_zone *zone_of(const struct nightly_place *place)
{
  return place->zone ? place->zone : when_utc();
}

const char *nightly_none(const struct nightly_place *place, const struct nightly_list *list)
{
  if (list->count > 0)
    return NULL;
  if (place->why)
    return place->why;
  if (place->facility->match.nightly_min < 0)
    return "the board does not match itself: the suite file names no time for it; for instance "
           "match: {each night at: \"03:00\"}";
  return "no match of the record is kept yet: the board keeps one each night, or you by hand: "
         "'inward match SUITE --record FILE --keep'";
}

/* ---- a figure over the nights ---- */

struct course {
  const struct nightly_figure *now;
  int first, last, nights; /* the oldest and newest match that tell it, in the list */
  double moved_si, moved_pm_si;
  bool drifts; /* moved by more than both ± together, were they independent */
};

static struct course course_of(const struct nightly_list *list, int latest,
                               const struct nightly_figure *figure)
{
  struct course c = {.now = figure, .first = latest, .last = latest};
  const struct nightly_figure *oldest = figure;

  for (int i = latest; i < list->count; i++) {
    const struct nightly_figure *then = nightly_is_like(&list->list[latest], &list->list[i])
                                            ? nightly_figure_of(&list->list[i], figure->name)
                                            : NULL;

    if (!then || !isfinite(then->pm_si))
      continue;
    c.nights++;
    c.first = i;
    oldest = then;
  }
  c.moved_si = figure->fitted_si - oldest->fitted_si;
  c.moved_pm_si = hypot(figure->pm_si, oldest->pm_si);
  c.drifts = c.nights > 1 && fabs(c.moved_si) > c.moved_pm_si;
  return c;
}

/* The newest that has a verdict; -1: there is none. */
static int latest_of(const struct nightly_list *list)
{
  const struct nightly_match *latest = nightly_before(list, 0);

  return latest ? (int)(latest - list->list) : -1;
}

/* ---- JSON ---- */

static void put_match(struct emit *j, const char *key, const struct nightly_place *place,
                      const struct nightly_match *m)
{
  emit_object(j, key);
  emit_int(j, "number", m->number);
  when_emit(j, "at", m->t_ms);
  when_emit(j, "from", m->from_ms);
  when_emit(j, "to", m->to_ms);
  emit_text(j, "verdict", m->verdict);
  emit_text(j, "words", m->words);
  emit_text(j, "sentence", m->sentence);
  emit_text(j, "next_action", m->next_action);
  emit_text(j, "why", m->why);
  emit_text(j, "was", m->was);
  emit_text(j, "suite_sha256", m->suite_sha256);
  emit_bool(j, "other_suite", strcmp(m->suite_sha256, place->facility->sha256) != 0);
  emit_text(j, "engine", m->engine);
  emit_int(j, "readings", m->readings);
  emit_int(j, "scenes", m->scenes);
  emit_int(j, "outside", m->outside);
  emit_int(j, "outliers", m->outliers);
  emit_int(j, "contradictions", m->contradictions);
  emit_int(j, "known_better", m->known);
  emit_bool(j, "settled", m->settled);
  emit_int(j, "figures_left_out", m->figures_left_out);
  emit_texts(j, "left_out", m->left_out, m->left_out_count);
  emit_close(j);
}

static void put_nights(struct emit *j, const struct nightly_list *list, int latest,
                       const char *name)
{
  emit_array(j, "nights");
  for (int i = list->count - 1; i >= latest; i--) {
    const struct nightly_figure *then = nightly_is_like(&list->list[latest], &list->list[i])
                                            ? nightly_figure_of(&list->list[i], name)
                                            : NULL;

    if (!then)
      continue;
    emit_object(j, NULL);
    when_emit(j, "at", list->list[i].t_ms);
    emit_number(j, "fitted_si", then->fitted_si);
    emit_number(j, "plus_minus_si", then->pm_si);
    emit_close(j);
  }
  emit_close(j);
}

static void put_course(struct emit *j, const struct nightly_list *list, int latest,
                       const struct nightly_figure *f)
{
  struct course c = course_of(list, latest, f);

  emit_object(j, NULL);
  emit_text(j, "figure", f->name);
  emit_text(j, "of", f->of);
  emit_text(j, "unit", f->unit);
  emit_text(j, "known", f->known);
  emit_number(j, "written_si", f->written_si);
  emit_number(j, "written_plus_minus_si", f->was_pm_si);
  emit_number(j, "fitted_si", f->fitted_si);
  emit_number(j, "plus_minus_si", f->pm_si);
  emit_number_if(j, "moved_si", c.nights > 1, c.moved_si);
  emit_number_if(j, "moved_plus_minus_si", c.nights > 1, c.moved_pm_si);
  emit_bool(j, "drifts", c.drifts);
  put_nights(j, list, latest, f->name);
  emit_close(j);
}

static void put_time_of_day(struct emit *j, int minute)
{
  struct buf text;

  buf_init(&text, 10);
  buf_printf(&text, "%02d:%02d", minute / 60, minute % 60);
  emit_text(j, "each_night_at", minute < 0 ? NULL : text.text);
  buf_release(&text);
}

void nightly_json(const struct nightly_place *place, const struct nightly_list *list,
                  struct buf *out)
{
  struct emit json, *j = &json;
  int latest = latest_of(list);

  emit_begin(j, out);
  emit_object(j, NULL);
  emit_text(j, "schema", "inward.own_matches.1");
  emit_text(j, "suite", place->facility->name);
  emit_text(j, "label", place->facility->label);
  emit_text(j, "suite_sha256", place->facility->sha256);
  when_emit(j, "now", place->now_ms);
  put_time_of_day(j, place->facility->match.nightly_min);
  emit_number(j, "looks_back_s", place->facility->match.back_s);
  emit_text(j, "reason", nightly_none(place, list));
  emit_number_if(j, "age_s", list->count > 0,
                 list->count > 0 ? (double)(place->now_ms - list->list[0].to_ms) * 1e-3 : 0);
  if (list->count > 0)
    put_match(j, "latest", place, &list->list[0]);
  else
    emit_null(j, "latest");
  emit_array(j, "earlier");
  for (int i = 1; i < list->count; i++)
    put_match(j, NULL, place, &list->list[i]);
  emit_close(j);
  emit_array(j, "figures");
  for (int k = 0; latest >= 0 && k < list->list[latest].figure_count; k++)
    put_course(j, list, latest, &list->list[latest].figures[k]);
  emit_close(j);
  emit_close(j);
  emit_end(j);
}

/* ---- for people ---- */

static void put_value(struct buf *out, const char *unit, double si)
{
  for (int d = UNITS_NOTHING + 1; d < UNITS_DIMENSION_COUNT; d++)
    if (d != UNITS_RATIO && strcmp(units_si_text((enum units_dimension)d), unit) == 0) {
      units_print(out, si, (enum units_dimension)d, UNITS_SYSTEM_SI);
      return;
    }
  buf_printf(out, "%.3f", si);
}

static void put_pm(struct buf *out, const char *unit, double si, double pm_si)
{
  bool nothing = fabs(si) < 0.02 * pm_si; /* no digits of what is not there */

  put_value(out, unit, nothing ? 0.0 : si);
  if (isfinite(pm_si)) {
    buf_puts(out, " ± ");
    put_value(out, unit, pm_si);
  } else {
    buf_puts(out, ", at its bound");
  }
}

static void course_text(const struct nightly_place *place, const struct nightly_list *list,
                        int latest, const struct nightly_figure *f, struct buf *out)
{
  struct course c = course_of(list, latest, f);

  buf_printf(out, "  %s: ", f->name);
  put_pm(out, f->unit, f->fitted_si, f->pm_si);
  buf_puts(out, ", written ");
  put_pm(out, f->unit, f->written_si, f->was_pm_si);
  if (c.nights > 1) {
    buf_puts(out, c.drifts ? "; DRIFTS: moved by " : "; moved by ");
    put_pm(out, f->unit, c.moved_si, c.moved_pm_si);
    buf_puts(out, " since ");
    when_print(out, zone_of(place), list->list[c.first].t_ms);
  }
  buf_putc(out, '\n');
}

static bool is_listed(const struct nightly_figure *f)
{
  return strcmp(f->known, "known") == 0 || strcmp(f->known, "better") == 0;
}

static void figures_text(const struct nightly_place *place, const struct nightly_list *list,
                         struct buf *out)
{
  int latest = latest_of(list);
  bool titled = false;

  for (int k = 0; latest >= 0 && k < list->list[latest].figure_count; k++) {
    const struct nightly_figure *f = &list->list[latest].figures[k];

    if (!is_listed(f) && !course_of(list, latest, f).drifts)
      continue;
    if (!titled)
      buf_puts(out, "\nFigures known better for it\n");
    titled = true;
    course_text(place, list, latest, f, out);
  }
}

static void match_line(const struct nightly_place *place, const struct nightly_match *m,
                       struct buf *out)
{
  when_print(out, zone_of(place), m->to_ms);
  buf_puts(out, ", of ");
  when_print_span(out, (double)(m->to_ms - m->from_ms) * 1e-3);
  if (m->verdict)
    buf_printf(out, ": %s: %s", m->words, m->sentence);
  else
    buf_printf(out, ": NO ANSWER: %s", m->why);
  if (m->was)
    buf_puts(out, " ANOTHER VERDICT THAN BEFORE.");
  if (strcmp(m->suite_sha256, place->facility->sha256) != 0)
    buf_puts(out, " By another revision of the suite file.");
  buf_putc(out, '\n');
}

void nightly_text(const struct nightly_place *place, const struct nightly_list *list,
                  struct buf *out)
{
  const struct facility *f = place->facility;
  const char *none = nightly_none(place, list);

  buf_printf(out,
             "%s%s%s%s   the board's own matches: does the model match what the record holds?\n",
             f->name ? f->name : "(no name)", f->label ? "   [" : "", f->label ? f->label : "",
             f->label ? "]" : "");
  buf_puts(out, "It is no test of containment and releases no station; it changes no figure.\n");
  if (none) {
    buf_printf(out, "None: %s\n", none);
    return;
  }
  buf_puts(out, "Latest (");
  when_print_span(out, (double)(place->now_ms - list->list[0].to_ms) * 1e-3);
  buf_puts(out, " old)\n  ");
  match_line(place, &list->list[0], out);
  if (list->list[0].next_action)
    buf_printf(out, "Next: %s\n", list->list[0].next_action);
  buf_put_list(out, "Left out", list->list[0].left_out, list->list[0].left_out_count);
  for (int i = 1; i < list->count; i++) {
    buf_puts(out, i == 1 ? "\nEarlier\n  " : "  ");
    match_line(place, &list->list[i], out);
  }
  figures_text(place, list, out);
}
