#include "may/may_impl.h"

#include <string.h>

/* Which changes would turn no into yes: every set of up to four, the smallest first. */

enum { CHANGES_MAX = 20, SHOWN_MAX = 4, ARENA_BYTES = 32 << 20 };

struct change {
  const char *words;
  bool alone; /* worth showing by itself: another station, hour, or a second person */
  /* one of these */
  bool another, staffed, attended, document, cleared, air;
  int renew;   /* -1: none */
  int station; /* -1: none */
  int64_t t_ms;
  const struct may_chemistry *chemistry; /* of the other station, or of a cleared one */
  const struct may_air *there;
};

struct search {
  const struct may_state *s;
  struct arena *arena, work;
  int count;
  struct change list[CHANGES_MAX];
  struct may_answer *out;
  struct may_list *lists;
};

static struct change *add(struct search *h, const char *words)
{
  struct change *c;

  if (h->count == CHANGES_MAX)
    return NULL;
  c = &h->list[h->count++];
  *c = (struct change){.words = words, .renew = -1, .station = -1};
  BUG_IF(!words);
  return c;
}

/* ---- which there are ---- */

/* What another person must have for the rules: those endorsements that they count. */
static const char *another_words(struct search *h)
{
  const struct rule_set *set = h->s->may->set;
  const char *list = "";

  for (int i = 0; set && i < set->slot_count; i++) {
    const char *id = set->slots[i].argument;

    if (set->slots[i].name != RULE_INSIDE_WITH)
      continue;
    for (int k = 0; k < h->s->process->endorsement_count; k++)
      if (strcmp(h->s->process->endorsements[k], id) == 0)
        list = arena_printf(h->arena, "%s%s%s", list, *list ? " and " : "", id);
  }
  return *list ? arena_printf(h->arena, "one more person inside, who has %s", list)
               : "one more person inside";
}

static void add_staffed(struct search *h)
{
  const struct may_state *s = h->s;
  struct people_hours hours = may_hours(s, h->arena);
  struct when_civil at;
  int64_t second_ms;
  struct change *c;
  struct may_state then = *s;
  int64_t t_ms = 0;

  if (may_staffed_throughout(s, h->arena) != RULE_NO || hours.next_day == ROSTER_NO_DAY)
    return;
  /* the next opening after now: where now is staffed but too late to finish, tomorrow's */
  at = when_civil(when_utc(), (int64_t)hours.next_day * 86400000, NULL);
  at.hour = hours.next_open_min / 60;
  at.minute = hours.next_open_min % 60;
  if (when_of(s->may->place.zone, &at, &t_ms, &second_ms) == WHEN_NEVER)
    return;
  may_set_time(&then, t_ms);
  if (may_staffed_throughout(&then, h->arena) != RULE_YES) {
    struct when_civil end = {
        .year = at.year, .month = at.month, .day = at.day, .hour = 23, .minute = 59};

    if (when_of(s->may->place.zone, &end, &t_ms, &second_ms) == WHEN_NEVER)
      return;
    may_set_time(&then, t_ms);
    hours = may_hours(&then, h->arena);
    if (hours.next_day == ROSTER_NO_DAY)
      return;
    at = when_civil(when_utc(), (int64_t)hours.next_day * 86400000, NULL);
    at.hour = hours.next_open_min / 60;
    at.minute = hours.next_open_min % 60;
    if (when_of(s->may->place.zone, &at, &t_ms, &second_ms) == WHEN_NEVER)
      return;
    may_set_time(&then, t_ms);
    if (may_staffed_throughout(&then, h->arena) != RULE_YES)
      return; /* longer than a staffed day */
  }
  c = add(h, arena_printf(h->arena, "within staffed hours, next from %s",
                          may_shown_time(&then.begins, h->arena)));
  if (c) {
    c->staffed = c->alone = true;
    c->t_ms = t_ms;
  }
}

static void add_renewals(struct search *h)
{
  const struct may_state *s = h->s;
  const struct roster *r = s->may->roster;
  struct people_verdict v;

  for (int e = 0; r && s->person >= 0 && e < r->endorsement_count; e++) {
    bool asked = false;

    for (int k = 0; k < s->process->endorsement_count; k++)
      asked |= strcmp(s->process->endorsements[k], r->endorsements[e].part.id) == 0;
    for (int i = 0; s->may->set && i < s->may->set->slot_count; i++)
      asked |= s->may->slot_endorsement[i] == e;
    if (!asked || may_endorsed(s, s->person, e, h->arena, &v))
      continue;
    struct change *c =
        add(h, arena_printf(h->arena, "%s granted anew (%s)", r->endorsements[e].part.id, v.why));

    if (c)
      c->renew = e;
  }
}

static void add_stations(struct search *h)
{
  const struct may_state *s = h->s;
  int added = 0;

  for (int i = 0; i < s->process->station_count && added < MAY_STATIONS_MAX; i++) {
    struct may_state there = *s;
    struct change *c;

    if (s->process->stations[i] == s->station)
      continue;
    there.station = s->process->stations[i];
    c = add(h, arena_printf(h->arena, "at %s instead",
                            s->may->place.facility->stations[there.station].part.id));
    if (!c)
      return;
    there.beside_count = 0; /* what is at the other is not known */
    there.beside_known = false;
    c->alone = true;
    c->station = there.station;
    c->chemistry = may_chemistry(&there, h->arena);
    c->there = may_air(&there, h->arena);
    added++;
  }
}

static void add_others(struct search *h)
{
  const struct may_state *s = h->s;
  struct change *c;

  if (!s->another && (c = add(h, another_words(h))))
    c->another = c->alone = true;
  add_staffed(h);
  if (s->unattended && (c = add(h, "somebody stays with it")))
    c->attended = true;
  if ((!s->process->document || roster_day(s->process->review) <= s->last_day) &&
      (c = add(h, s->process->document ? "the procedure reviewed" : "a written procedure")))
    c->document = true;
  if (s->beside_count > 0 && (c = add(h, "the other process ended and the deck cleaned"))) {
    struct may_state cleared = *s;

    cleared.beside_count = 0;
    c->cleared = true;
    c->chemistry = may_chemistry(&cleared, h->arena);
  }
}

/* Where the air is short here, or at a station that is offered instead. */
static void add_air(struct search *h)
{
  bool is_short = h->s->air && h->s->air->verdict == MAY_NO && !h->s->air->own;

  for (int i = 0; i < h->count; i++)
    is_short = is_short ||
               (h->list[i].there && h->list[i].there->verdict == MAY_NO && !h->list[i].there->own);

  struct change *c =
      is_short ? add(h, "another sash lowered first, until the shared air suffices") : NULL;

  if (c)
    c->air = true;
}

/* ---- what they lead to ---- */

static void apply(const struct change *c, struct may_state *s)
{
  static const struct may_air another_time = {
      .verdict = MAY_UNCONFIRMED, .after = FACILITY_NOT_KNOWN, .say = ""};
  static const struct may_air enough = {
      .verdict = MAY_MET, .known = true, .after = FACILITY_AMPLE, .say = ""};

  s->another |= c->another;
  s->unattended &= !c->attended;
  s->document_renewed |= c->document;
  if (c->renew >= 0)
    s->renewed |= (uint64_t)1 << c->renew;
  if (c->staffed) {
    may_set_time(s, c->t_ms);
    if (s->request->live)
      s->air = &another_time; /* what is measured now says nothing of then */
  }
  if (c->air && !(s->air && s->air->own))
    s->air = &enough;
  if (c->cleared)
    s->beside_count = 0;
  if (c->chemistry)
    s->chemistry = c->chemistry;
  if (c->station >= 0) {
    s->station = c->station;
    s->air = c->there;
    s->beside_known = false;
    s->beside_count = 0;
  }
}

static enum may_verdict after(struct search *h, const int *chosen, int count)
{
  struct may_state s = *h->s;
  struct may_judging j = {.s = &s, .arena = &h->work, .quiet = true};
  enum may_verdict verdict;

  for (int i = 0; i < count; i++)
    apply(&h->list[chosen[i]], &s);
  verdict = may_judge(&j);
  arena_release(&h->work);
  arena_init(&h->work, ARENA_BYTES);
  return verdict;
}

static void keep(struct search *h, const int *chosen, int count, enum may_verdict verdict)
{
  struct may_list *list = &h->lists[h->out->list_count++];

  list->count = count;
  list->after = verdict;
  for (int i = 0; i < count; i++)
    list->changes[i] = h->list[chosen[i]].words;
}

/* Every set of `size`, in the order of the list. */
static void try_sets(struct search *h, int *chosen, int from, int have, int size)
{
  if (have == size) {
    enum may_verdict verdict = after(h, chosen, size);

    if (verdict != MAY_NO && h->out->list_count < SHOWN_MAX)
      keep(h, chosen, size, verdict);
    return;
  }
  for (int i = from; i < h->count && h->out->list_count < SHOWN_MAX; i++) {
    chosen[have] = i;
    try_sets(h, chosen, i + 1, have + 1, size);
  }
}

static void show_others(struct search *h, struct may_list *others)
{
  for (int i = 0; i < h->count; i++)
    if (h->list[i].alone) {
      struct may_list *one = &others[h->out->other_count++];

      one->count = 1;
      one->changes[0] = h->list[i].words;
      one->after = after(h, &i, 1);
    }
}

void may_find_changes(const struct may_state *s, enum may_verdict verdict, struct may_answer *out,
                      struct arena *arena)
{
  struct search h = {.s = s, .arena = arena, .out = out};
  struct may_list *others = ARENA_ARRAY(arena, struct may_list, CHANGES_MAX);
  int chosen[MAY_LISTS_MAX];

  h.lists = ARENA_ARRAY(arena, struct may_list, SHOWN_MAX);
  BUG_IF(!h.lists || !others);
  arena_init(&h.work, ARENA_BYTES);
  add_others(&h);
  add_renewals(&h);
  add_stations(&h);
  add_air(&h);
  for (int size = 1; verdict == MAY_NO && size <= MAY_LISTS_MAX && out->list_count == 0; size++)
    try_sets(&h, chosen, 0, 0, size);
  if (verdict != MAY_MET)
    show_others(&h, others);
  out->lists = h.lists;
  out->others = others;
  arena_release(&h.work);
}
