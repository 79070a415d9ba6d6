#include "wet/wet_impl.h"

#include "bath/bath.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

/* How much stands in a cabinet, and out of one, against the limits that the house set. */

static const char foot[] =
    "By what somebody counted on that day, and flash points of the tables; a bottle of less than its full "
    "strength counts as the pure liquid. What depends on the building (sprinklers, construction, control "
    "areas) is not known here. Nothing that exceeds here is not a clearance: your code, and the authority, "
    "decide.";

/* Categories of GHS 2.6 and 29 CFR 1910.106(a)(19): a definition, not a limit. */
int wet_flash_category(double flash_K, double boiling_K)
{
  const double zero_K = 273.15;

  if (isnan(flash_K))
    return -1;
  if (flash_K < zero_K + 23)
    return boiling_K <= zero_K + 35 ? 1 : 2;
  if (flash_K <= zero_K + 60)
    return 3;
  return flash_K <= zero_K + 93 ? 4 : 0;
}

static const struct chem_substance *substance_of(const struct wet_place *place, const char *of)
{
  const struct chem_stock *stock = chem_find_stock(place->chem, of);

  return stock ? stock->substance : chem_find(place->chem, of);
}

static int category_of(const struct wet_place *place, const char *of)
{
  const struct chem_substance *s = substance_of(place, of);

  return s ? wet_flash_category(s->facts[CHEM_FLASH].si, s->facts[CHEM_BOILING].si) : -1;
}

static struct wet_sum sum(const struct wet_store *store, const struct chemicals_most *most)
{
  struct wet_sum out = {.most = most};

  for (int i = 0; i < store->store->amount_count; i++) {
    const struct chemicals_amount *a = &store->store->amounts[i];
    int category = store->categories[i];

    if (category < 0)
      out.unsure_m3 += a->volume_m3 * a->count;
    else if (category > 0 && most->categories[category - 1])
      out.volume_m3 += a->volume_m3 * a->count;
  }
  out.exceeds = out.volume_m3 > most->volume_m3;
  out.may_exceed = !out.exceeds && out.volume_m3 + out.unsure_m3 > most->volume_m3;
  return out;
}

static struct wet_store one(const struct wet_place *place, const struct chemicals_store *store,
                            struct arena *arena)
{
  struct wet_store out = {.store = store, .sum_count = store->most_count};
  int *categories = ARENA_ARRAY(arena, int, (size_t)store->amount_count + 1);
  const char **unsure = ARENA_ARRAY(arena, const char *, (size_t)store->amount_count + 1);
  struct wet_sum *sums = ARENA_ARRAY(arena, struct wet_sum, (size_t)store->most_count + 1);

  BUG_IF(!categories || !unsure || !sums);
  for (int i = 0; i < store->amount_count; i++) {
    categories[i] = category_of(place, store->amounts[i].of);
    out.volume_m3 += store->amounts[i].volume_m3 * store->amounts[i].count;
    if (categories[i] < 0)
      unsure[out.unsure_count++] = store->amounts[i].of;
  }
  out.categories = categories;
  out.unsure = unsure;
  for (int i = 0; i < store->most_count; i++)
    sums[i] = sum(&out, &store->mosts[i]);
  out.sums = sums;
  return out;
}

struct wet_stock *wet_stock(const struct wet_place *place, struct arena *arena)
{
  struct wet_stock *stock = ARENA_NEW(arena, struct wet_stock);
  int count = place->own ? place->own->store_count : 0;
  struct wet_store *stores = ARENA_ARRAY(arena, struct wet_store, (size_t)count + 1);

  BUG_IF(!stock || !stores);
  *stock = (struct wet_stock){.place = place, .count = count, .stores = stores};
  for (int i = 0; i < count; i++) {
    stores[i] = one(place, &place->own->stores[i], arena);
    stock->unsure |= stores[i].unsure_count > 0 || stores[i].sum_count == 0;
    for (int k = 0; k < stores[i].sum_count; k++)
      stock->exceeds |= stores[i].sums[k].exceeds;
  }
  return stock;
}

/* ---- for people ---- */

static const char *categories_words(const struct chemicals_most *most, struct arena *arena)
{
  const char *all = "";

  for (int i = 0; i < CHEMICALS_CATEGORIES; i++)
    if (most->categories[i])
      all = arena_printf(arena, "%s%s%d", all, *all ? ", " : "", i + 1);
  return all;
}

static void put_sum(const struct wet_sum *s, struct buf *out, struct arena *arena)
{
  const char *held = wet_quantity(s->volume_m3, UNITS_VOLUME, arena);
  const char *most = wet_quantity(s->most->volume_m3, UNITS_VOLUME, arena);
  const char *word = s->exceeds      ? "EXCEEDS"
                     : s->may_exceed ? "MAY EXCEED, by what has no flash point here"
                                     : "counted";

  wet_wrap(out, "  ",
           arena_printf(arena, "%s: category %s, %s against at most %s (%s)", word,
                        categories_words(s->most, arena), held, most, s->most->source));
}

static void put_amount(const struct chemicals_amount *a, int category, struct buf *out,
                       struct arena *arena)
{
  const char *word = category > 0 ? arena_printf(arena, "flammable liquid, category %d", category)
                     : category == 0 ? "flash point above category 4"
                                     : "no flash point in the tables: not counted, not known";

  wet_wrap(out, "    - ",
           arena_printf(arena, "%d × %s %s: %s", a->count,
                        wet_quantity(a->volume_m3, UNITS_VOLUME, arena), a->of, word));
}

void wet_stock_text(const struct wet_stock *stock, enum units_system system, struct buf *out)
{
  const struct wet_place *place = stock->place;
  struct arena arena;

  (void)system; /* bottles are in litres everywhere here; the limits say theirs in their source */
  arena_init(&arena, SIZE_MAX);
  buf_printf(out, "What stands where%s%s\n", place->facility->name ? ": " : "",
             place->facility->name ? place->facility->name : "");
  if (stock->count == 0)
    buf_puts(out, "The chemicals file of this suite names no stores: how much stands where is not "
                  "known. docs/chemicals-file.md shows how to write them.\n");
  for (int i = 0; i < stock->count; i++) {
    const struct wet_store *s = &stock->stores[i];

    buf_printf(out, "\n%s  %s (%s, %s), counted %s by %s\n", s->store->part.id, s->store->part.name,
               s->store->is_cabinet ? "cabinet" : "out of cabinet",
               facility_node_id(place->facility, s->store->room), s->store->counted, s->store->by);
    if (s->sum_count == 0)
      buf_puts(out, "  NOT KNOWN: no limit is set for it\n");
    for (int k = 0; k < s->sum_count; k++)
      put_sum(&s->sums[k], out, &arena);
    for (int k = 0; k < s->store->amount_count; k++)
      put_amount(&s->store->amounts[k], s->categories[k], out, &arena);
  }
  buf_putc(out, '\n');
  wet_wrap(out, "", foot);
  arena_release(&arena);
}

/* ---- for programs ---- */

static void sums_json(const struct wet_store *s, struct emit *json)
{
  emit_array(json, "limits");
  for (int i = 0; i < s->sum_count; i++) {
    const struct wet_sum *sum = &s->sums[i];

    emit_object(json, NULL);
    emit_array(json, "categories");
    for (int k = 0; k < CHEMICALS_CATEGORIES; k++)
      if (sum->most->categories[k])
        emit_int(json, NULL, k + 1);
    emit_close(json);
    emit_number(json, "most_m3", sum->most->volume_m3);
    emit_number(json, "held_m3", sum->volume_m3);
    emit_number(json, "not_known_m3", sum->unsure_m3);
    emit_text(json, "says",
              sum->exceeds      ? "exceeds"
              : sum->may_exceed ? "may exceed"
                                : "not a clearance");
    emit_text(json, "source", sum->most->source);
    emit_close(json);
  }
  emit_close(json);
}

static void amounts_json(const struct wet_store *s, struct emit *json)
{
  emit_array(json, "holds");
  for (int i = 0; i < s->store->amount_count; i++) {
    const struct chemicals_amount *a = &s->store->amounts[i];

    emit_object(json, NULL);
    emit_text(json, "of", a->of);
    emit_number(json, "volume_m3", a->volume_m3);
    emit_int(json, "count", a->count);
    if (s->categories[i] < 0)
      emit_null(json, "category");
    else
      emit_int(json, "category", s->categories[i]);
    emit_close(json);
  }
  emit_close(json);
}

void wet_stock_json(const struct wet_stock *stock, struct buf *out)
{
  const struct wet_place *place = stock->place;
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.stock.1");
  emit_text(&json, "suite", place->facility->name);
  emit_text(&json, "label", place->facility->label);
  emit_text(&json, "suite_sha256", place->facility->sha256);
  emit_text(&json, "chemicals_sha256", place->own ? place->own->sha256 : NULL);
  emit_text(&json, "caution", foot);
  emit_array(&json, "stores");
  for (int i = 0; i < stock->count; i++) {
    const struct wet_store *s = &stock->stores[i];

    emit_object(&json, NULL);
    emit_text(&json, "id", s->store->part.id);
    emit_text(&json, "name", s->store->part.name);
    emit_text(&json, "kind", s->store->is_cabinet ? "cabinet" : "out of cabinet");
    emit_text(&json, "room", facility_node_id(place->facility, s->store->room));
    emit_text(&json, "counted", s->store->counted);
    emit_text(&json, "by", s->store->by);
    emit_number(&json, "volume_m3", s->volume_m3);
    sums_json(s, &json);
    amounts_json(s, &json);
    emit_close(&json);
  }
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}
