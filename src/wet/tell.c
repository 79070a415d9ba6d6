#include "wet/wet_impl.h"

#include "base/spelling.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* From what a person says to an entry for the record; or why it does not fit what was told before. */

const char wet_keys[] = "act|tank|container|stream|what|amount|into|tap|entry|anyway";

enum { WORD_MOST = 80, TAP_MOST = 64, AGAIN_MS = 10000 };

enum err_code wet_take(struct wet_request *r, const char *key, const char *value, struct err *err)
{
  const struct {
    const char *key, **text;
  } places[] = {{"act", &r->act},       {"tank", &r->tank}, {"container", &r->container},
                {"stream", &r->stream}, {"what", &r->what}, {"amount", &r->amount},
                {"into", &r->into},     {"tap", &r->tap},   {"entry", &r->entry},
                {"anyway", &r->anyway}};

  for (size_t i = 0; i < sizeof places / sizeof *places; i++) {
    if (strcmp(places[i].key, key) != 0)
      continue;
    if (*places[i].text)
      return err_set(err, ERR_INPUT, "\"%s\" twice; say it once", key);
    if (!value[strspn(value, " \t")] || strlen(value) > WORD_MOST)
      return err_set(err, ERR_INPUT, "\"%s\" must be a filled text of at most %d bytes", key,
                     WORD_MOST);
    *places[i].text = value;
    return ERR_OK;
  }
  return err_set(err, ERR_USAGE, "\"%.40s\": there is no such key; there are: %s", key, wet_keys);
}

/* ---- from words to an act ---- */

struct telling {
  const struct wet_place *place;
  const struct wet_past *past;
  const struct wet_request *asked;
  struct arena *arena;
  struct err *err;
  const struct chemicals_tank *tank;
  struct wet_told told;
  struct wet_telling *out;
};

static bool is_id(const char *text)
{
  if (!isalpha((unsigned char)text[0]) || strlen(text) > 32)
    return false;
  for (const char *at = text; *at; at++)
    if (!isalnum((unsigned char)*at) && *at != '_' && *at != '-')
      return false;
  return true;
}

static enum err_code take_tank(struct telling *t)
{
  int i = chemicals_tank_find(t->place->own, t->asked->tank);

  if (i < 0)
    return err_set(t->err, ERR_INPUT, "the chemicals file has no tank '%.40s'%s", t->asked->tank,
                   t->place->own && t->place->own->tank_count > 0 ? ": see `inward baths`"
                                                                  : ", nor any other");
  t->tank = &t->place->own->tanks[i];
  t->told.tank = t->tank->part.id;
  return ERR_OK;
}

static enum err_code take_container(struct telling *t, const char *id, const char **out)
{
  if (!is_id(id))
    return err_set(t->err, ERR_INPUT,
                   "'%.40s' is no name for a container: a letter, then letters, digits, - or _, at "
                   "most 32",
                   id);
  *out = id;
  return ERR_OK;
}

static enum err_code take_stream(struct telling *t)
{
  int i = chemicals_stream_find(t->place->own, t->asked->stream);

  if (i < 0)
    return err_set(t->err, ERR_INPUT, "the chemicals file has no waste stream '%.40s'",
                   t->asked->stream);
  t->told.stream = t->place->own->streams[i].part.id;
  return ERR_OK;
}

static enum err_code take_whole(struct telling *t, const char *key, const char *text, long most,
                                int64_t *out)
{
  char *end;
  long number = strtol(text, &end, 10);

  if (end == text || *end || number < 1 || number > most)
    return err_set(t->err, ERR_INPUT, "\"%s\": %.40s is no whole number from 1 to %ld", key, text,
                   most);
  *out = number;
  return ERR_OK;
}

static enum err_code take_amount(struct telling *t)
{
  const char *text = t->asked->amount;
  struct units_quantity q;

  switch ((int)t->told.act) {
  case WET_WAFERS:
    return take_whole(t, "amount", text, 10000, &t->told.wafers);
  case WET_TEMPERATURE:
    if (units_parse(text, UNITS_TEMPERATURE, UNITS_NOTHING, &q, t->err) != ERR_OK) {
      err_prefix(t->err, "\"amount\": ");
      return t->err->code;
    }
    t->told.temperature_K = q.si;
    return q.si > 200 && q.si < 700
               ? ERR_OK
               : err_set(t->err, ERR_INPUT, "\"amount\": no bath is at %.40s", text);
  case WET_FILL:
    if (!wet_read_fill(text, &t->told.fill_ratio, &t->told.fill_pm_ratio))
      return err_set(
          t->err, ERR_INPUT,
          "\"amount\": how full is '%.40s'? Say 60 %%, 60 %% ± 5 %%, about two thirds, half", text);
    return ERR_OK;
  case WET_MADE:
  case WET_TOPPED:
  case WET_LEVEL:
  case WET_DUMPED:
  case WET_ADDED:
    if (!wet_read_volume(text, &t->told.volume_m3, &t->told.volume_pm_m3))
      return err_set(t->err, ERR_INPUT, "\"amount\": how much is '%.40s'? Say 1.5 L or about 1.5 L",
                     text);
    return ERR_OK;
  default:
    return err_set(t->err, ERR_INPUT, "\"%s\" takes no amount", wet_act_word(t->told.act));
  }
}

/* Whether the act has what it needs and nothing else: the same rows that read an entry say so. */
static enum err_code check_whole(struct telling *t)
{
  struct wet_told again = {0};
  struct buf detail;

  buf_init(&detail, 4000);
  wet_detail(&t->told, &detail);
  bool whole = wet_detail_read(detail.text, t->arena, &again);

  buf_release(&detail);
  if (whole)
    return ERR_OK;
  return err_set(t->err, ERR_INPUT, "\"%s\" takes %s, and no more", wet_act_word(t->told.act),
                 wet_act_needs(t->told.act, t->arena));
}

static enum err_code read_words(struct telling *t)
{
  const struct wet_request *r = t->asked;
  int act = wet_act_find(r->act);
  enum err_code code = ERR_OK;

  if (act < 0)
    return err_set(
        t->err, ERR_INPUT,
        "\"act\" must be made, found, topped, wafers, temperature, level, dumped, opened, "
        "added, fill, closed, collected or taken-back");
  t->told = (struct wet_told){.act = (enum wet_act)act, .what = r->what, .tap = r->tap};
  t->told.volume_m3 = t->told.volume_pm_m3 = t->told.temperature_K = t->told.fill_ratio =
      t->told.fill_pm_ratio = (double)NAN;
  if (r->tank)
    code = take_tank(t);
  if (code == ERR_OK && r->container)
    code = take_container(t, r->container, &t->told.container);
  if (code == ERR_OK && r->into)
    code = take_container(t, r->into, &t->told.into);
  if (code == ERR_OK && r->stream)
    code = take_stream(t);
  if (code == ERR_OK && r->amount)
    code = take_amount(t);
  if (code == ERR_OK && r->entry)
    code = take_whole(t, "entry", r->entry, 1L << 40, &t->told.entry);
  if (t->tank && (act == WET_MADE || act == WET_FOUND))
    t->told.bath = t->tank->bath;
  return code == ERR_OK ? check_whole(t) : code;
}

/* ---- does it fit what was told before ---- */

static void find_double(struct telling *t)
{
  for (int i = 0; i < t->past->count && !t->out->already; i++) {
    const struct wet_told *old = &t->past->list[i];

    if (t->told.tap && wet_same(old->tap, t->told.tap) && wet_same_said(old, &t->told))
      t->out->already = old->number;
    else if (t->told.tap && wet_same(old->tap, t->told.tap))
      t->out->refused =
          arena_printf(t->arena, "that tap told something else (entry %lld): give each its own",
                       (long long)old->number);
    else if (!t->asked->anyway && !old->void_why && t->told.act != WET_TAKEN_BACK &&
             llabs((long long)(t->place->now_ms - old->t_ms)) < AGAIN_MS &&
             wet_same_said(old, &t->told))
      t->out->refused = arena_printf(
          t->arena,
          "the same was told a moment ago (entry %lld): if it was done twice, say so: anyway",
          (long long)old->number);
  }
}

static void check_taken_back(struct telling *t)
{
  const struct wet_told *old = NULL;

  for (int i = 0; i < t->past->count; i++)
    if (t->past->list[i].number == t->told.entry)
      old = &t->past->list[i];
  if (!old)
    t->out->refused = arena_printf(t->arena, "entry %lld is none of a bath or of waste",
                                   (long long)t->told.entry);
  else if (old->void_why)
    t->out->refused = arena_printf(t->arena, "entry %lld does not count already: %s",
                                   (long long)t->told.entry, old->void_why);
  else if (old->act == WET_TAKEN_BACK)
    t->out->refused = "what was taken back stays so: tell it anew";
}

static void check_topped(struct telling *t, const char *bath)
{
  const char *why;
  enum meet_verdict verdict = wet_of_topping(t->place, bath, t->told.what, &why, t->arena);

  if (verdict == MEET_NEVER && !t->asked->anyway)
    t->out->refused =
        arena_printf(t->arena, "%s must never meet %s. %s If it is in already, say so: anyway",
                     t->told.what, bath, why);
  else if (verdict == MEET_NEVER)
    t->out->warning = arena_printf(t->arena,
                                   "IT MUST NOT BE THERE. Do not heat, drain or add to it, and "
                                   "call the person in charge. %s",
                                   why);
  else if (why)
    t->out->warning =
        "that is none of what the bath is made of, so what stands there is not known from now "
        "on: ask the person in charge";
}

static void check_tank(struct telling *t)
{
  const struct wet_baths *baths = wet_baths(t->place, t->past, t->arena);
  const struct wet_tank *now = NULL;
  bool begins = t->told.act == WET_MADE || t->told.act == WET_FOUND;

  for (int i = 0; i < baths->count; i++)
    if (baths->tanks[i].tank == t->tank)
      now = &baths->tanks[i];
  BUG_IF(!now);
  if (!begins && !now->made)
    t->out->refused = arena_printf(
        t->arena,
        "nothing stands in %s by what was told: tell first that it was made, or found standing",
        t->tank->part.id);
  else if (t->told.act == WET_FOUND && now->made)
    t->out->refused = arena_printf(t->arena, "%s stands already by what was told (entry %lld)",
                                   t->tank->part.id, (long long)now->made->number);
  else if (t->told.act == WET_MADE && now->made && !t->asked->anyway)
    t->out->refused = arena_printf(
        t->arena,
        "by what was told a bath stands in %s since entry %lld: tell first where it went, or say: "
        "anyway",
        t->tank->part.id, (long long)now->made->number);
  else if (t->told.act == WET_TOPPED && now->made->bath)
    check_topped(t, now->made->bath);
}

static const char *reasons_of(const struct wet_may *may, struct arena *arena)
{
  const char *all = meet_verdict_words(may->verdict);

  for (int i = 0; i < may->reasons.count; i++)
    all = arena_printf(arena, "%s%s%s", all, i == 0 ? ": " : "; ", may->reasons.line[i]);
  for (int i = 0; may->meets && i < may->meets->finding_count && i < 1; i++)
    if (may->meets->findings[i].sentence_count > 0)
      all = arena_printf(arena, "%s. %s", all, may->meets->findings[i].sentences[0].say);

  size_t length = strlen(all);

  return all[length - 1] == '.' ? arena_printf(arena, "%.*s", (int)length - 1, all) : all;
}

/* Told late, it met what went in since; NULL: nothing did, or it is another container by now. */
static const struct wet_may *may_later(struct telling *t, const struct wet_container *then,
                                       const char *const *what, int count)
{
  struct wet_place *later = ARENA_NEW(t->arena, struct wet_place);
  const struct wet_container *now;

  BUG_IF(!later);
  *later = *t->place;
  if (t->past->count > 0)
    later->now_ms = t->past->list[t->past->count - 1].t_ms;
  if (!then || later->now_ms <= t->place->now_ms)
    return NULL;
  const struct wet_waste *waste = wet_waste(later, t->past, t->arena);

  now = wet_container_find(waste, then->id);
  return now && now->opened == then->opened ? wet_may(waste, then->id, what, count, t->arena)
                                            : NULL;
}

static const struct wet_may *worse_may(const struct wet_may *a, const struct wet_may *b)
{
  return b && b->verdict > a->verdict ? b : a;
}

/* What it may be filled to with what goes in now; NaN: not known. */
static double high_with(const struct telling *t, const struct wet_container *c)
{
  double pm_m3 = isnan(t->told.volume_pm_m3) ? 0 : t->told.volume_pm_m3;

  return c && c->stream ? c->fill_high_ratio + (t->told.volume_m3 + pm_m3) / c->stream->volume_m3
                        : (double)NAN;
}

/* Fuller than is set is written down, for it may be so; more than it holds is asked about. */
static void check_room(struct telling *t, const struct wet_container *c)
{
  double high = high_with(t, c);
  double most = isnan(c->stream->fill_ratio) ? 1 : c->stream->fill_ratio;

  if (!(high > most))
    return;
  if (high > 1 && !t->asked->anyway)
    t->out->refused =
        arena_printf(t->arena,
                     "not into %s: by what was told that makes up to %.0f %% of what it "
                     "holds. If it is in already, say so: anyway",
                     c->id, high * 100);
  else
    t->out->warning = arena_printf(t->arena,
                                   "it may be %.0f %% full now, and at most %.0f %% is set: go and "
                                   "look before it is shut or moved%s%s",
                                   high * 100, most * 100, t->out->warning ? "; " : "",
                                   t->out->warning ? t->out->warning : "");
}

/* What goes in is asked about first; what is in already is written down all the same, for it is so. */
static void check_in(struct telling *t, const char *container, const char *const *what, int count)
{
  const struct wet_waste *waste = wet_waste(t->place, t->past, t->arena);
  const struct wet_may *may =
      worse_may(wet_may(waste, container, what, count, t->arena),
                may_later(t, wet_container_find(waste, container), what, count));
  const char *why = reasons_of(may, t->arena);

  if (may->verdict < MEET_UNKNOWN)
    t->out->warning = may->verdict == MEET_BY_PROCEDURE ? why : NULL;
  else if (t->asked->anyway && may->verdict == MEET_UNKNOWN)
    t->out->warning = arena_printf(
        t->arena,
        "whether it may be there is not known: add nothing more, ask the person in charge (%s)",
        why);
  else if (t->asked->anyway)
    t->out->warning =
        arena_printf(t->arena,
                     "IT MUST NOT BE THERE. Leave it as it is, do not close or move it, "
                     "and call the person in charge. %s",
                     why);
  else
    t->out->refused = arena_printf(t->arena, "not into %s: %s. If it is in already, say so: anyway",
                                   container, why);
  const struct wet_container *c = wet_container_find(waste, container);

  if (!t->out->refused && c && c->stream && may->verdict < MEET_UNKNOWN)
    check_room(t, c);
}

static void check_container(struct telling *t)
{
  const struct wet_waste *waste = wet_waste(t->place, t->past, t->arena);
  const struct wet_container *now = wet_container_find(waste, t->told.container);
  bool begins = t->told.act == WET_OPENED || t->told.act == WET_FOUND;

  if (begins && now)
    t->out->refused =
        arena_printf(t->arena, "%s stands already by what was told", t->told.container);
  else if (begins && wet_container_alike(waste, t->told.container))
    t->out->refused = arena_printf(
        t->arena,
        "%s stands here, and %s is read for it: give it a name that cannot be taken for it",
        wet_container_alike(waste, t->told.container)->id, t->told.container);
  else if (!begins && !now)
    t->out->refused = arena_printf(
        t->arena, "no container %s stands by what was told: tell first that it was begun, or found",
        t->told.container);
  else if (t->told.act == WET_ADDED)
    check_in(t, t->told.container, &t->told.what, 1);
}

static void check_dumped(struct telling *t)
{
  const struct wet_baths *baths = wet_baths(t->place, t->past, t->arena);
  const char *what[1 + WET_LINES_MOST];
  int count = 0;
  bool found = false;

  for (int i = 0; i < baths->count; i++) {
    const struct wet_tank *now = &baths->tanks[i];

    if (now->tank != t->tank)
      continue;
    found = now->made && now->made->act == WET_FOUND;
    if (now->made && now->made->bath)
      what[count++] = now->made->bath;
    for (int k = 0; k < now->topped_count; k++)
      if (count == 0 || !wet_is_part(t->place, what[0], now->topped[k], t->arena))
        what[count++] = now->topped[k];
  }
  if (found && !t->asked->anyway)
    t->out->refused = arena_printf(
        t->arena,
        "%s was found standing, so what is in it is not known: not into %s. If it is in already, "
        "say so: anyway",
        t->tank->part.id, t->told.into);
  else if (count > 0)
    check_in(t, t->told.into, what, count);
}

/* Emptied to its drain: it is so already, so it is written down, and said what speaks against it. */
static void check_drained(struct telling *t)
{
  if (!t->tank || t->tank->drains_into < 0)
    return;
  const struct wet_dump *dump =
      wet_dump(wet_baths(t->place, t->past, t->arena), t->tank->part.id, NULL, t->arena);

  if (dump->verdict == MEET_NEVER && dump->reasons.count > 0)
    t->out->warning = arena_printf(
        t->arena,
        "IT SHOULD NOT HAVE GONE DOWN THERE. Let nothing follow it, and call the person in "
        "charge. %s",
        dump->reasons.line[0]);
  else if (dump->verdict == MEET_BY_PROCEDURE && dump->reasons.count > 0)
    t->out->warning =
        arena_printf(t->arena, "only by a written procedure: %s", dump->reasons.line[0]);
}

static void check_fits(struct telling *t)
{
  find_double(t);
  if (t->out->refused || t->out->already)
    return;
  if (t->told.act == WET_TAKEN_BACK)
    check_taken_back(t);
  else if (t->told.tank)
    check_tank(t);
  else
    check_container(t);
  if (!t->out->refused && t->told.act == WET_DUMPED && t->told.into)
    check_dumped(t);
  if (!t->out->refused && t->told.act == WET_DUMPED && !t->told.into)
    check_drained(t);
}

/* ---- the entry ---- */

static const char *station_of(const struct telling *t)
{
  const struct facility *f = t->place->facility;
  const char *container = t->told.container;
  int stream = chemicals_stream_find(t->place->own, t->told.stream);

  if (t->tank)
    return f->stations[t->tank->station].part.id;
  for (int i = 0; container && stream < 0 && i < t->past->count; i++)
    if (wet_same(t->past->list[i].container, container) && t->past->list[i].stream)
      stream = chemicals_stream_find(t->place->own, t->past->list[i].stream);
  return stream >= 0 ? f->stations[t->place->own->streams[stream].station].part.id : "";
}

static enum record_kind kind_of(const struct telling *t)
{
  if (t->told.act != WET_TAKEN_BACK)
    return t->told.tank ? RECORD_BATH : RECORD_WASTE;
  for (int i = 0; i < t->past->count; i++)
    if (t->past->list[i].number == t->told.entry)
      return t->past->list[i].tank ? RECORD_BATH : RECORD_WASTE;
  return RECORD_BATH;
}

enum err_code wet_tell(const struct wet_place *place, const struct wet_past *past,
                       const struct wet_request *request, struct arena *arena,
                       struct wet_telling *out, struct err *err)
{
  struct telling t = {place, past, request, arena, err, NULL, {0}, out};
  struct buf detail;
  enum err_code code;

  *out = (struct wet_telling){0};
  code = read_words(&t);
  if (code != ERR_OK)
    return code;
  check_fits(&t);
  buf_init(&detail, 4000);
  wet_detail(&t.told, &detail);
  buf_trim_end(&detail);
  out->entry = (struct record_entry){.kind = kind_of(&t),
                                     .about = station_of(&t),
                                     .text = wet_told_words(&t.told, arena),
                                     .detail = arena_strdup(arena, detail.text)};
  if (out->warning)
    out->entry.text = arena_printf(arena, "%s; said: %s", out->entry.text, out->warning);
  buf_release(&detail);
  return ERR_OK;
}
