#include "meet/meet_impl.h"

#include "facility/facility.h"

#include <math.h>
#include <string.h>

static const char *const verdict_words[] = {"nothing listed: not a clearance",
                                            "only by written procedure", "unknown", "never"};

const char *meet_verdict_words(enum meet_verdict verdict)
{
  return verdict_words[verdict];
}

const char *meet_finding_of(const struct meet_answer *answer, const struct meet_finding *finding,
                            struct arena *arena)
{
  static const char *const joints[] = {"", " with ", " and "};
  const char *text = "";

  BUG_IF(finding->of_count > 3);
  for (int i = 0; i < finding->of_count; i++) {
    const struct meet_thing *thing = &answer->things[finding->of[i]];

    text = arena_printf(arena, "%s%s%s%s", text, joints[i], thing->name,
                        thing->held ? " (held before)" : "");
  }
  return text;
}

static enum err_code add_vessel(struct work *w, struct err *err)
{
  const char *text = w->request->vessel;
  int at = w->things.count;

  if (!text)
    return ERR_OK;
  if (!meet_find_material(w->facts, text)) {
    char list[200] = "";
    size_t used = 0;

    for (int i = 0; i < w->facts->material_count && used < sizeof list; i++)
      used += (size_t)snprintf(list + used, sizeof list - used, "%s%s", i ? ", " : "",
                               w->facts->materials[i].id);
    return err_set(err, ERR_INPUT, "no material '%.40s': %s", text, list);
  }
  enum err_code code = meet_add_things(w, text, &w->things, err);

  if (code == ERR_OK)
    w->things.list[at].vessel = true;
  return code;
}

static enum err_code add_all(struct work *w, struct err *err)
{
  const struct meet_request *r = w->request;
  enum err_code code = ERR_OK;

  for (int i = 0; i < r->thing_count && code == ERR_OK; i++)
    code = meet_add_things(w, r->things[i], &w->things, err);
  int first_held = w->things.count;

  for (int i = 0; i < r->held_count && code == ERR_OK; i++)
    code = meet_add_things(w, r->held[i], &w->things, err);
  for (int i = first_held; i < w->things.count; i++)
    w->things.list[i].held = true;
  if (code == ERR_OK)
    code = add_vessel(w, err);
  w->asked_count = w->things.count;
  return code;
}

static enum err_code find_station(struct work *w, struct err *err)
{
  const struct meet_request *r = w->request;

  w->station = -1;
  if (!r->station)
    return ERR_OK;
  if (!r->facility)
    return err_set(err, ERR_INPUT,
                   "station '%.32s' of which suite? Its file goes first: meet suite.yaml ...",
                   r->station);
  w->station = facility_station_find(r->facility, r->station);
  if (w->station >= 0)
    return ERR_OK;
  return err_set(err, ERR_INPUT, "no station '%.32s' in this suite", r->station);
}

/* Classes have no groups and groups no class: each says nothing where the other is asked. */
static enum err_code check(const struct work *w, struct err *err)
{
  const struct meet_request *r = w->request;

  if (r->held_count > 0 && r->place != MEET_WASTE)
    return err_set(err, ERR_INPUT,
                   "'held' is what a waste container held before: it goes with place waste");
  if (w->asked_count < 2 && r->place == MEET_ANYWHERE && !r->station)
    return err_set(err, ERR_INPUT,
                   "one thing meets nothing: name two or more, a vessel, a place, or a station");
  if (w->asked_count < 1)
    return err_set(err, ERR_INPUT, "nothing is named: what meets what?");
  for (int i = 0; i < w->asked_count; i++)
    if (w->things.list[i].kind == MEET_CLASS && r->place != MEET_SHIPMENT)
      return err_set(err, ERR_INPUT,
                     "'%.20s': transport classes are for --place shipment; name the substance",
                     w->things.list[i].asked);
  return ERR_OK;
}

/* The worst first; those alike in the order they were found. */
static void sort_findings(struct meet_finding *list, int count)
{
  for (int i = 1; i < count; i++) {
    struct meet_finding f = list[i];
    int at = i;

    for (; at > 0 && list[at - 1].verdict < f.verdict; at--)
      list[at] = list[at - 1];
    list[at] = f;
  }
}

struct unknowns {
  const char **list;
  int count, room;
};

static void does_not_know(struct unknowns *u, const char *text)
{
  BUG_IF(u->count == u->room);
  u->list[u->count++] = text;
}

static int count_liquids(const struct work *w)
{
  int count = 0;

  for (int i = 0; i < w->asked_count; i++)
    count += w->things.list[i].kind != MEET_MATERIAL;
  return count;
}

static void of_place(const struct work *w, struct unknowns *u)
{
  if (w->request->place == MEET_ANYWHERE)
    does_not_know(u, "Where they would stand: name the place for its own rules (deck, drawer, "
                     "waste, storage).");
  if (w->request->place == MEET_WASTE && w->request->held_count == 0)
    does_not_know(u, "What the container held before: nobody said, so it is not counted.");
  if (w->request->place == MEET_DECK)
    for (int i = 0; i < w->asked_count; i++)
      if (!w->things.list[i].deck_family && w->things.list[i].kind != MEET_MATERIAL)
        does_not_know(u, arena_printf(w->arena,
                                      "The family of %s: it goes with the bath that its procedure "
                                      "names.",
                                      w->things.list[i].name));
}

static void of_strength(const struct work *w, struct unknowns *u)
{
  const char *names = "";

  for (int i = 0; i < w->asked_count; i++) {
    const struct meet_thing *thing = &w->things.list[i];

    if (thing->kind == MEET_SUBSTANCE && thing->face_count > 1 &&
        isnan(thing->faces[0].fraction_ratio))
      names = arena_printf(w->arena, "%s%s%s", names, *names ? ", " : "", thing->name);
  }
  if (*names)
    does_not_know(u, arena_printf(w->arena, "How strong it is (%s): counted as strong.", names));
}

static void of_transport(const struct work *w, const struct meet_answer *answer, struct unknowns *u)
{
  for (int i = 0; i < answer->transport_count; i++) {
    const struct meet_transport *t = &answer->transport[i];

    if (!t->code)
      does_not_know(u, arena_printf(w->arena, "The cell of the transport table for %s with %s.",
                                    w->things.list[t->a].name, w->things.list[t->b].name));
  }
}

static void list_unknown(const struct work *w, struct meet_answer *answer)
{
  const int general = 8, room = general + w->asked_count + answer->transport_count;
  struct unknowns u = {ARENA_ARRAY(w->arena, const char *, (size_t)room), 0, room};

  BUG_IF(!u.list);
  if (count_liquids(w) > 2)
    does_not_know(&u, "What all of them do together: a pair says nothing about three. Only the few "
                      "threes that the rules name were looked for.");
  else if (count_liquids(w) == 2)
    does_not_know(&u, "What a third thing would do: a pair says nothing about three. A trace on "
                      "glass, a wipe, resist and rinse water count: name them.");
  does_not_know(&u, "How much, how warm, how long: the chart knows groups, not quantities.");
  of_strength(w, &u);
  of_place(w, &u);
  of_transport(w, answer, &u);
  answer->unknown = u.list;
  answer->unknown_count = u.count;
}

static const struct meet_answer *finish(struct work *w)
{
  struct meet_answer *answer = ARENA_NEW(w->arena, struct meet_answer);

  BUG_IF(!answer);
  sort_findings(w->findings, w->finding_count);
  *answer = (struct meet_answer){.facts = w->facts,
                                 .facility = w->request->facility,
                                 .own = w->request->own,
                                 .place = w->request->place,
                                 .station = w->request->station,
                                 .at_K = w->request->at_K,
                                 .thing_count = w->things.count,
                                 .asked_count = w->asked_count,
                                 .things = w->things.list,
                                 .finding_count = w->finding_count,
                                 .findings = w->findings,
                                 .note_count = w->note_count,
                                 .notes = w->notes};
  for (int i = 0; i < w->finding_count; i++)
    if (w->findings[i].verdict > answer->verdict)
      answer->verdict = w->findings[i].verdict;
  meet_place_changes(w, answer);
  meet_transport(w, answer);
  for (int i = 0; i < answer->transport_count; i++) {
    const char *code = answer->transport[i].code;

    if (code && strcmp(code, "X") == 0)
      answer->verdict = MEET_NEVER;
    else if (code && *code && answer->verdict < MEET_BY_PROCEDURE)
      answer->verdict = MEET_BY_PROCEDURE;
    else if (!code && answer->verdict < MEET_UNKNOWN)
      answer->verdict = MEET_UNKNOWN;
  }
  list_unknown(w, answer);
  return answer;
}

const struct meet_answer *meet_answer(const struct meet_facts *facts,
                                      const struct meet_request *request, struct arena *arena,
                                      struct err *err)
{
  struct work w = {
      .facts = facts,
      .request = request,
      .arena = arena,
      .things = {0, ARENA_ARRAY(arena, struct meet_thing,
                                (size_t)(2 * MEET_THINGS_MAX + facts->named_count))},
  };

  if (!w.things.list) {
    err_write(err, ERR_LIMIT, "no room for the answer");
    return NULL;
  }
  if (find_station(&w, err) != ERR_OK || add_all(&w, err) != ERR_OK || check(&w, err) != ERR_OK)
    return NULL;
  meet_add_made(facts, &w.things, arena);
  meet_rules_all(&w);
  meet_own_findings(&w);
  return finish(&w);
}
