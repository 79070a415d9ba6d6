/* inward past --matches: the board's own matches. */
#include "cli/past_impl.h"

#include "nightly/nightly.h"

int past_matches(struct past *past, struct err *err)
{
  struct nightly_place place = {.facility = past->facility, .zone = past->zone};
  struct nightly_list list;
  int most;

  if (past_read_most(past, NIGHTLY_MOST, NIGHTLY_MOST_EVER, &most, err) != ERR_OK ||
      past_moment(past, "--at", past->asked->at, past->now_ms, &place.now_ms, err) != ERR_OK)
    return 2;
  if (nightly_recorded(past->record, place.now_ms, most, &past->arena, &list, err) != ERR_OK)
    return 3;
  if (past->asked->json)
    nightly_json(&place, &list, &past->out);
  else
    nightly_text(&place, &list, &past->out);
  return list.count > 0 && list.list[0].verdict ? 0 : 1;
}
