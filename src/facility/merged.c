#include "facility/reader_impl.h"

#include "base/emit.h"
#include "base/utf8.h"

#include <string.h>

/*
 * The merged form: a whole suite, overlays applied, as one JSON text.
 *
 *     {"schema": "inward.merged.1", "suite_sha256": "...", "file": "suite.yaml", "suite": {...}}
 *
 * Under "suite" stand the words of the suite file, every value a text, null where
 * there is none.  A program that has no YAML reader reads this and then does what
 * every reading does: the same table, checks and building.
 */
static const char merged_schema[] = "inward.merged.1";

/* ---- out ---- */

static void print_node(struct emit *json, const struct tree *node)
{
  if (node->kind == TREE_TEXT) {
    emit_text(json, node->key, node->empty ? NULL : node->text);
    return;
  }
  if (node->kind == TREE_MAP)
    emit_object(json, node->key);
  else
    emit_array(json, node->key);
  for (const struct tree *child = node->first; child; child = child->next)
    print_node(json, child); /* TREE_MOST_DEPTH deep */
  emit_close(json);
}

void tree_print_merged(const struct tree *tree, const struct reader_source *source, struct buf *out)
{
  const char *slash = strrchr(source->file, '/');
  struct tree suite = *tree;
  struct emit json;

  suite.key = "suite";
  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", merged_schema);
  emit_text(&json, "suite_sha256", source->sha256);
  emit_text(&json, "file",
            slash ? slash + 1 : source->file); /* where it stood is nobody's business */
  print_node(&json, &suite);
  emit_close(&json);
  emit_end(&json);
}

/* ---- in: JSON without numbers, true and false ---- */

struct merged {
  struct facility_text text; /* the bytes end in a NUL */
  size_t at, line_start;
  int line, nodes, depth;
  struct arena *arena;
  struct complaints *complaints;
};

static struct place here(const struct merged *in)
{
  return (struct place){
      .file = in->text.file,
      .line = in->line,
      .column = 1 + utf8_count(in->text.bytes + in->line_start, in->at - in->line_start)};
}

/* Written by a program: the first fault says enough. */
static bool refuse(struct merged *in, const char *what)
{
  if (in->complaints->count == 0)
    complaints_add(in->complaints, here(in), 1, "%s; this is not the merged form of a suite", what);
  return false;
}

static char look(struct merged *in)
{
  for (;; in->at++) {
    char c = in->text.bytes[in->at];

    if (c == '\n') {
      in->line++;
      in->line_start = in->at + 1;
    } else if (c != ' ') {
      return c;
    }
  }
}

static bool take(struct merged *in, char wanted)
{
  if (look(in) != wanted)
    return false;
  in->at++;
  return true;
}

static int hex_digit(char c)
{
  static const char digits[] = "0123456789abcdef";
  const char *found = c ? strchr(digits, c) : NULL;

  return found ? (int)(found - digits) : -1;
}

/* What stands behind "\u": only what the writer escapes, below U+0080. */
static int escaped_number(const char *at)
{
  int value = 0;

  for (int i = 0; i < 4; i++) {
    int digit = hex_digit(at[i]);

    if (digit < 0)
      return -1;
    value = value * 16 + digit;
  }
  return value > 0 && value < 0x80 ? value : -1;
}

/* One character of a text, from bytes[*at]; 0 when it is none. */
static int read_character(const char *bytes, size_t *at, char out[4])
{
  int size = utf8_size(bytes + *at), value;

  if (bytes[*at] != '\\') {
    if (size == 0 || (unsigned char)bytes[*at] < 0x20)
      return 0;
    memcpy(out, bytes + *at, (size_t)size);
    *at += (size_t)size;
    return size;
  }
  switch (bytes[*at + 1]) {
  case '"':
  case '\\':
    out[0] = bytes[*at + 1];
    *at += 2;
    return 1;
  case 'n':
    out[0] = '\n';
    *at += 2;
    return 1;
  case 'u':
    value = escaped_number(bytes + *at + 2);
    if (value < 0)
      return 0;
    out[0] = (char)value;
    *at += 6;
    return 1;
  default:
    return 0;
  }
}

/* NULL after a complaint. */
static const char *read_text(struct merged *in)
{
  char text[TREE_MOST_TEXT + 4];
  size_t used = 0;

  if (!take(in, '"'))
    return refuse(in, "a text must begin here"), NULL;
  while (in->text.bytes[in->at] != '"') {
    int size = read_character(in->text.bytes, &in->at, text + used);

    if (size == 0)
      return refuse(in, "a text holds what it may not, or does not end"), NULL;
    used += (size_t)size;
    if (used > TREE_MOST_TEXT)
      return refuse(in, "a text is too long"), NULL;
  }
  in->at++;
  text[used] = '\0';

  const char *copy = arena_strdup(in->arena, text);

  BUG_IF(!copy);
  return copy;
}

static struct tree *new_node(struct merged *in, enum tree_kind kind)
{
  struct tree *node = ARENA_NEW(in->arena, struct tree);

  BUG_IF(!node);
  node->kind = kind;
  node->place = here(in);
  node->width = 1;
  return node;
}

static struct tree *read_value(struct merged *in);

static bool read_key(struct merged *in, struct names *keys, const char **key_out)
{
  *key_out = read_text(in);
  if (!*key_out)
    return false;
  if (!names_add(keys, *key_out, 0))
    return refuse(in, "a key stands twice");
  return take(in, ':') || refuse(in, "':' must follow a key");
}

/* Behind the opening bracket, to the closing one. */
static bool read_children(struct merged *in, struct tree *parent, char close)
{
  struct names keys;

  names_init(&keys, in->arena);
  if (take(in, close))
    return true;
  do {
    struct place place = (look(in), here(in));
    const char *key = NULL;

    if (parent->kind == TREE_MAP && !read_key(in, &keys, &key))
      return false;

    struct tree *child = read_value(in);

    if (!child)
      return false;
    child->key = key;
    child->key_place = place;
    child->key_width = 1;
    tree_append(parent, child);
  } while (take(in, ','));
  return take(in, close) || refuse(in, "',' or the closing bracket must follow a value");
}

static struct tree *read_branch(struct merged *in, enum tree_kind kind, char close)
{
  struct tree *node = new_node(in, kind);

  in->at++;
  if (in->depth == TREE_MOST_DEPTH + 1) /* and one around the suite */
    return refuse(in, "nested too deep"), NULL;
  in->depth++;
  bool good = read_children(in, node, close);

  in->depth--;
  return good ? node : NULL;
}

/* NULL after a complaint. */
static struct tree *read_value(struct merged *in)
{
  char first = look(in);

  if (++in->nodes > TREE_MOST_NODES)
    return refuse(in, "too many entries"), NULL;
  if (first == '{')
    return read_branch(in, TREE_MAP, '}');
  if (first == '[')
    return read_branch(in, TREE_LIST, ']');

  struct tree *node = new_node(in, TREE_TEXT);

  if (strncmp(in->text.bytes + in->at, "null", 4) == 0) {
    in->at += 4;
    node->empty = true;
    node->text = "";
    return node;
  }
  node->text = read_text(in);
  return node->text ? node : NULL;
}

/* ---- a facility from it ---- */

static const char *wanted(struct merged *in, const struct tree *root, const char *key)
{
  const struct tree *found = tree_find(root, key);

  if (found && found->kind == TREE_TEXT && !found->empty)
    return found->text;
  refuse(in, "a text at the top is missing");
  return NULL;
}

static bool is_hash(const char *text)
{
  size_t digits = strspn(text, "0123456789abcdef");

  return digits == 64 && text[64] == '\0';
}

/* NULL after a complaint. */
static const struct tree *read_parcel(struct merged *in, struct reader_source *source)
{
  const struct tree *root = read_value(in);

  if (!root)
    return NULL;
  if (look(in) != '\0' || in->at != in->text.size)
    return refuse(in, "something follows the end"), NULL;
  if (root->kind != TREE_MAP)
    return refuse(in, "it is not a map"), NULL;

  const char *schema = wanted(in, root, "schema");
  const char *sha256 = wanted(in, root, "suite_sha256");
  const struct tree *suite = tree_find(root, "suite");

  source->file = wanted(in, root, "file");
  if (!schema || !sha256 || !source->file)
    return NULL;
  if (strcmp(schema, merged_schema) != 0 || !is_hash(sha256) || root->count != 4)
    return refuse(in, "the top is not as this version writes it"), NULL;
  if (!suite || suite->kind != TREE_MAP)
    return refuse(in, "the suite is missing"), NULL;
  memcpy(source->sha256, sha256, sizeof source->sha256);
  return suite;
}

struct facility *facility_read_merged(const struct facility_text *text,
                                      struct complaints *complaints)
{
  struct arena work;
  struct reader reader = {.work = &work, .complaints = complaints};
  struct reader_source source = {.limit = READER_MEMORY};
  struct facility *facility = NULL;

  if (text->size > TREE_MOST_BYTES) {
    complaints_add(complaints, (struct place){.file = text->file}, 0,
                   "%zu bytes; %d is the most a suite may have", text->size, TREE_MOST_BYTES);
    return NULL;
  }
  arena_init(&work, SIZE_MAX); /* bounded by TREE_MOST_NODES and TREE_MOST_BYTES */
  names_init(&reader.removed, &work);

  struct merged in = {
      .text = tree_terminated(text, &work), .line = 1, .arena = &work, .complaints = complaints};
  const struct tree *suite = read_parcel(&in, &source);

  if (suite && reader_right_kind(&reader, suite, "1 suite"))
    facility = reader_finish(&reader, suite, &source);
  complaints_sort(complaints);
  arena_release(&work);
  return facility;
}
