#include "meet/meet_impl.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

/*
 * The tables of data/ that this module reads.  They are part of the program, so what does not read
 * in them is a bug and ends it; tests read every row.
 */

const char *const *meet_words(const char *text, const char *separator, int *count_out,
                              struct arena *arena)
{
  char *copy = arena_strdup(arena, text), *save = NULL;
  const char **words = ARENA_ARRAY(arena, const char *, strlen(text) + 1);
  int count = 0;

  BUG_IF(!copy || !words);
  for (char *word = strtok_r(copy, separator, &save); word;
       word = strtok_r(NULL, separator, &save)) {
    size_t length = strlen(word);

    while (length > 0 && word[length - 1] == ' ')
      word[--length] = '\0';
    while (*word == ' ')
      word++;
    if (*word)
      words[count++] = word;
  }
  *count_out = count;
  return words;
}

static int word_of(const char *const *words, int count, const char *word)
{
  for (int i = 0; i < count; i++)
    if (strcmp(words[i], word) == 0)
      return i;
  BUG_IF(true);
  return -1;
}

/* A whole number that a table of ours holds. */
static int whole(const char *text)
{
  char *end;
  long value = strtol(text, &end, 10);

  BUG_IF(end == text || *end || value < 0 || value > 9999);
  return (int)value;
}

/* ---- lists ---- */

/* ">50%", "<=50%" and ">=50%" at the end of a word: the last wants a strength that was said. */
static void take_share(char *word, struct selector *out)
{
  char *at = strpbrk(word, "<>"), *end;

  if (!at)
    return;
  bool equal = at[1] == '=';
  double *limit_ratio = *at == '<' ? &out->most_ratio
                        : equal    ? &out->said_ratio
                                   : &out->above_ratio;

  BUG_IF(*at == '<' && !equal);
  *limit_ratio = strtod(at + (equal ? 2 : 1), &end) / 100;
  BUG_IF(strcmp(end, "%") != 0);
  *at = '\0';
}

static bool is_group(const char *word)
{
  if (*word++ != 'g' || !*word)
    return false;
  for (; *word; word++)
    if (!isdigit((unsigned char)*word))
      return false;
  return true;
}

static struct selector read_selector(const char *text, struct arena *arena)
{
  char *word = arena_strdup(arena, text);
  struct selector out = {.id = "", .above_ratio = NAN, .most_ratio = NAN, .said_ratio = NAN};

  BUG_IF(!word);
  take_share(word, &out);
  out.except = *word == '!';
  word += out.except;
  out.any = strcmp(word, "*") == 0;
  if (is_group(word))
    out.group = whole(word + 1);
  else if (!out.any)
    out.id = word;
  return out;
}

static const struct meet_set *find_set(const struct meet_facts *facts, const char *id)
{
  for (int i = 0; i < facts->set_count; i++)
    if (strcmp(facts->sets[i].id, id) == 0)
      return &facts->sets[i];
  return NULL;
}

struct selectors meet_selectors(const struct meet_facts *facts, const char *text,
                                struct arena *arena)
{
  int word_count, room = 0, count = 0;
  const char *const *words = meet_words(text, ";", &word_count, arena);

  for (int i = 0; i < word_count; i++) {
    const struct meet_set *set = *words[i] == '@' ? find_set(facts, words[i] + 1) : NULL;

    BUG_IF(*words[i] == '@' && !set);
    room += set ? set->members.count : 1;
  }
  struct selector *list = ARENA_ARRAY(arena, struct selector, (size_t)room + 1);

  BUG_IF(!list);
  for (int i = 0; i < word_count; i++) {
    const struct meet_set *set = *words[i] == '@' ? find_set(facts, words[i] + 1) : NULL;

    for (int k = 0; set && k < set->members.count; k++)
      list[count++] = set->members.list[k];
    if (!set)
      list[count++] = read_selector(words[i], arena);
  }
  return (struct selectors){count, list};
}

static bool selects(const struct selector *s, const struct meet_face *face)
{
  double share = face->fraction_ratio;
  bool met = s->any;

  if (!s->any && s->group > 0)
    for (int i = 0; i < face->group_count; i++)
      met |= face->groups[i] == s->group;
  else if (!s->any)
    met = strcmp(s->id, face->id) == 0;
  if (!isnan(s->above_ratio) && !isnan(share) && share <= s->above_ratio)
    return false; /* a strength that nobody said counts as strong */
  if (!isnan(s->most_ratio) && (isnan(share) || share > s->most_ratio))
    return false;
  if (!isnan(s->said_ratio) &&
      !(share >= s->said_ratio - 1e-9)) /* 50 wt% is 50 %, rounded or not */
    return false;
  return met;
}

bool meet_face_matches(const struct selectors *list, const struct meet_face *face)
{
  bool met = false;

  for (int i = 0; i < list->count; i++)
    if (selects(&list->list[i], face)) {
      if (list->list[i].except)
        return false;
      met = true;
    }
  return met;
}

enum match meet_matches(const struct selectors *list, const struct meet_thing *thing)
{
  enum match best = MATCH_NONE;

  for (int i = 0; i < thing->face_count; i++)
    if (!thing->faces[i].implied && meet_face_matches(list, &thing->faces[i])) {
      if (i == 0)
        return MATCH_ITSELF;
      best = MATCH_PART;
    }
  return best;
}

/* ---- tables ---- */

static int read_numbers(const char *text, int *out, struct arena *arena)
{
  int count;
  const char *const *words = meet_words(text, ";", &count, arena);

  BUG_IF(count > MEET_GROUPS_MAX);
  for (int i = 0; i < count; i++)
    out[i] = whole(words[i]);
  return count;
}

static void read_groups(struct meet_facts *facts, struct arena *arena)
{
  const struct chem_table *t = chem_table("groups", arena);
  struct meet_group *all = ARENA_ARRAY(arena, struct meet_group, (size_t)t->row_count);

  BUG_IF(!all);
  for (int row = 0; row < t->row_count; row++)
    all[row] = (struct meet_group){whole(chem_cell(t, row, "group")), chem_cell(t, row, "name")};
  facts->groups = all;
  facts->group_count = t->row_count;
}

static void read_cells(struct meet_facts *facts, struct arena *arena)
{
  const struct chem_table *t = chem_table("pairs", arena);
  struct meet_cell *all = ARENA_ARRAY(arena, struct meet_cell, (size_t)t->row_count);

  BUG_IF(!all);
  for (int row = 0; row < t->row_count; row++)
    all[row] = (struct meet_cell){.group_a = whole(chem_cell(t, row, "group_a")),
                                  .group_b = whole(chem_cell(t, row, "group_b")),
                                  .codes = chem_cell(t, row, "codes"),
                                  .printed = chem_cell(t, row, "printed"),
                                  .confidence = chem_cell(t, row, "confidence"),
                                  .of = chem_cell_origin(t, row)};
  facts->cells = all;
  facts->cell_count = t->row_count;
}

static void read_sets(struct meet_facts *facts, struct arena *arena)
{
  const struct chem_table *t = chem_table("meet_sets", arena);

  facts->sets = ARENA_ARRAY(arena, struct meet_set, (size_t)t->row_count);
  BUG_IF(!facts->sets);
  for (int row = 0; row < t->row_count; row++) { /* a set may name those above it */
    facts->sets[row] =
        (struct meet_set){chem_cell(t, row, "id"), chem_cell(t, row, "name"),
                          meet_selectors(facts, chem_cell(t, row, "members"), arena)};
    facts->set_count = row + 1;
  }
}

static const char *const verdict_names[] = {"nothing", "procedure", "unknown", "never"};

static struct meet_rule read_rule(const struct meet_facts *facts, const struct chem_table *t,
                                  int row, struct arena *arena)
{
  static const char *const slots[] = {"a", "b", "c"};
  const char *verdict = chem_cell(t, row, "verdict");
  struct meet_rule out = {.id = chem_cell(t, row, "id"),
                          .is_note = strcmp(verdict, "note") == 0,
                          .instead = *chem_cell(t, row, "instead") != '\0',
                          .codes = chem_cell(t, row, "codes"),
                          .say = chem_cell(t, row, "say"),
                          .remedy = chem_cell(t, row, "do"),
                          .of = chem_cell_origin(t, row)};

  out.places = meet_words(chem_cell(t, row, "place"), ";", &out.place_count, arena);
  if (!out.is_note)
    out.verdict = (enum meet_verdict)word_of(verdict_names, 4, verdict);
  for (int i = 0; i < 3; i++)
    if (*chem_cell(t, row, slots[i])) {
      BUG_IF(i != out.slot_count);
      out.slots[out.slot_count++] = meet_selectors(facts, chem_cell(t, row, slots[i]), arena);
    }
  return out;
}

static void read_rules(struct meet_facts *facts, struct arena *arena)
{
  const struct chem_table *t = chem_table("rules", arena);
  struct meet_rule *all = ARENA_ARRAY(arena, struct meet_rule, (size_t)t->row_count);

  BUG_IF(!all);
  for (int row = 0; row < t->row_count; row++)
    all[row] = read_rule(facts, t, row, arena);
  facts->rules = all;
  facts->rule_count = t->row_count;
}

static const char *const kind_words[] = {"substance", "mixture",    "trace",
                                         "solid",     "material",   "group",
                                         "class",     "unlabelled", "not known"};

const char *meet_kind_word(enum meet_kind kind)
{
  return kind_words[kind];
}

static struct meet_named named_row(const struct chem_table *t, int row, struct arena *arena)
{
  struct meet_named n = {.id = chem_cell(t, row, "id"),
                         .name = chem_cell(t, row, "name"),
                         .note = chem_cell(t, row, "note")};

  n.kind = (enum meet_kind)word_of(kind_words, 8, chem_cell(t, row, "kind"));
  n.aliases = meet_words(chem_cell(t, row, "aliases"), ";", &n.alias_count, arena);
  n.parts = meet_words(chem_cell(t, row, "parts"), ";", &n.part_count, arena);
  n.group_count = read_numbers(chem_cell(t, row, "groups"), n.groups, arena);
  BUG_IF(n.part_count > MEET_PARTS_MAX);
  return n;
}

/* What a bath of the bath table is made of, where our own table of mixtures has not its family. */
static void parts_of_bath(const struct chem *chem, const char *bath, struct meet_named *out,
                          struct arena *arena)
{
  const struct chem_table *t = chem_table("bath_parts", arena);
  const char **parts = ARENA_ARRAY(arena, const char *, MEET_PARTS_MAX);

  BUG_IF(!parts);
  for (int row = 0; row < t->row_count; row++) {
    const char *part = chem_cell(t, row, "part");
    const struct chem_stock *stock = chem_find_stock(chem, part);

    if (strcmp(chem_cell(t, row, "bath"), bath) != 0)
      continue;
    BUG_IF(out->part_count == MEET_PARTS_MAX);
    parts[out->part_count++] = stock ? stock->substance->id : part;
  }
  out->parts = parts;
}

/* "bhf-5" is what our table calls bhf, under its own name. */
static struct meet_named bath_row(const struct meet_facts *facts, const struct chem_table *t,
                                  int row, struct arena *arena)
{
  const char *id = chem_cell(t, row, "id");
  const struct meet_named *family = meet_find_named(facts, chem_cell(t, row, "family"), false);
  struct meet_named n = {.id = id, .note = "", .kind = MEET_MIXTURE};
  const char **names = ARENA_ARRAY(arena, const char *, 1);

  BUG_IF(!names);
  if (family)
    n = *family;
  else
    parts_of_bath(facts->chem, id, &n, arena);
  names[0] = id;
  n.aliases = names;
  n.alias_count = 1;
  n.name = chem_cell(t, row, "name");
  n.variant = true;
  return n;
}

static void read_named(struct meet_facts *facts, struct arena *arena)
{
  const struct chem_table *t = chem_table("meet_things", arena),
                          *baths = chem_table("baths", arena);
  struct meet_named *all =
      ARENA_ARRAY(arena, struct meet_named, (size_t)(t->row_count + baths->row_count));

  BUG_IF(!all);
  facts->named = all;
  for (int row = 0; row < t->row_count; row++) {
    all[row] = named_row(t, row, arena);
    facts->named_count = row + 1;
  }
  for (int row = 0; row < baths->row_count; row++) {
    all[facts->named_count] = bath_row(facts, baths, row, arena);
    facts->named_count++;
  }
}

static void read_vessels(struct meet_facts *facts, struct arena *arena)
{
  const struct chem_table *t = chem_table("vessels", arena);
  struct meet_material *all = ARENA_ARRAY(arena, struct meet_material, (size_t)t->row_count);

  BUG_IF(!all);
  for (int row = 0; row < t->row_count; row++) {
    struct meet_material *m = &all[row];

    m->id = chem_cell(t, row, "id");
    m->name = chem_cell(t, row, "name");
    m->aliases = meet_words(chem_cell(t, row, "aliases"), ";", &m->alias_count, arena);
    m->most_K = chem_cell_si(t, row, "most", UNITS_TEMPERATURE);
    m->short_K = chem_cell_si(t, row, "short", UNITS_TEMPERATURE);
    m->of = chem_cell_origin(t, row);
  }
  facts->materials = all;
  facts->material_count = t->row_count;
}

static void read_stands(struct meet_facts *facts, struct arena *arena)
{
  static const char *const ratings[] = {"yes", "limited", "", "no"};
  const struct chem_table *t = chem_table("materials", arena);
  struct meet_stands *all = ARENA_ARRAY(arena, struct meet_stands, (size_t)t->row_count);

  BUG_IF(!all);
  for (int row = 0; row < t->row_count; row++) {
    struct meet_stands *s = &all[row];

    s->materials = meet_words(chem_cell(t, row, "materials"), ";", &s->material_count, arena);
    s->against = meet_selectors(facts, chem_cell(t, row, "against"), arena);
    s->rating = (enum meet_rating)word_of(ratings, 4, chem_cell(t, row, "rating"));
    s->most_K = chem_cell_si(t, row, "most", UNITS_TEMPERATURE);
    s->say = chem_cell(t, row, "say");
    s->of = chem_cell_origin(t, row);
  }
  facts->stands = all;
  facts->stands_count = t->row_count;
}

static void read_families(struct meet_facts *facts, struct arena *arena)
{
  const struct chem_table *t = chem_table("families", arena);
  struct meet_family *all = ARENA_ARRAY(arena, struct meet_family, (size_t)t->row_count);

  BUG_IF(!all);
  for (int row = 0; row < t->row_count; row++)
    all[row] = (struct meet_family){
        chem_cell(t, row, "scheme"), chem_cell(t, row, "id"), chem_cell(t, row, "name"),
        meet_selectors(facts, chem_cell(t, row, "members"), arena), chem_cell_origin(t, row)};
  facts->families = all;
  facts->family_count = t->row_count;
}

static void read_changes(struct meet_facts *facts, struct arena *arena)
{
  const struct chem_table *t = chem_table("changeovers", arena);
  struct meet_change *all = ARENA_ARRAY(arena, struct meet_change, (size_t)t->row_count);

  BUG_IF(!all);
  for (int row = 0; row < t->row_count; row++) {
    all[row].from = chem_cell(t, row, "from");
    all[row].to = chem_cell(t, row, "to");
    all[row].steps = meet_words(chem_cell(t, row, "steps"), "|", &all[row].step_count, arena);
    all[row].of = chem_cell_origin(t, row);
  }
  facts->changes = all;
  facts->change_count = t->row_count;
}

static void read_strengths(struct meet_facts *facts, struct arena *arena)
{
  const struct chem_table *t = chem_table("group_strengths", arena);
  struct meet_strength *all = ARENA_ARRAY(arena, struct meet_strength, (size_t)t->row_count);

  BUG_IF(!all);
  for (int row = 0; row < t->row_count; row++)
    all[row] =
        (struct meet_strength){chem_cell(t, row, "substance"), whole(chem_cell(t, row, "group")),
                               chem_cell_si(t, row, "above", UNITS_MASS_FRACTION)};
  facts->strengths = all;
  facts->strength_count = t->row_count;
}

static void read_carried(struct meet_facts *facts, struct arena *arena)
{
  const struct chem_table *t = chem_table("transport_classes", arena);
  struct meet_carried *all = ARENA_ARRAY(arena, struct meet_carried, (size_t)t->row_count);

  BUG_IF(!all);
  for (int row = 0; row < t->row_count; row++)
    all[row] = (struct meet_carried){meet_selectors(facts, chem_cell(t, row, "things"), arena),
                                     chem_cell(t, row, "class"), chem_cell(t, row, "subsidiary")};
  facts->carried = all;
  facts->carried_count = t->row_count;
}

const struct meet_facts *meet_read(const struct chem *chem, struct arena *arena)
{
  struct meet_facts *facts = ARENA_NEW(arena, struct meet_facts);

  BUG_IF(!facts);
  facts->chem = chem;
  read_groups(facts, arena);
  read_cells(facts, arena);
  read_sets(facts, arena);
  read_rules(facts, arena);
  read_named(facts, arena);
  read_vessels(facts, arena);
  read_stands(facts, arena);
  read_families(facts, arena);
  read_changes(facts, arena);
  read_strengths(facts, arena);
  read_carried(facts, arena);
  facts->transport = chem_table("transport", arena);
  return facts;
}

static bool is_called(const char *id, const char *name, const char *const *aliases, int count,
                      const char *text)
{
  if (strcasecmp(id, text) == 0 || strcasecmp(name, text) == 0)
    return true;
  for (int i = 0; i < count; i++)
    if (strcasecmp(aliases[i], text) == 0)
      return true;
  return false;
}

const struct meet_named *meet_find_named(const struct meet_facts *facts, const char *text,
                                         bool variant)
{
  for (int i = 0; i < facts->named_count; i++) {
    const struct meet_named *n = &facts->named[i];

    if (n->variant == variant &&
        is_called(variant ? n->aliases[0] : n->id, n->name, n->aliases, n->alias_count, text))
      return n;
  }
  return NULL;
}

const char *meet_material_id(const struct meet_facts *facts, const char *text)
{
  const struct meet_material *m = meet_find_material(facts, text);

  return m ? m->id : NULL;
}

const struct meet_material *meet_find_material(const struct meet_facts *facts, const char *text)
{
  for (int i = 0; i < facts->material_count; i++) {
    const struct meet_material *m = &facts->materials[i];

    if (is_called(m->id, m->name, m->aliases, m->alias_count, text))
      return m;
  }
  return NULL;
}
