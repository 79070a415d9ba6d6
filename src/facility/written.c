#include "facility/reader_impl.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* A suite file as written: its values one by one, and changes that leave the rest as it stands. */

/* ---- the values ---- */

struct leaves {
  struct arena *arena;
  struct facility_leaf *list;
  int count, room;
};

static const char *copied(struct arena *arena, const char *text)
{
  const char *copy = text ? arena_strdup(arena, text) : NULL;

  BUG_IF(text && !copy);
  return copy;
}

static void add_leaf(struct leaves *l, struct facility_leaf leaf)
{
  if (l->count == l->room) {
    int room = l->room ? 2 * l->room : 64;
    struct facility_leaf *more = ARENA_ARRAY(l->arena, struct facility_leaf, (size_t)room);

    BUG_IF(!more);
    if (l->count > 0)
      memcpy(more, l->list, (size_t)l->count * sizeof *more);
    l->list = more;
    l->room = room;
  }
  l->list[l->count++] = leaf;
}

/* The texts of a list, "a; b"; NULL when it holds anything else. */
static const char *joined(struct arena *arena, const struct tree *list)
{
  const char *text = "";

  for (const struct tree *item = list->first; item; item = item->next) {
    if (item->kind != TREE_TEXT)
      return NULL;
    text = arena_printf(arena, "%s%s%s", text, item == list->first ? "" : "; ", item->text);
    BUG_IF(!text);
  }
  return text;
}

static void add_leaves(struct leaves *l, const char *section, const char *id, const char *path,
                       const struct tree *tree)
{
  struct facility_leaf leaf = {.section = section, .id = id, .key = path, .place = tree->place};

  if (tree->kind == TREE_TEXT)
    leaf.text = copied(l->arena, tree->text);
  else if (tree->kind == TREE_LIST)
    leaf.text = joined(l->arena, tree);
  if (leaf.text)
    add_leaf(l, leaf);
  for (const struct tree *child = tree->first; tree->kind == TREE_MAP && child; child = child->next)
    add_leaves(l, section, id,
               path[0] != '\0' ? arena_printf(l->arena, "%s, %s", path, child->key)
                               : copied(l->arena, child->key),
               child);
}

int facility_leaves(const struct facility_text *suite, struct arena *arena,
                    struct complaints *complaints, const struct facility_leaf **list_out)
{
  struct leaves l = {.arena = arena};
  struct arena work;

  arena_init(&work, SIZE_MAX);

  const struct tree *tree = tree_read(suite, &work, complaints);

  for (const struct tree *section = tree ? tree->first : NULL; section; section = section->next) {
    int row = schema_find(STRUCT_sections, section->key);
    const char *name = copied(arena, section->key);

    if (row < 0 || schema_key_at(row)->kind != SCHEMA_PARTS) {
      add_leaves(&l, name, NULL, "", section);
      continue;
    }
    for (const struct tree *part = section->first; part; part = part->next)
      add_leaves(&l, name, copied(arena, part->key), "", part);
  }
  arena_release(&work);
  *list_out = l.list;
  return tree ? l.count : -1;
}

/* ---- changes ---- */

struct splice {
  size_t begin, end;
  const char *text;
  int order;
};

struct editor {
  const struct facility_text *text;
  struct arena *arena;
  struct tree *tree;
  struct complaints *complaints;
  struct splice *splices;
  int count;
};

static void splice(struct editor *e, size_t begin, size_t end, const char *text)
{
  BUG_IF(!text || begin > end || end > e->text->size);
  e->splices[e->count] = (struct splice){begin, end, text, e->count};
  e->count++;
}

static size_t line_end(const struct editor *e, size_t at)
{
  while (at < e->text->size && e->text->bytes[at] != '\n')
    at++;
  return at;
}

static size_t line_begin(const struct editor *e, size_t at)
{
  while (at > 0 && e->text->bytes[at - 1] != '\n')
    at--;
  return at;
}

/* Behind a value: line breaks at the end of a text of several lines are not part of it. */
static size_t value_end(const struct editor *e, const struct tree *node)
{
  size_t end = node->end;

  while (node->kind != TREE_TEXT && !node->flow && node->last)
    node = node->last;
  if (node->kind == TREE_TEXT && node->empty)
    return node->key_begin + strlen(node->key) + 1;
  while (end > 0 && strchr("\r\n ", e->text->bytes[end - 1]))
    end--;
  return end;
}

static size_t value_begin(const struct editor *e, const struct tree *node)
{
  size_t at = node->begin;

  if (!node->literal && !node->empty)
    return at;
  for (at = node->key_begin; at < e->text->size && e->text->bytes[at] != ':'; at++)
    ;
  at++;
  while (!node->empty && at < e->text->size && e->text->bytes[at] == ' ')
    at++;
  return at;
}

static int column_of(const struct editor *e, size_t at)
{
  return (int)(at - line_begin(e, at));
}

/* "key: value", where a key of a map goes: behind what stands before it in the schema. */
static void insert(struct editor *e, const struct tree *map, enum schema_struct_id of,
                   const char *key, const char *yaml)
{
  const struct tree *before = NULL;
  int row = of < STRUCT_COUNT ? schema_find(of, key) : 0, best = -1;

  for (const struct tree *child = map->first; child; child = child->next) {
    int rank = of < STRUCT_COUNT ? schema_find(of, child->key) : 0;

    if (rank >= best && rank <= row) {
      best = rank;
      before = child;
    }
  }
  if (map->flow) {
    size_t at = before ? value_end(e, before) : map->begin + 1;

    splice(e, at, at,
           arena_printf(e->arena, "%s%s: %s%s", before ? ", " : "", key, yaml,
                        !before && map->first ? ", " : ""));
    return;
  }
  BUG_IF(!map->first); /* a map in lines has some */
  if (!before) {
    size_t at = map->first->key_begin;

    splice(e, at, at, arena_printf(e->arena, "%s: %s\n%*s", key, yaml, column_of(e, at), ""));
    return;
  }

  size_t at = line_end(e, value_end(e, before));

  splice(e, at, at,
         arena_printf(e->arena, "\n%*s%s: %s", column_of(e, map->first->key_begin), "", key, yaml));
}

/* The first word of "flow, two-state, work", and what is left. */
static const char *first_of(struct editor *e, const char *path, const char **rest)
{
  const char *comma = strstr(path, ", ");

  *rest = comma ? comma + 2 : NULL;
  return comma ? arena_printf(e->arena, "%.*s", (int)(comma - path), path) : path;
}

static void set_key(struct editor *e, struct tree *part, enum schema_struct_id of, const char *path,
                    const char *yaml)
{
  struct tree *map = part;

  for (const char *rest, *key = first_of(e, path, &rest);; key = first_of(e, rest, &rest)) {
    struct tree *child = tree_find(map, key);
    int row = of < STRUCT_COUNT ? schema_find(of, key) : -1;

    if (!child) {
      for (const char *more = rest; more; more = NULL)
        yaml = arena_printf(e->arena, "{%s: %s}", more, yaml);
      insert(e, map, of, key, yaml);
      return;
    }
    if (!rest || child->kind != TREE_MAP) {
      splice(e, value_begin(e, child), value_end(e, child),
             arena_printf(e->arena, "%s%s", child->empty ? " " : "", yaml));
      return;
    }
    of = row >= 0 ? schema_key_at(row)->nested : STRUCT_COUNT;
    map = child;
  }
}

/* One new part as text: a block indented by `column`, or in brackets. */
static void write_part(const struct facility_edit *edits, int count, bool flow, int column,
                       struct buf *out)
{
  int written = 0;

  if (flow)
    buf_printf(out, "%s: {", edits[0].id);
  else
    buf_printf(out, "\n%*s%s:%s", column, "", edits[0].id, edits[0].key ? "" : " {}");
  for (int i = 0; i < count; i++) {
    if (!edits[i].key)
      continue;
    if (flow)
      buf_printf(out, "%s%s: %s", written++ > 0 ? ", " : "", edits[i].key, edits[i].yaml);
    else
      buf_printf(out, "\n%*s%s: %s", column + 2, "", edits[i].key, edits[i].yaml);
  }
  if (flow)
    buf_putc(out, '}');
}

/* Where a new part goes: behind the last of its section, or, where there is none, the file. */
static size_t part_place(const struct editor *e, const struct tree *section)
{
  size_t at = e->text->size;

  if (section && section->flow)
    return section->last ? value_end(e, section->last) : section->begin + 1;
  if (section)
    return line_end(e, value_end(e, section));
  while (at > 0 && e->text->bytes[at - 1] == '\n')
    at--;
  return at;
}

/* All edits of one new part. */
static void add_part(struct editor *e, const struct tree *section,
                     const struct facility_edit *edits, int count)
{
  bool flow = section && section->flow, first = !section || !section->first;
  int column = first || flow ? 2 : column_of(e, section->first->key_begin);
  size_t at = part_place(e, section);
  struct buf out;

  buf_init(&out, 1 << 16);
  if (!section)
    buf_printf(&out, "\n%s:", edits[0].section);
  if (flow && !first)
    buf_puts(&out, ", ");
  write_part(edits, count, flow, column, &out);
  splice(e, at, at, copied(e->arena, out.text));
  buf_release(&out);
}

static void remove_part(struct editor *e, const struct tree *section, const struct tree *part)
{
  size_t begin = part->key_begin, end = value_end(e, part);

  if (!section->flow) {
    begin = line_begin(e, begin);
    end = line_end(e, end);
    splice(e, begin, end < e->text->size ? end + 1 : end, "");
    return;
  }
  if (part->next)
    end = part->next->key_begin;
  else
    for (const struct tree *child = section->first; child && child != part; child = child->next)
      begin = value_end(e, child);
  splice(e, begin, end, "");
}

/* Edits of one part stand together; how many of them. */
static int same_part(const struct facility_edit *edits, int count)
{
  int n = 1;

  while (n < count && strcmp(edits[n].section, edits[0].section) == 0 &&
         strcmp(edits[n].id, edits[0].id) == 0)
    n++;
  return n;
}

static void edit_part(struct editor *e, const struct facility_edit *edits, int count)
{
  struct tree *section = tree_find(e->tree, edits[0].section);
  int row = schema_find(STRUCT_sections, edits[0].section);
  struct tree *part = section && section->kind == TREE_MAP ? tree_find(section, edits[0].id) : NULL;

  if (part && !edits[0].key && !edits[0].yaml) {
    remove_part(e, section, part);
    return;
  }
  if (!part) {
    add_part(e, section, edits, count);
    return;
  }
  for (int i = 0; i < count; i++)
    if (edits[i].key && part->kind == TREE_MAP)
      set_key(e, part, schema_key_at(row)->nested, edits[i].key, edits[i].yaml);
}

static int by_place(const void *a, const void *b)
{
  const struct splice *x = a, *y = b;

  if (x->begin != y->begin)
    return x->begin < y->begin ? -1 : 1;
  return x->order - y->order;
}

static void apply(struct editor *e, struct buf *out)
{
  size_t at = 0;

  qsort(e->splices, (size_t)e->count, sizeof *e->splices, by_place);
  for (int i = 0; i < e->count; i++) {
    const struct splice *s = &e->splices[i];

    if (s->begin < at)
      continue; /* inside what went already */
    buf_add(out, e->text->bytes + at, s->begin - at);
    buf_puts(out, s->text);
    at = s->end;
  }
  buf_add(out, e->text->bytes + at, e->text->size - at);
}

bool facility_edit(const struct facility_text *suite, const struct facility_edit *edits, int count,
                   struct complaints *complaints, struct buf *out)
{
  struct arena work;
  struct editor e = {.arena = &work, .complaints = complaints};

  arena_init(&work, SIZE_MAX);

  struct facility_text text = tree_terminated(suite, &work);

  e.text = &text;
  e.tree = tree_read(suite, &work, complaints);
  e.splices = ARENA_ARRAY(&work, struct splice, (size_t)count + 1);
  BUG_IF(!e.splices);
  for (int i = 0; e.tree && i < count;) {
    int n = same_part(edits + i, count - i);

    edit_part(&e, edits + i, n);
    i += n;
  }
  if (e.tree)
    apply(&e, out);
  arena_release(&work);
  return e.tree && !out->full;
}
