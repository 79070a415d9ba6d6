#include "bath/bath_impl.h"

#include "base/constants.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

static const double usual_K = 293.15; /* of bottles in a room, where nothing is said */

const char *bath_words(struct bath_work *w, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  const char *text = arena_vprintf(w->arena, fmt, args);

  va_end(args);
  BUG_IF(!text);
  return text;
}

/* Once, however often it is said. */
void bath_line(struct bath_lines *lines, const char *text)
{
  for (int i = 0; i < lines->count; i++)
    if (strcmp(lines->line[i], text) == 0)
      return;
  if (lines->count < BATH_LINES_MAX)
    lines->line[lines->count++] = text;
}

double bath_setting(struct bath_work *w, const char *setting, const char *column,
                    enum units_dimension dimension)
{
  const struct chem_table *t = chem_table("bath_settings", w->arena);
  int row = 0;

  while (row < t->row_count && strcmp(chem_cell(t, row, "setting"), setting) != 0)
    row++;
  BUG_IF(row == t->row_count);
  return chem_cell_si(t, row, column, dimension);
}

static enum err_code find_station(struct bath_work *w)
{
  const struct facility *f = w->place->facility;
  const char *id = w->request->station;

  w->answer->facility = f;
  if (!id)
    return ERR_OK;
  if (!f)
    return err_set(w->err, ERR_INPUT, "station '%.40s': of which suite? give its file first", id);
  if (facility_station_find(f, id) < 0)
    return err_set(w->err, ERR_INPUT, "station '%.40s': the suite has none of that name", id);
  w->answer->station = id;
  return ERR_OK;
}

/* A slip of the unit is not made: more than data/bath_settings.csv has. */
static enum err_code check_amount(struct bath_work *w)
{
  double volume_m3 = bath_setting(w, "most", "volume", UNITS_VOLUME);
  double mass_kg = bath_setting(w, "most", "mass", UNITS_MASS);
  const struct bath_answer *a = w->answer;

  if (!(a->sum_m3 > volume_m3) && !(a->volume_m3 > volume_m3) && !(a->mass_kg > mass_kg))
    return ERR_OK;
  return err_set(w->err, ERR_INPUT,
                 "%s: more than %.4g L or %.4g kg, which no bath of a bench holds "
                 "(data/bath_settings.csv); is the unit meant?",
                 w->request->has_volume ? "volume"
                 : w->request->has_mass ? "mass"
                 : w->request->bath     ? "bath"
                                        : "part",
                 volume_m3 * 1e3, mass_kg);
}

/* Which of the four ways to ask it is; exactly one. */
static enum err_code draft(struct bath_work *w)
{
  const struct bath_request *r = w->request;
  bool target = r->to_count > 0 || r->from_count > 0 || r->of;

  if (r->has_volume && r->has_mass)
    return err_set(w->err, ERR_INPUT, "volume and mass: one of the two says how much");
  if (!!r->name + (r->part_count > 0) + target != 1)
    return err_set(w->err, ERR_INPUT,
                   "what is to be made? one of: a bath's name; --of, --to and --from; --part ...");
  if (r->name)
    return bath_named(w);
  if (r->part_count > 0)
    return r->bath ? err_set(w->err, ERR_INPUT, "bath: wants --of, --to and --from, not --part")
                   : bath_parts_given(w);
  if (r->to_count == 0)
    return err_set(w->err, ERR_INPUT, "to: how strong is it to be? --to 5wt%% or --to 1mol/L");
  return r->bath ? bath_parts_spiked(w) : bath_parts_to(w);
}

/* A part that would boil at the temperature asked for is not poured. */
static enum err_code check_temperature(struct bath_work *w)
{
  const struct bath_answer *a = w->answer;

  if (a->temperature_K < ZERO_CELSIUS_K)
    return err_set(w->err, ERR_INPUT,
                   "temperature: below 0 degC nothing is known here of these liquids");
  if (isfinite(a->heat.boiling_K) && a->temperature_K >= a->heat.boiling_K)
    return err_set(
        w->err, ERR_INPUT,
        "temperature: %.4g degC is at or above where this bath, or the water in it, boils (about %.3g degC): "
        "no volumes; mix it cold",
        a->temperature_K - ZERO_CELSIUS_K, a->heat.boiling_K - ZERO_CELSIUS_K);
  return ERR_OK;
}

static void name_it(struct bath_work *w)
{
  struct bath_answer *a = w->answer;
  const char *list = "";

  if (a->title)
    return;
  for (int i = 0; i < a->holds_count; i++)
    if (strcmp(w->holds[i].substance->id, "water") != 0)
      list = bath_words(w, "%s%s%s %.3g wt%%", list, *list ? ", " : "", w->holds[i].substance->name,
                        w->holds[i].fraction_ratio * 100);
  a->title = *list ? list : "Water";
}

static void say_assumed(struct bath_work *w)
{
  struct bath_answer *a = w->answer;
  int solutes = 0;

  for (int i = 0; i < w->part_count; i++)
    if (w->parts[i].stock.solid && w->parts[i].stock.assay_ratio < 1)
      bath_line(&a->assumed,
                bath_words(w, "%s: %.4g %% assumed; read your label", w->parts[i].stock.name,
                           w->parts[i].stock.assay_ratio * 100));
  if (!w->request->has_temperature)
    bath_line(&a->assumed, "parts and water at 20 \u00b0C");
  for (int i = 0; i < a->holds_count; i++)
    solutes += strcmp(w->holds[i].substance->id, "water") != 0;
  if (solutes > 1 && !w->reacts)
    bath_line(&a->assumed,
              "composition as mixed: what the parts do to one another is not counted in it");
  if (isnan(a->density_kg_m3))
    bath_line(&a->unknown,
              "the density of the product: its volume is not known, and mol/L are given as if "
              "volumes added up");
  if (a->heat.mixes)
    bath_line(&a->assumed,
              "heat: no loss to vessel or air, all poured at once; poured slowly it gets less hot");
}

static const char *whom(struct bath_work *w)
{
  const struct facility *f = w->place->facility;

  return f && f->call ? bath_words(w, "%s, and the safety officer", f->call)
                      : "whoever looks after the stations, and the safety officer";
}

static enum err_code work(struct bath_work *w)
{
  struct bath_answer *a = w->answer;
  enum err_code code = find_station(w);

  if (code == ERR_OK)
    code = draft(w);
  if (code != ERR_OK)
    return code;
  if (a->state != BATH_NO_RECIPE) {
    bath_volumes(w);
    code = check_amount(w);
    if (code != ERR_OK)
      return code;
    bath_heat(w);
    code = check_temperature(w);
    if (code != ERR_OK)
      return code;
    name_it(w);
    bath_counsel(w);
  }
  bath_rules(w);
  if (a->state == BATH_MADE)
    say_assumed(w);
  return ERR_OK;
}

const struct bath_answer *bath_answer(const struct bath_place *place,
                                      const struct bath_request *request, struct arena *arena,
                                      struct err *err)
{
  struct bath_work *w = ARENA_NEW(arena, struct bath_work);
  struct bath_answer *a = ARENA_NEW(arena, struct bath_answer);
  struct bath_place *with = ARENA_NEW(arena, struct bath_place);

  if (!w || !a || !with) {
    (void)err_set(err, ERR_LIMIT, "out of working memory");
    return NULL;
  }
  *with = *place;
  with->chem = chem_with(place->chem, place->own, arena);
  *a = (struct bath_answer){.state = BATH_MADE,
                            .use = "",
                            .shelf = "",
                            .life = "",
                            .waste = "",
                            .hazards = "",
                            .temperature_K =
                                request->has_temperature ? request->temperature_K : usual_K,
                            .use_from_K = NAN,
                            .use_to_K = NAN,
                            .mass_kg = NAN,
                            .volume_m3 = NAN,
                            .density_kg_m3 = NAN,
                            .sum_m3 = NAN,
                            .fill_ratio = NAN};
  a->heat = (struct bath_heat){.low_K = NAN, .high_K = NAN, .boiling_K = NAN, .peroxide_K = NAN};
  *w = (struct bath_work){.place = with,
                          .request = request,
                          .arena = arena,
                          .err = err,
                          .answer = a,
                          .kin = "",
                          .meets = "",
                          .mixture = "",
                          .not_for = "",
                          .told_K = NAN};
  if (work(w) != ERR_OK || bath_together(w) != ERR_OK)
    return NULL;
  bath_foremost(w);
  a->asked = whom(w);
  bath_first_line(w);
  return a;
}
