#include "net/net.h"

#include "base/buf.h"

static const char *const law_names[] = {"shut", "resist", "fan", "set", "hold", "follow"};

static void print_members(const struct net_link *link, struct buf *out)
{
  for (int i = 0; i < link->member_count; i++) {
    const struct net_member *m = &link->members[i];
    if (m->kind == NET_POWER)
      buf_printf(out, "  power %.17g %.17g %.17g\n", m->k[0], m->k[1], m->m);
    else
      buf_printf(out, "  darcy %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g\n", m->length_m,
                 m->diameter_m, m->area_m2, m->roughness_m, m->loss_ratio, m->density_kg_m3[0],
                 m->density_kg_m3[1], m->viscosity_Pa_s);
  }
}

static void print_fan(const struct net_fan *fan, struct buf *out)
{
  buf_printf(out, "  curve %d %.17g %.17g density %.17g factor %.17g speed %.17g running %d\n",
             (int)fan->kind, fan->a_Pa, fan->b_Pa_s2_m6, fan->density_kg_m3, fan->rise_factor,
             fan->speed_ratio, fan->running);
  for (int i = 0; fan->kind != NET_CURVE_A_MINUS_B_Q2 && i < fan->point_count; i++)
    buf_printf(out, "  point %.17g %.17g\n", fan->flow_m3_s[i], fan->rise_Pa[i]);
  if (fan->holds)
    buf_printf(out, "  holds %d over %d at %.17g speed %.17g..%.17g\n", fan->held, fan->over,
               fan->hold_Pa, fan->least_speed_ratio, fan->most_speed_ratio);
}

void net_print(const struct net_problem *problem, struct buf *out)
{
  for (int n = 0; n < problem->node_count; n++) {
    const struct net_node *node = &problem->nodes[n];
    if (node->fixed)
      buf_printf(out, "node %d fixed %.17g\n", n, node->pressure_Pa);
    else
      buf_printf(out, "node %d inflow %.17g\n", n, node->inflow_kg_s);
  }
  for (int l = 0; l < problem->link_count; l++) {
    const struct net_link *link = &problem->links[l];
    buf_printf(out, "link %d %d>%d %s lift %.17g", l, link->from, link->to, law_names[link->law],
               link->lift_Pa);
    if (link->law == NET_SET_FLOW || link->law == NET_FOLLOW)
      buf_printf(out, " set %.17g", link->set_kg_s);
    if (link->law == NET_HOLD)
      buf_printf(out, " hold %d over %d at %.17g", link->held, link->over, link->hold_Pa);
    if (link->law == NET_HOLD || link->law == NET_FOLLOW)
      buf_printf(out, " within %.17g %.17g", link->least_kg_s, link->most_kg_s);
    for (int i = 0; link->law == NET_FOLLOW && i < link->follow_count; i++)
      buf_printf(out, " follows %d", link->follows[i]);
    buf_putc(out, '\n');
    print_members(link, out);
    if (link->law == NET_FAN)
      print_fan(link->fan, out);
  }
}
