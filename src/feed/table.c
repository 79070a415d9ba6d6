#include "feed/feed_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A whole exported table to observations. */

enum { UNMAPPED_MOST = 200, UNIT_ROOM = 48 };

/* Points of a long table by the name they have there. */
struct name {
  struct feed_span text;
  int point;
  bool told;
  struct feed_fold fold; /* of the first point of that name */
};

struct reading {
  const struct feeds *feeds;
  int source;
  const struct feeds_source *from;
  const struct feeds_table *table;
  const struct when_zone *zone;
  struct when_pattern pattern;
  const char *file;
  int64_t seen_ms;
  const struct feed_sink *sink;
  struct arena *arena;
  struct complaints *complaints;
  struct feed_table_report *report;
  struct feed_rows rows;
  struct feed_header header;
  struct feed_fold fold; /* WIDE */
  struct name *names;    /* LONG, by text */
  int name_count;
  const char **unmapped;
  bool may_be_missing[256]; /* first bytes of the words of `missing` */
  bool told_future, was_never;
};

static void complain(struct reading *r, int line, int column, const char *fmt, ...)
    PRINTF_LIKE(4, 5);
static void complain(struct reading *r, int line, int column, const char *fmt, ...)
{
  struct buf said;
  va_list args;

  buf_init(&said, 1000);
  va_start(args, fmt);
  buf_vprintf(&said, fmt, args);
  va_end(args);
  complaints_add(r->complaints, (struct place){r->file, line, column}, 0, "%s", said.text);
  buf_release(&said);
}

/* ---- values ---- */

static void note_missing_words(struct reading *r)
{
  for (int i = 0; i < r->table->missing_count; i++) {
    unsigned char first = (unsigned char)r->table->missing[i][0];

    r->may_be_missing[first] = true;
    if ((first | 0x20) >= 'a' && (first | 0x20) <= 'z') {
      r->may_be_missing[first | 0x20] = true;
      r->may_be_missing[first & ~0x20] = true;
    }
  }
}

static bool is_missing(const struct reading *r, struct feed_span cell)
{
  return cell.size == 0 || (r->may_be_missing[(unsigned char)*cell.at] &&
                            feed_is_word(cell, r->table->missing, r->table->missing_count));
}

/* What a person should do about the first value of a column that cannot be read. */
static void tell_unreadable(struct reading *r, int cell, const struct feeds_point *point,
                            const char *unit)
{
  struct feed_span text = r->rows.cells[cell];
  char shown[FEED_SHOWN];

  feed_shown(text, shown);
  if (unit && *unit)
    complain(r, r->rows.row_line, feed_cell_column(&r->rows, cell),
             "point %s: '%s' in '%s' is no value in %s or a unit of its kind", point->part.id,
             shown, unit, point->unit_text ? point->unit_text : "its own count");
  else if (point->yes_no)
    complain(
        r, r->rows.row_line, feed_cell_column(&r->rows, cell),
        "point %s: '%s' is neither yes nor no; say what it means with 'yes', 'no' or 'missing'",
        point->part.id, shown);
  else
    complain(
        r, r->rows.row_line, feed_cell_column(&r->rows, cell),
        "point %s: '%s' is no number with a decimal %s; if it means no value, add it to 'missing'",
        point->part.id, shown, r->table->decimal_comma ? "comma" : "point");
}

static void count_value(struct reading *r, const struct feed_observation *o)
{
  struct feed_table_report *report = r->report;

  report->values += o->quality == FEED_GOOD;
  report->missing += o->quality == FEED_MISSING;
  report->unreadable += o->quality == FEED_UNREADABLE;
  report->faulty += o->quality == FEED_FAULTY;
  report->future += o->quality == FEED_FUTURE;
  if (report->first_ms > o->t_ms)
    report->first_ms = o->t_ms;
  if (report->last_ms < o->t_ms)
    report->last_ms = o->t_ms;
  if (o->quality == FEED_FUTURE && !r->told_future) {
    r->told_future = true;
    complain(
        r, r->rows.row_line, 1,
        "this time had not come yet when the table did; are its zone and 'clock ahead' right?");
  }
}

/* One cell of one point; `bad_status`: its source does not call it good. */
static void take_value(struct reading *r, int point, int cell, const char *unit, bool bad_status,
                       int64_t t_ms, bool *told)
{
  const struct feeds_point *p = &r->feeds->points[point];
  struct feed_observation o = {.point = point, .si = NAN, .quality = FEED_MISSING};
  struct feed_span text = r->rows.cells[cell];

  if (bad_status)
    o.quality = FEED_FAULTY;
  else if (!is_missing(r, text))
    feed_value_span(p, r->table->decimal_comma, text, unit, &o);
  if (o.quality == FEED_UNREADABLE && !*told) {
    *told = true;
    tell_unreadable(r, cell, p, unit);
  }
  feed_time(r->feeds, r->source, true, t_ms, r->seen_ms, &o);
  count_value(r, &o);
  r->sink->take(r->sink->arg, &o);
}

static void take_wide(struct reading *r, int64_t t_ms)
{
  for (int i = 0; i < r->header.read_count; i++) {
    struct feed_read *read = &r->header.reads[i];

    take_value(r, read->point, read->column, NULL, false, t_ms, &read->told);
  }
}

static void take_long(struct reading *r, struct name *name, int64_t t_ms)
{
  const struct feed_header *h = &r->header;
  struct feed_span unit_cell = h->unit >= 0 ? r->rows.cells[h->unit] : (struct feed_span){"", 0};
  bool bad_status = h->status >= 0 &&
                    !feed_is_word(r->rows.cells[h->status], r->table->good, r->table->good_count);
  char unit[UNIT_ROOM] = "";

  if (unit_cell.size < sizeof unit)
    memcpy(unit, unit_cell.at, unit_cell.size);
  for (struct name *n = name; n < r->names + r->name_count && n->text.size == name->text.size &&
                              memcmp(n->text.at, name->text.at, name->text.size) == 0;
       n++)
    take_value(r, n->point, h->value, h->unit >= 0 ? unit : NULL, bad_status, t_ms, &n->told);
}

/* ---- names of a long table ---- */

static int compare_spans(struct feed_span a, struct feed_span b)
{
  size_t size = a.size < b.size ? a.size : b.size;
  int order = size > 0 ? memcmp(a.at, b.at, size) : 0;

  return order != 0 ? order : (a.size > b.size) - (a.size < b.size);
}

static int by_text(const void *a, const void *b)
{
  const struct name *x = a, *y = b;
  int order = compare_spans(x->text, y->text);

  return order != 0 ? order : (x->point > y->point) - (x->point < y->point);
}

static bool list_names(struct reading *r)
{
  r->names = ARENA_ARRAY(r->arena, struct name, (size_t)r->feeds->point_count + 1);
  r->unmapped = ARENA_ARRAY(r->arena, const char *, UNMAPPED_MOST);
  if (!r->names || !r->unmapped)
    return false;
  for (int i = 0; i < r->feeds->point_count; i++) {
    const struct feeds_point *p = &r->feeds->points[i];

    if (p->source == r->source)
      r->names[r->name_count++] =
          (struct name){.text = feed_trim(p->at, strlen(p->at)), .point = i};
  }
  if (r->name_count > 1)
    qsort(r->names, (size_t)r->name_count, sizeof *r->names, by_text);
  r->report->unmapped = r->unmapped;
  return true;
}

/* The first of that name, or NULL. */
static struct name *name_of(struct reading *r, struct feed_span text)
{
  int low = 0, high = r->name_count;

  while (low < high) {
    int middle = low + (high - low) / 2;

    if (compare_spans(r->names[middle].text, text) < 0)
      low = middle + 1;
    else
      high = middle;
  }
  return low < r->name_count && compare_spans(r->names[low].text, text) == 0 ? &r->names[low]
                                                                             : NULL;
}

static void note_unmapped(struct reading *r, struct feed_span text)
{
  char shown[FEED_SHOWN];

  if (r->report->unmapped_count == UNMAPPED_MOST || text.size == 0)
    return;
  feed_shown(text, shown);
  for (int i = r->report->unmapped_count - 1; i >= 0; i--)
    if (strcmp(r->unmapped[i], shown) == 0)
      return;
  r->unmapped[r->report->unmapped_count] = arena_strdup(r->arena, shown);
  r->report->unmapped_count += r->unmapped[r->report->unmapped_count] != NULL;
}

/* ---- the hour that comes twice ---- */

static void take_row(struct reading *r, struct name *name, int64_t t_ms)
{
  if (name)
    take_long(r, name, t_ms);
  else
    take_wide(r, t_ms);
}

static void tell_ambiguous(struct reading *r, const struct feed_fold *fold)
{
  struct buf from, to;

  buf_init(&from, 64);
  buf_init(&to, 64);
  when_print(&from, r->zone, fold->list[0].first_ms);
  when_print(&to, r->zone, fold->list[fold->count - 1].first_ms);
  complain(
      r, fold->list[0].line, 1,
      "%d rows from here, %.16s to %.16s, are of an hour that came twice in %s, and their order does "
      "not tell which; they are left out",
      fold->count, from.text, to.text, when_zone_name(r->zone));
  buf_release(&from);
  buf_release(&to);
}

/* Gives out what was held: after_ms of the certain row that comes now, or NULL at the end. */
static void settle_held(struct reading *r, struct feed_fold *fold, struct name *name,
                        const int64_t *after_ms)
{
  struct feed_rows now = r->rows;

  if (fold->count == 0)
    return;
  if (!feed_fold_settle(fold, after_ms)) {
    r->report->ambiguous_rows += fold->count;
    tell_ambiguous(r, fold);
    fold->count = 0;
    return;
  }
  for (int i = 0; i < fold->count; i++) {
    feed_rows_again(&r->rows, fold->list[i].row, fold->list[i].line);
    take_row(r, name, fold->list[i].t_ms);
  }
  fold->count = 0;
  r->rows = now;
  feed_rows_again(&r->rows, now.row, now.row_line);
}

static void hold(struct reading *r, struct feed_fold *fold, int64_t first_ms, int64_t second_ms)
{
  double known_ms = (double)r->seen_ms + (r->feeds->future_s + r->from->clock_ahead_s) * 1000;
  struct feed_held held = {.row = r->rows.row,
                           .line = r->rows.row_line,
                           .first_ms = first_ms,
                           .second_ms = second_ms,
                           .surely_first = (double)second_ms > known_ms};

  if (!feed_fold_hold(fold, &held, r->arena)) {
    r->report->ambiguous_rows++;
    complain(r, r->rows.row_line, 1,
             "too many rows of an hour that came twice; this one is left out");
  }
}

/* ---- rows ---- */

static bool read_time(const struct reading *r, struct when_taken *out)
{
  const struct feed_header *h = &r->header;
  struct feed_span time = r->rows.cells[h->time], date;
  char both[80];

  if (h->date < 0)
    return when_pattern_take(&r->pattern, time.at, time.size, out);
  date = r->rows.cells[h->date];
  if (date.size + time.size + 1 >= sizeof both)
    return false;
  memcpy(both, date.at, date.size);
  both[date.size] = ' ';
  memcpy(both + date.size + 1, time.at, time.size);
  return when_pattern_take(&r->pattern, both, date.size + 1 + time.size, out);
}

/* Is the row whole?  Empty cells behind the last column are nothing. */
static bool is_whole(struct reading *r)
{
  int count = r->rows.cell_count;

  while (count > r->header.column_count && r->rows.cells[count - 1].size == 0)
    count--;
  if (!r->rows.fault && count == r->header.column_count)
    return true;
  r->report->unread_rows++;
  if (r->rows.fault)
    complain(r, r->rows.row_line, 1, "%s; the row is left out", r->rows.fault);
  else
    complain(r, r->rows.row_line, 1, "this row has %d cell%s and the header has %d; it is left out",
             count, count == 1 ? "" : "s", r->header.column_count);
  return false;
}

static void tell_never(struct reading *r)
{
  char shown[FEED_SHOWN];

  r->report->never_rows++;
  if (!r->was_never)
    complain(
        r, r->rows.row_line, feed_cell_column(&r->rows, r->header.time),
        "'%s' never was in %s: the clocks went past it; such rows are left out (a source that keeps "
        "winter time all year has a zone such as Etc/GMT-1)",
        feed_shown(r->rows.cells[r->header.time], shown), when_zone_name(r->zone));
  r->was_never = true;
}

static void read_row(struct reading *r)
{
  struct when_taken taken;
  int64_t first_ms = 0, second_ms = 0;
  char shown[FEED_SHOWN];
  struct name *name = NULL;
  struct feed_fold *fold = &r->fold;

  r->report->rows++;
  if (!is_whole(r))
    return;
  if (r->table->shape == FEEDS_LONG) {
    name = name_of(r, r->rows.cells[r->header.point]);
    if (!name) {
      note_unmapped(r, r->rows.cells[r->header.point]);
      return;
    }
    fold = &name->fold;
  }
  if (!read_time(r, &taken)) {
    r->report->unread_rows++;
    complain(r, r->rows.row_line, feed_cell_column(&r->rows, r->header.time),
             "'%s' is no time as %s; the row is left out",
             feed_shown(r->rows.cells[r->header.time], shown), r->table->pattern);
    return;
  }

  enum when_fold when = when_of_taken(r->zone, &taken, &first_ms, &second_ms);

  if (when == WHEN_NEVER) {
    tell_never(r);
    return;
  }
  r->was_never = false;
  if (when == WHEN_TWICE) {
    hold(r, fold, first_ms, second_ms);
    return;
  }
  settle_held(r, fold, name, &first_ms);
  fold->has_before = true;
  fold->before_ms = first_ms;
  take_row(r, name, first_ms);
}

static void settle_all(struct reading *r)
{
  settle_held(r, &r->fold, NULL, NULL);
  for (int i = 0; i < r->name_count; i++)
    settle_held(r, &r->names[i].fold, &r->names[i], NULL);
}

static bool read_rows(struct reading *r)
{
  const struct feed_table_report *report = r->report;

  while (feed_rows_next(&r->rows, false))
    if (!feed_row_is_blank(&r->rows))
      read_row(r);
  settle_all(r);
  if (report->rows == 0 || report->unread_rows < report->rows)
    return true;
  complain(r, 0, 0, "not one of its %ld rows could be read; do separator and pattern fit?",
           report->rows);
  return false;
}

bool feed_table(const struct feed_table_job *job, const struct feed_sink *sink, struct arena *arena,
                struct complaints *complaints, struct feed_table_report *report_out)
{
  struct encoding_text decoded;
  struct feed_table_report report = {.first_ms = INT64_MAX, .last_ms = INT64_MIN};
  struct reading r = {.feeds = job->feeds,
                      .source = job->source,
                      .from = &job->feeds->sources[job->source],
                      .table = &job->feeds->sources[job->source].table,
                      .zone = job->zone,
                      .file = job->text->file,
                      .seen_ms = job->seen_ms,
                      .sink = sink,
                      .arena = arena,
                      .complaints = complaints,
                      .report = &report};
  bool good;

  *report_out = (struct feed_table_report){0};
  BUG_IF(r.from->kind != FEEDS_CSV);
  /* The feeds file was checked. */
  BUG_IF(when_pattern_read(r.table->pattern, &r.pattern, NULL) != ERR_OK);
  if (!feed_decode(job->text, arena, complaints, &decoded))
    return false;
  note_missing_words(&r);
  if (!feed_rows_init(&r.rows, decoded.text, decoded.size, r.table->separator, arena) ||
      (r.table->shape == FEEDS_LONG && !list_names(&r))) {
    complain(&r, 0, 0, "the file holds more than can be kept");
    return false;
  }
  if (!feed_header_find(job, &r.rows, arena, complaints, &r.header, &report))
    return false;
  good = read_rows(&r);
  complaints_sort(complaints); /* held rows spoke late */
  report.encoding = encoding_name(decoded.encoding);
  if (report.first_ms > report.last_ms)
    report.first_ms = report.last_ms = 0;
  *report_out = report;
  return good;
}

static void print_count(struct buf *out, long count, const char *what)
{
  if (count > 0)
    buf_printf(out, ", %ld %s", count, what);
}

void feed_table_print(const struct feed_table_report *report, const struct when_zone *zone,
                      struct buf *out)
{
  bool has_values =
      report->values + report->missing + report->unreadable + report->faulty + report->future > 0;

  buf_printf(out, "%ld row%s", report->rows, report->rows == 1 ? "" : "s");
  if (has_values) {
    buf_puts(out, " from ");
    when_print(out, zone, report->first_ms);
    buf_puts(out, " to ");
    when_print(out, zone, report->last_ms);
  }
  buf_printf(out, "; %ld values", report->values);
  print_count(out, report->missing, "missing");
  print_count(out, report->unreadable, "unreadable");
  print_count(out, report->faulty, "faulty");
  print_count(out, report->future, "ahead of their time");
  print_count(out, report->unread_rows, "rows that could not be read");
  print_count(out, report->ambiguous_rows, "rows of an hour that came twice left out");
  print_count(out, report->never_rows, "rows of an hour that never was left out");
  buf_putc(out, '\n');
  if (report->unmapped_count > 0) {
    buf_puts(out, "no point reads:");
    for (int i = 0; i < report->unmapped_count; i++)
      buf_printf(out, "%s %s", i > 0 ? "," : "", report->unmapped[i]);
    buf_putc(out, '\n');
  }
}
