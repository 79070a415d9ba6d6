/* What a record holds, for `inward match`: a stretch of it, made into readings. */
#include "cli/match_impl.h"

#include "cli/zone.h"
#include "nightly/nightly.h"
#include "past/past.h"

#include <stdlib.h>

static enum err_code moment(const char *option, const char *text, const struct when_zone *zone,
                            int64_t usual_ms, int64_t *out_ms, struct err *err)
{
  enum err_code code = text ? when_read_bound(text, zone, out_ms, err) : ERR_OK;

  if (!text)
    *out_ms = usual_ms;
  if (code != ERR_OK)
    err_prefix(err, "%s %.40s: ", option, text);
  return code;
}

/* Behind the newest value; INT64_MIN: there is none. */
static enum err_code end_of(struct record *record, int count, int64_t *out_ms, struct err *err)
{
  struct feed_observation *list = calloc((size_t)count + 1, sizeof *list);

  if (!list)
    err_no_memory();
  enum err_code code = record_latest(record, list, count, err);

  *out_ms = INT64_MIN;
  for (int i = 0; code == ERR_OK && i < count; i++)
    if (list[i].t_ms != INT64_MIN && list[i].t_ms >= *out_ms)
      *out_ms = list[i].t_ms + 1;
  free(list);
  return code;
}

static int64_t least(int64_t a, int64_t b)
{
  return a < b ? a : b;
}

/* Ends with --to, else with the newest value, and never behind --at. */
static enum err_code find_stretch(const struct cli_match_record *asked, struct nightly_asked *out,
                                  struct err *err)
{
  int64_t end_ms = INT64_MAX, at_ms = INT64_MAX;
  enum err_code code = moment("--at", asked->at, out->zone, INT64_MAX, &at_ms, err);

  if (code == ERR_OK && !asked->to)
    code = end_of(out->record, asked->feeds->point_count, &end_ms, err);
  if (code == ERR_OK && end_ms == INT64_MIN)
    return err_set(err, ERR_INPUT,
                   "%.200s holds no value of this suite's points: take a table ('inward take'), or "
                   "start the board with --record",
                   asked->record);
  if (code == ERR_OK)
    code = moment("--to", asked->to, out->zone, end_ms, &out->to_ms, err);
  if (code != ERR_OK)
    return code;
  out->to_ms = least(out->to_ms, at_ms);
  code = moment("--from", asked->from, out->zone, nightly_from_ms(asked->facility, out->to_ms),
                &out->from_ms, err);
  if (code == ERR_OK && out->from_ms >= out->to_ms)
    return err_set(err, ERR_INPUT, "--from must be before the end of the stretch");
  return code;
}

static enum err_code read(const struct cli_match_record *asked, struct arena *arena,
                          struct nightly_asked *stretch, struct match_readings **out,
                          struct err *err)
{
  enum err_code code = cli_zone(asked->facility, arena, &stretch->zone, err);

  if (code == ERR_OK)
    code = record_of(stretch->record, asked->facility, err);
  if (code == ERR_OK)
    code = record_bind(stretch->record, asked->facility, asked->feeds, cli_now_ms(), err);
  if (code == ERR_OK)
    code = find_stretch(asked, stretch, err);
  return code == ERR_OK ? nightly_readings(stretch, arena, out, err) : code;
}

int cli_match_record(const struct cli_match_record *asked, struct arena *arena,
                     struct nightly_asked *stretch, struct match_readings **out, struct err *err)
{
  enum err_code code;

  *stretch = (struct nightly_asked){.facility = asked->facility,
                                    .feeds = asked->feeds,
                                    .known_ms = INT64_MAX,
                                    .file = asked->record};
  code = record_open(asked->record, RECORD_READ, &stretch->record, err);
  if (code == ERR_OK)
    code = read(asked, arena, stretch, out, err);
  record_close(stretch->record);
  stretch->record = NULL;
  return code == ERR_OK ? 0 : err_exit_status(code);
}

static enum err_code append(struct record *record, const struct nightly_asked *stretch,
                            const struct match_result *result, struct arena *arena, struct err *err)
{
  struct nightly_list list;
  struct buf text, detail;
  enum err_code code =
      nightly_recorded(record, stretch->to_ms - 1, NIGHTLY_MOST, arena, &list, err);

  if (code != ERR_OK)
    return code;
  buf_init(&text, RECORD_TEXT_MOST_BYTES);
  buf_init(&detail, RECORD_TEXT_MOST_BYTES);
  nightly_tell(stretch, result, NULL, nightly_before(&list, 0), &text, &detail);
  struct record_entry entry = {.t_ms = stretch->to_ms,
                               .written_ms = cli_now_ms(),
                               .kind = RECORD_MATCH,
                               .about = "",
                               .who = "inward",
                               .text = text.text,
                               .detail = detail.text};

  code = record_append(record, &entry, err);
  buf_release(&text);
  buf_release(&detail);
  return code;
}

enum err_code cli_match_keep(const struct cli_match_record *asked,
                             const struct nightly_asked *stretch, const struct match_result *result,
                             struct arena *arena, struct err *err)
{
  struct record *record = NULL;

  if (stretch->to_ms > cli_now_ms())
    return err_set(err, ERR_INPUT,
                   "--keep: the stretch ends at a moment that has not come yet; give --to or --at");

  enum err_code code = record_open(asked->record, RECORD_WRITE, &record, err);

  if (code == ERR_OK)
    code = record_of(record, stretch->facility, err);
  if (code == ERR_OK)
    code = append(record, stretch, result, arena, err);
  record_close(record);
  return code;
}
