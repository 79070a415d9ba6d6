/* What came of a match, as the entry of a night, and out of it again. */
#include "nightly/nightly_impl.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const char schema[] = "inward.own_match.1";
/* A figure takes about 300 bytes; what is left has room for one and the end. */
enum { FIGURES_MOST_BYTES = RECORD_TEXT_MOST_BYTES - 4096, LEFT_OUT_MOST = 12 };

/* ---- in ---- */

static void put_figure(struct emit *j, const struct match_figure *f)
{
  emit_object(j, NULL);
  emit_text(j, "figure", f->name);
  emit_text(j, "of", match_of_key(f->of));
  emit_text(j, "unit", units_si_text(f->dimension));
  emit_text(j, "known", match_known_key(f->known));
  emit_number(j, "written_si", f->written_si);
  emit_number(j, "written_plus_minus_si", f->was_pm_si);
  emit_number(j, "fitted_si", f->fitted_si);
  emit_number_if(j, "plus_minus_si", !f->at_bound, f->pm_si);
  emit_number(j, "shift_ratio", f->shift_ratio);
  emit_number_if(j, "left_ratio", !f->at_bound, f->left_ratio);
  emit_close(j);
}

static bool is_told(const struct match_figure *f)
{
  return f->known != MATCH_NOT || f->at_bound;
}

static void put_figures(struct emit *j, const struct match_result *r)
{
  int told = 0, written = 0;

  emit_array(j, "figures");
  for (int k = 0; k < r->figure_count; k++) {
    if (!is_told(&r->figures[k]))
      continue;
    told++;
    if (j->out->used > FIGURES_MOST_BYTES)
      continue;
    put_figure(j, &r->figures[k]);
    written++;
  }
  emit_close(j);
  emit_int(j, "figures_left_out", told - written);
}

static void put_result(struct emit *j, const struct match_result *r)
{
  const struct match_readings *readings = r->readings;
  int notes = readings->note_count < LEFT_OUT_MOST ? readings->note_count : LEFT_OUT_MOST;

  emit_int(j, "readings", readings->count);
  emit_int(j, "scenes", readings->scene_count);
  emit_int(j, "outside", r->outside);
  emit_int(j, "outliers", r->outliers);
  emit_int(j, "contradictions", r->contradictions);
  emit_int(j, "known_better", r->known_count);
  emit_bool(j, "settled", r->converged);
  emit_texts(j, "left_out", readings->notes, notes);
  put_figures(j, r);
}

static const char *was(const struct match_result *result, const struct nightly_match *before)
{
  bool changed = result && before && before->verdict &&
                 strcmp(before->verdict, match_verdict_key(result->verdict)) != 0;

  return changed ? before->verdict : NULL;
}

static void put_detail(const struct nightly_asked *asked, const struct match_result *result,
                       const char *why, const struct nightly_match *before, struct buf *out)
{
  struct emit json, *j = &json;

  emit_begin_line(j, out);
  emit_object(j, NULL);
  emit_text(j, "schema", schema);
  emit_text(j, "suite_sha256", asked->facility->sha256);
  emit_text(j, "engine", INWARD_VERSION);
  emit_int(j, "from_ms", asked->from_ms);
  emit_int(j, "to_ms", asked->to_ms);
  emit_text(j, "verdict", result ? match_verdict_key(result->verdict) : NULL);
  emit_text(j, "words", result ? match_verdict_words(result->verdict) : NULL);
  emit_text(j, "sentence", result ? result->sentence : NULL);
  emit_text(j, "next_action", result ? result->next_action : NULL);
  emit_text(j, "was", was(result, before));
  emit_text(j, "why", result ? NULL : why);
  if (result)
    put_result(j, result);
  emit_close(j);
  emit_end(j);
}

void nightly_tell(const struct nightly_asked *asked, const struct match_result *result,
                  const char *why, const struct nightly_match *before, struct buf *text,
                  struct buf *detail)
{
  put_detail(asked, result, why, before, detail);
  buf_puts(text, "the board's match of ");
  when_print_span(text, (double)(asked->to_ms - asked->from_ms) * 1e-3);
  buf_puts(text, " up to ");
  when_print(text, asked->zone ? asked->zone : when_utc(), asked->to_ms);
  if (!result) {
    buf_printf(text, ": could not be done: %s", why);
    return;
  }
  buf_printf(text, ": %s: %s Scenes: %d; figures known better: %d.",
             match_verdict_words(result->verdict), result->sentence, result->readings->scene_count,
             result->known_count);
  if (was(result, before))
    buf_printf(text, " A thing to look at, no alarm: the one before said %s%s.", before->words,
               strcmp(before->suite_sha256, asked->facility->sha256) == 0
                   ? ""
                   : ", by another revision of the suite file");
}

/* ---- out ---- */

struct getting {
  struct arena *arena;
  bool good;
};

static const char *text_of(struct getting *g, const json_t *object, const char *key)
{
  const char *text = json_string_value(json_object_get(object, key));
  const char *copy = text ? arena_strdup(g->arena, text) : NULL;

  g->good = g->good && (!text || copy);
  return copy;
}

static const char *needed(struct getting *g, const json_t *object, const char *key)
{
  const char *text = text_of(g, object, key);

  g->good = g->good && text;
  return text ? text : "";
}

static int count_of(struct getting *g, const json_t *object, const char *key)
{
  json_int_t count = json_integer_value(json_object_get(object, key));

  g->good = g->good && count >= 0 && count < 1 << 20;
  return g->good ? (int)count : 0;
}

static double number_of(const json_t *object, const char *key)
{
  const json_t *value = json_object_get(object, key);

  return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

static void get_figure(struct getting *g, const json_t *from, struct nightly_figure *out)
{
  *out = (struct nightly_figure){.name = needed(g, from, "figure"),
                                 .of = needed(g, from, "of"),
                                 .unit = needed(g, from, "unit"),
                                 .known = needed(g, from, "known"),
                                 .written_si = number_of(from, "written_si"),
                                 .was_pm_si = number_of(from, "written_plus_minus_si"),
                                 .fitted_si = number_of(from, "fitted_si"),
                                 .pm_si = number_of(from, "plus_minus_si"),
                                 .shift_ratio = number_of(from, "shift_ratio"),
                                 .left_ratio = number_of(from, "left_ratio")};
  g->good =
      g->good && isfinite(out->written_si) && isfinite(out->was_pm_si) && isfinite(out->fitted_si);
}

static void get_lists(struct getting *g, const json_t *root, struct nightly_match *out)
{
  const json_t *figures = json_object_get(root, "figures"),
               *left_out = json_object_get(root, "left_out");
  size_t figure_count = json_array_size(figures), left_count = json_array_size(left_out);
  const char **notes = ARENA_ARRAY(g->arena, const char *, left_count + 1);

  out->figures = ARENA_ARRAY(g->arena, struct nightly_figure, figure_count + 1);
  g->good = g->good && out->figures && notes;
  for (size_t i = 0; g->good && i < figure_count; i++)
    get_figure(g, json_array_get(figures, i), &out->figures[out->figure_count++]);
  for (size_t i = 0; g->good && i < left_count; i++) {
    const char *text = json_string_value(json_array_get(left_out, i));

    notes[i] = arena_strdup(g->arena, text ? text : "");
    g->good = notes[i] != NULL;
    out->left_out_count++;
  }
  out->left_out = notes;
}

static void get(struct getting *g, const json_t *root, struct nightly_match *out)
{
  *out = (struct nightly_match){.from_ms = json_integer_value(json_object_get(root, "from_ms")),
                                .to_ms = json_integer_value(json_object_get(root, "to_ms")),
                                .verdict = text_of(g, root, "verdict"),
                                .words = text_of(g, root, "words"),
                                .why = text_of(g, root, "why"),
                                .sentence = text_of(g, root, "sentence"),
                                .next_action = text_of(g, root, "next_action"),
                                .was = text_of(g, root, "was"),
                                .suite_sha256 = needed(g, root, "suite_sha256"),
                                .engine = needed(g, root, "engine"),
                                .readings = count_of(g, root, "readings"),
                                .scenes = count_of(g, root, "scenes"),
                                .outside = count_of(g, root, "outside"),
                                .outliers = count_of(g, root, "outliers"),
                                .contradictions = count_of(g, root, "contradictions"),
                                .known = count_of(g, root, "known_better"),
                                .settled = json_is_true(json_object_get(root, "settled")),
                                .figures_left_out = count_of(g, root, "figures_left_out")};
  get_lists(g, root, out);
  g->good = g->good && (out->verdict ? out->words && out->sentence : out->why != NULL);
}

bool nightly_read(const char *detail, struct arena *arena, struct nightly_match *out)
{
  json_t *root = *detail ? json_loads(detail, JSON_REJECT_DUPLICATES, NULL) : NULL;
  const char *is = json_string_value(json_object_get(root, "schema"));
  struct getting g = {.arena = arena, .good = is && strcmp(is, schema) == 0};
  struct nightly_match match = {0};

  if (g.good)
    get(&g, root, &match);
  json_decref(root);
  if (g.good)
    *out = match;
  return g.good;
}
