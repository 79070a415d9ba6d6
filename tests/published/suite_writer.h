#ifndef TESTS_PUBLISHED_SUITE_WRITER_H
#define TESTS_PUBLISHED_SUITE_WRITER_H

#include <stdbool.h>
#include <stddef.h>

/*
 * Random suites, and the same suite written in other ways: other ids and
 * another order, US units, links turned round, another density.  The factors
 * of the US units are written here anew, from their definitions.
 */
enum { WORLD_ROOMS = 4, WORLD_STATIONS = 6, WORLD_DUCTS = 3, WORLD_POINTS = 5 };

struct world {
  double density_kg_m3, viscosity_Pa_s;
  double temperature_K[WORLD_ROOMS], leak_m2[WORLD_ROOMS], volume_m3[WORLD_ROOMS];
  double door_m2[WORLD_ROOMS - 1];
  double feed_m3_s[WORLD_ROOMS]; /* room 1 holds a pressure, room 2 follows its exhaust */
  double hold_Pa, unit_most_m3_s, keep_Pa;
  double asked_m3_s[WORLD_STATIONS], width_m[WORLD_STATIONS], branch_Pa[WORLD_STATIONS];
  double length_m[WORLD_DUCTS], diameter_m[WORLD_DUCTS], loss_ratio[WORLD_DUCTS];
  double curve_m3_s[WORLD_POINTS], curve_Pa[WORLD_POINTS];
  bool passive_only; /* nothing holds, follows or was measured: density scales every pressure */
};

struct style {
  bool renamed, us, mirrored;
  double density_ratio; /* 1: as it is */
};

void world_make(struct world *w, unsigned long seed, bool passive_only);
/* False, with the reason printed, when the file cannot be written. */
bool world_write(const struct world *world, const struct style *style, const char *path);
/* The id of part `number` of a kind ('R' room, 'L' leak, 'D' door, 'A' duct, 'S' station ...). */
const char *style_id(const struct style *style, char kind, int number, char *room, size_t size);

#endif
