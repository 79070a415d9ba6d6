/* inward past --incident and --sheet. */
#include "cli/past_impl.h"

#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PAIRS_MOST = PAST_FIELDS_MOST + 6, FAULTS_BYTES = 4096 };

/* ---- telling ---- */

/* "smell=vinegar" in two. */
static enum err_code split(struct arena *arena, const char *field, struct typed_pair *out,
                           struct err *err)
{
  size_t key = strcspn(field, "=");

  if (key == 0 || !field[key])
    return err_set(err, ERR_USAGE, "--field %.40s: as in --field smell=vinegar", field);
  out->key = arena_printf(arena, "%.*s", (int)key, field);
  out->value = field + key + 1;
  return out->key ? ERR_OK : err_set(err, ERR_LIMIT, "--field: too long");
}

static enum err_code pairs_of(const struct past_request *asked, struct arena *arena,
                              struct typed_pair *pairs, int *count_out, struct err *err)
{
  const struct typed_pair given[] = {{"incident", asked->is ? asked->is : "other"},
                                     {"about", asked->about},
                                     {"who", asked->who},
                                     {"at", asked->at},
                                     {"adds_to", asked->adds_to},
                                     {"words", asked->value[0] ? asked->value : NULL}};
  enum err_code code = ERR_OK;

  *count_out = 0;
  for (size_t i = 0; i < sizeof given / sizeof *given; i++)
    if (given[i].value)
      pairs[(*count_out)++] = given[i];
  for (int i = 0; code == ERR_OK && i < asked->field_count; i++)
    code = split(arena, asked->fields[i], &pairs[(*count_out)++], err);
  return code;
}

/* Every fault in a line of its own. */
static enum err_code refuse(const char *faults, struct err *err)
{
  while (*faults) {
    size_t length = strcspn(faults, "\n");

    fprintf(stderr, "inward past: --incident: %.*s\n", (int)length, faults);
    faults += length + (faults[length] == '\n');
  }
  return err_set(err, ERR_INPUT, "nothing was written down");
}

static enum err_code take(const struct past *past, struct arena *arena, struct incident_told *told,
                          struct err *err)
{
  struct typed_pair pairs[PAIRS_MOST];
  struct incident_asked asked = {
      .facility = past->facility, .zone = past->zone, .now_ms = past->now_ms, .pairs = pairs};
  struct buf faults;
  enum err_code code;

  if (!past->asked->who)
    return err_set(err, ERR_USAGE, "who says so? --who \"M. Rao\"");
  code = pairs_of(past->asked, arena, pairs, &asked.count, err);
  if (code == ERR_OK && past->asked->at)
    code = past_told_back_s(past, &asked.back_most_s, err);
  if (code != ERR_OK)
    return code;
  buf_init(&faults, FAULTS_BYTES);
  if (incident_take(&asked, arena, told, &faults) != ERR_OK)
    code = refuse(faults.text, err);
  buf_release(&faults);
  return code;
}

enum err_code past_incident_check(const struct past *past, struct err *err)
{
  struct incident_told told;
  struct arena arena;

  arena_init(&arena, 1 << 20);
  enum err_code code = take(past, &arena, &told, err);

  arena_release(&arena);
  return code;
}

static enum err_code check_first(struct past *past, struct incident_told *told, struct err *err)
{
  const struct past_place place = past_place_of(past);
  struct incident_sheet sheet;

  if (told->what.adds_to == 0)
    return ERR_OK;

  enum err_code code = past_sheet_told(&place, told->what.adds_to, &past->arena, &sheet, err);

  return code == ERR_OK ? past_sheet_takes(&sheet, told, err) : code;
}

int past_incident(struct past *past, struct err *err)
{
  struct incident_told told;

  if (take(past, &past->arena, &told, err) != ERR_OK || check_first(past, &told, err) != ERR_OK)
    return err_exit_status(err->code);
  struct record_entry entry = {.t_ms = told.t_ms,
                               .written_ms = past->now_ms,
                               .kind = RECORD_INCIDENT,
                               .about = told.about,
                               .who = told.who,
                               .text = told.text,
                               .detail = told.detail};

  if (record_append(past->record, &entry, err) != ERR_OK)
    return 3;
  if (past->begun)
    buf_printf(&past->out, "there was no record %s: it was begun\n", past->asked->record);
  buf_printf(&past->out, "entry %" PRId64 ", %s\n", entry.number, entry.hash_hex);
  return 0;
}

/* ---- the sheet ---- */

static enum err_code read_number(const struct past *past, int64_t *out, struct err *err)
{
  const char *text = past->asked->value;
  char *end;

  errno = 0;
  *out = strtoll(text, &end, 10);
  if (end == text || *end || errno != 0 || *out < 1)
    return err_set(err, ERR_INPUT,
                   "--sheet %.40s: the number of an entry; --entries --kind incident lists them",
                   text);
  return ERR_OK;
}

enum err_code past_sheet_check(const struct past *past, struct err *err)
{
  int64_t number;

  return read_number(past, &number, err);
}

int past_sheet(struct past *past, struct err *err)
{
  struct incident_sheet sheet;
  int64_t number;

  if (read_number(past, &number, err) != ERR_OK)
    return 2;
  if (past->facility->feeds_file) { /* without one nothing was measured, and the words remain */
    past->feeds = cli_load_feeds(past->facility, past->asked->suite, err);
    if (!past->feeds)
      return err->text[0] ? err_exit_status(err->code) : 2;
    if (record_bind(past->record, past->facility, past->feeds, past->now_ms, err) != ERR_OK)
      return 3;
  }
  const struct past_place place = past_place_of(past);

  if (past_sheet_ask(&place, number, past->now_ms, &past->arena, &sheet, err) != ERR_OK)
    return err_exit_status(err->code);
  if (past->asked->json)
    incident_sheet_json(&sheet, true, &past->out);
  else
    incident_sheet_text(&sheet, true, &past->out);
  return 0;
}
