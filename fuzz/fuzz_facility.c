#include "facility/facility.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool promise)
{
  if (!promise)
    abort();
}

/* A place inside one of the texts (its line may be pointed at one past its end), or none. */
static void place_is_inside(struct place place, const struct facility_text *texts, int count)
{
  if (place.line == 0)
    return;
  for (int i = 0; i < count; i++) {
    const char *at = texts[i].bytes, *end = at + texts[i].size;

    if (place.file != texts[i].file)
      continue;
    for (int line = 1; line < place.line; line++) {
      at = memchr(at, '\n', (size_t)(end - at));
      must(at != NULL);
      at++;
    }

    const char *line_end = memchr(at, '\n', (size_t)(end - at));

    must(place.column >= 1 && place.column <= (line_end ? line_end : end) - at + 1);
    return;
  }
  must(false);
}

static void index_in(int index, int least, int count)
{
  must(index >= least && index < count);
}

static void links_are_in_range(const struct facility *f)
{
  int nodes = facility_node_count(f);

  for (int i = 0; i < f->leak_count; i++) {
    index_in(f->leaks[i].from, 0, nodes);
    index_in(f->leaks[i].to, 0, nodes);
    must(f->leaks[i].law.form != FACILITY_NO_LEAK);
  }
  for (int i = 0; i < f->door_count; i++) {
    index_in(f->doors[i].from, 0, nodes);
    index_in(f->doors[i].to, 0, nodes);
  }
  for (int i = 0; i < f->duct_count; i++) {
    index_in(f->ducts[i].from, 0, nodes);
    index_in(f->ducts[i].to, 0, nodes);
    must(f->ducts[i].resistance.form != FACILITY_NO_RESISTANCE);
  }
  for (int i = 0; i < f->exhaust_count; i++) {
    index_in(f->exhausts[i].from, 0, nodes);
    index_in(f->exhausts[i].to, -1, nodes);
    index_in(f->exhausts[i].main, -1, f->main_count);
  }
  for (int i = 0; i < f->fan_count; i++) {
    const struct facility_fan *fan = &f->fans[i];

    index_in(fan->from, 0, nodes);
    index_in(fan->to, 0, nodes);
    index_in(fan->running, 0, fan->count + 1);
    must(fan->curve != FACILITY_CURVE_TABLE || fan->point_count >= 2);
    for (int k = 1; k < fan->point_count; k++)
      must(fan->flow_m3_s[k] > fan->flow_m3_s[k - 1]);
  }
}

static void pools_are_in_range(const struct facility *f)
{
  for (int i = 0; i < f->main_count; i++) {
    index_in(f->mains[i].at, -1, facility_node_count(f));
    for (int k = 0; k < f->mains[i].fan_count; k++)
      index_in(f->mains[i].fans[k], 0, f->fan_count);
    for (int k = 0; k < f->mains[i].declared.subtract_count; k++)
      index_in(f->mains[i].declared.subtract[k], 0, f->exhaust_count);
  }
  for (int i = 0; i < f->supply_count; i++)
    for (int k = 0; k < f->supplies[i].feed_count; k++) {
      index_in(f->supplies[i].feeds[k].room, 0, f->room_count);
      index_in(f->supplies[i].feeds[k].over, -1, facility_node_count(f));
    }
  for (int i = 0; i < f->station_count; i++) {
    index_in(f->stations[i].room, 0, f->room_count);
    index_in(f->stations[i].main, 0, f->main_count);
    index_in(f->stations[i].joins, -1, facility_node_outdoors(f));
    index_in(f->stations[i].criterion, -1, f->criterion_count);
  }
  for (int i = 0; i < f->room_count; i++)
    for (int k = 0; k < f->rooms[i].keep_count; k++)
      index_in(f->rooms[i].keeps[k].over, 0, facility_node_count(f));
}

static void scenes_fit(const struct facility *f)
{
  for (int s = 0; s < f->scene_count; s++) {
    for (int i = 0; i < f->fan_count; i++)
      index_in(f->scenes[s].fan_running[i], 0, f->fans[i].count + 1);
    for (int i = 0; i < f->station_count; i++)
      must(f->scenes[s].stations[i].opening_m >= 0);
  }
}

/* What is accepted as written is accepted in its merged form, as the same parts. */
static void merged_form_is_read(const struct facility *f, const struct facility_text *texts,
                                int count, struct complaints *complaints)
{
  struct buf out;

  buf_init(&out, (size_t)16 << 20);
  must(facility_print_merged(&texts[0], &texts[1], count - 1, complaints, &out));

  const struct facility_text text = {"merged", out.text, out.used};
  struct facility *again = facility_read_merged(&text, complaints);

  must(again != NULL && complaints->count == 0);
  must(strcmp(again->sha256, f->sha256) == 0 && strcmp(again->name, f->name) == 0);
  must(facility_node_count(again) == facility_node_count(f));
  must(again->station_count == f->station_count && again->scene_count == f->scene_count);
  facility_free(again);
  buf_release(&out);
}

/*
 * Whatever the bytes: either no facility, and something is said about a place
 * that exists; or a facility, nothing said, and every index leads somewhere.
 * A NUL-free line "---8<---" splits the input into a suite and an overlay.
 */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  static const char cut[] = "---8<---\n";
  const char *bytes = (const char *)data;
  struct facility_text texts[2] = {{"suite.yaml", bytes, size}, {"overlay.yaml", "", 0}};
  struct complaints complaints;
  struct arena arena;
  int count = 1;

  for (size_t i = 0; count == 1 && i + sizeof cut <= size; i++)
    if (memcmp(bytes + i, cut, sizeof cut - 1) == 0) {
      texts[0].size = i;
      texts[1].bytes = bytes + i + sizeof cut - 1;
      texts[1].size = size - i - (sizeof cut - 1);
      count = 2;
    }
  arena_init(&arena, SIZE_MAX);
  complaints_init(&complaints, &arena);

  struct facility *facility = facility_read(&texts[0], &texts[1], count - 1, &complaints);

  must((facility == NULL) == (complaints.count > 0));
  for (int i = 0; i < complaints.count; i++) {
    must(complaints.list[i].text[0] != '\0');
    place_is_inside(complaints.list[i].place, texts, count);
  }
  if (facility) {
    links_are_in_range(facility);
    pools_are_in_range(facility);
    scenes_fit(facility);
    for (int i = 0; i < facility_node_count(facility); i++)
      index_in(facility_node_find(facility, facility_node_id(facility, i)), 0,
               facility_node_count(facility));
    merged_form_is_read(facility, texts, count, &complaints);
  }
  facility_free(facility);
  arena_release(&arena);
  return 0;
}
