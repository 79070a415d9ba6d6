#include "wet/wet_impl.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

/* Waste containers: how they began, what went in, how full, and until when. */

struct filling {
  const struct wet_place *place;
  const struct wet_past *past;
  struct arena *arena;
  struct wet_container *out;
  struct wet_item *items;
  const char **held;
  int item_room, held_room;
  bool collected;
};

/* ---- what it held ---- */

static void hold(struct filling *f, const char *what)
{
  for (int i = 0; i < f->out->held_count; i++)
    if (strcmp(f->held[i], what) == 0)
      return;
  if (f->out->held_count < f->held_room)
    f->held[f->out->held_count++] = what;
}

static void add_item(struct filling *f, const struct wet_told *told, const char *what)
{
  if (f->out->item_count == f->item_room)
    return;
  f->items[f->out->item_count++] = (struct wet_item){told, what, told->tank};
  hold(f, what);
}

/* What stood in a tank when it was emptied: its bath, and all that it was topped up with.  False: not known. */
static bool hold_bath(struct filling *f, const struct wet_told *dumped)
{
  const struct wet_told *made = NULL;

  for (int i = 0; i < f->past->count && &f->past->list[i] != dumped; i++) {
    const struct wet_told *t = &f->past->list[i];

    if (t->void_why || !wet_same(t->tank, dumped->tank))
      continue;
    if (t->act == WET_MADE || t->act == WET_FOUND || t->act == WET_DUMPED)
      made = t;
  }
  if (!made || made->act == WET_DUMPED || !made->bath)
    return false;
  add_item(f, dumped, made->bath);
  for (const struct wet_told *t = made; t != dumped; t++)
    if (t->act == WET_TOPPED && !t->void_why && wet_same(t->tank, dumped->tank) &&
        !wet_is_part(f->place, made->bath, t->what, f->arena))
      hold(f, t->what);
  return made->act == WET_MADE;
}

/* ---- how full ---- */

static void add_volume(struct filling *f, const struct wet_told *told)
{
  struct wet_container *c = f->out;
  double all_m3 = c->stream ? c->stream->volume_m3 : (double)NAN;
  double pm_m3 = isnan(told->volume_pm_m3) ? 0 : told->volume_pm_m3;

  c->fill_low_ratio += (told->volume_m3 - pm_m3) / all_m3;
  c->fill_high_ratio += (told->volume_m3 + pm_m3) / all_m3;
  if (isnan(told->volume_m3))
    c->fill_why =
        arena_printf(f->arena, "entry %lld was told without how much", (long long)told->number);
}

static void take_in(struct filling *f, const struct wet_told *told)
{
  struct wet_container *c = f->out;

  if (c->first_ms == INT64_MIN)
    c->first_ms = told->t_ms;
  if (told->act == WET_ADDED)
    add_item(f, told, told->what);
  else if (!hold_bath(f, told)) {
    c->history_known = false;
    wet_line(&c->reasons,
             arena_printf(f->arena, "what stood in %s when it was emptied into it is not known",
                          told->tank));
  }
  add_volume(f, told);
  if (c->closed)
    wet_line(&c->reasons, arena_printf(f->arena, "%s after it was told closed: go and look",
                                       wet_told_words(told, f->arena)));
}

static void read_fill(struct filling *f, const struct wet_told *told)
{
  double low = told->fill_ratio - told->fill_pm_ratio;

  if (told->fill_ratio + told->fill_pm_ratio < f->out->fill_low_ratio)
    wet_line(&f->out->reasons,
             arena_printf(f->arena, "%s (entry %lld), less than was told in it: go and look",
                          wet_told_words(told, f->arena), (long long)told->number));
  f->out->fill_low_ratio = low > 0 ? low : 0;
  f->out->fill_high_ratio = told->fill_ratio + told->fill_pm_ratio;
  f->out->fill_why = NULL;
}

static const struct chemicals_stream *stream_of(const struct wet_place *place, const char *id)
{
  int i = chemicals_stream_find(place->own, id);

  return i >= 0 ? &place->own->streams[i] : NULL;
}

static struct wet_container blank(const char *id)
{
  return (struct wet_container){.id = id,
                                .state = WET_STANDS,
                                .first_ms = INT64_MIN,
                                .due_ms = INT64_MIN,
                                .fill_low_ratio = (double)NAN,
                                .fill_high_ratio = (double)NAN};
}

/* Two told it, or one told it late: neither wipes out what was told before. */
static void begin_again(struct filling *f, const struct wet_told *told)
{
  struct wet_container *c = f->out;

  if (!c->stream_id) {
    c->stream_id = told->stream;
    c->stream = stream_of(f->place, told->stream);
  }
  c->history_known = false;
  c->fill_low_ratio = c->fill_high_ratio = (double)NAN;
  c->fill_why = "it was told begun while it stood";
  wet_line(&c->reasons,
           arena_printf(f->arena, "%s (entry %lld) while one of that name stood: which is it?",
                        wet_told_words(told, f->arena), (long long)told->number));
}

static void begin_container(struct filling *f, const struct wet_told *told)
{
  struct wet_container *c = f->out;

  c->stream_id = told->stream;
  c->stream = stream_of(f->place, told->stream);
  c->opened = told->act == WET_OPENED ? told : NULL;
  c->history_known = told->act == WET_OPENED;
  c->fill_low_ratio = c->fill_high_ratio = told->act == WET_OPENED ? 0 : (double)NAN;
  c->fill_why = told->act == WET_OPENED ? NULL : "it was found standing";
}

static void begin_or_again(struct filling *f, const struct wet_told *told)
{
  bool stood = f->out->last && !f->collected;

  if (f->collected) /* the name is used again: another container */
    *f->out = blank(f->out->id);
  f->collected = false;
  if (stood)
    begin_again(f, told);
  else
    begin_container(f, told);
}

/* It keeps what it held: it may be that nobody took it. */
static void stand_again(struct filling *f, const struct wet_told *told)
{
  if (!f->collected)
    return;
  f->collected = false;
  wet_line(&f->out->reasons, arena_printf(f->arena, "%s after it was told collected: go and look",
                                          wet_told_words(told, f->arena)));
}

static void take_act(struct filling *f, const struct wet_told *told)
{
  if (told->act == WET_OPENED || told->act == WET_FOUND)
    begin_or_again(f, told);
  else if (told->act != WET_COLLECTED)
    stand_again(f, told);
  f->out->last = told;
  switch ((int)told->act) {
  case WET_ADDED:
  case WET_DUMPED:
    take_in(f, told);
    break;
  case WET_FILL:
    read_fill(f, told);
    break;
  case WET_CLOSED:
    f->out->closed = told;
    break;
  case WET_COLLECTED:
    f->collected = true;
    break;
  default:
    break;
  }
}

static bool is_of(const struct wet_told *told, const char *id)
{
  return wet_same(told->act == WET_DUMPED ? told->into : told->container, id);
}

/* ---- what a person is needed for ---- */

static void worse(struct wet_container *c, enum wet_state state, const char *why)
{
  if (state > c->state)
    c->state = state;
  wet_line(&c->reasons, why);
}

static void next(struct filling *f, int64_t from_ms, double span_s, const char *what)
{
  struct wet_container *c = f->out;
  int64_t at_ms = from_ms + llround(span_s * 1e3);

  if (isnan(span_s))
    return;
  const char *why = arena_printf(f->arena, "it goes %s %s (%s)", wet_span(span_s, f->arena), what,
                                 c->stream->source);

  if (at_ms <= f->place->now_ms)
    worse(c, WET_DUE, arena_printf(f->arena, "have it collected: %s", why));
  if (c->due_ms == INT64_MIN || at_ms < c->due_ms) {
    c->due_ms = at_ms;
    c->due_why = why;
  }
}

static void judge_fill(struct filling *f)
{
  struct wet_container *c = f->out;
  double most = c->stream->fill_ratio;
  const char *set =
      arena_printf(f->arena, "at most %.0f %% is set (%s)", most * 100, c->stream->source);

  if (c->fill_low_ratio > 1 + 1e-9)
    worse(c, WET_NOT_KNOWN,
          "more was told in it than it holds: it ran over, or one was told wrongly");
  if (c->closed || isnan(most))
    return;
  if (isnan(c->fill_high_ratio))
    worse(c, WET_DUE, arena_printf(f->arena, "read how full it is: %s", c->fill_why));
  else if (c->fill_low_ratio >= most)
    worse(c, WET_DUE, arena_printf(f->arena, "full: close it and begin another; %s", set));
  else if (c->fill_high_ratio >= most)
    worse(c, WET_DUE, arena_printf(f->arena, "it may be full: go and look; %s", set));
}

/* G, GT and GF are letters of gas; no other has a G. */
static bool has_gas(const char *codes)
{
  return strchr(codes, 'G') != NULL;
}

static const struct meet_answer *ask(const struct filling *f, struct err *err)
{
  struct meet_request request = {.at_K = (double)NAN,
                                 .place = MEET_WASTE,
                                 .facility = f->place->facility,
                                 .own = f->place->own};

  if (f->out->held_count > MEET_THINGS_MAX) {
    err_write(err, ERR_LIMIT, "it held more than %d things", MEET_THINGS_MAX);
    return NULL;
  }
  for (int i = 0; i < f->out->held_count; i++)
    request.things[request.thing_count++] = f->held[i];
  request.vessel = f->out->stream ? f->out->stream->material : NULL;
  return meet_answer(f->place->meet, &request, f->arena, err);
}

/* Letters of gas in what the rules and the chart say of what it held, each for itself and together. */
static void judge_gas(struct filling *f, const struct meet_answer *answer)
{
  struct wet_container *c = f->out;

  for (int i = 0; i < answer->finding_count && !c->gives_gas; i++) {
    const struct meet_finding *found = &answer->findings[i];

    for (int k = 0; k < found->sentence_count && !c->gives_gas; k++)
      if (has_gas(found->sentences[k].codes)) {
        c->gives_gas = true;
        c->gas_why = found->sentences[k].say;
      }
    for (int k = 0; k < found->cell_count && !c->gives_gas; k++)
      if (has_gas(found->cells[k].codes)) {
        c->gives_gas = true;
        c->gas_why =
            arena_printf(f->arena, "%s: %s by the chart", meet_finding_of(answer, found, f->arena),
                         meet_codes_words(found->cells[k].codes, f->arena));
      }
  }
  if (c->gives_gas && !(c->stream && c->stream->vented))
    worse(c, WET_DUE,
          arena_printf(f->arena,
                       "gas may come off what it held, and the file does not say that its cap is "
                       "vented: do not shut it tight, ask the safety officer. %s",
                       c->gas_why));
}

/* A thing and the material it stands in are said by the material. */
static const char *found_words(const struct meet_finding *found)
{
  if (found->sentence_count > 0)
    return found->sentences[0].say;
  return found->vessel ? found->vessel->why : "";
}

static void judge_held(struct filling *f)
{
  struct wet_container *c = f->out;
  struct err err = {0};
  const struct meet_answer *answer = c->held_count > 0 ? ask(f, &err) : NULL;

  for (int i = 0; answer && i < answer->finding_count; i++) {
    const struct meet_finding *found = &answer->findings[i];

    if ((c->stream ? wet_finding(f->place, c->stream, answer, found, f->arena) : found->verdict) !=
        MEET_NEVER)
      continue;
    worse(c, WET_NOT_KNOWN,
          arena_printf(f->arena,
                       "what was told in it must never be %s (%s): do not open, move or "
                       "close it; leave and call. %s",
                       found->vessel ? "in such a container" : "together",
                       meet_finding_of(answer, found, f->arena), found_words(found)));
    break; /* the worst first */
  }
  if (answer)
    judge_gas(f, answer);
  else if (c->held_count > 0)
    worse(c, WET_NOT_KNOWN,
          arena_printf(f->arena, "what is in it cannot be looked up: %s", err.text));
}

/* What is in it although its stream does not take it: told all the same, because it was so. */
static void judge_stream(struct filling *f)
{
  struct wet_container *c = f->out;

  for (int i = 0; i < c->held_count; i++) {
    struct wet_lines why = {0};
    enum meet_verdict verdict = wet_of_stream(f->place, c->stream, f->held[i], &why, f->arena);

    if (verdict == MEET_NEVER)
      worse(c, WET_NOT_KNOWN,
            arena_printf(f->arena,
                         "%s is in it and must not be: leave it as it is, do not close or move "
                         "it, call the person in charge. %s",
                         f->held[i], why.line[0]));
    else if (verdict == MEET_UNKNOWN)
      worse(c, WET_NOT_KNOWN, arena_printf(f->arena, "%s is in it: %s", f->held[i], why.line[0]));
  }
}

/* What cannot be read, or was left out, may have been of this one. */
static void judge_gaps(struct filling *f)
{
  struct wet_container *c = f->out;
  bool unread = c->opened && c->opened->t_ms <= f->past->unread_ms;
  bool cut = c->opened && c->opened->t_ms <= f->past->cut_ms;

  if (unread)
    wet_line(
        &c->reasons,
        "something was told since it began that cannot be read, or is of a moment to come: what it ever held is not "
        "known");
  if (cut)
    wet_line(&c->reasons,
             "more was told since it began than is looked at here: what it ever held is not "
             "known");
  c->history_known = c->history_known && !unread && !cut;
}

static void judge(struct filling *f)
{
  struct wet_container *c = f->out;

  judge_gaps(f);
  if (c->reasons.count > 0)
    c->state = WET_NOT_KNOWN;
  if (!c->opened)
    worse(c, WET_NOT_KNOWN,
          "how it began is not told: what it ever held is not known, so nothing goes in; ask the "
          "person in charge");
  if (!c->stream)
    worse(c, WET_NOT_KNOWN,
          c->stream_id
              ? arena_printf(f->arena, "the chemicals file has no stream '%s'", c->stream_id)
              : "of which stream it is was not told");
  judge_held(f);
  if (!c->stream)
    return;
  judge_stream(f);
  judge_fill(f);
  if (c->first_ms != INT64_MIN)
    next(f, c->first_ms, c->stream->first_s, "after the first went in");
  if (c->closed)
    next(f, c->closed->t_ms, c->stream->full_s, "after it was full");
}

/* ---- all of them ---- */

static struct wet_container fold(const struct wet_place *place, const struct wet_past *past,
                                 const char *id, bool *collected_out, struct arena *arena)
{
  struct wet_container out = blank(id);
  struct filling f = {.place = place, .past = past, .arena = arena, .out = &out};

  for (int i = 0; i < past->count; i++)
    f.item_room += is_of(&past->list[i], id);
  f.held_room = past->count + 1;
  f.items = ARENA_ARRAY(arena, struct wet_item, (size_t)f.item_room + 1);
  f.held = ARENA_ARRAY(arena, const char *, (size_t)f.held_room);
  BUG_IF(!f.items || !f.held);
  for (int i = 0; i < past->count; i++) {
    const struct wet_told *told = &past->list[i];

    if (!told->void_why && told->t_ms <= place->now_ms && is_of(told, id))
      take_act(&f, told);
  }
  out.items = f.items;
  out.held = f.held;
  *collected_out = f.collected || !out.last; /* all that was told of it may be taken back */
  if (!*collected_out)
    judge(&f);
  return out;
}

static bool known_before(const struct wet_past *past, int at, const char *id)
{
  for (int i = 0; i < at; i++)
    if (is_of(&past->list[i], id))
      return true;
  return false;
}

struct wet_waste *wet_waste(const struct wet_place *place, const struct wet_past *past,
                            struct arena *arena)
{
  struct wet_waste *waste = ARENA_NEW(arena, struct wet_waste);
  struct wet_container *list = ARENA_ARRAY(arena, struct wet_container, (size_t)past->count + 1);

  BUG_IF(!waste || !list);
  *waste = (struct wet_waste){.place = place, .past = past, .containers = list};
  for (int i = 0; i < past->count; i++) {
    const struct wet_told *told = &past->list[i];
    const char *id = told->act == WET_DUMPED ? told->into : told->container;
    bool collected;

    if (!id || known_before(past, i, id))
      continue;
    list[waste->count] = fold(place, past, id, &collected, arena);
    if (collected) {
      waste->collected_count += list[waste->count].last != NULL;
      continue;
    }
    if (list[waste->count].state > waste->state)
      waste->state = list[waste->count].state;
    waste->count++;
  }
  return waste;
}

const struct wet_container *wet_container_find(const struct wet_waste *waste, const char *id)
{
  for (int i = 0; id && i < waste->count; i++)
    if (strcmp(waste->containers[i].id, id) == 0)
      return &waste->containers[i];
  return NULL;
}

/* The next character that is read on a cap; '\0' at the end. */
static int read_next(const char **at)
{
  *at += strspn(*at, "-_");
  return **at ? tolower((unsigned char)*(*at)++) : '\0';
}

/* "W-3", "w3" and "W_3" are read for one another on two caps. */
static bool reads_alike(const char *a, const char *b)
{
  int one, other;

  do {
    one = read_next(&a);
    other = read_next(&b);
  } while (one && one == other);
  return one == other;
}

const struct wet_container *wet_container_alike(const struct wet_waste *waste, const char *id)
{
  for (int i = 0; i < waste->count; i++)
    if (reads_alike(waste->containers[i].id, id))
      return &waste->containers[i];
  return NULL;
}
