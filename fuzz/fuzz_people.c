#include "people/people.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool promise)
{
  if (!promise)
    abort();
}

static const struct facility *facility(void)
{
  static const char text[] = "inward: 1 suite\n"
                             "rooms: {Gown: {}}\n"
                             "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n";
  static struct arena kept;
  static struct facility *made;
  struct facility_text suite = {"suite.yaml", text, sizeof text - 1};
  struct complaints complaints;

  if (made)
    return made;
  arena_init(&kept, 64 << 20);
  complaints_init(&complaints, &kept);
  made = facility_read(&suite, NULL, 0, &complaints);
  must(made != NULL);
  return made;
}

/* Whoever is known can be found, and no blank or unread day ever counts. */
static void is_strict(const struct people *people, int day, struct arena *arena)
{
  for (int i = 0; i < people->count && i < 50; i++) {
    must(people_find(people, people->list[i].id) == i);
    for (int e = 0; e < people->roster->endorsement_count; e++) {
      struct people_verdict v = people_endorsed(people, i, e, day, arena);
      const struct people_day *grant = &people->list[i].granted[e];

      must(v.why != NULL);
      must(v.standing != PEOPLE_VALID || (grant->kind == PEOPLE_ON_DAY && grant->day <= day));
      must(v.standing != PEOPLE_VALID || v.until_day == ROSTER_NO_DAY || v.until_day >= day);
    }
  }
}

/* A people file; behind the first line of "----", every table it names. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  const struct facility *suite = facility();
  char *bytes = malloc(size + 1);
  struct complaints complaints;
  struct arena arena;

  must(bytes != NULL);
  if (size > 0)
    memcpy(bytes, data, size);
  bytes[size] = '\0';
  arena_init(&arena, 256 << 20);
  complaints_init(&complaints, &arena);

  char *cut = strstr(bytes, "\n----\n");
  size_t yaml = cut ? (size_t)(cut - bytes) + 1 : size;
  struct facility_text text = {"people.yaml", bytes, yaml};
  struct roster *roster = roster_read(suite, &text, &complaints);

  must(roster ? complaints.count == 0 : complaints.count > 0);
  if (roster && roster->table_count <= 4) {
    struct people_table tables[4] = {0};
    int today = roster_day("2026-11-30");

    for (int i = 0; i < roster->table_count; i++)
      tables[i] = (struct people_table){
          .file = "list.csv", .bytes = cut ? cut + 6 : NULL, .size = cut ? size - yaml - 5 : 0};
    is_strict(people_read(roster, tables, today, &arena, &complaints), today, &arena);
  }
  roster_free(roster);
  arena_release(&arena);
  free(bytes);
  return 0;
}
