/*
 * What a live answer comes to: state, reasons and act, and the page of it for a terminal.  What is not
 * known is worked out in src/watch; here it is joined with the air.
 */
#include "answer/live_impl.h"
#include "answer/page_impl.h"

#include <math.h>

static int pool_count(const struct facility *f)
{
  return f->main_count + f->supply_count;
}

/* ---- measured against computed ---- */

static bool is_pool_of_room(const struct facility *f, int pool, int room)
{
  if (pool < f->main_count) {
    for (int i = 0; i < f->station_count; i++)
      if (f->stations[i].main == pool && f->stations[i].room == room)
        return true;
    return false;
  }

  const struct facility_supply *supply = &f->supplies[pool - f->main_count];

  for (int i = 0; i < supply->feed_count; i++)
    if (supply->feeds[i].room == room)
      return true;
  return false;
}

static const struct air_keep *keep_over(const struct air_answer *air, int room, int over)
{
  for (int i = 0; i < air->rooms[room].keep_count; i++)
    if (air->rooms[room].keeps[i].keep->over == over)
      return &air->rooms[room].keeps[i];
  return NULL;
}

/* Outside the keep by more than its reading can tell, while computed inside it. */
static bool is_contradicted(const struct facility *f, const struct watch_pressure *p,
                            const struct air_keep *keep)
{
  double allowed_Pa = f->met_tolerance_Pa + p->resolution_Pa;
  double pm_Pa = isfinite(keep->actual_pm_Pa) ? keep->actual_pm_Pa : 0.0;
  bool low = keep->keep->has_least && p->pressure_Pa < keep->keep->least_Pa - allowed_Pa;
  bool high = keep->keep->has_most && p->pressure_Pa > keep->keep->most_Pa + allowed_Pa;

  return keep->known && keep->met && (low || high) &&
         fabs(p->pressure_Pa - keep->actual_Pa) > pm_Pa + p->resolution_Pa;
}

static void contradict(const struct answer_live *live, const struct watch_pressure *p,
                       const struct air_keep *keep, struct watch_gap *gap, struct arena *arena)
{
  const struct facility *f = live->facility;
  const char *room = f->rooms[p->room].part.id;

  *gap = (struct watch_gap){
      .about = room,
      .needed = true,
      .text = arena_printf(arena,
                           "%s over %s: %s measures %.1f Pa, computed is %.1f Pa: they contradict "
                           "each other",
                           room, facility_node_id(f, p->over),
                           live->feeds->points[p->point].part.id, p->pressure_Pa, keep->actual_Pa),
      .of_main = ARENA_ARRAY(arena, bool, (size_t)f->main_count + 1),
      .of_supply = ARENA_ARRAY(arena, bool, (size_t)f->supply_count + 1)};
  BUG_IF(!gap->of_main || !gap->of_supply);
  for (int i = 0; i < pool_count(f); i++)
    if (i < f->main_count)
      gap->of_main[i] = is_pool_of_room(f, i, p->room);
    else
      gap->of_supply[i - f->main_count] = is_pool_of_room(f, i, p->room);
}

struct watch_gap *answer_live_contradictions(const struct answer_live *live, struct arena *arena,
                                             int *count_out)
{
  const struct watch_belief *b = live->belief;
  struct watch_gap *list = ARENA_ARRAY(arena, struct watch_gap, (size_t)b->pressure_count + 1);

  BUG_IF(!list);
  *count_out = 0;
  for (int i = 0; live->air && live->air->solved && i < b->pressure_count; i++) {
    const struct watch_pressure *p = &b->pressures[i];
    const struct air_keep *keep = keep_over(live->air, p->room, p->over);

    if (keep && is_contradicted(live->facility, p, keep))
      contradict(live, p, keep, &list[(*count_out)++], arena);
  }
  return list;
}

/* ---- levels ---- */

static bool is_not_known(const struct answer_live *live, const struct answer_live_verdict *verdict,
                         int pool)
{
  const struct facility *f = live->facility;
  int supply = pool - f->main_count;
  bool not_known = pool < f->main_count ? live->belief->main_not_known[pool]
                                        : live->belief->supply_not_known[supply];

  for (int i = 0; i < verdict->contradiction_count; i++) {
    const struct watch_gap *gap = &verdict->contradictions[i];

    not_known = not_known || (pool < f->main_count ? gap->of_main[pool] : gap->of_supply[supply]);
  }
  return not_known || !live->air;
}

/* Where a declared rule decides, its dwell times hold; what is computed as missed is never hidden. */
static enum facility_level pool_state(const struct answer_live *live, int pool)
{
  const struct air_pool *p = &live->air->pools[pool];
  bool by_rule = live->held && p->declared.given && p->state == p->declared.state &&
                 (p->computed != FACILITY_SHORT || p->rule_alone);

  return by_rule ? live->held[pool] : p->state;
}

static enum facility_level worse(enum facility_level a, enum facility_level b)
{
  return a > b ? a : b;
}

static enum facility_level overall(const struct answer_live *live, const enum facility_level *pools)
{
  int count = pool_count(live->facility);
  enum facility_level state = live->belief->any_not_known ? FACILITY_NOT_KNOWN : FACILITY_AMPLE;
  enum facility_level of_air = FACILITY_AMPLE;

  if (!live->air || live->belief->building_alarm)
    return FACILITY_NOT_KNOWN;
  for (int i = 0; i < count; i++) {
    state = worse(state, pools[i]);
    of_air = worse(of_air, live->air->pools[i].state);
  }
  return live->air->state > of_air ? worse(state, live->air->state) : state; /* no pool's miss */
}

/* ---- reasons ---- */

static void reason(struct answer_live_verdict *verdict, const char *text)
{
  BUG_IF(!text);
  verdict->reasons[verdict->reason_count++] = text;
}

static void held_reasons(const struct answer_live *live, struct answer_live_verdict *verdict,
                         struct arena *arena)
{
  for (int i = 0; live->air && i < pool_count(live->facility); i++)
    if (verdict->pools[i] != FACILITY_NOT_KNOWN && verdict->pools[i] != live->air->pools[i].state)
      reason(verdict,
             arena_printf(arena, "%s: %s for the time its declared rule says; the figures say %s",
                          air_pool_id(live->facility, i), air_level_name(verdict->pools[i]),
                          air_level_name(live->air->pools[i].state)));
}

static void give_reasons(const struct answer_live *live, struct answer_live_verdict *verdict,
                         struct arena *arena)
{
  const struct facility *f = live->facility;
  const struct watch_belief *b = live->belief;
  int most = 3 + 2 * f->station_count + b->gap_count + verdict->contradiction_count +
             pool_count(f) + live->feeds->source_count + (live->air ? live->air->reason_count : 0);
  bool *told = ARENA_ARRAY(arena, bool, (size_t)b->gap_count + 1);

  verdict->reasons = ARENA_ARRAY(arena, const char *, (size_t)most);
  BUG_IF(!verdict->reasons || !told);
  if (b->building_alarm)
    reason(verdict, "the building's alarm is on");
  if (b->stop)
    reason(verdict, b->stop->why);
  for (int i = 0; i < f->station_count; i++)
    if (b->stations[i].own_alarm)
      reason(verdict, arena_printf(arena, "%s: its own alarm is on", f->stations[i].part.id));
  verdict->reason_count += live_lost(live, arena, told, verdict->reasons + verdict->reason_count);
  for (int i = 0; i < b->gap_count; i++)
    if (b->gaps[i].needed && !told[i])
      reason(verdict, b->gaps[i].text);
  for (int i = 0; i < verdict->contradiction_count; i++)
    reason(verdict, verdict->contradictions[i].text);
  if (!live->air)
    reason(verdict, "the air was not computed");
  held_reasons(live, verdict, arena);

  /* Of what is not known for want of a measurement nothing computed is told; of what is all measured
   * and still not known, the suite's gap is the reason. */
  bool tells_air = verdict->state != FACILITY_NOT_KNOWN || verdict->reason_count == 0;

  for (int i = 0; tells_air && live->air && i < live->air->reason_count; i++)
    reason(verdict, live->air->reasons[i]);
  for (int i = 0; i < f->station_count; i++)
    if (b->stations[i].rising)
      reason(verdict, arena_printf(arena, "%s is on its way up: counted at its mark",
                                   f->stations[i].part.id));
}

bool live_is_alarm(const struct answer_live *live)
{
  bool any = live->belief->building_alarm;

  for (int i = 0; i < live->facility->station_count; i++)
    any = any || live->belief->stations[i].own_alarm;
  return any;
}

struct answer_live_verdict answer_live_judge(const struct answer_live *live, struct arena *arena)
{
  int count = pool_count(live->facility);
  enum facility_level *pools = ARENA_ARRAY(arena, enum facility_level, (size_t)count + 1);
  struct answer_live_verdict verdict = {.pools = pools};

  BUG_IF(!pools);
  verdict.contradictions = answer_live_contradictions(live, arena, &verdict.contradiction_count);
  for (int i = 0; i < count; i++)
    pools[i] = is_not_known(live, &verdict, i) ? FACILITY_NOT_KNOWN : pool_state(live, i);
  verdict.state = overall(live, pools);
  verdict.advises =
      verdict.state != FACILITY_NOT_KNOWN && !live_is_alarm(live) && !live->belief->stop;
  give_reasons(live, &verdict, arena);
  return verdict;
}

/* ---- what may be shown ---- */

bool live_pool_shows(const struct answer_live *live, const struct answer_live_verdict *verdict,
                     int pool)
{
  return verdict->pools[pool] != FACILITY_NOT_KNOWN && !live->belief->building_alarm;
}

bool live_station_shows(const struct answer_live *live, const struct answer_live_verdict *verdict,
                        int station)
{
  if (live_is_alarm(live) || live->belief->stop || live->belief->stations[station].not_known ||
      !live->air)
    return false;
  for (int i = 0; i < pool_count(live->facility); i++)
    if (air_pool_has_station(live->facility, i, station) && verdict->pools[i] == FACILITY_NOT_KNOWN)
      return false;
  return true;
}

/* ---- the act ---- */

static void own_alarm_words(const struct answer_live *live, struct buf *out)
{
  bool first = true;

  for (int i = 0; i < live->facility->station_count; i++)
    if (live->belief->stations[i].own_alarm) {
      buf_printf(out, "%s%s", first ? "OWN ALARM AT " : ", ", live->facility->stations[i].part.id);
      first = false;
    }
  buf_puts(out, ": FOLLOW IT");
}

/* Two lines on a wall: the sashes that help, and that they are not enough. */
static void asked_words(const struct facility *f, const struct answer_live_asked *asked,
                        struct buf *out)
{
  for (int i = 0; i < asked->count; i++)
    buf_printf(out, "%s%s",
               i == 0                  ? "LOWER "
               : i == asked->count - 1 ? " AND "
                                       : ", ",
               f->stations[asked->named[i].station].part.id);
  if (asked->call)
    buf_printf(out, "%sCALL THE VENTILATION TECHNICIAN", asked->count > 0 ? " · " : "");
}

void answer_live_act(const struct answer_live *live, const struct answer_live_verdict *verdict,
                     struct buf *out)
{
  struct air_answer shown;

  if (live->belief->building_alarm) {
    buf_puts(out, "BUILDING ALARM: FOLLOW THE BUILDING");
    return;
  }
  if (live->belief->stop)
    buf_puts(out, live->belief->stop->act);
  if (live_is_alarm(live)) {
    buf_puts(out, live->belief->stop ? " \302\267 " : "");
    own_alarm_words(live, out);
  }
  if (live->belief->stop || live_is_alarm(live))
    return;
  if (verdict->state == FACILITY_NOT_KNOWN) {
    buf_puts(out, "NOT KNOWN: TREAT AS NO");
    return;
  }
  if (verdict->state == FACILITY_SHORT && live->air->state != FACILITY_SHORT) {
    buf_puts(out, "NO MORE"); /* a declared rule has not let go of it yet */
    return;
  }
  if (verdict->state == FACILITY_SHORT && live->asked) {
    asked_words(live->facility, live->asked, out);
    return;
  }
  shown = *live->air;
  shown.state = verdict->state;
  answer_act(live->facility, &shown, out);
}

/* ---- the page for a terminal ---- */

static void clock_words(const struct answer_live *live, int64_t t_ms, struct buf *out)
{
  when_print(out, live->zone ? live->zone : when_utc(), t_ms);
}

static void heading(const struct answer_live *live, const struct answer_live_verdict *verdict,
                    struct buf *out)
{
  const struct facility *f = live->facility;

  buf_printf(out, "%s%s%s%s   live: ", f->name ? f->name : "(no name)", f->label ? "   [" : "",
             f->label ? f->label : "", f->label ? "]" : "");
  clock_words(live, live->belief->now_ms, out);
  if (live->replay_ratio > 0)
    buf_printf(out, "   [REPLAY, %g times as fast]", live->replay_ratio);
  buf_printf(out, "\n\n  %s", air_level_name(verdict->state));
  if (live->since_ms != INT64_MIN) {
    buf_puts(out, ", for ");
    when_print_span(out, (double)(live->belief->now_ms - live->since_ms) * 1e-3);
  }
  buf_puts(out, "   ");
  answer_live_act(live, verdict, out);
  buf_puts(out, "\n  Shared air only. Your station's own alarm decides.\n");
  if (live->belief->stop && !live->belief->building_alarm)
    buf_printf(out, "  Next: %s\n", live->belief->stop->next);
}

static void list(const struct page *p, const char *title, const char *const *texts, int count)
{
  if (count > 0)
    buf_printf(p->out, "\n%s\n", title);
  for (int i = 0; i < count; i++) {
    buf_puts(p->out, "  - ");
    page_say(p, texts[i]);
    buf_putc(p->out, '\n');
  }
}

static void lower_first(const struct page *p, const struct answer_live_verdict *verdict)
{
  bool is_short = verdict->state == FACILITY_SHORT;
  const struct air_lower_list *l = is_short ? &p->a->ends_short : &p->a->reaches_ample;
  char text[PAGE_TEXT];

  if (!l->found || l->count == 0)
    return;
  buf_puts(p->out, "\nLower first (ask the person there; never move another's sash over work)\n");
  for (int i = 0; i < l->count; i++)
    buf_printf(p->out, "  %d. %s: frees %s, then %s\n", i + 1,
               p->f->stations[l->sashes[i].station].part.id,
               page_shown(p, text, sizeof text, true, l->sashes[i].frees_m3_s, UNITS_FLOW),
               air_level_name(l->sashes[i].state_after));
}

static void pools(const struct page *p, const struct answer_live *live,
                  const struct answer_live_verdict *verdict)
{
  char text[PAGE_TEXT];

  buf_puts(p->out, "\nPool      state       demand      any/best more\n");
  for (int i = 0; i < pool_count(p->f); i++) {
    bool shows = live_pool_shows(live, verdict, i);

    page_cell(p->out, air_pool_id(p->f, i), 10);
    page_cell(p->out, air_level_name(verdict->pools[i]), 12);
    page_cell(
        p->out,
        shows ? page_shown(p, text, sizeof text, true, live->air->pools[i].demand_m3_s, UNITS_FLOW)
              : "-",
        12);
    if (shows && verdict->advises && live->air->pools[i].more_known)
      buf_printf(p->out, "%d / %d\n", live->air->pools[i].more_guaranteed,
                 live->air->pools[i].more_best);
    else
      buf_puts(p->out, "-\n");
  }
}

static void sources(const struct answer_live *live, struct buf *out)
{
  if (!live->sources)
    return;
  buf_puts(out, "\nSource    heard       \n");
  for (int i = 0; i < live->feeds->source_count; i++) {
    const struct answer_live_source *s = &live->sources[i];

    page_cell(out, live->feeds->sources[i].part.id, 10);
    if (s->heard_ms == INT64_MIN) {
      buf_puts(out, "never");
    } else {
      when_print_span(out, (double)(live->belief->now_ms - s->heard_ms) * 1e-3);
      buf_puts(out, " ago");
    }
    buf_printf(out, "%s%s%s\n", s->connected ? "" : ", not connected", s->why ? ": " : "",
               s->why ? s->why : "");
  }
}

void answer_live_text(const struct answer_live *live, enum units_system system, struct buf *out)
{
  struct page p = {live->facility, &live->belief->scene, live->air, system, out};
  struct arena arena;
  struct answer_live_verdict verdict;

  arena_init(&arena, SIZE_MAX);
  verdict = answer_live_judge(live, &arena);
  heading(live, &verdict, out);
  list(&p, "Why", verdict.reasons, verdict.reason_count);
  if (verdict.advises)
    lower_first(&p, &verdict);
  pools(&p, live, &verdict);
  sources(live, out);
  if (!live->record.kept && live->record.why)
    buf_printf(out, "\nNothing is written down: %s\n", live->record.why);
  list(&p, "Assumed", live->belief->assumed, live->belief->assumed_count);
  arena_release(&arena);
}
