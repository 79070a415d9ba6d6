/* For the fire service at the door, to be read in a minute. */
#include "lists/lists_impl.h"

#include <math.h>
#include <string.h>

/* ---- ventilation ---- */

enum breath { BREATH_RUNS, BREATH_PART, BREATH_LOST, BREATH_NOT_KNOWN };

static const char *const air_keys[] = {"running", "part", "lost", "not_known"};

/* How many units run; false: not known. */
static bool fan_runs(const struct lists_moment *m, int fan, int *running_out)
{
  const struct facility_fan *f = &m->facility->fans[fan];

  if (!m->belief || point_of(m, FEEDS_OF_FAN, fan, FEEDS_RUNNING) < 0)
    return false;
  for (int i = 0; i < m->belief->gap_count; i++) {
    const char *about = m->belief->gaps[i].about;
    size_t length = strlen(f->part.id);

    if (strncmp(about, f->part.id, length) == 0 && (!about[length] || about[length] == '/'))
      return false;
  }
  *running_out = m->belief->scene.fan_running[fan];
  return true;
}

static enum breath fan_air(struct lists_page *page, const struct lists_moment *m, int fan,
                           const char **words)
{
  const struct facility_fan *f = &m->facility->fans[fan];
  int running;

  if (!fan_runs(m, fan, &running)) {
    *words = "NOT KNOWN";
    return BREATH_NOT_KNOWN;
  }
  *words = running == 0 ? page_words(page, "LOST: none of %d runs", f->count)
                        : page_words(page, "%d of %d running", running, f->count);
  return running == 0 ? BREATH_LOST : running < f->running ? BREATH_PART : BREATH_RUNS;
}

static enum breath supply_air(struct lists_page *page, const struct lists_moment *m, int supply,
                              const char **words)
{
  const char *id = m->facility->supplies[supply].part.id;

  if (!m->belief || gaps_about(page, m->belief, id) ||
      point_of(m, FEEDS_OF_SUPPLY, supply, FEEDS_RUNNING) < 0) {
    *words = "NOT KNOWN";
    return BREATH_NOT_KNOWN;
  }
  *words = m->belief->scene.supply_off[supply] ? "OFF" : "running";
  return m->belief->scene.supply_off[supply] ? BREATH_LOST : BREATH_RUNS;
}

/* How old what is said is; where it is not known, why. */
static const char *heard(struct lists_page *page, const struct lists_moment *m, enum feeds_of of,
                         int index, const char *id)
{
  const char *why = gaps_about(page, m->belief, id);

  return why ? why : point_age(page, m, point_of(m, of, index, FEEDS_RUNNING));
}

static void air_row(struct lists_page *page, struct lists_section *section, const char *id,
                    enum breath air, const char *const cells[4])
{
  struct lists_row *row = section_row(page, section, id, air_keys[air]);

  memcpy(row->cells, cells, 4 * sizeof cells[0]);
  row->marked = air != BREATH_RUNS;
}

static void add_ventilation(struct lists_page *page, const struct lists_moment *m)
{
  const struct facility *f = m->facility;
  struct lists_section *section =
      page_section(page, "ventilation", "Ventilation", "Ventilation: the suite file names no fan.");
  const char *words;

  section_column(section, &(struct lists_column){"unit", "unit", 0.3, false});
  section_column(section, &(struct lists_column){"does", "does", 0.25, false});
  section_column(section, &(struct lists_column){"state", "state", 0.27, false});
  section_column(section, &(struct lists_column){"heard", "heard", 0.18, true});
  for (int i = 0; i < f->main_count; i++)
    for (int k = 0; k < f->mains[i].fan_count; k++) {
      int fan = f->mains[i].fans[k];
      enum breath air = fan_air(page, m, fan, &words);

      air_row(page, section, f->fans[fan].part.id, air,
              (const char *[]){part_words(page, &f->fans[fan].part),
                               page_words(page, "exhaust, %s", f->mains[i].part.name), words,
                               heard(page, m, FEEDS_OF_FAN, fan, f->fans[fan].part.id)});
    }
  for (int i = 0; i < f->supply_count; i++) {
    enum breath air = supply_air(page, m, i, &words);

    air_row(page, section, f->supplies[i].part.id, air,
            (const char *[]){part_words(page, &f->supplies[i].part), "supply", words,
                             heard(page, m, FEEDS_OF_SUPPLY, i, f->supplies[i].part.id)});
  }
}

/* "VENTILATION LOST: AF, SF. NOT KNOWN: MU" */
static const char *ventilation_act(struct lists_page *page)
{
  static const struct {
    enum breath air;
    const char *words;
  } order[] = {{BREATH_LOST, "LOST"}, {BREATH_PART, "IN PART"}, {BREATH_NOT_KNOWN, "NOT KNOWN"}};
  const struct lists_section *section = &page->sections[0];
  struct buf text;

  buf_init(&text, 4000);
  for (size_t k = 0; k < sizeof order / sizeof order[0]; k++) {
    int found = 0;

    for (int i = 0; i < section->row_count; i++) {
      if (strcmp(section->rows[i].state, air_keys[order[k].air]) != 0)
        continue;
      if (found++ == 0)
        buf_printf(&text, "%s%s: ", text.used > 0 ? ". " : "", order[k].words);
      buf_printf(&text, "%s%s", found > 1 ? ", " : "", section->rows[i].about);
    }
  }
  page->needs_person = text.used > 0 || section->row_count == 0;
  const char *act = text.used > 0            ? page_words(page, "VENTILATION %s", text.text)
                    : section->row_count > 0 ? "VENTILATION RUNNING, AS FAR AS IS MEASURED"
                                             : "VENTILATION NOT KNOWN";

  buf_release(&text);
  return act;
}

/* ---- stations ---- */

static const char *not_here(struct lists_page *page, const struct facility_card *card)
{
  struct buf text;

  buf_init(&text, 1000);
  for (int i = 0; i < card->not_here_count; i++)
    buf_printf(&text, "%s%s", i > 0 ? ", " : "", card->not_here[i]);
  const char *words = page_words(page, "%s", text.used > 0 ? text.text : "not stated");

  buf_release(&text);
  return words;
}

/* Who stands at a station is told apart, as it was sensed: it changes by the minute. */
static enum stands stands_of(const struct lists_moment *m, int i)
{
  enum stands stands = station_stands(m, i);

  return stands == STANDS_SOMEBODY ? STANDS_DOWN : stands;
}

static const char *state_words(const struct lists_moment *m, int i)
{
  static const char *const words[] = {"OWN ALARM", "OPEN",      "something stands under its sash",
                                      "NOT KNOWN", "sash down", "sash down"};
  enum stands stands = stands_of(m, i);

  if (stands == STANDS_UNKNOWN && sash_is_known(m, i))
    return "sash down, the rest NOT KNOWN";
  return words[stands];
}

/* One in alarm may stand open, or not. */
static bool is_open(const struct lists_moment *m, int i)
{
  return m->belief && station_stands(m, i) == STANDS_ALARM && !m->belief->stations[i].not_known &&
         m->belief->scene.stations[i].raised;
}

static void add_station(struct lists_page *page, const struct lists_moment *m,
                        struct lists_section *section, int i)
{
  const struct facility_station *s = &m->facility->stations[i];
  bool out = is_withdrawn(m, i);
  struct lists_row *row = section_row(page, section, s->part.id, stands_key(stands_of(m, i)));

  row->cells[0] = s->part.id;
  row->cells[1] = room_name(m->facility, i);
  row->cells[2] = chemistry_of(m->facility, i);
  row->cells[3] = not_here(page, &s->card);
  row->cells[4] = page_words(page, "%s%s%s", state_words(m, i), is_open(m, i) ? ", open" : "",
                             out ? ", out of use" : "");
  row->marked = stands_of(m, i) != STANDS_DOWN;
}

static void station_columns(struct lists_section *section)
{
  section_column(section, &(struct lists_column){"station", "no.", 0.08, false});
  section_column(section, &(struct lists_column){"room", "room", 0.15, false});
  section_column(
      section, &(struct lists_column){"chemistry", "chemistry, as the suite states", 0.22, false});
  section_column(section, &(struct lists_column){"not_here", "must not come to it", 0.25, false});
  section_column(section, &(struct lists_column){"state", "now", 0.3, false});
}

static void add_stations(struct lists_page *page, const struct lists_moment *m)
{
  static const enum stands order[] = {STANDS_ALARM, STANDS_UP, STANDS_BLOCKED, STANDS_UNKNOWN};
  struct lists_section *loud =
      page_section(page, "stations", "Stations open, in alarm or not known",
                   "No station is seen open or in alarm.");
  struct lists_section *quiet =
      page_section(page, "others", "The others: sash down, as far as is known", NULL);

  station_columns(loud);
  station_columns(quiet);
  for (size_t k = 0; k < sizeof order / sizeof order[0]; k++)
    for (int i = 0; i < m->facility->station_count; i++)
      if (stands_of(m, i) == order[k])
        add_station(page, m, loud, i);
  for (int i = 0; i < m->facility->station_count; i++)
    if (stands_of(m, i) == STANDS_DOWN)
      add_station(page, m, quiet, i);
}

/* ---- where ---- */

static const char *place_mark(enum stands stands)
{
  switch (stands) {
  case STANDS_ALARM:
    return " ALARM";
  case STANDS_UP:
    return " open";
  case STANDS_BLOCKED:
    return " blocked";
  case STANDS_UNKNOWN:
    return " ?";
  case STANDS_SOMEBODY:
  case STANDS_DOWN:
    break;
  }
  return "";
}

static const char *stations_of(struct lists_page *page, const struct lists_moment *m, int room)
{
  const struct facility *f = m->facility;
  struct buf text;

  buf_init(&text, 8000);
  for (int i = 0; i < f->station_count; i++)
    if (f->stations[i].room == room)
      buf_printf(&text, "%s%s%s", text.used > 0 ? " \302\267 " : "", f->stations[i].part.id,
                 place_mark(stands_of(m, i)));
  const char *words = page_words(page, "%s", text.used > 0 ? text.text : "no station");

  buf_release(&text);
  return words;
}

static const char *doors_of(struct lists_page *page, const struct lists_moment *m, int room)
{
  static const char *const marks[] = {
      [DOOR_SHUT] = "", [DOOR_OPEN] = " OPEN", [DOOR_UNKNOWN] = " ?"};
  const struct facility *f = m->facility;
  struct buf text;

  buf_init(&text, 8000);
  for (int i = 0; i < f->door_count; i++) {
    const struct facility_door *d = &f->doors[i];

    if (d->from == room || d->to == room)
      buf_printf(&text, "%s%s to %s%s", text.used > 0 ? " \302\267 " : "", d->part.id,
                 facility_node_id(f, d->from == room ? d->to : d->from), marks[door_stands(m, i)]);
  }
  const char *words = page_words(page, "%s", text.used > 0 ? text.text : "none in the file");

  buf_release(&text);
  return words;
}

/* Rooms in the order of the file, and the doors between them: the suite file has no measures of a plan. */
static void add_places(struct lists_page *page, const struct lists_moment *m)
{
  const struct facility *f = m->facility;
  struct lists_section *section = page_section(page, "where", "Where", NULL);

  section_column(section, &(struct lists_column){"room", "room", 0.22, false});
  section_column(section, &(struct lists_column){"stations", "stations", 0.43, false});
  section_column(section, &(struct lists_column){"doors", "doors", 0.35, true});
  for (int r = 0; r < f->room_count; r++) {
    struct lists_row *row = section_row(page, section, f->rooms[r].part.id, NULL);

    row->cells[0] = f->rooms[r].part.name;
    row->cells[1] = stations_of(page, m, r);
    row->cells[2] = doors_of(page, m, r);
  }
}

/* ---- the sheet ---- */

static void say_presence(struct lists_page *page, const struct lists_moment *m)
{
  struct buf at;
  int sensed = 0, silent = 0, count = m->facility->station_count;

  buf_init(&at, 4000);
  for (int i = 0; i < count; i++) {
    bool heard_now = m->belief && m->belief->stations[i].has_presence;

    sensed += heard_now;
    silent += !heard_now && point_of(m, FEEDS_OF_STATION, i, FEEDS_PRESENCE) >= 0;
    if (heard_now && m->belief->stations[i].present)
      buf_printf(&at, "%s%s", at.used > 0 ? ", " : "", m->facility->stations[i].part.id);
  }
  const char *none = sensed > 0 ? "no station" : "NOT KNOWN";
  const char *old =
      silent > 0 ? page_words(page, ", %d more have a sensor that is too old or not heard", silent)
                 : "";

  page_age_line(page,
                page_words(page, "Somebody sensed at: %s%s", at.used > 0 ? at.text : none,
                           sensed < count
                               ? page_words(page,
                                            "; %d of %d stations are sensed now%s; of the others "
                                            "NOT KNOWN",
                                            sensed, count, old)
                               : ""));
  buf_release(&at);
}

struct lists_page *lists_responder(const struct lists_moment *m, struct arena *arena)
{
  struct lists_page *page = page_new(LISTS_RESPONDER, m->facility, m->zone, m->t_ms, arena);
  bool building = m->belief && m->belief->building_alarm;
  int alarm_point = point_of(m, FEEDS_OF_SUITE, 0, FEEDS_ALARM);

  add_ventilation(page, m);
  page->act = ventilation_act(page);
  if (building)
    page->act = page_words(page, "BUILDING ALARM. %s", page->act);
  page->needs_person = page->needs_person || building;
  say_stop(page, m);
  page_line(page, page_words(page, "Ask: %s",
                             m->facility->call ? m->facility->call
                                               : "not stated: write the number here ____________"));
  page_age_line(page, people_words(page, m));
  say_presence(page, m);
  page_age_line(page, page_words(page, "Building alarm: %s (%s)",
                                 building ? "ON"
                                 : !m->belief || alarm_point < 0 ||
                                         m->belief->inputs[alarm_point].age != WATCH_FRESH
                                     ? "NOT KNOWN"
                                     : "not on",
                                 point_age(page, m, alarm_point)));
  add_told(page, m);
  add_stations(page, m);
  add_runs(page, m, false);
  add_standing(page, m, false);
  add_places(page, m);
  page->foot = page_words(
      page,
      "In the order of the suite file: it declares no ranking of its chemistry, and none is "
      "made here. What is stored, hot or running is not known to this sheet%s. ? : not known.",
      m->baths ? "; what stands in tanks is what people told" : "");
  page_seal(page);
  return page;
}
