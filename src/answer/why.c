/*
 * One station: the pressure from its room to outdoors, how sure its flow and its criterion are, and
 * what a centimetre of its sash is worth.
 */
#include "answer/answer.h"

#include "answer/page_impl.h"

#include <math.h>

enum err_code answer_why_of(struct air *air, bool sure, struct answer_why *why, struct arena *arena,
                            struct err *err)
{
  struct answer_why found = *why;

  found.ledger = air_why(air, why->scene, why->station, arena, err);
  if (!found.ledger)
    return err->code;
  if (sure) {
    found.air = air_ask(air, why->scene, &air_settings_sure, arena, err);
    if (!found.air)
      return err->code;
    found.per_cm = air_per_cm(air, why->scene, arena, err);
    if (!found.per_cm)
      return err->code;
  }
  *why = found;
  return ERR_OK;
}

/* Of what its flow hangs on, what one careful reading would better; the rank of the next, or -1. */
static int next_to_better(const struct facility *f, const struct air_causes *causes, int from)
{
  for (int k = from; k < causes->count; k++) {
    const struct facility_input *in = &f->inputs[causes->list[k].input];

    if (in->at_best_si < in->plus_minus_si)
      return k;
  }
  return -1;
}

static struct air_narrow narrowed(const struct facility *f, const struct air_station *s, int rank)
{
  const struct air_cause *cause = &s->flow_causes.list[rank];

  return (struct air_narrow){cause->input, cause->share_ratio,
                             air_cause_after_si(f, cause, s->flow_pm_m3_s)};
}

/* ---- for programs ---- */

static void sure_of_json(struct emit *j, const struct answer_why *why)
{
  const struct facility *f = why->facility;
  const struct air_station *s = &why->air->stations[why->station];

  emit_object(j, "sure");
  emit_number(j, "flow_m3_s", s->flow_m3_s);
  emit_number(j, "flow_pm_m3_s", s->flow_pm_m3_s);
  emit_number_if(j, "face_velocity_m_s", s->has_face_velocity, s->face_velocity_m_s);
  emit_number(j, "face_velocity_pm_m_s", s->face_velocity_pm_m_s);
  criterion_json(j, f, why->station, s);
  causes_json(j, f, &s->flow_causes);
  emit_array(j, "narrow");
  for (int k = next_to_better(f, &s->flow_causes, 0); k >= 0;
       k = next_to_better(f, &s->flow_causes, k + 1)) {
    struct air_narrow narrow = narrowed(f, s, k);

    narrow_figure_json(j, f, &narrow);
  }
  emit_close(j);
  per_cm_json(j, "per_cm", &(struct answer_side){f, why->scene, why->air}, why->per_cm,
              why->station);
  emit_close(j);
}

void answer_why_json(const struct answer_why *why, struct buf *out)
{
  const struct air_ledger *ledger = why->ledger;
  struct emit j;

  emit_begin(&j, out);
  emit_object(&j, NULL);
  emit_text(&j, "schema", "inward.why.1");
  emit_text(&j, "station", why->facility->stations[why->station].part.id);
  emit_number(&j, "start_Pa", ledger->start_Pa);
  emit_array(&j, "rows");
  for (int i = 0; i < ledger->count; i++) {
    emit_object(&j, NULL);
    emit_text(&j, "what", ledger->rows[i].what);
    emit_text(&j, "origin", ledger->rows[i].origin);
    emit_number(&j, "drop_Pa", ledger->rows[i].drop_Pa);
    emit_number(&j, "pressure_after_Pa", ledger->rows[i].pressure_after_Pa);
    emit_close(&j);
  }
  emit_close(&j);
  emit_number(&j, "end_Pa", ledger->end_Pa);
  emit_bool(&j, "reaches_outdoors", ledger->reaches_outdoors);
  if (why->air)
    sure_of_json(&j, why);
  else
    emit_null(&j, "sure");
  emit_close(&j);
  emit_end(&j);
}

/* ---- for a person ---- */

static void ledger_text(const struct page *p, const struct answer_why *why)
{
  const struct air_ledger *ledger = why->ledger;
  const struct facility_station *station = &p->f->stations[why->station];
  const char *room = facility_node_id(p->f, station->room);
  char text[PAGE_TEXT];

  buf_printf(p->out, "Pressure ledger of %s, from %s to outdoors (gauge)\n\n", station->part.id,
             room);
  page_cell(p->out, "", 28);
  page_cell(p->out, "drop", 14);
  page_cell(p->out, "then at", 14);
  buf_puts(p->out, "origin\n");
  page_cell(p->out, room, 42);
  page_cell(p->out, page_shown(p, text, sizeof text, true, ledger->start_Pa, UNITS_GAUGE_PRESSURE),
            14);
  buf_puts(p->out, "computed\n");
  for (int i = 0; i < ledger->count; i++) {
    const struct air_ledger_row *r = &ledger->rows[i];

    page_cell(p->out, r->what, 28);
    page_cell(p->out, page_shown(p, text, sizeof text, true, r->drop_Pa, UNITS_PRESSURE_DIFFERENCE),
              14);
    page_cell(p->out,
              page_shown(p, text, sizeof text, true, r->pressure_after_Pa, UNITS_GAUGE_PRESSURE),
              14);
    if (p->system == UNITS_SYSTEM_SI)
      buf_puts(p->out, r->origin); /* as stated, digit for digit */
    else
      page_say(p, r->origin);
    buf_putc(p->out, '\n');
  }
  if (!ledger->reaches_outdoors)
    buf_puts(p->out, "\nThe walk ended before outdoors: no air goes on from the last row.\n");
}

enum { LABEL = 14 };

static void label(const struct page *p, const char *text)
{
  buf_puts(p->out, "  ");
  page_cell(p->out, text, LABEL);
}

/* A figure with its ±, where that was worked out. */
static void figure(const struct page *p, double si, double plus_minus_si,
                   enum units_dimension dimension)
{
  char text[PAGE_TEXT];

  buf_puts(p->out, page_shown(p, text, sizeof text, true, si, dimension));
  if (isfinite(plus_minus_si))
    buf_printf(p->out, " ± %s", page_shown(p, text, sizeof text, true, plus_minus_si, dimension));
}

static void criterion_text(const struct page *p, const struct facility_criterion *c,
                           const struct air_station *s)
{
  enum units_dimension of = c->of == FACILITY_OF_FLOW ? UNITS_FLOW : UNITS_VELOCITY;
  char text[PAGE_TEXT];

  label(p, "criterion");
  buf_printf(p->out, "%s, ", c->part.id);
  if (c->has_low)
    buf_printf(p->out, "min %s", page_shown(p, text, sizeof text, true, c->low, of));
  if (c->has_high)
    buf_printf(p->out, "%smax %s", c->has_low ? ", " : "",
               page_shown(p, text, sizeof text, true, c->high, of));
  if (s->has_verdict)
    buf_puts(p->out, s->met ? ": met; " : ": MISSED; ");
  else
    buf_puts(p->out, ": ");
  page_odds_words(p, &s->odds);
  buf_putc(p->out, '\n');
  if (!s->has_verdict || s->met)
    return;
  label(p, "");
  buf_puts(p->out,
           s->own_fault
               ? "it misses that with all others parked too: stop work there; its own valve "
                 "and branch are to blame, the ledger above says where\n"
               : "its own valve and branch are not to blame: 'inward air' says what is, and what "
                 "helps\n");
}

static void next_reading(const struct page *p, const struct air_station *s)
{
  int rank = next_to_better(p->f, &s->flow_causes, 0);

  if (s->flow_causes.count == 0)
    return;
  label(p, "helps most");
  if (rank < 0) {
    buf_puts(p->out, "none of these figures is bettered by one careful reading\n");
    return;
  }

  const struct facility_input *in = &p->f->inputs[s->flow_causes.list[rank].input];
  struct air_narrow narrow = narrowed(p->f, s, rank);
  char text[PAGE_TEXT];

  if (s->flow_causes.count > 1)
    buf_printf(p->out, "figure %d: ", rank + 1);
  buf_printf(p->out, "%s; known to ± ", in->find ? in->find : "read it once with care");
  page_spread(p, in, in->at_best_si);
  buf_printf(p->out, ", the flow's ± is %s\n",
             page_shown(p, text, sizeof text, true, narrow.after_m3_s, UNITS_FLOW));
  label(p, "");
  buf_puts(p->out, "a reading you have: 'inward match SUITE --readings TABLE' takes it in\n");
}

static void sure_of_text(const struct page *p, const struct answer_why *why)
{
  const struct facility_station *station = &p->f->stations[why->station];
  const struct air_station *s = &p->a->stations[why->station];

  buf_printf(p->out, "\nHow sure, the figures anywhere within their ±%s\n",
             p->a->counts_doubts ? "" : " (which is assumed)");
  label(p, "flow");
  figure(p, s->flow_m3_s, s->flow_causes.count > 0 ? s->flow_pm_m3_s : (double)NAN, UNITS_FLOW);
  if (s->flow_causes.count == 0)
    buf_puts(p->out, ", which no ± of the file moves here");
  buf_putc(p->out, '\n');
  if (s->has_face_velocity && p->scene->stations[why->station].raised) {
    label(p, "face");
    figure(p, s->face_velocity_m_s, s->face_velocity_pm_m_s, UNITS_VELOCITY);
    buf_puts(p->out, " (implied: flow over opening)\n");
  }
  if (station->criterion >= 0)
    criterion_text(p, &p->f->criteria[station->criterion], s);
  if (s->flow_causes.count > 0)
    buf_puts(p->out, "  the flow's ± comes most from\n");
  page_causes(p, "    ", &s->flow_causes);
  next_reading(p, s);
  buf_puts(p->out, "\nOne centimetre more of its sash, all else as it stands (no advice to move it "
                   "over work)\n  ");
  page_per_cm(p, why->per_cm, why->station);
}

void answer_why_text(const struct answer_why *why, enum units_system system, struct buf *out)
{
  const struct page p = {why->facility, why->scene, why->air, system, out};

  ledger_text(&p, why);
  if (why->air)
    sure_of_text(&p, why);
}
