/* A question put together: the liquid, its place, the air there, and what follows. */
#include "vapour/vapour_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void vapour_add(const char **list, int *count, const char *text)
{
  BUG_IF(*count >= VAPOUR_LINES_MAX); /* no caution is ever dropped */
  if (text)
    list[(*count)++] = text;
}

const char *vapour_when_words(enum vapour_when when)
{
  static const char *const words[] = {"as the air is in this scene", "parked",
                                      "with the fans standing"};

  return words[when];
}

const char *vapour_verdict_words(enum vapour_verdict verdict)
{
  static const char *const words[] = {"not known", "not shown to exceed", "may exceed", "exceeds"};

  return words[verdict];
}

/* ---- few digits ---- */

/* Two significant digits, for no figure here is known better. */
static void put_two(struct buf *out, double value)
{
  double power, rounded;

  if (isnan(value)) {
    buf_puts(out, "not known");
    return;
  }
  if (value == 0) {
    buf_puts(out, "0");
    return;
  }
  power = floor(log10(fabs(value)));
  rounded = round(value / pow(10, power - 1)) * pow(10, power - 1);
  if (fabs(rounded) < 1e-3 || fabs(rounded) >= 1e6)
    buf_printf(out, "%.1e", rounded);
  else
    buf_printf(out, "%.*f", (int)fmax(0, 1 - power), rounded);
}

static double in_unit(double si, enum units_dimension dimension, const char *unit)
{
  struct buf text;
  double value;

  if (!isfinite(si))
    return si;
  buf_init(&text, 80);
  units_print_in(&text, si, dimension, unit);
  value = strtod(text.text, NULL);
  buf_release(&text);
  return value;
}

void vapour_put(struct buf *out, double si, enum units_dimension dimension, const char *unit)
{
  put_two(out, in_unit(si, dimension, unit));
}

void vapour_put_band(struct buf *out, struct vapour_band band, enum units_dimension dimension,
                     const char *unit)
{
  if (isnan(band.high_si)) {
    buf_puts(out, "not known");
    return;
  }
  if (band.low_si == 0 && band.high_si > 0)
    buf_puts(out, "at most ");
  else if (band.low_si < band.high_si) {
    vapour_put(out, band.low_si, dimension, unit);
    buf_puts(out, " to ");
  }
  vapour_put(out, band.high_si, dimension, unit);
  buf_printf(out, " %s", unit);
}

const char *vapour_band_words(struct arena *arena, struct vapour_band band,
                              enum units_dimension dimension, const char *unit)
{
  struct buf text;
  const char *out;

  buf_init(&text, 200);
  vapour_put_band(&text, band, dimension, unit);
  out = arena_strdup(arena, text.text);
  buf_release(&text);
  return out ? out : "";
}

void vapour_put_time(struct buf *out, double time_s)
{
  if (isnan(time_s))
    buf_puts(out, "not known");
  else if (time_s < 90)
    buf_printf(out, "%.0f s", fmax(time_s, 1));
  else if (time_s < 5400)
    buf_printf(out, "%.0f min", time_s / 60);
  else
    buf_printf(out, time_s < 36000 ? "%.1f h" : "%.0f h", time_s / 3600);
}

const char *vapour_time_words(struct arena *arena, double time_s)
{
  struct buf text;
  const char *out;

  buf_init(&text, 80);
  vapour_put_time(&text, time_s);
  out = arena_strdup(arena, text.text);
  buf_release(&text);
  return out ? out : "";
}

/* ---- the whole ---- */

static struct vapour_band mixing_of(const struct vapour_work *w)
{
  if (w->request->mixing.high_si > 0)
    return w->request->mixing;
  return vapour_setting(w, "mixing", UNITS_RATIO);
}

static enum err_code work(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;
  enum err_code code = vapour_find_place(w);

  if (code == ERR_OK)
    code = vapour_read_liquid(w);
  if (code == ERR_OK && !a->refused)
    code = vapour_find_surface(w);
  a->mixing = mixing_of(w);
  if (code == ERR_OK && !a->refused)
    code = vapour_solve_air(w);
  if (code != ERR_OK)
    return code;
  if (!a->refused) {
    vapour_reach(w);
    vapour_judge(w);
  }
  vapour_say(w);
  return ERR_OK;
}

const struct vapour_answer *vapour_answer(const struct vapour_request *request, struct arena *arena,
                                          struct err *err)
{
  struct vapour_answer *a = ARENA_NEW(arena, struct vapour_answer);
  struct vapour_request *own = ARENA_NEW(arena, struct vapour_request);
  struct vapour_work w = {
      .request = own, .facility = request->facility, .arena = arena, .err = err, .out = a};
  size_t lines = VAPOUR_LINES_MAX;

  if (!a || !own) {
    err_set(err, ERR_LIMIT, "the answer is larger than the memory set aside for it");
    return NULL;
  }
  *own = *request; /* the answer outlives the question */
  a->request = own;
  a->cautions = ARENA_ARRAY(arena, const char *, lines);
  a->assumed = ARENA_ARRAY(arena, const char *, lines);
  a->unknown = ARENA_ARRAY(arena, const char *, lines);
  a->asks = ARENA_ARRAY(arena, const char *, lines);
  BUG_IF(!a->cautions || !a->assumed || !a->unknown || !a->asks);
  a->mass_kg = a->dry_s = a->saturation_ratio = (double)NAN;
  w.settings = chem_table("vapour_settings", arena);
  return work(&w) == ERR_OK ? a : NULL;
}
