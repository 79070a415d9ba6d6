/* A stretch of bookings as a model of zeros and ones, and as the text that solvers read. */
#include "day/day_impl.h"

#include <math.h>
#include <string.h>
#include <strings.h>

enum { EXACT_STATIONS = 16, ROWS_FIRST = 512 };

static const double quarter_s = DAY_QUARTER_MS / 1000.0;

/* ---- columns ---- */

static bool fits_hours(const struct facility *f, const struct day_booking *b, int64_t by_ms,
                       int64_t day_from_ms)
{
  double begins_s = (double)(b->start_ms + by_ms - day_from_ms) / 1000;
  double ends_s = (double)(b->end_ms + by_ms - day_from_ms) / 1000;

  return begins_s >= f->day.from_s && ends_s <= f->day.to_s;
}

static void add_column(struct day_model *m, int booking, int64_t by_ms)
{
  const struct day_booking *b = &m->wishes->list[booking];
  int64_t start_ms = b->start_ms + by_ms, end_ms = b->end_ms + by_ms;
  int first = (int)((start_ms - m->from_ms) / DAY_QUARTER_MS);
  int end = (int)((end_ms - m->from_ms + DAY_QUARTER_MS - 1) / DAY_QUARTER_MS);
  int moved = (int)((by_ms < 0 ? -by_ms : by_ms) / DAY_QUARTER_MS);

  first = first < 0 ? 0 : first;
  end = end > m->quarter_count ? m->quarter_count : end;
  m->columns[m->column_count++] =
      (struct day_column){.booking = booking,
                          .first = first,
                          .length = end > first ? end - first : 0,
                          .start_ms = start_ms,
                          .cost_count = moved ? moved + DAY_MOVED_COUNT : 0};
}

static void add_columns(struct day_model *m)
{
  const struct facility *f = m->facility;
  int most = (int)(f->day.within_s / quarter_s);

  for (int b = 0; b < m->wishes->count; b++) {
    const struct day_booking *w = &m->wishes->list[b];
    int64_t day_from_ms = m->from_ms + (w->start_ms - m->from_ms) / 86400000 * 86400000;

    for (int by = -most; by <= most; by++)
      if (by == 0 || fits_hours(f, w, (int64_t)by * DAY_QUARTER_MS, day_from_ms))
        add_column(m, b, (int64_t)by * DAY_QUARTER_MS);
    m->columns[m->column_count++] =
        (struct day_column){.booking = b, .start_ms = INT64_MIN, .cost_count = DAY_LEFT_OUT_COUNT};
  }
}

/* ---- rows ---- */

static bool has_room(struct day_model *m, struct arena *arena)
{
  if (m->row_count < m->row_room)
    return true;
  int room = m->row_room ? 2 * m->row_room : ROWS_FIRST;
  struct day_row *more =
      room > 2 * DAY_ROWS_MOST ? NULL : ARENA_ARRAY(arena, struct day_row, (size_t)room);

  if (!more)
    return false;
  if (m->row_count > 0)
    memcpy(more, m->rows, (size_t)m->row_count * sizeof *more);
  m->rows = more;
  m->row_room = room;
  return true;
}

/* What a booking counts in a row, while it is there: `behind` quarters longer. */
struct weighing {
  const double *station; /* per station */
  const char *who;       /* or only this person's, 1 each */
  int only;              /* or only this station's; -1 */
  int behind;
};

static double weight_of(const struct day_model *m, const struct weighing *w,
                        const struct day_column *c, int quarter)
{
  const struct day_booking *b = &m->wishes->list[c->booking];

  if (c->length == 0 || quarter < c->first || quarter >= c->first + c->length + w->behind)
    return 0;
  if (w->who)
    return strcasecmp(w->who, b->who) == 0;
  if (w->only >= 0)
    return b->station == w->only;
  return w->station[b->station];
}

/* A row that nothing can break is left out. */
static bool add_row(struct day_model *m, const struct weighing *w, int quarter, double most,
                    struct arena *arena)
{
  double sum = 0, best = 0;
  int count = 0, last = -1;

  for (int c = 0; c < m->column_count; c++) {
    double weight = weight_of(m, w, &m->columns[c], quarter);

    if (weight <= 0)
      continue;
    count++;
    if (m->columns[c].booking != last) {
      sum += best;
      best = 0;
      last = m->columns[c].booking;
    }
    best = fmax(best, weight);
  }
  if (sum + best <= most + 1e-9)
    return true;

  struct day_row row = {.most_count = most,
                        .columns = ARENA_ARRAY(arena, int, (size_t)count),
                        .values = ARENA_ARRAY(arena, double, (size_t)count)};

  if (!row.columns || !row.values || !has_room(m, arena))
    return false;
  for (int c = 0; c < m->column_count; c++) {
    double weight = weight_of(m, w, &m->columns[c], quarter);

    if (weight > 0) {
      row.columns[row.count] = c;
      row.values[row.count++] = weight;
    }
  }
  m->rows[m->row_count++] = row;
  return true;
}

static bool add_everywhere(struct day_model *m, const struct weighing *w, double most,
                           struct arena *arena)
{
  for (int q = 0; q < m->quarter_count; q++)
    if (!add_row(m, w, q, most, arena))
      return false;
  return true;
}

static bool add_once_each(struct day_model *m, struct arena *arena)
{
  for (int c = 0; c < m->column_count;) {
    int end = c;

    while (end < m->column_count && m->columns[end].booking == m->columns[c].booking)
      end++;
    struct day_row row = {.equal = true,
                          .most_count = 1,
                          .columns = ARENA_ARRAY(arena, int, (size_t)(end - c)),
                          .values = ARENA_ARRAY(arena, double, (size_t)(end - c))};

    if (!row.columns || !row.values || !has_room(m, arena))
      return false;
    for (; c < end; c++) {
      row.columns[row.count] = c;
      row.values[row.count++] = 1;
    }
    m->rows[m->row_count++] = row;
  }
  return true;
}

/* Two families on one deck: each booking holds it for the cleaning down, too. */
static int behind_of(const struct day_model *m, int station)
{
  const char *family = "";

  for (int i = 0; i < m->wishes->count; i++) {
    const struct day_booking *b = &m->wishes->list[i];

    if (b->station != station || !*b->family)
      continue;
    if (*family && strcasecmp(family, b->family) != 0)
      return (int)ceil(m->facility->day.clean_down_s / quarter_s);
    family = b->family;
  }
  return 0;
}

static bool is_first_of_person(const struct day_model *m, int booking)
{
  const char *who = m->wishes->list[booking].who;

  for (int i = 0; i < booking; i++)
    if (strcasecmp(m->wishes->list[i].who, who) == 0)
      return false;
  return *who != '\0';
}

static bool add_places(struct day_model *m, struct arena *arena)
{
  for (int s = 0; s < m->facility->station_count; s++) {
    const struct weighing at = {.only = s, .behind = behind_of(m, s)};

    if (!add_everywhere(m, &at, 1, arena))
      return false;
  }
  for (int b = 0; b < m->wishes->count; b++) {
    const struct weighing of = {.who = m->wishes->list[b].who, .only = -1};

    if (is_first_of_person(m, b) && !add_everywhere(m, &of, 1, arena))
      return false;
  }
  return true;
}

/* ---- air ---- */

/* The most that any set which is not short adds up to.  Of many stations only all of them together can be
 * said without trying every set: the row is then left out, and cuts do the work. */
static double most_of_fine(struct day_air *air, int stations, const double *weight)
{
  double most = 0;

  for (uint64_t set = 0; set < (uint64_t)1 << stations; set++) {
    double sum = 0;

    for (int i = 0; i < stations; i++)
      sum += set >> i & 1 ? weight[i] : 0;
    if (sum > most && day_air_level(air, set) != FACILITY_SHORT)
      most = sum;
  }
  return most;
}

static bool add_air(struct day_model *m, struct day_air *air, struct arena *arena)
{
  const struct facility *f = m->facility;
  int pools = f->main_count + f->supply_count;
  double weight[DAY_STATIONS_MOST];

  if (f->station_count > EXACT_STATIONS)
    return true;
  for (int p = -1; p < pools && p < DAY_POOLS_MOST; p++) {
    const struct weighing all = {.station = weight, .only = -1};

    for (int i = 0; i < f->station_count; i++)
      weight[i] = p < 0 ? 1 : round(3600 * day_air_adds_m3_s(air, i, p)); /* m3/h: plain figures */
    if (!add_everywhere(m, &all, most_of_fine(air, f->station_count, weight), arena))
      return false;
  }
  return true;
}

static uint64_t set_at(const struct day_model *m, const bool *chosen, int quarter)
{
  uint64_t set = 0;

  for (int c = 0; c < m->column_count; c++) {
    const struct day_column *col = &m->columns[c];

    if (chosen[c] && quarter >= col->first && quarter < col->first + col->length)
      set |= (uint64_t)1 << m->wishes->list[col->booking].station;
  }
  return set;
}

/* Of a core not all may be up at once, at any time: the air does not know the hour. */
static bool cut_core(struct day_model *m, uint64_t core, struct arena *arena)
{
  double weight[DAY_STATIONS_MOST];
  int size = 0;

  for (int i = 0; i < m->facility->station_count; i++) {
    weight[i] = (double)(core >> i & 1);
    size += (int)(core >> i & 1);
  }
  const struct weighing of = {.station = weight, .only = -1};

  return add_everywhere(m, &of, size - 1, arena);
}

int day_model_cut(struct day_model *model, struct day_air *air, const bool *chosen,
                  struct arena *arena)
{
  uint64_t told[DAY_STATIONS_MOST];
  int count = 0;

  for (int q = 0; q < model->quarter_count && count < DAY_STATIONS_MOST; q++) {
    uint64_t set = set_at(model, chosen, q);
    bool known = day_air_level(air, set) != FACILITY_SHORT;
    uint64_t core = known ? 0 : day_air_core(air, set);

    for (int i = 0; i < count && !known; i++)
      known = told[i] == core;
    if (known)
      continue;
    told[count++] = core;
    if (!cut_core(model, core, arena))
      break;
  }
  return count;
}

struct day_model *day_model_new(const struct facility *facility, struct day_air *air,
                                const struct day_bookings *wishes, int64_t from_ms, int64_t to_ms,
                                struct arena *arena)
{
  struct day_model *m = ARENA_NEW(arena, struct day_model);
  size_t starts = 2 * (size_t)(facility->day.within_s / quarter_s) + 2;

  if (!m)
    return NULL;
  m->facility = facility;
  m->wishes = wishes;
  m->from_ms = from_ms;
  m->quarter_count = (int)((to_ms - from_ms) / DAY_QUARTER_MS);
  m->columns = ARENA_ARRAY(arena, struct day_column, starts * (size_t)wishes->count + 1);
  if (!m->columns)
    return NULL;
  add_columns(m);
  if (!add_once_each(m, arena) || !add_places(m, arena) || !add_air(m, air, arena))
    return NULL;
  m->air_rows = m->row_count;
  return m;
}

/* ---- MPS ---- */

/* Column by column, as the format wants it: `first` of a column is where its rows begin in `at`. */
static void put_columns(const struct day_model *m, const int *first, const int *rows,
                        const double *values, struct buf *out)
{
  buf_puts(out, "COLUMNS\n MARK0 'MARKER' 'INTORG'\n");
  for (int c = 0; c < m->column_count; c++) {
    buf_printf(out, " C%d COST %g\n", c, m->columns[c].cost_count);
    for (int i = first[c]; i < first[c + 1]; i++)
      buf_printf(out, " C%d R%d %g\n", c, rows[i], values[i]);
  }
  buf_puts(out, " MARK1 'MARKER' 'INTEND'\n");
}

static void transpose(const struct day_model *m, int *first, int *rows, double *values)
{
  for (int r = 0; r < m->row_count; r++)
    for (int i = 0; i < m->rows[r].count; i++)
      first[m->rows[r].columns[i] + 1]++;
  for (int c = 0; c < m->column_count; c++)
    first[c + 1] += first[c];
  for (int r = 0; r < m->row_count; r++)
    for (int i = 0; i < m->rows[r].count; i++) {
      int at = first[m->rows[r].columns[i]]++;

      rows[at] = r;
      values[at] = m->rows[r].values[i];
    }
  for (int c = m->column_count; c > 0; c--)
    first[c] = first[c - 1];
  first[0] = 0;
}

void day_model_mps(const struct day_model *model, struct buf *out)
{
  struct arena arena;
  size_t count = 0;

  for (int r = 0; r < model->row_count; r++)
    count += (size_t)model->rows[r].count;
  arena_init(&arena, (size_t)1 << 30);
  int *first = ARENA_ARRAY(&arena, int, (size_t)model->column_count + 2);
  int *rows = ARENA_ARRAY(&arena, int, count + 1);
  double *values = ARENA_ARRAY(&arena, double, count + 1);

  BUG_IF(!first || !rows || !values);
  transpose(model, first, rows, values);
  buf_puts(out, "NAME DAY FREE\nROWS\n N COST\n");
  for (int r = 0; r < model->row_count; r++)
    buf_printf(out, " %c R%d\n", model->rows[r].equal ? 'E' : 'L', r);
  put_columns(model, first, rows, values, out);
  buf_puts(out, "RHS\n");
  for (int r = 0; r < model->row_count; r++)
    buf_printf(out, " RHS R%d %g\n", r, model->rows[r].most_count);
  buf_puts(out, "BOUNDS\n");
  for (int c = 0; c < model->column_count; c++)
    buf_printf(out, " UP BND C%d 1\n", c);
  buf_puts(out, "ENDATA\n");
  arena_release(&arena);
}
