/* For the ventilation technician, who comes when all is closed: one part, then and now. */
#include "lists/lists_impl.h"

#include <jansson.h>
#include <math.h>
#include <string.h>

enum { ENTRIES_MOST = 50000, WRITTEN_MOST = 12 };
static const int64_t back_ms = 31LL * 24 * 3600 * 1000;

/* ---- since when ---- */

/* The newest alarm of the part that had not ended by then, else its newest event; INT64_MIN: none. */
static int64_t since_of(const struct record_entry *list, int count, const char **what_out)
{
  int64_t alarm_ms = INT64_MIN, event_ms = INT64_MIN;
  const char *alarm = NULL, *event = NULL;

  for (int i = 0; i < count; i++) {
    if (list[i].kind != RECORD_EVENT)
      continue;
    json_t *root = json_loads(list[i].detail, 0, NULL);
    const char *turn = json_string_value(json_object_get(root, "turn"));

    event = list[i].text;
    event_ms = list[i].t_ms;
    if (turn && strcmp(turn, "off") == 0)
      alarm = NULL;
    else if (turn && strcmp(turn, "on") == 0 && !alarm) {
      alarm = list[i].text;
      alarm_ms = list[i].t_ms;
    }
    json_decref(root);
  }
  *what_out = alarm ? alarm : event;
  return alarm ? alarm_ms : event_ms;
}

/* ---- computing ---- */

static enum err_code believe(const struct past_place *place, struct air *air, int64_t t_ms,
                             struct arena *arena, struct handed *out, struct err *err)
{
  static const struct air_settings plain = {.advise = false, .sure = false};
  struct watch_belief *belief = ARENA_NEW(arena, struct watch_belief);
  struct err unsolved = {0};

  BUG_IF(!belief);
  enum err_code code = past_believe(place, t_ms, INT64_MAX, arena, belief, err);

  if (code != ERR_OK)
    return code;
  out->moment = (struct lists_moment){.facility = place->facility,
                                      .feeds = place->feeds,
                                      .zone = place->zone,
                                      .belief = belief,
                                      .t_ms = t_ms};
  out->air = air ? air_ask(air, &belief->scene, &plain, arena, &unsolved) : NULL;
  if (out->air && !out->air->solved)
    out->air = NULL;
  return ERR_OK;
}

/* The air of openings that nobody knows is no air to compare with. */
static bool is_known(const struct handed *h, const struct branch *b)
{
  const struct facility *f = h->moment.facility;
  bool known = true;

  for (int i = 0; i < f->main_count; i++)
    known = known && !(b->mains[i] && h->moment.belief->main_not_known[i]);
  for (int i = 0; i < f->supply_count; i++)
    known = known && !(b->supplies[i] && h->moment.belief->supply_not_known[i]);
  return known;
}

/* ---- sections ---- */

static void add_path(struct lists_page *page, const struct handed *then, const struct branch *b,
                     struct air *air)
{
  const struct facility *f = page->facility;
  struct lists_section *section =
      page_section(page, "path", "The branch: from the room outdoors", NULL);
  struct err err = {0};

  section_column(section, &(struct lists_column){"what", "what", 0.34, false});
  section_column(section, &(struct lists_column){"drop", "drop, computed then", 0.2, false});
  section_column(section, &(struct lists_column){"after", "pressure behind it", 0.2, false});
  section_column(section, &(struct lists_column){"origin", "from", 0.26, false});
  struct air_ledger *ledger =
      b->station >= 0 && then->air
          ? air_why(air, &then->moment.belief->scene, b->station, page->arena, &err)
          : NULL;

  for (int i = 0; ledger && i < ledger->count; i++) {
    struct lists_row *row = section_row(page, section, NULL, NULL);

    row->cells[0] = ledger->rows[i].what;
    row->cells[1] = words_si(page, ledger->rows[i].drop_Pa, UNITS_PRESSURE_DIFFERENCE);
    row->cells[2] = words_si(page, ledger->rows[i].pressure_after_Pa, UNITS_PRESSURE_DIFFERENCE);
    row->cells[3] = ledger->rows[i].origin;
  }
  if (ledger)
    return;
  for (int i = 0; i < f->main_count; i++)
    if (b->mains[i])
      section_row(page, section, f->mains[i].part.id, NULL)->cells[0] =
          page_words(page, "main %s (%s)", f->mains[i].part.id, f->mains[i].part.name);
  for (int i = 0; i < f->fan_count; i++)
    if (b->fans[i])
      section_row(page, section, f->fans[i].part.id, NULL)->cells[0] =
          page_words(page, "fan %s (%s)", f->fans[i].part.id, f->fans[i].part.name);
  for (int i = 0; i < f->supply_count; i++)
    if (b->supplies[i])
      section_row(page, section, f->supplies[i].part.id, NULL)->cells[0] =
          page_words(page, "supply %s (%s)", f->supplies[i].part.id, f->supplies[i].part.name);
}

static void add_open(struct lists_page *page, const struct handed *then, const struct branch *b)
{
  struct lists_section *section = page_section(
      page, "stations", "The stations of it at that moment", "The suite has no station there.");
  const struct facility *f = page->facility;

  section_column(section, &(struct lists_column){"station", "station", 0.24, false});
  section_column(section, &(struct lists_column){"then", "then", 0.5, false});
  section_column(section, &(struct lists_column){"flow", "flow measured", 0.26, false});
  for (int i = 0; i < f->station_count; i++) {
    if (!b->stations[i])
      continue;
    const struct watch_station *s = &then->moment.belief->stations[i];
    struct lists_row *row = section_row(page, section, f->stations[i].part.id,
                                        stands_key(station_stands(&then->moment, i)));

    row->cells[0] = part_words(page, &f->stations[i].part);
    row->cells[1] = station_words(page, &then->moment, i);
    row->cells[2] = s->has_flow ? words_si(page, s->flow_m3_s, UNITS_FLOW) : "not known";
    row->marked = station_stands(&then->moment, i) != STANDS_DOWN;
  }
}

static const char *value_at(struct lists_page *page, const struct handed *h, int point)
{
  double si;

  if (handed_measured(h, point, &si))
    return words_value(page, &h->moment.feeds->points[point], si);
  return page_words(page, "not known (%s)", point_age(page, &h->moment, point));
}

static const char *computed_at(struct lists_page *page, const struct handed *h, int point)
{
  double si;

  return handed_computed(h, &h->moment.feeds->points[point], &si)
             ? words_value(page, &h->moment.feeds->points[point], si)
             : "\342\200\223";
}

static void add_values(struct lists_page *page, const struct handed *then, const struct handed *now,
                       const struct branch *b)
{
  const struct feeds *feeds = then->moment.feeds;
  struct lists_section *section =
      page_section(page, "values", "Then and now, measured and computed",
                   "No point measures a flow, pressure, speed or state of it.");

  section_column(section, &(struct lists_column){"point", "point", 0.28, false});
  section_column(section, &(struct lists_column){"then_measured", "then, measured", 0.2, false});
  section_column(section, &(struct lists_column){"then_computed", "then, computed", 0.16, false});
  section_column(section, &(struct lists_column){"now_measured", "now, measured", 0.2, false});
  section_column(section, &(struct lists_column){"now_computed", "now, computed", 0.16, false});
  for (int i = 0; i < feeds->point_count; i++) {
    const struct feeds_point *p = &feeds->points[i];
    double measured_si, computed_si;

    if (!branch_has(b, p) || p->what == FEEDS_OTHER || p->what == FEEDS_PRESENCE ||
        feeds_what_is_of_bench(p->what))
      continue;
    struct lists_row *row = section_row(page, section, p->part.id, NULL);

    row->cells[0] = page_words(page, "%s (%s)", p->part.id, feeds_what_name(p->what));
    row->cells[1] = value_at(page, then, i);
    row->cells[2] = computed_at(page, then, i);
    row->cells[3] = value_at(page, now, i);
    row->cells[4] = computed_at(page, now, i);
    if (!handed_measured(then, i, &measured_si))
      row->state = "not_known";
    else if (handed_computed(then, p, &computed_si)) {
      bool agrees = handed_agrees(then, i, measured_si, computed_si);

      row->state = agrees ? "agrees" : "differs";
      row->marked = !agrees;
    }
  }
}

/* ---- to see it again ---- */

static bool sash_known(const struct handed *then, int i)
{
  const struct watch_station *s = &then->moment.belief->stations[i];

  return !s->not_known && !s->assumed;
}

static const char *set_to(struct lists_page *page, const struct handed *then, int i)
{
  const struct scene_station *now = &then->moment.belief->scene.stations[i];

  if (!sash_known(then, i))
    return "(not known then)";
  if (!now->raised)
    return "parked";
  return page->facility->stations[i].has_openings ? page_words(page, "%.2f m", now->opening_m)
                                                  : "at work";
}

/* As the command line takes it. */
static void put_sashes(const struct facility *f, const struct handed *then, struct buf *out)
{
  for (int i = 0; i < f->station_count; i++) {
    const struct scene_station *now = &then->moment.belief->scene.stations[i];

    if (now->raised && sash_known(then, i) && f->stations[i].has_openings)
      buf_printf(out, " --sash %s=%.2fm", f->stations[i].part.id, now->opening_m);
    else if (now->raised)
      buf_printf(out, " --sash %s=work", f->stations[i].part.id);
  }
}

static void put_units(const struct facility *f, const struct scene *scene, int fan, struct buf *out)
{
  for (int unit = 0; unit < f->fans[fan].count; unit++)
    if (!(scene->fan_units[fan] >> unit & 1))
      buf_printf(out, f->fans[fan].count > 1 ? " --off %s/%d" : " --off %s", f->fans[fan].part.id,
                 unit + 1);
}

static void put_plant(const struct facility *f, const struct scene *scene, struct buf *out)
{
  for (int i = 0; i < f->door_count; i++)
    if (scene->door_open[i])
      buf_printf(out, " --door %s=open", f->doors[i].part.id);
  for (int i = 0; i < f->fan_count; i++)
    if (scene->fan_running[i] < f->fans[i].running)
      put_units(f, scene, i, out);
  for (int i = 0; i < f->supply_count; i++)
    if (scene->supply_off[i])
      buf_printf(out, " --off %s", f->supplies[i].part.id);
}

static const char *settings_words(struct lists_page *page, const struct handed *then,
                                  const struct branch *b)
{
  const struct facility *f = page->facility;
  struct buf set;

  buf_init(&set, 8000);
  for (int i = 0; i < f->station_count; i++)
    if (b->stations[i])
      buf_printf(&set, "%s%s %s", set.used > 0 ? ", " : "", f->stations[i].part.id,
                 set_to(page, then, i));
  const char *words =
      page_words(page, "Set: %s.", set.used > 0 ? set.text : "nothing of it has a sash");

  buf_release(&set);
  return words;
}

static void add_reproduce(struct lists_page *page, const struct handed *then,
                          const struct branch *b)
{
  const struct facility *f = page->facility;
  struct lists_section *section = page_section(page, "reproduce", "To see it again", NULL);
  struct buf command;

  section_column(section, &(struct lists_column){"step", "step", 1, false});
  section_row(page, section, NULL, NULL)->cells[0] =
      "Only where nobody works, and after asking the person at each station. Never move another's "
      "sash over work.";
  section_row(page, section, NULL, NULL)->cells[0] = settings_words(page, then, b);
  if (!then->air)
    return;
  buf_init(&command, 8000);
  buf_puts(&command, "Computed for that: inward air SUITE");
  put_sashes(f, then, &command);
  put_plant(f, &then->moment.belief->scene, &command);
  if (b->station >= 0)
    buf_printf(&command, " --why %s", f->stations[b->station].part.id);
  section_row(page, section, NULL, NULL)->cells[0] = page_words(page, "%s", command.text);
  buf_release(&command);
}

static void add_written(struct lists_page *page, const struct record_entry *list, int count)
{
  struct lists_section *section =
      page_section(page, "written", "What was written about it, the newest last",
                   "Nothing was written about it in the 31 days before.");

  section_column(section, &(struct lists_column){"when", "when", 0.22, false});
  section_column(section, &(struct lists_column){"kind", "kind", 0.13, false});
  section_column(section, &(struct lists_column){"who", "who", 0.13, false});
  section_column(section, &(struct lists_column){"text", "what", 0.52, false});
  for (int i = count > WRITTEN_MOST ? count - WRITTEN_MOST : 0; i < count; i++) {
    struct lists_row *row = section_row(page, section, NULL, NULL);

    row->cells[0] = words_moment(page, list[i].t_ms);
    row->cells[1] = record_kind_name(list[i].kind);
    row->cells[2] = page_words(page, "%s", list[i].who);
    row->cells[3] = page_words(page, "%s", list[i].text);
  }
}

/* ---- the page ---- */

static bool anything_heard(const struct handed *h)
{
  for (int i = 0; i < h->moment.feeds->point_count; i++)
    if (h->moment.belief->inputs[i].age != WATCH_NEVER)
      return true;
  return false;
}

static void put_together(struct lists_page *page, const struct handed *then,
                         const struct handed *now, const struct branch *b, struct air *air)
{
  add_path(page, then, b, air);
  add_open(page, then, b);
  add_values(page, then, now, b);
  handover_evidence(page, then, b);
  add_reproduce(page, then, b);
  if (!then->air)
    page_line(
        page,
        "Something that the model needs was not known then: nothing is computed for that moment.");
  if (!anything_heard(then))
    page_line(page, "The record holds no value of that moment: NOT KNOWN.");
}

enum err_code lists_handover(const struct past_place *place, const char *part, int64_t t_ms,
                             int64_t now_ms, struct arena *arena, struct lists_page **out,
                             struct err *err)
{
  const struct facility *f = place->facility;
  int64_t until_ms = t_ms == INT64_MIN ? now_ms : t_ms;
  const struct record_wanted wanted = {.from_ms = until_ms - back_ms,
                                       .to_ms = until_ms + 1,
                                       .about = part,
                                       .kind = -1,
                                       .known_ms = INT64_MAX,
                                       .most = ENTRIES_MOST};
  struct handed then = {.air = NULL}, now = {.air = NULL};
  struct record_entry *list;
  struct branch branch;
  const char *what;
  int count;

  if (!branch_find(f, part, arena, &branch))
    return err_set(err, ERR_INPUT,
                   "the suite has no station, fan, main, supply, room or door '%.40s'", part);
  enum err_code code = record_entries(place->record, &wanted, arena, &list, &count, err);

  if (code != ERR_OK)
    return code;
  int64_t since_ms = since_of(list, count, &what);
  int64_t then_ms = t_ms != INT64_MIN ? t_ms : since_ms != INT64_MIN ? since_ms : now_ms;
  struct air *air = air_new(f, err);

  if (!air)
    return err->code;
  code = believe(place, air, then_ms, arena, &then, err);
  if (code == ERR_OK)
    code = believe(place, air, now_ms, arena, &now, err);
  if (code == ERR_OK) {
    struct lists_page *page = page_new(LISTS_HANDOVER, f, place->zone, now_ms, arena);

    *out = page;
    page->act =
        page_words(page, "%s %s: THEN IS %s", branch.kind, part, words_moment(page, then_ms));
    page->needs_person = !anything_heard(&then);
    then.air = is_known(&then, &branch) ? then.air : NULL;
    now.air = is_known(&now, &branch) ? now.air : NULL;
    if (since_ms != INT64_MIN)
      page_line(page, page_words(page, "Since %s: %s", words_moment(page, since_ms), what));
    else
      page_line(page, "No alarm or event of it was written down in the 31 days before.");
    put_together(page, &then, &now, &branch, air);
    add_written(page, list, count);
    page->foot =
        "Computed: the suite file's model with the openings, doors and fans of that moment; its own \302\261 "
        "is not in the comparison. What looks so may have another cause: measure before mending.";
    page_seal(page);
  }
  air_free(air);
  return code;
}

struct lists_page *lists_handover_form(const struct facility *facility, const char *part,
                                       struct arena *arena)
{
  static const char *const asked[] = {
      "Since when, and what was seen first?",
      "Which sashes were up then, and how far? Who was there?",
      "Fans and supply: which ran, at what speed?",
      "Room pressures, with the doors shut",
      "Flow or draught at the station, and at its neighbours on the same main",
      "What was tried, and what was ruled out by it?",
      "How to see it again (only where nobody works; ask first)"};
  struct lists_page *page = page_new(LISTS_HANDOVER, facility, NULL, INT64_MIN, arena);
  struct lists_section *section = page_section(page, "asked", "What the technician needs", NULL);

  section_column(section, &(struct lists_column){"question", "question", 0.4, false});
  section_column(section, &(struct lists_column){NULL, "answer", 0.6, false});
  for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++)
    section_row(page, section, NULL, NULL)->cells[0] = asked[i];
  page->act = page_words(page, "HANDOVER: %s", part ? part : "____________");
  page->foot = "Measure before mending: what looks so may have another cause.";
  page_seal(page);
  return page;
}
