#include "people/people_impl.h"

#include <sodium.h>
#include <string.h>
#include <strings.h>

/* Tables and the people file to persons. */

static unsigned hash_of(const char *id)
{
  unsigned h = 2166136261u; /* FNV-1a, capitals taken as small */

  for (; *id; id++) {
    unsigned char c = (unsigned char)*id;

    h = (h ^ (c >= 'A' && c <= 'Z' ? c + 32u : c)) * 16777619u;
  }
  return h;
}

int people_find(const struct people *people, const char *id)
{
  unsigned mask = (unsigned)people->index->count - 1;

  for (unsigned at = hash_of(id) & mask;; at = (at + 1) & mask) {
    int slot = people->index->slots[at];

    if (slot < 0)
      return -1;
    if (strcasecmp(people->list[slot].id, id) == 0)
      return slot;
  }
}

static void put(struct people_index *index, const char *id, int number)
{
  unsigned mask = (unsigned)index->count - 1, at = hash_of(id) & mask;

  while (index->slots[at] >= 0)
    at = (at + 1) & mask;
  index->slots[at] = number;
}

static struct people_index *new_index(int count, struct arena *arena)
{
  struct people_index *index = ARENA_NEW(arena, struct people_index);
  int room = 8;

  while (room < 2 * count + 2)
    room *= 2;
  BUG_IF(!index);
  index->count = room;
  index->slots = ARENA_ARRAY(arena, int, (size_t)room);
  BUG_IF(!index->slots);
  for (int i = 0; i < room; i++)
    index->slots[i] = -1;
  return index;
}

/* ---- the people file's own ---- */

static void take_inline(struct people_build *b)
{
  for (int i = 0; i < b->roster->person_count; i++) {
    const struct roster_person *said = &b->roster->people[i];
    struct people_row *row = people_new_row(b);
    struct people_person *person = &row->person;

    row->place = said->place;
    person->id = said->part.id;
    person->name = strcmp(said->part.name, said->part.id) == 0 ? NULL : said->part.name;
    person->group = said->group;
    person->where = people_where(b, row);
    person->status = said->gone ? PEOPLE_GONE : PEOPLE_ACTIVE;
    person->status_why = said->gone ? "status 'gone'" : NULL;
    if (said->last_use_day != ROSTER_NO_DAY)
      person->last_use = (struct people_day){
          .kind = PEOPLE_ON_DAY, .day = said->last_use_day, .where = person->where};
    for (int k = 0; k < b->roster->endorsement_count; k++)
      if (said->granted_day[k] != ROSTER_NO_DAY)
        row->granted[k] = (struct people_day){
            .kind = PEOPLE_ON_DAY, .day = said->granted_day[k], .where = person->where};
  }
}

static void check_demotions(struct people_build *b, const struct people *people)
{
  for (int i = 0; i < b->roster->demotion_count; i++)
    if (people_find(people, b->roster->demotions[i].who) < 0)
      complaints_add(b->complaints, b->roster->demotions[i].place, 0,
                     "demotion %s: nobody has the id '%.32s'; write it as the table does",
                     b->roster->demotions[i].part.id, b->roster->demotions[i].who);
}

/* One person under two ids is two for every rule, and nobody meant that. */
static void check_names(struct people_build *b, const struct people *people,
                        struct people_row *const *firsts)
{
  enum { COMPARED = 2000 }; /* each with each */

  for (int i = 0; i < people->count && i < COMPARED; i++)
    for (int k = 0; k < i && people->list[i].name; k++)
      if (people->list[k].name &&
          people_names(people->list[i].name, people->list[k].name) == PEOPLE_SAME_NAME) {
        people_remark(b, firsts[i],
                      "%.32s has the name of %.32s (%s); if they are one person, keep one id",
                      people->list[i].id, people->list[k].id, people->list[k].where);
        break;
      }
}

/* ---- rows to persons ---- */

/* Chains rows of one id behind its first, and puts the firsts in order. */
static int chain(struct people_build *b, struct people_row **firsts)
{
  struct people_index *index = new_index(b->rows.count, b->arena);
  unsigned mask = (unsigned)index->count - 1;
  int count = 0;

  for (int i = 0; i < b->rows.count; i++) {
    struct people_row *row = &b->rows.list[i];
    unsigned at = hash_of(row->person.id) & mask;

    while (index->slots[at] >= 0 &&
           strcasecmp(firsts[index->slots[at]]->person.id, row->person.id) != 0)
      at = (at + 1) & mask;
    if (index->slots[at] < 0) {
      index->slots[at] = count;
      firsts[count++] = row;
      continue;
    }
    struct people_row *last = firsts[index->slots[at]];

    while (last->next)
      last = last->next;
    last->next = row;
  }
  return count;
}

static void hash_tables(const struct roster *roster, const struct people_table *tables,
                        char out[65])
{
  unsigned char bytes[crypto_hash_sha256_BYTES];
  crypto_hash_sha256_state state;

  crypto_hash_sha256_init(&state);
  for (int i = 0; i < roster->table_count; i++)
    if (tables[i].bytes)
      crypto_hash_sha256_update(&state, tables[i].bytes, tables[i].size);
  crypto_hash_sha256_final(&state, bytes);
  sodium_bin2hex(out, 65, bytes, sizeof bytes);
}

struct people *people_read(const struct roster *roster, const struct people_table *tables,
                           int today_day, struct arena *arena, struct complaints *complaints)
{
  struct people_build b = {
      .roster = roster, .arena = arena, .complaints = complaints, .today_day = today_day};
  struct people *out = ARENA_NEW(arena, struct people);

  BUG_IF(!out);
  for (int i = 0; i < roster->table_count; i++)
    people_take_table(&b, i, &tables[i]);
  take_inline(&b);
  if (roster->table_count > 0)
    hash_tables(roster, tables, out->tables_sha256);

  struct people_row **firsts = ARENA_ARRAY(arena, struct people_row *, (size_t)b.rows.count + 1);
  struct people_person *list = ARENA_ARRAY(arena, struct people_person, (size_t)b.rows.count + 1);

  BUG_IF(!firsts || !list);
  out->roster = roster;
  out->unread_count = b.unread_count;
  out->count = chain(&b, firsts);
  out->list = list;
  out->index = new_index(out->count, arena);
  for (int i = 0; i < out->count; i++) {
    list[i] = people_merged(&b, firsts[i]);
    put(out->index, list[i].id, i);
  }
  check_names(&b, out, firsts);
  check_demotions(&b, out);
  return out;
}
