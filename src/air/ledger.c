/*
 * The pressure ledger behind one station: from its room to outdoors, every drop
 * and rise with its origin, so that a technician can check it with a manometer.
 */
#include "air/air_impl.h"
#include "numeric/numeric.h"

#include <math.h>

enum { ROWS_MAX = 64 };
static const double no_pressure_Pa =
    1e-9; /* what rounding leaves of a walk that ends where it began */

struct walk {
  const struct air *air;
  struct arena *arena;
  struct air_ledger *ledger;
  double pressure_Pa;
};

static void row(struct walk *w, const char *what, const char *origin, double drop_Pa)
{
  if (w->ledger->count == ROWS_MAX)
    return;
  w->pressure_Pa -= drop_Pa;
  if (fabs(w->pressure_Pa) < no_pressure_Pa)
    w->pressure_Pa = 0.0;
  w->ledger->rows[w->ledger->count++] =
      (struct air_ledger_row){what, origin, drop_Pa, w->pressure_Pa};
}

static const char *resistance_origin(const struct facility_resistance *r, struct arena *arena)
{
  switch (r->form) {
  case FACILITY_DROP_AT_FLOW:
    return air_say(arena, "stated: %.4g Pa at %.4g m3/h", r->drop_Pa, r->flow_m3_s * 3600.0);
  case FACILITY_LUMPED:
    return air_say(arena, "stated: %.4g Pa/(m3/s)2", r->lumped_Pa_s2_m6);
  case FACILITY_LOSS:
    return air_say(arena, "loss %.3g in %.4g m2", r->loss_ratio, r->area_m2);
  case FACILITY_GEOMETRY:
    return air_say(arena, "%.3g m of duct, %.3g m across, loss %.3g (Colebrook)", r->length_m,
                   r->hydraulic_diameter_m, r->loss_ratio);
  case FACILITY_NO_RESISTANCE:
    break;
  }
  return "not stated";
}

static void station_rows(struct walk *w, int station)
{
  const struct facility_station *s = &w->air->facility->stations[station];
  int link = w->air->station_link[station];
  double total = net_drop_Pa(w->air->net, link);
  double branch = air_station_branch_drop_Pa(w->air, station);

  if (s->flow == FACILITY_PASSIVE) {
    row(w, air_say(w->arena, "%s face and branch", s->part.id),
        resistance_origin(&s->branch, w->arena), total);
    return;
  }
  if (w->air->links[link].member_count > 0)
    row(w, air_say(w->arena, "%s branch, wide open", s->part.id),
        resistance_origin(&s->branch, w->arena), branch);
  row(w, air_say(w->arena, "%s valve", s->part.id),
      w->air->links[link].member_count > 0 ? "what is left for the valve to take"
                                           : "the valve takes what the main offers",
      total - (w->air->links[link].member_count > 0 ? branch : 0.0));
}

static const char *link_origin(const struct walk *w, int link)
{
  const struct air_link_meaning *m = &w->air->meanings[link];
  const struct facility *f = w->air->facility;

  switch (m->kind) {
  case AIR_LINK_DUCT:
    return resistance_origin(&f->ducts[m->index].resistance, w->arena);
  case AIR_LINK_FAN:
    return air_say(w->arena, "fan curve, %d running, speed %.0f %%", w->air->fans[m->index].running,
                   net_speed_ratio(w->air->net, link) * 100.0);
  case AIR_LINK_FAN_STOPPED:
    return resistance_origin(&f->fans[m->index].stopped, w->arena);
  case AIR_LINK_LEAK:
  case AIR_LINK_DOOR:
  case AIR_LINK_EXHAUST:
  case AIR_LINK_UNIT:
  case AIR_LINK_FEED:
  case AIR_LINK_STATION:
    break;
  }
  return "stated";
}

/* The way the most air goes on from `node`, not back where it came from. */
static int way_on(const struct air *air, int node, const bool *seen)
{
  int best = -1;
  double most = 0.0;

  for (int i = 0; i < air->problem.link_count; i++) {
    enum air_link_kind kind = air->meanings[i].kind;
    double flow = net_flow_kg_s(air->net, i);
    bool leaves =
        (air->links[i].from == node && flow > 0.0) || (air->links[i].to == node && flow < 0.0);
    int next = air->links[i].from == node ? air->links[i].to : air->links[i].from;

    if (!leaves || seen[next] || kind == AIR_LINK_STATION)
      continue;
    if (numeric_exceeds(fabs(flow), most, 0.0)) {
      most = fabs(flow);
      best = i;
    }
  }
  return best;
}

struct air_ledger *air_why(struct air *air, const struct scene *scene, int station,
                           struct arena *arena, struct err *err)
{
  const struct facility *f = air->facility;
  struct air_ledger *ledger = ARENA_NEW(arena, struct air_ledger);
  bool *seen = ARENA_ARRAY(arena, bool, (size_t)air->problem.node_count + 1);
  struct air_outcome outcome;
  struct net_report report;
  int node = f->stations[station].joins;

  if (!ledger || !seen || !(ledger->rows = ARENA_ARRAY(arena, struct air_ledger_row, ROWS_MAX))) {
    err_set(err, ERR_LIMIT, "the ledger is larger than the memory set aside for it");
    return NULL;
  }
  if (node < 0) {
    err_set(
        err, ERR_NO_SOLUTION,
        "%s: its main %s has no network in the file, so no pressure to account for: 'inward air' "
        "alone says what the main can give; write its ducts for a ledger",
        f->stations[station].part.id, f->mains[f->stations[station].main].part.id);
    return NULL;
  }
  net_forget(air->net);
  air_outcome_of(air, scene, NULL, &outcome, &report);
  if (!outcome.answered) {
    err_set(err, ERR_NO_SOLUTION, "the air could not be solved: %s", report.reason);
    return NULL;
  }
  struct walk w = {air, arena, ledger, net_pressure_Pa(air->net, f->stations[station].room)};

  ledger->start_Pa = w.pressure_Pa;
  seen[f->stations[station].room] = true;
  station_rows(&w, station);
  while (node != facility_node_outdoors(f)) {
    seen[node] = true;
    int link = way_on(air, node, seen);

    if (link < 0)
      break;
    bool forward = air->links[link].from == node;
    double sign = forward ? 1.0 : -1.0, lift_Pa = air->links[link].lift_Pa;

    row(&w, air->meanings[link].id, link_origin(&w, link), sign * net_drop_Pa(air->net, link));
    if (lift_Pa != 0.0)
      row(&w, air_say(arena, "%s height", air->meanings[link].id), "stack effect", -sign * lift_Pa);
    node = forward ? air->links[link].to : air->links[link].from;
  }
  ledger->end_Pa = w.pressure_Pa;
  ledger->reaches_outdoors = node == facility_node_outdoors(f) && ledger->count < ROWS_MAX;
  return ledger;
}
