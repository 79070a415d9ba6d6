/* After all work stopped: station by station, until a person released it.  The tool releases nothing. */
#include "lists/lists_impl.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ENTRIES_MOST = 100000 }; /* of one kind, the newest */

/* ---- what an entry says for programs ---- */

void lists_stopped_json(const char *cause, struct buf *out)
{
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.stopped.1");
  emit_text(&json, "cause", cause);
  emit_close(&json);
  emit_end(&json);
}

void lists_reentry_json(const char *removed, const char *measured, struct buf *out)
{
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.reentry.1");
  emit_text(&json, "source_removed", removed);
  emit_text(&json, "measured", measured);
  emit_close(&json);
  emit_end(&json);
}

void lists_restarted_json(struct buf *out)
{
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.restarted.1");
  emit_close(&json);
  emit_end(&json);
}

/* ---- flow since ---- */

struct spell {
  double least_si;
  int64_t from_ms, since_ms, last_ms, gap_ms; /* since: INT64_MIN: not now */
  double last_si;
};

static void take_flow(void *arg, const struct feed_observation *o)
{
  struct spell *s = arg;
  bool good = o->quality == FEED_GOOD && o->si >= s->least_si;

  if (o->t_ms <= s->from_ms)
    return;
  if (!good || (s->since_ms != INT64_MIN && o->t_ms - s->last_ms > s->gap_ms))
    s->since_ms = INT64_MIN;
  if (good && s->since_ms == INT64_MIN)
    s->since_ms = o->t_ms;
  s->last_ms = o->t_ms;
  s->last_si = o->si;
}

struct restart {
  const struct past_place *place;
  struct lists_page *page;
  struct lists_moment now, before;
  struct past_stop stop;
  const struct record_entry *reentry; /* the three questions answered; or NULL */
};

static bool main_stands(const struct restart *r, int station)
{
  const struct facility *f = r->place->facility;
  int main = f->stations[station].main;
  bool any = main >= 0 && f->mains[main].fan_count > 0;

  for (int k = 0; any && k < f->mains[main].fan_count; k++)
    if (r->now.belief->scene.fan_running[f->mains[main].fans[k]] > 0)
      return false;
  return any;
}

/* "700 m³/h since 14:10", or why not. */
static const char *flow_words(struct restart *r, int i, bool *seen_out, struct err *err)
{
  const struct facility_station *s = &r->place->facility->stations[i];
  int point = point_of(&r->now, FEEDS_OF_STATION, i, FEEDS_FLOW);
  double least_m3_s = facility_station_rule_m3_s(s, false, s->parked_m);

  *seen_out = false;
  if (point < 0)
    return "not measured: look at the station itself; until then no work";
  const struct feeds_point *p = &r->place->feeds->points[point];
  struct spell spell = {.least_si = least_m3_s - p->resolution_si,
                        .from_ms = r->stop.last_ms,
                        .since_ms = INT64_MIN,
                        .gap_ms = (int64_t)llround(p->old_after_s * 1000)};
  const struct feed_sink sink = {take_flow, &spell};

  if (record_samples(r->place->record, point, r->stop.last_ms, r->page->t_ms + 1, INT64_MAX, &sink,
                     err) != ERR_OK)
    return NULL;
  if (main_stands(r, i))
    return "not seen yet: no work (its fans do not run)";
  if (spell.since_ms == INT64_MIN || !r->now.belief->stations[i].has_flow)
    return page_words(r->page, "not seen yet: no work (%s)", point_age(r->page, &r->now, point));
  *seen_out = true;
  return page_words(r->page, "%s since %s", words_si(r->page, spell.last_si, UNITS_FLOW),
                    words_clock(r->page, spell.since_ms));
}

/* ---- rows ---- */

static const char *before_words(struct restart *r, int i)
{
  const struct lists_moment *m = &r->before;
  const struct watch_station *was = m->belief ? &m->belief->stations[i] : NULL;
  double cover;
  bool covered = point_says(m, point_of(m, FEEDS_OF_STATION, i, FEEDS_COVERED), &cover);

  if (!was)
    return "NOT KNOWN";
  return page_words(r->page, "%s%s%s%s", station_words(r->page, m, i),
                    was->has_flow
                        ? page_words(r->page, ", %s", words_si(r->page, was->flow_m3_s, UNITS_FLOW))
                        : ", flow not known",
                    covered ? page_words(r->page, ", deck covered %.0f %%", cover * 100) : "",
                    "; hot or running: look");
}

static const struct record_entry *release_of(struct restart *r, const struct record_entry *list,
                                             int count, const char *about)
{
  const struct record_entry *last = NULL;

  for (int i = 0; i < count; i++)
    if (strcmp(list[i].about, about) == 0 && list[i].t_ms > r->stop.last_ms &&
        past_is_of_stop(&list[i]))
      last = &list[i];
  return last;
}

static enum err_code add_station(struct restart *r, struct lists_section *section, int i,
                                 const struct record_entry *released, struct err *err)
{
  const struct facility_station *s = &r->place->facility->stations[i];
  bool seen, out = is_withdrawn(&r->now, i);
  const char *flow = flow_words(r, i, &seen, err);
  struct lists_row *row = section_row(r->page, section, s->part.id,
                                      out        ? "withdrawn"
                                      : released ? "released"
                                      : seen     ? "flow_seen"
                                                 : "no_work");

  if (!flow)
    return err->code;
  row->cells[0] = part_words(r->page, &s->part);
  row->cells[1] = before_words(r, i);
  row->cells[2] = flow;
  row->cells[3] = out        ? "out of use: its own release comes first, on its page"
                  : released ? page_words(r->page, "%s, %s: %s", released->who,
                                          words_clock(r->page, released->t_ms), released->text)
                             : "nobody yet";
  row->marked = !released && !out;
  row->asks =
      row->marked && (!r->stop.asks_reentry || r->reentry) && !r->now.belief->building_alarm;
  return ERR_OK;
}

static void columns(struct lists_section *section)
{
  section_column(section, &(struct lists_column){"station", "station", 0.17, false});
  section_column(section, &(struct lists_column){"before", "before it stopped", 0.3, false});
  section_column(section, &(struct lists_column){"flow", "flow seen since", 0.22, true});
  section_column(section, &(struct lists_column){"released", "released by", 0.31, false});
}

static void add_questions(struct restart *r)
{
  struct lists_section *section =
      page_section(r->page, "before_going_in", "Before anybody goes in", NULL);
  json_t *root = r->reentry ? json_loads(r->reentry->detail, 0, NULL) : NULL;
  const char *removed = json_string_value(json_object_get(root, "source_removed"));
  const char *measured = json_string_value(json_object_get(root, "measured"));
  const char *const questions[] = {"Source removed?", "Measured? What, where, with what?",
                                   "Released by whom?"};
  const char *const answers[] = {removed, measured,
                                 r->reentry ? page_words(r->page, "%s, %s", r->reentry->who,
                                                         words_clock(r->page, r->reentry->t_ms))
                                            : NULL};

  section_column(section, &(struct lists_column){"question", "question", 0.4, false});
  section_column(section, &(struct lists_column){"answer", "answer", 0.6, false});
  for (int i = 0; i < 3; i++) {
    struct lists_row *row = section_row(r->page, section, NULL, answers[i] ? "answered" : "open");

    row->cells[0] = questions[i];
    row->cells[1] = answers[i] ? page_words(r->page, "%s", answers[i]) : "not answered";
    row->marked = !answers[i];
  }
  json_decref(root);
}

static enum err_code fill(struct restart *r, struct arena *arena, struct err *err)
{
  const struct record_wanted wanted = {.from_ms = r->stop.last_ms,
                                       .to_ms = r->page->t_ms + 1,
                                       .kind = RECORD_RELEASED,
                                       .known_ms = INT64_MAX,
                                       .most = ENTRIES_MOST};
  struct record_entry *list;
  int count;
  enum err_code code = record_entries(r->place->record, &wanted, arena, &list, &count, err);

  if (code != ERR_OK)
    return code;
  r->reentry = release_of(r, list, count, "");
  if (r->stop.asks_reentry)
    add_questions(r);
  struct lists_section *section =
      page_section(r->page, "stations", "Station by station", "The suite has no station.");

  columns(section);
  for (int i = 0; code == ERR_OK && i < r->place->facility->station_count; i++)
    code = add_station(r, section, i,
                       release_of(r, list, count, r->place->facility->stations[i].part.id), err);
  return code;
}

/* ---- the page ---- */

static const char act_building[] = "THE BUILDING'S ALARM IS ON: NOBODY GOES IN",
                  act_none[] = "NO STOP OF ALL WORK IS KNOWN";

static void say_cause(struct restart *r)
{
  struct buf text;

  buf_init(&text, 4000);
  past_stop_causes(&r->stop, &text);
  page_line(r->page,
            page_words(r->page, "Stopped %s%s: %s.", words_moment(r->page, r->stop.first_ms),
                       r->stop.last_ms - r->stop.first_ms > PAST_STOP_ONE_MS
                           ? page_words(r->page, ", still open when stopped again %s",
                                        words_moment(r->page, r->stop.last_ms))
                           : "",
                       text.text));
  buf_release(&text);
  if (r->stop.told)
    page_line(r->page,
              page_words(r->page, "Told by %s: %s", r->stop.told->who, r->stop.told->text));
}

static void say_act(struct restart *r)
{
  struct lists_page *page = r->page;
  struct buf act;

  page->needs_person = r->stop.is_open || r->now.belief->building_alarm;
  buf_init(&act, 400);
  past_stop_act(&r->stop, r->place->facility, &act);
  page->act = r->now.belief->building_alarm ? act_building : page_words(page, "%s", act.text);
  page->opens = r->stop.is_open;
  buf_release(&act);
}

enum err_code lists_restart(const struct past_place *place, int64_t t_ms, struct arena *arena,
                            struct lists_page **out, struct err *err)
{
  struct watch_belief now, before;
  struct restart r = {.place = place};
  enum err_code code = past_stop_find(place, t_ms, arena, &r.stop, err);

  if (code != ERR_OK)
    return code;

  r.page = page_new(LISTS_RESTART, place->facility, place->zone, t_ms, arena);
  r.page->foot =
      "This list releases nothing: people do, station by station, after they saw flow. Hot plates may "
      "have started again by themselves. A station's own alarm decides.";
  *out = r.page;
  if (!r.stop.found) {
    r.page->act = act_none;
    page_line(
        r.page,
        "A stop is told by a person, or seen: the building's alarm, or all fans lost at once.");
    page_seal(r.page);
    return ERR_OK;
  }
  code = past_believe(place, t_ms, INT64_MAX, arena, &now, err);
  if (code == ERR_OK)
    code = past_believe(place, r.stop.before_ms, INT64_MAX, arena, &before, err);
  if (code != ERR_OK)
    return code;
  r.now = (struct lists_moment){.facility = place->facility,
                                .feeds = place->feeds,
                                .zone = place->zone,
                                .belief = &now,
                                .t_ms = t_ms};
  r.before = r.now;
  r.before.belief = &before;
  r.before.t_ms = r.stop.before_ms;
  say_cause(&r);
  code = fill(&r, arena, err);
  if (code != ERR_OK)
    return code;
  say_act(&r);
  page_seal(r.page);
  return ERR_OK;
}

/* ---- what comes first ---- */

const char *lists_reentry_refusal(const struct lists_page *page)
{
  if (page->act == act_none || (page->act != act_building && !page->opens))
    return "no stop of all work is open, so there is nothing to release: a stop is told first";
  if (page->act == act_building)
    return "the building's alarm is on: nobody goes in before it is off";
  for (int s = 0; s < page->section_count; s++)
    if (strcmp(page->sections[s].key, "before_going_in") == 0)
      return NULL;
  return "the open stop is neither gas nor an evacuation: release its stations one by one";
}

const char *lists_release_refusal(const struct lists_page *page, const struct lists_row *row)
{
  if (page->act == act_none)
    return "no stop of all work is known, so there is nothing to release: a stop is told first";
  if (!row)
    return "\"about\" must be a station of the restart list";
  if (row->asks)
    return NULL;
  if (strcmp(row->state, "released") == 0)
    return "it is released already";
  if (strcmp(row->state, "withdrawn") == 0)
    return "it cannot be released now: it was taken out of use; first a person gives it back, on its "
           "page";
  if (page->act == act_building)
    return "it cannot be released now: first the building's alarm must be off";
  return "it cannot be released now: first answer the questions before anybody goes in: source "
         "removed? measured?";
}

const struct lists_row *lists_station_row(const struct lists_page *page, const char *about)
{
  for (int s = 0; s < page->section_count; s++)
    for (int r = 0; r < page->sections[s].row_count; r++)
      if (page->sections[s].rows[r].about && strcmp(page->sections[s].rows[r].about, about) == 0)
        return &page->sections[s].rows[r];
  return NULL;
}

struct lists_page *lists_restart_form(const struct facility *facility, struct arena *arena)
{
  struct lists_page *page = page_new(LISTS_RESTART, facility, NULL, INT64_MIN, arena);
  struct lists_section *questions = page_section(
      page, "before_going_in", "Before anybody goes in, after gas or an evacuation", NULL);
  static const char *const asked[] = {"Source removed?", "Measured? What, where, with what?",
                                      "Released by whom?"};

  section_column(questions, &(struct lists_column){"question", "question", 0.4, false});
  section_column(questions, &(struct lists_column){NULL, "answer", 0.6, false});
  for (int i = 0; i < 3; i++)
    section_row(page, questions, NULL, "open")->cells[0] = asked[i];
  struct lists_section *section = page_section(page, "stations", "Station by station", NULL);

  section_column(section, &(struct lists_column){"station", "station", 0.22, false});
  section_column(section, &(struct lists_column){NULL, "was open, hot, running", 0.26, false});
  section_column(section, &(struct lists_column){NULL, "flow seen, when", 0.26, false});
  section_column(section, &(struct lists_column){NULL, "released by", 0.26, false});
  for (int i = 0; i < facility->station_count; i++) {
    const struct facility_part *part = &facility->stations[i].part;

    section_row(page, section, part->id, "no_work")->cells[0] = part_words(page, part);
  }
  page->act = "NO WORK AT ANY STATION UNTIL A PERSON RELEASED IT";
  page->needs_person = true;
  page_line(page, "Stopped, when and by what: ______________________________");
  page->foot =
      "Flow is seen before work. Hot plates may have started again by themselves. A station's own alarm "
      "decides.";
  page_seal(page);
  return page;
}
