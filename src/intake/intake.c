#include "intake/intake_impl.h"

#include <stdarg.h>
#include <string.h>

enum { MOST_REMARKS = 2000 };

const char *intake_text(struct intake *in, const char *fmt, ...)
{
  va_list args;
  const char *text;

  va_start(args, fmt);
  text = arena_vprintf(in->arena, fmt, args);
  va_end(args);
  BUG_IF(!text);
  return text;
}

const char *intake_place(struct intake *in, int row, int column)
{
  char place[200];

  if (row < 0)
    return in->table.sheet && in->table.sheet->name[0] != '\0' ? in->table.sheet->name : "";
  sheet_place(in->table.sheet, row, column < 0 ? 0 : column, place, sizeof place);
  return intake_text(in, "%s", place);
}

void intake_remark(struct intake *in, enum intake_weight weight, int row, int column,
                   const char *fmt, ...)
{
  va_list args;

  if (in->remark_count == MOST_REMARKS) {
    in->remarks_dropped++;
    return;
  }
  if (in->remark_count == in->remark_room) {
    int room = in->remark_room ? 2 * in->remark_room : 32;
    struct intake_remark *more = ARENA_ARRAY(in->arena, struct intake_remark, (size_t)room);

    BUG_IF(!more);
    if (in->remark_count > 0)
      memcpy(more, in->remarks, (size_t)in->remark_count * sizeof *more);
    in->remarks = more;
    in->remark_room = room;
  }
  va_start(args, fmt);
  in->remarks[in->remark_count++] = (struct intake_remark){
      weight, row, column, intake_place(in, row, column), arena_vprintf(in->arena, fmt, args)};
  va_end(args);
}

struct intake *intake_read(const struct sheet_book *book, const char *choice, struct arena *arena,
                           struct complaints *complaints)
{
  struct intake *in = ARENA_NEW(arena, struct intake);

  BUG_IF(!in);
  in->book = book;
  in->arena = arena;
  in->complaints = complaints;
  if (!intake_find_table(in, choice))
    return NULL;
  in->header_remarks = in->remark_count;
  intake_open_questions(in);
  return in;
}

struct intake_result intake_heard(struct intake *in)
{
  struct intake_result heard = in->result;

  heard.table = in->table.sheet->name;
  heard.header_row = in->table.header_row;
  heard.station_count = in->station_count;
  heard.remark_count = in->header_remarks;
  heard.remarks = in->remarks;
  return heard;
}

static int compare(const struct intake_remark *a, const struct intake_remark *b)
{
  return a->row != b->row ? (a->row > b->row) - (a->row < b->row)
                          : (a->column > b->column) - (a->column < b->column);
}

/* By place; those of one place stay in order. */
static void sort_remarks(struct intake *in)
{
  for (int i = 1; i < in->remark_count; i++) {
    struct intake_remark moving = in->remarks[i];
    int j = i;

    for (; j > 0 && compare(&in->remarks[j - 1], &moving) > 0; j--)
      in->remarks[j] = in->remarks[j - 1];
    in->remarks[j] = moving;
  }
}

const struct intake_result *intake_finish(struct intake *in)
{
  struct intake_result *result = &in->result;

  if (in->finished)
    return result;
  in->finished = true;
  for (int i = 0; i < in->table.column_count; i++)
    in->table.columns[i].unit_asked = true;
  intake_read_stations(in);
  intake_settle_flows(in);
  for (int i = 0; i < in->station_count; i++) {
    result->station_count += in->stations[i].flow != NULL;
    result->left_out_count += in->stations[i].flow == NULL;
  }
  sort_remarks(in);
  result->table = in->table.sheet->name;
  result->header_row = in->table.header_row;
  result->remarks = in->remarks;
  result->remark_count = in->remark_count;
  result->remarks_dropped = in->remarks_dropped;
  return result;
}
