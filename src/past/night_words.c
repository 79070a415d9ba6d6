/* What the text and the JSON of a night say alike: its result, its leading causes, what to do next. */
#include "past/night_impl.h"

#include <math.h>

static const char cubic[] = " m\302\263";

/* ---- numbers ---- */

/* Thousands stand apart, so that 12300 and 1230 do not look alike. */
static void put_whole(struct buf *out, long long whole)
{
  if (whole >= 1000) {
    put_whole(out, whole / 1000);
    buf_printf(out, " %03lld", whole % 1000);
  } else {
    buf_printf(out, "%lld", whole);
  }
}

void night_put_m3(struct buf *out, double volume_m3, int round)
{
  double size = fabs(volume_m3), unit = 1;
  int up = volume_m3 < 0 ? -round : round;

  while (size / unit >= 1000)
    unit *= 10;
  double whole = up > 0   ? ceil(size / unit - 1e-9)
                 : up < 0 ? floor(size / unit + 1e-9)
                          : nearbyint(size / unit);

  if (volume_m3 < 0 && whole > 0)
    buf_puts(out, "-");
  put_whole(out, llround(whole * unit));
}

static void put_range(struct buf *out, const struct energy_range *r)
{
  night_put_m3(out, r->least_m3, -1);
  buf_puts(out, " to ");
  night_put_m3(out, r->most_m3, 1);
}

void night_put_clock(const struct when_zone *zone, int64_t t_ms, struct buf *out)
{
  int offset_s, minutes;
  int64_t first_ms, second_ms;
  struct when_civil at = when_civil(zone, t_ms, &offset_s);

  past_put_clock(zone, t_ms, out);
  minutes = (offset_s < 0 ? -offset_s : offset_s) / 60;
  if (when_of(zone, &at, &first_ms, &second_ms) == WHEN_TWICE)
    buf_printf(out, " %c%02d:%02d", offset_s < 0 ? '-' : '+', minutes / 60, minutes % 60);
}

/* A range that the digits shown do not tell from a point is none. */
static bool is_wide(const struct energy_range *r)
{
  return r->most_m3 - r->least_m3 > 0.005 * fmax(fabs(r->most_m3), 1);
}

/* "two thirds of it"; a share that is near none of these in per cent. */
static void put_share(struct buf *out, double ratio)
{
  static const struct {
    double ratio, within;
    const char *said;
  } shares[] = {{1.0, 0.05, "nearly all of it"},     {0.75, 0.03, "three quarters of it"},
                {2.0 / 3, 0.03, "two thirds of it"}, {0.5, 0.03, "half of it"},
                {1.0 / 3, 0.03, "a third of it"},    {0.25, 0.03, "a quarter of it"}};

  for (size_t i = 0; i < sizeof shares / sizeof shares[0]; i++)
    if (fabs(ratio - shares[i].ratio) <= shares[i].within) {
      buf_puts(out, shares[i].said);
      return;
    }
  buf_printf(out, "%.0f %% of it", 100 * ratio);
}

/* ---- causes ---- */

static bool needs_somebody(int cause)
{
  return cause == ENERGY_UNATTENDED || cause == ENERGY_BLOCKED_SASH || cause == ENERGY_BEYOND;
}

/* By the best estimate, or, without one, by what it was for sure. */
static double size_of(const struct energy_station *s, int cause)
{
  const struct energy_range *r = &s->parts[cause];

  return isnan(r->best_m3) ? r->least_m3 : r->best_m3;
}

enum energy_cause night_leading(const struct energy_station *s)
{
  int best = ENERGY_PARTS;

  for (int i = 0; i < ENERGY_CAUSES; i++)
    if (needs_somebody(i) && size_of(s, i) > 0 &&
        (best == ENERGY_PARTS || size_of(s, i) > size_of(s, best)))
      best = i;
  return (enum energy_cause)best;
}

struct night_when night_when_of(const struct energy_station *s, enum energy_cause cause)
{
  struct night_when when = {INT64_MIN, INT64_MIN, 0, 0};

  for (int i = 0; i < s->stretch_count; i++) {
    const struct energy_stretch *p = &s->stretches[i];

    if (p->cause != cause)
      continue;
    if (when.goes == 0)
      when.from_ms = p->from_ms;
    when.goes += when.goes == 0 || when.to_ms != p->from_ms;
    when.to_ms = p->to_ms;
    when.s += (double)(p->to_ms - p->from_ms) * 1e-3;
  }
  return when;
}

/* The station that cost most, and of all its parts the largest. */
static int largest_part(const struct energy_station *s)
{
  int best = ENERGY_ATTENDED;

  for (int i = 0; i < ENERGY_PARTS; i++)
    if (s->parts[i].best_m3 > s->parts[best].best_m3)
      best = i;
  return best;
}

static void put_when(const struct past_place *place, const struct night_when *when, struct buf *out)
{
  if (when->goes == 0)
    return;
  buf_puts(out, when->goes == 1 ? " from " : " between ");
  night_put_clock(place->zone, when->from_ms, out);
  buf_puts(out, when->goes == 1 ? " to " : " and ");
  night_put_clock(place->zone, when->to_ms, out);
  if (when->goes == 1)
    return;
  buf_puts(out, ", ");
  when_print_span(out, when->s);
  buf_puts(out, " in all");
}

static void put_first_station(const struct past_place *place, const struct past_night *night,
                              struct buf *out)
{
  int i = night->order[0];
  const struct energy_station *s = &night->air.stations[i];
  enum energy_cause cause = (enum energy_cause)largest_part(s);
  struct night_when when = night_when_of(s, cause);

  buf_puts(out, ": ");
  put_share(out, s->excess.best_m3 / night->air.all.excess.best_m3);
  buf_printf(out, " at %s, %s", place->facility->stations[i].part.id, energy_cause_name(cause));
  put_when(place, &when, out);
}

/* ---- the first sentence ---- */

void night_put_result(const struct past_place *place, const struct past_night *night,
                      struct buf *out)
{
  const struct energy_range *r = &night->air.all.excess;
  bool more = r->best_m3 >= 0;

  if (!night->any_known) {
    buf_puts(out, "NOT KNOWN: nothing of this night was heard");
  } else if (isnan(r->best_m3)) {
    buf_puts(out, "The night moved more than parked by something between ");
    put_range(out, r);
    buf_printf(out, "%s: too little was heard for a better figure", cubic);
  } else {
    buf_puts(out, "The night moved ");
    night_put_m3(out, fabs(r->best_m3), 0);
    buf_printf(out, "%s %s than parked", cubic, more ? "more" : "less");
    if (is_wide(r)) {
      buf_puts(out, " (");
      put_range(out, r);
      buf_putc(out, ')');
    }
    if (r->best_m3 > 0 && night->air.stations[night->order[0]].excess.best_m3 > 0)
      put_first_station(place, night, out);
  }
  buf_puts(out, night->ended || !night->any_known ? "." : "; it goes on.");
}

/* ---- the nights before ---- */

void night_put_earlier(const struct past_night *night, struct buf *out)
{
  double now = night->air.all.excess.best_m3;

  if (night->earlier_count == 0) {
    buf_puts(out, night->earlier_left > 0 ? "No earlier night is known well enough to compare with."
                                          : "No earlier night is in the record to compare with.");
    return;
  }
  buf_puts(out, "The nights before: ");
  night_put_m3(out, night->earlier_m3, 0);
  buf_printf(out, "%s in the median of %d", cubic, night->earlier_count);
  if (!isnan(now)) {
    buf_puts(out, "; this one ");
    night_put_m3(out, fabs(now - night->earlier_m3), 0);
    buf_printf(out, "%s %s", cubic, now < night->earlier_m3 ? "less" : "more");
  }
  if (night->earlier_left > 0)
    buf_printf(out, " (%d more not known well enough)", night->earlier_left);
  buf_putc(out, '.');
}

/* ---- what to do next ---- */

static void put_act(const char *id, enum energy_cause cause, struct buf *out)
{
  switch ((int)cause) {
  case ENERGY_UNATTENDED:
    buf_printf(out, "Ask who left %s open; a run that needs its flow gets a sign.", id);
    break;
  case ENERGY_BLOCKED_SASH:
    buf_printf(out,
               "See what stands under the sash of %s; where nothing does, have its beam looked at.",
               id);
    break;
  default:
    buf_printf(out,
               "Have the sash sensor and the valve of %s looked at: it draws more than its "
               "opening asks.",
               id);
  }
}

static int widest_unknown(const struct past_place *place, const struct past_night *night)
{
  int best = -1;

  for (int i = 0; i < place->facility->station_count; i++)
    if (night->air.stations[i].counted && night->air.stations[i].not_known_s > 0 &&
        (best < 0 || night->air.stations[i].not_known_s > night->air.stations[best].not_known_s))
      best = i;
  return best;
}

void night_next(const struct past_place *place, const struct past_night *night, struct buf *out)
{
  double most_m3 = 0;
  int first = -1, unknown = widest_unknown(place, night);

  for (int i = 0; i < place->facility->station_count; i++) {
    enum energy_cause cause = night_leading(&night->air.stations[i]);

    if ((int)cause != ENERGY_PARTS && size_of(&night->air.stations[i], (int)cause) > most_m3) {
      most_m3 = size_of(&night->air.stations[i], (int)cause);
      first = i;
    }
  }
  if (night->any_known && first >= 0)
    put_act(place->facility->stations[first].part.id, night_leading(&night->air.stations[first]),
            out);
  else if (unknown >= 0)
    buf_printf(out, "Find out why nothing was heard of %s: without it nobody sees such a night.",
               place->facility->stations[unknown].part.id);
  else
    buf_puts(out, "Nothing to mend: what was open had somebody there.");
}
