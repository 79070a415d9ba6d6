/* What the suite's file says of the station: what is not to come to it, and what it is for. */
#include "bath/bath_impl.h"

#include <string.h>

enum { SUBSTANCES_MOST = BATH_PARTS_MAX + 1 };

static const struct facility_station *station_of(const struct bath_work *w)
{
  const struct facility *f = w->place->facility;
  int at = f && w->answer->station ? facility_station_find(f, w->answer->station) : -1;

  return at < 0 ? NULL : &f->stations[at];
}

/* Of a bath that no recipe is held of, what its row says it is made of. */
static int substances_of(const struct bath_work *w, const struct chem_substance **out)
{
  if (w->answer->state == BATH_NO_RECIPE && w->answer->id)
    return chem_bath_substances(w->place->chem, w->answer->id, out, SUBSTANCES_MOST, w->arena);
  for (int i = 0; i < w->answer->holds_count; i++)
    out[i] = w->holds[i].substance;
  return w->answer->holds_count;
}

/* A word that no table of substances knows may be this bath's own name. */
static bool names_bath(const struct bath_work *w, const char *word)
{
  const struct chem_table *t = chem_table("baths", w->arena);
  struct chem_baths called = chem_baths_called(t, word);

  for (int i = 0; w->answer->id && i < called.count; i++)
    if (strcmp(chem_cell(t, called.rows[i], "id"), w->answer->id) == 0)
      return true;
  return false;
}

/* What the card says of vessels is understood: the list of vessels is held against it. */
static void say_vessels(struct bath_work *w, const struct facility_station *station,
                        struct chem_not_here *found)
{
  const char **left = ARENA_ARRAY(w->arena, const char *, (size_t)found->unread_count + 1);
  const char *said = "";
  int count = 0;

  BUG_IF(!left);
  for (int i = 0; i < found->unread_count; i++)
    if (chem_not_here_of_vessels(found->unread[i], w->arena))
      said = bath_words(w, "%s%s%s", said, *said ? "; " : "", found->unread[i]);
    else
      left[count++] = found->unread[i];
  found->unread = left;
  found->unread_count = count;
  if (*said)
    bath_line(&w->answer->place,
              bath_words(w, "of vessels the suite's file says of %s: not here: %s",
                         station->part.id, said));
}

static void refuse_not_here(struct bath_work *w, const char *why)
{
  bath_refuse(w, why,
              "a station whose list does not name it, or a list put right by those who look after "
              "the stations");
}

void bath_not_here(struct bath_work *w)
{
  const struct facility_station *station = station_of(w);
  const struct chem_substance *substances[SUBSTANCES_MOST];
  struct chem_not_here found;

  if (!station)
    return;
  found =
      chem_not_here(w->place->chem, station, substances, substances_of(w, substances), w->arena);
  if (found.hit_count > 0)
    refuse_not_here(w, chem_not_here_words(&found, station, w->arena));
  for (int i = 0; i < found.unread_count && found.hit_count == 0; i++)
    if (names_bath(w, found.unread[i]))
      refuse_not_here(w, bath_words(w, "not here: the suite's file lists for %s: %s",
                                    station->part.id, found.unread[i]));
  say_vessels(w, station, &found);
  if (found.unread_count > 0)
    bath_line(&w->answer->place, chem_not_here_unread_words(&found, station, w->arena));
}

/* The words of `chemistry:` are read as those of `not here:` are: whether they name this substance. */
static bool is_for(const struct bath_work *w, const struct facility_station *station,
                   const struct chem_substance *s)
{
  const char *const words[] = {station->card.chemistry};
  const struct facility_station as = {.card = {.not_here_count = 1, .not_here = words}};

  return chem_not_here(w->place->chem, &as, &s, 1, w->arena).hit_count > 0;
}

/* A bath that a station is not for may still be allowed there: said, and left to its people. */
void bath_station_is_for(struct bath_work *w)
{
  const struct facility_station *station = station_of(w);
  const char *others = "";
  int solutes = 0, named = 0;

  if (!station || !station->card.chemistry)
    return;
  for (int i = 0; i < w->answer->holds_count; i++) {
    const struct chem_substance *s = w->holds[i].substance;

    if (strcmp(s->id, "water") == 0)
      continue;
    solutes++;
    if (is_for(w, station, s))
      named++;
    else
      others = bath_words(w, "%s%s%s", others, *others ? ", " : "", s->name);
  }
  if (solutes > 0 && named == 0)
    w->not_for = station->card.chemistry;
  if (*others)
    bath_line(
        &w->answer->place,
        bath_words(w,
                   "the suite's file says what %s is for: %s; that these words mean %s is not "
                   "known: ask",
                   station->part.id, station->card.chemistry, others));
}
