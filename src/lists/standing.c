/* What people told that stands in tanks and waste containers, for who leaves and for who comes. */
#include "lists/lists_impl.h"

#include "wet/wet.h"

#include <math.h>
#include <string.h>

/* No ages here: what is told anew makes a new revision of the sheet at the gate, the time does not. */
static const char *tank_words(struct lists_page *page, const struct wet_tank *t)
{
  const char *since = words_clock(page, t->made->t_ms);

  if (t->made->act == WET_FOUND)
    return page_words(page, "stands; since when is NOT KNOWN (found %s)", since);
  const char *with = "";

  for (int i = 0; i < t->topped_count; i++)
    with = page_words(page, "%s%s%s", with, i == 0 ? "; topped up with " : ", ", t->topped[i]);
  return page_words(page, "stands, poured %s%s%s", since, with,
                    strcmp(t->made->bath, t->tank->bath) == 0
                        ? ""
                        : "; what it is, is NOT KNOWN: the file says another bath now");
}

static void add_tank(struct lists_page *page, const struct lists_moment *m,
                     struct lists_section *section, const struct wet_tank *t)
{
  const char *station = m->facility->stations[t->tank->station].part.id;
  struct lists_row *row = section_row(page, section, station, wet_state_key(t->state));

  row->cells[0] = station;
  row->cells[1] = page_words(page, "%s %s: %s", t->tank->part.id, t->tank->part.name, t->bath);
  row->cells[2] = tank_words(page, t);
  row->marked = t->state == WET_NOT_KNOWN;
}

/* One row for all of which nothing stands by what was told, but not because it was told empty. */
static void add_untold(struct lists_page *page, const struct lists_moment *m,
                       struct lists_section *section)
{
  const char *all = "";

  for (int i = 0; i < m->baths->count; i++) {
    const struct wet_tank *t = &m->baths->tanks[i];

    if (!t->made && t->state != WET_EMPTY)
      all = page_words(page, "%s%s%s (%s)", all, *all ? ", " : "", t->tank->part.id,
                       m->facility->stations[t->tank->station].part.id);
  }
  if (!*all)
    return;
  struct lists_row *row = section_row(page, section, NULL, wet_state_key(WET_NOT_KNOWN));

  row->cells[0] = "tanks";
  row->cells[1] = all;
  row->cells[2] = "NOT KNOWN: what stands there was not told";
  row->marked = true;
}

static void add_not_known(struct lists_page *page, struct lists_section *section, const char *of,
                          const char *what, const char *words)
{
  struct lists_row *row = section_row(page, section, NULL, wet_state_key(WET_NOT_KNOWN));

  row->cells[0] = of;
  row->cells[1] = what;
  row->cells[2] = words;
  row->marked = true;
}

/* What was told and is not said above: of tanks without a place in the file, or past reading. */
static void add_unplaced(struct lists_page *page, const struct lists_moment *m,
                         struct lists_section *section)
{
  for (int i = 0; i < m->baths->strangers.count; i++)
    add_not_known(page, section, "where is NOT KNOWN", m->baths->strangers.line[i], "NOT KNOWN");
  if (m->baths->past->unread_count > 0)
    add_not_known(page, section, "entries",
                  page_words(page, "%d of baths or waste", m->baths->past->unread_count),
                  "NOT KNOWN: they cannot be read, or are of a moment to come");
  if (m->baths->past->is_cut)
    add_not_known(page, section, "entries", "older ones of baths or waste",
                  "NOT KNOWN: more was told than is looked at here");
}

static const char *held_words(struct lists_page *page, const struct wet_container *c)
{
  const char *all = c->held_count > 0 ? "" : "nothing told";

  for (int i = 0; i < c->held_count; i++)
    all = page_words(page, "%s%s%s", all, i > 0 ? ", " : "", c->held[i]);
  return all;
}

static const char *container_words(struct lists_page *page, const struct wet_container *c)
{
  if (c->state == WET_NOT_KNOWN)
    return c->opened && c->history_known
               ? "DO NOT OPEN, MOVE OR CLOSE IT: what was told in it may not be together"
               : "DO NOT OPEN, MOVE OR CLOSE IT: what it ever held is NOT KNOWN";
  if (isnan(c->fill_high_ratio))
    return "how full is NOT KNOWN";
  return page_words(page, "%.0f to %.0f %% full, by what was told", c->fill_low_ratio * 100,
                    c->fill_high_ratio * 100);
}

static void add_container(struct lists_page *page, const struct lists_moment *m,
                          struct lists_section *section, const struct wet_container *c)
{
  const char *station = c->stream ? m->facility->stations[c->stream->station].part.id : NULL;
  struct lists_row *row = section_row(page, section, station, wet_state_key(c->state));

  row->cells[0] = station ? station : "where is NOT KNOWN";
  row->cells[1] = page_words(page, "waste %s: %s", c->id, held_words(page, c));
  row->cells[2] = container_words(page, c);
  row->marked = c->state == WET_NOT_KNOWN;
}

void add_standing(struct lists_page *page, const struct lists_moment *m, bool pen)
{
  if (!m->baths)
    return;
  struct lists_section *section =
      page_section(page, "standing", "In tanks and waste containers, by what people told",
                   "In tanks and waste containers: nothing is told standing. A container that "
                   "nobody told of is not here.");

  section_column(section, &(struct lists_column){"station", "station", 0.12, false});
  section_column(section, &(struct lists_column){"what", "what", 0.38, false});
  section_column(section, &(struct lists_column){"told", "as told", pen ? 0.3 : 0.5, false});
  if (pen)
    section_column(section, &(struct lists_column){NULL, "seen, by", 0.2, false});
  for (int i = 0; i < m->baths->count; i++)
    if (m->baths->tanks[i].made)
      add_tank(page, m, section, &m->baths->tanks[i]);
  add_untold(page, m, section);
  add_unplaced(page, m, section);
  for (int i = 0; i < m->waste->count; i++)
    add_container(page, m, section, &m->waste->containers[i]);
}
