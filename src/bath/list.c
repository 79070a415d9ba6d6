#include "bath/bath.h"

#include "base/emit.h"
#include "facility/chemicals.h"

/* What can be named: the suite's own first.  A page fills its lists with it, a person looks names up. */

static void one(struct emit *json, const char *id, const char *name, bool own)
{
  emit_object(json, NULL);
  emit_text(json, "id", id);
  emit_text(json, "name", name);
  emit_bool(json, "own", own);
  emit_close(json);
}

static void baths(const struct bath_place *place, struct arena *arena, struct emit *json)
{
  const struct chem_table *t = chem_table("baths", arena);

  emit_array(json, "baths");
  for (int i = 0; place->own && i < place->own->bath_count; i++)
    one(json, place->own->baths[i].part.id, place->own->baths[i].part.name, true);
  for (int i = 0; i < t->row_count; i++)
    one(json, chem_cell(t, i, "id"), chem_cell(t, i, "name"), false);
  emit_close(json);
}

void bath_names_json(const struct bath_place *place, struct arena *arena, struct buf *out)
{
  const struct chem *chem = chem_with(place->chem, place->own, arena);
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.chemicals.1");
  emit_text(&json, "suite", place->facility ? place->facility->name : NULL);
  emit_text(&json, "label", place->facility ? place->facility->label : NULL);
  emit_text(&json, "chemicals_sha256", place->own ? place->own->sha256 : NULL);
  baths(place, arena, &json);
  emit_array(&json, "bottles");
  for (int i = 0; i < chem->stock_count; i++)
    one(&json, chem->stocks[i].id, chem->stocks[i].name, chem->stocks[i].of.basis == CHEM_SUITE);
  emit_close(&json);
  emit_array(&json, "substances");
  for (int i = 0; i < chem->substance_count; i++)
    one(&json, chem->substances[i].id, chem->substances[i].name, false);
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}

void bath_names_text(const struct bath_place *place, struct arena *arena, struct buf *out)
{
  const struct chem *chem = chem_with(place->chem, place->own, arena);
  const struct chem_table *t = chem_table("baths", arena);

  for (int i = 0; place->own && i < place->own->bath_count; i++)
    buf_printf(out, "  %-18s %s (of this suite)\n", place->own->baths[i].part.id,
               place->own->baths[i].part.name);
  for (int i = 0; i < t->row_count; i++)
    buf_printf(out, "  %-18s %s\n", chem_cell(t, i, "id"), chem_cell(t, i, "name"));
  buf_puts(out, "\nBottles\n");
  for (int i = 0; i < chem->stock_count; i++)
    buf_printf(out, "  %-18s %s%s\n", chem->stocks[i].id, chem->stocks[i].name,
               chem->stocks[i].of.basis == CHEM_SUITE ? " (of this suite)" : "");
  buf_puts(out, "\nOther bottles: a substance at its assay, hf@48wt%. A name is no permission.\n");
}
