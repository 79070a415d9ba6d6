#include "serve/incident_impl.h"

#include "ask/ask.h"
#include "incident/incident.h"
#include "past/past.h"
#include "serve/body_impl.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

enum { PAIRS_MOST = 32, TOLD_BYTES = 1 << 20, WORK_BYTES = 64 << 20 };

/* What adds to an entry must add to an incident of its kind that is not itself an addition. */
static enum err_code check_first(const struct live *live, struct incident_told *told,
                                 struct arena *arena, struct err *err)
{
  struct past_place place = {.facility = live->facility, .zone = live->given->zone};
  struct incident_sheet sheet;
  enum err_code code;

  if (told->what.adds_to == 0)
    return ERR_OK;
  if (!live->given->record_path)
    return err_set(err, ERR_INPUT, "nothing is kept here: start the board with --record FILE");
  code = record_open(live->given->record_path, RECORD_READ, &place.record, err);
  if (code == ERR_OK)
    code = past_sheet_told(&place, told->what.adds_to, arena, &sheet, err);
  if (code == ERR_OK)
    code = past_sheet_takes(&sheet, told, err);
  record_close(place.record);
  return code;
}

int incident_post(const struct live *live, json_t *root, struct buf *out)
{
  struct typed_pair pairs[PAIRS_MOST];
  struct incident_told told;
  struct err err = {0};
  struct arena arena;
  struct buf faults;
  const struct incident_asked asked = {.facility = live->facility,
                                       .zone = live->given->zone,
                                       .now_ms = keeper_now_ms(live->given->keeper),
                                       .back_most_s = live->given->feeds->told_back_s,
                                       .pairs = pairs,
                                       .count = live_pairs(root, pairs, PAIRS_MOST)};
  int status;

  if (json_object_size(root) > PAIRS_MOST)
    return ask_refuse(out, 400, "more fields than any incident has");
  arena_init(&arena, WORK_BYTES);
  buf_init(&faults, TOLD_BYTES);
  if (incident_take(&asked, &arena, &told, &faults) != ERR_OK) {
    buf_trim_end(&faults);
    status = ask_refuse(out, 400, faults.text);
  } else if (check_first(live, &told, &arena, &err) != ERR_OK)
    status = ask_refuse(out, err_exit_status(err.code) == 2 ? 400 : 503, err.text);
  else {
    struct record_entry entry = {.t_ms = told.t_ms,
                                 .written_ms = asked.now_ms,
                                 .kind = RECORD_INCIDENT,
                                 .about = told.about,
                                 .who = told.who,
                                 .text = told.text,
                                 .detail = told.detail};

    status = live_enter_as_is(live, &entry, out);
  }
  buf_release(&faults);
  arena_release(&arena);
  return status;
}

int incident_get_forms(const struct live *live, struct buf *out)
{
  incident_forms_json(live->facility, out);
  return 200;
}

enum err_code incident_get_sheet(const struct live *live, struct record *record, const char *number,
                                 bool as_json, struct buf *out, struct err *err)
{
  const struct past_place place = {.record = record,
                                   .facility = live->facility,
                                   .feeds = live->given->feeds,
                                   .zone = live->given->zone};
  struct incident_sheet sheet;
  struct arena arena;
  char *end = NULL;
  long long wanted;

  errno = 0;
  wanted = number ? strtoll(number, &end, 10) : 0;
  if (!number || *number < '1' || *number > '9' || *end || errno != 0)
    return err_set(err, ERR_INPUT, "incident must be the number of an entry, as 1412");
  arena_init(&arena, WORK_BYTES);
  enum err_code code =
      past_sheet_ask(&place, wanted, keeper_now_ms(live->given->keeper), &arena, &sheet, err);

  if (code == ERR_OK && as_json)
    incident_sheet_json(&sheet, false, out);
  else if (code == ERR_OK)
    incident_sheet_text(&sheet, false, out);
  arena_release(&arena);
  return code;
}
