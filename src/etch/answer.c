#include "etch/etch_impl.h"
#include "matter/matter.h"

#include <math.h>
#include <string.h>

/* ---- what is asked, made whole ---- */

struct asking {
  const struct etch_tables *tables;
  struct etch_request request; /* with what was not said filled in */
  struct etch_place place;
  struct arena *arena;
  struct etch_answer *answer;
  struct etch_layer *others; /* of the answer, while it is made */
  struct etch_lines reasons, cautions, unknown, assumed;
};

static enum err_code need(const struct etch_request *r, struct err *err)
{
  if (!r->film[0])
    return err_set(err, ERR_INPUT, "which film? inward etch FILM --in BATH --depth 500nm");
  if (!r->bath[0])
    return err_set(err, ERR_INPUT,
                   "in: in what? --in bhf-5, or its parts: --in \"10 water + 1 hf-49\"");
  if (!(r->given & GIVEN_DEPTH))
    return err_set(err, ERR_INPUT,
                   "depth: how much is to go? --depth 500nm (grown oxide: 'inward calc "
                   "oxide-thickness')");
  if ((r->given & GIVEN_WAFERS) && !(r->given & GIVEN_WAFER))
    return err_set(err, ERR_INPUT, "wafer: of what diameter? --wafer 150mm");
  if (!(r->given & GIVEN_WAFERS) &&
      (r->given & (GIVEN_WAFER | GIVEN_SIDES | GIVEN_OPEN | GIVEN_VOLUME | GIVEN_FALL)))
    return err_set(err, ERR_INPUT, "wafers: how many at a time? --wafers 25");
  if ((r->given & GIVEN_FALL) && !(r->given & GIVEN_VOLUME))
    return err_set(err, ERR_INPUT, "volume: of the bath? --volume 10L");
  if ((r->given & GIVEN_MASK_THICKNESS) && !r->mask[0])
    return err_set(err, ERR_INPUT, "mask: of what? --mask oxide-thermal");
  if ((r->given & GIVEN_RATE_AT) && !(r->given & GIVEN_RATE))
    return err_set(err, ERR_INPUT, "rate: which one, measured there? --rate 95nm/min");
  return ERR_OK;
}

static void fill_in(struct asking *a)
{
  struct etch_request *r = &a->request;
  unsigned given = r->given;

  if (!(given & GIVEN_SIDES)) {
    r->sides = 1;
    if (given & GIVEN_WAFERS)
      etch_say(&a->assumed, a->arena, "one side of each wafer");
  }
  if (!(given & GIVEN_OPEN)) {
    r->open_ratio = 1;
    if (given & GIVEN_WAFERS)
      etch_say(&a->assumed, a->arena, "the film bare all over those sides");
  }
  if (!(given & GIVEN_SPREAD_FILM))
    etch_say(&a->assumed, a->arena, "the film equally thick everywhere (spread-film 0 %%)");
  if (!(given & GIVEN_OVER))
    etch_say(&a->assumed, a->arena, "no over-etch (over 0 %%)");
}

static enum err_code settle_strength(struct asking *a, struct err *err)
{
  const struct etch_request *r = &a->request;
  struct etch_place *p = &a->place;
  bool said = (r->given & GIVEN_STRENGTH) != 0;

  BUG_IF(!p->bath);
  if (!p->bath->strength_of[0])
    return said ? err_set(err, ERR_INPUT,
                          "strength: bath '%s' is named by its parts, not by a strength",
                          p->bath->id)
                : ERR_OK;
  if (said && !isnan(p->strength_ratio) && fabs(p->strength_ratio - r->strength_ratio) > 1e-9)
    return err_set(err, ERR_INPUT, "strength: said twice, %g wt%% and %g wt%%",
                   p->strength_ratio * 100, r->strength_ratio * 100);
  if (said)
    p->strength_ratio = r->strength_ratio;
  if (isnan(p->strength_ratio))
    return err_set(err, ERR_INPUT, "strength: how strong is the %s? --strength 30wt%% (by mass)",
                   p->bath->strength_of);
  return ERR_OK;
}

static enum err_code settle(struct asking *a, struct err *err)
{
  const struct etch_request *r = &a->request;
  struct etch_place *p = &a->place;

  BUG_IF(!p->bath);
  if (r->given & GIVEN_AT)
    p->at_K = r->at_K;
  else if (!isnan(p->at_K))
    etch_say(&a->assumed, a->arena, "%s, usual for this bath: --at says another",
             etch_degrees(p->at_K, a->tables->system, a->arena));
  else if (p->bath->strength_of[0])
    return err_set(err, ERR_INPUT, "at: at what temperature? --at 80degC");
  else
    etch_say(&a->unknown, a->arena, "the temperature: neither you nor the source says it");
  return settle_strength(a, err);
}

/* ---- rates ---- */

static const struct etch_own_rate *measured(const struct asking *a, struct etch_own_rate *room)
{
  const struct etch_request *r = &a->request;

  if (!(r->given & GIVEN_RATE))
    return NULL;
  *room = (struct etch_own_rate){.rate_m_s = r->rate_m_s,
                                 .rate_pm_m_s = (double)NAN,
                                 .at_K = r->given & GIVEN_RATE_AT ? r->rate_at_K : a->place.at_K,
                                 .how = ETCH_GIVEN,
                                 .of = {CHEM_SUITE, "", "given with the question", ""}};
  return room;
}

/* Nothing counts, and every form that there is stops short of what is asked. */
static enum err_code refuse_range(const struct asking *a, struct err *err)
{
  const struct etch_layer *film = &a->answer->etched;
  const struct etch_place *p = &a->place;
  const struct etch_law *law = NULL;

  if (film->known == ETCH_NUMBER || !p->bath->strength_of[0])
    return ERR_OK;
  for (int i = 0; i < a->tables->law_count; i++)
    if (a->tables->laws[i].film == film->film && a->tables->laws[i].bath == p->bath &&
        !isnan(a->tables->laws[i].strength_from))
      law = &a->tables->laws[i];
  if (law && (p->strength_ratio < law->strength_from || p->strength_ratio > law->strength_to))
    return err_set(err, ERR_INPUT,
                   "strength: %g wt%% is outside %g to %g wt%%, for which the forms are stated; a "
                   "rate measured there can be given with --rate",
                   p->strength_ratio * 100, law->strength_from * 100, law->strength_to * 100);
  if (law && (p->at_K < law->at_from_K || p->at_K > law->at_to_K))
    return err_set(
        err, ERR_INPUT,
        "at: %s is outside %s to %s, for which the forms are stated; a rate measured there "
        "can be given with --rate",
        etch_degrees(p->at_K, a->tables->system, a->arena),
        etch_degrees(law->at_from_K, a->tables->system, a->arena),
        etch_degrees(law->at_to_K, a->tables->system, a->arena));
  return ERR_OK;
}

static enum err_code look_up(const struct asking *a, const char *key, const char *name,
                             struct etch_layer *out, struct err *err)
{
  const struct etch_film *film = etch_find_film(a->tables, name, err);

  if (!film) {
    err_prefix(err, "%s: ", key);
    return ERR_INPUT;
  }
  if (film == a->answer->film)
    return err_set(err, ERR_INPUT, "%s: '%s' is the film that is etched", key, film->id);
  etch_look_up(a->tables, &a->place, film, NULL, a->arena, out);
  return ERR_OK;
}

static enum err_code look_up_all(struct asking *a, struct err *err)
{
  const struct etch_request *r = &a->request;
  struct etch_answer *answer = a->answer;
  struct etch_layer *others =
      ARENA_ARRAY(a->arena, struct etch_layer, (size_t)(r->other_count > 0 ? r->other_count : 1));
  struct etch_own_rate own;
  enum err_code code = ERR_OK;

  BUG_IF(!others);
  etch_look_up(a->tables, &a->place, answer->film, measured(a, &own), a->arena, &answer->etched);
  answer->has_below = r->below[0] != '\0';
  answer->has_mask = r->mask[0] != '\0';
  if (answer->has_below)
    code = look_up(a, "under", r->below, &answer->below, err);
  if (code == ERR_OK && answer->has_mask)
    code = look_up(a, "mask", r->mask, &answer->mask, err);
  for (int i = 0; i < r->other_count && code == ERR_OK; i++)
    code = look_up(a, "others", r->others[i], &others[i], err);
  a->others = others;
  answer->others = others;
  answer->other_count = r->other_count;
  return code == ERR_OK ? refuse_range(a, err) : code;
}

/* The spread of a rate that was measured here is its own ±, unless another is said. */
static void settle_spread(struct asking *a)
{
  struct etch_answer *answer = a->answer;
  const struct etch_rate *counted = answer->etched.counted;

  if (a->request.given & GIVEN_SPREAD_RATE)
    return;
  if (counted && counted->how == ETCH_OWN && counted->high_m_s > counted->low_m_s) {
    answer->rate_spread_ratio =
        (counted->high_m_s - counted->low_m_s) / (counted->high_m_s + counted->low_m_s);
    etch_say(&a->assumed, a->arena, "the rate spread by its own ±, %.3g %%",
             answer->rate_spread_ratio * 100);
  } else {
    etch_say(&a->assumed, a->arena, "the rate alike everywhere and every day (spread-rate 0 %%)");
  }
}

/* ---- time and losses ---- */

static bool is_measured_here(const struct etch_rate *rate)
{
  return rate && (rate->how == ETCH_OWN || rate->how == ETCH_GIVEN);
}

/* The ends of the time: by the slowest and the fastest source.  A source that gives only a bound leaves
 * the end on its side open. */
static void count_ends(struct etch_answer *a)
{
  const struct etch_layer *film = &a->etched;
  double wanted_m = a->depth_m * (1 + a->over_ratio);

  a->slowest_m_s = film->rate_m_s;
  a->fastest_m_s = film->rate_m_s;
  if (!(film->marks & ETCH_AT_LEAST))
    a->band_low_s = wanted_m / film->highest_m_s;
  if (!(film->marks & ETCH_AT_MOST) && film->lowest_m_s > 0)
    a->band_high_s = wanted_m / film->lowest_m_s;
  if (film->counted->marks & ETCH_AT_LEAST)
    a->bound = ETCH_TIME_AT_MOST;
  else if (film->counted->marks & ETCH_AT_MOST)
    a->bound = ETCH_TIME_AT_LEAST;
  if (!is_measured_here(film->counted)) {
    a->slowest_m_s = isnan(a->band_high_s) ? (double)NAN : film->lowest_m_s;
    a->fastest_m_s = isnan(a->band_low_s) ? (double)NAN : film->highest_m_s;
  }
  a->longest_s = a->worst_s * film->rate_m_s / a->slowest_m_s;
  a->soonest_s = isnan(a->fastest_m_s) ? 0 : a->clear_s * film->rate_m_s / a->fastest_m_s;
}

/* The row "etch-time" of the formula table: what `inward calc etch-time` answers. */
static void count_time(struct etch_answer *a)
{
  const struct matter_formula *formula = matter_formula_find("etch-time");
  double in_si[MATTER_INPUTS_MAX] = {a->depth_m,           a->etched.rate_m_s, a->film_spread_ratio,
                                     a->rate_spread_ratio, a->over_ratio,      NAN};
  double out_si[MATTER_OUTPUTS_MAX];

  BUG_IF(!formula);
  a->time_s = a->worst_s = a->clear_s = a->band_low_s = a->band_high_s = NAN;
  a->longest_s = a->soonest_s = a->slowest_m_s = a->fastest_m_s = NAN;
  a->answered = a->etched.known == ETCH_NUMBER && a->etched.rate_m_s > 0;
  if (!a->answered)
    return;
  BUG_IF(formula->compute(in_si, out_si) != NULL);
  a->worst_s = out_si[0];
  a->time_s = out_si[1];
  a->clear_s =
      a->depth_m * (1 - a->film_spread_ratio) / (a->etched.rate_m_s * (1 + a->rate_spread_ratio));
  count_ends(a);
}

static bool bounded(const struct etch_layer *layer)
{
  return layer->counted && (layer->counted->marks & (unsigned)(ETCH_AT_LEAST | ETCH_AT_MOST)) != 0;
}

static void count_loss(const struct etch_answer *a, struct etch_layer *layer, double least_s,
                       double most_s)
{
  if (!a->answered || isnan(layer->rate_m_s))
    return;
  layer->least_loss_m = layer->rate_m_s * least_s;
  layer->loss_m = etch_most(layer) * most_s;
  if (layer->rate_m_s > 0 && !bounded(layer) && !bounded(&a->etched))
    layer->selectivity_ratio = a->etched.rate_m_s / layer->rate_m_s;
}

/* Neither over-etch nor a spread was said: then the arithmetic opens the layer below for no time at all,
 * which no bath does. */
static bool none_over(const struct etch_answer *a)
{
  return a->over_ratio <= 0 && a->film_spread_ratio <= 0 && a->rate_spread_ratio <= 0;
}

/*
 * How long the layer below is open at most.  Either the bath is timed by the source counted with and the
 * film goes as fast as the fastest has it, or it goes as the slowest has it and is waited for.
 */
static double open_most_s(const struct etch_answer *a)
{
  double timed_s = a->worst_s - a->soonest_s;
  double waited_s = (a->worst_s - a->clear_s) * a->longest_s / a->worst_s;

  return isnan(waited_s) ? waited_s : fmax(timed_s, waited_s);
}

static void count_losses(struct asking *a)
{
  struct etch_answer *answer = a->answer;
  double mean_clear_s = answer->depth_m / answer->etched.rate_m_s;

  count_loss(answer, &answer->below, answer->time_s - mean_clear_s, open_most_s(answer));
  if (none_over(answer))
    answer->below.loss_m = answer->below.least_loss_m = NAN;
  count_loss(answer, &answer->mask, answer->time_s, answer->longest_s);
  for (int i = 0; i < answer->other_count; i++)
    count_loss(answer, &a->others[i], answer->time_s, answer->longest_s);
}

/* ---- what is said ---- */

static void judge_mask(struct asking *a)
{
  struct etch_answer *answer = a->answer;
  const struct etch_layer *mask = &answer->mask;
  bool ends = !isnan(mask->loss_m);
  double most_m = ends ? mask->loss_m : mask->least_loss_m;

  if (!answer->has_mask || isnan(answer->mask_m) || !answer->answered || isnan(most_m))
    return;
  if (most_m < answer->mask_m) {
    if (!ends)
      etch_say(&a->unknown, a->arena,
               "whether the mask lasts: a source gives its rate or the film's as a bound only");
    return;
  }
  answer->refused = true;
  etch_say(&a->reasons, a->arena, "the mask does not last: %s %s of %s go, and it is %s thick",
           ends ? "up to" : "at least", etch_length(most_m, a->arena), mask->film->id,
           etch_length(answer->mask_m, a->arena));
}

static void judge_shape(struct asking *a)
{
  struct etch_answer *answer = a->answer;
  const struct etch_section *s = &answer->section;

  if (!(s->ends_most_m <= answer->depth_m))
    return;
  answer->refused = true;
  etch_say(
      &a->reasons, a->arena,
      "the groove ends by itself near %s (%s with the undercut): an opening of %s is too narrow for "
      "%s; at least %s is needed, and more for a floor",
      etch_length(s->ends_at_m, a->arena), etch_length(s->ends_most_m, a->arena),
      etch_length(s->opening_m, a->arena), etch_length(answer->depth_m, a->arena),
      etch_length(s->opening_for_depth_m, a->arena));
}

static void judge_wafer(struct asking *a)
{
  struct etch_answer *answer = a->answer;

  if (!(answer->thickness_m <= answer->depth_m))
    return;
  answer->refused = true;
  etch_say(&a->reasons, a->arena, "the wafer is %s thick: that goes through it",
           etch_length(answer->thickness_m, a->arena));
}

/* The marks of the first source that counts. */
static unsigned word(const struct etch_layer *layer)
{
  for (int i = 0; i < layer->rate_count; i++)
    if (!layer->rates[i].not_used)
      return layer->rates[i].marks;
  return 0;
}

static void say_unknown(struct asking *a, const struct etch_layer *layer, const char *what)
{
  struct arena *arena = a->arena;

  if (layer->known == ETCH_NUMBER)
    return;
  if (layer->known == ETCH_NOTHING)
    etch_say(&a->unknown, arena, "%s %s: nothing is listed in this bath", what, layer->film->id);
  else if (layer->known == ETCH_OTHERWISE)
    etch_say(&a->unknown, arena, "%s %s: listed for other conditions only", what, layer->film->id);
  else if (layer->known == ETCH_UNMEASURED)
    etch_say(&a->unknown, arena, "%s %s: its rate was not measured (%s)", what, layer->film->id,
             word(layer) & ETCH_SLOW ? "slow or zero" : "it does etch");
}

static void say_marks(struct asking *a, const struct etch_layer *layer)
{
  for (int i = 0; i < layer->rate_count; i++) {
    const struct etch_rate *rate = &layer->rates[i];

    if (rate->not_used)
      continue;
    if (rate->marks & ETCH_ROUGHENS)
      etch_say(&a->cautions, a->arena, "%s roughens (%s)", layer->film->id, rate->of.source);
    if (rate->marks & ETCH_PEELS)
      etch_say(&a->cautions, a->arena, "%s: some of it peels (%s)", layer->film->id,
               rate->of.source);
    if (rate->marks & ETCH_AT_LEAST)
      etch_say(&a->cautions, a->arena, "%s goes at least that fast, maybe faster (%s)",
               layer->film->id, rate->of.source);
    if (rate->marks & ETCH_AT_MOST)
      etch_say(&a->cautions, a->arena, "%s goes at most that fast, maybe not at all (%s)",
               layer->film->id, rate->of.source);
  }
}

static void say_rate(struct asking *a)
{
  const struct etch_layer *film = &a->answer->etched;
  double spread = film->highest_m_s / film->lowest_m_s;

  if (film->known != ETCH_NUMBER)
    return;
  if (!is_measured_here(film->counted))
    etch_say(
        &a->cautions, a->arena,
        "the rate is somebody else's: etch a test piece of this film in this bath first, and count "
        "with what you measure (--rate)");
  if (film->counted->of.basis == CHEM_MEMORY)
    etch_say(&a->cautions, a->arena,
             "the rate is a value from memory: look it up before it decides "
             "anything");
  if (!isfinite(spread))
    etch_say(&a->cautions, a->arena, "sources differ: one of them measured zero");
  else if (spread > 1.15)
    etch_say(&a->cautions, a->arena, "sources differ by a factor of %.2g%s", spread,
             film->counted->how == ETCH_GIVEN ? ", yours among them" : "");
}

/* A rate measured here that is put aside is said on top, not only in the list. */
static void say_left_out(struct asking *a)
{
  const struct etch_layer *film = &a->answer->etched;
  const struct etch_rate *first = NULL;

  for (int i = 0; i < film->rate_count; i++) {
    const struct etch_rate *rate = &film->rates[i];

    if (!is_measured_here(rate))
      continue;
    if (!rate->not_used && rate->how == ETCH_OWN && !(a->request.given & GIVEN_RATE))
      return;
    if (rate->not_used && (!first || rate->how == ETCH_GIVEN))
      first = rate;
  }
  if (first)
    a->answer->left_out =
        arena_printf(a->arena, "%s, %s, does not count: %s",
                     first->how == ETCH_GIVEN ? "the rate given" : "the suite's own rate",
                     etch_speed(first->high_m_s, a->arena), first->not_used);
}

static void say_below(struct asking *a)
{
  const struct etch_answer *answer = a->answer;

  if (!answer->has_below)
    return;
  say_marks(a, &answer->below);
  say_unknown(a, &answer->below, "layer below");
  if (answer->answered && answer->below.known == ETCH_NUMBER && none_over(answer))
    etch_say(&a->unknown, a->arena,
             "what goes of the layer below: give --over and --spread-film or --spread-rate");
}

static void say_all(struct asking *a)
{
  struct etch_answer *answer = a->answer;

  if (answer->bath->caution[0])
    etch_say(&a->cautions, a->arena, "%s", answer->bath->caution);
  say_rate(a);
  say_marks(a, &answer->etched);
  say_unknown(a, &answer->etched, "etched film");
  say_below(a);
  if (answer->has_mask) {
    say_marks(a, &answer->mask);
    say_unknown(a, &answer->mask, "mask");
  }
  for (int i = 0; i < answer->other_count; i++) {
    say_marks(a, &answer->others[i]);
    say_unknown(a, &answer->others[i], "other layer");
  }
  if (answer->has_mask && isnan(answer->mask_m))
    etch_say(&a->unknown, a->arena,
             "whether the mask lasts: its thickness is not said (--mask-thickness)");
  if (!answer->section.known)
    etch_say(&a->unknown, a->arena, "the shape that is left: no form for this plane is here");
  if (answer->section.known && answer->section.shape != ETCH_ROUND)
    etch_say(
        &a->unknown, a->arena,
        "outer corners, edges that are not along the crystal, and stirring: the walls are those of "
        "(111) along edges that are");
  etch_say(
      &a->unknown, a->arena,
      "wetting, residues, doping, stress, light and how the film was made: only a test piece shows "
      "them");
  etch_say(&a->unknown, a->arena, "what is in the bath from those who used it before");
}

/* "oxide-thermal, oxide-lto": what is listed of one in the other. */
static const char *listed(const struct asking *a, bool films)
{
  struct buf out;
  const char *text;

  buf_init(&out, 4096);
  for (int i = 0; i < (films ? a->tables->film_count : a->tables->bath_count); i++) {
    const struct etch_film *film = films ? &a->tables->films[i] : a->answer->film;
    const struct etch_bath *bath = films ? a->answer->bath : &a->tables->baths[i];

    if (etch_is_listed(a->tables, film, bath))
      buf_printf(&out, "%s%s", out.used ? ", " : "", films ? film->id : bath->id);
  }
  text = out.used ? arena_strdup(a->arena, out.text) : "nothing";
  buf_release(&out);
  return text;
}

static void hand_over(struct asking *a)
{
  struct etch_answer *answer = a->answer;

  answer->reasons = a->reasons.list;
  answer->reason_count = a->reasons.count;
  answer->cautions = a->cautions.list;
  answer->caution_count = a->cautions.count;
  answer->unknown = a->unknown.list;
  answer->unknown_count = a->unknown.count;
  answer->assumed = a->assumed.list;
  answer->assumed_count = a->assumed.count;
  if (answer->answered)
    return;
  answer->listed_for_film = listed(a, false);
  answer->listed_for_bath = listed(a, true);
}

/* ---- the answer ---- */

static enum err_code understand(struct asking *a, struct err *err)
{
  const struct etch_request *r = &a->request;
  struct etch_answer *answer = a->answer;
  enum err_code code = need(r, err);

  if (code != ERR_OK)
    return code;
  answer->film = etch_find_film(a->tables, r->film, err);
  if (!answer->film) {
    err_prefix(err, "film: ");
    return ERR_INPUT;
  }
  code = etch_find_bath(a->tables, r->bath, a->arena, &a->place, err);
  if (code != ERR_OK) {
    err_prefix(err, "in: ");
    return code;
  }
  code = settle(a, err);
  if (code != ERR_OK)
    return code;
  fill_in(a);
  answer->bath = a->place.bath;
  answer->parts = arena_strdup(a->arena, a->place.parts);
  answer->water_parts = a->place.water_parts;
  answer->at_K = a->place.at_K;
  answer->strength_ratio = a->place.strength_ratio;
  answer->depth_m = r->depth_m;
  answer->over_ratio = r->over_ratio;
  answer->film_spread_ratio = r->film_spread_ratio;
  answer->rate_spread_ratio = r->rate_spread_ratio;
  answer->mask_m = r->given & GIVEN_MASK_THICKNESS ? r->mask_m : (double)NAN;
  answer->wafer_m = r->given & GIVEN_WAFER ? r->wafer_m : (double)NAN;
  answer->wafers = r->given & GIVEN_WAFERS ? r->wafers : 0;
  answer->thickness_m = r->given & GIVEN_THICKNESS ? r->thickness_m : (double)NAN;
  return look_up_all(a, err);
}

const struct etch_answer *etch_answer(const struct chem *chem, const struct etch_request *request,
                                      struct arena *arena, struct err *err)
{
  struct asking a = {.tables = etch_tables(chem, request->own, request->system, arena),
                     .request = *request,
                     .arena = arena};

  a.answer = ARENA_NEW(arena, struct etch_answer);
  BUG_IF(!a.answer);
  a.answer->facility = request->facility;
  a.answer->own = request->own;
  a.answer->system = request->system;
  if (understand(&a, err) != ERR_OK)
    return NULL;
  settle_spread(&a);
  count_time(a.answer);
  count_losses(&a);
  etch_cut(a.tables, &a.place, &a.request, a.answer, arena);
  etch_count_life(a.tables, &a.place, &a.request, a.answer);
  judge_mask(&a);
  judge_shape(&a);
  judge_wafer(&a);
  say_left_out(&a);
  say_all(&a);
  hand_over(&a);
  return a.answer;
}

int etch_exit_status(const struct etch_answer *answer)
{
  return answer->answered && !answer->refused ? 0 : 1;
}
