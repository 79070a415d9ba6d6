#ifndef FACILITY_TREE_IMPL_H
#define FACILITY_TREE_IMPL_H

#include "base/arena.h"
#include "base/complaints.h"
#include "facility/facility.h"

/*
 * A YAML file as a tree of texts with marks, before anyone asks what it means.
 * Every scalar is text; a node inside a map carries its key.
 */
enum tree_kind { TREE_TEXT, TREE_MAP, TREE_LIST };

struct tree {
  enum tree_kind kind;
  const char *text;   /* TREE_TEXT; "" for an empty value */
  bool faulty;        /* complained about: read no meaning into it */
  bool empty;         /* no value at all: "key:" */
  bool plain;         /* not quoted and on one line: a column inside it can be told */
  struct place place; /* of the value */
  int width;          /* characters on its line */
  const char *key;    /* or NULL */
  struct place key_place;
  int key_width;
  /* Where it stands in the bytes of its file, for who changes them; 0 and 0 in a tree from elsewhere.
   * Quotes and brackets belong to it; a block map ends with its last value. */
  size_t key_begin, begin, end;
  bool flow;    /* in brackets, on one line or several */
  bool literal; /* a text in several lines, behind | or > */
  int count;    /* of children */
  struct tree *first, *last, *next;
};

struct tree *tree_find(const struct tree *map, const char *key); /* NULL: not there */
void tree_append(struct tree *parent, struct tree *child);
void tree_remove(struct tree *parent, const struct tree *child);
/* The text fit for a message: no control characters, cut at 48 bytes. */
const char *tree_shown(struct arena *arena, const char *text);

/* A copy that ends in a NUL, which the caller's bytes need not. */
struct facility_text tree_terminated(const struct facility_text *text, struct arena *arena);

/* ---- yaml.c ---- */
/* Reads one file.  NULL after at least one complaint. */
struct tree *tree_read(const struct facility_text *text, struct arena *arena,
                       struct complaints *complaints);

/* Texts to numbers, for ids and for finding a key that stands twice. */
struct names {
  struct arena *arena;
  struct names_entry *slots;
  int used, room; /* a power of two */
};

void names_init(struct names *names, struct arena *arena);
int names_find(const struct names *names, const char *text); /* -1: not there */
/* False when the text is there already. */
bool names_add(struct names *names, const char *text, int value);

enum {
  TREE_MOST_BYTES = 8 << 20,
  TREE_MOST_DEPTH = 12,
  TREE_MOST_NODES = 200000,
  TREE_MOST_TEXT = 4000 /* bytes of one scalar */
};

#endif
