#include "day/day_impl.h"

#include <math.h>
#include <string.h>

/* What is said first: rarer than this is not a sentence. */
static const double said_ratio = 0.01;

struct stretch {
  int first, last; /* quarters; the worst of them is answer->worst */
};

static double chance_of(const struct day_quarter *q, bool is_short)
{
  return is_short ? q->short_ratio : q->near_ratio;
}

/* Around the worst quarter, as long as it is at least half as likely. */
static struct stretch around(const struct day_answer *answer, bool is_short)
{
  struct stretch s = {answer->worst, answer->worst};
  double least = chance_of(&answer->quarters[answer->worst], is_short) / 2;

  while (s.first > 0 && chance_of(&answer->quarters[s.first - 1], is_short) >= least)
    s.first--;
  while (s.last + 1 < answer->quarter_count &&
         chance_of(&answer->quarters[s.last + 1], is_short) >= least)
    s.last++;
  return s;
}

static void put_stretch(const struct day_answer *answer, struct stretch s, struct buf *out)
{
  const struct when_zone *zone = answer->request->zone;

  day_put_clock(zone, answer->quarters[s.first].t_ms, out);
  buf_puts(out, " to ");
  day_put_clock(zone, answer->quarters[s.last].t_ms + DAY_QUARTER_MS, out);
}

static void put_like(const struct day_answer *answer, struct buf *out)
{
  const struct day_quarter *q = &answer->quarters[answer->worst];

  if (q->like_days == 0)
    return;
  buf_printf(out, "; short on %d of %d like %ss", q->like_short, q->like_days,
             day_weekday(answer->request->zone, answer->from_ms));
}

void day_sentence(const struct day_answer *answer, struct buf *out)
{
  const struct day_quarter *worst = answer->worst < 0 ? NULL : &answer->quarters[answer->worst];

  if (!answer->known) {
    buf_puts(out, "NOT KNOWN: TREAT AS NO");
    return;
  }
  if (!worst || worst->near_ratio < said_ratio) {
    buf_puts(out, answer->day.count ? "What is booked is not likely to bring the air near its limit"
                                    : "Nothing is booked");
    return;
  }
  bool is_short = worst->short_ratio >= said_ratio;

  buf_puts(out, is_short ? "Air may run SHORT " : "Air may come NEAR ITS LIMIT ");
  put_stretch(answer, around(answer, is_short), out);
  buf_puts(out, ": ");
  day_odds(chance_of(worst, is_short), out);
  buf_puts(out, " at ");
  day_put_clock(answer->request->zone, worst->t_ms, out);
  buf_puts(out, ", ");
  day_odds(is_short ? worst->short_together_ratio : worst->near_together_ratio, out);
  buf_puts(out, " if people come together");
  put_like(answer, out);
}

/* ---- advice ---- */

static void put_move(const struct day_answer *answer, const struct day_move *move, struct buf *out)
{
  const struct day_booking *b = &answer->day.list[move->booking];
  int64_t by_ms = move->start_ms - b->start_ms;

  day_put_booking(answer, move->booking, false, out);
  buf_puts(out, " to ");
  day_put_clock(answer->request->zone, move->start_ms, out);
  buf_puts(out, " (");
  when_print_span(out, fabs((double)by_ms) / 1000);
  buf_puts(out, by_ms > 0 ? " later)" : " earlier)");
}

/* Minutes that are expected, in quarters of an hour where there are many. */
static void put_expected(double s, struct buf *out)
{
  double min = s / 60;

  if (min < 1)
    buf_puts(out, "under a minute");
  else if (min < 20)
    buf_printf(out, "%.0f min", min);
  else
    when_print_span(out, 300 * round(s / 300));
}

static void put_gain(const struct day_better *b, struct buf *out)
{
  bool is_short = b->short_before_s >= 60;

  buf_puts(out, is_short ? "; time short to be expected: " : "; time near limit to be expected: ");
  put_expected(is_short ? b->short_before_s : b->near_before_s, out);
  buf_puts(out, " now, ");
  put_expected(is_short ? b->short_after_s : b->near_after_s, out);
  buf_puts(out, " then");
}

static bool asks_for_air(const struct day_answer *answer)
{
  return answer->worst >= 0 && answer->quarters[answer->worst].near_ratio >= said_ratio;
}

void day_advice(const struct day_answer *answer, struct buf *out)
{
  if (!answer->known || !answer->request->better || !asks_for_air(answer))
    return;
  if (answer->one.count == 1) {
    buf_puts(out, "Ask ONE to move: ");
    put_move(answer, &answer->one.moves[0], out);
    put_gain(&answer->one, out);
  } else {
    buf_puts(out, "No single booking that may be moved helps");
  }
}

static void put_two(const struct day_answer *answer, struct buf *out)
{
  if (answer->two.count != 2)
    return;
  buf_puts(out, "Two: ");
  put_move(answer, &answer->two.moves[0], out);
  buf_puts(out, ", and ");
  put_move(answer, &answer->two.moves[1], out);
  put_gain(&answer->two, out);
  buf_putc(out, '\n');
}

/* ---- tables ---- */

static void put_cell(struct buf *out, size_t begin, size_t wide)
{
  size_t columns = 0;

  for (size_t i = begin; i < out->used; i++)
    columns += ((unsigned char)out->text[i] & 0xC0) != 0x80;
  do
    buf_putc(out, ' ');
  while (++columns < wide);
}

static void put_flow(double flow_m3_s, struct buf *out)
{
  if (isnan(flow_m3_s))
    buf_puts(out, "-");
  else
    buf_printf(out, "%.0f", 10 * round(flow_m3_s * 360));
}

/* Of the pools that are worst off as booked, the one with the least between what it may be asked for and
 * what it has. */
static int tightest(const struct day_answer *answer, const struct day_quarter *q)
{
  double least = INFINITY;
  int pool = 0;

  for (int p = 0; p < answer->pool_count; p++) {
    const struct day_pool *at = &q->pools[p], *best = &q->pools[pool];
    double spare = (at->capacity_m3_s - q->bands[p].p95_m3_s) / at->capacity_m3_s;

    if (at->state > best->state || (at->state == best->state && spare < least)) {
      least = spare;
      pool = p;
    }
  }
  return pool;
}

static int bits(uint64_t set)
{
  int count = 0;

  for (; set; set &= set - 1)
    count++;
  return count;
}

static void put_quarter(const struct day_answer *answer, const struct day_quarter *q,
                        struct buf *out)
{
  int pool = tightest(answer, q);
  size_t begin = out->used;

  buf_puts(out, "  ");
  day_put_clock(answer->request->zone, q->t_ms, out);
  put_cell(out, begin, 9);
  begin = out->used;
  buf_printf(out, "%d", bits(q->booked));
  put_cell(out, begin, 8);
  begin = out->used;
  buf_puts(out, air_level_name(q->as_booked));
  put_cell(out, begin, 12);
  begin = out->used;
  day_odds(q->short_ratio, out);
  put_cell(out, begin, 16);
  begin = out->used;
  day_odds(q->short_together_ratio, out);
  put_cell(out, begin, 16);
  begin = out->used;
  if (q->like_days)
    buf_printf(out, "%d of %d", q->like_short, q->like_days);
  else
    buf_puts(out, "-");
  put_cell(out, begin, 11);
  buf_printf(out, "%s ", air_pool_id(answer->request->facility, pool));
  put_flow(q->bands[pool].p5_m3_s, out);
  buf_puts(out, " to ");
  put_flow(q->bands[pool].p95_m3_s, out);
  buf_puts(out, " of ");
  put_flow(q->pools[pool].capacity_m3_s, out);
  buf_puts(out, " m³/h\n");
}

static bool is_busy(const struct day_quarter *q)
{
  return !(q->near_ratio < said_ratio) || q->as_booked != FACILITY_AMPLE;
}

static void put_quarters(const struct day_answer *answer, struct buf *out)
{
  bool any = false;

  for (int i = 0; i < answer->quarter_count; i++) {
    if (!is_busy(&answer->quarters[i]))
      continue;
    if (!any)
      buf_puts(out,
               "\nBusy quarter hours\n  from   booked  as booked   short, chance   if together     "
               "like days  demand, 19 times in 20 each way\n");
    any = true;
    put_quarter(answer, &answer->quarters[i], out);
  }
}

static void put_lines(const char *head, const char *const *list, int count, struct buf *out)
{
  if (count > 0)
    buf_printf(out, "\n%s\n", head);
  for (int i = 0; i < count; i++)
    buf_printf(out, "  - %s\n", list[i]);
}

static void put_bookings(const struct day_answer *answer, bool names, struct buf *out)
{
  buf_printf(out, "\nBookings: %d\n", answer->day.count);
  for (int i = 0; i < answer->day.count; i++) {
    const struct day_booking *b = &answer->day.list[i];
    size_t begin = out->used;

    buf_puts(out, "  ");
    day_put_booking(answer, i, names, out);
    put_cell(out, begin, names ? 36 : 20);
    begin = out->used;
    const char *more = names ? b->what : b->family;

    buf_puts(out, b->id);
    if (*more)
      put_cell(out, begin, 22);
    buf_printf(out, "%s\n", more);
  }
}

static void put_head(const struct day_answer *answer, struct buf *out)
{
  const struct day_request *r = answer->request;

  buf_printf(out, "%s", r->facility->name);
  if (r->facility->label)
    buf_printf(out, "   [%s]", r->facility->label);
  buf_printf(out, "   %s %04d-%02d-%02d%s\n\n", day_weekday(r->zone, answer->from_ms), r->date.year,
             r->date.month, r->date.day, answer->trial ? "   TRIAL: a booking moved" : "");
}

void day_text(const struct day_answer *answer, const struct day_said *said, bool names,
              struct buf *out)
{
  put_head(answer, out);
  buf_puts(out, "  ");
  day_sentence(answer, out);
  buf_puts(out, "\n  ");
  size_t used = out->used;

  day_advice(answer, out);
  if (out->used > used)
    buf_puts(out, "\n  ");
  used = out->used;
  put_two(answer, out);
  if (out->used > used)
    buf_puts(out, "  ");
  buf_puts(
      out,
      "Shared air only. Your station's own alarm decides. Not a place to book: ask the person.\n");
  put_quarters(answer, out);
  if (answer->conflict_count)
    buf_puts(out, "\nConflicts\n");
  for (int i = 0; i < answer->conflict_count; i++)
    buf_printf(out, "  - %s\n", answer->conflicts[i].text);
  day_put_seconds(answer, names, out);
  day_put_unbooked_all(answer, out);
  put_bookings(answer, names, out);
  if (said->left_out)
    buf_printf(out, "  and %d left out, for the faults named\n", said->left_out);
  put_lines("Assumed", answer->assumed, answer->assumed_count, out);
}
