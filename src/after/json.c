/* docs/api.md, after. */
#include "after/after_impl.h"
#include "base/emit.h"

#include <math.h>

static void number(struct emit *j, const char *key, double value)
{
  emit_number_if(j, key, isfinite(value), value);
}

static void texts(struct emit *j, const char *key, const char *const *list, int count)
{
  emit_array(j, key);
  for (int i = 0; i < count; i++)
    emit_text(j, NULL, list[i]);
  emit_close(j);
}

static const char *room_id(const struct after_answer *a, int room)
{
  return a->facility->rooms[room].part.id;
}

static void keeps(struct emit *j, const struct after_answer *a, const struct after_turn *turn)
{
  emit_array(j, "keeps");
  for (int i = 0; i < turn->keep_count; i++) {
    const struct after_keep *k = &turn->keeps[i];

    emit_object(j, NULL);
    emit_text(j, "room", room_id(a, k->room));
    emit_text(j, "over",
              facility_node_id(a->facility, a->facility->rooms[k->room].keeps[k->keep].over));
    number(j, "at_least_Pa", k->least_wanted_Pa);
    number(j, "lowest_Pa", k->lowest_Pa);
    number(j, "lowest_at_s", k->lowest_at_s);
    emit_number_if(j, "below_from_s", k->below, k->below_from_s);
    number(j, "below_s", k->below_s);
    emit_bool(j, "reversed", k->reversed);
    emit_bool(j, "below_at_end", k->till_end);
    emit_close(j);
  }
  emit_close(j);
}

static void reversals(struct emit *j, const struct after_answer *a, const struct after_turn *turn)
{
  emit_array(j, "reversals");
  for (int i = 0; i < turn->reversal_count; i++) {
    const struct after_reversal *r = &turn->reversals[i];

    emit_object(j, NULL);
    emit_text(j, "at",
              r->at_door ? a->facility->doors[r->index].part.id
                         : a->facility->stations[r->index].part.id);
    emit_text(j, "kind", r->at_door ? "door" : "station");
    number(j, "from_s", r->from_s);
    number(j, "for_s", r->for_s);
    number(j, "most_m3_s", r->most_m3_s);
    emit_bool(j, "at_end", r->till_end);
    emit_close(j);
  }
  emit_close(j);
}

static void stations(struct emit *j, const struct after_answer *a, const struct after_turn *turn)
{
  emit_array(j, "stations");
  for (int i = 0; i < turn->station_count; i++) {
    const struct after_station *s = &turn->stations[i];

    emit_object(j, NULL);
    emit_text(j, "id", a->facility->stations[s->station].part.id);
    emit_bool(j, "moved", s->moved);
    number(j, "steady_m3_s", s->steady_m3_s);
    number(j, "to_90_percent_s", s->to_90_s);
    number(j, "within_10_percent_s", s->within_10_s);
    number(j, "lowest_ratio", s->lowest_ratio);
    number(j, "lowest_at_s", s->lowest_at_s);
    number(j, "short_s", s->short_s);
    emit_close(j);
  }
  emit_close(j);
}

static void turn(struct emit *j, const struct after_answer *a, const struct after_turn *t,
                 struct arena *arena)
{
  emit_object(j, NULL);
  number(j, "at_s", t->at_s);
  number(j, "until_s", t->until_s);
  emit_array(j, "events");
  for (int i = t->first_event; i < t->first_event + t->event_count; i++)
    emit_text(j, NULL, a->events[i].text);
  emit_close(j);
  emit_int(j, "severity", t->worst);
  emit_text(j, "says", after_turn_words(a, t, UNITS_SYSTEM_SI, arena));
  number(j, "pressure_settled_after_s", t->settled_s);
  keeps(j, a, t);
  reversals(j, a, t);
  stations(j, a, t);
  if (t->force.door < 0) {
    emit_null(j, "door_force");
  } else {
    emit_object(j, "door_force");
    emit_text(j, "door", a->facility->doors[t->force.door].part.id);
    number(j, "most_Pa", t->force.most_Pa);
    number(j, "force_N", t->force.force_N);
    number(j, "at_s", t->force.at_s);
    emit_close(j);
  }
  emit_close(j);
}

static void clocks(struct emit *j, const struct after_answer *a)
{
  emit_array(j, "clocks");
  for (int i = 0; i < a->clock_count; i++) {
    const struct after_clock *c = &a->clocks[i];

    emit_object(j, NULL);
    emit_text(j, "room", room_id(a, c->room));
    emit_text(j, "why", c->has_volume ? NULL : "the file gives no volume");
    number(j, "particles_100_to_1_s", c->particles_s);
    number(j, "gas_100_to_1_perfect_s", c->gas_s);
    number(j, "gas_100_to_1_least_s", c->gas_least_s);
    number(j, "gas_100_to_1_most_s", c->gas_most_s);
    number(j, "fresh_changes_per_h", c->fresh_changes_per_h);
    emit_close(j);
  }
  emit_close(j);
  emit_array(j, "particles");
  for (int i = 0; i < a->particle_count; i++) {
    const struct after_particles *p = &a->particles[i];

    emit_object(j, NULL);
    emit_text(j, "room", room_id(a, p->room));
    number(j, "most_per_m3", p->most_per_m3);
    number(j, "limit_per_m3", p->limit_per_m3);
    number(j, "above_s", p->above_s);
    number(j, "below_again_at_s", p->clear_at_s);
    emit_close(j);
  }
  emit_close(j);
}

static void column(struct emit *j, const struct after_trace *t, int at)
{
  for (int r = 0; r < t->count; r++)
    number(j, NULL, t->rows[r][at]);
}

static void one(struct emit *j, const struct after_trace *t, const char *id, const char *over,
                const char *key, int at)
{
  emit_object(j, NULL);
  emit_text(j, over ? "room" : "id", id);
  if (over)
    emit_text(j, "over", over);
  emit_array(j, key);
  column(j, t, at);
  emit_close(j);
  emit_close(j);
}

static void trace(struct emit *j, const struct after_answer *a)
{
  const struct facility *f = a->facility;
  const struct after_trace *t = &a->trace;
  int k = 0;

  emit_object(j, "trace");
  emit_array(j, "time_s");
  column(j, t, 0);
  emit_close(j);
  emit_array(j, "keeps");
  for (int i = 0; i < f->room_count; i++)
    for (int n = 0; n < f->rooms[i].keep_count; n++, k++)
      one(j, t, f->rooms[i].part.id, facility_node_id(f, f->rooms[i].keeps[n].over), "actual_Pa",
          t->keeps + k);
  emit_close(j);
  emit_array(j, "doors");
  for (int i = 0; i < f->door_count; i++)
    one(j, t, f->doors[i].part.id, NULL, "flow_m3_s", t->door_flows + i);
  emit_close(j);
  emit_array(j, "stations");
  for (int i = 0; i < f->station_count; i++)
    one(j, t, f->stations[i].part.id, NULL, "flow_m3_s", t->stations + i);
  emit_close(j);
  emit_array(j, "fans");
  for (int i = 0; i < f->fan_count; i++)
    one(j, t, f->fans[i].part.id, NULL, "speed", t->fans + i);
  emit_close(j);
  emit_array(j, "gases");
  for (int i = 0; i < f->room_count && t->gas_out > t->gases; i++)
    one(j, t, f->rooms[i].part.id, NULL, "share", t->gases + i);
  emit_close(j);
  emit_close(j);
}

void after_json(const struct after_answer *a, struct buf *out)
{
  struct emit json, *j = &json;
  const struct facility *f = a->facility;
  struct arena arena;

  arena_init(&arena, (size_t)64 << 20);
  emit_begin(j, out);
  emit_object(j, NULL);
  emit_text(j, "schema", "inward.after.1");
  emit_text(j, "suite", f->name);
  emit_text(j, "label", f->label);
  emit_text(j, "suite_sha256", f->sha256);
  emit_text(j, "engine", INWARD_VERSION);
  emit_text(j, "scene", a->scene);
  emit_bool(j, "trial", true);
  number(j, "for_s", a->for_s);
  emit_bool(j, "missed", a->missed);
  emit_bool(j, "solved", !a->lost);
  emit_array(j, "turns");
  for (int i = 0; i < a->turn_count; i++)
    turn(j, a, &a->turns[i], &arena);
  emit_close(j);
  emit_array(j, "worst_first");
  for (int i = 0; i < a->turn_count; i++)
    emit_int(j, NULL, a->worst_first[i]);
  emit_close(j);
  clocks(j, a);
  emit_number(j, "mixing_least", f->after.mixing_least_ratio);
  emit_number(j, "mixing_most", f->after.mixing_most_ratio);
  texts(j, "not_known", a->unknown, a->unknown_count);
  texts(j, "assumed", a->assumed, a->assumed_count);
  emit_object(j, "steps");
  emit_int(j, "taken", a->steps.taken);
  emit_int(j, "rejected", a->steps.rejected);
  emit_int(j, "at_shortest", a->steps.at_least);
  emit_int(j, "solves", a->steps.slopes);
  emit_int(j, "turns_found", a->located);
  emit_int(j, "turns_passed_over", a->passed_over);
  emit_close(j);
  trace(j, a);
  emit_close(j);
  emit_end(j);
  arena_release(&arena);
}
