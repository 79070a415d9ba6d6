#include "facility/roster.h"

#include "base/when.h"
#include "facility/other_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The people file to endorsements, hours, tables, people and demotions. */

/* ---- days ---- */

enum { DAY_MS = 86400 * 1000 };

static int day_of(int year, int month, int day)
{
  const struct when_civil civil = {.year = year, .month = month, .day = day};
  int64_t first_ms = 0, second_ms;

  (void)when_of(when_utc(), &civil, &first_ms, &second_ms);
  return (int)(first_ms / DAY_MS);
}

int roster_day(const char *date)
{
  return day_of((int)strtol(date, NULL, 10), (int)strtol(date + 5, NULL, 10),
                (int)strtol(date + 8, NULL, 10));
}

void roster_print_day(int day, struct buf *out)
{
  struct when_civil civil = when_civil(when_utc(), (int64_t)day * DAY_MS, NULL);

  buf_printf(out, "%04d-%02d-%02d", civil.year, civil.month, civil.day);
}

static const struct {
  const char *one, *many;
  int months, days;
} periods[] = {
    {"year", "years", 12, 0},
    {"month", "months", 1, 0},
    {"week", "weeks", 0, 7},
    {"day", "days", 0, 1},
};

bool roster_span_read(const char *text, struct roster_span *out)
{
  enum { MOST = 1200 };
  char *end;
  long count = strtol(text, &end, 10);

  if (*text < '0' || *text > '9' || count < 1 || count > MOST || *end != ' ')
    return false;
  for (size_t i = 0; i < sizeof periods / sizeof *periods; i++)
    if (strcmp(end + 1, periods[i].one) == 0 || strcmp(end + 1, periods[i].many) == 0) {
      *out = (struct roster_span){.months = (int)count * periods[i].months,
                                  .days = (int)count * periods[i].days};
      return true;
    }
  return false;
}

int roster_after(int day, struct roster_span span)
{
  struct when_civil civil = when_civil(when_utc(), (int64_t)day * DAY_MS, NULL);
  int months = civil.month - 1 + span.months;

  civil.year += months / 12;
  civil.month = months % 12 + 1;
  while (civil.day > 28 && !when_is_date(&civil))
    civil.day--;
  return day_of(civil.year, civil.month, civil.day) + span.days;
}

/* ---- days as a table has them ---- */

/* A pattern of base/when names an hour: one of midnight is put behind both. */
static enum err_code style_pattern(const char *style, struct when_pattern *out, struct err *err)
{
  char text[80];

  if (strcmp(style, "ISO") == 0)
    return when_pattern_read("YYYY-MM-DD hh", out, err);
  if (snprintf(text, sizeof text, "%s hh", style) >= (int)sizeof text)
    return err_set(err, ERR_INPUT, "a date style is shorter than that; 'DD.MM.YYYY' is one");
  return when_pattern_read(text, out, err);
}

bool roster_style_read(const char *style, const char *text, int *day_out)
{
  struct when_pattern pattern;
  struct when_taken taken;
  char with_hour[80];
  int length = snprintf(with_hour, sizeof with_hour, "%s 0", text);

  if (length >= (int)sizeof with_hour || style_pattern(style, &pattern, NULL) != ERR_OK ||
      !when_pattern_take(&pattern, with_hour, (size_t)length, &taken))
    return false;
  *day_out = day_of(taken.civil.year, taken.civil.month, taken.civil.day);
  return true;
}

/* ---- records ---- */

static int day_or_none(const struct record *r, enum schema_key_id key)
{
  const struct value *value = record_given(r, key);

  return value ? roster_day(value->text) : ROSTER_NO_DAY;
}

static struct roster_span span_of(struct build *b, const struct record *r, enum schema_key_id key)
{
  const struct value *value = record_given(r, key);
  struct roster_span out = {0};

  if (value && !roster_span_read(value->text, &out))
    reader_complain(b->reader, r->who, value->tree->place, value->tree->width,
                    "'%s' is no period; write 2 years, 18 months, 4 weeks or 90 days",
                    tree_shown(b->reader->work, value->text));
  return out;
}

static struct roster_endorsement one_endorsement(struct build *b, const struct record *r)
{
  struct roster_endorsement out = {
      .part = build_part(b, r),
      .source = other_text_of(b, r, KEY_roster_endorsement_source),
      .valid = span_of(b, r, KEY_roster_endorsement_valid),
      .unused = span_of(b, r, KEY_roster_endorsement_unused),
  };

  out.needs = other_indices(b, r, KEY_roster_endorsement_needs, &out.need_count);
  return out;
}

static struct roster_holiday one_holiday(struct build *b, const struct record *r)
{
  struct roster_holiday out = {
      .from_day = day_or_none(r, KEY_roster_holiday_from),
      .until_day = day_or_none(r, KEY_roster_holiday_until),
      .called = other_text_of(b, r, KEY_roster_holiday_called),
  };

  if (out.until_day == ROSTER_NO_DAY)
    out.until_day = out.from_day;
  if (out.until_day < out.from_day)
    reader_complain(b->reader, r->who, r->place, r->width,
                    "it ends before it begins; which day is wrong?");
  return out;
}

/* A map from endorsements to texts, as an array by endorsement. */
static const char *const *by_endorsement(struct build *b, const struct record *r,
                                         enum schema_key_id key, int count)
{
  const struct value *map = record_value(r, key);
  const char **out = ARENA_ARRAY(b->facility->arena, const char *, (size_t)count + 1);

  BUG_IF(!out);
  for (int i = 0; i < map->count; i++)
    out[map->items[i].key_number] = build_text(b, map->items[i].text);
  return out;
}

static void check_style(struct build *b, const struct record *r, const struct value *value)
{
  struct when_pattern pattern;
  struct err err = {0};

  if (style_pattern(value->text, &pattern, &err) != ERR_OK)
    reader_complain(b->reader, r->who, value->tree->place, value->tree->width, "%s", err.text);
}

static void check_styles(struct build *b, const struct record *r)
{
  const struct value *dates = record_value(r, KEY_roster_table_dates);
  const struct value *by = record_value(r, KEY_roster_table_dates_by);
  const struct value *last = record_given(r, KEY_roster_table_dates_last);

  if (dates->count < 1 || dates->count > ROSTER_STYLES_MAX)
    reader_complain(b->reader, r->who, dates->tree->place, dates->tree->width,
                    "%d date styles; write 1 to %d", dates->count, ROSTER_STYLES_MAX);
  for (int i = 0; i < dates->count; i++)
    check_style(b, r, &dates->items[i]);
  for (int i = 0; i < by->count; i++)
    check_style(b, r, &by->items[i]);
  if (last)
    check_style(b, r, last);
}

static void check_file(struct build *b, const struct record *r)
{
  const struct value *file = record_given(r, KEY_roster_table_file);

  if (file && !reader_stays_inside(file->text))
    reader_complain(b->reader, r->who, file->tree->place, file->tree->width,
                    "'%s' leads out of the suite's folder; put the table beside the people file",
                    tree_shown(b->reader->work, file->text));
}

static struct roster_table one_table(struct build *b, const struct record *r, int endorsements)
{
  const struct value *titles = record_given(r, KEY_roster_table_titles);
  const struct value *dates = record_value(r, KEY_roster_table_dates);
  struct roster_table out = {
      .part = build_part(b, r),
      .file = other_text_of(b, r, KEY_roster_table_file),
      .sheet = other_text_of(b, r, KEY_roster_table_sheet),
      .title_row = titles ? titles->number : 1,
      .id = other_text_of(b, r, KEY_roster_table_id),
      .full_name = other_text_of(b, r, KEY_roster_table_full_name),
      .group = other_text_of(b, r, KEY_roster_table_group),
      .last_use = other_text_of(b, r, KEY_roster_table_last_use),
      .status = other_text_of(b, r, KEY_roster_table_status),
      .last_use_style = other_text_of(b, r, KEY_roster_table_dates_last),
      .columns = by_endorsement(b, r, KEY_roster_table_endorsements, endorsements),
      .column_styles = by_endorsement(b, r, KEY_roster_table_dates_by, endorsements),
      .place = other_place_of(r, KEY_roster_table_file),
  };

  out.active = other_texts(b, r, KEY_roster_table_active, &out.active_count);
  out.gone = other_texts(b, r, KEY_roster_table_gone, &out.gone_count);
  check_file(b, r);
  check_styles(b, r);
  for (int i = 0; i < dates->count && i < ROSTER_STYLES_MAX; i++)
    out.styles[out.style_count++] = build_text(b, dates->items[i].text);
  if (out.status && out.active_count == 0)
    reader_complain(b->reader, r->who, r->place, r->width,
                    "a status is kept, and no word of it means active; add active: [...]");
  return out;
}

static struct roster_person one_person(struct build *b, const struct record *r, int endorsements)
{
  const struct value *granted = record_value(r, KEY_roster_person_granted);
  int *days = ARENA_ARRAY(b->facility->arena, int, (size_t)endorsements + 1);

  BUG_IF(!days);
  for (int i = 0; i < endorsements; i++)
    days[i] = ROSTER_NO_DAY;
  for (int i = 0; i < granted->count; i++)
    days[granted->items[i].key_number] = roster_day(granted->items[i].text);
  return (struct roster_person){
      .part = build_part(b, r),
      .group = other_text_of(b, r, KEY_roster_person_group),
      .gone = record_value(r, KEY_roster_person_status)->number == 1,
      .granted_day = days,
      .last_use_day = day_or_none(r, KEY_roster_person_last_use),
      .place = r->place,
  };
}

static struct roster_demotion one_demotion(struct build *b, const struct record *r)
{
  struct roster_demotion out = {
      .part = build_part(b, r),
      .who = other_text_of(b, r, KEY_roster_demotion_who),
      .by = other_text_of(b, r, KEY_roster_demotion_by),
      .why = other_text_of(b, r, KEY_roster_demotion_why),
      .from_day = day_or_none(r, KEY_roster_demotion_from),
      .until_day = day_or_none(r, KEY_roster_demotion_until),
      .place = other_place_of(r, KEY_roster_demotion_who),
  };

  out.endorsements = other_indices(b, r, KEY_roster_demotion_endorsements, &out.endorsement_count);
  if (out.until_day != ROSTER_NO_DAY && out.until_day < out.from_day)
    reader_complain(b->reader, r->who, r->place, r->width,
                    "it ends before it begins; which day is wrong?");
  return out;
}

/* ---- staffed hours ---- */

static bool two(const char *at, int below, int *out)
{
  if (at[0] < '0' || at[0] > '9' || at[1] < '0' || at[1] > '9')
    return false;
  *out = 10 * (at[0] - '0') + at[1] - '0';
  return *out < below;
}

static bool time_of_day(const char *at, int *minutes_out)
{
  int hour, minute;

  if (!two(at, 25, &hour) || at[2] != ':' || !two(at + 3, 60, &minute))
    return false;
  *minutes_out = 60 * hour + minute;
  return *minutes_out <= 24 * 60;
}

static void one_weekday(struct build *b, const struct record *r, int weekday, struct roster *out)
{
  enum schema_key_id key = (enum schema_key_id)((int)KEY_roster_hours_monday + weekday);
  const struct value *value = record_given(r, key);
  int *opens = &out->opens_min[weekday], *closes = &out->closes_min[weekday];

  if (!value)
    return;
  if (strlen(value->text) != 11 || value->text[5] != '-' || !time_of_day(value->text, opens) ||
      !time_of_day(value->text + 6, closes) || *closes <= *opens)
    reader_complain(b->reader, r->who, value->tree->place, value->tree->width,
                    "'%s' is no span of a day; write 07:30-18:00",
                    tree_shown(b->reader->work, value->text));
}

static void build_hours(struct build *b, const struct record *r, struct roster *out)
{
  if (!r)
    return;
  out->has_hours = true;
  out->hours_source = other_text_of(b, r, KEY_roster_hours_source);
  for (int weekday = 0; weekday < 7; weekday++)
    one_weekday(b, r, weekday, out);
}

/* ---- the whole ---- */

/* An endorsement that needs itself, however far round, would never count. */
static void check_circles(struct build *b, const struct value *from, const struct roster *out)
{
  uint64_t reach[ROSTER_ENDORSEMENTS_MAX] = {0};

  if (out->endorsement_count > ROSTER_ENDORSEMENTS_MAX) {
    reader_complain(b->reader, NULL, from->tree->place, from->tree->width,
                    "%d endorsements; at most %d", out->endorsement_count, ROSTER_ENDORSEMENTS_MAX);
    return;
  }
  for (int round = 0; round < out->endorsement_count; round++)
    for (int i = 0; i < out->endorsement_count; i++)
      for (int k = 0; k < out->endorsements[i].need_count; k++) {
        int need = out->endorsements[i].needs[k];

        reach[i] |= (uint64_t)1 << need | reach[need];
      }
  for (int i = 0; i < out->endorsement_count; i++)
    if (reach[i] >> i & 1)
      reader_complain(b->reader, from->records[i]->who, from->records[i]->place,
                      from->records[i]->width,
                      "it needs itself; take out one of the needs on the way round");
}

#define LIST(kind, plural, from, make)                                                             \
  do {                                                                                             \
    const struct value *all = (from);                                                              \
    struct roster_##kind *list =                                                                   \
        ARENA_ARRAY(out->arena, struct roster_##kind, (size_t)all->count + 1);                     \
    BUG_IF(!list);                                                                                 \
    for (int i = 0; i < all->count; i++)                                                           \
      list[i] = make;                                                                              \
    out->plural = list;                                                                            \
    out->kind##_count = all->count;                                                                \
  } while (0)

/* What endorsements and hours are. */
static void build_grounds(struct build *build, const struct record *top, struct roster *out)
{
  const struct value *endorsements = record_value(top, KEY_roster_file_endorsements);

  LIST(endorsement, endorsements, endorsements, one_endorsement(build, all->records[i]));
  check_circles(build, endorsements, out);
  build_hours(build, record_inner(top, KEY_roster_file_hours), out);
  LIST(holiday, holidays, record_value(top, KEY_roster_file_holidays),
       one_holiday(build, all->records[i]));
}

/* Who has them. */
static void build_people(struct build *build, const struct record *top, struct roster *out)
{
  LIST(table, tables, record_value(top, KEY_roster_file_tables),
       one_table(build, all->records[i], out->endorsement_count));
  LIST(person, people, record_value(top, KEY_roster_file_people),
       one_person(build, all->records[i], out->endorsement_count));
  LIST(demotion, demotions, record_value(top, KEY_roster_file_demotions),
       one_demotion(build, all->records[i]));
}

static struct roster *build_roster(struct reader *reader, const struct record *top,
                                   const struct facility_text *text)
{
  struct arena *arena = other_arena();
  struct roster *out = ARENA_NEW(arena, struct roster);

  BUG_IF(!out);
  out->arena = arena;
  out->file = arena_strdup(arena, text->file);
  other_sha256(text, out->sha256);

  struct facility holder = {.arena = arena}; /* what the builders take memory from */
  struct build build = {.reader = reader, .facility = &holder};

  build_grounds(&build, top, out);
  build_people(&build, top, out);
  return out;
}

struct roster *roster_read(const struct facility *facility, const struct facility_text *text,
                           struct complaints *complaints)
{
  struct other other;
  const struct record *top =
      other_begin(&other, facility, text, "1 people", STRUCT_roster_file, complaints);
  struct roster *out = top ? build_roster(&other.reader, top, text) : NULL;

  if (!other_end(&other)) {
    roster_free(out);
    out = NULL;
  }
  return out;
}

void roster_free(struct roster *roster)
{
  if (!roster)
    return;

  struct arena *arena = roster->arena;

  arena_release(arena);
  free(arena);
}

int roster_endorsement_find(const struct roster *roster, const char *id)
{
  for (int i = 0; i < roster->endorsement_count; i++)
    if (strcmp(roster->endorsements[i].part.id, id) == 0)
      return i;
  return -1;
}
