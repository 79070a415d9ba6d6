/* A night for people: the result, a table with the worst first, what is not known and why, what next. */
#include "past/night_impl.h"

#include <math.h>
#include <string.h>

static const char cubic[] = " m\302\263";
enum { ROWS_MOST = 8, GAPS_SHOWN = 5 };

static void put_head(const struct past_place *place, const struct past_night *night,
                     struct buf *out)
{
  int from_s, to_s;

  past_head(place, "what the night cost in air", &night->span, out);
  past_put_kept(place, night->span.from_ms, out);
  (void)when_civil(place->zone, night->span.from_ms, &from_s);
  (void)when_civil(place->zone, night->span.to_ms, &to_s);
  if (from_s != to_s)
    buf_printf(out, "The clocks went %s in this night.\n", to_s < from_s ? "back" : "forward");
  if (!place->facility->zone)
    buf_puts(out, "The suite names no zone: these are times of UTC (site: {zone: ...}).\n");
}

/* ---- the table ---- */

/* A range in m3: one figure where it is a point. */
void night_put_range(struct buf *cell, const struct energy_range *r)
{
  if (r->most_m3 - r->least_m3 <= 0.005 * fmax(fabs(r->most_m3), 1)) {
    night_put_m3(cell, isnan(r->best_m3) ? r->most_m3 : r->best_m3, 0);
    return;
  }
  if (!isnan(r->best_m3))
    night_put_m3(cell, r->best_m3, 0);
  buf_puts(cell, isnan(r->best_m3) ? "" : " (");
  night_put_m3(cell, r->least_m3, -1);
  buf_puts(cell, "..");
  night_put_m3(cell, r->most_m3, 1);
  buf_puts(cell, isnan(r->best_m3) ? "" : ")");
}

/* "blocked sash 18:24 to 06:59, the same in the 3 nights before" */
void night_put_cause(const struct past_place *place, const struct past_night *night, int station,
                     struct buf *out)
{
  const struct energy_station *s = &night->air.stations[station];
  bool any = false;

  for (int i = 0; i < ENERGY_PARTS; i++) {
    struct night_when when = night_when_of(s, (enum energy_cause)i);
    double m3 = isnan(s->parts[i].best_m3) ? s->parts[i].most_m3 : s->parts[i].best_m3;

    if (i == ENERGY_PARKED || m3 < 0.01 * fmax(s->excess.most_m3, 1) || when.goes == 0)
      continue;
    buf_printf(out, "%s%s ", any ? "; " : "", energy_cause_name((enum energy_cause)i));
    night_put_clock(place->zone, when.from_ms, out);
    buf_puts(out, when.goes == 1 ? " to " : " .. ");
    night_put_clock(place->zone, when.to_ms, out);
    any = true;
  }
  if (!any)
    buf_puts(out, "as parked");
  if (night->same_nights[station] > 0)
    buf_printf(out, "; the same in the %d night%s before", night->same_nights[station],
               night->same_nights[station] == 1 ? "" : "s");
}

static bool is_shown(const struct past_night *night, int station)
{
  const struct energy_station *s = &night->air.stations[station];
  double floor_m3 = 0.005 * fmax(night->air.all.excess.most_m3, 1);

  return s->counted &&
         (isnan(s->excess.best_m3) ? s->excess.most_m3 : fabs(s->excess.best_m3)) > floor_m3;
}

static void put_row(const struct past_place *place, const struct past_night *night, int station,
                    struct buf *out)
{
  struct buf cell;

  buf_init(&cell, 200);
  night_put_range(&cell, &night->air.stations[station].excess);
  past_put_cell(place->facility->stations[station].part.id, 6, out);
  past_put_cell(cell.text, 26, out);
  night_put_cause(place, night, station, out);
  buf_putc(out, '\n');
  buf_release(&cell);
}

static void put_table(const struct past_place *place, const struct past_night *night,
                      struct buf *out)
{
  int shown = 0, counted = 0;

  buf_puts(out, "\n");
  past_put_cell("", 6, out);
  past_put_cell("m\302\263 above parked", 26, out);
  buf_puts(out, "why\n");
  for (int i = 0; i < place->facility->station_count; i++) {
    int station = night->order[i];

    counted += night->air.stations[station].counted;
    if (shown == ROWS_MOST || !is_shown(night, station))
      continue;
    put_row(place, night, station, out);
    shown++;
  }
  if (counted > shown)
    buf_printf(out, "The other %d as parked, or nearly.\n", counted - shown);
}

static void put_pool(const char *id, const struct energy_sum *sum, struct buf *out)
{
  struct buf cell;

  if (sum->station_count == 0)
    return;
  buf_init(&cell, 200);
  night_put_range(&cell, &sum->excess);
  buf_printf(out, "%s%s %s", out->text[out->used - 1] == ' ' ? "" : " \302\267 ", id, cell.text);
  buf_release(&cell);
}

/* What of it was work, and what was not. */
static void put_causes(const struct past_night *night, struct buf *out)
{
  const struct energy_range *parts = night->air.all.parts;
  double floor_m3 = 0.005 * fmax(night->air.all.excess.most_m3, 1);
  struct buf cell;

  buf_init(&cell, 200);
  buf_puts(out, "\nBy cause: ");
  for (int i = 0; i < ENERGY_PARKED; i++) {
    if (parts[i].best_m3 < floor_m3 || parts[i].most_m3 < floor_m3)
      continue;
    buf_clear(&cell);
    night_put_range(&cell, &parts[i]);
    buf_printf(out, "%s%s %s", out->text[out->used - 1] == ' ' ? "" : " \302\267 ",
               energy_cause_name((enum energy_cause)i), cell.text);
  }
  if (parts[ENERGY_UNTOLD].most_m3 >= floor_m3) {
    buf_puts(out, out->text[out->used - 1] == ' ' ? "" : " \302\267 ");
    buf_puts(out, "cannot be told: up to ");
    night_put_m3(out, parts[ENERGY_UNTOLD].most_m3, 1);
  }
  buf_printf(out, "%s\n", cubic);
  buf_release(&cell);
}

static void put_pools(const struct past_place *place, const struct past_night *night,
                      struct buf *out)
{
  const struct facility *f = place->facility;

  buf_puts(out, "By pool: ");
  for (int i = 0; i < f->main_count; i++)
    put_pool(f->mains[i].part.id, &night->air.mains[i], out);
  for (int i = 0; i < f->supply_count; i++)
    put_pool(f->supplies[i].part.id, &night->air.supplies[i], out);
  buf_printf(out, "%s above parked.", cubic);
  buf_puts(out, " Parked alone: ");
  night_put_m3(out, night->air.all.parked_m3, 0);
  buf_printf(out, "%s.\n", cubic);
}

/* ---- the air state ---- */

static void put_level(const struct past_levels *levels, enum facility_level level, const char *word,
                      struct buf *out)
{
  double s = past_level_s(levels, level);

  if (!(s > 0))
    return;
  buf_printf(out, "%s%s ", out->text[out->used - 1] == ' ' ? "" : ", ", word);
  when_print_span(out, s);
}

static void put_levels(const struct past_night *night, struct buf *out)
{
  if (!night->has_levels) {
    buf_printf(out, "Shortage is not judged: %s\n", night->levels_why ? night->levels_why : "");
    return;
  }
  buf_puts(out, "The shared air: ");
  put_level(&night->levels.air, FACILITY_SHORT, "short", out);
  put_level(&night->levels.air, FACILITY_NEAR_LIMIT, "near limit", out);
  put_level(&night->levels.air, FACILITY_NOT_KNOWN, "not known", out);
  put_level(&night->levels.air, FACILITY_AMPLE, "ample", out);
  buf_puts(out, ".\n");
}

/* ---- what is not known ---- */

static bool is_same_gap(const struct past_night_gap *a, const struct past_night_gap *b)
{
  return a->from_ms == b->from_ms && a->to_ms == b->to_ms && strcmp(a->why, b->why) == 0;
}

static bool told_before(const struct past_night *night, int at)
{
  for (int i = 0; i < at; i++)
    if (is_same_gap(&night->gaps[i], &night->gaps[at]))
      return true;
  return false;
}

/* All points that were silent alike, in one line: "A5 opening, flow; A6 opening, flow". */
static void put_gap(const struct past_place *place, const struct past_night *night, int at,
                    struct buf *out)
{
  const struct past_night_gap *gap = &night->gaps[at];
  const char *about = "";
  int parts = 0;

  buf_puts(out, "  ");
  night_put_clock(place->zone, gap->from_ms, out);
  buf_puts(out, " to ");
  night_put_clock(place->zone, gap->to_ms, out);
  buf_puts(out, "  ");
  for (int i = at; i < night->gap_count; i++) {
    bool next = is_same_gap(&night->gaps[i], gap) && strcmp(night->gaps[i].about, about) != 0;

    if (!is_same_gap(&night->gaps[i], gap))
      continue;
    parts += next;
    if (parts > 4)
      continue;
    buf_printf(out, "%s%s%s", next ? (parts > 1 ? "; " : "") : ", ",
               next ? night->gaps[i].about : "", next ? " " : "");
    buf_puts(out, feeds_what_name(night->gaps[i].what));
    about = night->gaps[i].about;
  }
  if (parts > 4)
    buf_printf(out, " and %d more", parts - 4);
  buf_printf(out, ": %s\n", gap->why);
}

/* The longest first. */
static int next_gap(const struct past_night *night, int64_t below_ms, int after)
{
  int best = -1;

  for (int i = 0; i < night->gap_count; i++) {
    int64_t ms = night->gaps[i].to_ms - night->gaps[i].from_ms;
    bool left = ms < below_ms || (ms == below_ms && i > after);

    if (left && !told_before(night, i) &&
        (best < 0 || ms > night->gaps[best].to_ms - night->gaps[best].from_ms))
      best = i;
  }
  return best;
}

static void put_gaps(const struct past_place *place, const struct past_night *night,
                     struct buf *out)
{
  int64_t below_ms = INT64_MAX;
  int at = -1, shown = 0, more = 0;

  if (night->gap_count == 0)
    return;
  buf_puts(out, "\nNot known, and so a range:\n");
  while ((at = next_gap(night, below_ms, at)) >= 0) {
    below_ms = night->gaps[at].to_ms - night->gaps[at].from_ms;
    if (shown < GAPS_SHOWN)
      put_gap(place, night, at, out);
    shown++;
  }
  more = shown - GAPS_SHOWN;
  if (more > 0)
    buf_printf(out, "  and %d shorter\n", more);
}

/* ---- how the flow is known ---- */

static void put_ids(const struct past_place *place, const struct past_night *night,
                    bool (*is)(const struct energy_station *), const char *before,
                    const char *after, struct buf *out)
{
  bool any = false;

  for (int i = 0; i < place->facility->station_count; i++)
    if (place->facility->stations[i].in_service && is(&night->air.stations[i])) {
      buf_printf(out, "%s%s", any ? ", " : before, place->facility->stations[i].part.id);
      any = true;
    }
  if (any)
    buf_puts(out, after);
}

static bool is_computed(const struct energy_station *s)
{
  return s->counted && !s->measures_flow;
}

static bool is_not_counted(const struct energy_station *s)
{
  return !s->counted;
}

/* By more than its doubt: how much was missing, for how long, and where. */
static void put_less(const struct past_place *place, const struct past_night *night,
                     struct buf *out)
{
  double all_m3 = 0;
  int count = 0;

  for (int i = 0; i < place->facility->station_count; i++) {
    const struct energy_station *s = &night->air.stations[i];

    if (!place->facility->stations[i].in_service || !s->counted || !(s->less_s > 0))
      continue;
    buf_printf(out, "%s%s ",
               count++ ? ", "
                       : "Measured less than the opening asks for, by more than its \302\261: ",
               place->facility->stations[i].part.id);
    night_put_m3(out, s->less_m3, 0);
    buf_printf(out, "%s in ", cubic);
    when_print_span(out, s->less_s);
    all_m3 += s->less_m3;
  }
  if (count > 1) {
    buf_printf(out, "; %d stations, together ", count);
    night_put_m3(out, all_m3, 0);
    buf_puts(out, cubic);
  }
  if (count > 0)
    buf_puts(out, ".\n");
}

static void put_how(const struct past_place *place, const struct past_night *night, struct buf *out)
{
  put_ids(place, night, is_computed,
          "Computed from the opening, for no point measures the flow: ", ".\n", out);
  put_less(place, night, out);
  put_ids(place, night, is_not_counted, "Not counted, for nothing bounds what it draws: ", ".\n",
          out);
  if (night->settings_changed > 0)
    buf_printf(out, "The files changed %d times in this night; it is judged by those of now.\n",
               night->settings_changed);
  if (place->facility->not_counted_count > 0)
    buf_printf(out, "Not in the file, so not here: %s.\n", place->facility->not_counted[0]);
}

void night_put_words(const struct past_place *place, const struct past_night *night, bool table,
                     struct buf *out)
{
  struct buf head;

  buf_init(&head, 2000);
  put_head(place, night, &head);
  const char *when = strchr(head.text, '\n') + 1;

  /* on a page the result comes first; when it was stands below the drawing */
  buf_printf(out, "%.*s%s\n", (int)(when - head.text), head.text, table ? when : "");
  night_put_result(place, night, out);
  buf_putc(out, '\n');
  if (night->any_known) {
    night_put_earlier(night, out);
    buf_printf(out, "\n%s%s", table ? "" : "\n", table ? "" : when);
    if (table)
      put_table(place, night, out);
    put_causes(night, out);
    put_pools(place, night, out);
    put_levels(night, out);
  }
  buf_release(&head);
  put_gaps(place, night, out);
  put_how(place, night, out);
  buf_puts(out, "\nNext: ");
  night_next(place, night, out);
  buf_puts(out, "\nActual m\302\263 at the stations; ranges are of what was not heard, without the "
                "\302\261 of the meters.\nWhat it cost in kWh is not said: no file says what "
                "conditioned air costs here.\n");
}

void past_night_text(const struct past_place *place, const struct past_night *night,
                     struct buf *out)
{
  night_put_words(place, night, true, out);
}
