#include "facility/feeds_impl.h"

#include "base/when.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* The feeds file to sources and points.  What the table cannot say is checked in feeds_points.c. */

static const char *const kind_names[] = {"csv",     "mqtt", "modbus",  "bacnet",
                                         "webhook", "hand", "calendar"};

const char *feeds_kind_name(enum feeds_kind kind)
{
  return kind_names[kind];
}

/* ---- sources ---- */

static double seconds_or_none(const struct record *r, enum schema_key_id key)
{
  const struct value *value = record_given(r, key);

  return value ? value->si : 0;
}

static const char *text_of(struct feeds_build *b, const struct record *r, enum schema_key_id key)
{
  const struct value *value = record_given(r, key);

  return value ? build_text(&b->build, value->text) : NULL;
}

static int number_of(const struct record *r, enum schema_key_id key)
{
  return record_value(r, key)->number;
}

static void check_zone(struct feeds_build *b, const struct record *r, enum schema_key_id key)
{
  const struct value *zone = record_given(r, key);

  if (zone && !when_zone_name_fits(zone->text))
    reader_complain(b->reader, r->who, zone->tree->place, zone->tree->width,
                    "'%s' is no zone; write UTC or a name such as Europe/Paris",
                    tree_shown(b->reader->work, zone->text));
}

static void check_folder(struct feeds_build *b, const struct record *r, enum schema_key_id key)
{
  const struct value *folder = record_given(r, key);

  if (folder && !reader_stays_inside(folder->text))
    reader_complain(b->reader, r->who, folder->tree->place, folder->tree->width,
                    "'%s' leads out of this file's folder; give a relative path inside it",
                    tree_shown(b->reader->work, folder->text));
}

/* The columns that a long table needs beside its time. */
static void check_long(struct feeds_build *b, const struct record *r)
{
  bool is_long = number_of(r, KEY_feeds_csv_shape) == FEEDS_LONG;

  if (is_long && !(record_has(r, KEY_feeds_csv_point) && record_has(r, KEY_feeds_csv_value)))
    reader_complain(b->reader, r->who, r->place, r->width,
                    "a long table needs 'point' and 'value': the headers of the columns that name "
                    "the point and hold its value");
}

static void check_status(struct feeds_build *b, const struct record *r)
{
  if (record_has(r, KEY_feeds_csv_status) && record_value(r, KEY_feeds_csv_good)->count == 0)
    reader_complain(b->reader, r->who, r->place, r->width,
                    "which words of the status mean a good value? List them with 'good'");
}

static void check_pattern(struct feeds_build *b, const struct record *r)
{
  const struct value *pattern = record_given(r, KEY_feeds_csv_pattern);
  struct when_pattern read;
  struct err err = {0};

  if (pattern && when_pattern_read(pattern->text, &read, &err) != ERR_OK)
    reader_complain(b->reader, r->who, pattern->tree->place, pattern->tree->width, "%s", err.text);
}

static void check_marks(struct feeds_build *b, const struct record *r)
{
  const struct value *decimal = record_given(r, KEY_feeds_csv_decimal);

  if (decimal && decimal->number == 1 && record_has(r, KEY_feeds_csv_separator) &&
      number_of(r, KEY_feeds_csv_separator) == 0)
    reader_complain(
        b->reader, r->who, decimal->tree->place, decimal->tree->width,
        "a comma cannot stand between columns and inside numbers; look at the table: which "
        "of 'separator' and 'decimal' is it?");
}

static struct feeds_table build_table(struct feeds_build *b, const struct record *r)
{
  static const char separators[] = ",;\t|";
  const struct value *missing = record_value(r, KEY_feeds_csv_missing);
  const struct value *columns = record_value(r, KEY_feeds_csv_columns);
  const struct value *good = record_value(r, KEY_feeds_csv_good);

  check_zone(b, r, KEY_feeds_csv_zone);
  check_folder(b, r, KEY_feeds_csv_folder);
  check_long(b, r);
  check_status(b, r);
  check_pattern(b, r);
  check_marks(b, r);
  return (struct feeds_table){
      .folder = text_of(b, r, KEY_feeds_csv_folder),
      .shape = (enum feeds_shape)number_of(r, KEY_feeds_csv_shape),
      .separator =
          separators[record_has(r, KEY_feeds_csv_separator) ? number_of(r, KEY_feeds_csv_separator)
                                                            : 0],
      .decimal_comma = number_of(r, KEY_feeds_csv_decimal) == 1,
      .time_column = text_of(b, r, KEY_feeds_csv_time),
      .date_column = text_of(b, r, KEY_feeds_csv_date),
      .pattern = text_of(b, r, KEY_feeds_csv_pattern),
      .zone = text_of(b, r, KEY_feeds_csv_zone),
      .missing_count = missing->count,
      .missing = build_texts(&b->build, missing),
      .column_count = columns->count,
      .columns = columns->count ? build_texts(&b->build, columns) : NULL,
      .point_column = text_of(b, r, KEY_feeds_csv_point),
      .value_column = text_of(b, r, KEY_feeds_csv_value),
      .unit_column = text_of(b, r, KEY_feeds_csv_unit),
      .status_column = text_of(b, r, KEY_feeds_csv_status),
      .good_count = good->count,
      .good = build_texts(&b->build, good),
  };
}

void feeds_check_secret(struct feeds_build *b, const struct record *r, enum schema_key_id key)
{
  const struct value *secret = record_given(r, key);

  if (secret && (strncmp(secret->text, "env:", 4) != 0 && strncmp(secret->text, "file:", 5) != 0))
    reader_complain(b->reader, r->who, secret->tree->place, secret->tree->width,
                    "no secret may stand in this file; write env:NAME, or file:PATH of a file that "
                    "only its owner can read");
}

static void build_status(struct feeds_build *b, const struct record *r, struct feeds_source *s)
{
  const struct value *status = record_given(r, KEY_feeds_mqtt_status);
  const struct value *gone = record_value(r, KEY_feeds_mqtt_gone);

  s->status = text_of(b, r, KEY_feeds_mqtt_status);
  s->gone_count = gone->count;
  s->gone = build_texts(&b->build, gone);
  if (s->status && strpbrk(s->status, "+#"))
    reader_complain(b->reader, r->who, status->tree->place, status->tree->width,
                    "'status' is one topic: no '+' and no '#'");
  if ((s->status != NULL) != (s->gone_count > 0))
    reader_complain(b->reader, r->who, r->place, r->width,
                    "'status' and 'gone' belong together: a topic, and the words on it that mean "
                    "that the gateway is not there");
}

static void build_mqtt(struct feeds_build *b, const struct record *r, struct feeds_source *s)
{
  feeds_check_secret(b, r, KEY_feeds_mqtt_user);
  feeds_check_secret(b, r, KEY_feeds_mqtt_secret);
  s->host = text_of(b, r, KEY_feeds_mqtt_host);
  s->port = number_of(r, KEY_feeds_mqtt_port);
  s->user = text_of(b, r, KEY_feeds_mqtt_user);
  s->secret = text_of(b, r, KEY_feeds_mqtt_secret);
  s->client = text_of(b, r, KEY_feeds_mqtt_client);
  build_status(b, r, s);
}

static void build_modbus(struct feeds_build *b, const struct record *r, struct feeds_source *s)
{
  s->host = text_of(b, r, KEY_feeds_modbus_host);
  s->port = number_of(r, KEY_feeds_modbus_port);
  s->unit_address = number_of(r, KEY_feeds_modbus_unit);
  s->has_word_order = record_has(r, KEY_feeds_modbus_words);
  s->low_word_first = s->has_word_order && number_of(r, KEY_feeds_modbus_words) == 1;
  s->low_byte_first = number_of(r, KEY_feeds_modbus_bytes) == 1;
}

static void build_bacnet(struct feeds_build *b, const struct record *r, struct feeds_source *s)
{
  s->host = text_of(b, r, KEY_feeds_bacnet_host);
  s->port = number_of(r, KEY_feeds_bacnet_port);
  s->device = number_of(r, KEY_feeds_bacnet_device);
  s->subscribe = number_of(r, KEY_feeds_bacnet_subscribe) != 0;
}

static void build_way(struct feeds_build *b, const struct record *r, struct feeds_source *s)
{
  const struct record *way =
      record_inner(r, (enum schema_key_id)(KEY_feeds_source_csv + (int)s->kind - (int)FEEDS_CSV));

  if (!way || way->unread)
    return;
  if (s->kind == FEEDS_CSV)
    s->table = build_table(b, way);
  else if (s->kind == FEEDS_MQTT)
    build_mqtt(b, way, s);
  else if (s->kind == FEEDS_MODBUS)
    build_modbus(b, way, s);
  else if (s->kind == FEEDS_BACNET)
    build_bacnet(b, way, s);
  else if (s->kind == FEEDS_WEBHOOK) {
    feeds_check_secret(b, way, KEY_feeds_webhook_token);
    s->token = text_of(b, way, KEY_feeds_webhook_token);
  } else if (s->kind == FEEDS_CALENDAR) {
    check_folder(b, way, KEY_feeds_calendar_folder);
    check_zone(b, way, KEY_feeds_calendar_zone);
    s->table.folder = text_of(b, way, KEY_feeds_calendar_folder);
    s->table.zone = text_of(b, way, KEY_feeds_calendar_zone);
  }
}

/* A value that is old before the next is due would be not known most of the time. */
static void check_every(struct feeds_build *b, const struct record *r)
{
  const struct value *every = record_given(r, KEY_feeds_source_every);

  if (every && every->si > record_si(r, KEY_feeds_source_old))
    reader_complain(
        b->reader, r->who, every->tree->place, every->tree->width,
        "a value is expected less often than it may be old: each would be too old before "
        "the next comes; make 'old after' longer than 'every'");
}

static struct feeds_source one_source(struct feeds_build *b, const struct record *r)
{
  int form = (int)record_form(r, 0);
  struct feeds_source s = {
      .part = build_part(&b->build, r),
      .kind = (enum feeds_kind)(form == FORM_NONE ? 0 : form - (int)FORM_feeds_source_csv),
      .every_s = seconds_or_none(r, KEY_feeds_source_every),
      .old_after_s = record_si(r, KEY_feeds_source_old),
      .clock_ahead_s = record_si(r, KEY_feeds_source_clock),
      .frozen_after_s = seconds_or_none(r, KEY_feeds_source_frozen),
      .most_per_s = number_of(r, KEY_feeds_source_most),
  };

  check_every(b, r);
  if (form != FORM_NONE)
    build_way(b, r, &s);
  return s;
}

/* ---- the file ---- */

static void build_sources(struct feeds_build *b, const struct value *from)
{
  struct feeds_source *list =
      ARENA_ARRAY(b->feeds->arena, struct feeds_source, (size_t)from->count + 1);

  BUG_IF(!list);
  for (int i = 0; i < from->count; i++)
    list[i] = one_source(b, from->records[i]);
  b->feeds->sources = list;
  b->feeds->source_count = from->count;
}

static double given_or_usual(const struct record *r, enum schema_key_id key)
{
  return r ? record_si(r, key) : build_fallback_si(key);
}

static int count_or_usual(const struct record *r, enum schema_key_id key)
{
  return r ? number_of(r, key) : (int)strtol(schema_key_at((int)key)->fallback, NULL, 10);
}

/* What a table of kinds says of one, in the order of feeds_price; 1 of a kind that it lacks. */
static double of_kind(const struct record *r, enum schema_struct_id table, int kind)
{
  int row = schema_find(table, schema_key_at((int)KEY_begin_feeds_price + 1 + kind)->key);

  return row < 0 ? 1 : given_or_usual(r, (enum schema_key_id)row);
}

static struct feeds_ranking ranking_of(const struct record *faults)
{
  const struct record *r = faults ? record_inner(faults, KEY_feeds_faults_ranking) : NULL;
  const struct record *price = faults ? record_inner(faults, KEY_feeds_faults_price) : NULL;
  const struct record *smallest = faults ? record_inner(faults, KEY_feeds_faults_smallest) : NULL;
  const struct record *largest = faults ? record_inner(faults, KEY_feeds_faults_largest) : NULL;
  struct feeds_ranking out = {
      .readings_most = count_or_usual(r, KEY_feeds_ranking_readings),
      .tails_count = given_or_usual(r, KEY_feeds_ranking_tails),
      .loose_ratio = given_or_usual(r, KEY_feeds_ranking_loose),
      .loose_unit_ratio = given_or_usual(r, KEY_feeds_ranking_loose_unit),
      .contact_price_ratio = given_or_usual(r, KEY_feeds_ranking_contact),
      .attended_ratio = given_or_usual(r, KEY_feeds_ranking_attended),
      .attended_weight_ratio = given_or_usual(r, KEY_feeds_ranking_attended_weight),
      .stays_ratio = given_or_usual(r, KEY_feeds_ranking_stays),
      .drift_ratio = given_or_usual(r, KEY_feeds_ranking_drift),
      .drift_Pa = given_or_usual(r, KEY_feeds_ranking_drift_pressure),
      .repeats_least = count_or_usual(r, KEY_feeds_ranking_repeats),
      .explains_ratio = given_or_usual(r, KEY_feeds_ranking_explains),
      .scatter_cost_ratio = given_or_usual(r, KEY_feeds_ranking_scatter),
  };

  for (int i = 0; i < FEEDS_FAULT_KINDS; i++) {
    out.kinds[i].price_ratio = of_kind(price, STRUCT_feeds_price, i);
    out.kinds[i].least_ratio = of_kind(smallest, STRUCT_feeds_smallest, i);
    out.kinds[i].most_ratio = of_kind(largest, STRUCT_feeds_largest, i);
  }
  return out;
}

static struct feeds_faults faults_of(const struct record *r)
{
  return (struct feeds_faults){
      .false_alarm_s = given_or_usual(r, KEY_feeds_faults_false_alarm),
      .shift_ratio = given_or_usual(r, KEY_feeds_faults_shift),
      .step_s = given_or_usual(r, KEY_feeds_faults_step),
      .settle_s = given_or_usual(r, KEY_feeds_faults_settle),
      .learn_s = given_or_usual(r, KEY_feeds_faults_learn),
      .learn_below_ratio = given_or_usual(r, KEY_feeds_faults_learn_below),
      .floor_ratio = given_or_usual(r, KEY_feeds_faults_floor),
      .flow_ratio = given_or_usual(r, KEY_feeds_faults_flow),
      .velocity_ratio = given_or_usual(r, KEY_feeds_faults_velocity),
      .speed_ratio = given_or_usual(r, KEY_feeds_faults_speed),
      .pressure_ratio = given_or_usual(r, KEY_feeds_faults_pressure),
      .pressure_Pa = given_or_usual(r, KEY_feeds_faults_pressure_least),
      .alike_ratio = given_or_usual(r, KEY_feeds_faults_alike),
      .proved_after = count_or_usual(r, KEY_feeds_faults_proved_after),
      .proved_ratio = given_or_usual(r, KEY_feeds_faults_proved),
      .ranking = ranking_of(r),
  };
}

static struct feeds_lower lower_of(const struct record *r)
{
  return (struct feeds_lower){
      .ask_after_s = given_or_usual(r, KEY_feeds_lower_ask_after),
      .hold_s = given_or_usual(r, KEY_feeds_lower_hold),
      .most = count_or_usual(r, KEY_feeds_lower_most),
      .within_s = given_or_usual(r, KEY_feeds_lower_within),
      .again_s = given_or_usual(r, KEY_feeds_lower_again),
      .cannot_s = given_or_usual(r, KEY_feeds_lower_cannot),
      .moves_m = given_or_usual(r, KEY_feeds_lower_moves),
      .reached_m = given_or_usual(r, KEY_feeds_lower_reached),
      .rising_s = given_or_usual(r, KEY_feeds_lower_rising),
  };
}

static struct feeds_figures figures_of(const struct record *r)
{
  return (struct feeds_figures){
      .day_count = given_or_usual(r, KEY_feeds_figures_day),
      .urgent_ratio = given_or_usual(r, KEY_feeds_figures_urgent),
      .high_ratio = given_or_usual(r, KEY_feeds_figures_high),
      .flood_begins = count_or_usual(r, KEY_feeds_figures_begins),
      .flood_ends = count_or_usual(r, KEY_feeds_figures_ends),
      .window_s = given_or_usual(r, KEY_feeds_figures_window),
      .chatter_count = count_or_usual(r, KEY_feeds_figures_chatter),
      .chatter_s = given_or_usual(r, KEY_feeds_figures_chatter_within),
      .stale_s = given_or_usual(r, KEY_feeds_figures_stale),
      .haste_count = count_or_usual(r, KEY_feeds_figures_haste),
  };
}

/* A flood that ends before it begins would never be one. */
static void check_flood(struct feeds_build *b, const struct record *r)
{
  if (!r || b->feeds->figures.flood_ends <= b->feeds->figures.flood_begins + 1)
    return;
  reader_complain(b->reader, r->who, r->place, r->width,
                  "a flood that begins with more than %d alarms cannot end with fewer than %d; at "
                  "most %d",
                  b->feeds->figures.flood_begins, b->feeds->figures.flood_ends,
                  b->feeds->figures.flood_begins + 1);
}

static struct feeds_incidents incidents_of(const struct record *r)
{
  return (struct feeds_incidents){
      .before_s = given_or_usual(r, KEY_feeds_incidents_before),
      .after_s = given_or_usual(r, KEY_feeds_incidents_after),
      .back_s = given_or_usual(r, KEY_feeds_incidents_back),
  };
}

double feeds_told_back_usual_s(void)
{
  return build_fallback_si(KEY_feeds_keep_told);
}

static void build_file(struct feeds_build *b, const struct record *top)
{
  const struct record *keep = record_inner(top, KEY_feeds_file_keep);

  b->feeds->future_s = record_si(top, KEY_feeds_file_future);
  b->feeds->unmeasured_work = number_of(top, KEY_feeds_file_unmeasured) == 0;
  b->feeds->keep_raw_s =
      keep ? record_si(keep, KEY_feeds_keep_samples) : build_fallback_si(KEY_feeds_keep_samples);
  b->feeds->keep_10min_s = keep ? seconds_or_none(keep, KEY_feeds_keep_ten) : 0;
  b->feeds->keep_doubt_ratio =
      keep ? record_si(keep, KEY_feeds_keep_doubt) : build_fallback_si(KEY_feeds_keep_doubt);
  b->feeds->told_back_s = keep ? record_si(keep, KEY_feeds_keep_told) : feeds_told_back_usual_s();
  b->feeds->faults = faults_of(record_inner(top, KEY_feeds_file_faults));
  b->feeds->lower = lower_of(record_inner(top, KEY_feeds_file_lower));
  b->feeds->incidents = incidents_of(record_inner(top, KEY_feeds_file_incidents));
  build_sources(b, record_value(top, KEY_feeds_file_sources));
  feeds_build_points(b, record_value(top, KEY_feeds_file_points));
  feeds_build_night(b, record_inner(top, KEY_feeds_file_night));
  feeds_build_reminders(b, record_inner(top, KEY_feeds_file_reminders));
  b->feeds->shelf_most_s = record_si(top, KEY_feeds_file_shelf);
  b->feeds->figures = figures_of(record_inner(top, KEY_feeds_file_figures));
  check_flood(b, record_inner(top, KEY_feeds_file_figures));
  feeds_build_alarms(b, record_value(top, KEY_feeds_file_alarms));
  feeds_build_messages(b, record_value(top, KEY_feeds_file_messages));
}

static struct feeds *new_feeds(const struct facility_text *text)
{
  struct arena *arena = other_arena();
  struct feeds *feeds = ARENA_NEW(arena, struct feeds);

  BUG_IF(!feeds);
  feeds->arena = arena;
  feeds->file = arena_strdup(arena, text->file);
  other_sha256(text, feeds->sha256);
  return feeds;
}

struct feeds *feeds_read(const struct facility *facility, const struct facility_text *text,
                         struct complaints *complaints)
{
  struct other other;
  const struct record *top =
      other_begin(&other, facility, text, "1 feeds", STRUCT_feeds_file, complaints);
  struct feeds *feeds = NULL;

  if (top) {
    feeds = new_feeds(text);

    struct facility holder = {.arena = feeds->arena}; /* what the builders take memory from */
    struct feeds_build build = {.build = {.reader = &other.reader, .facility = &holder},
                                .reader = &other.reader,
                                .facility = facility,
                                .feeds = feeds};

    build_file(&build, top);
  }
  if (!other_end(&other)) {
    feeds_free(feeds);
    feeds = NULL;
  }
  return feeds;
}

void feeds_free(struct feeds *feeds)
{
  if (!feeds)
    return;

  struct arena *arena = feeds->arena;

  arena_release(arena);
  free(arena);
}

int feeds_source_find(const struct feeds *feeds, const char *id)
{
  for (int i = 0; i < feeds->source_count; i++)
    if (strcmp(feeds->sources[i].part.id, id) == 0)
      return i;
  return -1;
}

int feeds_point_find(const struct feeds *feeds, const char *id)
{
  for (int i = 0; i < feeds->point_count; i++)
    if (strcmp(feeds->points[i].part.id, id) == 0)
      return i;
  return -1;
}
