#include "cases.h"

#include "matter/matter.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { COLUMNS_MAX = 16, SETS_MAX = 12, FILE_MAX_BYTES = 4 << 20 };

static const struct {
  const char *name, *in_networks;
  size_t offset;
} columns[] = {
    {"id", "id", offsetof(struct published_case, id)},
    {"what", "suite", offsetof(struct published_case, what)},
    {"inputs", "arguments", offsetof(struct published_case, inputs)},
    {"output", "path", offsetof(struct published_case, output)},
    {"theirs", "theirs", offsetof(struct published_case, theirs)},
    {"unit", "unit", offsetof(struct published_case, unit)},
    {"kind", "tolerance kind", offsetof(struct published_case, kind)},
    {"tolerance", "tolerance", offsetof(struct published_case, tolerance)},
    {"provenance", "provenance", offsetof(struct published_case, provenance)},
    {"source", "source", offsetof(struct published_case, source)},
    {"note", "note", offsetof(struct published_case, note)},
};
enum { COLUMN_COUNT = sizeof columns / sizeof columns[0] };

static char *read_all(const char *path)
{
  FILE *file = fopen(path, "rb");
  char *bytes = file ? malloc(FILE_MAX_BYTES + 1) : NULL;

  if (!bytes) {
    printf("%s: cannot be read\n", path);
    if (file)
      fclose(file);
    return NULL;
  }
  bytes[fread(bytes, 1, FILE_MAX_BYTES, file)] = '\0';
  fclose(file);
  return bytes;
}

/* Cuts the field at *at in place; *at moves behind its comma or line end.  False at a line end. */
static bool next_field(char **at, char **field)
{
  char *in = *at, *out = in;
  bool quoted = *in == '"', more;

  *field = out;
  in += quoted;
  while (*in && (quoted || (*in != ',' && *in != '\n'))) {
    if (quoted && *in == '"') {
      if (in[1] != '"') {
        quoted = false;
        in++;
        continue;
      }
      in++;
    }
    *out++ = *in++;
  }
  more = *in == ',';
  *at = *in ? in + 1 : in;
  *out = '\0';
  return more;
}

static int read_line(char **at, char *fields[COLUMNS_MAX])
{
  int count = 0;
  bool more = true;

  while (more) {
    char *field;

    more = next_field(at, &field);
    if (count < COLUMNS_MAX)
      fields[count] = field;
    count++;
  }
  return count;
}

static void set_column(struct published_case *row, size_t offset, const char *text)
{
  memcpy((char *)row + offset, &text, sizeof text);
}

/* The columns stand in this order; which names they carry says what the rows ask. */
static bool read_heading(char *names[COLUMNS_MAX], int count, struct published_cases *out)
{
  if (count != COLUMN_COUNT)
    return false;
  out->asks = strcmp(names[1], columns[1].in_networks) == 0 ? PUBLISHED_NETWORKS
              : strcmp(names[1], "verb") == 0               ? PUBLISHED_VERBS
                                                            : PUBLISHED_FORMULAS;
  for (int c = 0; c < COLUMN_COUNT; c++) {
    bool formula = out->asks == PUBLISHED_FORMULAS;
    bool verb = c == 1 && out->asks == PUBLISHED_VERBS;

    if (!verb && strcmp(names[c], formula ? columns[c].name : columns[c].in_networks) != 0)
      return false;
  }
  return true;
}

bool published_read(const char *path, struct published_cases *out)
{
  char *fields[COLUMNS_MAX], *at;
  int room = 0;

  *out = (struct published_cases){.bytes = read_all(path)};
  at = out->bytes;
  if (!at)
    return false;
  if (!read_heading(fields, read_line(&at, fields), out)) {
    printf("%s: the heading is not that of cases.h\n", path);
    return false;
  }
  while (*at) {
    int count = read_line(&at, fields);
    struct published_case row = {0};

    if (count != COLUMN_COUNT) {
      printf("%s: row %d has %d columns instead of %d\n", path, out->count + 2, count,
             COLUMN_COUNT);
      return false;
    }
    for (int c = 0; c < COLUMN_COUNT; c++)
      set_column(&row, columns[c].offset, fields[c]);
    if (out->count == room) {
      room = room ? 2 * room : 64;
      out->rows = realloc(out->rows, (size_t)room * sizeof *out->rows);
      if (!out->rows)
        return false;
    }
    out->rows[out->count++] = row;
  }
  if (out->count == 0)
    printf("%s: no rows\n", path);
  return out->count > 0;
}

void published_release(struct published_cases *cases)
{
  free(cases->rows);
  free(cases->bytes);
  *cases = (struct published_cases){0};
}

static void read_tolerance(const struct published_case *row, double *low, double *high)
{
  char *end;
  double first = strtod(row->tolerance, &end);

  *low = -first;
  *high = first;
  if (strncmp(end, "..", 2) == 0) {
    *low = first;
    *high = strtod(end + 2, NULL);
  }
}

static void judge(const struct published_case *row, double ours, struct published_result *out)
{
  double size = 1, low, high;
  char *end;

  out->theirs = strtod(row->theirs, &end);
  if (end == row->theirs || *end)
    snprintf(out->trouble, sizeof out->trouble, "'%.40s' is no number", row->theirs);
  if (strcmp(row->kind, "rel") == 0)
    size = fabs(out->theirs);
  else if (strcmp(row->kind, "abs") != 0)
    snprintf(out->trouble, sizeof out->trouble, "tolerance kind '%.40s'", row->kind);
  read_tolerance(row, &low, &high);
  if (!(low <= 0 && high >= 0 && high > low))
    snprintf(out->trouble, sizeof out->trouble, "tolerance '%.40s'", row->tolerance);
  out->ours = ours;
  out->low = low * size;
  out->high = high * size;
  double off = ours - out->theirs;
  out->agrees = !out->trouble[0] && off >= out->low && off <= out->high;
}

/* The SI value of `number unit`. */
static bool in_si(const char *number, const char *unit, enum units_dimension dimension, double *si)
{
  struct units_quantity quantity;
  char text[80];

  snprintf(text, sizeof text, "%s %s", number, unit);
  if (units_parse(text, dimension, UNITS_NOTHING, &quantity, NULL))
    return false;
  *si = quantity.si;
  return true;
}

/* From SI into the unit: every unit is a factor and a zero. */
static bool from_si(double si, const char *unit, enum units_dimension dimension, double *value)
{
  double none, one;

  if (!*unit && dimension == UNITS_RATIO) {
    *value = si;
    return true;
  }
  if (!in_si("1", unit, dimension, &none) || !in_si("2", unit, dimension, &one))
    return false;
  *value = 1 + (si - none) / (one - none);
  return true;
}

/* One set of inputs, parted by blanks; cuts up the text. */
static bool run_set(const struct matter_formula *formula, char *inputs, double *out_si,
                    struct published_result *out)
{
  const char *arguments[2 * MATTER_INPUTS_MAX];
  struct err err = {0};
  int count = 0;

  for (char *at = inputs; *at && count < 2 * MATTER_INPUTS_MAX;) {
    size_t length = strcspn(at, " ");
    char *next = at + length + (at[length] != '\0');

    at[length] = '\0';
    if (length > 0)
      arguments[count++] = at;
    at = next;
  }
  if (matter_formula_run(formula, count, arguments, NULL, out_si, &err)) {
    snprintf(out->trouble, sizeof out->trouble, "%s", err.text);
    return false;
  }
  return true;
}

static int find_output(const struct matter_formula *formula, const char *key)
{
  for (int i = 0; i < matter_output_count(formula); i++)
    if (strcmp(formula->outputs[i].key, key) == 0)
      return i;
  return -1;
}

static int run_sets(const struct matter_formula *formula, int output, const char *inputs,
                    double values_si[SETS_MAX], struct published_result *out)
{
  char text[2048];
  int sets = 0;

  snprintf(text, sizeof text, "%s", inputs);
  for (char *at = text; at && sets < SETS_MAX; sets++) {
    double out_si[MATTER_OUTPUTS_MAX];
    char *bar = strstr(at, " | ");

    if (bar)
      *bar = '\0';
    if (!run_set(formula, at, out_si, out))
      return 0;
    values_si[sets] = out_si[output];
    at = bar ? bar + 3 : NULL;
  }
  return sets;
}

void published_run_formula(const struct published_case *row, struct published_result *out)
{
  double values_si[SETS_MAX], result = 0;
  bool sum = strncmp(row->what, "sum ", 4) == 0, change = strncmp(row->what, "change ", 7) == 0;
  const struct matter_formula *formula = matter_formula_find(row->what + (sum      ? 4
                                                                          : change ? 7
                                                                                   : 0));
  int output = formula ? find_output(formula, row->output) : -1;

  *out = (struct published_result){.ours = NAN};
  if (output < 0) {
    snprintf(out->trouble, sizeof out->trouble, "no formula '%.60s' with output '%.40s'", row->what,
             row->output);
    return;
  }
  int sets = run_sets(formula, output, row->inputs, values_si, out);
  if (sets == 0)
    return;
  if (change) {
    result = values_si[0] / values_si[sets - 1] - 1;
  } else {
    for (int i = 0; i < sets; i++)
      result += values_si[i];
    if (!from_si(result, row->unit, formula->outputs[output].dimension, &result))
      snprintf(out->trouble, sizeof out->trouble, "unit '%.40s'", row->unit);
  }
  if (sets != 1 && !sum && !change)
    snprintf(out->trouble, sizeof out->trouble, "one set of inputs, or sum, or change");
  judge(row, result, out);
}

bool published_is_text(const struct published_case *row)
{
  return strcmp(row->unit, "text") == 0;
}

void published_run_measured(const struct published_case *row, double ours_si,
                            struct published_result *out)
{
  double ours;

  *out = (struct published_result){.ours = NAN};
  for (int d = 0; d < UNITS_DIMENSION_COUNT; d++)
    if (d != UNITS_NOTHING && from_si(ours_si, row->unit, (enum units_dimension)d, &ours)) {
      judge(row, ours, out);
      return;
    }
  snprintf(out->trouble, sizeof out->trouble, "unit '%.40s'", row->unit);
}
