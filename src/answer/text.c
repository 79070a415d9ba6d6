/*
 * The air for a person: the act first, then why, then what helps, then figures.
 * Rounded to what is known of such numbers; the JSON has every digit.
 */
#include "answer/answer.h"

#include "answer/page_impl.h"
#include "base/utf8.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

const char *answer_engine_version(void)
{
  return INWARD_VERSION;
}

const char *answer_verdict_name(enum net_verdict verdict)
{
  static const char *const names[] = {"solved", "at rounding floor", "ill-posed",
                                      "several solutions", "failed"};

  return names[verdict];
}

/* ---- the act ---- */

static int pool_waiting(const struct facility *f, const struct air_answer *a, int pool)
{
  int waiting = 0;

  for (int i = 0; i < f->station_count; i++)
    waiting += air_pool_has_station(f, pool, i) && a->stations[i].may_open.asked;
  return waiting;
}

static void lower_words(const struct facility *f, const struct air_lower_list *list,
                        struct buf *out)
{
  buf_puts(out, "LOWER ");
  for (int i = 0; i < list->count; i++)
    buf_printf(out, "%s%s",
               i == 0                 ? ""
               : i == list->count - 1 ? " AND "
                                      : ", ",
               f->stations[list->sashes[i].station].part.id);
}

static void door_words(const struct facility *f, const struct air_answer *a, struct buf *out)
{
  bool first = true;

  for (int i = 0; i < f->door_count; i++)
    if (a->doors[i].open) {
      buf_printf(out, "%s%s", first ? "SHUT DOOR " : " AND ", f->doors[i].part.id);
      first = false;
    }
}

/* Mains that differ are named: the person stands at one of them. */
static void more_by_main(const struct facility *f, const struct air_answer *a, struct buf *out)
{
  bool first = true;

  for (int p = 0; p < a->pool_count; p++) {
    if (a->pools[p].kind != AIR_POOL_MAIN || pool_waiting(f, a, p) == 0)
      continue;
    buf_printf(out, "%s%s: ", first ? "" : " · ", air_pool_id(f, p));
    if (a->pools[p].more_guaranteed > 0)
      buf_printf(out, "%d MORE", a->pools[p].more_guaranteed);
    else
      buf_puts(out, "NO MORE");
    first = false;
  }
}

/* A pool whose parked stations may all open together limits nobody: the others count. */
static void more_words(const struct facility *f, const struct air_answer *a, struct buf *out)
{
  int least = -1, most = 0, all = 0;

  for (int i = 0; i < f->station_count; i++)
    all += a->stations[i].may_open.asked;
  if (all == 0) {
    buf_puts(out, "NO MORE: NONE LEFT TO OPEN");
    return;
  }
  for (int p = 0; p < a->pool_count; p++) {
    int waiting = pool_waiting(f, a, p), more = a->pools[p].more_guaranteed;

    if (waiting == 0)
      continue;
    if (more < waiting && (least < 0 || more < least))
      least = more;
    if (a->pools[p].kind == AIR_POOL_MAIN && more > most)
      most = more;
  }
  if (least < 0)
    least = all;
  if (least > 0)
    buf_printf(out, "AIR FOR %d MORE", least);
  else if (most > 0)
    more_by_main(f, a, out);
  else
    buf_puts(out, "NO MORE");
}

void answer_act(const struct facility *facility, const struct air_answer *answer, struct buf *out)
{
  if (facility->station_count == 0)
    buf_puts(out, "NO STATIONS IN THIS FILE");
  else if (answer->state == FACILITY_NOT_KNOWN)
    buf_puts(out, "NOT KNOWN: TREAT AS NO");
  else if (answer->state != FACILITY_SHORT)
    more_words(facility, answer, out);
  else if (answer->ends_short.found)
    lower_words(facility, &answer->ends_short, out);
  else if (answer->ends_short.shut_doors)
    door_words(facility, answer, out);
  else
    buf_puts(out, "CALL THE VENTILATION TECHNICIAN");
}

/* ---- figures ---- */

const char *page_shown(const struct page *p, char *text, size_t size, bool known, double si,
                       enum units_dimension dimension)
{
  struct buf b;

  buf_init(&b, 128);
  if (known)
    units_print(&b, si, dimension, p->system);
  else
    buf_puts(&b, "not known");
  snprintf(text, size, "%s", b.text);
  buf_release(&b);
  return text;
}

/* Columns count characters, not bytes: "m³" is two characters in three bytes. */
void page_cell(struct buf *out, const char *text, int width)
{
  int characters = utf8_count(text, strlen(text));

  buf_puts(out, text);
  do
    buf_putc(out, ' '); /* what is too wide still ends before the next begins */
  while (++characters < width);
}

enum { TEXT = PAGE_TEXT };

static void flow_cell(const struct page *p, bool known, double flow_m3_s, int width)
{
  char text[TEXT];

  page_cell(p->out, page_shown(p, text, sizeof text, known, flow_m3_s, UNITS_FLOW), width);
}

static void not_counted(const struct page *p)
{
  for (int i = 0; i < p->f->not_counted_count; i++)
    buf_printf(p->out, "%s%s", i == 0 ? "  NOT COUNTED: " : ", ", p->f->not_counted[i]);
  if (p->f->not_counted_count > 0)
    buf_putc(p->out, '\n');
}

static void heading(const struct page *p)
{
  char level[32];

  snprintf(level, sizeof level, "%s", air_level_name(p->a->state));
  for (char *c = level; *c; c++)
    *c = (char)toupper((unsigned char)*c);
  buf_printf(p->out, "%s%s%s%s   scene: %s%s\n\n", p->f->name ? p->f->name : "(no name)",
             p->f->label ? "   [" : "", p->f->label ? p->f->label : "", p->f->label ? "]" : "",
             p->scene->name, p->scene->is_trial ? ", changed   [TRIAL, not live]" : "");
  if (p->f->station_count > 0) {
    buf_printf(p->out, "  %s   ", level);
    answer_act(p->f, p->a, p->out);
    buf_puts(p->out, "\n  Shared air only. Your station's own alarm decides.\n");
    not_counted(p);
    page_sure(p);
  }
}

void answer_say(const char *text, enum units_system system, struct buf *out)
{
  static const struct {
    const char *unit;
    double si;
    enum units_dimension dimension;
  } spoken[] = {{" Pa", 1.0, UNITS_PRESSURE_DIFFERENCE},
                {" m3/h", 1.0 / 3600.0, UNITS_FLOW},
                {" m/s", 1.0, UNITS_VELOCITY}};
  bool in_word = false; /* "EF-2" holds no number */

  while (*text) {
    bool number = !in_word && isdigit((unsigned char)text[*text == '-']);
    char *end = NULL;
    double value = number ? strtod(text, &end) : 0.0;
    size_t k = 0, length = 0;

    for (; number && k < sizeof spoken / sizeof *spoken; k++) {
      length = strlen(spoken[k].unit);
      if (strncmp(end, spoken[k].unit, length) == 0 &&
          !strchr("/(", end[length] ? end[length] : ' ') && !isalnum((unsigned char)end[length]))
        break;
    }
    if (number && k < sizeof spoken / sizeof *spoken) {
      units_print(out, value * spoken[k].si, spoken[k].dimension, system);
      text = end + length;
    } else {
      in_word = isalnum((unsigned char)*text) || strchr("_-.", *text);
      buf_putc(out, *text++);
    }
  }
}

void page_say(const struct page *p, const char *text)
{
  answer_say(text, p->system, p->out);
}

static void list(const struct page *p, const char *title, const char *const *texts, int count)
{
  if (count == 0)
    return;
  buf_printf(p->out, "\n%s\n", title);
  for (int i = 0; i < count; i++) {
    buf_puts(p->out, "  - ");
    page_say(p, texts[i]);
    buf_putc(p->out, '\n');
  }
}

static void lower_list(const struct page *p, const char *goal, const struct air_lower_list *l)
{
  char text[TEXT];

  if (!l->found) {
    if (l->why)
      buf_printf(p->out, "  to %s: %s\n", goal, l->why);
    return;
  }
  buf_printf(p->out, "  to %s:\n", goal);
  for (int i = 0; i < l->count; i++) {
    const struct air_lower *s = &l->sashes[i];
    const struct facility_station *station = &p->f->stations[s->station];
    bool to_mark = s->has_to_m && s->to_m > station->parked_m;

    buf_printf(p->out, "    %d. %s %s%s", i + 1, station->part.id, to_mark ? "to the mark" : "down",
               p->scene->stations[s->station].unattended ? " (open, nobody there)" : "");
    buf_printf(p->out, ": frees %s, then %s\n",
               page_shown(p, text, sizeof text, true, s->frees_m3_s, UNITS_FLOW),
               air_level_name(s->state_after));
  }
  if (l->why)
    buf_printf(p->out, "    %s\n", l->why);
}

static void lower_first(const struct page *p)
{
  bool any = p->a->ends_short.found || p->a->ends_short.why || p->a->reaches_ample.found ||
             p->a->reaches_ample.why;

  if (!any)
    return;
  buf_puts(p->out, "\nLower first (ask the person there; never move another's sash over work)\n");
  if (p->a->state == FACILITY_SHORT)
    lower_list(p, "end the shortage", &p->a->ends_short);
  lower_list(p, "reach ample", &p->a->reaches_ample);
}

/* Less than what parking the whole pool would give, where that is not enough. */
static void bound_cell(const struct page *p, const struct air_pool *pool, double flow_m3_s)
{
  char text[TEXT], bound[TEXT + 2];

  snprintf(bound, sizeof bound, "%s%s", pool->at_most ? "< " : "",
           page_shown(p, text, sizeof text, pool->has_headroom, flow_m3_s, UNITS_FLOW));
  page_cell(p->out, bound, 12);
}

static void pools(const struct page *p)
{
  if (p->a->pool_count == 0)
    return;
  buf_puts(p->out,
           p->a->sure
               ? "\nPool      state       demand      capacity    headroom    ±           any/best "
                 "more  what binds\n"
               : "\nPool      state       demand      capacity    headroom    any/best more  what "
                 "binds\n");
  for (int i = 0; i < p->a->pool_count; i++) {
    const struct air_pool *pool = &p->a->pools[i];
    char more[32] = "-";

    if (pool->more_known)
      snprintf(more, sizeof more, "%d / %d", pool->more_guaranteed, pool->more_best);
    page_cell(p->out, air_pool_id(p->f, i), 10);
    page_cell(p->out, air_level_name(pool->state), 12);
    flow_cell(p, true, pool->demand_m3_s, 12);
    bound_cell(p, pool, pool->capacity_m3_s);
    bound_cell(p, pool, pool->headroom_m3_s);
    if (p->a->sure)
      flow_cell(p, true, pool->at_most ? (double)NAN : pool->headroom_pm_m3_s, 12);
    page_cell(p->out, more, 15);
    page_say(p, pool->binding ? pool->binding : "");
    if (pool->state == FACILITY_AMPLE && pool->has_headroom && pool->headroom_m3_s < 0.0)
      buf_puts(p->out, " (in a pool that shares its stations)");
    buf_putc(p->out, '\n');
    if (pool->declared.given)
      buf_printf(p->out, "          %s: %s\n", air_level_name(pool->declared.state),
                 pool->declared.why);
  }
}

static void room_keeps(const struct page *p, const struct air_room *r)
{
  char text[TEXT];

  for (int k = 0; k < r->keep_count; k++) {
    const struct air_keep *keep = &r->keeps[k];

    buf_printf(
        p->out, "%s%s", k ? "; " : "",
        page_shown(p, text, sizeof text, keep->known, keep->actual_Pa, UNITS_PRESSURE_DIFFERENCE));
    if (keep->known && isfinite(keep->actual_pm_Pa))
      buf_printf(p->out, " ± %s",
                 page_shown(p, text, sizeof text, true, page_two_digits(keep->actual_pm_Pa),
                            UNITS_PRESSURE_DIFFERENCE));
    buf_printf(p->out, " over %s", facility_node_id(p->f, keep->keep->over));
    if (keep->keep->has_least)
      buf_printf(
          p->out, " (min %s)",
          page_shown(p, text, sizeof text, true, keep->keep->least_Pa, UNITS_PRESSURE_DIFFERENCE));
    if (keep->keep->has_most)
      buf_printf(
          p->out, " (max %s)",
          page_shown(p, text, sizeof text, true, keep->keep->most_Pa, UNITS_PRESSURE_DIFFERENCE));
    if (keep->known && !keep->met)
      buf_puts(p->out, " MISSED");
  }
  if (r->why)
    buf_printf(p->out, "%s%s", r->keep_count ? "; " : "", r->why);
  buf_putc(p->out, '\n');
}

static void rooms(const struct page *p)
{
  char text[TEXT];

  if (p->f->room_count == 0)
    return;
  buf_puts(p->out,
           "\nRoom      pressure      supply      exhaust     leaks out   against its keeps\n");
  for (int i = 0; i < p->f->room_count; i++) {
    const struct air_room *r = &p->a->rooms[i];

    page_cell(p->out, p->f->rooms[i].part.id, 10);
    page_cell(p->out,
              page_shown(p, text, sizeof text, r->known, r->pressure_Pa, UNITS_PRESSURE_DIFFERENCE),
              14);
    flow_cell(p, isfinite(r->supply_m3_s), r->supply_m3_s, 12);
    flow_cell(p, true, r->exhaust_m3_s, 12);
    flow_cell(p, isfinite(r->leakage_m3_s), r->leakage_m3_s, 12);
    room_keeps(p, r);
  }
}

static bool always_on(const struct facility_station *s)
{
  return s->flow == FACILITY_CONSTANT && !s->has_openings;
}

static const char *station_word(const struct page *p, int i, char *word, size_t size)
{
  const struct air_station *s = &p->a->stations[i];
  const struct scene_station *now = &p->scene->stations[i];

  if (!p->f->stations[i].in_service)
    snprintf(word, size, "out of service");
  else
    snprintf(word, size, "%s%s%s%s%s", now->withdrawn ? "withdrawn, " : "",
             now->blocked ? "blocked, " : "", now->unattended ? "nobody there, " : "",
             now->raised                     ? "open"
             : always_on(&p->f->stations[i]) ? "always on"
                                             : "parked",
             s->own_fault                ? ", OWN FAULT"
             : s->has_verdict && !s->met ? ", MISSES"
             : s->has_verdict            ? ", criterion met"
                                         : "");
  return word;
}

static void may_open(const struct page *p, const struct air_may_open *may)
{
  buf_printf(p->out, "; opened: %s", air_level_name(may->state_after));
  if (!may->binding)
    return;
  buf_puts(p->out, may->state_after == FACILITY_NEAR_LIMIT ? "; the next could miss: " : ": ");
  page_say(p, may->binding);
}

static void stations(const struct page *p)
{
  char text[TEXT];

  if (p->f->station_count == 0)
    return;
  buf_puts(p->out,
           "\nStation   opening   flow        face (implied)  now, and if opened to work\n");
  for (int i = 0; i < p->f->station_count; i++) {
    const struct air_station *s = &p->a->stations[i];

    page_cell(p->out, p->f->stations[i].part.id, 10);
    page_cell(p->out,
              s->has_opening ? page_shown(p, text, sizeof text, true, s->opening_m, UNITS_LENGTH)
                             : "-",
              10);
    flow_cell(p, true, s->flow_m3_s, 12);
    page_cell(p->out,
              s->has_face_velocity && p->scene->stations[i].raised
                  ? page_shown(p, text, sizeof text, true, s->face_velocity_m_s, UNITS_VELOCITY)
                  : "-",
              16);
    buf_puts(p->out, station_word(p, i, text, sizeof text));
    if (s->may_open.asked)
      may_open(p, &s->may_open);
    if (p->scene->stations[i].needs_flow)
      buf_printf(p->out, "; needs its flow: %s", p->scene->stations[i].needs_flow);
    buf_putc(p->out, '\n');
  }
}

static void plant(const struct page *p)
{
  char text[TEXT];

  if (p->f->fan_count + p->f->supply_count > 0)
    buf_puts(p->out, "\nPlant\n");
  for (int i = 0; i < p->f->fan_count; i++) {
    const struct air_fan *fan = &p->a->fans[i];

    page_cell(p->out, p->f->fans[i].part.id, 10);
    if (fan->running == 0) {
      buf_puts(p->out, "off\n");
      continue;
    }
    buf_printf(p->out, "%d of %d running, ", fan->running, p->f->fans[i].count);
    buf_printf(p->out, "%s ", page_shown(p, text, sizeof text, true, fan->flow_m3_s, UNITS_FLOW));
    buf_printf(p->out, "at %s, speed %.0f %%%s%s%s\n",
               page_shown(p, text, sizeof text, true, fan->rise_Pa, UNITS_PRESSURE_DIFFERENCE),
               fan->speed_ratio * 100.0, fan->at_limit ? ", AT ITS LIMIT" : "",
               fan->left_of_peak ? ", LEFT OF ITS PEAK (may surge)" : "",
               fan->beyond_curve ? ", BEYOND ITS CURVE" : "");
  }
  for (int i = 0; i < p->f->supply_count; i++) {
    const struct air_supply *s = &p->a->supplies[i];

    page_cell(p->out, p->f->supplies[i].part.id, 10);
    buf_printf(p->out, "%s%s", s->running ? "gives " : "off",
               s->running ? page_shown(p, text, sizeof text, true, s->flow_m3_s, UNITS_FLOW) : "");
    if (p->f->supplies[i].has_most)
      buf_printf(p->out, " of %s",
                 page_shown(p, text, sizeof text, true, p->f->supplies[i].most_m3_s, UNITS_FLOW));
    buf_puts(p->out, s->at_limit ? ", AT ITS LIMIT\n" : "\n");
  }
}

/* A file without stations is a network; its reader wants pressures and flows. */
static void network(const struct page *p)
{
  char text[TEXT];

  if (p->f->station_count > 0)
    return;
  buf_puts(p->out, "\nNode          pressure\n");
  for (int i = 0; i < p->a->node_count; i++) {
    page_cell(p->out, p->a->nodes[i].id, 14);
    if (p->a->nodes[i].known)
      buf_printf(p->out, "%.6g Pa\n", p->a->nodes[i].pressure_Pa);
    else
      buf_printf(p->out, "%s\n", p->a->nodes[i].why);
  }
  buf_puts(p->out, "\nLink          from -> to              flow            drop\n");
  for (int i = 0; i < p->a->link_count; i++) {
    const struct air_link *l = &p->a->links[i];

    snprintf(text, sizeof text, "%s -> %s", l->from, l->to);
    page_cell(p->out, l->id, 14);
    page_cell(p->out, text, 24);
    if (isfinite(l->flow_m3_s))
      snprintf(text, sizeof text, "%.6g m3/s", l->flow_m3_s + 0.0); /* + 0.0: no "-0" */
    else
      snprintf(text, sizeof text, "not known");
    page_cell(p->out, text, 16);
    if (l->known)
      buf_printf(p->out, "%.6g Pa\n", l->drop_Pa);
    else
      buf_puts(p->out, "not known\n");
  }
}

static void footer(const struct page *p)
{
  buf_printf(p->out, "\nTier: %s. Solver: %s; largest imbalance %.1e kg/s",
             air_tier_name(p->a->tier), answer_verdict_name(p->a->report.verdict),
             p->a->report.residual_kg_s);
  buf_printf(p->out, " (floor %.1e), %d iterations. Suite %.12s, engine %s.\n",
             p->a->report.floor_kg_s, p->a->report.iterations, p->f->sha256,
             answer_engine_version());
}

void answer_air_text(const struct facility *facility, const struct scene *scene,
                     const struct air_answer *answer, enum units_system system, struct buf *out)
{
  const struct page p = {facility, scene, answer, system, out};

  heading(&p);
  if (facility->station_count > 0 || answer->state != FACILITY_AMPLE)
    list(&p, "Why", answer->reasons, answer->reason_count);
  lower_first(&p);
  pools(&p);
  rooms(&p);
  stations(&p);
  plant(&p);
  network(&p);
  list(&p, "Not solved, or to be watched", answer->unsolved, answer->unsolved_count);
  page_odds(&p);
  page_narrow(&p);
  page_cannot(&p);
  list(&p, "Assumed", answer->assumed, answer->assumed_count);
  footer(&p);
}
