#ifndef MEET_MEET_IMPL_H
#define MEET_MEET_IMPL_H

#include "meet/meet.h"

/* A word of a list: an id, "g10", "*", with "!" before what is left out, and a share by mass. */
struct selector {
  const char *id; /* "" for a group or anything */
  int group;      /* 0: by id */
  bool any, except;
  double above_ratio, most_ratio; /* NaN: no such limit */
  double said_ratio;              /* at least this, and said to be: NaN: no such limit */
};

struct selectors {
  int count;
  const struct selector *list;
};

struct meet_set {
  const char *id, *name;
  struct selectors members;
};

struct meet_rule {
  const char *id;
  int place_count; /* 0: everywhere */
  const char *const *places;
  int slot_count; /* 1 to 3 */
  struct selectors slots[3];
  bool is_note, instead; /* instead: of what the chart says, where the two are made into one */
  enum meet_verdict verdict;
  const char *codes, *say, *remedy;
  struct chem_origin of;
};

struct meet_named { /* a row of things.csv */
  const char *id, *name, *note;
  enum meet_kind kind;
  int alias_count, part_count, group_count;
  const char *const *aliases, *const *parts;
  int groups[MEET_GROUPS_MAX];
  bool variant; /* a row of baths.csv: found by its id, made of nothing here */
};

struct meet_material { /* a row of vessels.csv */
  const char *id, *name;
  int alias_count;
  const char *const *aliases;
  double most_K, short_K;
  struct chem_origin of;
};

struct meet_stands { /* a row of materials.csv */
  int material_count;
  const char *const *materials;
  struct selectors against;
  enum meet_rating rating;
  double most_K;
  const char *say;
  struct chem_origin of;
};

struct meet_family {
  const char *scheme, *id, *name;
  struct selectors members;
  struct chem_origin of;
};

struct meet_strength { /* a substance is of a group from this share only */
  const char *id;
  int group;
  double above_ratio;
};

struct meet_carried { /* transport class of things */
  struct selectors things;
  const char *class_id, *subsidiary;
};

struct meet_facts {
  const struct chem *chem;
  int group_count, cell_count, set_count, rule_count, named_count, material_count, stands_count,
      family_count, change_count, strength_count, carried_count;
  const struct meet_group *groups;
  const struct meet_cell *cells;
  struct meet_set *sets;
  const struct meet_rule *rules;
  const struct meet_named *named;
  const struct meet_material *materials;
  const struct meet_stands *stands;
  const struct meet_family *families;
  const struct meet_change *changes;
  const struct meet_strength *strengths;
  const struct meet_carried *carried;
  const struct chem_table *transport;
};

struct meet_group {
  int number;
  const char *name;
};

/* How a thing matches a list: by its own name, or only by what is in it. */
enum match { MATCH_NONE, MATCH_PART, MATCH_ITSELF };
enum match meet_matches(const struct selectors *list, const struct meet_thing *thing);
bool meet_face_matches(const struct selectors *list, const struct meet_face *face);
/* Reads "@acids;hf;!nh4f;hno3>50%"; sets must be read in their order. */
struct selectors meet_selectors(const struct meet_facts *facts, const char *text,
                                struct arena *arena);
/* "a;b" as a list of texts. */
const char *const *meet_words(const char *text, const char *separator, int *count_out,
                              struct arena *arena);

/* variant: among the baths of baths.csv instead */
const struct meet_named *meet_find_named(const struct meet_facts *facts, const char *text,
                                         bool variant);
const struct meet_material *meet_find_material(const struct meet_facts *facts, const char *text);

/* One text, which may name several parted by '+', as things at the end of a list. */
struct things {
  int count;
  struct meet_thing *list; /* room for 2 * MEET_THINGS_MAX; of an answer also for what they make */
};
struct work;
NODISCARD enum err_code meet_add_things(const struct work *w, const char *text, struct things *out,
                                        struct err *err);
struct meet_face meet_substance_face(const struct meet_facts *facts, const struct chem_substance *s,
                                     double share_ratio);
/* Mixtures that several of the things make together. */
void meet_add_made(const struct meet_facts *facts, struct things *things, struct arena *arena);

/* What is being put together. */
struct work {
  const struct meet_facts *facts;
  const struct meet_request *request;
  struct arena *arena;
  struct things things;
  int asked_count, finding_count, finding_room, note_count, note_room;
  int station; /* index, or -1 */
  struct meet_finding *findings;
  struct meet_sentence *notes;
};
void meet_add_finding(struct work *w, const struct meet_finding *f);
void meet_add_note(struct work *w, const struct meet_sentence *s);

void meet_chart_pair(const struct work *w, int a, int b, struct meet_finding *out);
void meet_rules_all(struct work *w); /* the findings of one, two and three */
void meet_place_pair(const struct work *w, int a, int b, struct meet_finding *out);
void meet_add_sentence(const struct work *w, struct meet_finding *f, struct meet_sentence s);
const struct meet_vessel *meet_vessel_of(const struct meet_facts *facts,
                                         const struct meet_material *material,
                                         const struct meet_thing *thing, double at_K,
                                         struct arena *arena);
const char *meet_family_of(const struct meet_facts *facts, const char *scheme,
                           const struct meet_thing *thing);
const struct meet_family *meet_family(const struct meet_facts *facts, const char *scheme,
                                      const char *id);
void meet_place_changes(const struct work *w, struct meet_answer *out);
/* ---- own.c ---- */
bool meet_own_bath(const struct meet_facts *facts, const struct chemicals *own, const char *text,
                   struct meet_thing *out);
void meet_own_findings(struct work *w);
void meet_own_note(struct work *w, const char *say);
void meet_transport(const struct work *w, struct meet_answer *out);

#endif
