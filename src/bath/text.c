/* An answer for people. */
#include "bath/bath_impl.h"

#include <math.h>
#include <string.h>

/* Four digits, in the unit a person measures it with. */
void bath_print_volume(struct buf *out, double volume_m3)
{
  if (!isfinite(volume_m3))
    buf_puts(out, "not known");
  else if (volume_m3 >= 0.9995e-3)
    buf_printf(out, "%.4g L", volume_m3 * 1e3);
  else
    buf_printf(out, "%.3g mL", volume_m3 * 1e6);
}

void bath_print_mass(struct buf *out, double mass_kg)
{
  if (!isfinite(mass_kg))
    buf_puts(out, "not known");
  else if (mass_kg >= 0.9995)
    buf_printf(out, "%.4g kg", mass_kg);
  else
    buf_printf(out, "%.3g g", mass_kg * 1e3);
}

/* ---- the first line ---- */

static const char *amount_of(struct bath_work *w, const struct bath_part *p)
{
  struct buf text;
  const char *words;

  buf_init(&text, 60);
  if (p->stock.solid || isnan(p->volume_m3))
    bath_print_mass(&text, p->mass_kg);
  else
    bath_print_volume(&text, p->volume_m3);
  words = bath_words(w, "%s", text.text);
  buf_release(&text);
  return words;
}

static const char *made_of(struct bath_work *w)
{
  const char *list = "";

  for (int i = 0; i < w->answer->part_count; i++) {
    const struct bath_part *p = &w->answer->parts[i];

    list = bath_words(w, "%s%s%s of %s%s", list, *list ? ", then " : "", amount_of(w, p),
                      p->stock.name, p->there ? " there already" : "");
  }
  return list;
}

static const char *last_reason(const struct bath_answer *a)
{
  return a->part_count > 1 ? a->parts[a->part_count - 1].why : "";
}

static const char *not_for(struct bath_work *w)
{
  return *w->not_for
             ? bath_words(w, ", which is for '%s': ask first whether this may be made there",
                          w->not_for)
             : "";
}

void bath_first_line(struct bath_work *w)
{
  struct bath_answer *a = w->answer;
  const char *at = a->station ? bath_words(w, " at %s", a->station) : "";

  if (a->state == BATH_REFUSED)
    a->first = bath_words(w, "No amounts for %s%s: %s.", a->title, at, a->refused.line[0]);
  else if (a->state == BATH_NO_RECIPE)
    a->first = bath_words(w, "No recipe here for %s: %s.", a->title, a->refused.line[0]);
  else
    a->first = bath_words(w, "%s%s%s: %s%s%s%s.", a->title, at, not_for(w), made_of(w),
                          *last_reason(a) ? " (" : "", last_reason(a), *last_reason(a) ? ")" : "");
}

/* ---- blocks ---- */

static void block(struct buf *out, const char *heading, const struct bath_lines *lines)
{
  if (lines->count > 0)
    buf_printf(out, "\n%s\n", heading);
  for (int i = 0; i < lines->count; i++)
    buf_printf(out, "  - %s\n", lines->line[i]);
}

static void print_density(struct buf *out, double density_kg_m3, double pm_kg_m3,
                          const struct chem_origin *of)
{
  buf_printf(out, "%.4g kg/L", density_kg_m3 / 1e3);
  if (pm_kg_m3 > 0)
    buf_printf(out, " \u00b1 %.2g", pm_kg_m3 / 1e3);
  buf_printf(out, ", %s: %s", chem_basis_words(of->basis), of->source);
}

static void put_parts(const struct bath_answer *a, enum units_system system, struct buf *out)
{
  buf_puts(out, "\nParts, in this order, at ");
  units_print(out, a->temperature_K, UNITS_TEMPERATURE, system);
  buf_putc(out, '\n');
  for (int i = 0; i < a->part_count; i++) {
    const struct bath_part *p = &a->parts[i];

    buf_printf(out, "  %d. ", i + 1);
    if (p->stock.solid) {
      bath_print_mass(out, p->mass_kg);
      buf_printf(out, " %s, weighed", p->stock.name);
    } else {
      bath_print_volume(out, p->volume_m3);
      buf_puts(out, " (");
      bath_print_mass(out, p->mass_kg);
      buf_printf(out, ") %s%s", p->stock.name, p->there ? ", the bath" : "");
    }
    buf_printf(out, "\n     %s\n", p->why);
    if (isnan(p->density_kg_m3))
      buf_puts(out, "     density not known here: weigh it\n");
    else {
      buf_puts(out, "     density ");
      print_density(out, p->density_kg_m3, p->stock.density_pm_kg_m3, &p->density_of);
      buf_putc(out, '\n');
    }
  }
}

static void put_product(const struct bath_answer *a, struct buf *out)
{
  bool known = isfinite(a->volume_m3);

  buf_puts(out, "\nWhat it then is\n  ");
  bath_print_mass(out, a->mass_kg);
  if (known) {
    buf_puts(out, ", ");
    bath_print_volume(out, a->volume_m3);
    buf_puts(out, "; density ");
    print_density(out, a->density_kg_m3, NAN, &a->density_of);
    if (a->part_count > 1) {
      buf_puts(out, "\n  the volumes of its parts add up to ");
      bath_print_volume(out, a->sum_m3);
      buf_puts(out, ": volumes are not kept, masses are");
    }
  } else {
    buf_puts(out, "; volume not known; the volumes of its parts add up to ");
    bath_print_volume(out, a->sum_m3);
    buf_puts(out, " and bound it");
  }
  buf_putc(out, '\n');
  if (a->holds_count == 0)
    buf_puts(out, "  what it then holds is not known: its parts react\n");
  for (int i = 0; i < a->holds_count; i++)
    buf_printf(out, "  %s %.4g wt%%, %s%.3g mol/L\n", a->holds[i].substance->name,
               a->holds[i].fraction_ratio * 100, known ? "" : "about ",
               a->holds[i].molarity_mol_m3 / 1e3);
}

static void put_degrees(struct buf *out, double low_K, double high_K)
{
  buf_printf(out, "%.2g to %.2g K", low_K, high_K);
}

static void put_end(const struct bath_answer *a, double high_K, enum units_system system,
                    struct buf *out)
{
  buf_puts(out, ", to at most ");
  units_print(out, a->temperature_K + high_K, UNITS_TEMPERATURE, system);
}

/* Three digits, without an exponent. */
static void put_energy(struct buf *out, double J)
{
  if (fabs(J) >= 999.5e3)
    buf_printf(out, "%.3g MJ", J / 1e6);
  else
    buf_printf(out, "%.3g kJ", J / 1e3);
}

static void put_peroxide(const struct bath_answer *a, enum units_system system, struct buf *out)
{
  const struct bath_heat *h = &a->heat;

  if (!(h->peroxide_J > 0))
    return;
  buf_puts(out, "  worst case apart, all the peroxide breaking down: ");
  put_energy(out, h->peroxide_J);
  buf_puts(out, " more and ");
  buf_printf(out, "%.3g L of oxygen at 25 \u00b0C: ", h->oxygen_m3 * 1e3);
  if (h->peroxide_boils == BATH_WILL_BOIL)
    buf_puts(out, "WILL BOIL\n");
  else if (h->peroxide_boils == BATH_MAY_BOIL)
    buf_puts(out, "may boil\n");
  else if (h->peroxide_boils == BATH_HEAT_NOT_KNOWN || !h->complete)
    buf_puts(out, "how hot is not known: treat as hot\n");
  else {
    buf_printf(out, "%.2g K in all", h->peroxide_K);
    put_end(a, h->peroxide_K, system, out);
    buf_putc(out, '\n');
  }
}

static void put_heat(const struct bath_answer *a, enum units_system system, struct buf *out)
{
  const struct bath_heat *h = &a->heat;

  buf_puts(out, "\nHeat of mixing\n");
  if (!h->mixes)
    buf_puts(out, "  nothing is mixed that gives heat by these tables\n");
  else if (h->boils == BATH_WILL_BOIL)
    buf_puts(out, "  WILL BOIL if poured at once: slowly, stirred, cooled, in a vessel for it\n");
  else if (h->boils == BATH_MAY_BOIL)
    buf_puts(out, "  may boil if poured at once: slowly, stirred, cooled, in a vessel for it\n");
  else if (!h->complete)
    buf_puts(out, "  not known: treat as hot\n");
  else if (isnan(h->high_K))
    buf_puts(out, "  the rise is not known: treat as hot\n");
  if (h->mixes && (h->complete || h->high_J > 0)) {
    buf_puts(out, h->complete ? "  " : "  known of it: ");
    put_energy(out, h->low_J);
    buf_puts(out, " to ");
    put_energy(out, h->high_J);
    if (h->boils == BATH_STAYS_BELOW) {
      buf_puts(out, ": a rise of ");
      put_degrees(out, h->low_K, h->high_K);
      put_end(a, h->high_K, system, out);
      buf_puts(out, ", all poured at once without loss; not shown to boil by mixing alone");
      if (h->peroxide_J > 0)
        buf_puts(out, ", decomposition not counted");
    } else if (h->boils != BATH_HEAT_NOT_KNOWN) {
      buf_puts(out, h->boils == BATH_MAY_BOIL ? "; at the upper end above " : "; above ");
      units_print(out, h->boiling_K, UNITS_TEMPERATURE, system);
      buf_puts(out, ", how far is not known");
    }
    buf_putc(out, '\n');
  }
  put_peroxide(a, system, out);
}

static void put_rest(const struct bath_answer *a, enum units_system system, struct buf *out)
{
  buf_puts(out, "\nVessel, use and after\n");
  if (isfinite(a->fill_ratio)) {
    double volume_m3 = fmax(isfinite(a->volume_m3) ? a->volume_m3 : 0, a->sum_m3);

    buf_printf(out, "  fill it to at most %.0f %%: a vessel of at least ", a->fill_ratio * 100);
    bath_print_volume(out, volume_m3 / a->fill_ratio);
    buf_puts(out, " (common practice, no source)\n");
  }
  for (int i = 0; i < a->vessels.count; i++)
    buf_printf(out, "  %s\n", a->vessels.line[i]);
  if (*a->use)
    buf_printf(out, "  for: %s\n", a->use);
  if (isfinite(a->use_to_K)) {
    buf_puts(out, "  used at ");
    if (isfinite(a->use_from_K) && a->use_from_K < a->use_to_K) {
      units_print(out, a->use_from_K, UNITS_TEMPERATURE, system);
      buf_puts(out, " to ");
    }
    units_print(out, a->use_to_K, UNITS_TEMPERATURE, system);
    buf_putc(out, '\n');
  }
  buf_printf(out, "  keeping: %s\n", *a->shelf ? a->shelf : "not known");
  buf_printf(out, "  bath life: %s\n", *a->life ? a->life : "not known");
  buf_printf(out, "  waste: %s (local rules decide)\n", *a->waste ? a->waste : "ask");
  buf_puts(out, "  protective equipment: only as the station's own procedure says\n");
}

void bath_text(const struct bath_answer *a, enum units_system system, struct buf *out)
{
  const struct facility *f = a->facility;

  if (f)
    buf_printf(out, "%s%s%s%s   bath\n\n", f->name ? f->name : "(no name)", f->label ? "   [" : "",
               f->label ? f->label : "", f->label ? "]" : "");
  buf_printf(out, "%s\n", a->first);
  block(out, "Cautions", &a->cautions);
  block(out, "Of the station", &a->place);
  if (a->state != BATH_MADE) {
    block(out, "Why not", &a->refused);
    block(out, "What would make it possible", &a->possible);
  } else {
    put_parts(a, system, out);
    put_product(a, out);
    put_heat(a, system, out);
    put_rest(a, system, out);
  }
  block(out, "As it is written", &a->variants);
  block(out, "From", &a->sources);
  block(out, "Assumed", &a->assumed);
  block(out, "Not known", &a->unknown);
  buf_printf(out, "\nAsk: %s.\n%s\n", a->asked, chem_closing);
}
