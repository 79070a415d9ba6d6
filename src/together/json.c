/* inward.together.1: docs/api.md. */
#include "base/emit.h"
#include "together/together_impl.h"

static void stations(struct emit *j, const char *key, const struct together_answer *a, uint32_t set)
{
  emit_array(j, key);
  for (uint32_t left = set; left; left &= left - 1)
    emit_text(j, NULL, a->facility->stations[a->stations[__builtin_ctz(left)]].part.id);
  emit_close(j);
}

static void texts(struct emit *j, const char *key, const char *const *list, int count)
{
  emit_array(j, key);
  for (int i = 0; i < count; i++)
    emit_text(j, NULL, list[i]);
  emit_close(j);
}

static void sets_list(struct emit *j, const char *key, const struct together_answer *a,
                      const struct together_set *list, int count)
{
  emit_array(j, key);
  for (int i = 0; i < count; i++) {
    emit_object(j, NULL);
    stations(j, "stations", a, list[i].stations);
    emit_text(j, "with",
              list[i].next < 0 ? NULL : a->facility->stations[a->stations[list[i].next]].part.id);
    texts(j, "misses", list[i].misses, list[i].miss_count);
    emit_close(j);
  }
  emit_close(j);
}

static void rules(struct emit *j, const struct together_answer *a, const struct together_sets *s)
{
  emit_array(j, "rules");
  for (int i = 0; i < s->rule_count; i++) {
    const struct together_rule *rule = &s->rules[i];

    emit_object(j, NULL);
    emit_text(j, "pool", rule->pool < 0 ? NULL : air_pool_id(a->facility, rule->pool));
    emit_int(j, "allowed", rule->allowed < 0 ? 0 : rule->allowed);
    emit_int(j, "of", rule->of);
    emit_array(j, "counts");
    for (uint32_t left = rule->stations; left; left &= left - 1) {
      emit_object(j, NULL);
      emit_text(j, "station", a->facility->stations[a->stations[__builtin_ctz(left)]].part.id);
      emit_int(j, "times", rule->weight[__builtin_ctz(left)]);
      emit_close(j);
    }
    emit_close(j);
    emit_close(j);
  }
  emit_close(j);
}

static void work(struct emit *j, const struct together_work *w)
{
  emit_object(j, "work");
  emit_int(j, "states", w->states);
  emit_int(j, "solved", w->solved);
  emit_int(j, "checked", w->checked);
  emit_int(j, "corrected", w->corrected);
  emit_int(j, "not_monotone", w->not_monotone);
  emit_int(j, "fallbacks", w->fallbacks);
  emit_int(j, "unanswered", w->unanswered);
  emit_int(j, "several", w->several);
  emit_close(j);
}

static void number_if(struct emit *j, const char *key, bool known, long value)
{
  if (known)
    emit_int(j, key, value);
  else
    emit_null(j, key);
}

static void sets(struct emit *j, const struct together_answer *a, const struct together_sets *s)
{
  bool told = s->known && !s->nothing;

  emit_object(j, "sets");
  emit_text(j, "words", s->words);
  emit_bool(j, "known", s->known);
  emit_text(j, "why", s->why);
  emit_bool(j, "exact", s->exact);
  emit_bool(j, "counts_doubts", s->sure);
  emit_bool(j, "nothing", s->nothing);
  texts(j, "parked_misses", s->parked_misses, s->parked_count);
  number_if(j, "any", s->known, s->any[s->sure]);
  number_if(j, "any_perhaps", s->known, s->any[0]);
  number_if(j, "best", s->known, s->best[s->sure]);
  number_if(j, "best_perhaps", s->known, s->best[0]);
  number_if(j, "fine_count", s->known, s->sure ? s->sure_count : s->fine_count);
  number_if(j, "fine_perhaps_count", s->known, s->fine_count);
  number_if(j, "allowed_count", told, s->allowed_count);
  stations(j, "own_fault", a, s->own_fault);
  rules(j, a, s);
  number_if(j, "largest_count", told, s->best_count);
  sets_list(j, "largest", a, s->largest, s->best_shown);
  number_if(j, "tightest_count", told, s->tightest_count);
  sets_list(j, "tightest", a, s->tightest, s->tightest_shown);
  number_if(j, "breaking_count", told, s->breaking_count);
  sets_list(j, "breaking", a, s->breaking, s->breaking_shown);
  work(j, &s->work);
  emit_close(j);
}

static const char *const parts[] = {[TOGETHER_FAN_UNIT] = "fan unit",
                                    [TOGETHER_FAN] = "fan",
                                    [TOGETHER_MAIN] = "main",
                                    [TOGETHER_SUPPLY] = "supply",
                                    [TOGETHER_DOOR] = "door"};

void together_json(const struct together_answer *a, struct buf *out)
{
  struct emit json, *j = &json;
  const struct facility *f = a->facility;

  emit_begin(j, out);
  emit_object(j, NULL);
  emit_text(j, "schema", "inward.together.1");
  emit_text(j, "suite", f->name);
  emit_text(j, "label", f->label);
  emit_text(j, "suite_sha256", f->sha256);
  emit_text(j, "engine", INWARD_VERSION);
  emit_text(j, "scene", a->scene);
  emit_text(j, "base", a->base);
  emit_text(j, "tier", air_tier_name(a->tier));
  emit_array(j, "stations");
  for (int i = 0; i < a->count; i++)
    emit_text(j, NULL, f->stations[a->stations[i]].part.id);
  emit_close(j);
  emit_int(j, "may_be_raised", a->all_count);
  sets(j, a, &a->sets);
  emit_array(j, "lost");
  for (int i = 0; i < a->lost_count; i++) {
    const struct together_lost *lost = &a->lost[i];

    emit_object(j, NULL);
    emit_text(j, "part", parts[lost->part]);
    emit_text(j, "id", lost->id);
    emit_text(j, "what", lost->what);
    emit_int(j, "lost", lost->lost);
    emit_int(j, "of", lost->of);
    sets(j, a, &lost->sets);
    emit_close(j);
  }
  emit_close(j);
  texts(j, "not_known", a->unknown, a->unknown_count);
  emit_text(
      j, "caution",
      "Shared air only. Your station's own alarm decides. It advises; staff and local rules decide.");
  emit_close(j);
  emit_end(j);
}
