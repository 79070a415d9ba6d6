#include "feed/feed_impl.h"

#include "base/spelling.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Is this the table that the mapping is about?  Its columns are looked for by name. */

enum { ROWS_BEFORE = 10, TOLD_MISSING = 5, LINE_SHOWN = 160 };

struct wanted {
  const char *name; /* of a column */
  int *at;          /* where to put where it is; NULL for points */
};

struct finding {
  const struct feeds *feeds;
  int source;
  const struct feeds_table *table;
  const char *file;
  struct arena *arena;
  struct complaints *complaints;
  struct wanted *wanted;
  int count;
  const char *first_line, *end;
};

static bool is_named(struct feed_span cell, const char *name)
{
  size_t size = strlen(name);

  return cell.size == size && memcmp(cell.at, name, size) == 0;
}

static int column_of(const struct feed_rows *rows, const char *name, int from)
{
  for (int i = from; i < rows->cell_count; i++)
    if (is_named(rows->cells[i], name))
      return i;
  return -1;
}

static struct feed_span trimmed_name(const char *name)
{
  return feed_trim(name, strlen(name));
}

static void want(struct finding *f, const char *name, int *at)
{
  struct feed_span trimmed;
  char *copy;

  if (at)
    *at = -1;
  if (!name)
    return;
  trimmed = trimmed_name(name);
  copy = arena_printf(f->arena, "%.*s", (int)trimmed.size, trimmed.at);
  if (copy)
    f->wanted[f->count++] = (struct wanted){copy, at};
}

static bool want_all(struct finding *f, struct feed_header *out)
{
  const struct feeds_table *t = f->table;

  f->wanted = ARENA_ARRAY(f->arena, struct wanted, (size_t)f->feeds->point_count + 8);
  if (!f->wanted)
    return false;
  want(f, t->time_column, &out->time);
  want(f, t->date_column, &out->date);
  if (t->shape == FEEDS_LONG) {
    want(f, t->point_column, &out->point);
    want(f, t->value_column, &out->value);
    want(f, t->unit_column, &out->unit);
    want(f, t->status_column, &out->status);
    return true;
  }
  for (int i = 0; i < f->feeds->point_count; i++)
    if (f->feeds->points[i].source == f->source)
      want(f, f->feeds->points[i].at, NULL);
  return true;
}

static int found_in(const struct finding *f, const struct feed_rows *rows)
{
  int found = 0;

  for (int i = 0; i < f->count; i++)
    found += column_of(rows, f->wanted[i].name, 0) >= 0;
  return found;
}

/* ---- refusing ---- */

static void show_lines(const struct finding *f, struct buf *out)
{
  const char *at = f->first_line;
  char room[FEED_SHOWN];

  for (int line = 1; line <= 10 && at < f->end; line++) {
    size_t size = 0;

    while (at + size < f->end && at[size] != '\n' && at[size] != '\r')
      size++;
    buf_printf(out, "\n    %2d | ", line);
    for (size_t from = 0, part; from < size && from < LINE_SHOWN; from += part) {
      /* In parts that end at a character, each made fit to print. */
      part = size - from > 40 ? 40 : size - from;
      while (part < size - from && part > 1 && ((unsigned char)at[from + part] & 0xc0) == 0x80)
        part--;
      buf_puts(out, feed_shown((struct feed_span){at + from, part}, room));
    }
    buf_puts(out, size > LINE_SHOWN ? " ..." : "");
    at += size;
    at += at + 1 < f->end && at[0] == '\r' && at[1] == '\n' ? 2 : 1;
  }
}

static void refuse(const struct finding *f, int line, const char *what)
{
  struct buf shown;

  buf_init(&shown, 1 << 14);
  show_lines(f, &shown);
  complaints_add(f->complaints, (struct place){f->file, line, line > 0 ? 1 : 0}, 0,
                 "%s; nothing was read. The table begins:%s", what, shown.text);
  buf_release(&shown);
}

static const char *nearest(const struct feed_rows *rows, const char *name, char room[FEED_SHOWN])
{
  int best = 4;
  const char *found = NULL;
  size_t length = strlen(name);

  for (int i = 0; i < rows->cell_count; i++) {
    struct feed_span cell = rows->cells[i];
    char text[SPELLING_LONGEST + 1];
    size_t shorter = cell.size < length ? cell.size : length;
    bool begins = shorter > 2 && memcmp(cell.at, name, shorter) == 0;

    if (cell.size == 0 || cell.size > SPELLING_LONGEST)
      continue;
    memcpy(text, cell.at, cell.size);
    text[cell.size] = '\0';

    /* "A3 flow" beside "A3 flow [m3/h]" is as near as a slip of one letter. */
    int distance = begins ? 1 : spelling_distance(name, length, text, best);

    if (distance < best) {
      best = distance;
      found = feed_shown(cell, room);
    }
  }
  return found;
}

static void refuse_columns(const struct finding *f, const struct feed_rows *rows)
{
  char room[FEED_SHOWN], name[FEED_SHOWN];
  int missing = 0, line = rows->row_line;

  for (int i = 0; i < f->count; i++) {
    if (column_of(rows, f->wanted[i].name, 0) >= 0)
      continue;
    if (++missing > TOLD_MISSING)
      continue;

    const char *near = nearest(rows, f->wanted[i].name, room);

    feed_shown(trimmed_name(f->wanted[i].name), name);
    complaints_add(f->complaints, (struct place){f->file, line, 1}, 0,
                   near ? "there is no column '%s'; there is '%s'" : "there is no column '%s'",
                   name, near);
  }
  if (missing > TOLD_MISSING)
    complaints_add(f->complaints, (struct place){f->file, line, 1}, 0, "and %d more",
                   missing - TOLD_MISSING);
  refuse(f, line, "these are not the columns of the mapping");
}

/* `columns` is the whole header, in order. */
static bool is_declared(const struct finding *f, const struct feed_rows *rows)
{
  const struct feeds_table *t = f->table;
  char room[FEED_SHOWN], name[FEED_SHOWN];

  for (int i = 0; i < t->column_count || i < rows->cell_count; i++) {
    struct feed_span want_name =
        i < t->column_count ? trimmed_name(t->columns[i]) : (struct feed_span){"", 0};
    struct feed_span cell = i < rows->cell_count ? rows->cells[i] : (struct feed_span){"", 0};

    if (cell.size == want_name.size && memcmp(cell.at, want_name.at, cell.size) == 0)
      continue;
    complaints_add(f->complaints, (struct place){f->file, rows->row_line, 1}, 0,
                   "column %d is '%s' and not '%s'", i + 1, feed_shown(cell, room),
                   feed_shown(want_name, name));
    refuse(f, rows->row_line, "these are not the columns of the mapping");
    return false;
  }
  return true;
}

static bool each_once(const struct finding *f, const struct feed_rows *rows)
{
  char name[FEED_SHOWN];

  for (int i = 0; i < f->count; i++) {
    int first = column_of(rows, f->wanted[i].name, 0);
    int again = column_of(rows, f->wanted[i].name, first + 1);

    if (again < 0)
      continue;
    complaints_add(f->complaints,
                   (struct place){f->file, rows->row_line, feed_cell_column(rows, again)}, 0,
                   "column '%s' stands twice, in columns %d and %d; which is meant cannot be told",
                   feed_shown(trimmed_name(f->wanted[i].name), name), first + 1, again + 1);
    refuse(f, rows->row_line, "a column of the mapping stands twice");
    return false;
  }
  return true;
}

/* ---- units in the header ---- */

struct feed_span feed_header_unit(struct feed_span name)
{
  char open = '\0';

  if (name.size > 2 && name.at[name.size - 1] == ']')
    open = '[';
  else if (name.size > 2 && name.at[name.size - 1] == ')')
    open = '(';
  for (size_t i = name.size - 1; open && i > 0; i--)
    if (name.at[i - 1] == open)
      return feed_trim(name.at + i, name.size - 1 - i);
  return (struct feed_span){name.at, 0};
}

static bool si_of(const char *unit, enum units_dimension dimension, double *si_out)
{
  struct units_quantity read;
  char text[80];

  snprintf(text, sizeof text, "1 %s", unit);
  if (units_parse(text, dimension, UNITS_NOTHING, &read, NULL) != ERR_OK)
    return false;
  *si_out = read.si;
  return true;
}

/* The header's own unit is another one than the mapping's, of the same kind. */
static bool contradicts(const struct feeds_point *p, struct feed_span said)
{
  char unit[48];
  double theirs, ours;

  if (!p->unit_text || said.size == 0 || said.size >= sizeof unit)
    return false;
  memcpy(unit, said.at, said.size);
  unit[said.size] = '\0';
  return units_knows(unit, p->dimension) && si_of(unit, p->dimension, &theirs) &&
         si_of(p->unit_text, p->dimension, &ours) && fabs(theirs - ours) > 1e-9 * fabs(ours);
}

static bool units_agree(const struct finding *f, const struct feed_rows *rows,
                        const struct feed_header *header)
{
  char room[FEED_SHOWN];
  int before = f->complaints->count + f->complaints->dropped;

  for (int i = 0; i < header->read_count; i++) {
    const struct feeds_point *p = &f->feeds->points[header->reads[i].point];
    int column = header->reads[i].column;
    struct feed_span said = feed_header_unit(rows->cells[column]);

    if (contradicts(p, said))
      complaints_add(
          f->complaints, (struct place){f->file, rows->row_line, feed_cell_column(rows, column)}, 0,
          "the header says %s and point %s of the mapping says %s; mend 'unit' there (where "
          "the header is wrong, give its unit and a 'factor')",
          feed_shown(said, room), p->part.id, p->unit_text);
  }
  if (f->complaints->count + f->complaints->dropped == before)
    return true;
  refuse(f, rows->row_line, "units contradict each other");
  return false;
}

/* ---- what was found ---- */

static int by_column(const void *a, const void *b)
{
  const struct feed_read *x = a, *y = b;

  if (x->column != y->column)
    return x->column < y->column ? -1 : 1;
  return x->point < y->point ? -1 : x->point > y->point;
}

static bool list_reads(const struct finding *f, const struct feed_rows *rows,
                       struct feed_header *out)
{
  out->reads = ARENA_ARRAY(f->arena, struct feed_read, (size_t)f->feeds->point_count + 1);
  if (!out->reads)
    return false;
  for (int i = 0; i < f->feeds->point_count; i++) {
    const struct feeds_point *p = &f->feeds->points[i];
    struct feed_span name =
        p->source == f->source ? trimmed_name(p->at) : (struct feed_span){"", 0};

    if (p->source != f->source || f->table->shape == FEEDS_LONG)
      continue;
    for (int c = 0; c < rows->cell_count; c++)
      if (rows->cells[c].size == name.size && memcmp(rows->cells[c].at, name.at, name.size) == 0) {
        out->reads[out->read_count++] = (struct feed_read){.column = c, .point = i};
        break;
      }
  }
  if (out->read_count > 1)
    qsort(out->reads, (size_t)out->read_count, sizeof *out->reads, by_column);
  return true;
}

static bool is_used(const struct feed_header *h, int column)
{
  if (column == h->time || column == h->date || column == h->point || column == h->value ||
      column == h->unit || column == h->status)
    return true;
  for (int i = 0; i < h->read_count; i++)
    if (h->reads[i].column == column)
      return true;
  return false;
}

static bool list_unmapped(const struct finding *f, const struct feed_rows *rows,
                          const struct feed_header *header, struct feed_table_report *report)
{
  const char **names = ARENA_ARRAY(f->arena, const char *, (size_t)rows->cell_count + 1);
  char room[FEED_SHOWN];

  if (!names)
    return false;
  for (int c = 0; c < rows->cell_count; c++)
    if (rows->cells[c].size > 0 && !is_used(header, c)) {
      names[report->unmapped_count] = arena_strdup(f->arena, feed_shown(rows->cells[c], room));
      if (!names[report->unmapped_count++])
        return false;
    }
  report->unmapped = names;
  return true;
}

static bool settle(const struct finding *f, const struct feed_rows *rows, struct feed_header *out,
                   struct feed_table_report *report)
{
  if (f->table->columns && !is_declared(f, rows))
    return false;
  if (!each_once(f, rows))
    return false;
  for (int i = 0; i < f->count; i++)
    if (f->wanted[i].at)
      *f->wanted[i].at = column_of(rows, f->wanted[i].name, 0);
  out->column_count = rows->cell_count;
  if (!list_reads(f, rows, out) ||
      (f->table->shape == FEEDS_WIDE && !list_unmapped(f, rows, out, report))) {
    complaints_add(f->complaints, (struct place){f->file, 0, 0}, 0,
                   "the file holds more than can be kept");
    return false;
  }
  return units_agree(f, rows, out);
}

bool feed_header_find(const struct feed_table_job *job, struct feed_rows *rows, struct arena *arena,
                      struct complaints *complaints, struct feed_header *out,
                      struct feed_table_report *report)
{
  struct finding f = {.feeds = job->feeds,
                      .source = job->source,
                      .table = &job->feeds->sources[job->source].table,
                      .file = job->text->file,
                      .arena = arena,
                      .complaints = complaints,
                      .first_line = rows->at,
                      .end = rows->end};
  struct feed_rows best = *rows;
  int most = -1;
  const char *row = NULL;

  *out = (struct feed_header){
      .time = -1, .date = -1, .point = -1, .value = -1, .unit = -1, .status = -1};
  if (!want_all(&f, out)) {
    complaints_add(complaints, (struct place){job->text->file, 0, 0}, 0,
                   "the file holds more than can be kept");
    return false;
  }
  for (int i = 0; i < ROWS_BEFORE; i++) {
    struct feed_rows before = *rows;

    if (!feed_rows_next(rows, true))
      break;

    int found = rows->fault ? -1 : found_in(&f, rows);

    if (found == f.count)
      return settle(&f, rows, out, report);
    if (found > most) {
      most = found;
      best = before;
      row = rows->row;
    }
  }
  *rows = best;
  if (row && feed_rows_next(rows, true))
    refuse_columns(&f, rows);
  else
    refuse(&f, 0, "the first rows cannot be told apart into cells: is it the right separator?");
  return false;
}
