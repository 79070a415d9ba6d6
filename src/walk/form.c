/* The form: a table to fill in, the head of it for who, when and with what. */
#include "walk/walk_impl.h"

#include "walk/form_impl.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

const char *const walk_columns[WALK_COLUMN_COUNT] = {"reading", "step",     "set",       "read",
                                                     "how",     "unit",     "predicted", "from",
                                                     "to",      "measured", "remark"};

struct filling {
  struct arena *arena;
  const struct walk_plan *plan;
  enum units_system system;
  struct sheet_cell *cells;
  int row;
};

static void put(struct filling *f, int column, const char *text)
{
  struct sheet_cell *cell = &f->cells[f->row * WALK_COLUMN_COUNT + column];

  cell->kind = text && text[0] ? SHEET_TEXT : SHEET_EMPTY;
  cell->text = text ? text : "";
  cell->number = NAN;
}

static void head(struct filling *f, const char *what, const char *value, const char *hint)
{
  put(f, 0, what);
  put(f, 1, value);
  put(f, 2, hint);
  f->row++;
}

/* A number in the row's unit, without it. */
static const char *number(struct filling *f, double si, enum facility_gauge_of of)
{
  struct buf text;
  const char *out;

  buf_init(&text, 64);
  walk_print(&text, si, of, f->system);
  *strchr(text.text, ' ') = '\0'; /* the unit has a column of its own */
  out = arena_strdup(f->arena, text.text);
  buf_release(&text);
  return out;
}

static const char *typed(struct filling *f, double si, enum facility_gauge_of of)
{
  struct buf text;
  const char *out;

  buf_init(&text, 64);
  units_print_in(&text, si, walk_dimension(of), walk_unit(of, f->system));
  *strchr(text.text, ' ') = '\0';
  out = arena_strdup(f->arena, text.text);
  buf_release(&text);
  return out;
}

static const char *acts(struct filling *f, const struct walk_step *step)
{
  struct buf text;
  const char *out;

  buf_init(&text, 4096);
  if (step->technician)
    buf_puts(&text, "ONLY WITH THE VENTILATION TECHNICIAN. ");
  for (int i = 0; i < step->act_count; i++)
    buf_printf(&text, "%s%s", i ? " " : "", step->acts[i]);
  out = arena_strdup(f->arena, text.text);
  buf_release(&text);
  return out;
}

static void fill_reading(struct filling *f, int i, const struct walk_entry *entry)
{
  const struct walk_reading *r = &f->plan->readings[i];
  const struct walk_step *step = &f->plan->steps[r->step];
  enum facility_gauge_of of = r->quantity.of;

  put(f, WALK_COLUMN_READING, r->id);
  put(f, WALK_COLUMN_STEP, step->title);
  put(f, WALK_COLUMN_SET, i == step->first ? acts(f, step) : "");
  put(f, WALK_COLUMN_READ, r->what);
  put(f, WALK_COLUMN_HOW, r->how);
  put(f, WALK_COLUMN_UNIT, walk_unit(of, f->system));
  put(f, WALK_COLUMN_PREDICTED, number(f, r->predicted_si, of));
  put(f, WALK_COLUMN_FROM, number(f, r->predicted_si - r->band.half_si, of));
  put(f, WALK_COLUMN_TO, number(f, r->predicted_si + r->band.half_si, of));
  if (entry && entry->read)
    put(f, WALK_COLUMN_MEASURED, typed(f, entry->value_si, of));
  if (entry)
    put(f, WALK_COLUMN_REMARK, entry->remark);
  f->row++;
}

void walk_form(const struct walk_plan *plan, enum units_system system,
               const struct walk_readings *readings, struct buf *out)
{
  struct arena arena;
  int row_count = WALK_HEAD_ROWS + 1 + plan->reading_count;

  arena_init(&arena, (size_t)64 << 20);
  struct filling f = {&arena, plan, system,
                      ARENA_ARRAY(&arena, struct sheet_cell, (size_t)row_count * WALK_COLUMN_COUNT),
                      0};
  const struct facility *facility = plan->facility;

  BUG_IF(!f.cells);
  for (int i = 0; i < row_count * WALK_COLUMN_COUNT; i++)
    f.cells[i] = (struct sheet_cell){.kind = SHEET_EMPTY, .text = "", .number = NAN};
  head(&f, WALK_HEAD_TITLE, facility->name, facility->label);
  head(&f, WALK_HEAD_SUITE, facility->sha256, "do not change");
  head(&f, "scene", plan->scene, "");
  head(&f, WALK_HEAD_DATE, readings ? readings->date : NULL, "year-month-day");
  head(&f, WALK_HEAD_BY, readings ? readings->by : NULL, "");
  head(&f, "manometer", "", "its number and calibration date");
  head(&f, "anemometer", "", "its number and calibration date");
  head(&f, WALK_HEAD_MARK, "point", "point or comma: how you type 12.5");
  f.row++;
  BUG_IF(f.row != WALK_HEAD_ROWS);
  for (int i = 0; i < WALK_COLUMN_COUNT; i++)
    put(&f, i, walk_columns[i]);
  f.row++;
  for (int i = 0; i < plan->reading_count; i++)
    fill_reading(&f, i, readings ? &readings->entries[i] : NULL);

  struct sheet_table table = {
      .name = "", .row_count = row_count, .column_count = WALK_COLUMN_COUNT, .cells = f.cells};

  sheet_write_csv(&table, out);
  arena_release(&arena);
}
