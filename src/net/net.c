#include "net/net_impl.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static enum err_code bad_link(struct err *err, int link, const char *what)
{
  return err_set(err, ERR_INPUT, "link %d: %s", link, what);
}

static enum err_code check_members(const struct net_link *link, int l, struct err *err)
{
  for (int i = 0; i < link->member_count; i++) {
    const struct net_member *m = &link->members[i];
    if (m->kind == NET_POWER &&
        !(m->k[0] >= 0 && m->k[1] >= 0 && isfinite(m->k[0]) && isfinite(m->k[1])))
      return bad_link(err, l, "a resistance must be a number, zero or more");
    if (m->kind == NET_POWER && !(m->m >= 1 && m->m <= 3))
      return bad_link(err, l, "the exponent of a resistance must be within 1 to 3");
    if (m->kind == NET_DARCY &&
        !(m->length_m >= 0 && m->diameter_m > 0 && m->area_m2 > 0 && m->roughness_m >= 0 &&
          m->loss_ratio >= 0 && m->density_kg_m3[0] > 0 && m->density_kg_m3[1] > 0 &&
          m->viscosity_Pa_s > 0 && isfinite(m->length_m) && isfinite(m->loss_ratio)))
      return bad_link(err, l, "a duct needs positive diameter, area, density and viscosity");
  }
  return 0;
}

static bool node_ok(const struct net_problem *problem, int node)
{
  return node >= 0 && node < problem->node_count;
}

static enum err_code check_fan(const struct net_problem *problem, int l, struct err *err)
{
  const struct net_fan *fan = problem->links[l].fan;
  if (!fan)
    return bad_link(err, l, "a fan needs its curve");
  if (fan->kind == NET_CURVE_A_MINUS_B_Q2) {
    if (!(fan->a_Pa >= 0 && fan->b_Pa_s2_m6 >= 0 && isfinite(fan->a_Pa)))
      return bad_link(err, l, "a and b of a fan curve must be zero or more");
  } else if (fan->point_count < 2 || fan->point_count > 256) {
    return bad_link(err, l, "a fan table needs 2 to 256 points");
  } else {
    for (int i = 0; i < fan->point_count; i++)
      if (!isfinite(fan->rise_Pa[i]) || !(fan->flow_m3_s[i] >= 0) ||
          (i > 0 && !(fan->flow_m3_s[i] > fan->flow_m3_s[i - 1])))
        return bad_link(err, l, "flows of a fan table must rise from zero or more");
  }
  if (!(fan->density_kg_m3 > 0 && fan->rise_factor > 0 && fan->speed_ratio >= 0) ||
      fan->running < 1)
    return bad_link(err, l, "a fan needs density, rise factor and units running above zero");
  if (!fan->holds)
    return 0;
  if (!node_ok(problem, fan->held) || !(fan->over == NET_NONE || node_ok(problem, fan->over)))
    return bad_link(err, l, "the fan holds the pressure of a node that is not there");
  if (!(fan->least_speed_ratio >= 0 && fan->most_speed_ratio > 0 &&
        fan->most_speed_ratio >= fan->least_speed_ratio) ||
      fan->held == fan->over)
    return bad_link(err, l, "a holding fan needs 0 <= least <= most speed and two different nodes");
  return 0;
}

/* Depth first over who follows whom: `seen` is 1 while a link is being asked, 2 when it is done. */
static bool follows_itself(const struct net_problem *problem, int link, unsigned char *seen)
{
  const struct net_link *l = &problem->links[link];
  if (seen[link] != 0 || l->law != NET_FOLLOW)
    return seen[link] == 1;
  seen[link] = 1;
  for (int i = 0; i < l->follow_count; i++)
    if (follows_itself(problem, l->follows[i], seen))
      return true;
  seen[link] = 2;
  return false;
}

static enum err_code check_followers(const struct net_problem *problem, struct err *err)
{
  unsigned char *seen = calloc((size_t)problem->link_count + 1, 1);
  int ring = NET_NONE;
  BUG_IF(!seen);
  for (int l = 0; l < problem->link_count && ring == NET_NONE; l++)
    if (follows_itself(problem, l, seen))
      ring = l;
  free(seen);
  return ring == NET_NONE ? 0 : bad_link(err, ring, "it follows itself");
}

static enum err_code check_control(const struct net_problem *problem, int l, struct err *err)
{
  const struct net_link *link = &problem->links[l];
  if (!(link->least_kg_s <= link->most_kg_s) || !isfinite(link->least_kg_s))
    return bad_link(err, l, "least must be a number not above most");
  if (link->law == NET_HOLD) {
    if (!node_ok(problem, link->held) ||
        !(link->over == NET_NONE || node_ok(problem, link->over)) || link->held == link->over ||
        !isfinite(link->hold_Pa))
      return bad_link(err, l, "a hold needs a node, another to measure against, and a pressure");
    if (link->member_count > 0 && link->least_kg_s < 0)
      return bad_link(err, l, "a hold with a path cannot be asked to run backwards");
    return 0;
  }
  for (int i = 0; i < link->follow_count; i++)
    if (link->follows[i] < 0 || link->follows[i] >= problem->link_count)
      return bad_link(err, l, "it follows a link that is not there");
  return 0;
}

static enum err_code check_link(const struct net_problem *problem, int l, struct err *err)
{
  const struct net_link *link = &problem->links[l];
  if (!node_ok(problem, link->from) || !node_ok(problem, link->to) || link->from == link->to)
    return bad_link(err, l, "its ends must be two different nodes");
  if (!isfinite(link->lift_Pa) || link->member_count < 0 ||
      (link->member_count > 0 && !link->members))
    return bad_link(err, l, "its lift or members are not usable");
  enum err_code code = check_members(link, l, err);
  if (code)
    return code;
  if (link->law == NET_FAN)
    return check_fan(problem, l, err);
  if (link->law == NET_SET_FLOW && !isfinite(link->set_kg_s))
    return bad_link(err, l, "a set flow must be a number");
  if (link->law == NET_HOLD || link->law == NET_FOLLOW)
    return check_control(problem, l, err);
  return 0;
}

static enum err_code check_problem(const struct net_problem *problem, struct err *err)
{
  for (int n = 0; n < problem->node_count; n++)
    if ((problem->nodes[n].fixed && !isfinite(problem->nodes[n].pressure_Pa)) ||
        !isfinite(problem->nodes[n].inflow_kg_s))
      return err_set(err, ERR_INPUT, "node %d: its pressure or inflow is not a number", n);
  for (int l = 0; l < problem->link_count; l++) {
    enum err_code code = check_link(problem, l, err);
    if (code)
      return code;
  }
  return check_followers(problem, err);
}

static void release(struct net *net)
{
  numeric_sparse_free(net->sparse);
  arena_release(&net->arena);
}

static bool make(struct net *net, const struct net_problem *problem, enum net_path path,
                 struct err *err)
{
  *net = (struct net){
      .problem = *problem, .path = path, .abreast = abreast_of(path), .ill_node = NET_NONE};
  arena_init(&net->arena, SIZE_MAX);
  if (!build_structure(net, err)) {
    release(net);
    return false;
  }
  values_load(net);
  return true;
}

bool net_take_path(struct net *net, enum net_path path)
{
  if (!net_path_has(path))
    return false;
  net->path = path == NET_PATH_BEST ? net_path_best() : path;
  net->abreast = abreast_of(net->path);
  return true;
}

enum net_path net_path_of(const struct net *net)
{
  return net->path;
}

struct net *net_new(const struct net_problem *problem, struct err *err)
{
  if (check_problem(problem, err))
    return NULL;
  struct net *net = malloc(sizeof *net);
  BUG_IF(!net);
  if (!make(net, problem, net_path_best(), err)) {
    free(net);
    return NULL;
  }
  return net;
}

void net_free(struct net *net)
{
  if (!net)
    return;
  release(net);
  free(net);
}

void net_forget(struct net *net)
{
  net->started = false;
}

void net_update(struct net *net, const struct net_problem *problem)
{
  BUG_IF(problem->node_count != net->problem.node_count ||
         problem->link_count != net->problem.link_count);
  struct err err = {0};
  net->problem = *problem;
  for (int l = 0; l < problem->link_count; l++)
    if (problem->links[l].law == NET_FAN)
      curve_init(&net->curves[l], problem->links[l].fan, &net->arena);
  if (values_fit(net)) {
    values_load(net);
    return;
  }
  release(net);
  BUG_IF(!make(net, problem, net->path, &err));
}

void net_update_link(struct net *net, const struct net_problem *problem, int link)
{
  int e = net->link_edge[link];
  net->problem = *problem;
  if (e < 0 || net->ill_node != NET_NONE || problem->links[link].law == NET_FAN) {
    net_update(net, problem);
    return;
  }
  double before = net->cap[e];
  bool exact = net->exact[e];
  naive_load(problem, link, &net->naive[link]);
  values_edge(net, e, link);
  predict_note(net, e);
  if (isfinite(before) != isfinite(net->cap[e]) || exact != net->exact[e] ||
      (before == 0) != (net->cap[e] == 0))
    net_update(net, problem);
}

void net_update_speed(struct net *net, const struct net_problem *problem, int link)
{
  int e = net->link_edge[link];
  if (e < 0 || net->ill_node != NET_NONE || net->any_humped || !(net->curves[link].inverse > 0) ||
      !(problem->links[link].fan->speed_ratio > 0)) {
    net_update_link(net, problem, link);
    return;
  }
  net->problem = *problem;
  values_edge(net, e, link);
  net->factored = false;
}

static double link_drop(const struct net *net, int link)
{
  const struct net_link *l = &net->problem.links[link];
  return net->node_p[l->from] - net->node_p[l->to] + l->lift_Pa;
}

static const struct control *control_of(const struct net *net, int link)
{
  return net->link_control[link] >= 0 ? &net->controls[net->link_control[link]] : NULL;
}

bool net_has_pressure(const struct net *net, int node)
{
  return net->known[node];
}

double net_pressure_Pa(const struct net *net, int node)
{
  return net->known[node] ? net->node_p[node] : (double)NAN;
}

double net_flow_kg_s(const struct net *net, int link)
{
  return net->link_flow[link];
}

double net_drop_Pa(const struct net *net, int link)
{
  const struct net_link *l = &net->problem.links[link];
  return net->known[l->from] && net->known[l->to] ? link_drop(net, link) : (double)NAN;
}

double net_member_drop_Pa(const struct net *net, int link, int member)
{
  double drop, slope;
  BUG_IF(member < 0 || member >= net->problem.links[link].member_count);
  law_resist(&net->resists[net->resist_first[link] + member], net->link_flow[link], &drop, &slope);
  return drop;
}

double net_rise_Pa(const struct net *net, int link)
{
  return -link_drop(net, link);
}

/* Speed at which a holding fan gives the rise that is needed: rise grows with speed. */
static double held_speed(const struct net *net, const struct control *c)
{
  const struct net_fan *fan = net->problem.links[c->link].fan;
  double low = c->least, high = c->most, rise, slope, needed = -link_drop(net, c->link);
  if (c->seg != CONTROL_HOLDS)
    return c->seg == CONTROL_MOST ? c->most : c->least;
  for (int i = 0; i < 60; i++) {
    struct curve curve = net->curves[c->link];
    double middle = (low + high) / 2;
    curve_speed(&curve, fan, middle);
    curve_rise(&curve, net->link_flow[c->link], false, &rise, &slope);
    if (middle > 0 && rise < needed)
      low = middle;
    else
      high = middle;
  }
  return (low + high) / 2;
}

double net_speed_ratio(const struct net *net, int link)
{
  const struct control *c = control_of(net, link);
  return c ? held_speed(net, c) : net->problem.links[link].fan->speed_ratio;
}

static enum net_segment fan_segment(const struct net *net, int link)
{
  struct curve curve = net->curves[link];
  double g = net->link_flow[link];
  curve_speed(&curve, net->problem.links[link].fan, net_speed_ratio(net, link));
  double unit = curve_unit_flow(&curve, g), first = curve.piece_count > 0 ? curve.at[0] : 0;
  if (!(curve.inverse > 0))
    return NET_NO_FLOW;
  if (unit > curve.last || unit < first)
    return NET_BEYOND_CURVE;
  return curve_left_of_peak(&curve, g) ? NET_LEFT_OF_PEAK : NET_ON_LAW;
}

static enum net_segment control_segment(const struct net *net, const struct control *c)
{
  switch (c->seg) {
  case CONTROL_LEAST:
    return NET_AT_LEAST;
  case CONTROL_MOST:
    return NET_AT_MOST;
  case CONTROL_WIDE:
    return NET_WIDE_OPEN;
  case CONTROL_NONE:
    return NET_NO_FLOW;
  case CONTROL_HOLDS:
  default:
    return c->law == NET_FAN && fan_segment(net, c->link) != NET_ON_LAW ? fan_segment(net, c->link)
                                                                        : NET_ON_SET;
  }
}

enum net_segment net_link_segment(const struct net *net, int link)
{
  const struct net_link *l = &net->problem.links[link];
  const struct control *c = control_of(net, link);
  if (c)
    return control_segment(net, c);
  if (l->law == NET_SHUT)
    return NET_NO_FLOW;
  if (l->law == NET_FAN)
    return fan_segment(net, link);
  if (l->law != NET_SET_FLOW)
    return NET_ON_LAW;
  double g = net->link_flow[link];
  return g == l->set_kg_s ? NET_ON_SET : g == 0 ? NET_NO_FLOW : NET_WIDE_OPEN;
}
