/* inward past --alarms: which alarms help, and which are noise. */
#include "cli/past_impl.h"

enum { DAYS_USUALLY = 30 };

int past_alarms(struct past *past, struct err *err)
{
  const struct past_place place = past_place_of(past);
  struct past_alarms alarms;
  struct past_span span;
  enum err_code code = past_read_span(past, &span, err);

  if (code == ERR_OK && !past->asked->from) /* rare things need longer than other questions */
    span.from_ms = span.to_ms - DAYS_USUALLY * (int64_t)86400000;
  if (code == ERR_OK)
    code = past_alarms_ask(&place, &span, &past->arena, &alarms, err);
  if (code != ERR_OK)
    return err_exit_status(code);
  if (past->asked->json)
    past_alarms_json(&place, &alarms, &past->out);
  else
    past_alarms_text(&place, &alarms, &past->out);
  return alarms.watched ? 0 : 1;
}
