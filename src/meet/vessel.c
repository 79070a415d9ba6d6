#include "meet/meet_impl.h"

#include <math.h>
#include <string.h>

/*
 * What a vessel stands.  Each part of a liquid is looked up; the worst decides, and a part without a
 * row makes the whole "not listed".  A row for the mixture as a whole stands before those of its
 * parts: piranha is more than sulfuric acid.
 */

static const char *const rating_words[] = {"listed", "limited", "not listed", "refused"};

const char *meet_rating_word(enum meet_rating rating)
{
  return rating_words[rating];
}

static bool is_of(const struct meet_stands *row, const struct meet_material *m)
{
  for (int i = 0; i < row->material_count; i++)
    if (strcmp(row->materials[i], m->id) == 0)
      return true;
  return false;
}

static bool is_graver(const struct meet_vessel *a, const struct meet_vessel *b)
{
  if (a->rating != b->rating)
    return a->rating > b->rating;
  return !isnan(a->most_K) && (isnan(b->most_K) || a->most_K < b->most_K);
}

/* Above the limit of a row: of one that says what heat does, refused; of one that only lists it, not
 * known. */
static struct meet_vessel apply(const struct meet_material *m, const struct meet_stands *row,
                                double at_K, struct arena *arena)
{
  struct meet_vessel out = {m->id,    m->name, row->rating, row->most_K,
                            row->say, row->of, m->short_K};

  if (row->rating != MEET_REFUSED && !isnan(row->most_K) && !isnan(at_K) && at_K > row->most_K) {
    bool known = row->rating == MEET_LIMITED;

    out.rating = known ? MEET_REFUSED : MEET_NOT_LISTED;
    out.why = arena_printf(arena,
                           known ? "%s, and this is above the most that its row gives"
                                 : "%s, but this is above what its row covers: not known, ask the "
                                   "maker",
                           row->say);
  }
  return out;
}

static bool face_rating(const struct meet_facts *facts, const struct meet_material *m,
                        const struct meet_face *face, double at_K, struct meet_vessel *out,
                        struct arena *arena)
{
  bool found = false;

  for (int i = 0; i < facts->stands_count; i++) {
    const struct meet_stands *row = &facts->stands[i];

    if (!is_of(row, m) || !meet_face_matches(&row->against, face))
      continue;
    struct meet_vessel one = apply(m, row, at_K, arena);

    if (!found || is_graver(&one, out))
      *out = one;
    found = true;
  }
  return found;
}

static struct meet_vessel not_listed(const struct meet_material *m, const char *what,
                                     struct arena *arena)
{
  return (struct meet_vessel){m->id,
                              m->name,
                              MEET_NOT_LISTED,
                              m->most_K,
                              arena_printf(arena, "The table of materials has no row for %s", what),
                              {CHEM_MEMORY, "", "data/materials.csv", ""},
                              m->short_K};
}

/* The material's own limit, for what its rows allow. */
static void limit_by_material(struct meet_vessel *v, const struct meet_material *m, double at_K)
{
  if (v->rating == MEET_REFUSED || isnan(m->most_K))
    return;
  if (!isnan(at_K) && at_K > m->most_K) {
    v->rating = MEET_REFUSED;
    v->why = "Above the most that the material itself stands";
    v->of = m->of;
    v->most_K = m->most_K;
  }
  if (isnan(v->most_K) || m->most_K < v->most_K)
    v->most_K = m->most_K;
}

const struct meet_vessel *meet_vessel_of(const struct meet_facts *facts,
                                         const struct meet_material *material,
                                         const struct meet_thing *thing, double at_K,
                                         struct arena *arena)
{
  struct meet_vessel *worst = ARENA_NEW(arena, struct meet_vessel);

  BUG_IF(!worst || thing->face_count < 1);
  bool any = face_rating(facts, material, &thing->faces[0], at_K, worst, arena);
  bool whole = any && thing->face_count > 1 && !thing->faces[1].implied;

  for (int i = 1; i < thing->face_count && !whole; i++) {
    struct meet_vessel one;

    if (thing->faces[i].implied)
      continue;
    if (!face_rating(facts, material, &thing->faces[i], at_K, &one, arena))
      one = not_listed(material, thing->faces[i].name, arena);
    if (!any || is_graver(&one, worst))
      *worst = one;
    any = true;
  }
  if (!any)
    *worst = not_listed(material, thing->name, arena);
  limit_by_material(worst, material, at_K);
  return worst;
}

/* Parts as one thing: a face of each, none of them the whole. */
static struct meet_thing thing_of_parts(const struct meet_facts *facts,
                                        const struct meet_part *parts, int part_count,
                                        struct arena *arena)
{
  const struct meet_request request = {.at_K = NAN};
  const struct work w = {.facts = facts, .request = &request, .arena = arena, .station = -1};
  struct meet_thing out = {.id = "", .name = "this mixture", .kind = MEET_MIXTURE};

  BUG_IF(part_count < 1 || part_count > MEET_PARTS_MAX);
  out.faces[out.face_count++] =
      (struct meet_face){.id = "", .name = out.name, .fraction_ratio = NAN};
  for (int i = 0; i < part_count; i++) {
    struct things one = {0, ARENA_ARRAY(arena, struct meet_thing, 2 * MEET_THINGS_MAX)};

    BUG_IF(!one.list || meet_add_things(&w, parts[i].id, &one, NULL) != ERR_OK);
    const struct meet_thing *thing = &one.list[0];
    bool mixture = thing->kind == MEET_MIXTURE || thing->kind == MEET_TRACE;

    if (mixture) /* by its name: its row speaks for the whole, else its parts do */
      out.faces[0] = thing->faces[0];
    for (int k = mixture ? 1 : 0; k < (mixture ? thing->face_count : 1); k++)
      if (out.face_count <= MEET_PARTS_MAX) {
        out.faces[out.face_count] = thing->faces[k];
        if (!mixture)
          out.faces[out.face_count].fraction_ratio = parts[i].fraction_ratio;
        out.face_count++;
      }
  }
  return out;
}

const struct meet_vessel *meet_vessels(const struct meet_facts *facts,
                                       const struct meet_part *parts, int part_count, double at_K,
                                       int *count_out, struct arena *arena)
{
  struct meet_thing thing = thing_of_parts(facts, parts, part_count, arena);
  struct meet_vessel *all = ARENA_ARRAY(arena, struct meet_vessel, (size_t)facts->material_count);

  BUG_IF(!all);
  for (int i = 0; i < facts->material_count; i++)
    all[i] = *meet_vessel_of(facts, &facts->materials[i], &thing, at_K, arena);
  *count_out = facts->material_count;
  return all;
}
