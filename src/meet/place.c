#include "meet/meet_impl.h"

#include <string.h>

/* What the place adds: families of a deck, shelves, and classes on a vehicle. */

const char *meet_family_of(const struct meet_facts *facts, const char *scheme,
                           const struct meet_thing *thing)
{
  for (int i = 0; i < facts->family_count; i++) {
    const struct meet_family *f = &facts->families[i];

    if (strcmp(f->scheme, scheme) == 0 && meet_matches(&f->members, thing) != MATCH_NONE)
      return f->id;
  }
  return NULL;
}

const struct meet_family *meet_family(const struct meet_facts *facts, const char *scheme,
                                      const char *id)
{
  for (int i = 0; id && i < facts->family_count; i++)
    if (strcmp(facts->families[i].scheme, scheme) == 0 && strcmp(facts->families[i].id, id) == 0)
      return &facts->families[i];
  return NULL;
}

static void part_families(const struct work *w, int a, int b, const char *scheme,
                          struct meet_finding *out)
{
  bool deck = strcmp(scheme, "deck") == 0;
  const struct meet_thing *x = &w->things.list[a], *y = &w->things.list[b];
  const char *of_x = deck ? x->deck_family : x->shelf, *of_y = deck ? y->deck_family : y->shelf;

  if (!of_x || !of_y || strcmp(of_x, of_y) == 0)
    return;
  const struct meet_family *fx = meet_family(w->facts, scheme, of_x);
  const struct meet_family *fy = meet_family(w->facts, scheme, of_y);
  struct meet_sentence s = {.rule = deck ? "deck-family" : "shelf",
                            .verdict = MEET_NEVER,
                            .codes = "",
                            .instead = "",
                            .of = fx->of};

  s.say = deck ? arena_printf(w->arena,
                              "Not on one deck at the same time: %s counts among the %s, %s among "
                              "the %s.",
                              x->name, fx->name, y->name, fy->name)
               : arena_printf(w->arena,
                              "Not on one shelf, in one tray or in one drawer: %s goes with '%s', "
                              "%s with '%s'.",
                              x->name, fx->name, y->name, fy->name);
  meet_add_sentence(w, out, s);
}

void meet_place_pair(const struct work *w, int a, int b, struct meet_finding *out)
{
  const struct meet_thing *x = &w->things.list[a], *y = &w->things.list[b];

  if (x->kind == MEET_MATERIAL || y->kind == MEET_MATERIAL)
    return;
  if (w->request->place == MEET_DECK)
    part_families(w, a, b, "deck", out);
  if (w->request->place == MEET_DRAWER || w->request->place == MEET_STORAGE)
    part_families(w, a, b, "shelf", out);
}

/* ---- what must happen before another family ---- */

static const struct meet_change *find_change(const struct meet_facts *facts, const char *from,
                                             const char *to)
{
  for (int i = 0; i < facts->change_count; i++) {
    const struct meet_change *c = &facts->changes[i];

    if ((strcmp(c->from, from) == 0 || strcmp(c->from, "*") == 0) &&
        (strcmp(c->to, to) == 0 || strcmp(c->to, "*") == 0))
      return c;
  }
  return NULL;
}

/* From the family of what is named first to each other one. */
void meet_place_changes(const struct work *w, struct meet_answer *out)
{
  struct meet_change *all = ARENA_ARRAY(w->arena, struct meet_change, MEET_THINGS_MAX * 2);
  const char *done[2 * MEET_THINGS_MAX], *from = NULL;
  int done_count = 0;

  BUG_IF(!all);
  for (int i = 0; w->request->place == MEET_DECK && i < w->asked_count; i++) {
    const char *to = w->things.list[i].deck_family;
    bool known = !to;

    for (int k = 0; to && k < done_count; k++)
      known |= strcmp(done[k], to) == 0;
    if (known)
      continue;
    done[done_count++] = to;
    if (!from) {
      from = to;
      continue;
    }
    struct meet_change change = *find_change(w->facts, from, to);

    change.from = meet_family(w->facts, "deck", from)->name;
    change.to = meet_family(w->facts, "deck", to)->name;
    all[out->change_count++] = change;
  }
  out->changes = all;
}

/* ---- on a vehicle ---- */

static const char *transport_code(const struct meet_facts *facts, const char *a, const char *b)
{
  for (int row = 0; row < facts->transport->row_count; row++)
    if (strcmp(chem_cell(facts->transport, row, "class"), a) == 0)
      return chem_cell(facts->transport, row, b);
  return "";
}

static int coded_cells(const struct meet_facts *facts)
{
  const struct chem_table *t = facts->transport;
  int count = 0;

  for (int row = 0; row < t->row_count; row++)
    for (int k = 0; k < t->row_count; k++)
      count += *chem_cell(t, row, chem_cell(t, k, "class")) != '\0';
  return count;
}

/* A class that the table has no row for ("6.1" of lesser packing groups) has no cell. */
static bool has_row(const struct meet_facts *facts, const char *class_id)
{
  for (int row = 0; class_id && row < facts->transport->row_count; row++)
    if (strcmp(chem_cell(facts->transport, row, "class"), class_id) == 0)
      return true;
  return false;
}

/* By rising strictness. */
static int strictness(const char *code)
{
  return strcmp(code, "X") == 0 ? 3 : strcmp(code, "O") == 0 ? 2 : *code ? 1 : 0;
}

/* The strictest cell of all their classes: a subsidiary hazard counts when it is stricter (49 CFR
 * 177.848(e), read in a copy).  One that the table has no row for adds nothing.  NULL: not known. */
static const char *strictest(const struct meet_facts *facts, const struct meet_thing *x,
                             const struct meet_thing *y)
{
  const char *of_x[] = {x->transport_class, x->subsidiary};
  const char *of_y[] = {y->transport_class, y->subsidiary};
  const char *most = "";

  if (!has_row(facts, of_x[0]) || !has_row(facts, of_y[0]))
    return NULL;
  for (int i = 0; i < 2; i++)
    for (int k = 0; k < 2; k++) {
      bool both = has_row(facts, of_x[i]) && has_row(facts, of_y[k]);
      const char *code = both ? transport_code(facts, of_x[i], of_y[k]) : "";

      if (strictness(code) > strictness(most))
        most = code;
    }
  return most;
}

void meet_transport(const struct work *w, struct meet_answer *out)
{
  int n = w->asked_count;
  struct meet_transport *all =
      ARENA_ARRAY(w->arena, struct meet_transport, (size_t)(n * n / 2 + 1));

  BUG_IF(!all);
  out->transport = all;
  if (w->request->place != MEET_SHIPMENT)
    return;
  out->transport_cells = coded_cells(w->facts);
  for (int a = 0; a < n; a++)
    for (int b = a + 1; b < n; b++) {
      const struct meet_thing *x = &w->things.list[a], *y = &w->things.list[b];

      if (x->kind == MEET_MATERIAL || y->kind == MEET_MATERIAL)
        continue;
      all[out->transport_count++] = (struct meet_transport){a,
                                                            b,
                                                            x->transport_class,
                                                            y->transport_class,
                                                            x->subsidiary,
                                                            y->subsidiary,
                                                            strictest(w->facts, x, y)};
    }
}
