/* The answer for people: the worst first, in sentences, with the act. */
#include "after/after_impl.h"
#include "numeric/numeric.h"

#include <math.h>
#include <string.h>

/* ---- times ---- */

/* Of particles: three digits, for they are no better known, and no powers of ten. */
static void put_count(struct buf *out, double count)
{
  double step = count >= 1000.0 ? pow(10.0, floor(log10(count)) - 2.0) : 1.0;

  buf_printf(out, "%.0f", round(count / step) * step);
}

static void put_time(struct buf *out, double s)
{
  if (!isfinite(s))
    buf_puts(out, "not known");
  else if (s < 10.0)
    buf_printf(out, "%.1f s", s);
  else if (s < 120.0)
    buf_printf(out, "%.0f s", s);
  else if (s < 600.0)
    buf_printf(out, "%.1f min", s / 60.0);
  else if (s < 2 * 3600.0)
    buf_printf(out, "%.0f min", s / 60.0);
  else
    buf_printf(out, "%.1f h", s / 3600.0);
}

static void put_pressure(struct buf *out, double Pa, enum units_system system)
{
  units_print(out, fabs(Pa) < 0.05 ? 0.0 : Pa, UNITS_PRESSURE_DIFFERENCE, system);
}

/* ---- one turn ---- */

const char *after_turn_title(const struct after_answer *a, const struct after_turn *turn,
                             struct arena *arena)
{
  struct buf out;
  const char *text;

  buf_init(&out, 64 << 10);
  put_time(&out, turn->at_s);
  for (int i = turn->first_event; i < turn->first_event + turn->event_count; i++)
    buf_printf(&out, "%s %s", i == turn->first_event ? " " : ";", a->events[i].text);
  text = arena_strdup(arena, out.text);
  buf_release(&out);
  return text ? text : "";
}

static const struct after_keep *worst_keep(const struct after_turn *turn)
{
  const struct after_keep *worst = NULL;

  for (int i = 0; i < turn->keep_count; i++) {
    const struct after_keep *k = &turn->keeps[i];

    if (k->below &&
        (!worst || k->reversed > worst->reversed ||
         (k->reversed == worst->reversed && numeric_exceeds(k->below_s, worst->below_s, 1e-3))))
      worst = k;
  }
  return worst;
}

static void put_keep(const struct after_answer *a, const struct after_keep *k,
                     enum units_system system, struct buf *out)
{
  const struct facility *f = a->facility;

  buf_printf(out, "%s falls to ", f->rooms[k->room].part.id);
  put_pressure(out, k->lowest_Pa, system);
  buf_printf(out, " over %s (keep ", facility_node_id(f, f->rooms[k->room].keeps[k->keep].over));
  put_pressure(out, k->least_wanted_Pa, system);
  buf_puts(out, ") and is below it for ");
  put_time(out, k->below_s);
  buf_puts(out, k->till_end ? ", still so at the end of this. " : ". ");
}

static void put_reversal(const struct after_answer *a, const struct after_turn *turn,
                         const struct after_reversal *r, enum units_system system, struct buf *out)
{
  const struct facility *f = a->facility;

  if (r->at_door)
    buf_printf(out, "Air goes the wrong way through %s (%s, %s) ", f->doors[r->index].part.id,
               facility_node_id(f, f->doors[r->index].from),
               facility_node_id(f, f->doors[r->index].to));
  else
    buf_printf(out, "Air comes out of %s into %s ", f->stations[r->index].part.id,
               facility_node_id(f, f->stations[r->index].room));
  if (r->from_s - turn->at_s < 0.05) {
    buf_puts(out, "at once, for ");
  } else {
    put_time(out, r->from_s - turn->at_s);
    buf_puts(out, " after it, for ");
  }
  put_time(out, r->for_s);
  buf_puts(out, r->till_end ? " and on, at most " : ", at most ");
  units_print(out, r->most_m3_s, UNITS_FLOW, system);
  buf_puts(out, ". ");
}

/* A sash that moves outruns its valve for a moment: its two times say that. */
static bool is_short(const struct after_station *s)
{
  return s->short_s > 0.0 && !(s->moved && isfinite(s->to_90_s));
}

static void put_short(const struct after_answer *a, const struct after_turn *turn, struct buf *out)
{
  const struct after_station *least = NULL, *longest = NULL;
  int count = 0, named = 0;

  for (int i = 0; i < turn->station_count; i++) {
    const struct after_station *s = &turn->stations[i];

    if (!is_short(s))
      continue;
    count++;
    least = !least || numeric_exceeds(least->lowest_ratio, s->lowest_ratio, 1e-9) ? s : least;
    longest = !longest || numeric_exceeds(s->short_s, longest->short_s, 1e-3) ? s : longest;
  }
  if (count == 0)
    return;
  for (int i = 0; i < turn->station_count; i++)
    if (is_short(&turn->stations[i]))
      buf_printf(out, "%s%s", named++ ? ", " : "",
                 a->facility->stations[turn->stations[i].station].part.id);
  buf_printf(out, " get%s less than 90 %% of what %s for up to ", count == 1 ? "s" : "",
             count == 1 ? "it asks" : "they ask");
  put_time(out, longest->short_s);
  buf_printf(out, ", at the lowest %.0f %%", 100.0 * least->lowest_ratio);
  if (count > 1)
    buf_printf(out, " (%s)", a->facility->stations[least->station].part.id);
  buf_puts(out, ". ");
}

static void put_station(const struct after_answer *a, const struct after_station *s,
                        enum units_system system, struct buf *out)
{
  if (!s->moved || !isfinite(s->steady_m3_s))
    return;
  buf_printf(out, "%s goes to ", a->facility->stations[s->station].part.id);
  units_print(out, s->steady_m3_s, UNITS_FLOW, system);
  if (!isfinite(s->to_90_s)) {
    buf_puts(out, " and is not there before the next event. ");
    return;
  }
  buf_puts(out, ": 90 % after ");
  put_time(out, s->to_90_s);
  buf_puts(out, ", within 10 % after ");
  put_time(out, s->within_10_s);
  buf_puts(out, ". ");
}

/* Some event of this turn begins with that word. */
static bool has_event(const struct after_answer *a, const struct after_turn *turn, const char *verb)
{
  for (int i = turn->first_event; i < turn->first_event + turn->event_count; i++)
    if (strncmp(a->events[i].text, verb, strlen(verb)) == 0)
      return true;
  return false;
}

/* The act: what people do about it. */
static void put_act(const struct after_answer *a, const struct after_turn *turn, struct buf *out)
{
  const struct after_keep *k = worst_keep(turn);

  if (turn->worst == AFTER_NOTHING_MISSED) {
    buf_puts(out, "No keep is missed and no flow turns round, as far as this answer goes.");
  } else if (turn->worst >= AFTER_STATION_LOST || has_event(a, turn, "off ") ||
             has_event(a, turn, "power ") || has_event(a, turn, "shut ")) {
    buf_puts(out, "Stop, cap, lower, step away. Staff release stations.");
  } else if (has_event(a, turn, "door ")) {
    buf_printf(out,
               "Keep everything in %s covered until the pressure is back; go through quickly, "
               "one person at a time.",
               k ? a->facility->rooms[k->room].part.id : "the rooms on both sides");
  } else {
    buf_puts(out, "Wait with what is hazardous until it has settled; lower another sash first.");
  }
}

static void put_rest(const struct after_answer *a, const struct after_turn *turn,
                     enum units_system system, struct buf *out)
{
  const struct after_force *force = &turn->force;

  put_short(a, turn, out);
  for (int i = 0; i < turn->station_count; i++)
    put_station(a, &turn->stations[i], system, out);
  if (force->door >= 0 && force->force_N > a->facility->after.door_force_N) {
    buf_printf(out, "%s takes ", a->facility->doors[force->door].part.id);
    units_print(out, force->force_N, UNITS_FORCE, system);
    buf_puts(out, " to open against the pressure: people may be held in. ");
  }
  if (isfinite(turn->settled_s)) {
    buf_puts(out, "Pressures have settled after ");
    put_time(out, turn->settled_s);
    buf_puts(out, ". ");
  } else {
    buf_printf(out, "Pressures have not settled by the %s. ",
               turn->until_s < a->for_s ? "next event" : "end");
  }
}

const char *after_turn_words(const struct after_answer *a, const struct after_turn *turn,
                             enum units_system system, struct arena *arena)
{
  struct buf out;
  const char *text;
  const struct after_keep *worst = worst_keep(turn);

  buf_init(&out, 256 << 10);
  for (int pass = 0; pass < 2; pass++) /* out of a station before through a door */
    for (int i = 0; i < turn->reversal_count; i++)
      if (turn->reversals[i].at_door == (pass == 1))
        put_reversal(a, turn, &turn->reversals[i], system, &out);
  if (worst)
    put_keep(a, worst, system, &out);
  for (int i = 0; i < turn->keep_count; i++)
    if (turn->keeps[i].below && &turn->keeps[i] != worst)
      put_keep(a, &turn->keeps[i], system, &out);
  put_rest(a, turn, system, &out);
  put_act(a, turn, &out);
  text = arena_strdup(arena, out.text);
  buf_release(&out);
  return text ? text : "";
}

/* ---- the clocks ---- */

static void put_clock(const struct after_answer *a, const struct after_clock *c, struct buf *out)
{
  buf_printf(out, "  %s: ", a->facility->rooms[c->room].part.id);
  if (!c->has_volume) {
    buf_puts(out, "not known, the file gives no volume\n");
    return;
  }
  buf_puts(out, "particles 100:1 ");
  if (isfinite(c->particles_s)) {
    buf_puts(out, "in ");
    put_time(out, c->particles_s);
  } else {
    buf_puts(out, "not within a day");
  }
  if (!isfinite(c->gas_s)) {
    buf_puts(out, "; gas: too little fresh air to clear it within a day\n");
    return;
  }
  buf_puts(out, "; gas ");
  put_time(out, c->gas_least_s);
  buf_puts(out, " to ");
  put_time(out, c->gas_most_s);
  buf_printf(out, " to a hundredth, by fresh air only (");
  put_time(out, c->gas_s);
  buf_puts(out, " if it mixed perfectly)\n");
}

static bool is_still_missed(const struct after_turn *turn)
{
  for (int i = 0; i < turn->keep_count; i++)
    if (turn->keeps[i].till_end)
      return true;
  return false;
}

static void put_clocks(const struct after_answer *a, struct buf *out)
{
  const struct after_turn *last = &a->turns[a->turn_count - 1];

  buf_puts(out, "\nThe three clocks, with the air as it is at the end\n  pressure: ");
  if (isfinite(last->settled_s)) {
    buf_puts(out, "settled after ");
    put_time(out, last->settled_s);
  } else {
    buf_puts(out, "not settled");
  }
  if (is_still_missed(last))
    buf_puts(out, " AND NOT BACK: a keep is still missed");
  buf_puts(out, ", which says nothing about the other two\n");
  for (int i = 0; i < a->clock_count; i++)
    put_clock(a, &a->clocks[i], out);
  for (int i = 0; i < a->particle_count; i++) {
    const struct after_particles *p = &a->particles[i];
    const struct facility_room *room = &a->facility->rooms[p->room];

    if (!(p->most_per_m3 > p->limit_per_m3))
      continue;
    buf_printf(out, "  %s is above its class %.3g limit for ", room->part.id, room->class_number);
    put_time(out, p->above_s);
    buf_puts(out, " (at most ");
    put_count(out, p->most_per_m3);
    buf_puts(out, " particles in a cubic metre, its limit is ");
    put_count(out, p->limit_per_m3);
    buf_puts(out, "; by what leaks in)\n");
  }
  buf_printf(out,
             "  Mixing factor %.3g to %.3g is assumed. Before anyone goes back: is the source "
             "removed? Has somebody measured? Who released the room?\n",
             a->facility->after.mixing_least_ratio, a->facility->after.mixing_most_ratio);
}

static void put_gases(const struct after_answer *a, struct buf *out)
{
  const struct after_trace *t = &a->trace;

  if (t->gas_out == t->gases)
    return;
  buf_puts(out, "\nThe gas, at the end, mixed perfectly (1: as in the room it was released in)\n");
  for (int i = 0; i < a->facility->room_count; i++)
    if (a->facility->rooms[i].has_volume)
      buf_printf(out, "  %s: %.2g\n", a->facility->rooms[i].part.id,
                 after_cell(t, t->count - 1, t->gases, i));
}

static void put_list(struct buf *out, const char *heading, const char *const *list, int count)
{
  if (count > 0)
    buf_printf(out, "\n%s\n", heading);
  for (int i = 0; i < count; i++)
    buf_printf(out, "  - %s\n", list[i]);
}

void after_text(const struct after_answer *a, enum units_system system, struct buf *out)
{
  const struct facility *f = a->facility;
  struct arena arena;

  arena_init(&arena, (size_t)64 << 20);
  buf_printf(out, "%s%s%s%s   what happens next   TRIAL, not live\n\n",
             f->name ? f->name : "(no name)", f->label ? "   [" : "", f->label ? f->label : "",
             f->label ? "]" : "");
  for (int i = 0; i < a->turn_count; i++) {
    const struct after_turn *turn = &a->turns[a->worst_first[i]];

    buf_printf(out, "  %s\n    %s\n", after_turn_title(a, turn, &arena),
               after_turn_words(a, turn, system, &arena));
  }
  buf_puts(out,
           "\n  Shared air only. Your station's own alarm decides, and a building alarm before "
           "it.\n");
  put_clocks(a, out);
  put_gases(a, out);
  put_list(out, "Not known", a->unknown, a->unknown_count);
  put_list(out, "Assumed", a->assumed, a->assumed_count);
  buf_printf(out, "\nFrom %s, ", a->scene);
  put_time(out, a->for_s);
  buf_printf(out,
             " in %ld steps (%ld tried again, %d turns found, %d passed over). Computed from the "
             "suite file %.12s. It advises; staff and local rules decide.\n",
             a->steps.taken, a->steps.rejected, a->located, a->passed_over, f->sha256);
  arena_release(&arena);
}
