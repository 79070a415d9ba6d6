/* For the last person out: what to walk past, in the order in which it matters. */
#include "lists/lists_impl.h"

#include <string.h>

static const struct lists_column station = {"station", "station", 0.16, false},
                                 where = {"room", "room", 0.16, false},
                                 found = {"found", "as far as is known", 0.42, false},
                                 pen = {NULL, "seen, by", 0.26, false};

static const struct {
  enum stands stands;
  const char *key, *head;
} groups[] = {
    {STANDS_ALARM, "own_alarm", "OWN ALARM: follow the station"},
    {STANDS_UP, "up", "Sash not down"},
    {STANDS_BLOCKED, "blocked", "Blocked: something stands under the sash"},
    {STANDS_SOMEBODY, "somebody", "Somebody is sensed there"},
    {STANDS_UNKNOWN, "not_known", "Go and look: not known"},
};

static void columns(struct lists_section *section)
{
  section_column(section, &station);
  section_column(section, &where);
  section_column(section, &found);
  section_column(section, &pen);
}

static void add_station(struct lists_page *page, const struct lists_moment *m,
                        struct lists_section *section, int i)
{
  const struct facility *f = m->facility;
  const char *id = f->stations[i].part.id;
  const char *gaps = gaps_about(page, m->belief, id);
  struct lists_row *row = section_row(page, section, id, stands_key(station_stands(m, i)));

  row->cells[0] = part_words(page, &f->stations[i].part);
  row->cells[1] = room_name(f, i);
  row->cells[2] = gaps && m->belief && m->belief->stations[i].not_known
                      ? gaps
                      : page_words(page, "%s%s%s", station_words(page, m, i), gaps ? "; " : "",
                                   gaps ? gaps : "");
  row->marked = true;
}

/* What is not known is not counted among what is not up. */
static const char *none_up(struct lists_page *page, const struct lists_moment *m)
{
  int known = 0, unknown = 0;

  for (int i = 0; i < m->facility->station_count; i++)
    if (!is_withdrawn(m, i))
      *(sash_is_known(m, i) ? &known : &unknown) += 1;
  if (unknown == 0)
    return "Sash not down: none is seen up.";
  return page_words(page, "Sash not down: %sNOT KNOWN at %d.", known > 0 ? "none is seen up; " : "",
                    unknown);
}

static int add_groups(struct lists_page *page, const struct lists_moment *m, int counts[])
{
  int down = 0;

  for (size_t g = 0; g < sizeof groups / sizeof groups[0]; g++) {
    bool is_up = groups[g].stands == STANDS_UP;
    struct lists_section *section = page_section(page, groups[g].key, groups[g].head,
                                                 is_up && m->belief ? none_up(page, m) : NULL);

    columns(section);
    for (int i = 0; i < m->facility->station_count; i++)
      if (!is_withdrawn(m, i) && station_stands(m, i) == groups[g].stands)
        add_station(page, m, section, i);
    counts[groups[g].stands] = section->row_count;
  }
  for (int i = 0; i < m->facility->station_count; i++)
    down += !is_withdrawn(m, i) && station_stands(m, i) == STANDS_DOWN;
  return down;
}

static int add_doors(struct lists_page *page, const struct lists_moment *m)
{
  struct lists_section *section =
      page_section(page, "doors", "Doors open, or not known",
                   m->facility->door_count ? "Doors: all read shut." : NULL);

  columns(section);
  section->columns[0].head = section->columns[0].key = "door";
  section->columns[1].head = section->columns[1].key = "between";
  for (int i = 0; i < m->facility->door_count; i++) {
    const struct facility_door *d = &m->facility->doors[i];
    enum door_stands stands = door_stands(m, i);

    if (stands == DOOR_SHUT)
      continue;
    struct lists_row *row =
        section_row(page, section, d->part.id, stands == DOOR_OPEN ? "open" : "not_known");

    row->cells[0] = part_words(page, &d->part);
    row->cells[1] = page_words(page, "%s, %s", facility_node_id(m->facility, d->from),
                               facility_node_id(m->facility, d->to));
    row->cells[2] = door_words(page, m, i);
    row->marked = true;
  }
  return section->row_count;
}

static int add_withdrawn(struct lists_page *page, const struct lists_moment *m)
{
  struct lists_section *section = page_section(page, "withdrawn", "Taken out of use", NULL);

  columns(section);
  section->columns[2].head = "why, by whom";
  for (int i = 0; i < m->facility->station_count; i++) {
    const struct record_entry *entry = withdrawal_of(m, i);

    if (!is_withdrawn(m, i))
      continue;
    const char *id = m->facility->stations[i].part.id;
    struct lists_row *row = section_row(page, section, id, "withdrawn");

    row->cells[0] = part_words(page, &m->facility->stations[i].part);
    row->cells[1] = room_name(m->facility, i);
    row->cells[2] = page_words(page, "%s; %s",
                               entry ? page_words(page, "%s (%s, since %s)", entry->text,
                                                  entry->who, words_moment(page, entry->t_ms))
                                     : "why is not known: no entry of it is at hand",
                               station_words(page, m, i));
  }
  return section->row_count;
}

/* Stations whose own alarm no point tells. */
static void say_unheard(struct lists_page *page, const struct lists_moment *m)
{
  struct buf ids;

  buf_init(&ids, 4000);
  for (int i = 0; m->belief && i < m->facility->station_count; i++)
    if (point_of(m, FEEDS_OF_STATION, i, FEEDS_ALARM) < 0)
      buf_printf(&ids, "%s%s", ids.used > 0 ? ", " : "", m->facility->stations[i].part.id);
  if (ids.used > 0)
    page_line(page,
              page_words(page, "Own alarm not heard here, so look at the station: %s.", ids.text));
  buf_release(&ids);
}

static const char *act_of(struct lists_page *page, const struct lists_moment *m, const int counts[],
                          int doors)
{
  struct buf text;

  if (m->belief && m->belief->building_alarm)
    return "THE BUILDING'S ALARM IS ON: LEAVE AS THE BUILDING SAYS, WITHOUT THIS LIST";
  buf_init(&text, 400);
  if (counts[STANDS_ALARM] > 0)
    buf_printf(&text, "OWN ALARM: %d. ", counts[STANDS_ALARM]);
  if (counts[STANDS_UP] > 0)
    buf_printf(&text, "NOT DOWN: %d. ", counts[STANDS_UP]);
  if (counts[STANDS_BLOCKED] > 0)
    buf_printf(&text, "BLOCKED: %d. ", counts[STANDS_BLOCKED]);
  if (counts[STANDS_SOMEBODY] > 0)
    buf_printf(&text, "SOMEBODY AT: %d. ", counts[STANDS_SOMEBODY]);
  if (counts[STANDS_UNKNOWN] + doors > 0)
    buf_printf(&text, "GO AND LOOK: %d.", counts[STANDS_UNKNOWN] + doors);
  page->needs_person = text.used > 0;
  const char *act = text.used > 0 ? page_words(page, "%s", text.text)
                                  : "NOTHING IS SEEN UP. LOOK ROUND ALL THE SAME";

  buf_release(&text);
  return act;
}

struct lists_page *lists_leave(const struct lists_moment *m, struct arena *arena)
{
  struct lists_page *page = page_new(LISTS_LEAVE, m->facility, m->zone, m->t_ms, arena);
  int counts[STANDS_DOWN + 1] = {0};
  int down = add_groups(page, m, counts);
  int doors = add_doors(page, m);

  add_told(page, m);
  bool told = page->needs_person;

  add_withdrawn(page, m);
  add_runs(page, m, true);
  add_standing(page, m, true);
  page->act = act_of(page, m, counts, doors);
  page->needs_person = page->needs_person || told || (m->belief && m->belief->building_alarm);
  say_stop(page, m);
  page_age_line(page, people_words(page, m));
  if (!m->belief)
    page_line(page, "Nothing is connected, or nothing is known of this moment: every station is to "
                    "be looked at.");
  else if (down > 0)
    page_line(page, page_words(page, "Sash down and nobody sensed, as far as is known: %d of %d.",
                               down, m->facility->station_count));
  say_unheard(page, m);
  page_line(
      page,
      m->runs
          ? "What stands in tanks, runs or cools is what people told, and no more: look for signs on "
            "the stations, too."
          : "What is hot, running or cooling is not known here: the signs for unattended "
            "runs are on the stations themselves.");
  page->foot =
      "Never move another's sash over work: ask the person there. Who is last writes down what "
      "stays open, and tells whoever is called.";
  page_seal(page);
  return page;
}
