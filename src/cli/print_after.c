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

  if (code == ERR_OK && wanted->for_time)
    code = after_read_span(wanted->for_time, &request.for_s, err);
  if (code != ERR_OK)
    return code;
  answer = after_ask(papers->facility, &request, papers->report->arena, err);
  return answer ? papers_after(papers, answer, bytes, err) : err->code;
}
