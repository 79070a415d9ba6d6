#include "fault/fault.h"

#include "base/emit.h"

#include <string.h>

/* What a person says of a finding, as an entry of the record keeps it. */

static bool is_leak(const struct facility *facility, const char *id)
{
  for (int i = 0; i < facility->leak_count; i++)
    if (strcmp(facility->leaks[i].part.id, id) == 0)
      return true;
  return false;
}

bool fault_can_be_at(const struct facility *facility, const struct feeds *feeds,
                     enum fault_kind kind, const char *id)
{
  int unit;

  switch ((int)kind) {
  case FAULT_DOOR_OPEN:
    return facility_door_find(facility, id) >= 0;
  case FAULT_STUCK_SENSOR:
  case FAULT_WRONG_UNIT:
  case FAULT_DRIFTING_SENSOR:
    return feeds_point_find(feeds, id) >= 0;
  case FAULT_LOADED_FILTER:
    return facility_duct_find(facility, id) >= 0;
  case FAULT_WORN_FAN:
  case FAULT_BACK_DRAUGHT:
    return facility_fan_find(facility, id, &unit) >= 0;
  case FAULT_LEAK_GREW:
    return is_leak(facility, id);
  default:
    return facility_station_find(facility, id) >= 0;
  }
}

void fault_about(const struct facility *facility, const struct feeds *feeds, const char *id,
                 struct buf *out)
{
  int point = feeds_point_find(feeds, id);

  if (point >= 0)
    feeds_about(facility, &feeds->points[point], out);
  else
    buf_puts(out, id);
}

void fault_kinds_list(struct buf *out)
{
  for (int i = 0; i < FAULT_KIND_COUNT; i++)
    buf_printf(out, "%s%s", i > 0 ? ", " : "", fault_kind_name((enum fault_kind)i));
}

void fault_answer_json(enum fault_kind kind, const char *part, const char *since, struct buf *out)
{
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.answer.1");
  emit_text(&json, "kind", fault_kind_name(kind));
  emit_text(&json, "part", part);
  emit_text(&json, "since", since);
  emit_close(&json);
  emit_end(&json);
}
