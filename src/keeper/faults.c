#include "keeper/keeper_impl.h"

#include "fault/fault.h"
#include "past/past.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What looks like a fault: taken at each judged moment, looked for when a point stands out, told when a
 * finding comes, changes and goes, and believed as far as people confirmed its kind in this suite. */

/* One answer of a person; a later one to the same finding takes its place. */
struct answer {
  enum fault_kind kind;
  bool confirmed;
  char part[RECORD_SHORT_MOST_BYTES + 1];
  char since[40]; /* of the finding; "": it was not said, and the answer counts alone */
};

struct keeper_faults {
  struct fault_model *model;
  struct fault_watch *watch;
  struct arena blind_arena, arena; /* arena: of `found` */
  int blind_count;
  const char *const *blind;
  struct fault_findings found;
  int standing; /* points that stood out when they were looked for */
  int64_t looked_ms, stands_since_ms;
  struct fault_count counts[FAULT_KIND_COUNT];
  int answer_count, answer_room;
  struct answer *answers;
};

enum { ANSWERS_MOST = 100000 }; /* entries read at the start */

/* ---- life ---- */

enum err_code keeper_begin_faults(struct keeper *k, struct err *err)
{
  struct keeper_faults *faults = calloc(1, sizeof *faults);

  if (!faults)
    err_no_memory();
  k->faults = faults;
  arena_init(&faults->blind_arena, SIZE_MAX);
  arena_init(&faults->arena, SIZE_MAX);
  faults->model = fault_model_new(k->given.facility, k->given.feeds, err);
  if (!faults->model)
    return err && err->code ? err->code : ERR_INPUT;
  faults->watch = fault_watch_new(faults->model);
  faults->blind_count = fault_blind(faults->model, &faults->blind_arena, &faults->blind);
  return ERR_OK;
}

void keeper_end_faults(struct keeper *k)
{
  struct keeper_faults *faults = k->faults;

  if (!faults)
    return;
  arena_release(&faults->arena);
  arena_release(&faults->blind_arena);
  fault_watch_free(faults->watch);
  fault_model_free(faults->model);
  free(faults->answers);
  free(faults);
  k->faults = NULL;
}

/* ---- what is told ---- */

static const struct fault_guess *first_guess(const struct fault_finding *f)
{
  return f->guess_count > 0 ? &f->guesses[0] : NULL;
}

/* inward.finding.1 */
static void turn_json(const struct fault_finding *f, const char *turn, struct buf *out)
{
  const struct fault_guess *g = first_guess(f);
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.finding.1");
  emit_text(&json, "turn", turn);
  emit_text(&json, "kind", g ? fault_kind_name(g->kind) : NULL);
  emit_text(&json, "part", g ? g->about[0] : f->point);
  when_emit(&json, "since", f->since_ms);
  emit_bool(&json, "in_notes", f->in_notes);
  emit_array(&json, "guesses"); /* each may be answered */
  for (int i = 0; i < f->guess_count; i++) {
    emit_object(&json, NULL);
    emit_text(&json, "kind", fault_kind_name(f->guesses[i].kind));
    emit_array(&json, "about");
    for (int n = 0; n < f->guesses[i].about_count; n++)
      emit_text(&json, NULL, f->guesses[i].about[n]);
    emit_close(&json);
    emit_close(&json);
  }
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}

/* `anew`: why it is looked for anew, or NULL: the readings are as computed again. */
static void gone_text(const struct fault_finding *f, const char *anew, struct buf *out)
{
  const struct fault_guess *g = first_guess(f);

  if (anew && g)
    buf_printf(out, "what looked like %s is looked for anew: %s", g->what, anew);
  else if (anew)
    buf_printf(out, "%s, which read other than computed, is looked at anew: %s", f->point, anew);
  else if (g)
    buf_printf(out, "no longer looks like %s", g->what);
  else
    buf_printf(out, "%s no longer reads other than computed", f->point);
}

static void tell(struct keeper *k, const struct fault_finding *f, const char *turn,
                 const char *anew, int64_t now_ms)
{
  const struct fault_guess *g = first_guess(f);
  struct buf text, detail, about;

  buf_init(&text, RECORD_TEXT_MOST_BYTES);
  buf_init(&detail, RECORD_TEXT_MOST_BYTES);
  buf_init(&about, RECORD_SHORT_MOST_BYTES);
  if (strcmp(turn, "gone") == 0)
    gone_text(f, anew, &text);
  else
    buf_puts(&text, f->text);
  turn_json(f, turn, &detail);
  fault_about(k->given.facility, k->given.feeds, g ? g->about[0] : f->point, &about);
  keeper_note_event(k, &(struct keeper_told){.t_ms = now_ms,
                                             .about = about.full ? "" : about.text,
                                             .text = text.text,
                                             .detail = detail.text,
                                             .after_replay = keeper_is_replay_over(k)});
  buf_release(&text);
  buf_release(&detail);
  buf_release(&about);
}

static bool is_same_guess(const struct fault_finding *a, const struct fault_finding *b)
{
  const struct fault_guess *x = first_guess(a), *y = first_guess(b);

  if (!x || !y)
    return !x && !y && strcmp(a->point, b->point) == 0;
  return x->kind == y->kind && strcmp(x->about[0], y->about[0]) == 0;
}

static bool is_same_point(const struct fault_finding *a, const struct fault_finding *b)
{
  return strcmp(a->point, b->point) == 0;
}

static int find_same(const struct fault_findings *in, const struct fault_finding *f,
                     bool (*same)(const struct fault_finding *, const struct fault_finding *))
{
  for (int i = 0; i < in->count; i++)
    if (same(&in->list[i], f))
      return i;
  return -1;
}

/* One of the same kind and part is the same; another at the same point has changed. */
static void tell_differences(struct keeper *k, const struct fault_findings *was, int64_t now_ms)
{
  const struct fault_findings *now = &k->faults->found;

  for (int i = 0; i < was->count; i++)
    if (find_same(now, &was->list[i], is_same_guess) < 0 &&
        find_same(now, &was->list[i], is_same_point) < 0)
      tell(k, &was->list[i], "gone", NULL, now_ms);
  for (int i = 0; i < now->count; i++)
    if (find_same(was, &now->list[i], is_same_guess) < 0)
      tell(k, &now->list[i], find_same(was, &now->list[i], is_same_point) < 0 ? "came" : "changed",
           NULL, now_ms);
}

void keeper_forget_faults(struct keeper *k, const char *why, int64_t now_ms)
{
  struct keeper_faults *faults = k->faults;

  for (int i = 0; i < faults->found.count; i++)
    tell(k, &faults->found.list[i], "gone", why, now_ms);
  fault_forget(faults->watch);
  faults->found = (struct fault_findings){0};
  faults->standing = 0;
  k->values_changed = true;
}

/* ---- taking and finding ---- */

static void look_for(struct keeper *k, int64_t now_ms)
{
  struct keeper_faults *faults = k->faults;
  struct fault_findings was = faults->found;
  struct arena before = faults->arena;

  arena_init(&faults->arena, SIZE_MAX);
  faults->found = faults->standing > 0 ? fault_find(faults->watch, faults->counts, &faults->arena)
                                       : (struct fault_findings){0};
  faults->looked_ms = now_ms;
  tell_differences(k, &was, now_ms);
  arena_release(&before);
  k->values_changed = true;
}

/* What stands out is ranked again when another point does, and then ever more rarely: after a quarter
 * more readings. */
static bool is_due(const struct keeper_faults *faults, int standing, int64_t now_ms)
{
  double stood_ms = (double)(now_ms - faults->stands_since_ms);

  if (standing != faults->standing)
    return true;
  return standing > 0 && (double)(now_ms - faults->looked_ms) >= fmax(60000.0, stood_ms / 4);
}

void keeper_see_faults(struct keeper *k, const struct judge_seen *seen)
{
  struct keeper_faults *faults = k->faults;

  fault_take(faults->watch, seen->belief);

  int standing = fault_standing(faults->watch);

  if (!is_due(faults, standing, seen->t_ms))
    return;
  if (standing != faults->standing)
    faults->stands_since_ms = seen->t_ms;
  faults->standing = standing;
  look_for(k, seen->t_ms);
}

/* ---- what people answered ---- */

static void count_again(struct keeper_faults *faults)
{
  memset(faults->counts, 0, sizeof faults->counts);
  for (int i = 0; i < faults->answer_count; i++) {
    struct fault_count *count = &faults->counts[faults->answers[i].kind];

    count->confirmed += faults->answers[i].confirmed;
    count->refuted += !faults->answers[i].confirmed;
  }
}

static void keep_answer(struct keeper_faults *faults, const struct answer *answer)
{
  for (int i = 0; i < faults->answer_count; i++) {
    struct answer *old = &faults->answers[i];

    if (answer->since[0] && old->kind == answer->kind && strcmp(old->part, answer->part) == 0 &&
        strcmp(old->since, answer->since) == 0) {
      *old = *answer;
      return;
    }
  }
  if (faults->answer_count == faults->answer_room) {
    faults->answer_room = faults->answer_room ? 2 * faults->answer_room : 64;
    faults->answers =
        realloc(faults->answers, (size_t)faults->answer_room * sizeof *faults->answers);
    if (!faults->answers)
      err_no_memory();
  }
  faults->answers[faults->answer_count++] = *answer;
}

static const char *text_of(const json_t *root, const char *key)
{
  const char *text = json_string_value(json_object_get(root, key));

  return text ? text : "";
}

static void take_answer(struct keeper_faults *faults, const struct record_entry *entry)
{
  json_t *root = json_loads(entry->detail, 0, NULL);
  int kind = fault_kind_find(text_of(root, "kind"));
  struct answer answer = {.confirmed = entry->kind == RECORD_CONFIRMED};

  if (kind >= 0 && (size_t)snprintf(answer.part, sizeof answer.part, "%s", text_of(root, "part")) <
                       sizeof answer.part) {
    answer.kind = (enum fault_kind)kind;
    snprintf(answer.since, sizeof answer.since, "%s", text_of(root, "since"));
    keep_answer(faults, &answer);
  }
  json_decref(root);
}

static int by_number(const void *a, const void *b)
{
  const struct record_entry *x = a, *y = b;

  return (x->number > y->number) - (x->number < y->number);
}

enum err_code keeper_count_answers(struct keeper *k, struct err *err)
{
  static const enum record_kind kinds[] = {RECORD_CONFIRMED, RECORD_REFUTED};
  struct record_entry *list[2];
  int count[2] = {0, 0};
  struct arena arena;
  enum err_code code = ERR_OK;

  arena_init(&arena, (size_t)1 << 30);
  for (int i = 0; i < 2 && code == ERR_OK; i++)
    code = record_entries(k->record,
                          &(struct record_wanted){.from_ms = INT64_MIN,
                                                  .to_ms = INT64_MAX,
                                                  .kind = (int)kinds[i],
                                                  .known_ms = INT64_MAX,
                                                  .most = ANSWERS_MOST},
                          &arena, &list[i], &count[i], err);

  size_t room = (size_t)count[0] + (size_t)count[1];
  struct record_entry *all =
      code == ERR_OK ? ARENA_ARRAY(&arena, struct record_entry, room + 1) : NULL;

  if (all) {
    for (int i = 0, at = 0; i < 2; at += count[i++])
      for (int n = 0; n < count[i]; n++)
        all[at + n] = list[i][n];
    qsort(all, room, sizeof *all, by_number); /* a later answer is the one that counts */
    k->faults->answer_count = 0;
    for (size_t i = 0; i < room; i++)
      take_answer(k->faults, &all[i]);
    count_again(k->faults);
  }
  arena_release(&arena);
  return code;
}

void keeper_answered(struct keeper *k, const struct record_entry *entry)
{
  take_answer(k->faults, entry);
  count_again(k->faults);
  if (k->faults->standing > 0)
    look_for(k, k->last_now_ms); /* its kind may have proved itself by this */
}

/* ---- what may be answered ---- */

struct looked_up {
  struct past_finding *finding;
  bool found;
};

static bool is_of(const struct fault_finding *f, const struct past_finding *wanted)
{
  for (int i = 0; i < f->guess_count; i++)
    for (int n = 0; strcmp(fault_kind_name(f->guesses[i].kind), wanted->kind) == 0 &&
                    n < f->guesses[i].about_count;
         n++)
      if (strcmp(f->guesses[i].about[n], wanted->part) == 0)
        return true;
  return false;
}

/* One that stands now is the one that is meant, whatever moment of its beginning a page still has. */
static enum err_code look_up(struct keeper *k, void *arg, struct err *err)
{
  const struct fault_findings *found = &k->faults->found;
  struct looked_up *l = arg;
  struct buf since;

  for (int i = 0; i < found->count && !l->found; i++)
    if (is_of(&found->list[i], l->finding)) {
      buf_init(&since, 64);
      when_print_utc(&since, found->list[i].since_ms);
      snprintf(l->finding->since, sizeof l->finding->since, "%s", since.text);
      buf_release(&since);
      l->found = true;
    }
  if (!l->found && k->record)
    return past_finding_find(k->record, l->finding, &l->found, err);
  return ERR_OK;
}

enum err_code keeper_find_finding(struct keeper *k, struct past_finding *finding, bool *found_out,
                                  struct err *err)
{
  struct looked_up l = {finding, false};
  enum err_code code = keeper_do(k, look_up, &l, err);

  *found_out = l.found;
  return code;
}

/* ---- views ---- */

void keeper_faults_json(const struct keeper_faults *faults, struct emit *json)
{
  fault_json(json, &faults->found);
  emit_array(json, "blind");
  for (int i = 0; i < faults->blind_count; i++)
    emit_text(json, NULL, faults->blind[i]);
  emit_close(json);
}

void keeper_faults_text(const struct keeper *k, struct buf *out)
{
  const struct keeper_faults *faults = k->faults;

  for (int notes = 0; notes < 2; notes++) {
    bool any = false;

    for (int i = 0; i < faults->found.count; i++) {
      const struct fault_finding *f = &faults->found.list[i];

      if (f->in_notes != (notes == 1))
        continue;
      if (!any)
        buf_puts(out, notes ? "\nNotes (kinds that have not proved themselves here yet)\n"
                            : "\nLooks like a fault\n");
      any = true;
      buf_printf(out, "  - %s\n", f->text);
    }
  }
  if (faults->blind_count > 0)
    buf_puts(out, "\nWhat these points cannot show\n");
  for (int i = 0; i < faults->blind_count; i++)
    buf_printf(out, "  - %s\n", faults->blind[i]);
}
