#include "facility/tree_impl.h"

#include <stdint.h>
#include <string.h>

struct names_entry {
  const char *text; /* NULL: free */
  int value;
};

/* FNV-1a, 32 bits. */
static uint32_t hash(const char *text)
{
  uint32_t h = 2166136261u;

  for (; *text; text++)
    h = (h ^ (unsigned char)*text) * 16777619u;
  return h;
}

static struct names_entry *slot(const struct names *names, const char *text)
{
  uint32_t mask = (uint32_t)names->room - 1;
  uint32_t i = hash(text) & mask;

  while (names->slots[i].text && strcmp(names->slots[i].text, text) != 0)
    i = (i + 1) & mask;
  return &names->slots[i];
}

void names_init(struct names *names, struct arena *arena)
{
  *names = (struct names){.arena = arena};
}

int names_find(const struct names *names, const char *text)
{
  if (names->room == 0)
    return -1;

  const struct names_entry *entry = slot(names, text);

  return entry->text ? entry->value : -1;
}

static void grow(struct names *names)
{
  struct names old = *names;

  names->room = old.room ? 2 * old.room : 16;
  names->slots = ARENA_ARRAY(names->arena, struct names_entry, (size_t)names->room);
  BUG_IF(!names->slots);
  for (int i = 0; i < old.room; i++)
    if (old.slots[i].text)
      *slot(names, old.slots[i].text) = old.slots[i];
}

bool names_add(struct names *names, const char *text, int value)
{
  if (2 * names->used >= names->room)
    grow(names);

  struct names_entry *entry = slot(names, text);

  if (entry->text)
    return false;
  *entry = (struct names_entry){text, value};
  names->used++;
  return true;
}
