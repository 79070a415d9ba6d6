/* From what a person typed to an entry, with every fault at once. */
#include "run/run_impl.h"

#include <math.h>
#include <string.h>

struct taking {
  const struct run_asked *asked;
  struct run_told told;
  struct run_said said;
  struct typed typed;
};

/* ---- what is said with which act ---- */

static const char *const keys_of[RUN_ACT_COUNT] = {
    [RUN_STARTED] = "act|about|who|at|what|holds|hazards|call|second|until|temperature",
    [RUN_READ] = "act|about|who|at|temperature",
    [RUN_LATER] = "act|about|who|at|until",
    [RUN_OVER] = "act|about|who|at|temperature",
    [RUN_CLEARED] = "act|about|who|at|words",
};

static bool take_act(struct taking *t)
{
  const char *name = typed_text(&t->typed, "act", TYPED_SHORT_MOST_BYTES);
  int act = name ? run_act_find(name) : -1;

  if (act < 0) {
    typed_fault(&t->typed, "act: started, read, later, over or cleared%s%.40s%s",
                name ? ", not '" : "", name ? name : "", name ? "'" : "");
    return false;
  }
  t->told.act = t->said.act = (enum run_act)act;
  typed_keys(&t->typed, keys_of[act]);
  return true;
}

static void take_about(struct taking *t)
{
  const char *about = typed_text(&t->typed, "about", TYPED_SHORT_MOST_BYTES);

  t->told.station = about ? facility_station_find(t->asked->facility, about) : -1;
  t->told.about = about;
  if (!about)
    typed_fault(&t->typed, "about: at which station?");
  else if (t->told.station < 0)
    typed_fault(&t->typed, "about: the suite has no station '%.40s'", about);
}

static void take_until(struct taking *t)
{
  int before = t->typed.fault_count;
  const char *until = typed_text(&t->typed, "until", TYPED_SHORT_MOST_BYTES);
  struct err err = {0};

  if (t->told.act != RUN_STARTED && t->told.act != RUN_LATER)
    return;
  if (!until) {
    if (t->typed.fault_count == before)
      typed_fault(&t->typed, "until: when will somebody be back? As in \"2026-10-26 18:00\"");
  } else if (when_read(until, t->asked->zone, NULL, &t->said.until_ms, &err) != ERR_OK)
    typed_fault(&t->typed, "until: %.160s", err.text);
  else if (t->said.until_ms <= t->told.t_ms)
    typed_fault(&t->typed, "until: %.40s is not after it was told", until);
}

static void take_temperature(struct taking *t)
{
  int before = t->typed.fault_count;
  const char *text = typed_text(&t->typed, "temperature", TYPED_SHORT_MOST_BYTES);
  struct units_quantity q;
  struct err err = {0};

  if (!text) {
    if (t->told.act == RUN_READ && t->typed.fault_count == before)
      typed_fault(&t->typed, "temperature: what does it read? As in 85 degC");
    return;
  }
  if (units_parse(text, UNITS_TEMPERATURE, UNITS_NOTHING, &q, &err) != ERR_OK) {
    typed_fault(&t->typed, "temperature: %.160s", err.text);
    return;
  }
  t->said.temperature_K = q.si;
  if (!(t->said.temperature_K > 150 && t->said.temperature_K < 1500))
    typed_fault(&t->typed, "temperature: %.40s is no temperature of a vessel at a station", text);
}

/* What would be told in vain, where it is known what stands there. */
static void take_state(struct taking *t)
{
  const struct run *run =
      t->asked->now && t->told.station >= 0 ? run_at(t->asked->now, t->told.station) : NULL;

  if (!t->asked->now || t->told.station < 0)
    return;
  if (t->told.act == RUN_STARTED && run)
    typed_fault(&t->typed,
                "about: '%.200s' is told of %.40s since entry %lld; say first that it was cleared",
                run->words.what, t->told.about, (long long)run->number);
  else if (t->told.act != RUN_STARTED && !run)
    typed_fault(&t->typed, "about: no run is told of %.40s; say first that one started",
                t->told.about);
  else if ((t->told.act == RUN_LATER || t->told.act == RUN_OVER) && run->over_ms != INT64_MIN)
    typed_fault(&t->typed, "act: it was said already that the run at %.40s is over", t->told.about);
  else if (t->told.act != RUN_STARTED && t->told.t_ms < run->started_ms)
    typed_fault(&t->typed, "at: that is before the run at %.40s started", t->told.about);
}

/* ---- the entry ---- */

static void put_moment(const struct taking *t, int64_t t_ms, struct buf *out)
{
  when_print(out, t->asked->zone ? t->asked->zone : when_utc(), t_ms);
}

static void entry_text(const struct taking *t, const char *words, struct buf *out)
{
  const struct run_words *w = &t->said.words;

  switch (t->told.act) {
  case RUN_STARTED:
    buf_printf(out, "runs with nobody there: %s. Holds: %s. Hazards: %s. Call: %s%s%s. Until ",
               w->what, w->holds, w->hazards, w->call, w->second ? "; also knows of it: " : "",
               w->second ? w->second : "");
    put_moment(t, t->said.until_ms, out);
    break;
  case RUN_READ:
    buf_puts(out, "the run reads ");
    break;
  case RUN_LATER:
    buf_puts(out, "the run takes longer: until ");
    put_moment(t, t->said.until_ms, out);
    break;
  case RUN_OVER:
    buf_puts(out, "the run is over, it cools");
    break;
  case RUN_CLEARED:
  case RUN_ACT_COUNT:
    buf_printf(out, "looked at and cleared%s%s", words ? ": " : "", words ? words : "");
    break;
  }
  if (!isnan(t->said.temperature_K)) {
    buf_puts(out, t->told.act == RUN_READ ? "" : "; reads ");
    units_print(out, t->said.temperature_K, UNITS_TEMPERATURE, UNITS_SYSTEM_SI);
  }
}

static const char *kept(struct arena *arena, struct buf *text)
{
  const char *own = text->full ? NULL : arena_strdup(arena, text->text);

  buf_release(text);
  return own;
}

enum err_code run_take(const struct run_asked *asked, struct arena *arena, struct run_told *out,
                       struct buf *faults)
{
  struct taking t = {.asked = asked, .typed = {asked->pairs, asked->count, arena, faults, 0}};
  const char *words;
  struct buf text;

  t.said = (struct run_said){.until_ms = INT64_MIN, .temperature_K = NAN};
  if (!take_act(&t))
    return ERR_INPUT;
  take_about(&t);
  t.told.who = typed_who(&t.typed, "who says so?");
  t.told.t_ms = typed_at(&t.typed, asked->zone, asked->now_ms, asked->back_most_s);
  take_until(&t);
  take_temperature(&t);
  words = typed_text(&t.typed, "words", RUN_WORDS_MOST_BYTES);
  if (t.told.act == RUN_STARTED) {
    t.said.words = (struct run_words){
        .what =
            typed_needed(&t.typed, "what", RUN_WORDS_MOST_BYTES, "must be said: what runs there?"),
        .holds = typed_needed(&t.typed, "holds", RUN_WORDS_MOST_BYTES,
                              "must be said: which chemicals, by their full names, and how much?"),
        .hazards = typed_needed(&t.typed, "hazards", RUN_WORDS_MOST_BYTES,
                                "must be said: what can it do to whom comes near?"),
        .call = typed_needed(&t.typed, "call", RUN_WORDS_MOST_BYTES,
                             "must be said: whom does one call, under which number?"),
        .second = typed_text(&t.typed, "second", RUN_WORDS_MOST_BYTES)};
  }
  take_state(&t);
  if (t.typed.fault_count > 0)
    return ERR_INPUT;
  buf_init(&text, 16 << 10);
  entry_text(&t, words, &text);
  t.told.text = kept(arena, &text);
  buf_init(&text, 16 << 10);
  run_write(&t.said, &text);
  t.told.detail = kept(arena, &text);
  if (!t.told.text || !t.told.detail) {
    typed_fault(&t.typed, "that is too much for one entry");
    return ERR_INPUT;
  }
  *out = t.told;
  return ERR_OK;
}
