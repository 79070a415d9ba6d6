#include "day/day_impl.h"

#include <math.h>
#include <stdlib.h>

static void put_gap(const struct day_plan *plan, struct buf *out)
{
  if (plan->cost_count - plan->bound_count < 0.5)
    buf_puts(out, "no schedule moves less");
  else
    buf_printf(out, "at most %.0f %% from the best there can be",
               ceil(100 * (plan->cost_count - plan->bound_count) / plan->cost_count));
}

static void put_move(const struct day_answer *answer, int i, int64_t start_ms, struct buf *out)
{
  int64_t by_ms = start_ms - answer->day.list[i].start_ms;

  buf_puts(out, "  - ");
  day_put_booking(answer, i, false, out);
  if (start_ms == INT64_MIN) {
    buf_puts(out, " finds no place within the hours it may be moved by\n");
    return;
  }
  buf_puts(out, " to ");
  day_put_clock(answer->request->zone, start_ms, out);
  buf_puts(out, " (");
  when_print_span(out, (double)llabs(by_ms) / 1000);
  buf_puts(out, by_ms > 0 ? " later)\n" : " earlier)\n");
}

void day_plan_text(const struct day_answer *answer, const struct day_plan *plan, struct buf *out)
{
  buf_puts(out, "\nA whole schedule, if everyone comes on time\n");
  if (!plan->found) {
    buf_printf(out, "  none was found that the real air allows, in %.0f s and %d rounds\n",
               ceil(plan->took_s), plan->round_count);
    return;
  }
  buf_printf(out, "  %d of %d bookings moved, %d without a place; ", plan->moved_count,
             answer->day.count, plan->left_out_count);
  put_gap(plan, out);
  buf_printf(out, "; %d rounds, %d sets of sashes cut off by the real air\n", plan->round_count,
             plan->cut_count);
  for (int i = 0; i < answer->day.count; i++)
    if (plan->start_ms[i] != answer->day.list[i].start_ms)
      put_move(answer, i, plan->start_ms[i], out);
  buf_printf(out, "  fullest: %d at work at ", plan->full_count);
  day_put_clock(answer->request->zone, plan->full_ms, out);
  if (plan->binding)
    buf_printf(out, "; one more there, and %s", plan->binding);
  buf_puts(out, "\n  Nobody was asked yet: a schedule is a proposal to people.\n");
}
