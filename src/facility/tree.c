#include "facility/tree_impl.h"

#include <string.h>

struct tree *tree_find(const struct tree *map, const char *key)
{
  for (struct tree *child = map->first; child; child = child->next)
    if (child->key && strcmp(child->key, key) == 0)
      return child;
  return NULL;
}

void tree_append(struct tree *parent, struct tree *child)
{
  child->next = NULL;
  if (parent->last)
    parent->last->next = child;
  else
    parent->first = child;
  parent->last = child;
  parent->count++;
}

void tree_remove(struct tree *parent, const struct tree *child)
{
  struct tree *before = NULL;

  for (struct tree *at = parent->first; at && at != child; at = at->next)
    before = at;
  if (before)
    before->next = child->next;
  else
    parent->first = child->next;
  if (parent->last == child)
    parent->last = before;
  parent->count--;
}

const char *tree_shown(struct arena *arena, const char *text)
{
  enum { MOST = 48 };
  size_t length = strlen(text), kept = length > MOST ? MOST : length;

  while (kept < length && kept > 0 && ((unsigned char)text[kept] & 0xC0) == 0x80)
    kept--; /* never cut inside a character */

  char *copy = arena_push(arena, kept + 4, 1);

  BUG_IF(!copy);
  memcpy(copy, text, kept);
  for (size_t i = 0; i < kept; i++)
    if ((unsigned char)copy[i] < 0x20 || copy[i] == 0x7F)
      copy[i] = ' ';
  if (kept < length)
    memcpy(copy + kept, "...", 4);
  return copy;
}

struct facility_text tree_terminated(const struct facility_text *text, struct arena *arena)
{
  char *copy = arena_push(arena, text->size + 1, 1);

  BUG_IF(!copy);
  memcpy(copy, text->bytes, text->size);
  return (struct facility_text){text->file, copy, text->size};
}
