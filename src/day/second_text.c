/* Who could be the second person, and what is used with nobody booked, for people. */
#include "day/day_impl.h"

/* ---- a second person ---- */

static void put_spans(const struct day_answer *answer, const struct day_second *s, struct buf *out)
{
  for (int i = 0; i < s->lacking_count; i++) {
    buf_puts(out, i ? ", " : "");
    day_put_clock(answer->request->zone, s->lacking[i].from_ms, out);
    buf_putc(out, '-');
    day_put_clock(answer->request->zone, s->lacking[i].to_ms, out);
  }
}

static void put_who(const struct day_answer *answer, const struct day_second *s, bool names,
                    struct buf *out)
{
  for (int i = 0; i < s->who_count; i++) {
    buf_puts(out, i ? ", " : " could be, if they come: who is booked at ");
    day_put_booking(answer, s->who[i], names, out);
  }
  if (s->staff)
    buf_puts(out, s->who_count ? "; staff can be asked in their hours"
                               : " could be: staff, in their hours");
  if (s->who_count == 0 && !s->staff)
    buf_puts(out, " nobody is booked who could be");
}

void day_put_second(const struct day_answer *answer, const struct day_second *s, bool names,
                    struct buf *out)
{
  day_put_booking(answer, s->booking, names, out);
  buf_puts(out, " wants another inside:");
  put_who(answer, s, names, out);
  if (s->lacking_count > 0) {
    buf_puts(out, ". NOBODY ");
    put_spans(answer, s, out);
    if (s->move_ms != INT64_MIN) {
      buf_puts(out, "; the nearest start with somebody throughout: ");
      day_put_clock(answer->request->zone, s->move_ms, out);
    } else {
      buf_puts(out, "; no start within the hours has somebody throughout");
    }
  }
  buf_puts(out, s->known ? "." : ". Whether staff are there is not known.");
}

void day_put_seconds(const struct day_answer *answer, bool names, struct buf *out)
{
  if (answer->second_count == 0)
    return;
  buf_puts(out, "\nA second person\n");
  for (int i = 0; i < answer->second_count; i++) {
    buf_puts(out, "  - ");
    day_put_second(answer, &answer->seconds[i], names, out);
    buf_putc(out, '\n');
  }
  buf_puts(out, "  A booking is no promise: ask, and `inward may` with who is inside then.\n");
}

/* ---- used without a booking ---- */

void day_put_unbooked(const struct day_answer *answer, int station, struct buf *out)
{
  const struct day_unbooked *u = &answer->request->habits->unbooked[station];

  buf_printf(out, "%s: %d of %d times, ", answer->request->facility->stations[station].part.id,
             u->unbooked, u->uses);
  when_print_span(out, u->unbooked_s);
  buf_puts(out, " in all");
  if (u->last_ms != INT64_MIN) {
    buf_puts(out, ", last ");
    when_print(out, answer->request->zone, u->last_ms);
  }
}

void day_put_unbooked_all(const struct day_answer *answer, struct buf *out)
{
  const struct day_habits *h = answer->request->habits;
  bool any = false;

  for (int i = 0; h->unbooked && i < answer->request->facility->station_count; i++) {
    if (h->unbooked[i].unbooked == 0)
      continue;
    if (!any) {
      buf_puts(out, "\nUsed with nobody booked, by the record since ");
      when_print(out, answer->request->zone, h->unbooked_from_ms);
      buf_putc(out, '\n');
    }
    any = true;
    buf_puts(out, "  - ");
    day_put_unbooked(answer, i, out);
    buf_putc(out, '\n');
  }
  if (any)
    buf_puts(out, "  The chances above count bookings only: they are low where this is often.\n");
}
