#include "facility/facility.h"

#include "check.h"
#include "suite_text.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

/* One reading and what it said. */
struct reading {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
};

static struct facility_text text_of(const char *file, const char *bytes)
{
  return (struct facility_text){file, bytes, strlen(bytes)};
}

static void read_suite(struct reading *r, const char *suite, const char *overlay)
{
  struct facility_text s = text_of("suite.yaml", suite), o;

  arena_init(&r->arena, SIZE_MAX);
  complaints_init(&r->complaints, &r->arena);
  if (overlay)
    o = text_of("overlay.yaml", overlay);
  r->facility = facility_read(&s, overlay ? &o : NULL, overlay ? 1 : 0, &r->complaints);
  for (int i = 0; i < r->complaints.count; i++)
    check_case("%s:%d:%d: %s", r->complaints.list[i].place.file, r->complaints.list[i].place.line,
               r->complaints.list[i].place.column, r->complaints.list[i].text);
}

static void drop(struct reading *r)
{
  facility_free(r->facility);
  arena_release(&r->arena);
}

static void a_whole_suite_is_read_without_a_fault(void)
{
  struct reading r;

  read_suite(&r, whole_suite, NULL);
  CHECK_INT(r.complaints.count, 0);
  REQUIRE(r.facility != NULL);

  const struct facility *f = r.facility;

  CHECK_STR(f->name, "Quillmere Microfabrication");
  CHECK_STR(f->label, "DEMO");
  CHECK_INT(f->room_count, 4);
  CHECK_INT(f->junction_count, 3);
  CHECK_INT(facility_node_count(f), 4 + 3 + 1 + 1);
  CHECK_STR(facility_node_id(f, 0), "Etch");
  CHECK_STR(facility_node_id(f, 4), "A-plenum");
  CHECK_INT(facility_node_outdoors(f), 7);
  CHECK_STR(facility_node_id(f, facility_node_plenum(f, 0)), "MU1/plenum");
  CHECK_INT(facility_node_find(f, "outdoors"), 7);
  CHECK_INT(facility_node_find(f, "nowhere"), -1);
  drop(&r);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_whole_suite_is_read_without_a_fault);
  return check_end();
}
