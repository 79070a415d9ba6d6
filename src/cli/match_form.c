/* inward match SUITE --form SHEET: what the suite file predicts, written down before anybody reads. */
#include "cli/cli.h"

#include "cli/match_impl.h"
#include "cli/write.h"
#include "cli/zone.h"

#include <stdio.h>

/* "2026-11-30": the day asked for, or today where the suite is. */
static enum err_code day_of(const struct cli_match_form *asked, struct arena *arena,
                            const char **out, struct err *err)
{
  const struct when_zone *zone = NULL;
  int64_t t_ms = cli_now_ms();
  struct when_civil c;
  enum err_code code = cli_zone(asked->facility, arena, &zone, err);

  if (code == ERR_OK && asked->date)
    code = when_read_bound(asked->date, zone, &t_ms, err);
  if (code != ERR_OK)
    return code;
  c = when_civil(zone, t_ms, NULL);
  *out = arena_printf(arena, "%04d-%02d-%02d", c.year, c.month, c.day);
  return ERR_OK;
}

int cli_match_form(const struct cli_match_form *asked, struct arena *arena, struct err *err)
{
  struct match_form_job job = {.facility = asked->facility,
                               .blanks = asked->blanks,
                               .scene = asked->scene,
                               .system = asked->system};
  enum err_code code = cli_may_write_new(asked->file, err);
  struct buf out;

  buf_init(&out, 4 << 20);
  if (code == ERR_OK)
    code = day_of(asked, arena, &job.printed_on, err);
  if (code == ERR_OK)
    code = match_form(&job, arena, &out, err);
  if (code == ERR_OK)
    code = cli_write_file(asked->file, out.text, out.used, false, err);
  buf_release(&out);
  if (code != ERR_OK)
    return err_exit_status(code);
  printf("%s: what the suite file predicts. Sign it before anything is read, fill in 'value', then "
         "inward match SUITE --readings %s\n",
         asked->file, asked->file);
  return 0;
}
