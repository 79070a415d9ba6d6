/* The sentences: the answer with its reason first, then cautions, then what is not known. */
#include "vapour/vapour_impl.h"

#include "base/constants.h"

#include <math.h>
#include <string.h>

/* The worst verdict of a case; of several limits that one which is highest. */
static const struct vapour_limit *worst(const struct vapour_answer *a, enum vapour_when when)
{
  const struct vapour_limit *out = NULL;

  for (int i = 0; i < a->limit_count; i++) {
    const struct vapour_limit *l = &a->limits[i];

    if (isnan(l->volume_ratio))
      continue;
    if (!out || l->verdict[when] > out->verdict[when] ||
        (l->verdict[when] == out->verdict[when] && l->volume_ratio > out->volume_ratio))
      out = l;
  }
  return out;
}

/* Of those that may be exceeded once the fans stand, the one that is reached first. */
static const struct vapour_limit *first_reached(const struct vapour_answer *a)
{
  const struct vapour_limit *out = NULL;

  for (int i = 0; i < a->limit_count; i++)
    if (!isnan(a->limits[i].reached_s) && (!out || a->limits[i].reached_s < out->reached_s))
      out = &a->limits[i];
  return out;
}

static const char *reached_words(const struct vapour_work *w, const struct vapour_limit *l)
{
  return arena_printf(w->arena, "%s %s, %s, after %s", l->limit->issuer, l->limit->printed,
                      chem_limit_words(l->limit->kind), vapour_time_words(w->arena, l->reached_s));
}

static const char *exceeding(const struct vapour_work *w, const struct vapour_limit *l,
                             enum vapour_when when)
{
  const struct vapour_limit *first = when == VAPOUR_STOPPED ? first_reached(w->out) : NULL;
  bool both = first && first != l && !isnan(l->reached_s);

  return arena_printf(
      w->arena, "%s at a person %s %s %s, %s%s%s%s%s", w->out->parts[l->part].stock.substance->name,
      vapour_verdict_words(l->verdict[when]), l->limit->issuer, l->limit->printed,
      chem_limit_words(l->limit->kind), first ? "; at the upper end first " : "",
      first ? reached_words(w, first) : "", both ? ", then " : "", both ? reached_words(w, l) : "");
}

/* Where a lesser limit is surely exceeded, what may be exceeded of the gravest is said beside it. */
static const char *gravest_too(const struct vapour_work *w, const struct vapour_limit *said,
                               enum vapour_when when)
{
  const struct vapour_answer *a = w->out;

  for (int i = 0; i < a->limit_count && said->limit->kind != CHEM_IDLH; i++) {
    const struct vapour_limit *l = &a->limits[i];

    if (l->limit->kind == CHEM_IDLH && l->verdict[when] >= VAPOUR_MAY_EXCEED)
      return arena_printf(
          w->arena, "; %s %s %s %s, %s%s%s", a->parts[l->part].stock.substance->name,
          vapour_verdict_words(l->verdict[when]), l->limit->issuer, l->limit->printed,
          chem_limit_words(l->limit->kind),
          when == VAPOUR_STOPPED && !isnan(l->reached_s) ? ", after " : "",
          when == VAPOUR_STOPPED && !isnan(l->reached_s) ? vapour_time_words(w->arena, l->reached_s)
                                                         : "");
  }
  return "";
}

static const char *sentence(const struct vapour_work *w, enum vapour_when when)
{
  const struct vapour_answer *a = w->out;
  const struct vapour_limit *l = worst(a, when);

  if (!l)
    return "no exposure limit by volume is in the tables, so nothing is compared";
  if (l->verdict[when] == VAPOUR_UNKNOWN)
    return arena_printf(w->arena, "what reaches a person is not known (%s)",
                        a->cases[when].person_words);
  if (l->verdict[when] == VAPOUR_NOT_SHOWN)
    return "no limit in the tables is shown to be exceeded at a person: orders of magnitude only";
  return arena_printf(w->arena, "%s%s", exceeding(w, l, when), gravest_too(w, l, when));
}

static const char *stopped_words(const struct vapour_work *w)
{
  const struct facility *f = w->facility;

  if (w->out->station < 0)
    return "If the fans of this room's mains stand";
  return arena_printf(w->arena, "If the fans of %s stand",
                      f->mains[f->stations[w->out->station].main].part.id);
}

/* The largest share with that verdict in one place and state of the air; NULL: none. */
static const struct vapour_share *largest(const struct vapour_answer *a, size_t place, int when,
                                          enum vapour_verdict verdict)
{
  const struct vapour_share *out = NULL;

  for (int i = 0; i < a->share_count; i++) {
    const enum vapour_verdict *of_place[] = {a->shares[i].duct, a->shares[i].main,
                                             a->shares[i].room};

    if (of_place[place][when] == verdict && (!out || a->shares[i].share_ratio > out->share_ratio))
      out = &a->shares[i];
  }
  return out;
}

static const char *share_words(struct vapour_work *w, const struct vapour_share *s,
                               enum vapour_verdict verdict)
{
  return s ? arena_printf(w->arena, "%s %.0f %% of the lower flammable limit (%s)",
                          vapour_verdict_words(verdict), s->share_ratio * 100, s->what)
           : "";
}

/* "; in the duct it may exceed 10 % of ...", where it first can be. */
static const char *burning(struct vapour_work *w, enum vapour_when when)
{
  static const char *const places[] = {"in the station's duct", "in the main", "in the room"};

  for (size_t place = 0; place < sizeof places / sizeof *places; place++)
    for (int v = VAPOUR_EXCEEDS; v >= VAPOUR_MAY_EXCEED; v--) {
      const struct vapour_share *s = largest(w->out, place, (int)when, (enum vapour_verdict)v);

      if (s)
        return arena_printf(w->arena, "; %s it %s", places[place],
                            share_words(w, s, (enum vapour_verdict)v));
    }
  return "";
}

/* "IGNITABLE ABOVE THE LIQUID. ", and what is wrong with the air: before everything else. */
static const char *first_words(struct vapour_work *w)
{
  const struct vapour_answer *a = w->out;
  const char *text = "";

  if (a->live && a->live->outranks)
    text = arena_printf(w->arena, "%s. ", a->live->outranks);
  if (a->ignitable)
    text = arena_printf(w->arena, "%s%.*s at %.0f °C. ", text, (int)strcspn(a->ignition_words, ":"),
                        a->ignition_words, a->at_K - ZERO_CELSIUS_K);
  for (int n = VAPOUR_NOW; n <= VAPOUR_PARKED && n < a->case_count; n++)
    if (a->air_words[n])
      text = arena_printf(w->arena, "%s%s, %s%s. ", text,
                          n == VAPOUR_NOW ? "In this scene" : "Parked", a->air_words[n],
                          a->cases[n].still ? ": what it carries off is not known" : "");
  return text;
}

static void say_headline(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;

  if (a->case_count < VAPOUR_WHEN_COUNT) {
    a->headline =
        arena_printf(w->arena,
                     "%s%s evaporates at %s. No suite was named, so nothing is said of duct, "
                     "room and person.",
                     first_words(w), a->liquid,
                     vapour_band_words(w->arena, a->cases[0].rate, UNITS_MASS_FLOW, "g/h"));
    return;
  }
  a->headline =
      arena_printf(w->arena, "%sWith the air of this scene (%s): %s%s%s. %s: %s%s.", first_words(w),
                   a->scene ? a->scene : "as parked",
                   a->cases[VAPOUR_NOW].still ? "as if all of it left into the room, " : "",
                   sentence(w, VAPOUR_NOW), burning(w, VAPOUR_NOW), stopped_words(w),
                   sentence(w, VAPOUR_STOPPED), burning(w, VAPOUR_STOPPED));
}

/* ---- cautions ---- */

static void caution(struct vapour_work *w, const char *text)
{
  vapour_add(w->out->cautions, &w->out->caution_count, text);
}

static void say_shares(struct vapour_work *w)
{
  static const char *const places[] = {"In the station's duct", "In the main",
                                       "In the room, on average,"};

  for (size_t place = 0; place < sizeof places / sizeof *places; place++)
    for (int n = 0; n < w->out->case_count; n++) {
      const struct vapour_share *surely = largest(w->out, place, n, VAPOUR_EXCEEDS);
      const struct vapour_share *perhaps = largest(w->out, place, n, VAPOUR_MAY_EXCEED);

      if (surely || perhaps)
        caution(w,
                arena_printf(w->arena, "%s %s: %s%s%s.", places[place],
                             vapour_when_words((enum vapour_when)n),
                             share_words(w, surely, VAPOUR_EXCEEDS), surely && perhaps ? "; " : "",
                             share_words(w, perhaps, VAPOUR_MAY_EXCEED)));
    }
}

static bool is_spill(const struct vapour_work *w)
{
  return w->request->from == VAPOUR_DECK_SPILL || w->request->from == VAPOUR_FLOOR_SPILL;
}

/* Of a spill that may be immediately dangerous within minutes the first thing is to leave. */
static void say_spill(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;
  double soon_s = vapour_setting(w, "minutes of a spill", UNITS_TIME).high_si;

  for (int i = 0; is_spill(w) && i < a->limit_count; i++) {
    const struct vapour_limit *l = &a->limits[i];

    if (l->limit->kind != CHEM_IDLH || !(l->reached_s <= soon_s))
      continue;
    caution(w, arena_printf(w->arena,
                            "LEAVE AND CALL: at the upper end %s %s, %s, is reached after %s with "
                            "the fans standing. Do not stay to wipe it up: the posted step for a "
                            "spill first, keep others out, then call.",
                            l->limit->issuer, l->limit->printed, chem_limit_words(l->limit->kind),
                            vapour_time_words(w->arena, l->reached_s)));
    return;
  }
}

static bool has_hazard(const struct chem_substance *s, const char *code)
{
  for (int i = 0; i < s->hazard_count; i++)
    if (strcmp(s->hazards[i], code) == 0)
      return true;
  return false;
}

/* What these figures do not count, and what is worse than they are. */
static void say_parts(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;
  bool fumes = false;

  for (int i = 0; i < w->there_count; i++)
    if (strcmp(w->there[i]->id, "hf") == 0)
      caution(w,
              "HYDROFLUORIC ACID ON SKIN: even a small splash may kill and may not hurt at "
              "first. Rinse at once, the posted step for it, and call; no figure here is of it.");
    else if (has_hazard(w->there[i], "H310"))
      caution(w, arena_printf(w->arena,
                              "%s: fatal in contact with skin (H310); no figure here is "
                              "of it.",
                              w->there[i]->name));
  for (int i = 0; i < a->part_count; i++)
    fumes |= a->parts[i].aqueous && !a->refused;
  if (fumes)
    caution(w, "Strong acids and ammonia fume: mist comes on top of these figures, and the table "
               "is of thin pools, from which less comes after the first minutes than from a bath.");
}

/* Of what gets no figure, and of a part by itself in a mixture. */
static void say_flash(struct vapour_work *w)
{
  const struct vapour_part *p = vapour_flashes(w->out);

  if (!p || w->out->ignitable)
    return;
  caution(w,
          arena_printf(
              w->arena,
              "%s burns: its own flash point, %.0f °C, is at or below the liquid's %.0f "
              "°C (%s): it may be ignitable above the liquid, mixed or thinned, too.",
              p->stock.substance->name, p->stock.substance->facts[CHEM_FLASH].si - ZERO_CELSIUS_K,
              w->out->at_K - ZERO_CELSIUS_K, p->stock.substance->facts[CHEM_FLASH].of.source));
}

static void say_cautions(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;

  if (a->live && a->live->outranks)
    caution(w, arena_printf(w->arena, "%s.", a->live->outranks));
  say_spill(w);
  if (a->ignitable)
    caution(w, a->ignition_words);
  say_flash(w);
  if (!a->refused)
    say_shares(w);
  say_parts(w);
  if (a->case_count == VAPOUR_WHEN_COUNT)
    caution(w, is_spill(w) ? "When the air stops: leave, keep others out, call. Staff release "
                             "stations."
                           : "When the air stops: stop, cap, lower, step away. Staff release "
                             "stations.");
  if (a->station >= 0 && w->facility && !w->facility->stations[a->station].in_service)
    caution(w, "This station is not in service by the suite file.");
  if (w->request->from == VAPOUR_DECK_SPILL && !a->refused)
    caution(w, "A deck is open below: what runs through it evaporates in the drain or the duct, "
               "which is not in these figures.");
}

/* ---- assumed, not known, whom to ask ---- */

static void assume(struct vapour_work *w, const char *text)
{
  vapour_add(w->out->assumed, &w->out->assumed_count, text);
}

/* Whether the air over the liquid was reckoned from the station's flow at all. */
static bool by_station(const struct vapour_work *w)
{
  const struct facility_station *s =
      w->facility && w->out->station >= 0 ? &w->facility->stations[w->out->station] : NULL;

  return s && s->has_width && s->has_openings && s->work_m > 0;
}

static void assume_air(struct vapour_work *w)
{
  const struct vapour_answer *a = w->out;
  bool given = w->request->speed.high_si > 0;

  if (!given && by_station(w))
    assume(w, "air over the liquid: a quarter to one and a half of the station's flow spread over "
              "its working opening (common practice, no source)");
  assume(w, given ? "air over the liquid: as you said"
                  : "air over a liquid in the room: 0.05 to 0.5 m/s (common practice)");
  if (a->case_count < VAPOUR_WHEN_COUNT)
    return;
  assume(w, "fans standing: all that evaporates leaves into the room, whatever little the model "
            "still draws; make-up air goes on and holds its set points as the file says");
  for (int i = 0; i < a->part_count; i++) {
    double ratio = isnan(w->volume_m3) ? (double)NAN : vapour_unthinned_ratio(w, i, 900);

    if (!isnan(ratio))
      assume(w, arena_printf(w->arena,
                             "should the make-up stop with the fans, nothing thins it: %s of %s "
                             "on average in the room 15 min later, at the upper end",
                             vapour_band_words(w->arena, (struct vapour_band){ratio, ratio},
                                               UNITS_CONCENTRATION, "ppm"),
                             a->parts[i].stock.substance->name));
  }
  assume(w, "flows as the model has them in that scene, the doors as it says; the ± is that of the "
            "station's own figure, none is set on the main and the fresh air");
  assume(w, arena_printf(w->arena,
                         "of the fresh air %.2g to %.2g dilutes; what filters pass round does not",
                         a->mixing.low_si, a->mixing.high_si));
}

static void say_assumed(struct vapour_work *w)
{
  const struct vapour_answer *a = w->out;

  if (!(w->request->at_K > 0))
    assume(w, arena_printf(w->arena, "the liquid is as warm as the room, %.0f °C",
                           a->at_K - ZERO_CELSIUS_K));
  assume(w, "the liquid stays that warm: a spill cools itself, so its rate is an upper bound");
  if (a->part_count > 1)
    assume(w, "an ideal mixture (Raoult): real ones may give off a good deal more of one part; the "
              "most volatile leaves first");
  if (w->request->from == VAPOUR_DECK_SPILL || w->request->from == VAPOUR_FLOOR_SPILL)
    assume(w, w->request->area_m2 > 0 || w->request->diameter_m > 0
                  ? "a spill of the area you said"
                  : "a spill 10 mm deep (EPA's convention) to 2 mm deep (smooth floors)");
  if (w->request->freeboard_m > 0)
    assume(w, "behind the freeboard: the lower end by diffusion through still air, the upper end "
              "with air that reaches in");
  assume_air(w);
}

static void say_unknown(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;

  vapour_add(a->unknown, &a->unknown_count,
             "what else gives off vapour there, on this main or in this room");
  vapour_add(a->unknown, &a->unknown_count,
             "mist, splashes, hot vessels, stirring, and gas from a reaction");
  vapour_add(a->unknown, &a->unknown_count,
             "what one face really catches, and where in the room the vapour goes");
  vapour_add(a->unknown, &a->unknown_count,
             "skin, eyes, and what it does together with other substances");
  vapour_add(a->unknown, &a->unknown_count,
             "whether it may stand there at all, beside what is there");
  for (int i = 0; w->facility && i < w->facility->not_counted_count && i < 8; i++)
    vapour_add(a->unknown, &a->unknown_count,
               arena_printf(w->arena, "%s draws air here and is not in the file",
                            w->facility->not_counted[i]));
  if (a->station >= 0)
    vapour_add(a->unknown, &a->unknown_count,
               "the minutes in which a fan runs down, and what the duct gives back then");
}

static void say_asks(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;
  const struct facility *f = w->facility;
  const char *call = NULL;

  if (a->station >= 0)
    call = f->stations[a->station].card.call;
  if (!call && f)
    call = f->call;
  if (a->refused)
    vapour_add(a->asks, &a->ask_count,
               "whoever approved the procedure of this bath, and the safety officer");
  vapour_add(a->asks, &a->ask_count,
             arena_printf(w->arena, "%s", call ? call : "who looks after the stations"));
  vapour_add(a->asks, &a->ask_count, "the safety officer, for anything that a person breathes");
}

void vapour_say(struct vapour_work *w)
{
  if (!w->out->refused) {
    say_headline(w);
    say_assumed(w);
    vapour_live_unknown(w);
    say_unknown(w);
  }
  say_cautions(w);
  say_asks(w);
}
