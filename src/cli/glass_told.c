/* inward glass SUITE --record FILE: what of glass was seen, counted and done, asked and told. */
#include "cli/cli.h"

#include "cli/glass_impl.h"
#include "cli/past_impl.h"
#include "cli/zone.h"
#include "sighting/sighting.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { PAIRS_MOST = 12, FAULTS_BYTES = 8192 };

struct telling {
  struct past past;
  const struct glass_request *asked;
  struct typed_pair pairs[PAIRS_MOST];
  int count;
};

static void add(struct telling *t, const char *key, const char *value)
{
  if (value && t->count < PAIRS_MOST)
    t->pairs[t->count++] = (struct typed_pair){key, value};
}

/* False: nothing is told, it is asked. */
static bool add_all(struct telling *t)
{
  const struct glass_request *r = t->asked;
  const struct {
    const char *given, *act, *key;
  } acts[] = {{r->seen, "seen", "mark"},
              {r->cleaned, "cleaned", "entry"},
              {r->discarded, "discarded", "entry"},
              {r->counted, "counted", "count"},
              {r->take_back, "taken-back", "entry"}};

  for (size_t i = 0; i < sizeof acts / sizeof *acts; i++)
    if (acts[i].given) {
      add(t, "act", acts[i].act);
      add(t, acts[i].key, acts[i].given);
    }
  if (t->count == 0)
    return false;
  add(t, "about", r->at);
  add(t, "piece", r->piece);
  add(t, "count", r->count);
  add(t, "how", r->by);
  add(t, "drawer", r->drawer);
  add(t, "words", r->words);
  add(t, "who", r->who);
  add(t, "at", r->when);
  return true;
}

/* What was typed, as an entry; its faults go to standard error. */
static enum err_code take(struct telling *t, const struct sighting_list *now,
                          struct sighting_told *told, struct err *err)
{
  struct past *past = &t->past;
  struct sighting_asked asked = {.facility = past->facility,
                                 .zone = past->zone,
                                 .now_ms = past->now_ms,
                                 .pairs = t->pairs,
                                 .count = t->count,
                                 .now = now};
  enum err_code code = past_told_back_s(past, &asked.back_most_s, err);
  struct buf faults;

  if (code != ERR_OK)
    return code;
  buf_init(&faults, FAULTS_BYTES);
  code = sighting_take(&asked, &past->arena, told, &faults);
  if (code != ERR_OK)
    fprintf(stderr, "inward glass: nothing was written down\n%s", faults.text);
  buf_release(&faults);
  return code;
}

/* The advice of a piece that was just told of. */
static void put_advice(struct telling *t, const struct sighting_told *told)
{
  struct arena *arena = &t->past.arena;
  struct facility_mark mark;
  struct err err = {0};

  if (told->act != SIGHTING_SEEN || glass_read_mark(t->asked->seen, arena, &mark, &err) != ERR_OK)
    return;

  const struct glass_seen *seen =
      glass_seen_at(t->past.facility, &mark, t->asked->piece,
                    facility_station_find(t->past.facility, told->about), arena);

  for (int i = 0; seen && i < seen->act_count; i++)
    buf_printf(&t->past.out, "%d. %s\n", i + 1, seen->acts[i]);
}

static int tell(struct telling *t, const struct sighting_told *told, struct err *err)
{
  struct record_entry entry = {.t_ms = told->t_ms,
                               .written_ms = t->past.now_ms,
                               .kind = RECORD_GLASS,
                               .about = told->about,
                               .who = told->who,
                               .text = told->text,
                               .detail = told->detail};
  int status = past_append(&t->past, &entry, err);

  if (status != 0)
    return status;
  buf_printf(&t->past.out, "%s: %s\n", told->about, told->text);
  put_advice(t, told);
  return 0;
}

static int show(struct telling *t, struct err *err)
{
  struct past *past = &t->past;
  struct sighting_list *list;
  int64_t t_ms;

  if (past_moment(past, "--when", t->asked->when, past->now_ms, &t_ms, err) != ERR_OK ||
      sighting_recorded(past->record, past->facility, past->zone, t_ms, &past->arena, &list, err) !=
          ERR_OK)
    return err_exit_status(err->code);
  if (t->asked->json)
    sighting_json(list, &past->out);
  else
    sighting_text(list, &past->out);
  return sighting_asks_a_person(list) ? 1 : 0;
}

/* A record is begun only for what can be written down. */
static int tell_in_record(struct telling *t, struct err *err)
{
  struct past *past = &t->past;
  struct sighting_list *now = NULL;
  struct sighting_told told;
  int status = 0;

  past->begun = access(t->asked->record, F_OK) != 0;
  if (past->begun)
    now = sighting_look(past->facility, past->zone, NULL, 0, past->now_ms, &past->arena);
  else if (record_open(t->asked->record, RECORD_READ, &past->record, err) != ERR_OK)
    return err_exit_status(err->code);
  else {
    status = record_of(past->record, past->facility, err) != ERR_OK ||
                     sighting_recorded(past->record, past->facility, past->zone, past->now_ms,
                                       &past->arena, &now, err) != ERR_OK
                 ? err_exit_status(err->code)
                 : 0;
    record_close(past->record);
  }
  if (status != 0)
    return status;
  if (take(t, now, &told, err) != ERR_OK)
    return 2;
  if (record_open(t->asked->record, RECORD_WRITE, &past->record, err) != ERR_OK)
    return err_exit_status(err->code);
  status = record_of(past->record, past->facility, err) == ERR_OK ? tell(t, &told, err)
                                                                  : err_exit_status(err->code);
  record_close(past->record);
  return status;
}

static int show_from_record(struct telling *t, struct err *err)
{
  struct past *past = &t->past;
  int status;

  if (record_open(t->asked->record, RECORD_READ, &past->record, err) != ERR_OK)
    return err_exit_status(err->code);
  status = record_of(past->record, past->facility, err) == ERR_OK ? show(t, err)
                                                                  : err_exit_status(err->code);
  record_close(past->record);
  return status;
}

int cli_glass_told(const struct facility *f, const struct glass_request *r, struct err *err)
{
  const struct past_request asked = {.suite = r->suite, .record = r->record, .at = r->when};
  struct telling t = {.past = {.asked = &asked, .facility = f, .now_ms = cli_now_ms()}, .asked = r};
  int status;

  arena_init(&t.past.arena, (size_t)256 << 20);
  buf_init(&t.past.out, 16 << 20);
  if (cli_zone(f, &t.past.arena, &t.past.zone, err) != ERR_OK)
    status = err_exit_status(err->code);
  else
    status = add_all(&t) ? tell_in_record(&t, err) : show_from_record(&t, err);
  if (!err->text[0] && t.past.out.used > 0)
    status = cli_show(&t.past.out, status);
  buf_release(&t.past.out);
  arena_release(&t.past.arena);
  return status;
}
