#include "draw/draw_impl.h"

#include <math.h>

static double all_columns_mm(const struct draw_table *table)
{
  double width_mm = 0;

  for (int i = 0; i < table->column_count; i++)
    width_mm += table->columns[i].width_mm;
  return width_mm;
}

static struct draw_text cell_text(const struct draw_table *table, int column, const char *words,
                                  const char *from)
{
  return (struct draw_text){.text = words,
                            .from = from,
                            .size_pt = table->size_pt,
                            .align = table->columns[column].align};
}

static void rule(struct draw *draw, const struct draw_table *table, double line_mm)
{
  struct draw_point left = {draw->area.x_mm, draw->y_mm},
                    right = {draw->area.x_mm + all_columns_mm(table), draw->y_mm};

  draw_line(draw, left, right, &(struct draw_look){.line_mm = line_mm, .line = DRAW_BLACK});
}

static struct draw_text head_text(const struct draw_table *table, int column)
{
  struct draw_text text = cell_text(table, column, table->columns[column].head, "head of a table");

  text.size_pt = table->head_size_pt;
  text.bold = true;
  return text;
}

void draw_table_head(struct draw *draw, const struct draw_table *table)
{
  double x_mm = draw->area.x_mm, height_mm = 0;

  BUG_IF(all_columns_mm(table) > draw->area.width_mm + 0.1);
  for (int i = 0; i < table->column_count; i++) {
    struct draw_text text = head_text(table, i);

    height_mm =
        fmax(height_mm,
             draw_text_height_mm(draw, &text, table->columns[i].width_mm - 2 * table->pad_mm));
  }
  draw_need(draw, height_mm + 2 * table->pad_mm + table->least_height_mm);
  for (int i = 0; i < table->column_count; i++) {
    struct draw_text text = head_text(table, i);
    double width_mm = table->columns[i].width_mm;

    draw_text(draw, &text,
              (struct draw_place){x_mm + table->pad_mm, draw->y_mm + table->pad_mm,
                                  width_mm - 2 * table->pad_mm, 0});
    x_mm += width_mm;
  }
  draw->y_mm += height_mm + 2 * table->pad_mm;
  rule(draw, table, 0.5);
}

static double row_height_mm(struct draw *draw, const struct draw_table *table,
                            const char *const *cells, const char *from)
{
  double height_mm = 0;

  for (int i = 0; i < table->column_count; i++) {
    struct draw_text text = cell_text(table, i, cells[i], from);

    height_mm =
        fmax(height_mm,
             draw_text_height_mm(draw, &text, table->columns[i].width_mm - 2 * table->pad_mm));
  }
  return fmax(height_mm + 2 * table->pad_mm, table->least_height_mm);
}

/* A page begun in the middle of a table repeats its head. */
static void make_room(struct draw *draw, const struct draw_table *table, double height_mm)
{
  if (draw->y_mm + height_mm <= draw->area.y_mm + draw->area.height_mm)
    return;
  draw_page(draw);
  draw_table_head(draw, table);
}

struct draw_place draw_table_row(struct draw *draw, const struct draw_table *table,
                                 const char *const *cells, const char *from, bool marked)
{
  double height_mm = row_height_mm(draw, table, cells, from), x_mm = draw->area.x_mm;

  if (height_mm > draw->area.height_mm * 0.8) {
    draw_complain(draw, from, "its row would be higher than a page; shorten it");
    return (struct draw_place){x_mm, draw->y_mm, all_columns_mm(table), table->least_height_mm};
  }
  make_room(draw, table, height_mm);

  struct draw_place row = {x_mm, draw->y_mm, all_columns_mm(table), height_mm};

  for (int i = 0; i < table->column_count; i++) {
    struct draw_text text = cell_text(table, i, cells[i], from);
    double width_mm = table->columns[i].width_mm - 2 * table->pad_mm,
           used_mm = draw_text_height_mm(draw, &text, width_mm);

    draw_text(draw, &text,
              (struct draw_place){x_mm + table->pad_mm, row.y_mm + (height_mm - used_mm) / 2,
                                  width_mm, 0});
    x_mm += table->columns[i].width_mm;
  }
  if (marked)
    draw_box(draw, (struct draw_place){row.x_mm - 2, row.y_mm + 0.3, 1.2, height_mm - 0.6},
             &(struct draw_look){.filled = true, .fill = DRAW_BLACK});
  draw->y_mm += height_mm;
  rule(draw, table, 0.15);
  return row;
}
