/* inward past --timeline and --plot: what was measured. */
#include "cli/past_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  LINES_USUALLY = 300,
  LINES_MOST = 1000000,
  ROWS_USUALLY = 26,
  ROWS_MOST = 2000,
  PLOTS_MOST = 20,
  DAY_MS = 24 * 3600 * 1000
};

/* ---- which span ---- */

static enum err_code read_moments(const struct past *past, struct past_span *span, struct err *err)
{
  const struct past_request *asked = past->asked;
  enum err_code code = past_bound(past, "--from", asked->from, INT64_MIN, &span->from_ms, err);

  if (code == ERR_OK)
    code = past_bound(past, "--to", asked->to, INT64_MAX, &span->to_ms, err);
  if (code == ERR_OK)
    code = past_bound(past, "--as-of", asked->as_of, INT64_MAX, &span->known_ms, err);
  if (code == ERR_OK && span->from_ms >= span->to_ms)
    return err_set(err, ERR_INPUT, "--from %.40s is not before --to %.40s", asked->from, asked->to);
  return code;
}

enum err_code past_newest(struct past *past, int64_t *out_ms, struct err *err)
{
  int count = past->feeds->point_count;
  struct feed_observation *list = calloc((size_t)count + 1, sizeof *list);

  if (!list)
    err_no_memory();
  enum err_code code = record_latest(past->record, list, count, err);

  *out_ms = INT64_MIN;
  for (int i = 0; code == ERR_OK && i < count; i++)
    if (list[i].t_ms > *out_ms)
      *out_ms = list[i].t_ms;
  free(list);
  return code;
}

enum err_code past_refuse_empty(struct past *past, struct err *err)
{
  const char *name = past->facility->name ? past->facility->name : "(no name)", *other;

  if (record_other_suite(past->record, past->facility, &past->arena, &other, err) != ERR_OK)
    return err->code;
  if (other)
    return err_set(
        err, ERR_INPUT,
        "%.200s holds values of the suite '%.80s' and none of '%.80s': was it renamed? Ask "
        "with the name it had",
        past->asked->record, other, name);
  return err_set(err, ERR_INPUT,
                 "%.200s holds no value of this suite's points: take a table ('inward take'), or "
                 "start the board with --record",
                 past->asked->record);
}

/* As asked; else it ends with the newest value (or --as-of, if that is earlier) and begins a day before. */
enum err_code past_read_span(struct past *past, struct past_span *span, struct err *err)
{
  enum err_code code = read_moments(past, span, err);
  int64_t newest_ms;

  if (code == ERR_OK && span->to_ms == INT64_MAX) {
    code = past_newest(past, &newest_ms, err);
    if (code == ERR_OK && newest_ms == INT64_MIN)
      return past_refuse_empty(past, err);
    span->to_ms = newest_ms < span->known_ms ? newest_ms + 1 : span->known_ms;
  }
  if (code == ERR_OK && span->from_ms == INT64_MIN)
    span->from_ms = span->to_ms - DAY_MS;
  if (code == ERR_OK && span->from_ms >= span->to_ms)
    return err_set(err, ERR_INPUT, "--from %.40s is after the newest value in the record",
                   past->asked->from);
  return code;
}

struct past_place past_place_of(const struct past *past)
{
  return (struct past_place){
      .record = past->record, .facility = past->facility, .feeds = past->feeds, .zone = past->zone};
}

enum err_code past_span_check(const struct past *past, struct err *err)
{
  struct past_span span;

  return read_moments(past, &span, err);
}

/* ---- --timeline ---- */

enum err_code past_timeline_check(const struct past *past, struct err *err)
{
  struct past_span span;
  int most;
  enum err_code code = read_moments(past, &span, err);

  if (code == ERR_OK)
    code = past_read_most(past, LINES_USUALLY, LINES_MOST, &most, err);
  if (code == ERR_OK && facility_station_find(past->facility, past->asked->value) < 0)
    return err_set(err, ERR_INPUT, "--timeline %.40s: the suite has no such station",
                   past->asked->value);
  return code;
}

int past_timeline(struct past *past, struct err *err)
{
  const struct past_place place = past_place_of(past);
  struct past_timeline timeline;
  struct past_span span;
  int most;

  if (past_read_span(past, &span, err) != ERR_OK ||
      past_read_most(past, LINES_USUALLY, LINES_MOST, &most, err) != ERR_OK ||
      past_timeline_ask(&place, facility_station_find(past->facility, past->asked->value), &span,
                        &past->arena, &timeline, err) != ERR_OK)
    return 3;
  if (past->asked->json)
    past_timeline_json(&place, &timeline, &past->out);
  else
    past_timeline_text(&place, &timeline, most, &past->out);
  return timeline.any_known ? 0 : 1;
}

/* ---- --plot ---- */

/* Ids with commas between them. */
static enum err_code read_points(const struct past *past, int points[PLOTS_MOST], int *count_out,
                                 struct err *err)
{
  const char *at = past->asked->value;

  for (*count_out = 0;; at++) {
    size_t length = strcspn(at, ",");
    char id[64];

    if (*count_out == PLOTS_MOST)
      return err_set(err, ERR_INPUT, "--plot: at most %d points at once", PLOTS_MOST);
    snprintf(id, sizeof id, "%.*s", length < sizeof id ? (int)length : (int)sizeof id - 1, at);
    points[*count_out] = feeds_point_find(past->feeds, id);
    if (points[(*count_out)++] < 0)
      return err_set(
          err, ERR_INPUT,
          "--plot %s: the feeds file has no such point ('inward feeds %.200s' lists them)", id,
          past->asked->suite);
    at += length;
    if (!*at)
      return ERR_OK;
  }
}

enum err_code past_plot_check(const struct past *past, struct err *err)
{
  int points[PLOTS_MOST], count, most;
  struct past_span span;
  enum err_code code = read_moments(past, &span, err);

  if (code == ERR_OK)
    code = past_read_most(past, ROWS_USUALLY, ROWS_MOST, &most, err);
  return code == ERR_OK ? read_points(past, points, &count, err) : code;
}

int past_plot(struct past *past, struct err *err)
{
  const struct past_place place = past_place_of(past);
  struct record_plot plots[PLOTS_MOST];
  int points[PLOTS_MOST], count, most;
  bool known = false;
  struct past_span span;

  if (past_read_span(past, &span, err) != ERR_OK ||
      read_points(past, points, &count, err) != ERR_OK ||
      past_read_most(past, ROWS_USUALLY, ROWS_MOST, &most, err) != ERR_OK)
    return 3;
  for (int i = 0; i < count; i++) {
    if (past_plot_ask(&place, points[i], &span, most < 2 ? 2 : most, &past->arena, &plots[i],
                      err) != ERR_OK)
      return 3;
    known = known || past_plot_known(&plots[i]);
    if (!past->asked->json && i > 0)
      buf_putc(&past->out, '\n');
    if (!past->asked->json)
      past_plot_text(&place, &plots[i], &past->out);
  }
  if (past->asked->json)
    past_plots_json(&place, &span, plots, count, &past->out);
  return known ? 0 : 1;
}
