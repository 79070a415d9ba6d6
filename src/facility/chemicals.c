#include "facility/chemicals_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The chemicals file to procedures, bottles, baths, rates and limits of the house. */

const char *chemicals_text(struct chemicals_build *b, const struct record *r,
                           enum schema_key_id key)
{
  return other_text_of(&b->build, r, key);
}

double chemicals_si(const struct record *r, enum schema_key_id key)
{
  return other_si_of(r, key);
}

struct place chemicals_place(const struct record *r, enum schema_key_id key)
{
  return other_place_of(r, key);
}

static const int *stations_of(struct chemicals_build *b, const struct record *r,
                              enum schema_key_id key, int *count_out)
{
  return other_indices(&b->build, r, key, count_out);
}

/* Dates are written year first, so that their texts sort as the days do. */
static void check_review(struct chemicals_build *b, const struct record *r)
{
  const struct value *approved = record_given(r, KEY_chemicals_procedure_approved);
  const struct value *review = record_given(r, KEY_chemicals_procedure_review);

  if (approved && review && strcmp(review->text, approved->text) <= 0)
    reader_complain(b->reader, r->who, review->tree->place, review->tree->width,
                    "it is to be reviewed before it was approved (%s); which day is wrong?",
                    approved->text);
}

static struct chemicals_procedure one_procedure(struct chemicals_build *b, const struct record *r)
{
  const struct value *peroxide = record_given(r, KEY_chemicals_procedure_peroxide);
  struct chemicals_procedure p = {
      .part = build_part(&b->build, r),
      .bath = chemicals_text(b, r, KEY_chemicals_procedure_bath),
      .document = chemicals_text(b, r, KEY_chemicals_procedure_document),
      .version = chemicals_text(b, r, KEY_chemicals_procedure_version),
      .by = chemicals_text(b, r, KEY_chemicals_procedure_by),
      .approved = chemicals_text(b, r, KEY_chemicals_procedure_approved),
      .review = chemicals_text(b, r, KEY_chemicals_procedure_review),
      .most_m3 = record_si(r, KEY_chemicals_procedure_most),
      .peroxide_most_ratio = peroxide ? peroxide->si : 0,
      .place = chemicals_place(r, KEY_chemicals_procedure_bath),
  };

  p.stations = stations_of(b, r, KEY_chemicals_procedure_stations, &p.station_count);
  check_review(b, r);
  return p;
}

static struct chemicals_stock one_stock(struct chemicals_build *b, const struct record *r)
{
  return (struct chemicals_stock){
      .part = build_part(&b->build, r),
      .of = chemicals_text(b, r, KEY_chemicals_stock_of),
      .source = chemicals_text(b, r, KEY_chemicals_stock_source),
      .assay_ratio = record_si(r, KEY_chemicals_stock_assay),
      .density_kg_m3 = chemicals_si(r, KEY_chemicals_stock_density),
      .place = chemicals_place(r, KEY_chemicals_stock_of),
  };
}

static const struct chemicals_bath_part *bath_parts(struct chemicals_build *b,
                                                    const struct value *list)
{
  struct chemicals_bath_part *out =
      ARENA_ARRAY(b->out->arena, struct chemicals_bath_part, (size_t)list->count + 1);

  BUG_IF(!out);
  for (int i = 0; i < list->count; i++)
    out[i] = (struct chemicals_bath_part){
        .of = chemicals_text(b, list->records[i], KEY_chemicals_bath_part_of),
        .volume_ratio = record_si(list->records[i], KEY_chemicals_bath_part_volume),
        .place = chemicals_place(list->records[i], KEY_chemicals_bath_part_of),
    };
  return out;
}

static struct chemicals_bath one_bath(struct chemicals_build *b, const struct record *r)
{
  const struct value *parts = record_value(r, KEY_chemicals_bath_parts);
  struct chemicals_bath bath = {
      .part = build_part(&b->build, r),
      .use = chemicals_text(b, r, KEY_chemicals_bath_use),
      .source = chemicals_text(b, r, KEY_chemicals_bath_source),
      .part_count = parts->count,
      .parts = bath_parts(b, parts),
      .temperature_K = chemicals_si(r, KEY_chemicals_bath_temperature),
      .life_s = chemicals_si(r, KEY_chemicals_bath_life),
  };

  bath.stations = stations_of(b, r, KEY_chemicals_bath_stations, &bath.station_count);
  if (parts->count == 0)
    reader_complain(b->reader, r->who, r->place, r->width, "a bath without parts is none");
  if (parts->count > CHEMICALS_PARTS_MAX)
    reader_complain(b->reader, r->who, parts->tree->place, parts->tree->width,
                    "%d parts; at most %d: make one bath of some of them first", parts->count,
                    CHEMICALS_PARTS_MAX);
  return bath;
}

static struct chemicals_rate one_rate(struct chemicals_build *b, const struct record *r)
{
  const struct value *rate = record_value(r, KEY_chemicals_rate_rate);
  double none = (double)NAN;

  return (struct chemicals_rate){
      .part = build_part(&b->build, r),
      .film = chemicals_text(b, r, KEY_chemicals_rate_film),
      .in = chemicals_text(b, r, KEY_chemicals_rate_in),
      .measured = chemicals_text(b, r, KEY_chemicals_rate_measured),
      .by = chemicals_text(b, r, KEY_chemicals_rate_by),
      .rate_m_s = rate->si,
      .rate_pm_m_s = rate->has_plus_minus ? rate->plus_minus_si : none,
      .temperature_K = record_si(r, KEY_chemicals_rate_temperature),
      .strength_ratio = chemicals_si(r, KEY_chemicals_rate_strength),
      .film_place = chemicals_place(r, KEY_chemicals_rate_film),
      .in_place = chemicals_place(r, KEY_chemicals_rate_in),
  };
}

static struct chemicals_limit one_limit(struct chemicals_build *b, const struct record *r)
{
  return (struct chemicals_limit){
      .part = build_part(&b->build, r),
      .of = chemicals_text(b, r, KEY_chemicals_limit_of),
      .issuer = chemicals_text(b, r, KEY_chemicals_limit_issuer),
      .date = chemicals_text(b, r, KEY_chemicals_limit_date),
      .source = chemicals_text(b, r, KEY_chemicals_limit_source),
      .kind = record_value(r, KEY_chemicals_limit_kind)->number,
      .volume_ratio = chemicals_si(r, KEY_chemicals_limit_volume),
      .mass_kg_m3 = chemicals_si(r, KEY_chemicals_limit_mass),
      .place = chemicals_place(r, KEY_chemicals_limit_of),
  };
}

#define one_tank   chemicals_one_tank
#define one_stream chemicals_one_stream
#define one_store  chemicals_one_store
#define one_drain  chemicals_one_drain
#define one_rinse  chemicals_one_rinse
#define one_tray   chemicals_one_tray
#define one_heater chemicals_one_heater

/* Defines all_KINDs(b, list): every part of one kind, each made by one_KIND. */
#define ALL_OF(kind, plural)                                                                       \
  static void all_##plural(struct chemicals_build *b, const struct value *from)                    \
  {                                                                                                \
    struct chemicals_##kind *list =                                                                \
        ARENA_ARRAY(b->out->arena, struct chemicals_##kind, (size_t)from->count + 1);              \
    BUG_IF(!list);                                                                                 \
    for (int i = 0; i < from->count; i++)                                                          \
      list[i] = one_##kind(b, from->records[i]);                                                   \
    b->out->plural = list;                                                                         \
    b->out->kind##_count = from->count;                                                            \
  }

ALL_OF(procedure, procedures)
ALL_OF(stock, stocks)
ALL_OF(bath, baths)
ALL_OF(rate, rates)
ALL_OF(limit, limits)
ALL_OF(tank, tanks)
ALL_OF(stream, streams)
ALL_OF(store, stores)
ALL_OF(drain, drains)
ALL_OF(rinse, rinses)
ALL_OF(tray, trays)
ALL_OF(heater, heaters)

static struct chemicals *new_chemicals(const struct facility_text *text)
{
  struct arena *arena = other_arena();
  struct chemicals *out = ARENA_NEW(arena, struct chemicals);

  BUG_IF(!out);
  out->arena = arena;
  out->file = arena_strdup(arena, text->file);
  other_sha256(text, out->sha256);
  return out;
}

struct chemicals *chemicals_read(const struct facility *facility, const struct facility_text *text,
                                 struct complaints *complaints)
{
  struct other other;
  const struct record *top =
      other_begin(&other, facility, text, "1 chemicals", STRUCT_chemicals_file, complaints);
  struct chemicals *out = NULL;

  if (top) {
    out = new_chemicals(text);

    struct facility holder = {.arena = out->arena}; /* what the builders take memory from */
    struct chemicals_build build = {.build = {.reader = &other.reader, .facility = &holder},
                                    .reader = &other.reader,
                                    .out = out,
                                    .suite = facility};

    all_procedures(&build, record_value(top, KEY_chemicals_file_procedures));
    all_stocks(&build, record_value(top, KEY_chemicals_file_stocks));
    all_baths(&build, record_value(top, KEY_chemicals_file_baths));
    all_rates(&build, record_value(top, KEY_chemicals_file_rates));
    all_limits(&build, record_value(top, KEY_chemicals_file_limits));
    all_tanks(&build, record_value(top, KEY_chemicals_file_tanks));
    all_streams(&build, record_value(top, KEY_chemicals_file_streams));
    all_stores(&build, record_value(top, KEY_chemicals_file_stores));
    all_drains(&build, record_value(top, KEY_chemicals_file_drains));
    all_rinses(&build, record_value(top, KEY_chemicals_file_rinses));
    all_trays(&build, record_value(top, KEY_chemicals_file_trays));
    all_heaters(&build, record_value(top, KEY_chemicals_file_heaters));
    chemicals_check_benches(&build, top);
  }
  if (!other_end(&other)) {
    chemicals_free(out);
    out = NULL;
  }
  return out;
}

void chemicals_free(struct chemicals *chemicals)
{
  if (!chemicals)
    return;

  struct arena *arena = chemicals->arena;

  arena_release(arena);
  free(arena);
}
