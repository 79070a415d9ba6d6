#include "base/when_impl.h"

#include <string.h>

/* Zones: TZif files (RFC 8536, whose limits are named here) and their footer, a POSIX TZ string. */

enum {
  DAY_S = 86400,
  LEAST_S = -89999, /* -24:59:59 to +25:59:59: section 3.2, "utoff" */
  MOST_S = 93599,
  MOST_BYTES = 1 << 20
};

const struct when_zone *when_utc(void)
{
  static const struct when_zone utc = {.name = "UTC"};

  return &utc;
}

const char *when_zone_name(const struct when_zone *zone)
{
  return zone->name;
}

bool when_zone_name_fits(const char *name)
{
  static const char allowed[] =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_+-/";
  size_t length = strlen(name);

  return length > 0 && length < 64 && strspn(name, allowed) == length && name[0] != '/' &&
         name[length - 1] != '/';
}

/* ---- the rule for years behind the table ---- */

static int64_t turn_day(const struct when_turn *turn, int64_t year)
{
  int64_t first = when_days(year, 1, 1);

  if (turn->kind == WHEN_YEAR_DAY)
    return first + turn->day;
  if (turn->kind == WHEN_JULIAN) /* counted as if no year had a 29th of February */
    return first + turn->day - 1 + (turn->day >= 60 && when_days(year, 3, 1) - first == 60);

  int64_t of_month = when_days(year, turn->month, 1);
  int64_t next =
      turn->month == 12 ? when_days(year + 1, 1, 1) : when_days(year, turn->month + 1, 1);
  int64_t weekday = of_month + 4 - 7 * when_floor_div(of_month + 4, 7); /* 0: Sunday */
  int64_t day = of_month + (turn->weekday - weekday + 7) % 7 + 7 * (int64_t)(turn->week - 1);

  return day < next ? day : day - 7;
}

/* Of the changes of last year, this and the next, the newest that has happened says what holds.
 * Where both fall together the year is all one, as with "all year summer time". */
static int rule_offset_s(const struct when_zone *zone, int64_t t_s)
{
  int month, day, offset_s = zone->standard_s;
  int64_t newest = INT64_MIN, year;

  if (!zone->has_two)
    return zone->standard_s;
  year = when_year_of_days(when_floor_div(t_s, DAY_S), &month, &day);
  for (int64_t y = year - 1; y <= year + 1; y++) {
    int64_t back =
        turn_day(&zone->to_standard, y) * DAY_S + zone->to_standard.second_s - zone->other_s;
    int64_t there =
        turn_day(&zone->to_other, y) * DAY_S + zone->to_other.second_s - zone->standard_s;

    if (back <= t_s && back > newest) {
      newest = back;
      offset_s = zone->standard_s;
    }
    if (there <= t_s && there >= newest) {
      newest = there;
      offset_s = zone->other_s;
    }
  }
  return offset_s;
}

/* ---- offsets and moments ---- */

/* How many changes have happened by then. */
static int changes_by(const struct when_zone *zone, int64_t t_s)
{
  int low = 0, high = zone->count;

  while (low < high) {
    int middle = low + (high - low) / 2;

    if (zone->at_s[middle] <= t_s)
      low = middle + 1;
    else
      high = middle;
  }
  return low;
}

int when_offset_s(const struct when_zone *zone, int64_t t_s)
{
  int by = changes_by(zone, t_s);

  if (by == zone->count && zone->has_rule)
    return rule_offset_s(zone, t_s);
  return by == 0 ? zone->before_s : zone->offset_s[by - 1];
}

/* A moment shows this local time when its own offset is the one that was taken off. */
static int add_moment(const struct when_zone *zone, int64_t local_s, int offset_s,
                      int64_t found_s[2], int count)
{
  int64_t t_s = local_s - offset_s;
  int place = 0;

  if (when_offset_s(zone, t_s) != offset_s)
    return count;
  while (place < count && found_s[place] < t_s)
    place++;
  if (place == 2 || (place < count && found_s[place] == t_s))
    return count;
  if (place == 0)
    found_s[1] = found_s[0];
  found_s[place] = t_s;
  return count < 2 ? count + 1 : 2;
}

int when_moments(const struct when_zone *zone, int64_t local_s, int64_t found_s[2])
{
  int from = changes_by(zone, local_s - MOST_S), count = 0;

  found_s[0] = found_s[1] = 0;
  count = add_moment(zone, local_s, from == 0 ? zone->before_s : zone->offset_s[from - 1], found_s,
                     count);
  for (int i = from; i < zone->count && zone->at_s[i] <= local_s - LEAST_S; i++)
    count = add_moment(zone, local_s, zone->offset_s[i], found_s, count);
  if (zone->has_rule)
    count = add_moment(zone, local_s, zone->standard_s, found_s, count);
  if (zone->has_two)
    count = add_moment(zone, local_s, zone->other_s, found_s, count);
  return count;
}

/* ---- the footer: "CET-1CEST,M3.5.0,M10.5.0/3" ---- */

static const char *read_number(const char *at, int least, int most, int *out)
{
  int value = 0, count = 0;

  for (; *at >= '0' && *at <= '9' && count < 4; at++, count++)
    value = value * 10 + (*at - '0');
  *out = value;
  return count > 0 && value >= least && value <= most ? at : NULL;
}

static const char *past_name(const char *at)
{
  const char *from = at;

  if (*at == '<') {
    at += strcspn(at, ">");
    return *at == '>' && at - from > 3 ? at + 1 : NULL;
  }
  while ((*at >= 'A' && *at <= 'Z') || (*at >= 'a' && *at <= 'z'))
    at++;
  return at - from >= 3 ? at : NULL;
}

/* [+-]hh[:mm[:ss]] */
static const char *read_clock(const char *at, int most_hours, int *out_s)
{
  int sign = *at == '-' ? -1 : 1, hours, minutes = 0, seconds = 0;

  at += *at == '-' || *at == '+';
  at = read_number(at, 0, most_hours, &hours);
  if (at && *at == ':')
    at = read_number(at + 1, 0, 59, &minutes);
  if (at && *at == ':')
    at = read_number(at + 1, 0, 59, &seconds);
  *out_s = sign * (hours * 3600 + minutes * 60 + seconds);
  return at;
}

static const char *read_month_week(const char *at, struct when_turn *turn)
{
  turn->kind = WHEN_MONTH_WEEK;
  at = read_number(at, 1, 12, &turn->month);
  if (!at || *at != '.')
    return NULL;
  at = read_number(at + 1, 1, 5, &turn->week);
  if (!at || *at != '.')
    return NULL;
  return read_number(at + 1, 0, 6, &turn->weekday);
}

/* ",M3.5.0/2": without the time, at two in the morning. */
static const char *read_turn(const char *at, struct when_turn *turn)
{
  turn->second_s = 2 * 3600;
  if (*at++ != ',')
    return NULL;
  if (*at == 'M')
    at = read_month_week(at + 1, turn);
  else if (*at == 'J') {
    turn->kind = WHEN_JULIAN;
    at = read_number(at + 1, 1, 365, &turn->day);
  } else {
    turn->kind = WHEN_YEAR_DAY;
    at = read_number(at, 0, 365, &turn->day);
  }
  /* A week of hours before or after: section 3.3.1. */
  return at && *at == '/' ? read_clock(at + 1, 167, &turn->second_s) : at;
}

/* POSIX counts west of Greenwich as positive. */
static const char *read_west(const char *at, int *offset_out_s)
{
  at = read_clock(at, 24, offset_out_s);
  *offset_out_s = -*offset_out_s;
  return at;
}

static bool read_rule(const char *at, struct when_zone *zone)
{
  at = past_name(at);
  if (at)
    at = read_west(at, &zone->standard_s);
  if (!at)
    return false;
  zone->has_rule = true;
  if (*at == '\0')
    return true;
  at = past_name(at);
  if (!at)
    return false;
  zone->has_two = true;
  zone->other_s = zone->standard_s + 3600;
  if (*at != ',')
    at = read_west(at, &zone->other_s);
  if (at)
    at = read_turn(at, &zone->to_other);
  if (at)
    at = read_turn(at, &zone->to_standard);
  return at && *at == '\0';
}

/* ---- the file ---- */

struct bytes {
  const unsigned char *at, *end;
};

struct block {
  int version;
  size_t utc, standard, leap, changes, types, letters; /* counts, in the order of the header */
  size_t width;                                        /* bytes of a time: 4 or 8 */
};

static uint64_t big_endian(const unsigned char *at, size_t width)
{
  uint64_t value = 0;

  for (size_t i = 0; i < width; i++)
    value = value << 8 | at[i];
  return value;
}

static int64_t signed_time(const unsigned char *at, size_t width)
{
  uint64_t value = big_endian(at, width);

  if (width == 4)
    return (int64_t)value - ((value & 0x80000000U) ? (int64_t)1 << 32 : 0);
  return value > INT64_MAX ? -(int64_t)(UINT64_MAX - value) - 1 : (int64_t)value;
}

enum { HEADER = 44 };

static bool read_header(struct bytes *b, size_t width, struct block *out)
{
  size_t *counts[] = {&out->utc,     &out->standard, &out->leap,
                      &out->changes, &out->types,    &out->letters};

  if (b->end - b->at < HEADER || memcmp(b->at, "TZif", 4) != 0)
    return false;
  out->version = b->at[4];
  out->width = width;
  for (size_t i = 0; i < 6; i++) {
    *counts[i] = (size_t)big_endian(b->at + 20 + 4 * i, 4);
    if (*counts[i] > MOST_BYTES)
      return false;
  }
  b->at += HEADER;
  return true;
}

static size_t block_size(const struct block *k)
{
  return k->changes * (k->width + 1) + k->types * 6 + k->letters + k->leap * (k->width + 4) +
         k->standard + k->utc;
}

static bool read_offset_of(const struct bytes *types, const struct block *k, size_t type,
                           int *out_s)
{
  if (type >= k->types)
    return false;

  int64_t offset_s = signed_time(types->at + 6 * type, 4);

  *out_s = (int)offset_s;
  return offset_s >= LEAST_S && offset_s <= MOST_S;
}

/* Times, the type from each on, and the types: section 3.2. */
static bool read_changes(const struct bytes *b, const struct block *k, struct arena *arena,
                         struct when_zone *zone)
{
  const unsigned char *type = b->at + k->changes * k->width;
  struct bytes types = {type + k->changes, b->end};
  int64_t *at_s = ARENA_ARRAY(arena, int64_t, k->changes + 1);
  int *offset_s = ARENA_ARRAY(arena, int, k->changes + 1);

  if (!at_s || !offset_s || !read_offset_of(&types, k, 0, &zone->before_s))
    return false;
  for (size_t i = 0; i < k->changes; i++) {
    at_s[i] = signed_time(b->at + i * k->width, k->width);
    if ((i > 0 && at_s[i] <= at_s[i - 1]) || !read_offset_of(&types, k, type[i], &offset_s[i]))
      return false;
  }
  zone->count = (int)k->changes;
  zone->at_s = at_s;
  zone->offset_s = offset_s;
  return true;
}

/* A line between two line breaks; an empty one says nothing of later years. */
static bool read_footer(struct bytes b, struct when_zone *zone)
{
  char text[128];
  const unsigned char *end =
      b.end - b.at > 1 ? memchr(b.at + 1, '\n', (size_t)(b.end - b.at - 1)) : NULL;

  if (!end || b.at[0] != '\n' || end - b.at > (ptrdiff_t)sizeof text)
    return false;
  memcpy(text, b.at + 1, (size_t)(end - b.at - 1));
  text[end - b.at - 1] = '\0';
  return text[0] == '\0' || (strlen(text) == (size_t)(end - b.at - 1) && read_rule(text, zone));
}

static const char *read_file(struct bytes b, struct arena *arena, struct when_zone *zone)
{
  static const char damaged[] = "the file is no zone (TZif, RFC 8536), or damaged";
  struct block block;

  if (!read_header(&b, 4, &block) || block_size(&block) > (size_t)(b.end - b.at))
    return damaged;
  if (block.version >= '2') { /* the old block stands in front for old readers */
    b.at += block_size(&block);
    if (!read_header(&b, 8, &block) || block_size(&block) > (size_t)(b.end - b.at))
      return damaged;
  }
  if (block.leap > 0)
    return "the file counts leap seconds; take the zone of the same name that does not";
  if (!read_changes(&b, &block, arena, zone))
    return damaged;
  b.at += block_size(&block);
  if (block.width == 8 && !read_footer(b, zone))
    return damaged;
  return NULL;
}

enum err_code when_zone_read(const char *name, const void *bytes, size_t size, struct arena *arena,
                             const struct when_zone **zone_out, struct err *err)
{
  struct when_zone *zone = ARENA_NEW(arena, struct when_zone);
  struct bytes b = {bytes, (const unsigned char *)bytes + size};

  if (!zone || size > MOST_BYTES)
    return err_set(err, ERR_INPUT, "zone %.64s: the file is larger than any zone", name);

  const char *what = read_file(b, arena, zone);

  if (what)
    return err_set(err, ERR_INPUT, "zone %.64s: %s", name, what);
  zone->name = arena_strdup(arena, name);
  if (!zone->name)
    return err_set(err, ERR_INPUT, "zone %.64s: no room is left for it", name);
  *zone_out = zone;
  return ERR_OK;
}
