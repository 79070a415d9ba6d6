/* inward past --note, --withdraw and the other acts that add an entry by hand. */
#include "cli/past_impl.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

enum { AHEAD_MOST_MS = 5 * 60 * 1000 };

/* Only a station is withdrawn or given back; the rest may be about anything, or all of it. */
static enum err_code check_about(const struct past *past, struct err *err)
{
  const char *about = past->asked->about;
  enum record_kind kind = past->asked->act->kind;
  bool of_station = kind == RECORD_WITHDRAWN || kind == RECORD_RELEASED;

  if (of_station && !about)
    return err_set(err, ERR_USAGE, "%s: which station? --about ID", past->asked->act->option);
  if (of_station && facility_station_find(past->facility, about) < 0)
    return err_set(err, ERR_INPUT, "--about %.40s: the suite has no such station", about);
  if (about && !facility_has(past->facility, about))
    return err_set(err, ERR_INPUT, "--about %.40s: the suite has no such part", about);
  return ERR_OK;
}

/* The entry that was asked for; its number and hash come later. */
static enum err_code entry_of(const struct past *past, struct record_entry *out, struct err *err)
{
  const struct past_request *asked = past->asked;

  *out = (struct record_entry){.written_ms = past->now_ms,
                               .kind = asked->act->kind,
                               .about = asked->about ? asked->about : "",
                               .who = asked->who,
                               .text = asked->value,
                               .detail = ""};
  return past_moment(past, "--at", asked->at, past->now_ms, &out->t_ms, err);
}

enum err_code past_told_back_s(const struct past *past, double *out_s, struct err *err)
{
  struct feeds *feeds = NULL;

  *out_s = past->feeds ? past->feeds->told_back_s : feeds_told_back_usual_s();
  if (past->feeds || !past->facility->feeds_file)
    return ERR_OK;
  feeds = cli_load_feeds(past->facility, past->asked->suite, err);
  if (!feeds)
    return err->text[0] ? err->code : err_set(err, ERR_INPUT, "nothing was written down");
  *out_s = feeds->told_back_s;
  feeds_free(feeds);
  return ERR_OK;
}

enum err_code past_append_check(const struct past *past, const struct record_entry *entry,
                                struct err *err)
{
  if (!past->asked->who)
    return err_set(err, ERR_USAGE, "who says so? --who \"M. Rao\"");
  if (strcmp(past->asked->who, "inward") == 0)
    return err_set(err, ERR_INPUT, "--who inward: so signs the program itself; who are you?");
  enum err_code code = record_entry_fits(entry, err);
  double back_s;

  if (code != ERR_OK || !past->asked->at)
    return code;
  if (entry->t_ms > past->now_ms + AHEAD_MOST_MS)
    return err_set(err, ERR_INPUT, "--at %.40s: that has not come yet", past->asked->at);
  code = past_told_back_s(past, &back_s, err);
  if (code == ERR_OK && entry->t_ms < past->now_ms - llround(back_s * 1e3))
    code = err_set(err, ERR_INPUT, "--at %.40s: too long ago: " FEEDS_TOLD_BACK, past->asked->at,
                   back_s / 86400);
  return code;
}

int past_append(struct past *past, struct record_entry *entry, struct err *err)
{
  if (record_append(past->record, entry, err) != ERR_OK)
    return 3;
  if (past->begun)
    buf_printf(&past->out, "there was no record %s: it was begun\n", past->asked->record);
  buf_printf(&past->out, "entry %" PRId64 ", %s\n", entry->number, entry->hash_hex);
  return 0;
}

enum err_code past_write_check(const struct past *past, struct err *err)
{
  struct record_entry entry;
  enum err_code code = check_about(past, err);

  if (code == ERR_OK)
    code = entry_of(past, &entry, err);
  if (code == ERR_OK)
    code = past_append_check(past, &entry, err);
  return code;
}

/* ---- what would change nothing is said ---- */

static enum err_code newest(struct past *past, enum record_kind kind, const char *about,
                            const char *holds, struct record_entry *out, struct err *err)
{
  enum { LOOKED_AT = 20000 };
  const struct record_wanted wanted = {.from_ms = INT64_MIN,
                                       .to_ms = INT64_MAX,
                                       .about = about,
                                       .kind = (int)kind,
                                       .known_ms = INT64_MAX,
                                       .most = LOOKED_AT};
  struct record_entry *list;
  int count = 0;
  enum err_code code = record_entries(past->record, &wanted, &past->arena, &list, &count, err);

  *out = (struct record_entry){0};
  for (int i = 0; code == ERR_OK && i < count; i++)
    if (!holds || strstr(list[i].detail, holds))
      *out = list[i];
  return code;
}

/* A release of what is not withdrawn, an acknowledgement where no alarm stands: NULL when it is neither. */
static enum err_code in_vain(struct past *past, const char **why_out, struct err *err)
{
  const char *about = past->asked->about ? past->asked->about : "";
  struct record_entry last, back;
  enum err_code code = ERR_OK;

  *why_out = NULL;
  if (past->asked->act->kind == RECORD_RELEASED) {
    code = newest(past, RECORD_WITHDRAWN, about, NULL, &last, err);
    if (code == ERR_OK)
      code = newest(past, RECORD_RELEASED, about, NULL, &back, err);
    if (code == ERR_OK && last.number <= back.number)
      *why_out = "it was not withdrawn in this record, so nothing was given back; after a stop "
                 "--restarted releases it";
  } else if (past->asked->act->kind == RECORD_ACKNOWLEDGED) {
    code = newest(past, RECORD_EVENT, about, "inward.alarm.1", &last, err);
    if (code == ERR_OK && (last.number == 0 || !strstr(last.detail, "\"turn\": \"on\"")))
      *why_out = "no alarm of it stands in this record, so none was acknowledged";
  }
  return code;
}

int past_write(struct past *past, struct err *err)
{
  struct record_entry entry;
  const char *vain;

  int status;

  if (entry_of(past, &entry, err) != ERR_OK || in_vain(past, &vain, err) != ERR_OK)
    return 3;
  status = past_append(past, &entry, err);
  if (status == 0 && vain)
    buf_printf(&past->out, "but %s\n", vain);
  return status;
}
