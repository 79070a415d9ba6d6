#include "facility/reader_impl.h"

#include <stdint.h>
#include <string.h>

/* What differs between two suites, from the trees: a part by its id wherever it
 * stands, a key by its words, so that neither order nor comments matter. */

struct listing {
  struct arena *arena;
  struct facility_difference *list;
  int count, room;
};

static void add(struct listing *l, struct facility_difference difference)
{
  if (l->count == l->room) {
    int room = l->room ? 2 * l->room : 32;
    struct facility_difference *more =
        ARENA_ARRAY(l->arena, struct facility_difference, (size_t)room);

    BUG_IF(!more);
    if (l->count > 0)
      memcpy(more, l->list, (size_t)l->count * sizeof *more);
    l->list = more;
    l->room = room;
  }
  l->list[l->count++] = difference;
}

static void write_tree(const struct tree *tree, struct buf *out)
{
  const char *open = tree->kind == TREE_MAP ? "{" : "[";
  const char *close = tree->kind == TREE_MAP ? "}" : "]";

  if (tree->kind == TREE_TEXT) {
    buf_puts(out, tree->text);
    return;
  }
  buf_puts(out, open);
  for (const struct tree *child = tree->first; child; child = child->next) {
    if (tree->kind == TREE_MAP)
      buf_printf(out, "%s: ", child->key);
    write_tree(child, out);
    buf_puts(out, child->next ? ", " : "");
  }
  buf_puts(out, close);
}

static const char *text_of(struct listing *l, const struct tree *tree)
{
  enum { LONGEST = 4000 };
  struct buf out;

  if (!tree)
    return NULL;
  buf_init(&out, LONGEST);
  write_tree(tree, &out);

  const char *copy = arena_strdup(l->arena, out.text);

  BUG_IF(!copy);
  buf_release(&out);
  return copy;
}

static bool same_map(const struct tree *a, const struct tree *b);

static bool same(const struct tree *a, const struct tree *b)
{
  if (reader_is_map(a) && reader_is_map(b))
    return same_map(a, b);
  if (a->kind != b->kind || a->count != b->count)
    return false;
  if (a->kind == TREE_TEXT)
    return strcmp(a->text, b->text) == 0;

  const struct tree *y = b->first;

  for (const struct tree *x = a->first; x; x = x->next, y = y->next)
    if (!same(x, y))
      return false;
  return true;
}

static bool same_map(const struct tree *a, const struct tree *b)
{
  if (a->count != b->count)
    return false;
  for (const struct tree *x = a->first; x; x = x->next) {
    const struct tree *y = tree_find(b, x->key);

    if (!y || !same(x, y))
      return false;
  }
  return true;
}

/* Keys of one map, going into maps that both have. */
static void diff_map(struct listing *l, const char *kind, const char *id, const char *path,
                     const struct tree *a, const struct tree *b);

static void diff_key(struct listing *l, const char *kind, const char *id, const char *path,
                     const struct tree *before, const struct tree *after)
{
  struct buf key;
  const struct tree *named = before ? before : after;

  if (before && after && same(before, after))
    return;
  buf_init(&key, 400);
  buf_printf(&key, "%s%s%s", path, path[0] ? ", " : "", named->key);

  const char *name = arena_strdup(l->arena, key.text);

  BUG_IF(!name);
  buf_release(&key);
  if (before && after && before->kind == TREE_MAP && after->kind == TREE_MAP)
    diff_map(l, kind, id, name, before, after);
  else
    add(l, (struct facility_difference){kind, id, name, text_of(l, before), text_of(l, after)});
}

static void diff_map(struct listing *l, const char *kind, const char *id, const char *path,
                     const struct tree *a, const struct tree *b)
{
  for (const struct tree *x = a->first; x; x = x->next)
    diff_key(l, kind, id, path, x, tree_find(b, x->key));
  for (const struct tree *y = b->first; y; y = y->next)
    if (!tree_find(a, y->key))
      diff_key(l, kind, id, path, NULL, y);
}

static void diff_parts(struct listing *l, const struct schema_key *row, const struct tree *a,
                       const struct tree *b)
{
  static const struct tree nothing = {.kind = TREE_MAP};
  const char *kind = schema_kind_words(row->id_kind);

  a = a ? a : &nothing;
  b = b ? b : &nothing;

  struct names in_b, in_a;

  names_init(&in_a, l->arena);
  names_init(&in_b, l->arena);
  for (const struct tree *x = a->first; x; x = x->next)
    names_add(&in_a, x->key, 0);
  for (const struct tree *y = b->first; y; y = y->next)
    names_add(&in_b, y->key, 0);
  for (const struct tree *x = a->first; x; x = x->next) {
    const struct tree *y = names_find(&in_b, x->key) >= 0 ? tree_find(b, x->key) : NULL;

    if (!y)
      add(l, (struct facility_difference){kind, x->key, NULL, text_of(l, x), NULL});
    else if (!same(x, y))
      diff_map(l, kind, x->key, "", x, y);
  }
  for (const struct tree *y = b->first; y; y = y->next)
    if (names_find(&in_a, y->key) < 0)
      add(l, (struct facility_difference){kind, y->key, NULL, NULL, text_of(l, y)});
}

static void copy_texts(struct listing *l)
{
  for (int i = 0; i < l->count; i++) {
    const char *id = l->list[i].id;

    l->list[i].id = id ? arena_strdup(l->arena, id) : NULL;
  }
}

int facility_diff(const struct facility_text *before, const struct facility_text *after,
                  struct arena *arena, const struct facility_difference **list_out)
{
  struct listing l = {.arena = arena};
  struct complaints unheard;
  struct arena work;

  arena_init(&work, SIZE_MAX);
  complaints_init(&unheard, &work);

  const struct tree *a = tree_read(before, &work, &unheard);
  const struct tree *b = tree_read(after, &work, &unheard);

  for (int row = schema_struct_at(STRUCT_sections)->first;
       a && b && schema_more(STRUCT_sections, row); row++) {
    const struct schema_key *key = schema_key_at(row);
    const struct tree *x = tree_find(a, key->key), *y = tree_find(b, key->key);

    if (key->kind == SCHEMA_PARTS)
      diff_parts(&l, key, x, y);
    else if (x || y)
      diff_key(&l, "suite", NULL, "", x, y);
  }
  copy_texts(&l);
  arena_release(&work);
  *list_out = l.list;
  return l.count;
}
