/*
 * Answers questions about local time, a line each: what compare.py asks.
 *   Z NAME BYTES...   (hex) the zone that the following lines are about
 *   T MS              local time and offset at a moment
 *   L Y M D h m s     the moments that a local time names
 */
#include "base/when.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LINE = 1 << 20 };

static int hex(char c)
{
  return c <= '9' ? c - '0' : c - 'a' + 10;
}

static const struct when_zone *zone_of(char *line, struct arena *arena)
{
  char *name = line + 2, *bytes = strchr(name, ' ');
  const struct when_zone *zone = NULL;
  struct err err = {0};
  size_t size;

  if (!bytes)
    return NULL;
  *bytes++ = '\0';
  size = strspn(bytes, "0123456789abcdef") / 2;
  for (size_t i = 0; i < size; i++)
    bytes[i] = (char)(hex(bytes[2 * i]) << 4 | hex(bytes[2 * i + 1]));
  if (when_zone_read(name, bytes, size, arena, &zone, &err) != ERR_OK)
    printf("refused: %s\n", err.text);
  return zone;
}

static void say_time(const struct when_zone *zone, const char *text)
{
  int offset_s;
  struct when_civil c = when_civil(zone, strtoll(text, NULL, 10), &offset_s);

  printf("%d %d %d %d %d %d %d %d\n", c.year, c.month, c.day, c.hour, c.minute, c.second, offset_s,
         when_weekday(&c));
}

static void say_moments(const struct when_zone *zone, char *text)
{
  struct when_civil c = {0};
  int *parts[] = {&c.year, &c.month, &c.day, &c.hour, &c.minute, &c.second};
  int64_t first = 0, second = 0;

  for (size_t i = 0; i < 6; i++)
    *parts[i] = (int)strtol(text, &text, 10);

  enum when_fold fold = when_of(zone, &c, &first, &second);

  if (fold == WHEN_NEVER)
    printf("never\n");
  else if (fold == WHEN_ONCE)
    printf("once %lld\n", (long long)first);
  else
    printf("twice %lld %lld\n", (long long)first, (long long)second);
}

int main(void)
{
  struct arena arena;
  const struct when_zone *zone = NULL;
  char *line = malloc(LINE);

  if (!line)
    return 3;
  arena_init(&arena, 256 << 20);
  while (fgets(line, LINE, stdin)) {
    if (line[0] == 'Z')
      zone = zone_of(line, &arena);
    else if (zone && line[0] == 'T')
      say_time(zone, line + 1);
    else if (zone && line[0] == 'L')
      say_moments(zone, line + 1);
  }
  arena_release(&arena);
  free(line);
  return 0;
}
