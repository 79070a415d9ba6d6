/* The answer for people: docs/handbook.md, "Vapour". */
#include "vapour/vapour_impl.h"

#include <math.h>
#include <string.h>

static void put_place(const struct vapour_answer *a, struct buf *out)
{
  const struct facility *f = a->request->facility;

  if (!f) {
    buf_puts(out, "vapour   (no suite named)\n\n");
    return;
  }
  buf_printf(out, "%s%s%s%s   vapour", f->name ? f->name : "(no name)", f->label ? "   [" : "",
             f->label ? f->label : "", f->label ? "]" : "");
  buf_printf(out, "   scene: %s%s\n\n", a->scene ? a->scene : "as parked",
             a->trial ? ", changed   [TRIAL, not live]" : "");
}

static void put_liquid(const struct vapour_answer *a, enum units_system system, struct buf *out)
{
  static const char *const from[] = {"", "beaker", "bath", "spill on the deck",
                                     "spill on the floor"};
  const struct facility *f = a->request->facility;

  buf_printf(out, "  %s, %s", a->liquid, from[a->request->from]);
  if (a->area.high_si > 0) {
    buf_puts(out, " of ");
    vapour_put_band(out, a->area, UNITS_AREA, "cm2");
    buf_puts(out, ", ");
    units_print(out, a->at_K, UNITS_TEMPERATURE, system);
  }
  if (a->station >= 0)
    buf_printf(out, ", in %s (%s)", f->stations[a->station].part.id,
               f->stations[a->station].part.name);
  else if (a->room >= 0)
    buf_printf(out, ", in %s", f->rooms[a->room].part.name);
  buf_puts(out, "\n");
}

/* ---- evaporation ---- */

static void put_rates(const struct vapour_answer *a, struct buf *out)
{
  const struct vapour_case *c = &a->cases[0];

  for (int i = 0; i < a->case_count && !c->known; i++) /* the first of which there is any */
    c = a->cases[i].known ? &a->cases[i] : c;
  buf_printf(out, "\nIt evaporates, %s, by published correlations that differ this much\n",
             a->case_count > 1 ? vapour_when_words(c->when) : "in air of the range below");
  for (int i = 0; i < VAPOUR_RATES; i++) {
    const struct vapour_rate *rate = &c->rates[i];

    buf_printf(out, "  %-37s ", rate->name);
    if (rate->why_not)
      buf_printf(out, "not used: %s\n", rate->why_not);
    else {
      vapour_put_band(out, rate->rate, UNITS_MASS_FLOW, "g/h");
      buf_printf(out, "   %s\n", rate->source);
    }
  }
  if (!isnan(c->freeboard_kg_s)) {
    buf_printf(out, "  %-37s ", "diffusion through the freeboard");
    vapour_put_band(out, (struct vapour_band){c->freeboard_kg_s, c->freeboard_kg_s},
                    UNITS_MASS_FLOW, "g/h");
    buf_puts(out, "   Stefan, while the air in it stands still\n");
  }
  if (!isnan(a->dry_s)) {
    buf_puts(out, "  used up: not before ");
    vapour_put_time(out, a->dry_s);
    buf_puts(out, ", the whole liquid at the fastest of these rates\n");
  }
}

static void put_parts(const struct vapour_answer *a, struct buf *out)
{
  buf_puts(out, "\nOver the liquid\n");
  for (int i = 0; i < a->part_count; i++) {
    const struct vapour_part *p = &a->parts[i];

    buf_printf(out, "  %s: ", p->stock.substance->name);
    vapour_put_band(out, p->pressure, UNITS_ABSOLUTE_PRESSURE, "kPa(a)");
    buf_printf(out, "%s (%s)\n", p->at_most && !(p->pressure.low_si > 0) ? ", an upper end" : "",
               p->pressure_words);
    if (p->stock.substance->note[0])
      buf_printf(out, "    noted: %s\n", p->stock.substance->note);
    if (!isnan(p->lower_limit_ratio)) {
      buf_puts(out, "    lower flammable limit there ");
      vapour_put(out, p->lower_limit_ratio, UNITS_CONCENTRATION, "%vol");
      buf_printf(out, " %%vol (%s; temperature by Zabetakis, value from memory)\n",
                 p->lower_limit_words);
    }
  }
  if (!a->ignitable)
    buf_printf(out, "  %s\n", a->ignition_words);
}

/* ---- the three cases ---- */

static void put_flow(const struct vapour_case *c, enum units_system system, struct buf *out)
{
  if (isnan(c->station_m3_s))
    return;
  buf_puts(out, "    through the station   ");
  units_print(out, c->station_m3_s, UNITS_FLOW, system);
  if (c->station_pm_m3_s > 0 && !c->to_room) {
    buf_puts(out, " ± ");
    units_print(out, c->station_pm_m3_s, UNITS_FLOW, system);
  }
  if (c->to_room)
    buf_puts(out, ", counted as none");
  if (!isnan(c->main_m3_s)) {
    buf_puts(out, ", through its main ");
    units_print(out, c->main_m3_s, UNITS_FLOW, system);
  }
  buf_putc(out, '\n');
}

static void put_share(struct vapour_band share, struct buf *out)
{
  if (isnan(share.high_si))
    return;
  buf_puts(out, ", ");
  vapour_put_band(out, share, UNITS_SHARE, "%");
  buf_puts(out, " of the lower flammable limit");
}

static void put_duct(const char *where, struct vapour_band ratio, struct vapour_band share,
                     struct buf *out)
{
  if (isnan(ratio.high_si))
    return;
  buf_printf(out, "    %-21s ", where);
  vapour_put_band(out, ratio, UNITS_CONCENTRATION, "ppm");
  put_share(share, out);
  buf_putc(out, '\n');
}

static void put_room(const struct vapour_answer *a, const struct vapour_case *c,
                     enum units_system system, struct buf *out)
{
  static const char *const names[] = {"after 1 min", "after 5 min", "after 15 min", "after 1 h",
                                      "at the worst"};

  if (!c->to_room || isnan(c->room[0][0].high_si))
    return;
  buf_puts(out, "    fresh air of the room ");
  units_print(out, c->fresh_m3_s, UNITS_FLOW, system);
  buf_printf(out, ", of which %.2g to %.2g dilutes\n", a->mixing.low_si, a->mixing.high_si);
  for (int i = 0; i < a->part_count; i++) {
    buf_printf(out, "    %s in the room, on average\n", a->parts[i].stock.substance->name);
    for (int k = 0; k <= VAPOUR_TIMES; k++) {
      buf_printf(out, "      %-20s", names[k]);
      vapour_put_band(out, c->room[i][k], UNITS_CONCENTRATION, "ppm");
      if (k == VAPOUR_TIMES)
        put_share(c->room_share, out);
      buf_putc(out, '\n');
    }
  }
}

/* Whole powers of ten, or what the air over the liquid holds, written out. */
static void put_order(struct vapour_band band, struct buf *out)
{
  double low_ppm = band.low_si * 1e6, high_ppm = band.high_si * 1e6;

  if (low_ppm > 0)
    buf_printf(out, low_ppm < 1 ? "%.1g to " : "%.0f to ", low_ppm);
  else
    buf_puts(out, "at most ");
  buf_printf(out, high_ppm < 1 ? "%.2g ppm" : "%.0f ppm", high_ppm);
}

static void put_person(const struct vapour_answer *a, const struct vapour_case *c, struct buf *out)
{
  for (int i = 0; i < a->part_count; i++) {
    buf_puts(out, "    at a person           ");
    if (isnan(c->person[i].high_si)) {
      buf_printf(out, "not known: %s\n", c->person_words);
      return;
    }
    if (a->part_count > 1)
      buf_printf(out, "%s ", a->parts[i].stock.substance->name);
    put_order(c->person[i], out);
    buf_printf(out, ", an order of magnitude: %s\n", c->person_words);
  }
}

static void put_case(const struct vapour_answer *a, const struct vapour_case *c,
                     enum units_system system, struct buf *out)
{
  buf_printf(out, "\n  %c%s\n", vapour_when_words(c->when)[0] - 'a' + 'A',
             vapour_when_words(c->when) + 1);
  if (!c->known) {
    buf_printf(out, "    not known: %s\n", c->why_not);
    return;
  }
  put_flow(c, system, out);
  buf_puts(out, "    air over the liquid   ");
  vapour_put_band(out, c->speed, UNITS_VELOCITY, system == UNITS_SYSTEM_US ? "fpm" : "m/s");
  buf_puts(out, "\n    it evaporates         ");
  vapour_put_band(out, c->rate, UNITS_MASS_FLOW, "g/h");
  buf_putc(out, '\n');
  put_duct("in the station's duct", c->duct, c->duct_share, out);
  put_duct("in the main", c->main, c->main_share, out);
  put_room(a, c, system, out);
  put_person(a, c, out);
}

/* ---- limits and going in again ---- */

/* Was the source of this limit named by one before it? */
static bool is_named(const struct vapour_answer *a, int limit)
{
  for (int i = 0; i < limit; i++)
    if (!isnan(a->limits[i].volume_ratio) &&
        strcmp(a->limits[i].limit->of.source, a->limits[limit].limit->of.source) == 0)
      return true;
  return false;
}

static void put_limit(const struct vapour_answer *a, const struct vapour_limit *l, struct buf *out)
{
  bool looked_up = l->limit->of.basis == CHEM_SEEN || l->limit->of.basis == CHEM_COPY;

  buf_puts(out, "  ");
  if (a->part_count > 1)
    buf_printf(out, "%s, ", a->parts[l->part].stock.substance->name);
  buf_printf(out, "%s %s, %s", l->limit->issuer, l->limit->printed,
             chem_limit_words(l->limit->kind));
  if (!looked_up)
    buf_printf(out, " (%s)", chem_basis_words(l->limit->of.basis));
  buf_printf(out, ": in this scene %s; parked %s; fans standing %s\n",
             vapour_verdict_words(l->verdict[0]), vapour_verdict_words(l->verdict[1]),
             vapour_verdict_words(l->verdict[2]));
}

static void put_limits(const struct vapour_answer *a, struct buf *out)
{
  if (a->case_count < VAPOUR_WHEN_COUNT || a->limit_count == 0)
    return;
  buf_puts(out, "\nAgainst exposure limits, at a person (one-sided: \"not shown to exceed\" clears "
                "nothing; a mean, a short and a ceiling limit are different tests)\n");
  for (int i = 0; i < a->limit_count; i++)
    if (!isnan(a->limits[i].volume_ratio))
      put_limit(a, &a->limits[i], out);
  for (int i = 0; i < a->limit_count; i++)
    if (!isnan(a->limits[i].volume_ratio) && !is_named(a, i))
      buf_printf(out, "  from: %s\n", a->limits[i].limit->of.source);
}

static void put_purge(const struct vapour_answer *a, struct buf *out)
{
  static const char *const when[] = {"with the fresh air of this scene",
                                     "with the fresh air while the fans stand"};

  if (a->case_count < VAPOUR_WHEN_COUNT)
    return;
  buf_puts(
      out,
      "\nGoing in again: source removed? measured? released by whom? No figure answers these.\n");
  for (int k = 0; k < 2; k++) {
    const struct vapour_purge *p = &a->purge[k];

    buf_printf(out, "  %s: ", when[k]);
    if (!p->known) {
      buf_printf(out, "no time: %s\n", p->why_not);
      continue;
    }
    vapour_put(out, p->first_ratio, UNITS_CONCENTRATION, "ppm");
    buf_puts(out, " ppm thins to ");
    vapour_put(out, p->last_ratio, UNITS_CONCENTRATION, "ppm");
    buf_printf(out, " ppm (the lowest limit in the tables, %s) in ", p->to);
    vapour_put_time(out, p->time_s);
    buf_puts(out, " at the slow end, counted from when the source is gone\n");
  }
  if (a->purge[0].not_counted)
    buf_printf(
        out, "  not counted in these: %s, of which no exposure limit by volume is in the tables\n",
        a->purge[0].not_counted);
}

void vapour_text(const struct vapour_answer *a, enum units_system system, struct buf *out)
{
  put_place(a, out);
  buf_printf(out, "  %s\n\n", a->headline);
  put_liquid(a, system, out);
  buf_put_list(out, "Cautions", a->cautions, a->caution_count);
  if (!a->refused) {
    put_rates(a, out);
    put_parts(a, out);
    buf_puts(out, a->case_count > 1 ? "\nWhere it goes\n" : "");
    for (int i = 0; i < a->case_count && a->case_count > 1; i++)
      put_case(a, &a->cases[i], system, out);
    put_limits(a, out);
    put_purge(a, out);
  }
  buf_put_list(out, "Assumed", a->assumed, a->assumed_count);
  buf_put_list(out, "Not known", a->unknown, a->unknown_count);
  buf_put_list(out, "Ask", a->asks, a->ask_count);
  buf_printf(out, "\n%s\n", chem_closing);
  if (system == UNITS_SYSTEM_US && !a->refused)
    buf_puts(out,
             "US units: flows in cfm, speeds in fpm, the liquid's temperature in °F; areas, rates "
             "and pressures stay metric, as the correlations' figures are printed.\n");
  if (a->request->facility)
    buf_printf(out, "Computed from the suite file %.12s.\n", a->request->facility->sha256);
}
