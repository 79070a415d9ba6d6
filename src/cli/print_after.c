/* inward print after: what happens next, as a picture. */
#include "cli/print_impl.h"

#include <string.h>

enum err_code cli_print_after(const struct cli_after_wanted *wanted,
                              const struct papers_request *papers, struct buf *bytes,
                              struct err *err)
{
  struct after_request request = {.event_count = wanted->event_count, .events = wanted->events};
  const struct after_answer *answer;
  enum err_code code =
      wanted->scene ? scene_named(papers->facility, wanted->scene, &request.scene, err) : ERR_OK;

  if (code == ERR_OK && wanted->for_time) {
    struct units_quantity q;

    code = units_parse(wanted->for_time, UNITS_TIME, UNITS_NOTHING, &q, err);
    if (code != ERR_OK)
      err_prefix(err, "--for: ");
    else if (!(q.si > 0.0 && q.si <= 86400.0))
      code = err_set(err, ERR_USAGE, "--for: longer than 0 s and at most a day");
    else
      request.for_s = q.si;
  }
  if (code != ERR_OK)
    return code;
  answer = after_ask(papers->facility, &request, papers->report->arena, err);
  return answer ? papers_after(papers, answer, bytes, err) : err->code;
}
