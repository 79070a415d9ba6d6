#include "facility/rules.h"

#include "facility/other_impl.h"

#include <stdlib.h>
#include <string.h>

/* The rules file to rules as they are written. */

const char *rules_expect_word(enum rules_expect expect)
{
  static const char *const words[] = {"yes", "no", "unknown"};

  return words[expect];
}

static struct rules_text as_written(struct build *b, const struct value *value)
{
  return (struct rules_text){.text = build_text(b, value->text),
                             .place = value->tree->place,
                             .width = value->tree->width,
                             .plain = value->tree->plain};
}

static struct rules_text text_at(struct build *b, const struct record *r, enum schema_key_id key)
{
  const struct value *value = record_given(r, key);
  struct rules_text none = {.place = r->place};

  return value ? as_written(b, value) : none;
}

static const struct rules_text *texts_at(struct build *b, const struct record *r,
                                         enum schema_key_id key, int *count_out)
{
  const struct value *list = record_value(r, key);
  struct rules_text *out =
      ARENA_ARRAY(b->facility->arena, struct rules_text, (size_t)list->count + 1);

  BUG_IF(!out);
  for (int i = 0; i < list->count; i++)
    out[i] = as_written(b, &list->items[i]);
  *count_out = list->count;
  return out;
}

static const struct rules_test *tests_of(struct build *b, const struct record *r, int *count_out)
{
  const struct value *list = record_value(r, KEY_rules_rule_tests);
  struct rules_test *out =
      ARENA_ARRAY(b->facility->arena, struct rules_test, (size_t)list->count + 1);

  BUG_IF(!out);
  for (int i = 0; i < list->count; i++) {
    out[i] = (struct rules_test){
        .expect = (enum rules_expect)record_value(list->records[i], KEY_rules_test_expect)->number,
        .place = list->records[i]->place,
    };
    out[i].given = texts_at(b, list->records[i], KEY_rules_test_given, &out[i].given_count);
  }
  *count_out = list->count;
  return out;
}

static struct rules_rule one_rule(struct build *b, const struct record *r)
{
  struct rules_rule out = {
      .part = build_part(b, r),
      .text = other_text_of(b, r, KEY_rules_rule_text),
      .source = other_text_of(b, r, KEY_rules_rule_source),
      .when = text_at(b, r, KEY_rules_rule_when),
      .must = text_at(b, r, KEY_rules_rule_must),
      .from = other_text_of(b, r, KEY_rules_rule_from),
      .until = other_text_of(b, r, KEY_rules_rule_until),
      .place = r->place,
  };

  out.stations = other_indices(b, r, KEY_rules_rule_stations, &out.station_count);
  out.processes = texts_at(b, r, KEY_rules_rule_processes, &out.process_count);
  out.tests = tests_of(b, r, &out.test_count);
  if (out.until && strcmp(out.until, out.from) < 0)
    reader_complain(b->reader, r->who, r->place, r->width,
                    "it ends before it begins; which day is wrong?");
  if (out.test_count == 0)
    reader_complain(b->reader, r->who, r->place, r->width,
                    "a rule without a test may say anything; add tests: [{given: [...], expect: "
                    "no}]");
  return out;
}

static struct rules *build_rules(struct reader *reader, const struct record *top,
                                 const struct facility_text *text)
{
  struct arena *arena = other_arena();
  struct rules *out = ARENA_NEW(arena, struct rules);
  const struct value *all = record_value(top, KEY_rules_file_rules);
  struct rules_rule *list = ARENA_ARRAY(arena, struct rules_rule, (size_t)all->count + 1);

  BUG_IF(!out || !list);

  struct facility holder = {.arena = arena}; /* what the builders take memory from */
  struct build build = {.reader = reader, .facility = &holder};

  for (int i = 0; i < all->count; i++)
    list[i] = one_rule(&build, all->records[i]);
  *out = (struct rules){
      .arena = arena, .file = arena_strdup(arena, text->file), .count = all->count, .list = list};
  other_sha256(text, out->sha256);
  return out;
}

struct rules *rules_read(const struct facility *facility, const struct facility_text *text,
                         struct complaints *complaints)
{
  struct other other;
  const struct record *top =
      other_begin(&other, facility, text, "1 rules", STRUCT_rules_file, complaints);
  struct rules *out = top ? build_rules(&other.reader, top, text) : NULL;

  if (!other_end(&other)) {
    rules_free(out);
    out = NULL;
  }
  return out;
}

void rules_free(struct rules *rules)
{
  if (!rules)
    return;

  struct arena *arena = rules->arena;

  arena_release(arena);
  free(arena);
}
