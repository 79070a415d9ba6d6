/* From what a person typed to an entry, with every fault at once. */
#include "run/run_impl.h"

#include "base/spelling.h"
#include "base/utf8.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

enum { SHORT_MOST_BYTES = 80 };

struct taking {
  const struct run_asked *asked;
  struct arena *arena;
  struct run_told told;
  struct run_said said;
  struct buf *faults;
  int fault_count;
};

static void fault(struct taking *t, const char *fmt, ...) PRINTF_LIKE(2, 3);
static void fault(struct taking *t, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  buf_vprintf(t->faults, fmt, args);
  va_end(args);
  buf_putc(t->faults, '\n');
  t->fault_count++;
}

/* Without blanks around it; NULL where it is not given, or wrong and told. */
static const char *text_of(struct taking *t, const char *key, size_t most)
{
  const char *value = NULL;
  char said[UTF8_SAID_BYTES];
  int found = 0;

  for (int i = 0; i < t->asked->count; i++)
    if (strcmp(t->asked->pairs[i].key, key) == 0 && ++found)
      value = t->asked->pairs[i].value;
  if (found > 1)
    fault(t, "%s: said twice; say it once", key);
  if (!value)
    return NULL;
  value += strspn(value, " \t\r\n");

  char *own = arena_strdup(t->arena, value);
  size_t end = own ? strlen(own) : 0;

  for (; end > 0 && strchr(" \t\r\n", own[end - 1]); end--)
    own[end - 1] = '\0';
  if (!own || end > most)
    fault(t, "%s: too long; at most %zu bytes", key, most);
  else if (utf8_fault(own))
    fault(t, "%s: not UTF-8", key);
  else if (utf8_unseen(own, said))
    fault(t, "%s: %s", key, said);
  else if (strchr(own, '\n'))
    fault(t, "%s: one line", key);
  else
    return *own ? own : NULL;
  return NULL;
}

static const char *need_text(struct taking *t, const char *key, const char *what)
{
  int before = t->fault_count;
  const char *text = text_of(t, key, RUN_WORDS_MOST_BYTES);

  if (!text && t->fault_count == before)
    fault(t, "%s: must be said: %s", key, what);
  return text;
}

/* ---- what is said with which act ---- */

static const char *const keys_of[RUN_ACT_COUNT] = {
    [RUN_STARTED] = "act|about|who|at|what|holds|hazards|call|second|until|temperature",
    [RUN_READ] = "act|about|who|at|temperature",
    [RUN_LATER] = "act|about|who|at|until",
    [RUN_OVER] = "act|about|who|at|temperature",
    [RUN_CLEARED] = "act|about|who|at|words",
};

static bool is_in(const char *list, const char *key)
{
  size_t length = strlen(key);

  for (const char *at = list; *at; at += strcspn(at, "|"), at += *at == '|')
    if (strcspn(at, "|") == length && strncmp(at, key, length) == 0)
      return true;
  return false;
}

static bool take_act(struct taking *t)
{
  const char *name = text_of(t, "act", SHORT_MOST_BYTES);
  int act = name ? run_act_find(name) : -1;

  if (act < 0) {
    fault(t, "act: started, read, later, over or cleared%s%.40s%s", name ? ", not '" : "",
          name ? name : "", name ? "'" : "");
    return false;
  }
  t->told.act = t->said.act = (enum run_act)act;
  for (int i = 0; i < t->asked->count; i++)
    if (!is_in(keys_of[act], t->asked->pairs[i].key)) {
      spelling_refuse(t->faults, t->asked->pairs[i].key, keys_of[act]);
      fault(t, "%s", "");
    }
  return true;
}

static void take_about(struct taking *t)
{
  const char *about = text_of(t, "about", SHORT_MOST_BYTES);

  t->told.station = about ? facility_station_find(t->asked->facility, about) : -1;
  t->told.about = about;
  if (!about)
    fault(t, "about: at which station?");
  else if (t->told.station < 0)
    fault(t, "about: the suite has no station '%.40s'", about);
}

static void take_who(struct taking *t)
{
  int before = t->fault_count;

  t->told.who = text_of(t, "who", SHORT_MOST_BYTES);
  if (!t->told.who && t->fault_count == before)
    fault(t, "who: who says so?");
  else if (t->told.who && strcmp(t->told.who, "inward") == 0)
    fault(t, "who: 'inward' is how the program itself signs; who are you?");
}

static void take_at(struct taking *t)
{
  const char *at = text_of(t, "at", SHORT_MOST_BYTES);
  struct err err = {0};

  t->told.t_ms = t->asked->now_ms;
  if (!at)
    return;
  if (when_read(at, t->asked->zone, NULL, &t->told.t_ms, &err) != ERR_OK)
    fault(t, "at: %.160s", err.text);
  else if (t->told.t_ms > t->asked->now_ms)
    fault(t, "at: %.40s has not come yet", at);
  else if (t->told.t_ms < t->asked->now_ms - llround(t->asked->back_most_s * 1e3))
    fault(t, "at: %.40s is too long ago to be told now; write a note", at);
}

static void take_until(struct taking *t)
{
  int before = t->fault_count;
  const char *until = text_of(t, "until", SHORT_MOST_BYTES);
  struct err err = {0};

  if (t->told.act != RUN_STARTED && t->told.act != RUN_LATER)
    return;
  if (!until) {
    if (t->fault_count == before)
      fault(t, "until: when will somebody be back? As in \"2026-10-26 18:00\"");
  } else if (when_read(until, t->asked->zone, NULL, &t->said.until_ms, &err) != ERR_OK)
    fault(t, "until: %.160s", err.text);
  else if (t->said.until_ms <= t->told.t_ms)
    fault(t, "until: %.40s is not after it was told", until);
}

static void take_temperature(struct taking *t)
{
  int before = t->fault_count;
  const char *text = text_of(t, "temperature", SHORT_MOST_BYTES);
  struct units_quantity q;
  struct err err = {0};

  if (!text) {
    if (t->told.act == RUN_READ && t->fault_count == before)
      fault(t, "temperature: what does it read? As in 85 degC");
    return;
  }
  if (units_parse(text, UNITS_TEMPERATURE, UNITS_NOTHING, &q, &err) != ERR_OK) {
    fault(t, "temperature: %.160s", err.text);
    return;
  }
  t->said.temperature_K = q.si;
  if (!(t->said.temperature_K > 150 && t->said.temperature_K < 1500))
    fault(t, "temperature: %.40s is no temperature of a vessel at a station", text);
}

/* What would be told in vain, where it is known what stands there. */
static void take_state(struct taking *t)
{
  const struct run *run =
      t->asked->now && t->told.station >= 0 ? run_at(t->asked->now, t->told.station) : NULL;

  if (!t->asked->now || t->told.station < 0)
    return;
  if (t->told.act == RUN_STARTED && run)
    fault(t, "about: '%.200s' is told of %.40s since entry %lld; say first that it was cleared",
          run->words.what, t->told.about, (long long)run->number);
  else if (t->told.act != RUN_STARTED && !run)
    fault(t, "about: no run is told of %.40s; say first that one started", t->told.about);
  else if ((t->told.act == RUN_LATER || t->told.act == RUN_OVER) && run->over_ms != INT64_MIN)
    fault(t, "act: it was said already that the run at %.40s is over", t->told.about);
  else if (t->told.act != RUN_STARTED && t->told.t_ms < run->started_ms)
    fault(t, "at: that is before the run at %.40s started", t->told.about);
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
  struct taking t = {.asked = asked, .arena = arena, .faults = faults};
  const char *words;
  struct buf text;

  t.said = (struct run_said){.until_ms = INT64_MIN, .temperature_K = NAN};
  if (!take_act(&t))
    return ERR_INPUT;
  take_about(&t);
  take_who(&t);
  take_at(&t);
  take_until(&t);
  take_temperature(&t);
  words = text_of(&t, "words", RUN_WORDS_MOST_BYTES);
  if (t.told.act == RUN_STARTED) {
    t.said.words = (struct run_words){
        .what = need_text(&t, "what", "what runs there?"),
        .holds = need_text(&t, "holds", "which chemicals, by their full names, and how much?"),
        .hazards = need_text(&t, "hazards", "what can it do to whom comes near?"),
        .call = need_text(&t, "call", "whom does one call, under which number?"),
        .second = text_of(&t, "second", RUN_WORDS_MOST_BYTES)};
  }
  take_state(&t);
  if (t.fault_count > 0)
    return ERR_INPUT;
  buf_init(&text, 16 << 10);
  entry_text(&t, words, &text);
  t.told.text = kept(arena, &text);
  buf_init(&text, 16 << 10);
  run_write(&t.said, &text);
  t.told.detail = kept(arena, &text);
  if (!t.told.text || !t.told.detail) {
    fault(&t, "that is too much for one entry");
    return ERR_INPUT;
  }
  *out = t.told;
  return ERR_OK;
}
