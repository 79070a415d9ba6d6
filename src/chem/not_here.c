#include "chem/chem.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

/*
 * What the people of a suite wrote under `not here:`, as far as it can be understood.  A word that is
 * not understood is handed on as such: passing over it in silence would read as leave.
 */

enum { WORD_MOST = 80 };

struct asked {
  const struct chem *chem;
  const struct chem_table *table;
  const struct chem_substance *const *substances;
  int count;
};

/* ---- a row of the table ---- */

/* The next of "a;b;c" (or whatever stands between), its length; moves past it. */
static const char *next_item(const char **list, const char *between, size_t *length)
{
  const char *at = *list + strspn(*list, between);

  *length = strcspn(at, between);
  *list = at + *length;
  return *length > 0 ? at : NULL;
}

static bool is_item(const char *item, size_t length, const char *text)
{
  return strlen(text) == length && strncasecmp(item, text, length) == 0;
}

static bool in_list(const char *list, const char *between, const char *text)
{
  size_t length;

  for (const char *item; (item = next_item(&list, between, &length)) != NULL;)
    if (is_item(item, length, text))
      return true;
  return false;
}

static bool in_groups(const char *list, const struct chem_substance *s)
{
  size_t length;

  for (const char *item; (item = next_item(&list, ";", &length)) != NULL;)
    for (int i = 0; i < s->group_count; i++)
      if (strtol(item, NULL, 10) == s->groups[i])
        return true;
  return false;
}

static bool has_hazard(const char *list, const struct chem_substance *s)
{
  for (int i = 0; i < s->hazard_count; i++)
    if (in_list(list, " ", s->hazards[i]))
      return true;
  return false;
}

static const struct chem_substance *first_of(const struct asked *a, const char *id, size_t length)
{
  for (int i = 0; i < a->count; i++)
    if (is_item(id, length, a->substances[i]->id))
      return a->substances[i];
  return NULL;
}

/* "h2so4+h2o2": all of them are to be there. */
static const struct chem_substance *all_together(const struct asked *a, const char *list)
{
  const struct chem_substance *found = NULL;
  size_t length;

  for (const char *item; (item = next_item(&list, "+", &length)) != NULL;) {
    found = first_of(a, item, length);
    if (!found)
      return NULL;
  }
  return found;
}

static const struct chem_substance *named_by_row(const struct asked *a, int row)
{
  for (int i = 0; i < a->count; i++) {
    const struct chem_substance *s = a->substances[i];

    if (in_groups(chem_cell(a->table, row, "groups"), s) ||
        in_list(chem_cell(a->table, row, "substances"), ";", s->id) ||
        has_hazard(chem_cell(a->table, row, "hazards"), s))
      return s;
  }
  return all_together(a, chem_cell(a->table, row, "together"));
}

static int row_of(const struct asked *a, const char *word)
{
  for (int i = 0; i < a->table->row_count; i++)
    if (in_list(chem_cell(a->table, i, "words"), ";", word))
      return i;
  return -1;
}

/* ---- a word ---- */

/* Of a vessel's material alone: who does not ask about vessels reads it themselves. */
static bool is_of_vessels(const struct asked *a, int row)
{
  static const char *const others[] = {"groups", "substances", "hazards", "together"};

  for (size_t i = 0; i < sizeof others / sizeof *others; i++)
    if (*chem_cell(a->table, row, others[i]))
      return false;
  return *chem_cell(a->table, row, "materials");
}

/* The substance that a word names, or NULL; whether the word is understood at all. */
static const struct chem_substance *named_by(const struct asked *a, const char *word,
                                             struct chem_origin *of, bool *understood)
{
  const struct chem_stock *stock = chem_find_stock(a->chem, word);
  const struct chem_substance *s = stock ? stock->substance : chem_find(a->chem, word);
  int row = row_of(a, word);

  *understood = (row >= 0 && !is_of_vessels(a, row)) || s;
  if (row >= 0) {
    *of = chem_cell_origin(a->table, row);
    return named_by_row(a, row);
  }
  *of = (struct chem_origin){CHEM_SUITE, "", "the suite's file names it", ""};
  return s ? first_of(a, s->id, strlen(s->id)) : NULL;
}

/* "any acid", "no acids", "all solvents" are the plain word. */
static void trim(char *word)
{
  static const char *const before[] = {"any ", "all ", "no ", "other ", "the "};
  size_t length = strlen(word), blanks = strspn(word, " ");

  memmove(word, word + blanks, length - blanks + 1);
  for (length = strlen(word); length > 0 && strchr(" .", word[length - 1]); length--)
    word[length - 1] = '\0';
  for (size_t i = 0; i < sizeof before / sizeof *before; i++)
    if (strncasecmp(word, before[i], strlen(before[i])) == 0)
      memmove(word, word + strlen(before[i]), strlen(word + strlen(before[i])) + 1);
}

/* One word of "acids, bases and HF"; the rest is left in `list`.  false: there is none. */
static bool next_word(const char **list, char *word)
{
  static const char *const between[] = {",", ";", "/", " and ", " or ", "&"};
  const char *at = *list, *end = at + strlen(at), *after = end;

  if (!*at)
    return false;
  for (size_t i = 0; i < sizeof between / sizeof *between; i++) {
    const char *found = strstr(at, between[i]);

    if (found && found < end) {
      end = found;
      after = found + strlen(between[i]);
    }
  }
  if (end - at >= WORD_MOST)
    end = at + WORD_MOST - 1; /* of no word of ours: it is not understood */
  memcpy(word, at, (size_t)(end - at));
  word[end - at] = '\0';
  trim(word);
  *list = after;
  return true;
}

/* One entry of the list; the first of its words that names one asked of is its hit. */
static bool read_entry(const struct asked *a, const char *entry, struct chem_not_here_hit *hit)
{
  char word[WORD_MOST];
  bool all = true, understood;

  *hit = (struct chem_not_here_hit){.word = entry};
  understood = true;
  for (const char *at = entry; next_word(&at, word);) {
    struct chem_origin of;
    const struct chem_substance *s = *word ? named_by(a, word, &of, &understood) : NULL;

    all = all && understood;
    if (s && !hit->substance) {
      hit->substance = s;
      hit->of = of;
    }
  }
  return all;
}

struct chem_not_here chem_not_here(const struct chem *chem, const struct facility_station *station,
                                   const struct chem_substance *const *substances, int count,
                                   struct arena *arena)
{
  const struct facility_card *card = &station->card;
  const struct asked asked = {chem, chem_table("not_here_words", arena), substances, count};
  struct chem_not_here found = {0};
  struct chem_not_here_hit *hits =
      ARENA_ARRAY(arena, struct chem_not_here_hit, (size_t)card->not_here_count + 1);
  const char **unread = ARENA_ARRAY(arena, const char *, (size_t)card->not_here_count + 1);

  BUG_IF(!hits || !unread);
  for (int i = 0; i < card->not_here_count; i++) {
    struct chem_not_here_hit hit;

    if (!read_entry(&asked, card->not_here[i], &hit))
      unread[found.unread_count++] = card->not_here[i];
    if (hit.substance)
      hits[found.hit_count++] = hit;
  }
  found.hits = hits;
  found.unread = unread;
  return found;
}

/* ---- vessels ---- */

bool chem_not_here_of_vessels(const char *entry, struct arena *arena)
{
  const struct asked asked = {.table = chem_table("not_here_words", arena)};
  char word[WORD_MOST];

  for (const char *at = entry; next_word(&at, word);)
    if (row_of(&asked, word) < 0 || !is_of_vessels(&asked, row_of(&asked, word)))
      return false;
  return true;
}

const char *chem_not_here_material(const struct facility_station *station, const char *material,
                                   struct arena *arena)
{
  const struct asked asked = {.table = chem_table("not_here_words", arena)};
  char word[WORD_MOST];

  for (int i = 0; i < station->card.not_here_count; i++)
    for (const char *at = station->card.not_here[i]; next_word(&at, word);) {
      int row = row_of(&asked, word);

      if (row >= 0 && in_list(chem_cell(asked.table, row, "materials"), ";", material))
        return station->card.not_here[i];
    }
  return NULL;
}

/* ---- in words ---- */

const char *chem_not_here_words(const struct chem_not_here *found,
                                const struct facility_station *station, struct arena *arena)
{
  const char *text = "";

  for (int i = 0; i < found->hit_count; i++) {
    const struct chem_not_here_hit *hit = &found->hits[i];

    text = i == 0 ? arena_printf(arena, "not here: the suite's file lists for %s: %s (%s)",
                                 station->part.id, hit->word, hit->substance->name)
                  : arena_printf(arena, "%s; %s (%s)", text, hit->word, hit->substance->name);
    BUG_IF(!text);
  }
  return text;
}

const char *chem_not_here_unread_words(const struct chem_not_here *found,
                                       const struct facility_station *station, struct arena *arena)
{
  const char *text = "";

  for (int i = 0; i < found->unread_count; i++) {
    text = i == 0 ? arena_printf(arena, "the suite's file also says of %s: not here: %s",
                                 station->part.id, found->unread[i])
                  : arena_printf(arena, "%s; %s", text, found->unread[i]);
    BUG_IF(!text);
  }
  return *text ? arena_printf(arena, "%s: not understood: read it yourself", text) : text;
}
