/* inward past --note, --withdraw and the other acts that add an entry by hand. */
#include "cli/past_impl.h"

#include <inttypes.h>
#include <string.h>

enum { AHEAD_MOST_MS = 5 * 60 * 1000 };

static bool is_main(const struct facility *facility, const char *id)
{
  for (int i = 0; i < facility->main_count; i++)
    if (strcmp(facility->mains[i].part.id, id) == 0)
      return true;
  return false;
}

static bool is_part(const struct facility *facility, const char *id)
{
  int unit;

  return facility_station_find(facility, id) >= 0 || facility_node_find(facility, id) >= 0 ||
         facility_door_find(facility, id) >= 0 || facility_supply_find(facility, id) >= 0 ||
         facility_duct_find(facility, id) >= 0 || facility_fan_find(facility, id, &unit) >= 0 ||
         is_main(facility, id);
}

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
  if (about && !is_part(past->facility, about))
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

enum err_code past_append_check(const struct past *past, const struct record_entry *entry,
                                struct err *err)
{
  if (!past->asked->who)
    return err_set(err, ERR_USAGE, "who says so? --who \"M. Rao\"");
  if (strcmp(past->asked->who, "inward") == 0)
    return err_set(err, ERR_INPUT, "--who inward: so signs the program itself; who are you?");
  enum err_code code = record_entry_fits(entry, err);

  if (code == ERR_OK && entry->t_ms > past->now_ms + AHEAD_MOST_MS)
    code = err_set(err, ERR_INPUT, "--at %.40s: that has not come yet", past->asked->at);
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

int past_write(struct past *past, struct err *err)
{
  struct record_entry entry;

  return entry_of(past, &entry, err) != ERR_OK ? 3 : past_append(past, &entry, err);
}
