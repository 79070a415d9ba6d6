#include "base/emit.h"
#include "may/may_impl.h"

/* What is done where: the processes of the suite. */

void may_processes_text(const struct may_place *place, struct buf *out)
{
  const struct processes *all = place->processes;

  for (int i = 0; all && i < all->count; i++) {
    const struct processes_process *p = &all->list[i];

    buf_printf(out, "%-6s %-32s", p->part.id, p->part.name);
    for (int k = 0; k < p->station_count; k++)
      buf_printf(out, "%s%s", k > 0 ? ", " : " at ",
                 place->facility->stations[p->stations[k]].part.id);
    buf_putc(out, '\n');
  }
}

void may_processes_json(const struct may_place *place, struct buf *out)
{
  const struct processes *all = place->processes;
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.processes.1");
  emit_text(&json, "suite", place->facility->name);
  emit_text(&json, "label", place->facility->label);
  emit_text(&json, "suite_sha256", place->facility->sha256);
  emit_text(&json, "processes_sha256", all ? all->sha256 : NULL);
  emit_text(&json, "permission_by", all ? all->permission_by : NULL);
  emit_array(&json, "processes");
  for (int i = 0; all && i < all->count; i++) {
    const struct processes_process *p = &all->list[i];

    emit_object(&json, NULL);
    emit_text(&json, "id", p->part.id);
    emit_text(&json, "name", p->part.name);
    emit_array(&json, "stations");
    for (int k = 0; k < p->station_count; k++)
      emit_text(&json, NULL, place->facility->stations[p->stations[k]].part.id);
    emit_close(&json);
    emit_text(&json, "family", processes_family_word(p->family));
    emit_number(&json, "lasts_s", p->lasts_s);
    emit_number(&json, "unattended_s", p->unattended_s);
    emit_close(&json);
  }
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}
