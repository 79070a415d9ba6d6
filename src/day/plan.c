/* A whole schedule: solve, ask the real air, cut off what it does not allow, and again. */
#include "day/day_impl.h"

#include <math.h>
#include <stdlib.h>

enum { ROUNDS_MOST = 60 };

static int bits(uint64_t set)
{
  int count = 0;

  for (; set; set &= set - 1)
    count++;
  return count;
}

static void take_starts(const struct day_model *m, const bool *chosen, struct day_plan *out)
{
  for (int c = 0; c < m->column_count; c++) {
    const struct day_column *col = &m->columns[c];

    if (!chosen[c])
      continue;
    out->start_ms[col->booking] = col->start_ms;
    out->left_out_count += col->start_ms == INT64_MIN;
    out->moved_count +=
        col->start_ms != INT64_MIN && col->start_ms != m->wishes->list[col->booking].start_ms;
  }
}

/* The fullest quarter hour, and what the real air says of one more there. */
static void find_full(const struct day_answer *answer, const struct day_model *m,
                      const bool *chosen, struct arena *arena, struct day_plan *out)
{
  struct day_air *air = answer->request->air;
  uint64_t fullest = 0;

  for (int q = 0; q < m->quarter_count; q++) {
    uint64_t set = 0;

    for (int c = 0; c < m->column_count; c++)
      if (chosen[c] && q >= m->columns[c].first && q < m->columns[c].first + m->columns[c].length)
        set |= (uint64_t)1 << m->wishes->list[m->columns[c].booking].station;
    if (bits(set) > bits(fullest)) {
      fullest = set;
      out->full_ms = m->from_ms + (int64_t)q * DAY_QUARTER_MS;
    }
  }
  out->full_count = bits(fullest);
  for (int i = 0; i < m->facility->station_count && !out->binding; i++) {
    uint64_t more = fullest | (uint64_t)1 << i;

    if (more != fullest && day_air_level(air, more) == FACILITY_SHORT)
      (void)day_air_solve(air, more, NULL, arena, &out->binding);
  }
}

enum err_code day_plan(const struct day_answer *answer, const struct day_plan_job *job,
                       struct arena *arena, struct day_plan *out, struct err *err)
{
  const struct day_request *r = answer->request;
  struct day_model *m =
      day_model_new(r->facility, r->air, &answer->day, answer->from_ms, answer->to_ms, arena);
  struct day_solution s = {.chosen =
                               m ? ARENA_ARRAY(arena, bool, (size_t)m->column_count + 1) : NULL};

  *out = (struct day_plan){.start_ms = ARENA_ARRAY(arena, int64_t, (size_t)answer->day.count + 1)};
  if (!m || !s.chosen || !out->start_ms)
    return err_set(err, ERR_LIMIT, "more bookings than a schedule is made of");
  for (int i = 0; i < answer->day.count; i++)
    out->start_ms[i] = answer->day.list[i].start_ms;
  while (!out->agrees && out->round_count < ROUNDS_MOST && out->took_s < job->seconds_s) {
    enum err_code code = job->solve(job->arg, m, job->seconds_s - out->took_s, &s, err);

    if (code != ERR_OK)
      return code;
    out->round_count++;
    out->took_s += s.took_s;
    out->bound_count = fmax(out->bound_count, s.bound_count);
    if (!s.found)
      break;
    int cuts = day_model_cut(m, r->air, s.chosen, arena);

    out->cut_count += cuts;
    out->agrees = cuts == 0;
  }
  if (!out->agrees)
    return ERR_OK;
  out->found = true;
  out->cost_count = s.cost_count;
  take_starts(m, s.chosen, out);
  find_full(answer, m, s.chosen, arena, out);
  return ERR_OK;
}
