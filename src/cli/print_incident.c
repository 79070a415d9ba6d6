/* inward print incident SUITE --record FILE --number N: out of the record. */
#include "cli/print_impl.h"

#include "cli/read.h"
#include "cli/zone.h"
#include "past/past.h"

#include <errno.h>
#include <stdlib.h>

static enum err_code read_number(const char *text, int64_t *out, struct err *err)
{
  char *end;

  errno = 0;
  *out = text ? strtoll(text, &end, 10) : 0;
  if (!text || end == text || *end || errno != 0 || *out < 1)
    return err_set(err, ERR_USAGE, "--number: the number of the entry that tells it, as 1412");
  return ERR_OK;
}

enum err_code cli_print_si_only(const struct papers_request *papers, struct err *err)
{
  if (papers->units == UNITS_SYSTEM_US)
    return err_set(err, ERR_USAGE,
                   "what a record holds is printed in m, m³/h and Pa: leave --us out");
  return ERR_OK;
}

/* Without a feeds file nothing was measured, and the words remain. */
static enum err_code bind(struct past_place *place, const char *suite, struct feeds **feeds_out,
                          struct err *err)
{
  if (!place->facility->feeds_file)
    return ERR_OK;
  *feeds_out = cli_load_feeds(place->facility, suite, err);
  if (!*feeds_out)
    return err->code != ERR_OK ? err->code : err_set(err, ERR_INPUT, "the feeds file: see above");
  place->feeds = *feeds_out;
  return record_bind(place->record, place->facility, *feeds_out, cli_now_ms(), err);
}

enum err_code cli_print_incident(const struct cli_incident_wanted *wanted,
                                 const struct papers_request *papers, struct buf *bytes,
                                 struct err *err)
{
  struct arena *arena = papers->report->arena;
  struct past_place place = {.facility = papers->facility};
  struct incident_sheet sheet;
  struct feeds *feeds = NULL;
  int64_t number;
  enum err_code code = read_number(wanted->number, &number, err);

  if (code == ERR_OK && !wanted->record)
    code = err_set(err, ERR_USAGE, "which record? --record FILE");
  if (code == ERR_OK)
    code = cli_print_si_only(papers, err);
  if (code == ERR_OK)
    code = cli_zone(place.facility, arena, &place.zone, err);
  if (code == ERR_OK)
    code = record_open(wanted->record, RECORD_READ, &place.record, err);
  if (code == ERR_OK)
    code = record_of(place.record, place.facility, err);
  if (code == ERR_OK)
    code = bind(&place, wanted->suite, &feeds, err);
  if (code == ERR_OK)
    code = past_sheet_ask(&place, number, cli_now_ms(), arena, &sheet, err);
  if (code == ERR_OK)
    code = papers_incident(papers, &sheet, bytes, err);
  record_close(place.record);
  feeds_free(feeds);
  return code;
}
