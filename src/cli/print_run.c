/* inward print run SUITE STATION --record FILE: the sign at a station, out of the record. */
#include "cli/print_impl.h"

#include "cli/zone.h"
#include "past/past.h"
#include "run/run.h"

static enum err_code find(const struct cli_run_wanted *wanted, const struct run_list *list,
                          const struct run **out, struct err *err)
{
  int station = facility_station_find(list->facility, wanted->station);

  if (station < 0)
    return err_set(err, ERR_INPUT, "the suite has no station '%.40s'", wanted->station);
  *out = run_at(list, station);
  return *out ? ERR_OK
              : err_set(err, ERR_INPUT,
                        "no run is told of %.40s in this record: first 'inward run SUITE --started "
                        "%.40s ...'",
                        wanted->station, wanted->station);
}

enum err_code cli_print_run(const struct cli_run_wanted *wanted,
                            const struct papers_request *papers, struct buf *bytes, struct err *err)
{
  struct arena *arena = papers->report->arena;
  const struct when_zone *zone;
  struct record *record = NULL;
  struct run_list *list;
  const struct run *run;
  enum err_code code = ERR_OK;

  if (!wanted->record || !wanted->station)
    return err_set(err, ERR_USAGE,
                   "which station, of which record? inward print run SUITE STATION "
                   "--record FILE");
  code = cli_zone(papers->facility, arena, &zone, err);
  if (code == ERR_OK)
    code = record_open(wanted->record, RECORD_READ, &record, err);
  if (code == ERR_OK)
    code = record_of(record, papers->facility, err);
  if (code == ERR_OK)
    code = run_recorded(record, papers->facility, zone, cli_now_ms(), arena, &list, err);
  if (code == ERR_OK)
    code = find(wanted, list, &run, err);
  if (code == ERR_OK)
    code = papers_run(papers, list, run, bytes, err);
  record_close(record);
  return code;
}
