/* Bookings from a table: one row each, its columns said by the caller or by their usual names. */
#include "day/day_impl.h"
#include "sheet/sheet.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

enum column { STATION, START, END, WHO, WHAT, FAMILY, ID, COLUMNS };

static const struct {
  const char *key;
  bool needed;
  const char *usual[5]; /* what people call it, after the key itself */
} columns[COLUMNS] = {
    {"station", true, {"place", "hood", "bench", "where", NULL}},
    {"start", true, {"from", "begin", "begins", "starts", NULL}},
    {"end", true, {"to", "until", "ends", NULL}},
    {"who", false, {"person", "user", "name", "booked by", NULL}},
    {"what", false, {"title", "process", "purpose", "work", NULL}},
    {"family", false, {"chemistry", NULL}},
    {"id", false, {"number", "uid", "booking", NULL}},
};

struct reading {
  const struct day_read_job *job;
  const struct sheet_book *book;
  const struct sheet_table *table;
  struct arena *arena;
  struct complaints *complaints;
  struct when_pattern pattern;
  int at[COLUMNS]; /* -1: not there */
};

/* ---- the header ---- */

/* What the caller says that column is called, or NULL. */
static const char *said(const struct reading *r, int column)
{
  size_t size = strlen(columns[column].key);

  for (const char *at = r->job->columns; at && *at;) {
    size_t length = strcspn(at, ",");

    if (length > size && strncasecmp(at, columns[column].key, size) == 0 && at[size] == '=')
      return arena_printf(r->arena, "%.*s", (int)(length - size - 1), at + size + 1);
    at += length + (at[length] == ',');
  }
  return NULL;
}

static int named(const struct reading *r, const char *name)
{
  for (int c = 0; c < r->table->column_count; c++)
    if (strcasecmp(sheet_at(r->table, 0, c)->text, name) == 0)
      return c;
  return -1;
}

static bool find_column(struct reading *r, int column)
{
  const char *name = said(r, column);

  r->at[column] = named(r, name ? name : columns[column].key);
  for (int i = 0; !name && r->at[column] < 0 && columns[column].usual[i]; i++)
    r->at[column] = named(r, columns[column].usual[i]);
  if (r->at[column] < 0 && name)
    sheet_complain(r->complaints, r->book, 0, 0, 0, "no column '%.40s' for %s in the first row",
                   name, columns[column].key);
  return r->at[column] >= 0 || (!name && !columns[column].needed);
}

/* The headings there are, as a proposal that somebody finishes. */
static void propose(struct reading *r, int column)
{
  char heads[200] = "";
  size_t used = 0;

  for (int c = 0; c < r->table->column_count && used < sizeof heads - 44; c++)
    used += (size_t)snprintf(heads + used, sizeof heads - used, "%s'%.36s'", c ? ", " : "",
                             sheet_at(r->table, 0, c)->text);
  sheet_complain(r->complaints, r->book, 0, 0, 0,
                 "no column says the %s; the first row has %s; say which: --columns "
                 "\"station=...,start=...,end=...\"",
                 columns[column].key, used ? heads : "nothing");
}

static bool read_header(struct reading *r)
{
  bool fine = true;

  for (int i = 0; i < COLUMNS; i++)
    if (!find_column(r, i)) {
      fine = false;
      if (!said(r, i))
        propose(r, i);
    }
  return fine;
}

/* ---- one row ---- */

static const char *cell(const struct reading *r, int row, int column)
{
  return r->at[column] < 0 ? "" : sheet_at(r->table, row, r->at[column])->text;
}

static bool complain(struct reading *r, int row, int column, const char *what)
{
  sheet_complain(r->complaints, r->book, 0, row, r->at[column] < 0 ? 0 : r->at[column], "%s", what);
  return false;
}

static bool read_time(struct reading *r, int row, int column, int64_t *out_ms)
{
  const char *text = cell(r, row, column);
  struct when_taken taken;
  struct err err = {0};
  int64_t second_ms;

  if (!r->job->pattern) {
    if (when_read(text, r->job->zone, NULL, out_ms, &err) == ERR_OK)
      return true;
    return complain(r, row, column, err.text);
  }
  if (!when_pattern_take(&r->pattern, text, strlen(text), &taken))
    return complain(r, row, column, "this is no time of the pattern given");
  switch (when_of_taken(r->job->zone, &taken, out_ms, &second_ms)) {
  case WHEN_NEVER:
    return complain(r, row, column, "this local time never was: the clocks went forward");
  case WHEN_TWICE:
    return complain(r, row, column,
                    "this local time was twice, for the clocks went back; add its offset: +01:00");
  case WHEN_ONCE:
    break;
  }
  return true;
}

static bool read_station(struct reading *r, int row, int *out)
{
  const struct facility *f = r->job->facility;
  const char *text = cell(r, row, STATION);
  const struct sheet_cell *at = sheet_at(r->table, row, r->at[STATION]);
  char told[120];

  *out = day_station_in(f, text);
  if (*out == -2)
    return complain(r, row, STATION, "two stations in one booking; write a row for each");
  if (*out < 0) {
    const char *near = facility_nearest_id(f, text);

    snprintf(told, sizeof told, "'%.30s' is no station of the suite%s%s", text,
             near ? "; did you mean " : "", near ? near : "");
    return complain(r, row, STATION, told);
  }
  return day_station_fits(f, *out, (struct place){r->book->file, at->line, at->column},
                          r->complaints);
}

static bool read_row(struct reading *r, int row, struct day_booking *out)
{
  const struct sheet_cell *first = sheet_at(r->table, row, r->at[STATION]);

  *out = (struct day_booking){.who = cell(r, row, WHO),
                              .what = cell(r, row, WHAT),
                              .family = cell(r, row, FAMILY),
                              .id = cell(r, row, ID),
                              .place = {r->book->file, first->line, first->column}};
  bool fine = read_station(r, row, &out->station);

  fine = read_time(r, row, START, &out->start_ms) && fine;
  fine = read_time(r, row, END, &out->end_ms) && fine;
  if (fine && out->end_ms <= out->start_ms)
    fine = complain(r, row, END, "it ends before it starts, or takes no time");
  if (!*out->id)
    out->id = arena_printf(r->arena, "row %d", first->line);
  return fine && out->id;
}

static bool is_blank(const struct reading *r, int row)
{
  for (int c = 0; c < r->table->column_count; c++)
    if (*sheet_at(r->table, row, c)->text)
      return false;
  return true;
}

bool day_read_table(const struct day_read_job *job, const struct facility_text *text,
                    struct arena *arena, struct complaints *complaints, struct day_bookings *list,
                    struct day_read_report *report)
{
  struct reading r = {.job = job, .arena = arena, .complaints = complaints};
  struct err err = {0};

  r.book = sheet_read(text->file, text->bytes, text->size, arena, complaints);
  if (!r.book)
    return false;
  r.table = &r.book->tables[0];
  if (job->pattern && when_pattern_read(job->pattern, &r.pattern, &err) != ERR_OK) {
    sheet_complain(complaints, r.book, 0, 0, 0, "--pattern: %s", err.text);
    return false;
  }
  if (r.book->format != SHEET_CSV) {
    sheet_complain(complaints, r.book, 0, 0, 0,
                   "a workbook; save the table of bookings as CSV, so that faults have a line");
    return false;
  }
  if (!read_header(&r))
    return false;
  for (int row = 1; row < r.table->row_count; row++) {
    struct day_booking booking;

    if (is_blank(&r, row))
      continue;
    report->events++;
    if (!read_row(&r, row, &booking) || !day_add(list, arena, &booking))
      report->left_out++;
    else if (booking.end_ms > job->from_ms && booking.start_ms < job->to_ms)
      report->bookings++;
    else
      list->count--;
  }
  return true;
}
