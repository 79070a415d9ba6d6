/* What a station may draw at a moment, and what that air is for. */
#include "energy/energy_impl.h"

#include <math.h>

static bool is_station_figure(enum facility_move move)
{
  return move >= FACILITY_MOVE_STATION_CONSTANT && move <= FACILITY_MOVE_STATION_FACE;
}

/* The largest of its figures' ±, as a share. */
static double doubt_of(const struct facility *f, int station)
{
  double ratio = 0;

  for (int i = 0; i < f->input_count; i++) {
    const struct facility_input *in = &f->inputs[i];

    if (is_station_figure(in->move) && in->index == station && in->value_si > 0)
      ratio = fmax(ratio, in->plus_minus_si / in->value_si);
  }
  return ratio;
}

static bool is_bounded(double parked_m3_s, double most_m3_s)
{
  return isfinite(parked_m3_s) && isfinite(most_m3_s) && most_m3_s >= parked_m3_s;
}

bool energy_law_of(const struct facility *f, int station, const struct energy_given *given,
                   struct energy_law *out)
{
  const struct facility_station *s = &f->stations[station];
  bool passive = s->flow == FACILITY_PASSIVE;

  *out = (struct energy_law){
      .station = s, .given = given, .doubt_ratio = fmin(doubt_of(f, station), 1)};
  if (!s->in_service || (passive && !given->has_bounds))
    return false;
  if (passive) {
    out->parked_m3_s = given->parked_m3_s;
    out->most_m3_s = given->most_m3_s;
  } else {
    bool by_most = s->flow == FACILITY_FOLLOWS_OPENING && !s->has_openings;

    out->parked_m3_s = facility_station_rule_m3_s(s, false, s->parked_m);
    out->most_m3_s = by_most ? s->most_m3_s : facility_station_rule_m3_s(s, true, s->most_m);
  }
  return is_bounded(out->parked_m3_s, out->most_m3_s);
}

/* ---- what it asks ---- */

struct asked {
  double m3_s;
  bool open;
};

/* The sash is up, the valve is at work, or something holds it there. */
static struct asked asks_at(const struct energy_law *law, bool raised, double opening_m,
                            int blocked)
{
  const struct facility_station *s = law->station;
  bool held = blocked == 1 && s->flow == FACILITY_TWO_STATE;
  double m3_s = law->parked_m3_s;

  if (s->flow == FACILITY_PASSIVE && raised)
    m3_s = law->most_m3_s;
  else if (s->flow != FACILITY_PASSIVE && (raised || held))
    m3_s = fmin(facility_station_rule_m3_s(s, true, opening_m), law->most_m3_s);
  return (struct asked){m3_s, raised || held};
}

static bool is_raised(const struct energy_law *law, double opening_m)
{
  return opening_m > law->station->parked_m + law->given->opening_resolution_m;
}

/* The ± of what is asked, with those of the readings. */
static double doubt_at(const struct energy_law *law, double asked_m3_s)
{
  const struct facility_station *s = law->station;
  double steepness_m2_s = s->flow == FACILITY_FOLLOWS_OPENING ? s->velocity_m_s * s->width_m : 0;

  return law->doubt_ratio * asked_m3_s + law->given->flow_resolution_m3_s +
         steepness_m2_s * law->given->opening_resolution_m;
}

/* A station without a point for its opening: its flow tells it, by the words of watch.h. */
static struct asked told_by_flow(const struct energy_law *law, double flow_m3_s, int blocked)
{
  const struct facility_station *s = law->station;
  bool at_work = fabs(flow_m3_s - law->most_m3_s) < fabs(flow_m3_s - law->parked_m3_s);
  bool above = flow_m3_s > law->parked_m3_s + doubt_at(law, law->parked_m3_s);
  bool held = blocked == 1 && s->flow == FACILITY_TWO_STATE;

  if (s->flow == FACILITY_TWO_STATE)
    return (struct asked){at_work || held ? law->most_m3_s : law->parked_m3_s, at_work || held};
  return (struct asked){fmin(fmax(flow_m3_s, law->parked_m3_s), law->most_m3_s),
                        above && law->most_m3_s > law->parked_m3_s};
}

/* ---- what it is for ---- */

static enum energy_cause cause_of(const struct energy_law *law, double flow_m3_s,
                                  const struct asked *asked, int presence, int blocked)
{
  bool above = flow_m3_s > law->parked_m3_s + doubt_at(law, law->parked_m3_s);

  if (blocked == 1 && presence != 1 && (asked->open || above))
    return ENERGY_BLOCKED_SASH;
  if (!asked->open)
    return ENERGY_PARKED;
  return presence == 1 ? ENERGY_ATTENDED : presence == 0 ? ENERGY_UNATTENDED : ENERGY_UNTOLD;
}

/* All of it known, but that presence may be NEVER or NOT_KNOWN: then UNTOLD gets the open part. */
static void split_known(const struct energy_law *law, double flow_m3_s, struct asked asked,
                        int presence, int blocked, double out_m3_s[ENERGY_PARTS])
{
  double ask_m3_s = blocked == 1 ? law->most_m3_s : asked.m3_s;
  double over_m3_s = flow_m3_s - ask_m3_s;
  bool beyond = over_m3_s > doubt_at(law, ask_m3_s);

  for (int i = 0; i < ENERGY_PARTS; i++)
    out_m3_s[i] = 0;
  out_m3_s[ENERGY_BEYOND] = beyond ? over_m3_s : 0;
  out_m3_s[cause_of(law, flow_m3_s, &asked, presence, blocked)] +=
      (beyond ? ask_m3_s : flow_m3_s) - law->parked_m3_s;
}

/* ---- bounds: whatever the unknown was ---- */

struct bounding {
  const struct energy_law *law;
  const struct energy_moment *m;
  struct energy_split *out;
};

static void widen(struct bounding *b, double flow_m3_s, struct asked asked, int presence,
                  int blocked)
{
  double parts_m3_s[ENERGY_PARTS], above_m3_s = flow_m3_s - b->law->parked_m3_s;

  split_known(b->law, flow_m3_s, asked, presence, blocked, parts_m3_s);
  b->out->excess_least_m3_s = fmin(b->out->excess_least_m3_s, above_m3_s);
  b->out->excess_most_m3_s = fmax(b->out->excess_most_m3_s, above_m3_s);
  for (int i = 0; i < ENERGY_CAUSES; i++) {
    b->out->least_m3_s[i] = fmin(b->out->least_m3_s[i], parts_m3_s[i]);
    b->out->most_m3_s[i] = fmax(b->out->most_m3_s[i], parts_m3_s[i]);
  }
}

enum { ASKS_MOST = 3, FLOWS_MOST = 10 };

/* What it may have asked at that flow: one if its opening is known, else the ends, and that flow itself,
 * where the beyond turns into the state. */
static int asks_of(const struct bounding *b, double flow_m3_s, int blocked,
                   struct asked out[ASKS_MOST])
{
  const struct energy_law *law = b->law;

  if (!law->given->signals[ENERGY_OPENING].measured && law->given->signals[ENERGY_FLOW].measured) {
    out[0] = told_by_flow(law, flow_m3_s, blocked);
    return 1;
  }
  if (b->m->opening_known) {
    out[0] = asks_at(law, is_raised(law, b->m->opening_m), b->m->opening_m, blocked);
    return 1;
  }
  out[0] = asks_at(law, false, law->station->parked_m, blocked);
  out[1] = (struct asked){law->most_m3_s, true};
  out[2] = (struct asked){fmin(fmax(flow_m3_s, law->parked_m3_s), law->most_m3_s), true};
  return law->station->flow == FACILITY_TWO_STATE ? 2 : ASKS_MOST;
}

/* A flow that was not heard: the ends, and where what it is for changes. */
static int flows_not_heard(const struct energy_law *law, const struct energy_moment *m, int blocked,
                           double out_m3_s[FLOWS_MOST])
{
  double low = m->fans == ENERGY_ALL_RUN ? law->parked_m3_s * (1 - law->doubt_ratio) : 0;
  double high = law->most_m3_s * (1 + law->doubt_ratio);
  double middle = (law->parked_m3_s + law->most_m3_s) / 2;
  double ask = m->opening_known
                   ? asks_at(law, is_raised(law, m->opening_m), m->opening_m, blocked).m3_s
                   : middle;
  const double turns[] = {low,
                          high,
                          law->parked_m3_s + doubt_at(law, law->parked_m3_s),
                          nextafter(law->parked_m3_s + doubt_at(law, law->parked_m3_s), INFINITY),
                          law->most_m3_s + doubt_at(law, law->most_m3_s),
                          ask + doubt_at(law, ask),
                          nextafter(ask + doubt_at(law, ask), INFINITY),
                          middle,
                          nextafter(middle, 0),
                          nextafter(middle, INFINITY)};

  for (int i = 0; i < FLOWS_MOST; i++)
    out_m3_s[i] = fmin(fmax(turns[i], low), high);
  return FLOWS_MOST;
}

/* Computed: what it asks, or less where a fan may be missing. */
static void widen_computed(struct bounding *b, int presence, int blocked)
{
  const struct energy_law *law = b->law;
  bool passive = law->station->flow == FACILITY_PASSIVE;
  struct asked asks[ASKS_MOST];
  int count = asks_of(b, law->most_m3_s, blocked, asks);

  for (int i = 0; i < count; i++) {
    widen(b, asks[i].m3_s, asks[i], presence, blocked);
    if (passive && asks[i].open)
      widen(b, law->parked_m3_s, asks[i], presence, blocked);
    if (b->m->fans != ENERGY_ALL_RUN)
      widen(b, 0, asks[i], presence, blocked);
  }
}

static void widen_case(struct bounding *b, int presence, int blocked)
{
  double flows_m3_s[FLOWS_MOST] = {b->m->flow_m3_s};
  struct asked asks[ASKS_MOST];
  int count = 1;

  if (!b->law->given->signals[ENERGY_FLOW].measured) {
    widen_computed(b, presence, blocked);
    return;
  }
  if (!b->m->flow_known)
    count = flows_not_heard(b->law, b->m, blocked, flows_m3_s);
  for (int i = 0; i < count; i++) {
    int ask_count = asks_of(b, flows_m3_s[i], blocked, asks);

    for (int k = 0; k < ask_count; k++)
      widen(b, flows_m3_s[i], asks[k], presence, blocked);
  }
}

/* 0 and 1 where it is not known; what nothing measures: blocked is not, presence may be either. */
static bool may_be(int said, int value, int never_is)
{
  return said == value || said == ENERGY_NOT_KNOWN ||
         (said == ENERGY_NEVER && (never_is < 0 || never_is == value));
}

static void put_untold(struct energy_split *s)
{
  double sure_m3_s = 0;

  for (int i = 0; i < ENERGY_CAUSES; i++)
    sure_m3_s += fmax(s->least_m3_s[i], 0);
  s->least_m3_s[ENERGY_UNTOLD] = fmax(s->excess_least_m3_s - sure_m3_s, 0);
  s->most_m3_s[ENERGY_UNTOLD] = fmax(s->excess_most_m3_s - sure_m3_s, 0);
}

static void bound(const struct energy_law *law, const struct energy_moment *m,
                  struct energy_split *out)
{
  struct bounding b = {law, m, out};

  out->excess_least_m3_s = INFINITY;
  out->excess_most_m3_s = -INFINITY;
  for (int i = 0; i < ENERGY_PARTS; i++) {
    out->least_m3_s[i] = INFINITY;
    out->most_m3_s[i] = -INFINITY;
  }
  for (int presence = 0; presence < 2; presence++)
    for (int blocked = 0; blocked < 2; blocked++)
      if (may_be(m->presence, presence, -1) && may_be(m->blocked, blocked, 0))
        widen_case(&b, presence, blocked);
  put_untold(out);
}

/* ---- the best estimate ---- */

/* The opening it stands at, as far as something measured says so; false: nothing does. */
static bool best_ask(const struct energy_law *law, const struct energy_moment *m, struct asked *out)
{
  const struct energy_trace *signals = law->given->signals;
  bool held_matters = m->blocked == ENERGY_NOT_KNOWN && law->station->flow == FACILITY_TWO_STATE;

  if (signals[ENERGY_OPENING].measured) {
    bool raised = m->opening_known && is_raised(law, m->opening_m);

    if (!m->opening_known || (held_matters && !raised))
      return false;
    *out = asks_at(law, raised, m->opening_m, m->blocked);
    return true;
  }
  if (signals[ENERGY_FLOW].measured) {
    if (m->flow_known)
      *out = told_by_flow(law, m->flow_m3_s, m->blocked);
    return m->flow_known;
  }
  if (!(law->most_m3_s > law->parked_m3_s)) { /* the same at every opening */
    *out = (struct asked){law->parked_m3_s, false};
    return true;
  }
  *out = asks_at(law, true, law->station->work_m, m->blocked);
  return m->presence == 1; /* somebody there means at work */
}

/* A flow whose cause is not known: parked where it is near that, else untold; but a cause that surely
 * has a share of it gets that, and none more than it may have. */
static void give_what_is_sure(const struct energy_law *law, double above_m3_s,
                              struct energy_split *out)
{
  bool near = fabs(above_m3_s) <= doubt_at(law, law->parked_m3_s);
  double rest_m3_s = above_m3_s;

  for (int i = 0; i < ENERGY_CAUSES; i++) {
    double meant_m3_s = near && i == ENERGY_PARKED ? above_m3_s : 0;

    out->best_m3_s[i] = fmin(fmax(meant_m3_s, out->least_m3_s[i]), out->most_m3_s[i]);
    rest_m3_s -= out->best_m3_s[i];
  }
  bool is_rounding = fabs(rest_m3_s) <= 1e-12 * law->most_m3_s;

  out->best_m3_s[ENERGY_UNTOLD] = is_rounding ? 0 : rest_m3_s;
}

static void take_best(const struct energy_law *law, const struct energy_moment *m,
                      struct energy_split *out)
{
  struct asked asked;
  bool has_ask = best_ask(law, m, &asked);
  bool computes = has_ask && m->fans == ENERGY_ALL_RUN &&
                  !(law->station->flow == FACILITY_PASSIVE && asked.open);
  double flow_m3_s = m->flow_known ? m->flow_m3_s : computes ? asked.m3_s : (double)NAN;
  double above_m3_s = flow_m3_s - law->parked_m3_s;

  out->has_best = isfinite(flow_m3_s);
  out->over_m3_s = (double)NAN;
  if (has_ask)
    out->doubt_m3_s = doubt_at(law, m->blocked == 1 ? law->most_m3_s : asked.m3_s);
  if (!out->has_best)
    return;
  if (has_ask && m->blocked != ENERGY_NOT_KNOWN) {
    split_known(law, flow_m3_s, asked, m->presence, m->blocked, out->best_m3_s);
    if (m->flow_known)
      out->over_m3_s = flow_m3_s - asked.m3_s;
    return;
  }
  give_what_is_sure(law, above_m3_s, out);
}

struct energy_split energy_split_of(const struct energy_law *law, const struct energy_moment *m)
{
  struct energy_split out = {0};

  bound(law, m, &out);
  take_best(law, m, &out);
  return out;
}
