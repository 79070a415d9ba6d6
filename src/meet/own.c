#include "meet/meet_impl.h"

#include "facility/chemicals.h"

#include <math.h>
#include <string.h>
#include <strings.h>

/*
 * What the suite's own files say: what is not to come to a station, which procedure names a bath there,
 * and baths of the house as things.  These words go before ours and say whose they are.
 */

/* ---- baths of the house ---- */

_Static_assert((int)CHEMICALS_PARTS_MAX <= (int)MEET_PARTS_MAX,
               "no part of a bath may be left out");

static struct meet_face part_face(const struct meet_facts *facts, const char *of)
{
  struct meet_face face = {.id = of, .name = of, .fraction_ratio = NAN};
  const struct chem_stock *stock = chem_find_stock(facts->chem, of);
  const struct chem_substance *s = stock ? stock->substance : chem_find(facts->chem, of);

  if (!s)
    return face;
  face = meet_substance_face(facts, s, stock ? stock->assay_ratio : (double)NAN);
  return face;
}

bool meet_own_bath(const struct meet_facts *facts, const struct chemicals *own, const char *text,
                   struct meet_thing *out)
{
  for (int i = 0; own && i < own->bath_count; i++) {
    const struct chemicals_bath *bath = &own->baths[i];

    if (strcasecmp(bath->part.id, text) != 0)
      continue;
    *out = (struct meet_thing){.id = bath->part.id,
                               .name = bath->part.name ? bath->part.name : bath->part.id,
                               .kind = MEET_MIXTURE,
                               .own = true};
    out->faces[out->face_count++] =
        (struct meet_face){.id = out->id, .name = out->name, .fraction_ratio = NAN};
    for (int k = 0; k < bath->part_count; k++)
      out->faces[out->face_count++] = part_face(facts, bath->parts[k].of);
    return true;
  }
  return false;
}

/* ---- not here ---- */

/* The words of a file as a list of ours: a set by its name, or anything that can be asked.  NULL: not
 * understood. */
static const char *selector_of(const struct work *w, const char *word)
{
  struct things one = {0, ARENA_ARRAY(w->arena, struct meet_thing, 2 * MEET_THINGS_MAX)};

  BUG_IF(!one.list);
  for (int i = 0; i < w->facts->set_count; i++)
    if (strcasecmp(w->facts->sets[i].id, word) == 0 ||
        strcasecmp(w->facts->sets[i].name, word) == 0)
      return arena_printf(w->arena, "@%s", w->facts->sets[i].id);
  if (meet_add_things(w, word, &one, NULL) != ERR_OK || one.count != 1 || !*one.list[0].id)
    return NULL;
  return one.list[0].id;
}

/* What it is made of, as far as the tables know it; the water of a reagent is no part of the question. */
static int substances_of(const struct work *w, const struct meet_thing *thing,
                         const struct chem_substance **out)
{
  int count = 0;

  for (int i = 0; i < thing->face_count; i++) {
    const struct chem_substance *s = chem_find(w->facts->chem, thing->faces[i].id);

    if (s && !thing->faces[i].implied)
      out[count++] = s;
  }
  return count;
}

static bool is_hit(const struct chem_not_here *found, const char *word)
{
  for (int i = 0; i < found->hit_count; i++)
    if (strcmp(found->hits[i].word, word) == 0)
      return true;
  return false;
}

static bool is_unread(const struct chem_not_here *found, const char *word)
{
  for (int i = 0; i < found->unread_count; i++)
    if (strcmp(found->unread[i], word) == 0)
      return true;
  return false;
}

/* What the card's words mean to each thing that is asked about; the last: to nothing, so what no word of
 * ours is. */
static const struct chem_not_here *read_card(const struct work *w,
                                             const struct facility_station *station)
{
  struct chem_not_here *read =
      ARENA_ARRAY(w->arena, struct chem_not_here, (size_t)w->asked_count + 1);

  BUG_IF(!read);
  for (int i = 0; i <= w->asked_count; i++) {
    const struct chem_substance *substances[1 + MEET_PARTS_MAX];
    int count = i < w->asked_count ? substances_of(w, &w->things.list[i], substances) : 0;

    read[i] = chem_not_here(w->facts->chem, station, substances, count, w->arena);
  }
  return read;
}

/* A word is understood as in bath and vapour (chem_not_here); a trace, a material or a mixture, which
 * that does not know, is looked up here. */
static void not_here(struct work *w, const struct facility_station *station,
                     const struct chem_not_here *read, const char *word)
{
  const char *text = selector_of(w, word);
  struct selectors list = text ? meet_selectors(w->facts, text, w->arena) : (struct selectors){0};

  for (int i = 0; i < w->asked_count; i++) {
    struct meet_finding f = {.of_count = 1, .of = {i, -1, -1}};

    if (!is_hit(&read[i], word) && meet_matches(&list, &w->things.list[i]) == MATCH_NONE)
      continue;
    meet_add_sentence(
        w, &f,
        (struct meet_sentence){.rule = "not-here",
                               .verdict = MEET_NEVER,
                               .codes = "",
                               .instead = "",
                               .say = arena_printf(w->arena,
                                                   "The suite's file says of %s: not here: %s.",
                                                   station->part.id, word),
                               .of = {CHEM_SUITE, "", "the suite's file", ""}});
    meet_add_finding(w, &f);
  }
  if (!text && is_unread(&read[w->asked_count], word))
    meet_own_note(w,
                  arena_printf(w->arena,
                               "The suite's file also says of %s: not here: %s. These words match "
                               "nothing in the tables: read them.",
                               station->part.id, word));
}

void meet_own_note(struct work *w, const char *say)
{
  meet_add_note(w, &(struct meet_sentence){.rule = "suite",
                                           .codes = "",
                                           .say = say,
                                           .instead = "",
                                           .of = {CHEM_SUITE, "", "the suite's file", ""}});
}

/* ---- procedures ---- */

static bool is_for(const struct chemicals_procedure *p, int station)
{
  for (int i = 0; i < p->station_count; i++)
    if (p->stations[i] == station)
      return true;
  return false;
}

static const char *stations_of(const struct work *w, const struct chemicals_procedure *p)
{
  const char *text = "";

  for (int i = 0; i < p->station_count; i++)
    text = arena_printf(w->arena, "%s%s%s", text, i ? ", " : "",
                        w->request->facility->stations[p->stations[i]].part.id);
  return text;
}

static void procedures_of(struct work *w, const struct meet_thing *thing, int station)
{
  const struct chemicals *own = w->request->own;
  int here = 0;

  for (int i = 0; own && i < own->procedure_count; i++) {
    const struct chemicals_procedure *p = &own->procedures[i];

    if (strcasecmp(p->bath, thing->id) != 0)
      continue;
    here += station < 0 || is_for(p, station);
    meet_own_note(
        w, arena_printf(w->arena,
                        "Procedure %s of the suite names %s at %s: %s, version %s, approved %s, "
                        "review %s. It decides; whether it is still in force is not known here.",
                        p->part.id, thing->id, stations_of(w, p), p->document, p->version,
                        p->approved, p->review));
  }
  if (here == 0 && station >= 0)
    meet_own_note(w, arena_printf(w->arena, "No procedure of the suite names %s at %s.", thing->id,
                                  w->request->facility->stations[station].part.id));
}

static bool has_own_rule(const struct work *w, int thing)
{
  for (int i = 0; i < w->finding_count; i++)
    if (w->findings[i].of_count == 1 && w->findings[i].of[0] == thing &&
        w->findings[i].verdict == MEET_BY_PROCEDURE)
      return true;
  return w->things.list[thing].made_of[0] >= 0;
}

void meet_own_findings(struct work *w)
{
  const struct facility *facility = w->request->facility;
  int station = w->station;

  for (int i = 0; facility && i < w->things.count; i++)
    if (w->things.list[i].kind == MEET_MIXTURE && has_own_rule(w, i))
      procedures_of(w, &w->things.list[i], station);
  if (!facility || station < 0)
    return;
  const struct facility_station *s = &facility->stations[station];

  const struct chem_not_here *read = read_card(w, s);

  for (int i = 0; i < s->card.not_here_count; i++)
    not_here(w, s, read, s->card.not_here[i]);
  if (s->card.chemistry)
    meet_own_note(w, arena_printf(w->arena, "The suite's file says what %s is for: %s.", s->part.id,
                                  s->card.chemistry));
}
