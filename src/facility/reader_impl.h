#ifndef FACILITY_READER_IMPL_H
#define FACILITY_READER_IMPL_H

#include "facility/schema_impl.h"
#include "facility/tree_impl.h"

/*
 * One reading of a suite: trees are merged, ids collected, then every map is
 * read into a record as the schema says, and the records are checked against
 * each other.  A fault is complained about once: its value is marked bad, and
 * whatever depends on it stays silent.
 */
struct symbol {
  const char *id;
  uint64_t kind; /* enum schema_id_kind */
  int index;     /* within its kind, in file order */
  struct place place;
};

struct value {
  bool given;  /* by the file or by a default */
  bool stated; /* by the file */
  bool bad;    /* complained about already */
  const struct tree *tree;
  double si, at_si;
  bool has_plus_minus, has_at_plus_minus; /* stated beside the figure */
  double plus_minus_si, at_plus_minus_si;
  const char *text;
  int number;     /* word, yes or no, count; a reference: node index or index in its kind */
  uint64_t kind;  /* a reference: what it names */
  int unit;       /* of a fan, counted from 0; -1: all */
  int key_number; /* an item of a map: what its key names */
  int count;
  struct value *items;
  struct record **records;
};

struct record {
  enum schema_struct_id of;
  const char *who; /* "station S1" */
  const char *id;  /* of a part, or NULL */
  int key_number;  /* SCHEMA_PARTS_BY_REF: what the id names */
  struct place place;
  int width;
  const struct tree *tree;
  bool unread;             /* no value was looked at */
  bool bad;                /* not even a map */
  int form[SCHEMA_GROUPS]; /* enum schema_form_id or FORM_NONE */
  struct value *values;    /* one per row of the struct */
};

struct assumption {
  const char *text;
  struct assumption *next;
};

struct reader {
  struct arena *work;
  struct complaints *complaints;
  struct names ids;
  struct symbol *symbols;
  int symbol_count, symbol_room;
  int room_count, junction_count;
  struct names removed; /* ids an overlay took away; the number indexes removed_by */
  const struct place *removed_by;
  int removed_count;
  int assumed_count;
  struct assumption *first_assumed, *last_assumed;
};

/* Where a tree came from. */
struct reader_source {
  const char *file; /* the suite's name when it gives none */
  char sha256[65];  /* of the bytes it was read from */
  size_t limit;     /* bytes of memory for the facility */
};

/* ---- read.c ---- */
/* An overlay given as a suite, or the reverse, or a future version: one clear
 * complaint instead of one for every key. */
bool reader_right_kind(struct reader *reader, const struct tree *tree, const char *want);
/* Ids, records, checks, building; NULL after a complaint. */
struct facility *reader_finish(struct reader *reader, const struct tree *tree,
                               const struct reader_source *source);

/* ---- merged.c ---- */
void tree_print_merged(const struct tree *tree, const struct reader_source *source,
                       struct buf *out);

/* ---- print.c ---- */
void tree_print_suite(const struct tree *tree, const struct facility_text *texts, int text_count,
                      struct buf *out);

/* ---- merge.c ---- */
/* Applies an overlay's tree to the suite's. */
void reader_merge(struct reader *reader, struct tree *suite, struct tree *overlay);

/* ---- ids.c ---- */
void reader_collect_ids(struct reader *reader, const struct tree *suite);
/* The three steps of it, for a file that adds to ids which are known: start, known ones, the file's. */
void reader_begin_ids(struct reader *reader);
void reader_add_symbol(struct reader *reader, struct symbol symbol);
void reader_collect_ids_of(struct reader *reader, enum schema_struct_id of, const struct tree *top);
const struct symbol *reader_symbol(const struct reader *reader, const char *text); /* or NULL */
bool reader_id_fits(const char *id);
/* Resolves a text to an id of one of the kinds; complains when it cannot. */
void reader_resolve(struct reader *reader, const char *who, const struct tree *at, const char *text,
                    uint64_t kinds, struct value *out);
/* "EF1/2": copies the base id, returns the unit counted from 0; -1 when there is none. */
int reader_split_unit(const char *text, char base[40]);
int reader_node_outdoors(const struct reader *reader);
/* ": did you mean 'x'?" for the nearest of the ids of those kinds, or a list of them. */
void reader_suggest_id(struct reader *reader, uint64_t kinds, const char *text, struct buf *out);

/* ---- record.c ---- */
struct record *reader_record(struct reader *reader, enum schema_struct_id of,
                             const struct tree *tree, const char *who);
/* The same map read as what a struct includes. */
struct record *reader_included(struct reader *reader, enum schema_struct_id of,
                               const struct record *outer);
void reader_complain(struct reader *reader, const char *who, struct place place, int width,
                     const char *fmt, ...) PRINTF_LIKE(5, 6);
void reader_list_keys(enum schema_struct_id of, struct buf *out);
void reader_unknown_key(struct reader *reader, enum schema_struct_id of, const struct tree *child,
                        const char *who);
const char *reader_text(struct reader *reader, const char *fmt, ...) PRINTF_LIKE(2, 3);
void reader_assume(struct reader *reader, const char *fmt, ...) PRINTF_LIKE(2, 3);
/* Minutes of "19:00" or "7:00"; -1: no time of day. */
int reader_minute_of(const char *text);
/* An empty value stands for an empty map. */
bool reader_is_map(const struct tree *tree);

/* The value of a key, looked up in what the record includes too. */
const struct value *record_value(const struct record *record, enum schema_key_id key);
double record_si(const struct record *record, enum schema_key_id key);
/* The included or nested record, or NULL when not given. */
const struct record *record_inner(const struct record *record, enum schema_key_id key);
/* Given, and read without a complaint. */
bool record_has(const struct record *record, enum schema_key_id key);
/* The value when record_has it, else NULL; a NULL record has nothing. */
static inline const struct value *record_given(const struct record *record, enum schema_key_id key)
{
  return record && record_has(record, key) ? record_value(record, key) : NULL;
}
enum schema_form_id record_form(const struct record *record, int group);

/* ---- value.c ---- */
void reader_value(struct reader *reader, const struct schema_key *row, const struct record *record,
                  const struct tree *tree, struct value *out);

/* ---- checks.c ---- */
/* What the table cannot say: order of numbers, ends of links, sealed rooms. */
void reader_check(struct reader *reader, const struct record *sections);
/* A relative path that leads out of its folder by no step. */
bool reader_stays_inside(const char *path);

/* ---- sealed.c ---- */
void reader_check_sealed(struct reader *reader, const struct record *sections);

/* ---- build.c, build_day.c, build_house.c, build_plant.c, build_scenes.c, build_walk.c, build_after.c ---- */
struct build {
  struct reader *reader;
  struct facility *facility; /* memory from its arena */
  double usual_temperature_K, usual_relative_humidity_ratio;
  size_t limit; /* scenes times stations stop growing here */
};

/* Complaint-free records to the facility.  Memory is counted, not refused: the
 * caller looks at the arena afterwards. */
void reader_build(struct build *b, const struct record *sections);
const char *build_text(struct build *b, const char *text); /* NULL stays NULL */
const char *const *build_texts(struct build *b, const struct value *from);
struct facility_part build_part(struct build *b, const struct record *record);
double build_or_usual(const struct record *record, enum schema_key_id key, double usual_si);
/* The default of a key whose whole section the file leaves out. */
double build_fallback_si(enum schema_key_id key);
struct facility_resistance build_resistance(const struct record *record); /* NULL: none */
struct facility_leak_law build_leak_law(const struct record *record);     /* NULL: none */
/* NULL: all by default */
void build_glass(struct build *b, const struct record *rules);
void build_unattended(struct build *b, const struct record *record);
void build_rounds(struct build *b, const struct record *record);
void build_readiness(struct build *b, const struct record *record);
void build_walk(struct build *b, const struct record *walk);
void build_match(struct build *b, const struct record *match);
void build_day(struct build *b, const struct record *day);
void build_after(struct build *b, const struct record *after);        /* NULL: all by default */
struct facility_response build_response(const struct record *record); /* NULL: as `after` */
void build_plant(struct build *b, const struct record *sections);
void build_stations(struct build *b, const struct value *from);
void build_scenes(struct build *b, const struct value *from);

/* ---- inputs.c ---- */
/* What each figure is worth: after everything else is built. */
void build_inputs(struct build *b, const struct record *sections);

/* All parts of one kind, each made by one_KIND(b, record). */
#define BUILD_ALL(kind, plural, from)                                                              \
  do {                                                                                             \
    const struct value *all = (from);                                                              \
    struct facility_##kind *out =                                                                  \
        ARENA_ARRAY(b->facility->arena, struct facility_##kind, (size_t)all->count + 1);           \
    BUG_IF(!out);                                                                                  \
    for (int i = 0; i < all->count; i++)                                                           \
      out[i] = one_##kind(b, all->records[i]);                                                     \
    b->facility->plural = out;                                                                     \
    b->facility->kind##_count = all->count;                                                        \
  } while (0)

/* facility_read with a memory limit, for its test. */
struct facility *reader_read_within(const struct facility_text *suite,
                                    const struct facility_text *overlays, int overlay_count,
                                    struct complaints *complaints, size_t limit);

enum { READER_MOST_PARTS = 5000, READER_MEMORY = 256 << 20 };

#endif
