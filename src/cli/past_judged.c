/* inward past --why, --replay and --night: what the record comes to, judged. */
#include "cli/past_impl.h"

/* ---- --replay ---- */

/* By the suite without its overlays; the record is bound to that meanwhile. */
static enum err_code replay_suite(struct past *past, const struct past_span *span,
                                  struct past_replay *out, struct err *err)
{
  struct past_place place = past_place_of(past);
  struct facility *facility = cli_load(past->asked->suite, NULL, 0, err);
  struct feeds *feeds = facility ? cli_load_feeds(facility, past->asked->suite, err) : NULL;
  enum err_code code = feeds ? ERR_OK : err->code ? err->code : ERR_INPUT;

  past->also = facility; /* what is printed names its parts */
  place.facility = facility;
  place.feeds = feeds;
  if (code == ERR_OK)
    code = record_bind(past->record, facility, feeds, past->now_ms, err);
  if (code == ERR_OK)
    code = past_replay_ask(&place, span, &past->arena, out, err);
  feeds_free(feeds);
  return code;
}

static enum err_code replay_both(struct past *past, const struct past_span *span,
                                 struct past_replay replays[2], struct past_difference *difference,
                                 struct err *err)
{
  const struct past_place place = past_place_of(past);
  enum err_code code = replay_suite(past, span, &replays[0], err);

  if (code == ERR_OK)
    code = record_bind(past->record, past->facility, past->feeds, past->now_ms, err);
  if (code == ERR_OK)
    code = past_replay_ask(&place, span, &past->arena, &replays[1], err);
  if (code == ERR_OK)
    code = past_replay_compare(&replays[0], &replays[1], &past->arena, difference, err);
  return code;
}

static bool is_known(const struct past_replay *replay)
{
  return past_level_s(&replay->air, FACILITY_NOT_KNOWN) * 1000 <
         (double)(replay->span.to_ms - replay->span.from_ms);
}

int past_replay(struct past *past, struct err *err)
{
  const struct past_place place = past_place_of(past);
  bool two = past->asked->overlay_count > 0;
  struct past_difference difference;
  struct past_replay replays[2];
  struct past_span span;
  enum err_code code = past_read_span(past, &span, err);

  if (code == ERR_OK)
    code = two ? replay_both(past, &span, replays, &difference, err)
               : past_replay_ask(&place, &span, &past->arena, &replays[0], err);
  if (code != ERR_OK)
    return err_exit_status(code);
  if (past->asked->json)
    past_replay_json(&place, &replays[0], two ? &replays[1] : NULL, two ? &difference : NULL,
                     &past->out);
  else
    past_replay_text(&place, &replays[0], two ? &replays[1] : NULL, two ? &difference : NULL,
                     &past->out);
  return is_known(&replays[0]) ? 0 : 1;
}

/* ---- --why ---- */

static enum err_code read_why(const struct past *past, int64_t *t_ms, int64_t *known_ms,
                              struct err *err)
{
  enum err_code code = past_moment(past, "--why", past->asked->value, 0, t_ms, err);

  if (code == ERR_OK)
    code = past_bound(past, "--as-of", past->asked->as_of, INT64_MAX, known_ms, err);
  if (code == ERR_OK && *t_ms > past->now_ms)
    return err_set(err, ERR_INPUT, "--why %.40s: that has not come yet", past->asked->value);
  return code;
}

enum err_code past_why_check(const struct past *past, struct err *err)
{
  int64_t t_ms, known_ms;

  return read_why(past, &t_ms, &known_ms, err);
}

int past_why(struct past *past, struct err *err)
{
  const struct past_place place = past_place_of(past);
  int64_t t_ms, known_ms;
  struct past_why why;

  if (read_why(past, &t_ms, &known_ms, err) != ERR_OK ||
      past_why_ask(&place, t_ms, known_ms, &past->arena, &why, err) != ERR_OK)
    return 3;
  if (past->asked->json)
    past_why_json(&place, &why, &past->out);
  else
    past_why_text(&place, &why, &past->out);
  return why.found || why.state != FACILITY_NOT_KNOWN ? 0 : 1;
}

/* ---- --night ---- */

/* The record's own now: its newest value, or --as-of, whatever the clock of this machine says. */
static enum err_code night_moments(struct past *past, int64_t *now_ms, int64_t *known_ms,
                                   struct err *err)
{
  enum err_code code = past_newest(past, now_ms, err);

  if (code == ERR_OK && *now_ms == INT64_MIN)
    return past_refuse_empty(past, err);
  if (code == ERR_OK)
    code = past_bound(past, "--as-of", past->asked->as_of, INT64_MAX, known_ms, err);
  if (code == ERR_OK && *known_ms < *now_ms)
    *now_ms = *known_ms;
  return code;
}

enum err_code past_night_check(const struct past *past, struct err *err)
{
  int64_t known_ms;

  if (past->asked->from || past->asked->to)
    return err_set(err, ERR_INPUT,
                   "--night has a beginning and an end of its own: leave --from and "
                   "--to out, or change `night` in the feeds file");
  return past_bound(past, "--as-of", past->asked->as_of, INT64_MAX, &known_ms, err);
}

int past_night(struct past *past, struct err *err)
{
  const struct past_place place = past_place_of(past);
  int64_t now_ms = 0, known_ms = INT64_MAX;
  struct past_night night;
  struct when_civil date;

  if (night_moments(past, &now_ms, &known_ms, err) != ERR_OK)
    return 3;
  if (past_night_find(&place, past->asked->value, now_ms, &date, err) != ERR_OK) {
    err_prefix(err, "--night: ");
    return 2;
  }
  if (past_night_ask(&place, &date, now_ms, known_ms, &past->arena, &night, err) != ERR_OK ||
      past_night_levels(&place, &night, &past->arena, err) != ERR_OK)
    return 3;
  if (past->asked->json)
    past_night_json(&place, &night, &past->out);
  else
    past_night_text(&place, &night, &past->out);
  return night.any_known ? 0 : 1;
}
