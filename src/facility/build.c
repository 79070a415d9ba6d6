#include "facility/reader_impl.h"

#include "matter/matter.h"

#include <math.h>
#include <string.h>

/* Saturation is far away and nobody notices: without a file's word, the air of a room. */
static const double usual_temperature_K = 293.15;
static const double usual_relative_humidity_ratio = 0.45;

const char *build_text(struct build *b, const char *text)
{
  if (!text)
    return NULL;

  const char *copy = arena_strdup(b->facility->arena, text);

  BUG_IF(!copy);
  return copy;
}

struct facility_part build_part(struct build *b, const struct record *record)
{
  struct facility_part part = {
      .id = build_text(b, record->id),
      .name = build_text(b, record_value(record, KEY_part_name)->text),
      .was = build_text(b, record_value(record, KEY_part_was)->text),
      .note = build_text(b, record_value(record, KEY_part_note)->text),
  };

  if (!part.name)
    part.name = part.id;
  return part;
}

/* ---- laws ---- */

static void build_shape(const struct record *record, struct facility_resistance *out)
{
  double width_m = record_si(record, KEY_resistance_width),
         height_m = record_si(record, KEY_resistance_height);
  double diameter_m = record_si(record, KEY_resistance_diameter);

  switch ((int)record_form(record, 1)) {
  case FORM_resistance_area:
    out->area_m2 = record_si(record, KEY_resistance_area);
    break;
  case FORM_resistance_round:
    out->area_m2 = acos(-1.0) * diameter_m * diameter_m / 4;
    out->hydraulic_diameter_m = diameter_m;
    break;
  default: /* rectangular: 4 A / perimeter */
    out->area_m2 = width_m * height_m;
    out->hydraulic_diameter_m = 2 * width_m * height_m / (width_m + height_m);
  }
}

struct facility_resistance build_resistance(const struct record *record)
{
  struct facility_resistance out = {.form = FACILITY_NO_RESISTANCE};

  if (!record)
    return out;
  switch ((int)record_form(record, 0)) {
  case FORM_resistance_drop:
    out.form = FACILITY_DROP_AT_FLOW;
    out.drop_Pa = record_si(record, KEY_resistance_drop);
    out.flow_m3_s = record_value(record, KEY_resistance_drop)->at_si;
    out.exponent = record_si(record, KEY_resistance_exponent);
    break;
  case FORM_resistance_lumped:
    out.form = FACILITY_LUMPED;
    out.lumped_Pa_s2_m6 = record_si(record, KEY_resistance_lumped);
    break;
  case FORM_resistance_loss:
    out.form = FACILITY_LOSS;
    out.loss_ratio = record_si(record, KEY_resistance_loss);
    build_shape(record, &out);
    break;
  default:
    out.form = FACILITY_GEOMETRY;
    out.loss_ratio = record_si(record, KEY_resistance_loss);
    out.length_m = record_si(record, KEY_resistance_length);
    out.roughness_m = record_si(record, KEY_resistance_roughness);
    build_shape(record, &out);
  }
  return out;
}

struct facility_leak_law build_leak_law(const struct record *record)
{
  struct facility_leak_law out = {.form = FACILITY_NO_LEAK};
  const struct value *flow;

  if (!record)
    return out;
  switch ((int)record_form(record, 0)) {
  case FORM_leak_law_printed:
    out.form = FACILITY_ORIFICE_PRINTED;
    out.area_m2 = record_si(record, KEY_leak_law_area);
    out.constant = record_si(record, KEY_leak_law_constant);
    break;
  case FORM_leak_law_power:
    out.form = FACILITY_POWER_LAW;
    out.c = record_si(record, KEY_leak_law_c);
    out.n = record_si(record, KEY_leak_law_n);
    break;
  case FORM_leak_law_measured:
    flow = record_value(record, KEY_leak_law_flow);
    out.form = FACILITY_POWER_LAW;
    out.n = record_si(record, KEY_leak_law_n);
    out.c = flow->si / pow(flow->at_si, out.n);
    break;
  default:
    out.form = FACILITY_ORIFICE;
    out.area_m2 = record_si(record, KEY_leak_law_area);
    out.coefficient_ratio = record_si(record, KEY_leak_law_coefficient);
  }
  return out;
}

/* ---- the surroundings ---- */

static void build_site(struct build *b, const struct record *site)
{
  enum schema_form_id form = site ? record_form(site, 0) : FORM_NONE;
  double altitude_m = form == FORM_site_altitude ? record_si(site, KEY_site_altitude) : 0.0;

  b->facility->site_pressure_Pa = form == FORM_site_pressure
                                      ? record_si(site, KEY_site_pressure)
                                      : matter_standard_pressure_Pa(altitude_m);
  b->facility->zone = site && record_has(site, KEY_site_zone)
                          ? build_text(b, record_value(site, KEY_site_zone)->text)
                          : NULL;
  if (form == FORM_NONE)
    reader_assume(b->reader, "site: altitude 0 m (the file gives neither altitude nor pressure)");
}

static void build_air(struct build *b, const struct record *air)
{
  bool fixed = air && record_has(air, KEY_air_density);
  bool temperature = air && record_has(air, KEY_air_temperature);
  bool humidity = air && record_has(air, KEY_air_humidity);

  b->facility->has_air_density = fixed;
  b->facility->has_air_viscosity = air && record_has(air, KEY_air_viscosity);
  if (fixed)
    b->facility->air_density_kg_m3 = record_si(air, KEY_air_density);
  if (b->facility->has_air_viscosity)
    b->facility->air_viscosity_Pa_s = record_si(air, KEY_air_viscosity);
  b->usual_temperature_K = temperature ? record_si(air, KEY_air_temperature) : usual_temperature_K;
  b->usual_relative_humidity_ratio =
      humidity ? record_si(air, KEY_air_humidity) : usual_relative_humidity_ratio;
  if (fixed)
    return; /* then neither matters to the flows */
  if (!temperature)
    reader_assume(b->reader, "air: temperature 20 degC where a part gives none (an ordinary room, "
                             "no source)");
  if (!humidity)
    reader_assume(b->reader,
                  "air: humidity 45 %%RH where a part gives none (an ordinary cleanroom, "
                  "no source)");
}

double build_or_usual(const struct record *record, enum schema_key_id key, double usual_si)
{
  return record && record_has(record, key) ? record_si(record, key) : usual_si;
}

static void build_outdoors(struct build *b, const struct record *outdoors)
{
  b->facility->outdoor_temperature_K =
      build_or_usual(outdoors, KEY_outdoors_temperature, b->usual_temperature_K);
  b->facility->outdoor_relative_humidity_ratio =
      build_or_usual(outdoors, KEY_outdoors_humidity, b->usual_relative_humidity_ratio);
  if (!b->facility->has_air_density &&
      !(outdoors && record_has(outdoors, KEY_outdoors_temperature)))
    reader_assume(b->reader, "outdoors: temperature as in 'air' (the file gives none)");
}

/* The default of a key whose whole section the file leaves out. */
double build_fallback_si(enum schema_key_id key)
{
  const struct schema_key *row = schema_key_at((int)key);
  struct units_quantity read = {0};

  BUG_IF(units_parse(row->fallback, row->dimension, UNITS_NOTHING, &read, NULL) != ERR_OK);
  return read.si;
}

static void build_limits(struct build *b, const struct record *limits)
{
  b->facility->met_tolerance_Pa =
      limits ? record_si(limits, KEY_limits_keep) : build_fallback_si(KEY_limits_keep);
  b->facility->has_headroom_margin = limits && record_has(limits, KEY_limits_headroom);
  if (b->facility->has_headroom_margin)
    b->facility->headroom_margin_m3_s = record_si(limits, KEY_limits_headroom);
}

/* ---- criteria, rooms, junctions, links ---- */

static struct facility_criterion one_criterion(struct build *b, const struct record *r)
{
  return (struct facility_criterion){
      .part = build_part(b, r),
      .of = (enum facility_criterion_of)record_value(r, KEY_criterion_of)->number,
      .has_low = record_has(r, KEY_criterion_low),
      .has_high = record_has(r, KEY_criterion_high),
      .low = record_si(r, KEY_criterion_low),
      .high = record_si(r, KEY_criterion_high),
      .source = build_text(b, record_value(r, KEY_criterion_source)->text),
  };
}

static const struct facility_keep *build_keeps(struct build *b, const struct value *from)
{
  struct facility_keep *out =
      ARENA_ARRAY(b->facility->arena, struct facility_keep, (size_t)from->count + 1);

  BUG_IF(!out);
  for (int i = 0; i < from->count; i++) {
    const struct record *r = from->records[i];

    out[i] = (struct facility_keep){
        .over = record_value(r, KEY_keep_over)->number,
        .has_least = record_has(r, KEY_keep_least),
        .has_most = record_has(r, KEY_keep_most),
        .least_Pa = record_si(r, KEY_keep_least),
        .most_Pa = record_si(r, KEY_keep_most),
    };
  }
  return out;
}

static struct facility_room one_room(struct build *b, const struct record *r)
{
  const struct value *keeps = record_value(r, KEY_room_keeps);

  return (struct facility_room){
      .part = build_part(b, r),
      .has_floor = record_has(r, KEY_room_floor),
      .floor_m2 = record_si(r, KEY_room_floor),
      .has_volume = record_form(r, 0) != FORM_NONE,
      .volume_m3 = record_form(r, 0) == FORM_room_height
                       ? record_si(r, KEY_room_floor) * record_si(r, KEY_room_height)
                       : record_si(r, KEY_room_volume),
      .temperature_K = build_or_usual(r, KEY_room_temperature, b->usual_temperature_K),
      .relative_humidity_ratio =
          build_or_usual(r, KEY_room_humidity, b->usual_relative_humidity_ratio),
      .elevation_m = record_si(r, KEY_room_elevation),
      .keep_count = keeps->count,
      .keeps = build_keeps(b, keeps),
      .has_class = record_has(r, KEY_room_iso_class),
      .class_number = record_si(r, KEY_room_iso_class),
      .class_size_m = record_si(r, KEY_room_class_size),
  };
}

static struct facility_junction one_junction(struct build *b, const struct record *r)
{
  return (struct facility_junction){
      .part = build_part(b, r),
      .has_pressure = record_has(r, KEY_junction_pressure),
      .pressure_Pa = record_si(r, KEY_junction_pressure),
      .gives_m3_s = record_si(r, KEY_junction_gives) - record_si(r, KEY_junction_takes),
      .temperature_K = build_or_usual(r, KEY_junction_temperature, b->usual_temperature_K),
      .relative_humidity_ratio =
          build_or_usual(r, KEY_junction_humidity, b->usual_relative_humidity_ratio),
      .elevation_m = record_si(r, KEY_junction_elevation),
  };
}

static struct facility_leak one_leak(struct build *b, const struct record *r)
{
  return (struct facility_leak){
      .part = build_part(b, r),
      .from = record_value(r, KEY_leak_from)->number,
      .to = record_value(r, KEY_leak_to)->number,
      .law = build_leak_law(record_inner(r, KEY_leak_law)),
  };
}

static struct facility_door one_door(struct build *b, const struct record *r)
{
  return (struct facility_door){
      .part = build_part(b, r),
      .from = record_value(r, KEY_door_from)->number,
      .to = record_value(r, KEY_door_to)->number,
      .closed = build_leak_law(record_inner(r, KEY_door_closed)),
      .open = build_leak_law(record_inner(r, KEY_door_open)),
  };
}

static struct facility_duct one_duct(struct build *b, const struct record *r)
{
  return (struct facility_duct){
      .part = build_part(b, r),
      .from = record_value(r, KEY_duct_from)->number,
      .to = record_value(r, KEY_duct_to)->number,
      .shut = record_value(r, KEY_duct_shut)->number != 0,
      .resistance = build_resistance(record_inner(r, KEY_duct_resistance)),
      .shut_leak = build_leak_law(record_inner(r, KEY_duct_shut_leak)),
  };
}

static void build_criteria_and_nodes(struct build *b, const struct record *sections)
{
  BUILD_ALL(criterion, criteria, record_value(sections, KEY_sections_criteria));
  BUILD_ALL(room, rooms, record_value(sections, KEY_sections_rooms));
  BUILD_ALL(junction, junctions, record_value(sections, KEY_sections_junctions));
}

static void build_links(struct build *b, const struct record *sections)
{
  BUILD_ALL(leak, leaks, record_value(sections, KEY_sections_leaks));
  BUILD_ALL(door, doors, record_value(sections, KEY_sections_doors));
  BUILD_ALL(duct, ducts, record_value(sections, KEY_sections_ducts));
}

static void build_assumed(struct build *b)
{
  const char **out =
      ARENA_ARRAY(b->facility->arena, const char *, (size_t)b->reader->assumed_count + 1);
  int i = 0;

  BUG_IF(!out);
  for (const struct assumption *a = b->reader->first_assumed; a; a = a->next)
    out[i++] = build_text(b, a->text);
  b->facility->assumed = out;
  b->facility->assumed_count = i;
}

static const char *other_file(struct build *b, const struct record *files, enum schema_key_id key)
{
  const struct value *path = record_given(files, key);

  return path ? build_text(b, path->text) : NULL;
}

static void build_other_files(struct build *b, const struct record *files)
{
  b->facility->feeds_file = other_file(b, files, KEY_files_feeds);
  b->facility->chemicals_file = other_file(b, files, KEY_files_chemicals);
  b->facility->people_file = other_file(b, files, KEY_files_people);
  b->facility->processes_file = other_file(b, files, KEY_files_processes);
  b->facility->rules_file = other_file(b, files, KEY_files_rules);
}

void reader_build(struct build *b, const struct record *sections)
{
  b->facility->label = build_text(b, record_value(sections, KEY_sections_label)->text);
  b->facility->note = build_text(b, record_value(sections, KEY_sections_note)->text);
  b->facility->call = build_text(b, record_value(sections, KEY_sections_call)->text);
  b->facility->not_counted_count = record_value(sections, KEY_sections_not_counted)->count;
  b->facility->not_counted = build_texts(b, record_value(sections, KEY_sections_not_counted));
  if (record_has(sections, KEY_sections_name))
    b->facility->name = build_text(b, record_value(sections, KEY_sections_name)->text);
  build_other_files(b, record_inner(sections, KEY_sections_files));
  build_site(b, record_inner(sections, KEY_sections_site));
  build_air(b, record_inner(sections, KEY_sections_air));
  build_outdoors(b, record_inner(sections, KEY_sections_outdoors));
  build_limits(b, record_inner(sections, KEY_sections_limits));
  build_criteria_and_nodes(b, sections);
  build_links(b, sections);
  build_plant(b, sections);
  build_stations(b, record_value(sections, KEY_sections_stations));
  build_scenes(b, record_value(sections, KEY_sections_scenes));
  build_glass(b, record_inner(sections, KEY_sections_glass));
  build_unattended(b, record_inner(sections, KEY_sections_unattended));
  build_rounds(b, record_inner(sections, KEY_sections_rounds));
  build_readiness(b, record_inner(sections, KEY_sections_readiness));
  build_walk(b, record_inner(sections, KEY_sections_walk));
  build_match(b, record_inner(sections, KEY_sections_match));
  build_day(b, record_inner(sections, KEY_sections_day));
  build_after(b, record_inner(sections, KEY_sections_after));
  build_inputs(b, sections);
  build_assumed(b);
}
