#include "meet/meet_impl.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

/*
 * What a person writes, as things.  Words of ours come first (piranha, resist, unlabelled), then
 * vessels, then substances and bottles; a name that nobody knows is refused, never guessed.
 */

static bool of_group(const struct meet_facts *facts, const char *id, int group, double share_ratio)
{
  for (int i = 0; i < facts->strength_count; i++) {
    const struct meet_strength *s = &facts->strengths[i];

    if (s->group == group && strcmp(s->id, id) == 0)
      return isnan(share_ratio) || share_ratio > s->above_ratio;
  }
  return true;
}

struct meet_face meet_substance_face(const struct meet_facts *facts, const struct chem_substance *s,
                                     double share_ratio)
{
  struct meet_face face = {.id = s->id, .name = s->name, .fraction_ratio = share_ratio};

  for (int i = 0; i < s->group_count && face.group_count < MEET_GROUPS_MAX; i++)
    if (of_group(facts, s->id, s->groups[i], share_ratio))
      face.groups[face.group_count++] = s->groups[i];
  return face;
}

static struct meet_face named_face(const struct meet_named *n)
{
  struct meet_face face = {
      .id = n->id, .name = n->name, .fraction_ratio = NAN, .group_count = n->group_count};

  memcpy(face.groups, n->groups, sizeof face.groups);
  return face;
}

/* Sold in water, at any strength but a pure one. */
static bool is_in_water(const struct meet_facts *facts, const struct chem_substance *s,
                        double share_ratio)
{
  const double pure_ratio = 0.97;

  if (!isnan(share_ratio))
    return share_ratio < pure_ratio;
  for (int i = 0; i < facts->chem->stock_count; i++) {
    const struct chem_stock *stock = &facts->chem->stocks[i];

    if (stock->substance == s && !stock->solid && stock->assay_ratio < pure_ratio)
      return true;
  }
  return false;
}

static void imply_water(const struct meet_facts *facts, struct meet_thing *thing)
{
  const struct chem_substance *water = chem_find(facts->chem, "water");

  BUG_IF(!water || thing->face_count > MEET_PARTS_MAX);
  thing->faces[thing->face_count] = meet_substance_face(facts, water, NAN);
  thing->faces[thing->face_count++].implied = true;
}

static struct meet_thing of_substance(const struct meet_facts *facts,
                                      const struct chem_substance *s, double share_ratio,
                                      const char *name)
{
  struct meet_thing thing = {.id = s->id, .name = name, .kind = MEET_SUBSTANCE};

  thing.faces[thing.face_count++] = meet_substance_face(facts, s, share_ratio);
  if (is_in_water(facts, s, share_ratio))
    imply_water(facts, &thing);
  return thing;
}

static struct meet_thing of_named(const struct meet_facts *facts, const struct meet_named *n)
{
  struct meet_thing thing = {.id = n->id, .name = n->name, .kind = n->kind};

  thing.faces[thing.face_count++] = named_face(n);
  for (int i = 0; i < n->part_count; i++) {
    const struct chem_substance *s = chem_find(facts->chem, n->parts[i]);

    BUG_IF(!s);
    thing.faces[thing.face_count++] = meet_substance_face(facts, s, NAN);
  }
  return thing;
}

static struct meet_thing of_material(const struct meet_material *m)
{
  struct meet_thing thing = {.id = m->id, .name = m->name, .kind = MEET_MATERIAL, .face_count = 1};

  thing.faces[0] = (struct meet_face){.id = m->id, .name = m->name, .fraction_ratio = NAN};
  return thing;
}

/* ---- "group:10" and "class:8" ---- */

static enum err_code of_group_text(const struct meet_facts *facts, const char *text,
                                   struct meet_thing *out, struct arena *arena, struct err *err)
{
  char *end;
  long number = strtol(text, &end, 10);

  for (int i = 0; i < facts->group_count; i++)
    if (!*end && end != text && facts->groups[i].number == number) {
      const char *name = arena_printf(arena, "Group %ld, %s", number, facts->groups[i].name);

      *out = (struct meet_thing){.id = "", .name = name, .kind = MEET_GROUP, .face_count = 1};
      out->faces[0] = (struct meet_face){.id = "",
                                         .name = facts->groups[i].name,
                                         .fraction_ratio = NAN,
                                         .group_count = 1,
                                         .groups = {(int)number}};
      return ERR_OK;
    }
  return err_set(err, ERR_INPUT,
                 "no reactivity group '%.20s': EPA-600/2-80-076 has 1 to 34 and 101 to 107", text);
}

static enum err_code of_class_text(const struct meet_facts *facts, const char *text,
                                   struct meet_thing *out, struct arena *arena, struct err *err)
{
  for (int row = 0; row < facts->transport->row_count; row++) {
    const char *id = chem_cell(facts->transport, row, "class");

    if (strcasecmp(id, text) == 0) {
      *out = (struct meet_thing){.id = "",
                                 .name = arena_printf(arena, "Class %s", id),
                                 .kind = MEET_CLASS,
                                 .face_count = 1,
                                 .transport_class = id};
      out->faces[0] = (struct meet_face){.id = "", .name = out->name, .fraction_ratio = NAN};
      return ERR_OK;
    }
  }
  return err_set(err, ERR_INPUT,
                 "no class '%.20s' in the table of 49 CFR 177.848: 1.1 to 1.6, 2.1, 2.2, 2.3A, "
                 "2.3B, 3, 4.1 to 4.3, 5.1, 5.2, 6.1A, 7, 8",
                 text);
}

/* ---- a name ---- */

/* The nearest of our own words, or of the substances and bottles. */
static const char *nearest(const struct meet_facts *facts, const char *text)
{
  int least = 0;
  const char *found = NULL, *of_chem = chem_nearest(facts->chem, text);

  for (int i = 0; i < facts->named_count + facts->material_count; i++) {
    bool named = i < facts->named_count;
    const char *id = named ? facts->named[i].id : facts->materials[i - facts->named_count].id;
    const char *name = named ? facts->named[i].name : facts->materials[i - facts->named_count].name;
    int by_id = chem_slip(text, id), by_name = chem_slip(text, name);
    int slips = by_id > 0 && (by_name == 0 || by_id < by_name) ? by_id : by_name;

    if (slips > 0 && (!found || slips < least)) {
      found = id;
      least = slips;
    }
  }
  return found && of_chem && strcmp(found, of_chem) != 0 ? NULL : found ? found : of_chem;
}

/* A name that no table has is counted as not known, which is an answer; a slip of the hand is not. */
static enum err_code no_such(const struct meet_facts *facts, const char *text,
                             struct meet_thing *out, struct err *err)
{
  const char *near = nearest(facts, text);

  if (near)
    return err_set(err, ERR_INPUT, "nothing is known of '%.40s'; did you mean '%s'?", text, near);
  if (strpbrk(text, ":=@/|"))
    return err_set(err, ERR_INPUT,
                   "'%.40s' is no name: a substance, a bottle, a bath, hf@49wt%%, group:10", text);
  *out = (struct meet_thing){.id = "", .name = text, .kind = MEET_NOT_KNOWN, .face_count = 1};
  out->faces[0] = (struct meet_face){.id = "", .name = text, .fraction_ratio = NAN};
  return ERR_OK;
}

/* Before '@', blanks at its end dropped. */
static const char *before_at(const char *text, struct arena *arena)
{
  int length = (int)strcspn(text, "@");

  while (length > 0 && text[length - 1] == ' ')
    length--;
  return arena_printf(arena, "%.*s", length, text);
}

/* "hf@49wt%" and "hf-49", and what a bottle of ours holds. */
static enum err_code of_bottle(const struct meet_facts *facts, const char *text,
                               struct meet_thing *out, struct arena *arena, struct err *err)
{
  const struct chem_stock *bottle = chem_find_stock(facts->chem, text);
  const char *name = before_at(text, arena);
  struct chem_stock stock;

  if (meet_find_named(facts, name, false) || meet_find_material(facts, name))
    return err_set(err, ERR_INPUT, "'%.40s': a strength is of a substance; '%.40s' goes without it",
                   text, name);
  if (*name && !chem_find_stock(facts->chem, name) && !chem_find(facts->chem, name))
    return no_such(facts, name, out, err);
  enum err_code code = chem_part(facts->chem, text, &stock, err);

  if (code != ERR_OK)
    return code;
  *out = of_substance(
      facts, stock.substance, stock.assay_ratio,
      bottle ? stock.name : arena_printf(arena, "%s %.4g %%", stock.name, 100 * stock.assay_ratio));
  out->own = bottle && bottle->of.basis == CHEM_SUITE;
  return ERR_OK;
}

static enum err_code resolve(const struct work *w, const char *text, struct meet_thing *out,
                             struct err *err)
{
  const struct meet_facts *facts = w->facts;
  struct arena *arena = w->arena;
  const struct meet_named *named = meet_find_named(facts, text, false);
  const struct meet_named *bath = meet_find_named(facts, text, true);
  const struct meet_material *material = meet_find_material(facts, text);
  const struct chem_substance *substance = chem_find(facts->chem, text);

  if (strncasecmp(text, "group:", 6) == 0)
    return of_group_text(facts, text + 6, out, arena, err);
  if (strncasecmp(text, "class:", 6) == 0)
    return of_class_text(facts, text + 6, out, arena, err);
  if (meet_own_bath(facts, w->request->own, text, out))
    return ERR_OK;
  if (named)
    *out = of_named(facts, named);
  else if (material)
    *out = of_material(material);
  else if (substance)
    *out = of_substance(facts, substance, NAN, substance->name);
  else if (bath && !chem_find_stock(facts->chem, text))
    *out = of_named(facts, bath);
  else
    return of_bottle(facts, text, out, arena, err);
  return ERR_OK;
}

static void classify(const struct meet_facts *facts, struct meet_thing *thing)
{
  thing->deck_family = meet_family_of(facts, "deck", thing);
  thing->shelf = meet_family_of(facts, "shelf", thing);
  for (int i = 0; !thing->transport_class && i < facts->carried_count; i++)
    if (meet_matches(&facts->carried[i].things, thing) == MATCH_ITSELF) {
      thing->transport_class = facts->carried[i].class_id;
      thing->subsidiary = *facts->carried[i].subsidiary ? facts->carried[i].subsidiary : NULL;
    }
}

/* "acetone +": what is on the other side? */
static bool has_empty_side(const char *text)
{
  for (;;) {
    text += strspn(text, " ");
    if (!*text || *text == '+')
      return true;
    text += strcspn(text, "+");
    if (!*text++)
      return false;
  }
}

enum err_code meet_add_things(const struct work *w, const char *text, struct things *out,
                              struct err *err)
{
  const struct meet_facts *facts = w->facts;
  struct arena *arena = w->arena;
  int count;
  const char *const *words = meet_words(text, "+", &count, arena);

  if (count == 0)
    return err_set(err, ERR_INPUT, "'%.40s' names nothing: a substance, a bath, a bottle", text);
  if (has_empty_side(text))
    return err_set(err, ERR_INPUT, "'%.40s': one side of '+' names nothing", text);
  for (int i = 0; i < count; i++) {
    struct meet_thing thing;

    if (out->count == 2 * MEET_THINGS_MAX)
      return err_set(err, ERR_INPUT, "more than %d things at once", 2 * MEET_THINGS_MAX);
    enum err_code code = resolve(w, words[i], &thing, err);

    if (code != ERR_OK)
      return code;
    thing.asked = words[i];
    thing.made_of[0] = -1;
    classify(facts, &thing);
    out->list[out->count++] = thing;
  }
  return ERR_OK;
}

/* ---- what several make together ---- */

static int find_single(const struct things *things, int count, const char *id)
{
  for (int i = 0; i < count; i++)
    if (things->list[i].kind == MEET_SUBSTANCE && strcmp(things->list[i].id, id) == 0)
      return i;
  return -1;
}

/* All that is in it, water aside, stands here as things of their own: at least two. */
static bool is_made(const struct meet_named *n, const struct things *things, int count,
                    int *made_of)
{
  int found = 0;

  if (n->kind != MEET_MIXTURE || n->variant)
    return false;
  for (int i = 0; i < n->part_count; i++) {
    int at = find_single(things, count, n->parts[i]);

    if (strcmp(n->parts[i], "water") == 0)
      continue;
    if (at < 0)
      return false;
    made_of[found++] = at;
  }
  made_of[found] = -1;
  return found >= 2;
}

void meet_add_made(const struct meet_facts *facts, struct things *things, struct arena *arena)
{
  int count = things->count;

  for (int i = 0; i < facts->named_count; i++) {
    const struct meet_named *n = &facts->named[i];
    int made_of[MEET_PARTS_MAX + 1];

    if (!is_made(n, things, count, made_of))
      continue;
    struct meet_thing thing = of_named(facts, n);

    thing.asked = n->id;
    thing.name = arena_printf(arena, "%s, which they make", n->name);
    memcpy(thing.made_of, made_of, sizeof thing.made_of);
    things->list[things->count++] = thing;
  }
}
