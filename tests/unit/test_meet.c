#include "check.h"

#include "meet/meet_impl.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/*
 * Verdicts are checked against the chart's cells (EPA-600/2-80-076, tests/published/chemistry.csv) and
 * against what is commonly taught of these substances (common practice, no source).
 */
static struct arena tables;
static const struct chem *chem;
static const struct meet_facts *facts;

/* "acetone|koh", place "" for none, vessel "" for none. */
static const struct meet_answer *ask(const char *things, const char *place, const char *vessel,
                                     struct arena *arena, struct err *err)
{
  struct meet_request request = {.at_K = NAN};
  int count;
  const char *const *words = meet_words(things, "|", &count, arena);

  for (int i = 0; i < count; i++)
    if (meet_take(&request, *words[i] == '~' ? "held" : "thing", words[i] + (*words[i] == '~'),
                  err) != ERR_OK)
      return NULL;
  if (*place && meet_take(&request, "place", place, err) != ERR_OK)
    return NULL;
  if (*vessel && meet_take(&request, "vessel", vessel, err) != ERR_OK)
    return NULL;
  return meet_answer(facts, &request, arena, err);
}

static bool says(const struct meet_answer *answer, const char *rule)
{
  for (int i = 0; i < answer->finding_count; i++)
    for (int k = 0; k < answer->findings[i].sentence_count; k++)
      if (strcmp(answer->findings[i].sentences[k].rule, rule) == 0)
        return true;
  for (int i = 0; i < answer->note_count; i++)
    if (strcmp(answer->notes[i].rule, rule) == 0)
      return true;
  return false;
}

/* ---- the chart ---- */

static void every_two_groups_have_one_cell_in_whatever_order_and_none_has_one_with_itself(void)
{
  int n = facts->group_count, cells = 0;

  CHECK_INT(n, 41);
  CHECK_INT(facts->cell_count, n * (n - 1) / 2);
  for (int i = 0; i < n; i++)
    for (int k = 0; k < n; k++) {
      int a = facts->groups[i].number, b = facts->groups[k].number;
      const struct meet_cell *cell = meet_chart(facts, a, b);

      CHECK_CASE("%d x %d", a, b);
      CHECK((cell == NULL) == (i == k));
      CHECK(cell == meet_chart(facts, b, a));
      cells += cell != NULL;
      if (cell)
        CHECK(cell->group_a < cell->group_b && *cell->of.source);
    }
  CHECK_INT(cells, n * (n - 1));
}

/* What is counted holds every letter that the copy prints: the union with memory, never less. */
static void what_is_counted_leaves_no_printed_letter_out(void)
{
  struct arena arena;

  arena_init(&arena, 16 << 20);
  for (int i = 0; i < facts->cell_count; i++) {
    const struct meet_cell *cell = &facts->cells[i];
    int count;
    const char *const *words = meet_words(cell->printed, " ", &count, &arena);

    CHECK_CASE("%d x %d", cell->group_a, cell->group_b);
    for (int k = 0; k < count; k++) {
      const char *in = arena_printf(&arena, " %s ", cell->codes);

      CHECK(strstr(in, arena_printf(&arena, " %s ", words[k])) != NULL);
    }
    CHECK(!*cell->codes || *meet_codes_words(cell->codes, &arena));
  }
  arena_release(&arena);
}

static void every_group_of_a_substance_is_one_of_the_chart_and_every_cas_number_checks(void)
{
  for (int i = 0; i < chem->substance_count; i++) {
    const struct chem_substance *s = &chem->substances[i];

    CHECK_CASE("%s", s->id);
    CHECK(chem_cas_valid(s->cas));
    CHECK(s->group_count > 0);
    for (int g = 0; g < s->group_count; g++) {
      int known = 0;

      for (int k = 0; k < facts->group_count; k++)
        known += facts->groups[k].number == s->groups[g];
      CHECK_INT(known, 1);
    }
  }
}

/* ---- rules ---- */

static bool is_known(const struct selector *s)
{
  if (s->any)
    return true;
  for (int i = 0; s->group > 0 && i < facts->group_count; i++)
    if (facts->groups[i].number == s->group)
      return true;
  return s->group == 0 && (chem_find(chem, s->id) || meet_find_named(facts, s->id, false) ||
                           meet_find_material(facts, s->id));
}

static void all_known(const struct selectors *list)
{
  for (int i = 0; i < list->count; i++)
    if (!CHECK(is_known(&list->list[i])))
      printf("  '%s' of group %d is nothing we know\n", list->list[i].id, list->list[i].group);
}

static void every_rule_names_only_what_is_known_and_where_it_is_from(void)
{
  for (int i = 0; i < facts->rule_count; i++) {
    const struct meet_rule *rule = &facts->rules[i];

    CHECK_CASE("%s", rule->id);
    CHECK(rule->slot_count > 0 && *rule->say && *rule->of.source);
    for (int k = 0; k < rule->slot_count; k++)
      all_known(&rule->slots[k]);
    for (int k = 0; k < i; k++)
      CHECK(strcmp(facts->rules[k].id, rule->id) != 0);
  }
  for (int i = 0; i < facts->stands_count; i++) {
    CHECK_CASE("row %d of materials", i + 2);
    all_known(&facts->stands[i].against);
    for (int k = 0; k < facts->stands[i].material_count; k++)
      CHECK(meet_find_material(facts, facts->stands[i].materials[k]) != NULL);
  }
  for (int i = 0; i < facts->family_count; i++)
    all_known(&facts->families[i].members);
}

static const struct {
  const char *things, *place, *vessel;
  enum meet_verdict verdict;
  const char *rule; /* that must speak; "" for any */
} cases[] = {
    {"HF|glass", "", "", MEET_NEVER, ""},
    {"hf-49", "", "quartz", MEET_NEVER, "poison-hf"},
    {"bhf|glass", "", "", MEET_NEVER, ""},
    {"bhf-6|glass", "", "", MEET_NEVER, "poison-hf"},
    {"piranha-7|ipa", "", "", MEET_NEVER, "piranha-organics"},
    {"koh-30|chloroform", "", "", MEET_NEVER, "chlorinated-base"},
    {"cu-etch|h2o2", "", "", MEET_NEVER, "peroxide-salts"},
    {"sc-1-4|au-etch", "", "", MEET_NEVER, "ammonia-iodine"},
    {"koh", "", "pvdf", MEET_NEVER, ""},
    {"koh", "", "aluminium", MEET_NEVER, ""},
    {"piranha", "", "pp", MEET_NEVER, ""},
    {"piranha|acetone", "", "", MEET_NEVER, "piranha-organics"},
    {"wipes|piranha", "", "", MEET_NEVER, "piranha-organics"},
    {"piranha|resist", "", "", MEET_NEVER, "piranha-organics"},
    {"rinse-solvent|piranha", "", "", MEET_NEVER, "piranha-organics"},
    {"h2so4|h2o2", "", "", MEET_BY_PROCEDURE, "makes-piranha"},
    {"h2so4|h2o2|ipa", "", "", MEET_NEVER, "piranha-organics"},
    {"nh3|h2o2", "", "", MEET_BY_PROCEDURE, "makes-sc-1"},
    {"hcl|h2o2", "", "", MEET_BY_PROCEDURE, "makes-sc-2"},
    {"hcl|hno3", "", "", MEET_BY_PROCEDURE, "makes-aqua-regia"},
    {"hcl|hno3", "storage", "", MEET_NEVER, "makes-aqua-regia"},
    {"hcl|hno3", "waste", "", MEET_NEVER, "makes-aqua-regia"},
    {"nh4f|hf", "", "", MEET_BY_PROCEDURE, "makes-bhf"},
    {"hf|hno3", "", "", MEET_BY_PROCEDURE, "makes-hna"},
    {"hno3|ipa", "", "", MEET_NEVER, "nitric-organics"},
    {"hno3|acetic-acid", "", "", MEET_NEVER, "nitric-acetic"},
    {"hno3|~acetone", "waste", "", MEET_NEVER, "nitric-organics"},
    {"hno3", "waste", "", MEET_BY_PROCEDURE, "waste-nitric"},
    {"h2o2", "waste", "", MEET_BY_PROCEDURE, "waste-gas"},
    {"ammonium-persulfate", "waste", "", MEET_BY_PROCEDURE, "waste-gas"},
    {"bhf|hcl", "waste", "", MEET_NEVER, "fluoride-acid"},
    {"acetone|chloroform", "", "", MEET_BY_PROCEDURE, "ketone-chloroform"},
    {"acetone|chloroform|naoh", "", "", MEET_NEVER, "ketone-chloroform-base"},
    {"mek + chloroform|tmah", "waste", "", MEET_NEVER, "ketone-chloroform-base"},
    {"dichloromethane|koh", "", "", MEET_NEVER, "chlorinated-base"},
    {"nh3|au-etch", "", "", MEET_NEVER, "ammonia-iodine"},
    {"bleach|nh3", "", "", MEET_NEVER, "hypochlorite-ammonia"},
    {"bleach|hcl", "", "", MEET_NEVER, "hypochlorite-acid"},
    {"silver nitrate|nh3", "", "", MEET_NEVER, "ammonia-silver"},
    {"dmso|perchloric", "", "", MEET_NEVER, "dmso-acids"},
    {"permanganate|h2so4", "", "", MEET_NEVER, "permanganate-sulfuric"},
    {"hmds|water", "", "", MEET_NEVER, "hmds"},
    {"cyanide|hcl", "", "", MEET_NEVER, "cyanide-acid"},
    {"gaas|hcl", "", "", MEET_BY_PROCEDURE, "arsenide-acid"},
    {"silicon|koh", "", "", MEET_BY_PROCEDURE, "silicon-base"},
    {"h2so4|water", "", "", MEET_BY_PROCEDURE, "sulfuric-water"},
    {"hcl|nh3", "", "", MEET_BY_PROCEDURE, "acid-base"},
    {"hcl|nh3", "deck", "", MEET_NEVER, "deck-family"},
    {"hcl|h3po4", "deck", "", MEET_NOTHING_LISTED, "deck-one"},
    {"acetone|hcl", "deck", "", MEET_NEVER, "deck-family"},
    {"h3po4|h2o2", "drawer", "", MEET_NEVER, "kept-acid-oxidiser"},
    {"ipa|kmno4", "storage", "", MEET_NEVER, "kept-oxidiser-combustible"},
    {"hcl|cyanide", "storage", "", MEET_NEVER, "kept-acid-cyanide"},
    {"hcl|koh", "drawer", "", MEET_NEVER, "kept-acid-alkali"},
    {"piranha", "storage", "", MEET_NEVER, "kept-gas"},
    {"acetone|unlabelled", "", "", MEET_NEVER, "unlabelled"},
    {"unknown", "deck", "pp", MEET_NEVER, "unlabelled"},
    {"tmah|water", "", "", MEET_NOTHING_LISTED, "poison-tmah"},
    {"silicon|acetone", "", "", MEET_UNKNOWN, ""},
    {"group:102|group:106", "", "", MEET_UNKNOWN, ""},
    {"class:8|class:3", "shipment", "", MEET_NOTHING_LISTED, "shipment-scope"},
    {"hcl|koh", "shipment", "", MEET_BY_PROCEDURE, "acid-base"},
    {"acetone|ipa", "", "", MEET_NOTHING_LISTED, ""},
    {"h2so4@10wt%|h3po4", "", "", MEET_NOTHING_LISTED, ""},
    {"h2so4|h3po4", "", "", MEET_BY_PROCEDURE, "makes-phosphoric-sulfuric"},
    {"h2so4|h3po4", "waste", "", MEET_NEVER, "makes-phosphoric-sulfuric"},
    /* acetone with chloroform kept together: base in the glass is enough */
    {"acetone|chloroform", "waste", "", MEET_NEVER, "ketone-chloroform-kept"},
    {"acetone|chloroform", "storage", "", MEET_NEVER, "ketone-chloroform-kept"},
    {"mek|chloroform", "drawer", "", MEET_NEVER, "ketone-chloroform-kept"},
    {"koh|h2o2", "", "", MEET_BY_PROCEDURE, "base-peroxide"},
    {"naoh-50|h2o2-30", "", "", MEET_BY_PROCEDURE, "base-peroxide"},
    {"tmah-25|h2o2-30", "waste", "", MEET_NEVER, "waste-base-peroxide"},
    {"group:10|h2o2", "", "", MEET_BY_PROCEDURE, "base-peroxide"},
    {"nh4f|koh", "", "", MEET_NEVER, "ammonium-base"},
    {"bhf|naoh", "", "", MEET_NEVER, "ammonium-base"},
    {"ammonium-persulfate|tmah", "", "", MEET_NEVER, "ammonium-base"},
    {"nh4f|bicarbonate", "", "", MEET_NOTHING_LISTED, ""},
    {"h2so4-96|h2o2@50wt%", "", "", MEET_NEVER, "makes-piranha-strong"},
    {"h2so4-96|h2o2@49wt%", "", "", MEET_BY_PROCEDURE, "makes-piranha"},
    {"h2so4-96|h2o2-30", "", "", MEET_BY_PROCEDURE, "makes-piranha"},
    {"hf-49", "drawer", "", MEET_BY_PROCEDURE, "drawer-fumes"},
    {"hcl-37", "drawer", "", MEET_BY_PROCEDURE, "drawer-fumes"},
    {"hno3", "drawer", "", MEET_BY_PROCEDURE, "drawer-fumes"},
    {"nh3-29", "drawer", "", MEET_BY_PROCEDURE, "drawer-fumes"},
    {"hf-5", "drawer", "", MEET_NOTHING_LISTED, "kept-fluoride"},
    {"hcl-37|~koh", "waste", "", MEET_NEVER, "waste-acid-base"},
    {"hf-49|hno3-70|acetic-acid", "", "", MEET_BY_PROCEDURE, "makes-hna-of-three"},
    {"hf-49|hno3-70|acetic-acid", "waste", "", MEET_NEVER, "nitric-acetic"},
    {"hf-49|hno3-70|acetic-acid|acetone", "", "", MEET_NEVER, "nitric-organics"},
    {"h3po4-85|hno3-70|acetic-acid", "deck", "", MEET_NEVER, "deck-family"},
    {"h3po4-85|hno3-70|acetic-acid", "", "", MEET_BY_PROCEDURE, "makes-al-etch"},
    {"persulfate|acetone", "", "", MEET_NEVER, "peroxide-solvents"},
    {"cu|hno3", "", "", MEET_NEVER, "nitric-metal"},
    {"ti|hf-5", "", "", MEET_NEVER, "hf-metal"},
    {"zzzzqqqq|ipa", "", "", MEET_UNKNOWN, "not-known"},
    {"zzzzqqqq@10wt%|piranha", "", "", MEET_UNKNOWN, "not-known"},
    {"zzzzqqqq", "waste", "pp", MEET_UNKNOWN, "not-known"},
    {"hydrazine|ipa", "", "", MEET_UNKNOWN, "not-known"},
    {"thf|ipa", "", "", MEET_UNKNOWN, "not-known"},
    {"n2|ipa", "", "", MEET_UNKNOWN, "not-known"},
    {"silicone|ipa", "", "", MEET_UNKNOWN, "not-known"},
    {"dhf-60|ipa", "", "", MEET_UNKNOWN, "not-known"},
    {"piranha", "", "teflon2", MEET_NEVER, NULL},
};

static void what_is_taught_of_these_is_said(void)
{
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct err err = {0};
    struct arena arena;

    arena_init(&arena, 32 << 20);
    CHECK_CASE("%s %s %s", cases[i].things, cases[i].place, cases[i].vessel);
    const struct meet_answer *answer =
        ask(cases[i].things, cases[i].place, cases[i].vessel, &arena, &err);

    if (!cases[i].rule) {
      CHECK(answer == NULL && err.code == ERR_INPUT);
    } else if (CHECK(answer != NULL)) {
      CHECK_STR(meet_verdict_words(answer->verdict), meet_verdict_words(cases[i].verdict));
      CHECK(!*cases[i].rule || says(answer, cases[i].rule));
    } else {
      printf("  %s\n", err.text);
    }
    arena_release(&arena);
  }
}

/* ---- over all pairs ---- */

static const char *name_of(int index)
{
  if (index < chem->substance_count)
    return chem->substances[index].id;
  index -= chem->substance_count;
  if (index < facts->named_count && facts->named[index].variant)
    return facts->named[index].aliases[0];
  return index < facts->named_count ? facts->named[index].id
                                    : facts->materials[index - facts->named_count].id;
}

static int name_count(void)
{
  return chem->substance_count + facts->named_count + facts->material_count;
}

/* Design, section 8: a text never calls anything safe or compatible. */
static bool is_forbidden(const char *text)
{
  for (const char *at = text; (at = strstr(at, "safe")) != NULL; at++)
    if (strncmp(at, "safety", 6) != 0)
      return true;
  for (const char *at = text; (at = strstr(at, "ompatible")) != NULL; at++)
    if (at - text < 3 || strncmp(at - 2, "nc", 2) != 0)
      return true;
  return strstr(text, "fine") != NULL || strstr(text, "harmless to") != NULL;
}

static void of_two(const char *a, const char *b, const char *place)
{
  struct meet_request one = {.at_K = NAN, .things = {a, b}, .thing_count = 2};
  struct meet_request other = {.at_K = NAN, .things = {b, a}, .thing_count = 2};
  struct err err = {0};
  struct arena arena;
  struct buf text;

  arena_init(&arena, 32 << 20);
  buf_init(&text, 1 << 20);
  CHECK_CASE("%s %s %s", a, b, place);
  if (*place)
    CHECK(meet_take(&one, "place", place, &err) == ERR_OK &&
          meet_take(&other, "place", place, &err) == ERR_OK);
  const struct meet_answer *first = meet_answer(facts, &one, &arena, &err);
  const struct meet_answer *second = meet_answer(facts, &other, &arena, &err);

  if (CHECK(first && second)) {
    CHECK_INT(first->verdict, second->verdict);
    CHECK_INT(first->finding_count, second->finding_count);
    for (int i = 1; i < first->finding_count; i++)
      CHECK(first->findings[i - 1].verdict >= first->findings[i].verdict);
    meet_text(first, UNITS_SYSTEM_SI, &text);
    CHECK(!is_forbidden(text.text) && !text.full);
  }
  buf_release(&text);
  arena_release(&arena);
}

static void two_things_meet_alike_in_whatever_order_and_no_text_gives_a_clearance(void)
{
  static const char *const places[] = {"", "deck", "drawer", "waste", "storage", "shipment"};
  int n = name_count();

  for (int a = 0; a < n; a++)
    for (int b = a; b < n; b++)
      of_two(name_of(a), name_of(b), places[(a * 7 + b) % 6]);
}

/* Two that are never together, but for what the third makes of them on purpose. */
static bool is_made_of_three(const struct meet_answer *answer)
{
  return says(answer, "makes-hna-of-three") || says(answer, "makes-al-etch");
}

/* A third thing never makes an answer milder. */
static void one_thing_more_never_makes_it_milder(void)
{
  int n = name_count();

  for (int a = 0; a < n; a += 2)
    for (int b = a + 1; b < n; b += 5) {
      const char *c = name_of((a * 31 + b * 17) % n);
      struct meet_request two = {.at_K = NAN, .things = {name_of(a), name_of(b)}, .thing_count = 2};
      struct meet_request three = two;
      struct err err = {0};
      struct arena arena;

      three.things[three.thing_count++] = c;
      arena_init(&arena, 32 << 20);
      CHECK_CASE("%s %s %s", name_of(a), name_of(b), c);
      const struct meet_answer *of_two_things = meet_answer(facts, &two, &arena, &err);
      const struct meet_answer *of_three = meet_answer(facts, &three, &arena, &err);

      if (CHECK(of_two_things && of_three) && !is_made_of_three(of_three))
        CHECK(of_three->verdict >= of_two_things->verdict);
      arena_release(&arena);
    }
}

/* ---- vessels ---- */

static enum meet_rating rating(const char *material, const char *part, double share_ratio,
                               double at_K)
{
  const struct meet_part parts[] = {{part, share_ratio}, {"water", NAN}};
  enum meet_rating out = MEET_NOT_LISTED;
  struct arena arena;
  int count;

  arena_init(&arena, 16 << 20);
  const struct meet_vessel *all = meet_vessels(facts, parts, 2, at_K, &count, &arena);

  for (int i = 0; i < count; i++)
    if (strcmp(all[i].id, material) == 0)
      out = all[i].rating;
  arena_release(&arena);
  return out;
}

static void a_vessel_is_judged_by_what_is_in_it_how_strong_and_how_warm(void)
{
  CHECK_INT(rating("glass", "hf", 0.01, NAN), MEET_REFUSED);
  CHECK_INT(rating("quartz", "bhf", NAN, NAN), MEET_REFUSED);
  CHECK_INT(rating("pfa", "hf", 0.49, 295), MEET_LISTED);
  CHECK_INT(rating("pp", "hno3", 0.7, NAN), MEET_LIMITED);
  CHECK_INT(rating("pp", "hno3", 0.1, 295), MEET_LISTED);
  CHECK_INT(rating("pp", "hno3", 0.7, 330), MEET_REFUSED);
  CHECK_INT(rating("pp", "hcl", 0.37, 400), MEET_REFUSED); /* above what the material stands */
  CHECK_INT(rating("pvdf", "koh", 0.3, 295), MEET_REFUSED);
  CHECK_INT(rating("stainless", "iodine", NAN, NAN), MEET_NOT_LISTED);
  CHECK_INT(rating("glass", "piranha", NAN, 390), MEET_LISTED);
  CHECK_INT(rating("hdpe", "piranha", NAN, 295), MEET_REFUSED);
  CHECK_INT(rating("quartz", "sc-1", NAN, 348.15), MEET_LISTED);
  CHECK_INT(rating("quartz", "sc-2", NAN, 348.15), MEET_LISTED);
  CHECK_INT(rating("quartz", "sc-1", NAN, 368.15), MEET_NOT_LISTED); /* beyond its row */
  CHECK_INT(rating("hdpe", "sc-1", NAN, 348.15), MEET_REFUSED);      /* the material's own limit */
  CHECK_INT(rating("pp", "hcl", 0.37, 345), MEET_NOT_LISTED);
  CHECK_INT(rating("glass", "h2o2", 0.3, 295), MEET_LISTED);
  CHECK_INT(rating("glass", "h2o2", 0.5, 295), MEET_NOT_LISTED); /* its row ends at 30 % */
}

/* ---- bad input ---- */

static void bad_input_is_refused_with_the_way_out(void)
{
  static const struct {
    const char *things, *place, *vessel, *says;
  } bad[] = {
      {"acetone", "", "", "one thing meets nothing"},
      {"acetoen|ipa", "", "", "did you mean 'acetone'"},
      {"pirahna|ipa", "", "", "did you mean 'piranha'"},
      {"group:35|ipa", "", "", "1 to 34"},
      {"group:|ipa", "", "", "1 to 34"},
      {"class:8|ipa", "", "", "for --place shipment"},
      {"class:12|ipa", "shipment", "", "177.848"},
      {"hf@0wt%|ipa", "", "", "assay"},
      {"hf@|ipa", "", "", "assay"},
      {"hf@49%|ipa", "", "", "assay"},
      {"acetone|~ipa", "deck", "", "place waste"},
      {"acetone|ipa", "shelf", "", "deck, drawer"},
      {"acetone|ipa", "", "wood", "glass, quartz"},
      {"+|ipa", "", "", "names nothing"},
      {"acetone + |ipa", "", "", "one side of '+'"},
      {"+ acetone|ipa", "", "", "one side of '+'"},
      {"groop:10|ipa", "", "", "is no name"},
      {"dhf@10wt%|ipa", "", "", "goes without it"},
      {"acet\x1b[31mone|ipa", "", "", "cannot be seen"},
      {"acetone\n|ipa", "", "", "cannot be seen"},
      {"acetone\xff|ipa", "", "", "not UTF-8"},
  };

  for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
    struct err err = {0};
    struct arena arena;

    arena_init(&arena, 16 << 20);
    CHECK_CASE("%s %s %s", bad[i].things, bad[i].place, bad[i].vessel);
    CHECK(ask(bad[i].things, bad[i].place, bad[i].vessel, &arena, &err) == NULL);
    CHECK(err.code == ERR_INPUT);
    if (!CHECK(strstr(err.text, bad[i].says) != NULL))
      printf("  %s\n", err.text);
    arena_release(&arena);
  }
}

static void a_key_nobody_has_and_too_many_things_are_refused(void)
{
  struct meet_request request = {.at_K = NAN};
  struct err err = {0};

  CHECK_INT(meet_take(&request, "colour", "red", &err), ERR_USAGE);
  CHECK_INT(meet_take(&request, "at", "60", &err), ERR_INPUT);
  CHECK_INT(meet_take(&request, "thing", "", &err), ERR_INPUT);
  for (int i = 0; i < MEET_THINGS_MAX; i++)
    CHECK_INT(meet_take(&request, "thing", "ipa", &err), ERR_OK);
  CHECK_INT(meet_take(&request, "thing", "ipa", &err), ERR_INPUT);
  CHECK_INT(meet_take(&request, "at", "60 degC", &err), ERR_OK);
  CHECK_NEAR(request.at_K, 333.15, 0, 1e-9);
}

static void what_may_be_said_once_is_not_said_twice(void)
{
  static const char *const pairs[][2] = {
      {"place", "deck"}, {"vessel", "pp"}, {"at", "60 degC"}, {"station", "A1"}};
  struct meet_request request = {.at_K = NAN};

  for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
    struct err err = {0};

    CHECK_CASE("%s", pairs[i][0]);
    CHECK_INT(meet_take(&request, pairs[i][0], pairs[i][1], &err), ERR_OK);
    CHECK_INT(meet_take(&request, pairs[i][0], pairs[i][1], &err), ERR_INPUT);
    CHECK(strstr(err.text, "twice") != NULL);
  }
}

/* Eight of each of three that run away together: 512 threes, and none is left out. */
static void no_finding_is_left_out_however_many(void)
{
  struct meet_request request = {.at_K = NAN};
  struct err err = {0};
  struct arena arena;
  int threes = 0;

  arena_init(&arena, 256 << 20);
  for (int i = 0; i < 8; i++)
    request.things[request.thing_count++] = "acetone + chloroform + koh";
  const struct meet_answer *answer = meet_answer(facts, &request, &arena, &err);

  REQUIRE(answer != NULL);
  for (int i = 0; i < answer->finding_count; i++)
    threes += answer->findings[i].of_count == 3;
  CHECK_INT(threes, 8 * 8 * 8);
  arena_release(&arena);
}

/* 49 CFR 177.848(e), read in a copy: a subsidiary hazard counts when it is stricter.  Nitric acid is of
 * class 8 with 5.1, acetic acid of 8 with 3: 8 with 8 is blank, 5.1 with 3 is O. */
static void a_second_class_counts_where_it_is_stricter(void)
{
  static const struct {
    const char *things, *code;
  } rows[] = {{"hno3|acetic-acid", "O"}, {"hcl|h3po4", ""}, {"hcl|h2o2", "O"}, {"hf|hcl", ""}};

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    struct err err = {0};
    struct arena arena;

    arena_init(&arena, 32 << 20);
    CHECK_CASE("%s", rows[i].things);
    const struct meet_answer *answer = ask(rows[i].things, "shipment", "", &arena, &err);

    if (CHECK(answer && answer->transport_count == 1))
      CHECK_STR(answer->transport[0].code, rows[i].code);
    arena_release(&arena);
  }
}

static const char *text_of(const char *things, const char *place, const char *vessel,
                           struct buf *out)
{
  struct err err = {0};
  struct arena arena;

  arena_init(&arena, 32 << 20);
  buf_clear(out);
  const struct meet_answer *answer = ask(things, place, vessel, &arena, &err);

  if (CHECK(answer != NULL))
    meet_text(answer, UNITS_SYSTEM_SI, out);
  arena_release(&arena);
  return out->text;
}

static void the_first_line_answers_and_no_milder_advice_follows(void)
{
  struct buf out;

  buf_init(&out, 1 << 20);
  CHECK(strncmp(text_of("acetone|hcl", "shipment", "", &out), "  Only by written procedure: packed",
                35) == 0);
  CHECK(strstr(text_of("hcl", "", "hdpe", &out), "Listed for Hydrogen chloride with") ==
        out.text + 2);
  CHECK(strstr(out.text, "the maker's chart decides") != NULL);
  CHECK(strstr(text_of("hcl|~koh", "waste", "", &out), "one at a time") == NULL);
  CHECK(strstr(out.text, "on a deck") == NULL);
  buf_release(&out);
}

/* A bath's name is understood by the verb that says what may meet it. */
static void every_bath_of_the_table_is_known(void)
{
  struct arena arena;

  arena_init(&arena, 64 << 20);
  const struct chem_table *t = chem_table("baths", &arena);

  for (int row = 0; row < t->row_count; row++) {
    struct meet_request request = {
        .at_K = NAN, .things = {chem_cell(t, row, "id"), "water"}, .thing_count = 2};
    struct err err = {0};

    CHECK_CASE("%s", request.things[0]);
    const struct meet_answer *answer = meet_answer(facts, &request, &arena, &err);

    CHECK(answer && answer->things[0].kind != MEET_NOT_KNOWN);
  }
  arena_release(&arena);
}

/* Twenty-four things at once: every pair and three of them, within the room there is. */
static void as_many_as_can_be_named_are_answered(void)
{
  struct meet_request request = {.at_K = NAN};
  struct err err = {0};
  struct arena arena;
  struct buf text;

  arena_init(&arena, 256 << 20);
  buf_init(&text, 4 << 20);
  for (int i = 0; i < MEET_THINGS_MAX; i++) {
    request.things[i] = arena_printf(&arena, "%s + %s", name_of(i), name_of(i + 20));
    request.thing_count++;
  }
  const struct meet_answer *answer = meet_answer(facts, &request, &arena, &err);

  REQUIRE(answer != NULL);
  CHECK_INT(answer->asked_count, 2 * MEET_THINGS_MAX);
  meet_text(answer, UNITS_SYSTEM_US, &text);
  CHECK(!text.full);
  buf_clear(&text);
  meet_json(answer, &text);
  CHECK(!text.full);
  buf_release(&text);
  arena_release(&arena);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&tables, 256 << 20);
  chem = chem_read(&tables);
  facts = meet_read(chem, &tables);
  RUN(every_two_groups_have_one_cell_in_whatever_order_and_none_has_one_with_itself);
  RUN(what_is_counted_leaves_no_printed_letter_out);
  RUN(every_group_of_a_substance_is_one_of_the_chart_and_every_cas_number_checks);
  RUN(every_rule_names_only_what_is_known_and_where_it_is_from);
  RUN(what_is_taught_of_these_is_said);
  RUN(two_things_meet_alike_in_whatever_order_and_no_text_gives_a_clearance);
  RUN(one_thing_more_never_makes_it_milder);
  RUN(a_vessel_is_judged_by_what_is_in_it_how_strong_and_how_warm);
  RUN(bad_input_is_refused_with_the_way_out);
  RUN(a_key_nobody_has_and_too_many_things_are_refused);
  RUN(as_many_as_can_be_named_are_answered);
  RUN(what_may_be_said_once_is_not_said_twice);
  RUN(no_finding_is_left_out_however_many);
  RUN(a_second_class_counts_where_it_is_stricter);
  RUN(the_first_line_answers_and_no_milder_advice_follows);
  RUN(every_bath_of_the_table_is_known);
  arena_release(&tables);
  return check_end();
}
