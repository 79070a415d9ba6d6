#include "feed/calendar_impl.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* ---- places ---- */

static const char word[] = "UID:";

static const char *next_line(const char *at)
{
  const char *end = strchr(at, '\n');

  return end ? end + 1 : NULL;
}

static int compare_bytes(const char *a, size_t a_size, const char *b, size_t b_size)
{
  int order = memcmp(a, b, a_size < b_size ? a_size : b_size);

  return order ? order : (a_size > b_size) - (a_size < b_size);
}

static int by_uid(const void *a, const void *b)
{
  const struct calendar_place *x = a, *y = b;
  int order = compare_bytes(x->uid, x->size, y->uid, y->size);

  return order ? order : x->line - y->line;
}

bool calendar_find_places(const char *text, struct arena *arena, struct calendar_places *out)
{
  int line = 1, count = 0;

  for (const char *at = text; at; at = next_line(at))
    count += strncasecmp(at, word, sizeof word - 1) == 0;
  *out = (struct calendar_places){.list =
                                      ARENA_ARRAY(arena, struct calendar_place, (size_t)count + 1)};
  if (!out->list)
    return false;
  for (const char *at = text; at; at = next_line(at), line++)
    if (strncasecmp(at, word, sizeof word - 1) == 0) {
      const char *uid = at + sizeof word - 1;

      out->list[out->count++] = (struct calendar_place){uid, strcspn(uid, "\r\n"), line};
    }
  qsort(out->list, (size_t)out->count, sizeof *out->list, by_uid);
  return true;
}

int calendar_line(const struct calendar_places *places, const char *uid)
{
  int low = 0, high = places->count;
  size_t size = strlen(uid);

  while (low < high) {
    int middle = (low + high) / 2;
    const struct calendar_place *p = &places->list[middle];

    if (compare_bytes(p->uid, p->size, uid, size) < 0)
      low = middle + 1;
    else
      high = middle;
  }
  if (low == places->count ||
      compare_bytes(places->list[low].uid, places->list[low].size, uid, size) != 0)
    return 0;
  return places->list[low].line;
}

/* ---- words ---- */

static const char *kept(struct arena *arena, const char *text)
{
  const char *copy = text ? arena_strdup(arena, text) : "";

  return copy ? copy : "";
}

const char *calendar_who(icalcomponent *event, struct arena *arena)
{
  static const char mail[] = "mailto:";
  icalproperty *p = icalcomponent_get_first_property(event, ICAL_ATTENDEE_PROPERTY);
  const char *address;

  if (p) {
    address = icalproperty_get_attendee(p);
  } else {
    p = icalcomponent_get_first_property(event, ICAL_ORGANIZER_PROPERTY);
    address = p ? icalproperty_get_organizer(p) : NULL;
  }
  icalparameter *name = p ? icalproperty_get_first_parameter(p, ICAL_CN_PARAMETER) : NULL;

  if (name && icalparameter_get_cn(name) && *icalparameter_get_cn(name))
    return kept(arena, icalparameter_get_cn(name));
  if (address && strncasecmp(address, mail, sizeof mail - 1) == 0)
    address += sizeof mail - 1;
  return kept(arena, address);
}

const char *calendar_category(icalcomponent *event, struct arena *arena)
{
  icalproperty *p = icalcomponent_get_first_property(event, ICAL_CATEGORIES_PROPERTY);
  const char *list = p ? icalproperty_get_categories(p) : NULL;

  if (!list)
    return "";

  const char *copy = arena_printf(arena, "%.*s", (int)strcspn(list, ","), list);

  return copy ? copy : "";
}
