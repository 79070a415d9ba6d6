#include "rows.h"

#include "units/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static char *whole_file(const char *path)
{
  FILE *file = fopen(path, "rb");
  size_t room = 1 << 16, used = 0;
  char *text = file ? malloc(room) : NULL;

  while (text) {
    size_t got = fread(text + used, 1, room - used - 1, file);

    used += got;
    if (got == 0)
      break;
    if (room - used < 2) {
      char *more = realloc(text, room *= 2);

      if (!more)
        break;
      text = more;
    }
  }
  if (text)
    text[used] = '\0';
  if (file)
    fclose(file);
  return text;
}

/* Takes one field in place, quotes undone, and returns what follows its separator. */
static char *take_field(char *at, const char **field_out, bool *last_out)
{
  char *to = at;
  bool quoted = *at == '"';

  *field_out = to;
  for (at += quoted; *at && (quoted || (*at != ',' && *at != '\n')); at++) {
    if (quoted && *at == '"' && at[1] != '"') {
      at++;
      break;
    }
    at += quoted && *at == '"';
    *to++ = *at;
  }
  *last_out = *at != ',';
  if (*at)
    at++;
  *to = '\0';
  return at;
}

static char *take_row(char *at, struct row *row, int *fields_out)
{
  bool last = false;

  *fields_out = 0;
  while (!last) {
    const char *field;

    at = take_field(at, &field, &last);
    if (*fields_out < ROW_FIELDS)
      row->field[*fields_out] = field;
    (*fields_out)++;
  }
  return at;
}

bool rows_read(const char *path, struct rows *out)
{
  char *at = whole_file(path);
  int line = 1, fields, room = 1;
  struct row heading;

  *out = (struct rows){.text = at};
  if (!at) {
    printf("%s: cannot be read\n", path);
    return false;
  }
  for (const char *c = at; *c; c++)
    room += *c == '\n';
  out->rows = calloc((size_t)room, sizeof *out->rows);
  at = take_row(at, &heading, &fields);
  while (out->rows && *at) {
    at = take_row(at, &out->rows[out->count++], &fields);
    line++;
    if (fields != ROW_FIELDS) {
      printf("%s:%d: %d fields, wanted %d\n", path, line, fields, ROW_FIELDS);
      return false;
    }
  }
  return out->rows != NULL;
}

void rows_free(struct rows *rows)
{
  free(rows->rows);
  free(rows->text);
  *rows = (struct rows){0};
}

static bool number(const char *text, double *out)
{
  char *end;

  *out = strtod(text, &end);
  return end != text && *end == '\0' && isfinite(*out);
}

/* The table of units is asked for each dimension that results have. */
static bool in_si(const char *value, const char *unit, double *out_si)
{
  static const enum units_dimension dimensions[] = {UNITS_FLOW,     UNITS_PRESSURE_DIFFERENCE,
                                                    UNITS_VELOCITY, UNITS_AREA,
                                                    UNITS_DENSITY,  UNITS_RATIO};
  char text[128];
  struct units_quantity quantity;
  struct err err;

  if (!*unit)
    return number(value, out_si);
  snprintf(text, sizeof text, "%s %s", value, unit);
  for (size_t i = 0; i < sizeof dimensions / sizeof dimensions[0]; i++)
    if (units_parse(text, dimensions[i], UNITS_NOTHING, &quantity, &err) == ERR_OK) {
      *out_si = quantity.si;
      return true;
    }
  return false;
}

bool row_theirs(const struct row *row, double *theirs_out_si, double *allowed_out_si)
{
  double tolerance;

  if (!in_si(row->field[ROW_THEIRS], row->field[ROW_UNIT], theirs_out_si) ||
      !number(row->field[ROW_TOLERANCE], &tolerance))
    return false;
  if (strcmp(row->field[ROW_TOLERANCE_KIND], "rel") == 0) {
    *allowed_out_si = tolerance * fabs(*theirs_out_si);
    return true;
  }
  return strcmp(row->field[ROW_TOLERANCE_KIND], "abs") == 0 &&
         in_si(row->field[ROW_TOLERANCE], row->field[ROW_UNIT], allowed_out_si);
}
