#include "fault/fault_impl.h"

#include "base/buf.h"
#include "units/units.h"

#include <math.h>

/* What is said: "looks like ... because ...; or else ...". */

static const struct {
  const char *what; /* %s: the part, or the point */
  const char *look, *who, *tells;
} rows[] = {
    [FAULT_DOOR_OPEN] = {"a door standing open, or ajar: %s",
                         "look at the door, and at its contact", "whoever is there",
                         "a contact on the door"},
    [FAULT_BLOCKED_SASH] = {"a blocked sash or a blocked beam at %s",
                            "look whether something stands under the sash or in its beam; do not "
                            "move it over work",
                            "whoever looks after the station",
                            "a point that says that it is blocked"},
    [FAULT_STUCK_SASH] = {"a sash reading of %s that stands still while the sash moves",
                          "compare the reading with the sash, down and at its mark",
                          "whoever looks after the station", "somebody's look at the sash"},
    [FAULT_STUCK_SENSOR] = {"a reading of %s that stands still",
                            "look at the sensor and at what carries its value",
                            "the ventilation technician", "a second reading of the same"},
    [FAULT_WRONG_UNIT] = {"a wrong unit or sign of point %s in the feeds file",
                          "compare the point's unit and factor with the display on the spot",
                          "whoever keeps the feeds file", "the display on the spot"},
    [FAULT_COVERED_DECK] = {"a covered deck at %s", "look at what lies on the perforated worktop",
                            "whoever looks after the station", "a face velocity of the station"},
    [FAULT_DRIFTING_VALVE] = {"a drifting valve of %s", "measure the flow, and stroke the valve",
                              "the ventilation technician",
                              "the flow of the supply, or a second reading of the station's flow"},
    [FAULT_DRIFTING_SENSOR] = {"a drifting sensor of %s", "compare it with an instrument of today",
                               "the ventilation technician", "a second reading of the same"},
    [FAULT_LOADED_FILTER] = {"a loaded filter or packing at %s",
                             "read the drop across it and compare with the figure of the file",
                             "the ventilation technician",
                             "the pressure before and behind it, and the fan's speed"},
    [FAULT_WORN_FAN] = {"less rise of fan %s than its curve (belt, wheel, or turning backwards)",
                        "look at the belt and the wheel; read speed and rise",
                        "the ventilation technician",
                        "the fan's speed, at little and at much flow"},
    [FAULT_LEAK_GREW] = {"a leak that grew: %s", "look at seals, panels and pass-throughs",
                         "the building's technician", "the flow of the supply for each room"},
    [FAULT_BACK_DRAUGHT] = {"a back-draught through a stopped unit of %s",
                            "look at the shutter of the stopped unit", "the ventilation technician",
                            "the speed with the other unit running"},
};

static const char *about(const struct fault_model *m, const struct fault_candidate *k)
{
  const struct facility *f = m->facility;

  if (k->channel >= 0)
    return m->channels[k->channel].as->part.id;
  switch ((int)k->kind) {
  case FAULT_DOOR_OPEN:
    return f->doors[k->index].part.id;
  case FAULT_LOADED_FILTER:
    return f->ducts[k->index].part.id;
  case FAULT_LEAK_GREW:
    return f->leaks[k->index].part.id;
  case FAULT_WORN_FAN:
  case FAULT_BACK_DRAUGHT:
    return f->fans[k->index].part.id;
  default:
    return f->stations[k->index].part.id;
  }
}

static const char *what_of(enum fault_kind kind, const char *id, struct arena *arena)
{
  struct buf text;
  const char *said, *at = rows[kind].what;

  buf_init(&text, 400);
  for (; *at; at++)
    if (at[0] == '%' && at[1] == 's') {
      buf_puts(&text, id);
      at++;
    } else
      buf_putc(&text, *at);
  said = arena_strdup(arena, text.text);
  buf_release(&text);
  return said;
}

static const char *amount(const struct fault_channel *c, double si, struct arena *arena)
{
  struct buf text;
  const char *said;

  buf_init(&text, 100);
  units_print(&text, si, c->as->dimension, UNITS_SYSTEM_SI);
  said = arena_strdup(arena, text.text);
  buf_release(&text);
  return said;
}

/* ---- evidence ---- */

struct means {
  double measured_si, computed_si, pm_si, z;
  int count;
};

static struct means means_of(const struct fault_watch *w, const struct fault_case *c, int channel)
{
  struct means m = {0};

  for (int back = 0; back < c->moments; back++) {
    const struct fault_moment *moment = fault_kept(w, back);

    if (!moment->cells[channel].fresh)
      continue;
    m.measured_si += (double)moment->cells[channel].value_si;
    m.computed_si += moment->expected->computed_si[channel];
    m.pm_si += moment->expected->pm_si[channel];
    m.z += (double)moment->cells[channel].z;
    m.count++;
  }
  if (m.count > 0) {
    m.measured_si /= m.count;
    m.computed_si /= m.count;
    m.pm_si /= m.count;
    m.z /= m.count;
  }
  return m;
}

static const char *deviation(const struct fault_watch *w, const struct fault_case *c, int channel,
                             struct arena *arena)
{
  const struct fault_channel *as = &w->model->channels[channel];
  struct means m = means_of(w, c, channel);

  return arena_printf(arena, "%s reads %s on average where %s ± %s is computed", as->as->part.id,
                      amount(as, m.measured_si, arena), amount(as, m.computed_si, arena),
                      amount(as, m.pm_si, arena));
}

static const char *stillness(const struct fault_watch *w, int channel, struct arena *arena)
{
  const struct fault_track *t = &w->tracks[channel];

  return arena_printf(arena,
                      "%s has read the same %d times in a row; before, %.0f %% of its readings did",
                      w->model->channels[channel].as->part.id, t->still + 1,
                      100 * exp(-t->still_sum / fmax(1, t->still)));
}

static void because(struct fault_finding *out, const char **list, const char *text)
{
  if (out->because_count < FAULT_BECAUSE_MAX)
    list[out->because_count++] = text;
}

/* Does somebody stand there while the guess shows itself? */
static const char *presence(const struct fault_watch *w, const struct fault_case *c,
                            const struct fault_candidate *k, struct arena *arena)
{
  int there = 0, said = 0;

  for (int back = 0; back < c->moments; back++) {
    int present = fault_kept(w, back)->present[k->index];

    said += present >= 0;
    there += present > 0;
  }
  if (said == 0)
    return NULL;
  return arena_printf(arena, "somebody was there in %d of %d readings", there, said);
}

static void give_because(struct fault_watch *w, const struct fault_case *c,
                         const struct fault_candidate *best, struct arena *arena,
                         struct fault_finding *out)
{
  const char **list = ARENA_ARRAY(arena, const char *, FAULT_BECAUSE_MAX);

  BUG_IF(!list);
  out->because = list;
  if (w->tracks[c->channel].still_sum >= w->still_limit_ratio)
    because(out, list, stillness(w, c->channel, arena));
  if (fabs(means_of(w, c, c->channel).z) >= 0.5)
    because(out, list, deviation(w, c, c->channel, arena));
  for (int j = 0; best && j < w->model->channel_count; j++) {
    double z = means_of(w, c, j).z, said = fault_explains(w, c, best, j);

    if (j != c->channel && fabs(z) >= 1 && z * said > 0 && fabs(said) >= 0.5)
      because(out, list, deviation(w, c, j, arena));
  }
  if (best && (best->kind == FAULT_BLOCKED_SASH || best->kind == FAULT_STUCK_SASH)) {
    const char *said = presence(w, c, best, arena);

    if (said)
      because(out, list, said);
  }
  if (best && best->channel >= 0)
    because(out, list, "no other reading shows it");
}

/* ---- the sentence ---- */

static void put_reasons(const struct fault_finding *f, struct buf *out)
{
  for (int i = 0; i < f->because_count; i++)
    buf_printf(out, "%s%s", i == 0 ? " because " : "; ", f->because[i]);
}

static void put_sentence(const struct fault_finding *f, struct buf *out)
{
  buf_printf(out, "looks like %s",
             f->guess_count > 0 ? f->guesses[0].what : "nothing that is known here");
  put_reasons(f, out);
  for (int i = 1; i < f->guess_count; i++)
    buf_printf(out, "; or else %s", f->guesses[i].what);
  if (f->guess_count > 0)
    buf_printf(out, ". Next: %s (%s)", f->guesses[0].look, f->guesses[0].who);
  if (f->tells)
    buf_printf(out, ". What would tell: %s", f->tells);
}

static struct fault_guess *guess_of(struct fault_finding *out, struct fault_guess *guesses,
                                    enum fault_kind kind)
{
  for (int i = 0; i < out->guess_count; i++)
    if (guesses[i].kind == kind)
      return &guesses[i];
  return out->guess_count < FAULT_GUESS_MAX ? &guesses[out->guess_count++] : NULL;
}

static const char *joined(const struct fault_guess *g, struct arena *arena)
{
  const char *said = g->about[0];

  for (int i = 1; i < g->about_count; i++)
    said = arena_printf(arena, "%s%s%s", said, i + 1 < g->about_count ? ", " : " or ", g->about[i]);
  return said;
}

static void take_guess(const struct fault_watch *w, const struct fault_candidate *k,
                       struct fault_guess *g)
{
  if (g->about_count == 0)
    *g = (struct fault_guess){.kind = k->kind,
                              .look = rows[k->kind].look,
                              .who = rows[k->kind].who,
                              .amplitude_ratio = k->amplitude,
                              .score_ratio = k->score};
  if (g->about_count < FAULT_ABOUT_MAX)
    g->about[g->about_count++] = about(w->model, k);
}

void fault_words(struct fault_watch *w, const struct fault_case *c,
                 const struct fault_candidate *list, int count, struct arena *arena,
                 struct fault_finding *out)
{
  struct fault_guess *guesses = ARENA_ARRAY(arena, struct fault_guess, FAULT_GUESS_MAX);
  struct buf text;

  BUG_IF(!guesses);
  *out = (struct fault_finding){.since_ms = c->since_ms, .guesses = guesses};
  for (int i = 0; i < count; i++) {
    if (list[i].score < list[0].score - w->model->settings->alike_ratio)
      break;
    struct fault_guess *g = guess_of(out, guesses, list[i].kind);

    if (g)
      take_guess(w, &list[i], g);
  }
  for (int i = 0; i < out->guess_count; i++)
    guesses[i].what = what_of(guesses[i].kind, joined(&guesses[i], arena), arena);
  give_because(w, c, count > 0 ? &list[0] : NULL, arena, out);
  if (out->guess_count > 1)
    out->tells = rows[guesses[1].kind].tells;
  buf_init(&text, 1 << 14);
  put_sentence(out, &text);
  out->text = arena_strdup(arena, text.text);
  buf_release(&text);
}

/* ---- what no point can show ---- */

const char *fault_would_tell(const struct fault_model *m, const struct fault_variant *v,
                             struct arena *arena)
{
  struct fault_candidate k = {.kind = v->kind, .index = v->index, .channel = -1};

  return arena_printf(arena, "%s at %s: no point shows it; %s would tell", fault_kind_name(v->kind),
                      about(m, &k), rows[v->kind].tells);
}
