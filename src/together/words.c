/* The clauses as a sentence for a wall. */
#include "together/together_impl.h"

#include <string.h>

const char together_first_line[] = "Stop, cap, lower, step away. Staff release stations.";

const char *together_number(int number, struct arena *arena)
{
  static const char *const words[] = {"none",  "one",   "two",  "three", "four",   "five",  "six",
                                      "seven", "eight", "nine", "ten",   "eleven", "twelve"};

  if (number >= 0 && (size_t)number < sizeof words / sizeof *words)
    return words[number];
  return arena_printf(arena, "%d", number);
}

const char *together_ids(const struct together_answer *a, uint32_t set, struct arena *arena)
{
  struct buf text;
  const char *out;

  buf_init(&text, 4096);
  for (uint32_t left = set; left; left &= left - 1)
    buf_printf(&text, "%s%s", text.used ? ", " : "",
               a->facility->stations[a->stations[__builtin_ctz(left)]].part.id);
  out = text.used ? arena_strdup(arena, text.text) : "nothing";
  buf_release(&text);
  return out;
}

static uint32_t of_weight(const struct together_rule *rule, int weight)
{
  uint32_t set = 0;

  for (int i = 0; i < AIR_SETS_MAX; i++)
    if (rule->stations >> i & 1u && rule->weight[i] == weight)
      set |= 1u << i;
  return set;
}

/* Those that count for more than is allowed at all. */
static uint32_t never(const struct together_rule *rule)
{
  uint32_t set = 0;

  for (int i = 0; i < AIR_SETS_MAX; i++)
    if (rule->stations >> i & 1u && rule->weight[i] > rule->allowed)
      set |= 1u << i;
  return set;
}

static void say_weights(const struct together_answer *a, const struct together_rule *rule,
                        struct buf *out, struct arena *arena)
{
  static const char *const times[] = {"do not count", "", "count twice", "count three times"};
  static const char *const once[] = {"does not count", "", "counts twice", "counts three times"};
  uint32_t shut = never(rule);

  for (int w = TOGETHER_WEIGHT_MAX; w >= 0; w--) {
    uint32_t set = of_weight(rule, w) & ~shut;

    if (w != 1 && set)
      buf_printf(out, "; %s %s", together_ids(a, set, arena), set & (set - 1) ? times[w] : once[w]);
  }
  if (shut && rule->allowed > 0)
    buf_printf(out, "; never %s", together_ids(a, shut, arena));
}

static const char *where(const struct together_answer *a, const struct together_rule *rule,
                         struct arena *arena)
{
  const struct facility *f = a->facility;
  const struct facility_part *part;

  if (rule->pool < 0)
    return "at a time, of all together";
  if (rule->pool >= f->main_count)
    return arena_printf(arena, "in the rooms of %s",
                        f->supplies[rule->pool - f->main_count].part.id);
  part = &f->mains[rule->pool].part;
  return strcmp(part->name, part->id) == 0 ? arena_printf(arena, "on main %s", part->id)
                                           : arena_printf(arena, "on the %s", part->name);
}

static void say_rule(const struct together_answer *a, const struct together_rule *rule,
                     struct buf *out, struct arena *arena)
{
  if (rule->allowed <= 0) {
    uint32_t free = of_weight(rule, 0);

    buf_printf(out, "none %s", where(a, rule, arena));
    if (free)
      buf_printf(out, "; %s may be open", together_ids(a, free, arena));
    return;
  }
  buf_printf(out, "any %s %s", together_number(rule->allowed, arena), where(a, rule, arena));
  say_weights(a, rule, out, arena);
}

static const char *say_nothing(const struct together_sets *s, struct arena *arena)
{
  return arena_printf(
      arena, "None may be open: with everything parked %s%s",
      s->at_doubt ? "something is missed already, " : "something is missed already: ",
      s->parked_count == 0 ? "at the doubtful end of the figures" : s->parked_misses[0]);
}

void together_words(struct together_sets *s, const struct together_answer *a, struct arena *arena)
{
  struct buf text;

  if (s->nothing) {
    s->words = say_nothing(s, arena);
    return;
  }
  if (s->rule_count == 0) {
    s->words = arena_printf(arena, "All %d may be open together, as the model has it.", a->count);
    return;
  }
  buf_init(&text, 1 << 14);
  for (int i = 0; i < s->rule_count; i++) {
    if (i > 0)
      buf_puts(&text, s->rules[i].pool < 0 ? "; and in all " : ", ");
    say_rule(a, &s->rules[i], &text, arena);
  }
  buf_putc(&text, '.');
  if (text.text[0] >= 'a' && text.text[0] <= 'z')
    text.text[0] = (char)(text.text[0] - 'a' + 'A');
  s->words = arena_strdup(arena, text.text);
  buf_release(&text);
}
