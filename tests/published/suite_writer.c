#include "suite_writer.h"

#include "numeric/numeric.h"

#include <stdio.h>
#include <string.h>

/* ---- the numbers ---- */

void world_make(struct world *w, unsigned long seed, bool passive_only)
{
  struct numeric_random random;

  numeric_random_seed(&random, seed);
  *w = (struct world){.passive_only = passive_only};
#define DRAW(low, high) numeric_random_between(&random, low, high)
  w->density_kg_m3 = DRAW(1.0, 1.3);
  w->viscosity_Pa_s = DRAW(1.7e-5, 1.9e-5);
  for (int i = 0; i < WORLD_ROOMS; i++) {
    w->temperature_K[i] = DRAW(290.0, 298.0);
    w->leak_m2[i] = DRAW(0.005, 0.03);
    w->volume_m3[i] = DRAW(40.0, 200.0);
    w->feed_m3_s[i] = DRAW(0.2, 0.9);
    if (i + 1 < WORLD_ROOMS)
      w->door_m2[i] = DRAW(0.01, 0.03);
  }
  w->hold_Pa = DRAW(5.0, 20.0);
  w->keep_Pa = DRAW(1.0, 15.0);
  w->unit_most_m3_s = DRAW(1.5, 4.0);
  for (int i = 0; i < WORLD_STATIONS; i++) {
    w->asked_m3_s[i] = DRAW(0.1, 0.4);
    w->width_m[i] = DRAW(0.9, 1.8);
    w->branch_Pa[i] = DRAW(50.0, 250.0);
  }
  for (int i = 0; i < WORLD_DUCTS; i++) {
    w->length_m[i] = DRAW(3.0, 30.0);
    w->diameter_m[i] = DRAW(0.25, 0.6);
    w->loss_ratio[i] = DRAW(0.1, 2.0);
  }
  for (int i = 0; i < WORLD_POINTS; i++) { /* falling, so that it crosses any system once */
    w->curve_m3_s[i] = 0.35 * i * DRAW(0.95, 1.05);
    w->curve_Pa[i] = 900.0 - 45.0 * i * i * DRAW(0.97, 1.03);
  }
#undef DRAW
}

/* ---- writing ---- */

struct writer {
  FILE *file;
  const struct world *w;
  const struct style *s;
};

const char *style_id(const struct style *style, char kind, int number, char *room, size_t size)
{
  if (style->renamed)
    snprintf(room, size, "z%c-%d_x", kind, 97 - 7 * number);
  else
    snprintf(room, size, "%c%d", kind, number);
  return room;
}

static void id(const struct writer *w, char kind, int number)
{
  char room[32];

  fputs(style_id(w->s, kind, number, room, sizeof room), w->file);
}

struct unit {
  const char *si, *us;
  double us_factor; /* one US unit in SI */
};

/* 1 ft = 0.3048 m, 1 in = 0.0254 m, 1 lb = 0.45359237 kg, 1 inH2O = 1000 x 9.80665 x 0.0254 Pa. */
static const struct unit flow = {"m3/s", "cfm", 0.3048 * 0.3048 * 0.3048 / 60.0};
static const struct unit pressure = {"Pa", "inH2O", 1000.0 * 9.80665 * 0.0254};
static const struct unit length = {"m", "ft", 0.3048};
static const struct unit area = {"m2", "ft2", 0.3048 * 0.3048};
static const struct unit volume = {"m3", "ft3", 0.3048 * 0.3048 * 0.3048};
static const struct unit density = {"kg/m3", "lb/ft3", 0.45359237 / (0.3048 * 0.3048 * 0.3048)};
static const struct unit velocity = {"m/s", "fpm", 0.3048 / 60.0};

static void put(const struct writer *w, const char *before, double si, const struct unit *unit)
{
  fprintf(w->file, "%s%.17g %s", before, w->s->us ? si / unit->us_factor : si,
          w->s->us ? unit->us : unit->si);
}

static void put_temperature(const struct writer *w, double kelvin)
{
  if (w->s->us)
    fprintf(w->file, ", temperature: %.17g degF", kelvin * 9.0 / 5.0 - 459.67);
  else
    fprintf(w->file, ", temperature: %.17g K", kelvin);
}

/* The i-th of n things to write: from the back when the style wants another order. */
static int turn(const struct writer *w, int i, int n)
{
  return w->s->renamed ? n - 1 - i : i;
}

/* "  L1: {from: R1, to: outdoors" or the other way round; kind ' ' is outdoors. */
static void link_begin(const struct writer *w, char kind, int number, char a, int a_number, char b,
                       int b_number)
{
  fputs("  ", w->file);
  id(w, kind, number);
  for (int i = 0; i < 2; i++) {
    bool first = (i == 0) != w->s->mirrored;
    char end = first ? a : b;

    fputs(i == 0 ? ": {from: " : ", to: ", w->file);
    if (end == ' ')
      fputs("outdoors", w->file);
    else
      id(w, end, first ? a_number : b_number);
  }
}

static void write_air(const struct writer *w)
{
  fputs("inward: 1 suite\nname: random\n", w->file);
  if (!w->w->passive_only) {
    fputs("site: {altitude: ", w->file);
    put(w, "", 260.0, &length);
    fputs("}\n", w->file);
    return;
  }
  put(w, "air: {density: ", w->w->density_kg_m3 * w->s->density_ratio, &density);
  fprintf(w->file, ", viscosity: %.17g Pa s}\n", w->w->viscosity_Pa_s * w->s->density_ratio);
}

static void write_rooms(const struct writer *w)
{
  fputs("rooms:\n", w->file);
  for (int k = 0; k < WORLD_ROOMS; k++) {
    int i = turn(w, k, WORLD_ROOMS);

    fputs("  ", w->file);
    id(w, 'R', i);
    put(w, ": {volume: ", w->w->volume_m3[i], &volume);
    if (!w->w->passive_only)
      put_temperature(w, w->w->temperature_K[i]);
    put(w, ", keeps: [{over: outdoors, at least: ", w->w->keep_Pa, &pressure);
    fputs("}]}\n", w->file);
  }
  fputs("junctions:\n", w->file);
  for (int k = 0; k < WORLD_DUCTS; k++) {
    fputs("  ", w->file);
    id(w, 'J', turn(w, k, WORLD_DUCTS));
    fputs(": {}\n", w->file);
  }
}

static void write_leaks(const struct writer *w)
{
  fputs("leaks:\n", w->file);
  for (int k = 0; k < WORLD_ROOMS; k++) {
    int i = turn(w, k, WORLD_ROOMS);

    link_begin(w, 'L', i, 'R', i, ' ', 0);
    if (i == 1 && !w->w->passive_only) {
      put(w, ", flow: ", 3.0 * w->w->leak_m2[i], &flow);
      put(w, " at ", 10.0, &pressure);
      fputs(", n: 0.6}\n", w->file);
    } else {
      put(w, ", area: ", w->w->leak_m2[i], &area);
      fputs(", coefficient: 0.65}\n", w->file);
    }
  }
  fputs("doors:\n", w->file);
  for (int k = 0; k < WORLD_ROOMS - 1; k++) {
    int i = turn(w, k, WORLD_ROOMS - 1);

    link_begin(w, 'D', i, 'R', i, 'R', i + 1);
    put(w, ", closed: {area: ", w->w->door_m2[i], &area);
    put(w, "}, open: {area: ", 1.8, &area);
    fputs("}}\n", w->file);
  }
}

/* Junctions 1 and 2 lead to 0, from where the fan draws. */
static void write_plant(const struct writer *w)
{
  fputs("ducts:\n", w->file);
  for (int k = 0; k < WORLD_DUCTS; k++) {
    int i = turn(w, k, WORLD_DUCTS);

    if (i == 0)
      link_begin(w, 'A', i, ' ', 0, 'J', 0); /* a bleed of outdoor air */
    else
      link_begin(w, 'A', i, 'J', i, 'J', 0);
    put(w, ", diameter: ", w->w->diameter_m[i], &length);
    put(w, ", length: ", w->w->length_m[i], &length);
    put(w, ", roughness: ", 0.0001, &length);
    fprintf(w->file, ", loss: %.17g}\n", w->w->loss_ratio[i] * (i == 0 ? 80.0 : 1.0));
  }
  fputs("fans:\n  ", w->file);
  id(w, 'E', 0);
  fputs(": {from: ", w->file);
  id(w, 'J', 0);
  put(w, ", to: outdoors, count: 2, rated density: ", 1.2, &density);
  fputs(",\n       curve: [", w->file);
  for (int i = 0; i < WORLD_POINTS; i++) {
    put(w, i ? ", " : "", w->w->curve_Pa[i], &pressure);
    put(w, " at ", w->w->curve_m3_s[i], &flow);
  }
  fputs("]}\nmains:\n  ", w->file);
  id(w, 'M', 0);
  fputs(": {at: ", w->file);
  id(w, 'J', 0);
  fputs(", fans: [", w->file);
  id(w, 'E', 0);
  fputs("]}\n", w->file);
}

static void write_feed(const struct writer *w, int room)
{
  id(w, 'R', room);
  if (room == 1 && !w->w->passive_only) {
    put(w, ": {holds: {pressure: ", w->w->hold_Pa, &pressure);
    put(w, ", over: outdoors}, least: ", 0.05, &flow);
    put(w, ", most: ", 2.0, &flow);
    put(w, ", wide open: ", 60.0, &pressure);
    put(w, " at ", 2.0, &flow);
  } else if (room == 2 && !w->w->passive_only) {
    put(w, ": {follows exhaust: {offset: ", 0.08, &flow);
    fputs("}", w->file);
  } else {
    put(w, ": {flow: ", w->w->feed_m3_s[room], &flow);
  }
  fputs("}", w->file);
}

static void write_supply(const struct writer *w)
{
  fputs("supplies:\n  ", w->file);
  id(w, 'U', 0);
  fputs(": {", w->file);
  if (!w->w->passive_only) {
    put(w, "most: ", w->w->unit_most_m3_s, &flow);
    put(w, ", plenum: ", 150.0, &pressure);
    put_temperature(w, 291.15);
    fputs(", ", w->file);
  }
  fputs("feeds: {", w->file);
  for (int k = 0; k < WORLD_ROOMS; k++) {
    if (k)
      fputs(",\n        ", w->file);
    write_feed(w, turn(w, k, WORLD_ROOMS));
  }
  fputs("}}\n", w->file);
}

static void write_rule(const struct writer *w, int i)
{
  double asked = w->w->asked_m3_s[i];

  if (i % 4 == 0) {
    put(w, "two-state: {parked: ", 0.3 * asked, &flow);
    put(w, ", work: ", asked, &flow);
  } else if (i % 4 == 1) {
    put(w, "follows opening: {velocity: ", 0.5, &velocity);
    put(w, ", least: ", 0.3 * asked, &flow);
    put(w, ", most: ", 1.2 * asked, &flow);
    put(w, ", bypass: ", 0.01, &flow);
  } else if (i % 4 == 2) {
    put(w, "constant: ", asked, &flow);
    return;
  } else {
    put(w, "passive: {coefficient: 0.62, bypass area: ", 0.02, &area);
  }
  fputs("}", w->file);
}

static void write_stations(const struct writer *w)
{
  fputs("stations:\n", w->file);
  for (int k = 0; k < WORLD_STATIONS; k++) {
    int i = turn(w, k, WORLD_STATIONS);

    fputs("  ", w->file);
    id(w, 'S', i);
    fputs(": {kind: fume hood, room: ", w->file);
    id(w, 'R', i % WORLD_ROOMS);
    fputs(", main: ", w->file);
    id(w, 'M', 0);
    fputs(", joins: ", w->file);
    id(w, 'J', i % WORLD_DUCTS);
    put(w, ", width: ", w->w->width_m[i], &length);
    put(w, ", opening: {parked: ", 0.03, &length);
    put(w, ", work: ", 0.45, &length);
    fputs("},\n       flow: {", w->file);
    write_rule(w, i);
    if (i % 2 == 0 && !w->w->passive_only) {
      put(w, "}, branch: {drop: ", w->w->branch_Pa[i], &pressure);
      put(w, " at ", w->w->asked_m3_s[i], &flow);
    } else {
      put(w, "}, branch: {loss: 3.5, diameter: ", 0.25, &length);
    }
    fputs("}}\n", w->file);
  }
}

bool world_write(const struct world *world, const struct style *style, const char *path)
{
  struct writer w = {fopen(path, "w"), world, style};
  bool ok;

  if (!w.file) {
    printf("%s cannot be written\n", path);
    return false;
  }
  write_air(&w);
  write_rooms(&w);
  write_leaks(&w);
  write_plant(&w);
  write_supply(&w);
  write_stations(&w);
  ok = !ferror(w.file);
  return fclose(w.file) == 0 && ok;
}
