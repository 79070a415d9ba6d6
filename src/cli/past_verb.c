/* The body of a verb that asks a record, and is told things. */
#include "cli/cli.h"
#include "cli/past_impl.h"
#include "cli/zone.h"

#include <stdio.h>
#include <unistd.h>

int past_verb(const char *name, const struct past_request *asked,
              int (*work)(struct past *past, void *arg, struct err *err), void *arg)
{
  struct past past = {.asked = asked, .now_ms = cli_now_ms()};
  struct err err = {0};
  struct facility *facility = cli_load(asked->suite, asked->overlays, asked->overlay_count, &err);
  int status = 2;

  arena_init(&past.arena, (size_t)1 << 30);
  buf_init(&past.out, 64 << 20);
  past.facility = facility;
  if (facility)
    status = work(&past, arg, &err);
  else if (err.code)
    status = err_exit_status(err.code);
  if (err.text[0])
    fprintf(stderr, "inward %s: %s\n", name, err.text);
  else if (past.out.used > 0)
    status = cli_show(&past.out, status);
  buf_release(&past.out);
  feeds_free(past.feeds);
  chemicals_free(past.own);
  facility_free(past.also);
  arena_release(&past.arena);
  facility_free(facility);
  return status;
}

int past_told(struct past *past, const struct past_telling *telling, void *arg, struct err *err)
{
  enum record_mode mode = telling->tells ? RECORD_WRITE : RECORD_READ;
  int status;

  if (cli_zone(past->facility, &past->arena, &past->zone, err) != ERR_OK)
    return err_exit_status(err->code);
  if (telling->tells && telling->refused(past, arg, err))
    return 2;
  past->begun = telling->tells && access(past->asked->record, F_OK) != 0;
  if (record_open(past->asked->record, mode, &past->record, err) != ERR_OK)
    return err_exit_status(err->code);
  if (record_of(past->record, past->facility, err) != ERR_OK)
    status = err_exit_status(err->code);
  else
    status = telling->tells ? telling->tell(past, arg, err) : telling->show(past, arg, err);
  record_close(past->record);
  return status;
}
