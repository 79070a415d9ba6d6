#include "etch/etch_impl.h"

#include <math.h>

/* For people: the answer and its reason first, then cautions, figures with their sources, what is not
 * known, whom to ask. */

struct page {
  const struct etch_answer *answer;
  struct buf *out;
  struct arena *arena;
};

/* ---- the first lines ---- */

static void conditions(const struct page *p)
{
  const struct etch_answer *a = p->answer;

  buf_printf(p->out, "%s of %s in %s", etch_length(a->depth_m, p->arena), a->film->id, a->bath->id);
  if (a->parts[0])
    buf_printf(p->out, " (%s)", a->parts);
  if (!isnan(a->strength_ratio))
    buf_printf(p->out, ", %.4g wt%%", a->strength_ratio * 100);
  if (!isnan(a->at_K))
    buf_printf(p->out, ", %s", etch_degrees(a->at_K, a->system, p->arena));
  if (a->over_ratio > 0)
    buf_printf(p->out, ", over-etch %.4g %%", a->over_ratio * 100);
  if (a->wafers > 0)
    buf_printf(p->out, ", %d wafer%s of %s", a->wafers, a->wafers > 1 ? "s" : "",
               etch_length(a->wafer_m, p->arena));
}

static void counted_with(const struct page *p)
{
  const struct etch_rate *rate = p->answer->etched.counted;

  buf_printf(p->out, "Counted with %s, %s (%s): %s, %s.\n",
             etch_speed(p->answer->etched.rate_m_s, p->arena), etch_how_words(rate->how),
             rate->conditions, rate->of.source, chem_basis_words(rate->of.basis));
}

static void left_out(const struct page *p)
{
  if (p->answer->left_out)
    buf_printf(p->out, "But %s.\n", p->answer->left_out);
}

static void without_time(const struct page *p)
{
  const struct etch_answer *a = p->answer;
  const struct etch_rate *counted = a->etched.counted;

  if (counted) {
    buf_printf(p->out, "Measured as zero by %s: no time for ", counted->of.source);
    conditions(p);
    if (a->etched.known == ETCH_NUMBER)
      buf_printf(p->out, "; by another source up to %s",
                 etch_speed(a->etched.highest_m_s, p->arena));
    buf_puts(p->out, "; no clearance.\n");
  } else {
    buf_puts(p->out, "Not known: no rate here for ");
    conditions(p);
    buf_printf(p->out, "; %s.\n", etch_known_words(a->etched.known));
  }
  left_out(p);
  buf_printf(p->out, "Listed for %s: in %s.\nListed for %s: %s.\n", a->film->id, a->listed_for_film,
             a->bath->id, a->listed_for_bath);
}

/* Sources that differ by more than a reading is wrong by stand in the first line, all of them. */
static bool differ(const struct etch_answer *a)
{
  const struct etch_rate *counted = a->etched.counted;

  return counted->how != ETCH_OWN && counted->how != ETCH_GIVEN &&
         a->band_high_s > 1.15 * a->band_low_s;
}

/* "46 min to 86 min by its sources (62 min by the first)". */
static void time_words(const struct page *p)
{
  const struct etch_answer *a = p->answer;
  double most_s = differ(a) ? a->longest_s : a->worst_s;

  if (differ(a))
    buf_printf(p->out, "%s to %s by the sources beside each other (%s by the first)",
               etch_time_rough(a->band_low_s, p->arena), etch_time_rough(a->band_high_s, p->arena),
               etch_time_rough(a->time_s, p->arena));
  else
    buf_puts(p->out, etch_time(a->time_s, p->arena));
  if (a->worst_s <= a->time_s * 1.0005)
    return;
  buf_printf(p->out, ", %s%s where it is thickest and slowest", differ(a) ? "up to " : "",
             etch_time(most_s, p->arena));
}

/* A rate that is only a bound makes the time one: never "about". */
static void bound_words(const struct page *p)
{
  const struct etch_answer *a = p->answer;

  if (a->bound == ETCH_TIME_AT_MOST)
    buf_printf(p->out, "%s than %s by a lower bound of the rate, which means nothing as a time",
               a->refused ? "less" : "Less", etch_time(fmax(1, a->worst_s), p->arena));
  else
    buf_printf(p->out, "%s least %s by an upper bound of the rate, and how long is not known",
               a->refused ? "at" : "At", etch_time(a->time_s, p->arena));
}

static void first_line(const struct page *p)
{
  const struct etch_answer *a = p->answer;

  if (!a->answered) {
    without_time(p);
    return;
  }
  if (a->refused)
    buf_printf(p->out, "Not as asked: %s.\nThe time would be ", a->reasons[0]);
  else if (a->bound == ETCH_ABOUT)
    buf_puts(p->out, "About ");
  if (a->bound == ETCH_ABOUT)
    time_words(p);
  else
    bound_words(p);
  buf_puts(p->out, ": ");
  conditions(p);
  buf_puts(p->out, ".\n");
  left_out(p);
  counted_with(p);
  if (!differ(a) && a->band_high_s > a->band_low_s * 1.0005)
    buf_printf(p->out, "By the sources beside each other: %s to %s.\n",
               etch_time(a->band_low_s, p->arena), etch_time(a->band_high_s, p->arena));
}

/* ---- figures ---- */

static const char *bounded(const struct etch_rate *rate)
{
  if (rate->marks & ETCH_AT_LEAST)
    return "over ";
  return rate->marks & ETCH_AT_MOST ? "under " : "";
}

static void rate_line(const struct page *p, const struct etch_layer *layer,
                      const struct etch_rate *rate)
{
  buf_puts(p->out, "  ");
  if (!rate->not_used && !isnan(rate->low_m_s) && rate->high_m_s > rate->low_m_s)
    buf_printf(p->out, "%s to ", etch_speed(rate->low_m_s, p->arena));
  if (isnan(rate->low_m_s))
    buf_puts(p->out, rate->marks & ETCH_SLOW    ? "slow or zero, not measured"
                     : rate->marks & ETCH_WORKS ? "etches, not measured"
                                                : "no figure");
  else
    buf_printf(p->out, "%s%s", bounded(rate), etch_speed(rate->high_m_s, p->arena));
  buf_printf(p->out, "  %s: %s; %s, %s%s%s", layer->film->id, etch_how_words(rate->how),
             rate->conditions, rate->of.source, rate->of.note[0] ? "; " : "", rate->of.note);
  buf_printf(p->out, "; %s", chem_basis_words(rate->of.basis));
  if (rate->not_used)
    buf_printf(p->out, "; does not count: %s", rate->not_used);
  buf_putc(p->out, '\n');
}

/* What does not count is shown where nothing does, and where a form ends. */
static void layer_lines(const struct page *p, const struct etch_layer *layer)
{
  bool none = layer->known == ETCH_OTHERWISE;
  int shown = 0;

  for (int i = 0; i < layer->rate_count; i++)
    if (!layer->rates[i].not_used || layer->rates[i].how == ETCH_OWN ||
        layer->rates[i].how == ETCH_GIVEN || (none && shown < 6)) {
      rate_line(p, layer, &layer->rates[i]);
      shown++;
    }
  if (layer->known == ETCH_NOTHING)
    buf_printf(p->out, "  %s: nothing is listed in this bath\n", layer->film->id);
}

/* Why a loss has no figure, or only its lesser end. */
static void loss_not_known(const struct page *p, const struct etch_layer *layer)
{
  if (layer->known != ETCH_NUMBER)
    buf_printf(p->out, "not known (%s)\n", etch_known_words(layer->known));
  else if (isnan(layer->least_loss_m))
    buf_puts(p->out, "not known: give --over and --spread-film or --spread-rate\n");
  else if (layer->counted->marks & ETCH_AT_MOST)
    buf_puts(p->out, "not known: its rate is a bound only, or the film's is\n");
  else
    buf_printf(p->out, "%s or more: how much is not known, a rate is a bound only\n",
               etch_length(layer->least_loss_m, p->arena));
}

static void loss_line(const struct page *p, const struct etch_layer *layer, const char *what)
{
  buf_printf(p->out, "  %s %s: ", what, layer->film->id);
  if (layer->known == ETCH_ZERO) {
    buf_printf(p->out, "measured as zero by %s; no clearance\n", layer->counted->of.source);
    return;
  }
  if (isnan(layer->loss_m)) {
    loss_not_known(p, layer);
    return;
  }
  if (layer->least_loss_m <= 0)
    buf_puts(p->out, "up to ");
  else if (layer->loss_m > layer->least_loss_m * 1.0005)
    buf_printf(p->out, "%s, up to ", etch_length(layer->least_loss_m, p->arena));
  buf_printf(p->out, "%s", etch_length(layer->loss_m, p->arena));
  if (!isnan(layer->selectivity_ratio))
    buf_printf(p->out, "; selectivity %.3g", layer->selectivity_ratio);
  buf_putc(p->out, '\n');
}

static void losses(const struct page *p)
{
  const struct etch_answer *a = p->answer;

  if (!a->answered || (!a->has_below && !a->has_mask && a->other_count == 0))
    return;
  buf_puts(p->out, "\nWhat else it takes\n");
  if (a->has_below)
    loss_line(p, &a->below, "below, once it is open:");
  if (a->has_mask)
    loss_line(p, &a->mask, "mask");
  for (int i = 0; i < a->other_count; i++)
    loss_line(p, &a->others[i], "also open:");
}

static void section(const struct page *p)
{
  const struct etch_section *s = &p->answer->section;

  if (!p->answer->answered || !s->known)
    return;
  buf_puts(p->out, "\nShape\n");
  if (s->shape == ETCH_ROUND)
    buf_printf(p->out,
               "  undercut at each edge up to %s: the film is taken alike in all directions\n",
               etch_length(s->undercut_m, p->arena));
  else
    buf_printf(p->out, "  walls at %.2f degrees to the surface; undercut at each edge up to %s\n",
               etch_in_degrees(s->wall_rad), etch_length(s->undercut_m, p->arena));
  if (s->floor_m == 0)
    buf_printf(p->out, "  opening %s: it ends by itself near %s, as a groove without a floor\n",
               etch_length(s->opening_m, p->arena), etch_length(s->ends_at_m, p->arena));
  else if (!isnan(s->ends_at_m))
    buf_printf(p->out, "  opening %s: ends by itself near %s; at %s the floor is %s wide\n",
               etch_length(s->opening_m, p->arena), etch_length(s->ends_at_m, p->arena),
               etch_length(s->depth_m, p->arena), etch_length(s->floor_m, p->arena));
  else if (!isnan(s->opening_for_depth_m))
    buf_printf(p->out, "  an opening under %s ends before that depth\n",
               etch_length(s->opening_for_depth_m, p->arena));
}

static void batches(const struct page *p, int count, const char *what)
{
  if (count >= 0)
    buf_printf(p->out, "  %d batches by %s\n", count, what);
}

static void life(const struct page *p)
{
  const struct etch_life *l = &p->answer->life;

  if (!l->asked && l->by_count < 0 && l->by_time < 0)
    return;
  buf_puts(p->out, "\nThe bath\n");
  if (l->asked)
    buf_printf(p->out, "  a batch takes off %.3g mol of %s from %.3g m²\n", l->removed_mol,
               p->answer->film->id, l->area_m2);
  if (l->asked && !l->agent)
    buf_puts(p->out,
             "  what it uses of the bath is not known: no reaction, or no density, is listed\n");
  if (l->agent)
    buf_printf(p->out, "  and uses %.3g mol of %s (%s; %s)\n", l->agent_mol, l->agent, l->of.source,
               chem_basis_words(l->of.basis));
  if (l->gas)
    buf_printf(p->out, "  %.3g mol of %s come off\n", l->gas_mol, l->gas);
  if (!isnan(l->fall_ratio))
    buf_printf(p->out, "  that is %.3g %% of the %.3g mol of %s in the bath when new\n",
               l->fall_ratio * 100, l->agent_in_bath_mol, l->agent);
  batches(p, l->by_fall, "what the agent may fall");
  batches(p, l->by_count, "the count that is allowed");
  batches(p, l->by_time, "the hours it may stand, with nothing between them");
  if (l->first)
    buf_printf(p->out,
               "  first of these: %s. Loading, evaporation and what is carried out are not in "
               "it.\n",
               l->first);
}

static void sources(const struct page *p)
{
  const struct etch_answer *a = p->answer;

  buf_puts(p->out, "\nRates, source by source\n");
  layer_lines(p, &a->etched);
  if (a->has_below)
    layer_lines(p, &a->below);
  if (a->has_mask)
    layer_lines(p, &a->mask);
  for (int i = 0; i < a->other_count; i++)
    layer_lines(p, &a->others[i]);
}

static void suite(const struct page *p)
{
  const struct facility *f = p->answer->facility;

  if (!f)
    return;
  buf_printf(p->out, "\nAsked of %s%s%s%s", f->name ? f->name : "a suite without a name",
             f->label ? " [" : "", f->label ? f->label : "", f->label ? "]" : "");
  if (p->answer->own)
    buf_printf(p->out, ", whose chemicals file %.12s goes before the tables.\n",
               p->answer->own->sha256);
  else
    buf_puts(p->out, ", which names no chemicals file: nothing here is its own.\n");
}

void etch_text(const struct etch_answer *answer, struct buf *out)
{
  struct arena arena;
  struct page p = {answer, out, &arena};
  int said = answer->refused && answer->answered ? 1 : 0; /* in the first line */

  arena_init(&arena, (size_t)1 << 20);
  first_line(&p);
  if (answer->reason_count > said)
    buf_put_list(out, "Also", answer->reasons + said, answer->reason_count - said);
  buf_put_list(out, "Cautions", answer->cautions, answer->caution_count);
  losses(&p);
  section(&p);
  life(&p);
  sources(&p);
  buf_put_list(out, "Assumed", answer->assumed, answer->assumed_count);
  buf_put_list(out, "Not known", answer->unknown, answer->unknown_count);
  suite(&p);
  buf_puts(out, "\nAsk whoever looks after this bath for its own measured rate and age before you "
                "count on any of this.\n");
  buf_printf(out, "%s\n", chem_closing);
  if (answer->system == UNITS_SYSTEM_US)
    buf_puts(out,
             "US units: temperatures in °F; thicknesses and rates stay metric, as their sources "
             "print them.\n");
  arena_release(&arena);
}

/* ---- what is listed ---- */

void etch_list(const struct chem *chem, struct buf *out)
{
  struct arena arena;
  const struct etch_tables *t;

  arena_init(&arena, (size_t)16 << 20);
  t = etch_tables(chem, NULL, UNITS_SYSTEM_SI, &arena);
  buf_puts(out, "Films\n");
  for (int i = 0; i < t->film_count; i++)
    buf_printf(out, "  %-22s %s\n", t->films[i].id, t->films[i].name);
  buf_puts(out, "\nBaths, and the films that are listed in each\n");
  for (int i = 0; i < t->bath_count; i++) {
    const struct etch_bath *bath = &t->baths[i];

    buf_printf(out, "  %-22s %s%s%s\n", bath->id, bath->name, bath->parts[0] ? ": " : "",
               bath->parts);
    buf_printf(out, "  %-22s ", "");
    for (int f = 0, count = 0; f < t->film_count; f++) {
      if (etch_is_listed(t, &t->films[f], bath))
        buf_printf(out, "%s%s", count++ ? ", " : "", t->films[f].id);
    }
    buf_putc(out, '\n');
  }
  arena_release(&arena);
}
