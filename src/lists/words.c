/* Facts of a belief in words, the same on every page. */
#include "lists/lists_impl.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- values and moments ---- */

static const char *kept(struct lists_page *page, struct buf *text)
{
  const char *words = page_words(page, "%s", text->text);

  buf_release(text);
  return words;
}

const char *words_span(struct lists_page *page, double span_s)
{
  struct buf text;

  buf_init(&text, 100);
  when_print_span(&text, span_s);
  return kept(page, &text);
}

const char *words_moment(struct lists_page *page, int64_t t_ms)
{
  struct buf text;

  buf_init(&text, 100);
  when_print(&text, page->zone, t_ms);
  return kept(page, &text);
}

const char *words_clock(struct lists_page *page, int64_t t_ms)
{
  struct when_civil at = when_civil(page->zone, t_ms, NULL);
  struct when_civil now = when_civil(page->zone, page->t_ms, NULL);
  bool today = at.year == now.year && at.month == now.month && at.day == now.day;

  return today ? page_words(page, "%02d:%02d", at.hour, at.minute)
               : page_words(page, "%04d-%02d-%02d %02d:%02d", at.year, at.month, at.day, at.hour,
                            at.minute);
}

const char *words_si(struct lists_page *page, double si, enum units_dimension dimension)
{
  struct buf text;

  buf_init(&text, 100);
  units_print(&text, si, dimension, UNITS_SYSTEM_SI);
  return kept(page, &text);
}

const char *words_value(struct lists_page *page, const struct feeds_point *point, double si)
{
  if (point->yes_no)
    return si != 0 ? "yes" : "no";
  if (point->count || point->dimension == UNITS_RATIO)
    return page_words(page, "%.4g", si);
  return words_si(page, si, point->dimension);
}

const char *room_name(const struct facility *facility, int station)
{
  int room = facility->stations[station].room;

  return room >= 0 && room < facility->room_count ? facility->rooms[room].part.name : "not stated";
}

const char *chemistry_of(const struct facility *facility, int station)
{
  const char *chemistry = facility->stations[station].card.chemistry;

  return chemistry ? chemistry : "not stated: ask";
}

const char *part_words(struct lists_page *page, const struct facility_part *part)
{
  return strcmp(part->id, part->name) == 0 ? part->id
                                           : page_words(page, "%s %s", part->id, part->name);
}

/* ---- what is not known ---- */

static bool is_about(const char *gap, const char *about)
{
  size_t length = strlen(about);

  return strncmp(gap, about, length) == 0 && (gap[length] == '\0' || gap[length] == '/');
}

const char *gaps_about(struct lists_page *page, const struct watch_belief *belief,
                       const char *about)
{
  struct buf text;
  size_t before;

  buf_init(&text, 4000);
  for (int i = 0; belief && i < belief->gap_count; i++) {
    const struct watch_gap *gap = &belief->gaps[i];
    size_t head = strlen(gap->about);

    if (!is_about(gap->about, about))
      continue;
    before = text.used;
    buf_printf(&text, "%s%s", before > 0 ? "; " : "",
               *gap->about && strncmp(gap->text, gap->about, head) == 0 &&
                       strcmp(gap->about, about) == 0
                   ? gap->text + head + strlen(": ")
                   : gap->text);
  }
  if (text.used == 0) {
    buf_release(&text);
    return NULL;
  }
  return kept(page, &text);
}

static int age_rank(const struct watch_input *in)
{
  return in->used ? 0 : in->age == WATCH_FRESH ? 1 : in->age == WATCH_NEVER ? 3 : 2;
}

int point_of(const struct lists_moment *m, enum feeds_of of, int index, enum feeds_what what)
{
  int best = -1;

  for (int i = 0; m->feeds && i < m->feeds->point_count; i++) {
    const struct feeds_point *p = &m->feeds->points[i];

    if (p->of != of || p->index != index || p->what != what)
      continue;
    if (best < 0 ||
        (m->belief && age_rank(&m->belief->inputs[i]) < age_rank(&m->belief->inputs[best])))
      best = i;
  }
  return best;
}

bool point_says(const struct lists_moment *m, int point, double *si_out)
{
  if (!m->belief || point < 0 || m->belief->inputs[point].age != WATCH_FRESH)
    return false;
  *si_out = m->belief->inputs[point].newest.si;
  return isfinite(*si_out);
}

const char *point_age(struct lists_page *page, const struct lists_moment *m, int point)
{
  if (point < 0)
    return "no point says it";
  if (!m->belief || m->belief->inputs[point].age == WATCH_NEVER)
    return "never heard";
  const struct watch_input *in = &m->belief->inputs[point];

  if (in->age == WATCH_FRESH)
    return page_words(page, "%s ago", words_span(page, in->age_s));
  return page_words(page, "%s, %s ago", in->age == WATCH_OLD ? "too old" : watch_age_name(in->age),
                    words_span(page, in->age_s));
}

/* ---- stations ---- */

/* More than a parked one draws, beyond two standard deviations of a reading (the feeds file's own). */
static bool draws_more(const struct lists_moment *m, int i)
{
  const struct facility_station *s = &m->facility->stations[i];
  const struct watch_station *now = &m->belief->stations[i];
  double parked_m3_s = facility_station_rule_m3_s(s, false, s->parked_m);

  return now->has_flow && s->flow != FACILITY_PASSIVE && s->flow != FACILITY_CONSTANT &&
         now->flow_m3_s > parked_m3_s * (1 + 2 * m->feeds->faults.flow_ratio);
}

/* Where its beam is silent the belief counts it as blocked: that is care, and no reading. */
static bool reads_blocked(const struct lists_moment *m, int i)
{
  double si;

  return m->belief->scene.stations[i].blocked &&
         point_says(m, point_of(m, FEEDS_OF_STATION, i, FEEDS_BLOCKED), &si) && si != 0;
}

static bool has_gap(const struct lists_moment *m, const char *about)
{
  for (int i = 0; i < m->belief->gap_count; i++)
    if (is_about(m->belief->gaps[i].about, about))
      return true;
  return false;
}

/* Anything fresh that tells its sash or its air. */
static bool is_heard(const struct lists_moment *m, int i)
{
  static const enum feeds_what tells[] = {FEEDS_OPENING, FEEDS_FLOW, FEEDS_FACE_VELOCITY};
  double si;

  for (size_t k = 0; k < sizeof tells / sizeof tells[0]; k++)
    if (point_says(m, point_of(m, FEEDS_OF_STATION, i, tells[k]), &si))
      return true;
  return m->belief->stations[i].has_presence && m->belief->scene.stations[i].raised;
}

bool sash_is_known(const struct lists_moment *m, int i)
{
  return m->belief && !m->belief->stations[i].not_known && !m->belief->stations[i].assumed &&
         is_heard(m, i);
}

enum stands station_stands(const struct lists_moment *m, int i)
{
  if (!m->belief)
    return STANDS_UNKNOWN;
  const struct watch_station *now = &m->belief->stations[i];
  const struct scene_station *scene = &m->belief->scene.stations[i];

  if (now->own_alarm)
    return STANDS_ALARM;
  if (!sash_is_known(m, i))
    return STANDS_UNKNOWN;
  if (scene->raised || draws_more(m, i))
    return STANDS_UP;
  if (reads_blocked(m, i))
    return STANDS_BLOCKED;
  if (has_gap(m, m->facility->stations[i].part.id))
    return STANDS_UNKNOWN;
  return now->has_presence && now->present ? STANDS_SOMEBODY : STANDS_DOWN;
}

const char *stands_key(enum stands stands)
{
  static const char *const keys[] = {"own_alarm", "up", "blocked", "not_known", "somebody", "down"};

  return keys[stands];
}

static const char *sash_words(struct lists_page *page, const struct lists_moment *m, int i)
{
  const struct scene_station *scene = &m->belief->scene.stations[i];
  const struct watch_station *now = &m->belief->stations[i];

  if (now->not_known)
    return "NOT KNOWN";
  if (now->assumed || !is_heard(m, i))
    return "NOT KNOWN: no point says it";
  if (!m->facility->stations[i].has_openings && m->facility->stations[i].flow == FACILITY_CONSTANT)
    return "no sash";
  if (scene->raised)
    return m->facility->stations[i].has_openings
               ? page_words(page, "sash up %.2f m", scene->opening_m)
               : "at work";
  return draws_more(m, i) ? page_words(page, "sash reads down, but it draws %s",
                                       words_si(page, now->flow_m3_s, UNITS_FLOW))
                          : "sash down";
}

const char *station_words(struct lists_page *page, const struct lists_moment *m, int i)
{
  if (!m->belief)
    return "NOT KNOWN";
  const struct watch_station *now = &m->belief->stations[i];

  return page_words(page, "%s%s%s%s", now->own_alarm ? "OWN ALARM, " : "", sash_words(page, m, i),
                    reads_blocked(m, i) ? ", something stands under it" : "",
                    !now->has_presence ? ""
                    : now->present     ? ", somebody there"
                                       : ", nobody there");
}

const struct record_entry *withdrawal_of(const struct lists_moment *m, int i)
{
  return m->withdrawn ? m->withdrawn[i] : NULL;
}

bool is_withdrawn(const struct lists_moment *m, int i)
{
  return m->belief ? m->belief->scene.stations[i].withdrawn : withdrawal_of(m, i) != NULL;
}

/* ---- people, doors ---- */

const char *people_words(struct lists_page *page, const struct lists_moment *m)
{
  int point = point_of(m, FEEDS_OF_SUITE, 0, FEEDS_PEOPLE);
  double count;

  if (point_says(m, point, &count))
    return page_words(page, "People inside: %.0f, as counted %s", count, point_age(page, m, point));
  return page_words(page, "People inside: NOT KNOWN (%s)", point_age(page, m, point));
}

enum door_stands door_stands(const struct lists_moment *m, int door)
{
  int point = point_of(m, FEEDS_OF_DOOR, door, FEEDS_OPEN);
  const char *id = m->facility->doors[door].part.id;

  if (!m->belief || point < 0)
    return DOOR_UNKNOWN;
  for (int i = 0; i < m->belief->gap_count; i++)
    if (strcmp(m->belief->gaps[i].about, id) == 0)
      return DOOR_UNKNOWN;
  return m->belief->scene.door_open[door] ? DOOR_OPEN : DOOR_SHUT;
}

const char *door_words(struct lists_page *page, const struct lists_moment *m, int door)
{
  const char *why = gaps_about(page, m->belief, m->facility->doors[door].part.id);
  int point = point_of(m, FEEDS_OF_DOOR, door, FEEDS_OPEN);

  switch (door_stands(m, door)) {
  case DOOR_OPEN:
    return page_words(page, "open, %s", point_age(page, m, point));
  case DOOR_SHUT:
    return page_words(page, "shut, %s", point_age(page, m, point));
  case DOOR_UNKNOWN:
    break;
  }
  return why ? why : page_words(page, "NOT KNOWN: %s", point_age(page, m, point));
}

void say_stop(struct lists_page *page, const struct lists_moment *m)
{
  const struct watch_stop *stop = m->belief ? m->belief->stop : NULL;

  if (!stop)
    return;
  page->needs_person = true;
  /* not how many stations wait: a sheet would be void with each one that is released */
  page_line(page, page_words(page, "A%s.", stop->why + 1));
  page_line(page, page_words(page, "Next: %s.", stop->next));
}

/* A near miss and a found beaker are for the staff, later. */
static bool is_for_responders(const struct record_entry *entry)
{
  return !strstr(entry->detail, "\"incident\": \"near-miss\"") &&
         !strstr(entry->detail, "\"incident\": \"beaker\"");
}

void add_told(struct lists_page *page, const struct lists_moment *m)
{
  struct lists_section *section =
      page_section(page, "told",
                   page_words(page, "Told in the last %s: smell, spill, exposure",
                              words_span(page, m->facility->readiness.incident_s)),
                   NULL);

  section_column(section, &(struct lists_column){"where", "where", 0.16, false});
  section_column(section, &(struct lists_column){"when", "when", 0.16, false});
  section_column(section, &(struct lists_column){"told", "told, by whom", 0.68, false});
  for (int i = m->told_count - 1; i >= 0; i--) {
    const struct record_entry *entry = &m->told[i];

    if (!is_for_responders(entry))
      continue;
    struct lists_row *row = section_row(page, section, *entry->about ? entry->about : NULL, "told");

    row->cells[0] = *entry->about ? page_words(page, "%s", entry->about) : "the suite";
    row->cells[1] = words_clock(page, entry->t_ms);
    row->cells[2] = page_words(page, "%s (%s)", entry->text, entry->who);
    row->marked = true;
    page->needs_person = true;
  }
}
