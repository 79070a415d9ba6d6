#include "facility/tree_impl.h"

#include "base/utf8.h"

#include <libfyaml.h>
#include <string.h>

/*
 * libfyaml's event stream, not its documents: events need no recursion however
 * deep a file nests, and show anchors, tags and second documents before
 * anything acts on them.
 */
struct frame {
  struct tree *node;
  struct names keys; /* of a map: where each stands */
  const char *key;   /* read, its value still to come */
  struct place key_place;
  int key_width;
  size_t key_begin;
};

struct yaml {
  const struct facility_text *text;
  struct facility_text copy;
  struct arena *arena;
  struct complaints *complaints;
  struct tree *root;
  struct frame stack[TREE_MOST_DEPTH];
  int depth, nodes, documents;
  struct place last; /* of the last event that has a place */
  bool stop;         /* nothing after this can be understood */
};

#define COMPLAIN(yaml, place, width, ...)                                                          \
  complaints_add((yaml)->complaints, place, width, __VA_ARGS__)

static struct place at_mark(const struct yaml *yaml, const struct fy_mark *mark)
{
  struct place place = {.file = yaml->text->file, .line = 1, .column = 1};

  if (mark) {
    place.line = mark->line + 1;
    place.column = mark->column + 1;
  }
  return place;
}

/* ---- the bytes, before any parsing ---- */

/* UTF-8 without control characters.  `bytes` ends in a NUL that is not counted. */
static bool bytes_are_text(struct yaml *yaml)
{
  const char *bytes = yaml->text->bytes;
  struct place place = {.file = yaml->text->file, .line = 1, .column = 1};

  for (size_t i = 0; i < yaml->text->size;) {
    unsigned char byte = (unsigned char)bytes[i];
    int length = utf8_size(bytes + i);

    if (length == 0) {
      COMPLAIN(yaml, place, 1, "byte %02X here is not UTF-8; save the file as UTF-8", byte);
      return false;
    }
    if ((byte < 0x20 && byte != '\t' && byte != '\n' && !(byte == '\r' && bytes[i + 1] == '\n')) ||
        byte == 0x7F) {
      COMPLAIN(yaml, place, 1,
               "a control character (byte %02X) stands here; remove it, this must be plain text",
               byte);
      return false;
    }
    if (byte == '%' && place.column == 1) { /* another version of YAML may even count otherwise */
      COMPLAIN(yaml, place, 1,
               "lines beginning with '%%' are not used in suite files; remove it, or indent it");
      return false;
    }
    place.column++;
    if (byte == '\n') {
      place.line++;
      place.column = 1;
    }
    i += (size_t)length;
  }
  return true;
}

static bool bytes_are_fit(struct yaml *yaml)
{
  struct place whole = {.file = yaml->text->file};
  const char *bytes = yaml->text->bytes;
  size_t size = yaml->text->size;

  if (size > TREE_MOST_BYTES) {
    COMPLAIN(yaml, whole, 0, "the file has %zu bytes; %d is the most a suite file may have", size,
             TREE_MOST_BYTES);
    return false;
  }
  if (size == 0) {
    COMPLAIN(yaml, whole, 0, "the file is empty; a suite begins with the line 'inward: 1 suite'");
    return false;
  }
  if (size >= 2 && (memcmp(bytes, "\xFF\xFE", 2) == 0 || memcmp(bytes, "\xFE\xFF", 2) == 0)) {
    COMPLAIN(yaml, whole, 0, "the file is UTF-16; save it as UTF-8");
    return false;
  }
  yaml->copy = tree_terminated(yaml->text, yaml->arena);
  yaml->text = &yaml->copy;
  return bytes_are_text(yaml);
}

/* ---- events to tree ---- */

static struct tree *new_node(struct yaml *yaml, enum tree_kind kind, struct place place)
{
  struct tree *node = ARENA_NEW(yaml->arena, struct tree);

  BUG_IF(!node);
  node->kind = kind;
  node->place = place;
  node->width = 1;
  if (++yaml->nodes > TREE_MOST_NODES && !yaml->stop) {
    COMPLAIN(yaml, place, 1, "more than %d entries in one file; split what is not one suite",
             TREE_MOST_NODES);
    yaml->stop = true;
  }
  return node;
}

static void attach(struct yaml *yaml, struct tree *node)
{
  struct frame *top = yaml->depth > 0 ? &yaml->stack[yaml->depth - 1] : NULL;

  if (!top) {
    yaml->root = node;
    return;
  }
  if (top->node->kind == TREE_MAP) {
    node->key = top->key;
    node->key_place = top->key_place;
    node->key_width = top->key_width;
    node->key_begin = top->key_begin;
    top->key = NULL;
    if (!names_add(&top->keys, node->key, node->key_place.line)) {
      COMPLAIN(yaml, node->key_place, node->key_width,
               "'%s' stands here twice, first on line %d; keep one of them",
               tree_shown(yaml->arena, node->key), names_find(&top->keys, node->key));
      return;
    }
  }
  tree_append(top->node, node);
}

/* Where a value begins and ends in the bytes, its quotes with it. */
static void note_bytes(const struct yaml *yaml, struct fy_token *token, struct tree *node)
{
  const struct fy_mark *start = token ? fy_token_start_mark(token) : NULL;
  const struct fy_mark *end = token ? fy_token_end_mark(token) : NULL;
  const char *bytes = yaml->text->bytes;
  enum fy_scalar_style style = token ? fy_token_scalar_style(token) : FYSS_PLAIN;

  if (!start || !end || end->input_pos > yaml->text->size)
    return;
  node->begin = start->input_pos;
  node->end = end->input_pos;
  node->literal = style == FYSS_LITERAL || style == FYSS_FOLDED;
  if ((style == FYSS_SINGLE_QUOTED || style == FYSS_DOUBLE_QUOTED) && node->begin > 0 &&
      bytes[node->begin - 1] == (style == FYSS_SINGLE_QUOTED ? '\'' : '"')) {
    node->begin--;
    node->end++;
  }
}

static void close_node(struct yaml *yaml, struct fy_event *event)
{
  struct tree *node = yaml->stack[--yaml->depth].node;

  BUG_IF(!node);

  const struct fy_mark *mark = fy_event_end_mark(event);

  if (node->flow)
    node->end = mark && mark->input_pos <= yaml->text->size ? mark->input_pos : 0;
  else
    node->end = node->last ? node->last->end : node->begin;
}

static void open_node(struct yaml *yaml, enum tree_kind kind, struct place place, size_t begin)
{
  struct frame *top = yaml->depth > 0 ? &yaml->stack[yaml->depth - 1] : NULL;

  if (top && top->node->kind == TREE_MAP && !top->key) {
    COMPLAIN(yaml, place, 1, "a key must be a single word or phrase, not a list or a map");
    yaml->stop = true;
    return;
  }
  if (yaml->depth == TREE_MOST_DEPTH) {
    COMPLAIN(yaml, place, 1, "nested more than %d deep; no suite needs that", TREE_MOST_DEPTH);
    yaml->stop = true;
    return;
  }

  struct tree *node = new_node(yaml, kind, place);

  node->begin = begin;
  node->flow =
      begin < yaml->text->size && yaml->text->bytes[begin] == (kind == TREE_MAP ? '{' : '[');
  attach(yaml, node);
  yaml->stack[yaml->depth] = (struct frame){.node = node};
  names_init(&yaml->stack[yaml->depth].keys, yaml->arena);
  yaml->depth++;
}

static int token_width(struct fy_token *token, bool *one_line)
{
  const struct fy_mark *start = token ? fy_token_start_mark(token) : NULL;
  const struct fy_mark *end = token ? fy_token_end_mark(token) : NULL;

  *one_line = start && end && start->line == end->line;
  return *one_line && end->column > start->column ? end->column - start->column : 1;
}

/* 'it''s' read from the bytes: libfyaml 0.7.12 leaks memory over many doubled quotes. */
static void unquote(const struct yaml *yaml, struct fy_token *token, char *out)
{
  size_t at = fy_token_start_mark(token)->input_pos, end = fy_token_end_mark(token)->input_pos;

  BUG_IF(end < at || end > yaml->text->size);
  while (at < end) {
    if (yaml->text->bytes[at] == '\'' && at + 1 < end && yaml->text->bytes[at + 1] == '\'')
      at++;
    *out++ = yaml->text->bytes[at++];
  }
}

static char *copy_bytes(struct yaml *yaml, const char *bytes, size_t length)
{
  char *copy = arena_push(yaml->arena, length + 1, 1);

  BUG_IF(!copy);
  if (bytes && length > 0)
    memcpy(copy, bytes, length);
  return copy;
}

/* NULL after a complaint. */
static char *copy_scalar(struct yaml *yaml, struct fy_token *token, struct place place)
{
  bool quoted = token && fy_token_scalar_style(token) == FYSS_SINGLE_QUOTED, one_line;
  const char *bytes = NULL;
  size_t length = 0;

  token_width(token, &one_line);
  if (quoted && !one_line) {
    COMPLAIN(yaml, place, 1,
             "a text in single quotes must end on its line; use \"double quotes\" or '|'");
    return NULL;
  }
  if (quoted)
    length = fy_token_end_mark(token)->input_pos - fy_token_start_mark(token)->input_pos;
  else if (token)
    bytes = fy_token_get_text(token, &length);
  if (!quoted && !bytes)
    length = 0;
  if (length > TREE_MOST_TEXT) {
    COMPLAIN(yaml, place, 1, "a text of %zu bytes; %d is the most one may have", length,
             TREE_MOST_TEXT);
    return NULL;
  }
  if (bytes && memchr(bytes, '\0', length)) {
    COMPLAIN(yaml, place, 1, "a NUL character inside a text; remove it");
    return NULL;
  }

  char *copy = copy_bytes(yaml, bytes, length);

  if (quoted)
    unquote(yaml, token, copy);
  return copy;
}

static void scalar(struct yaml *yaml, struct fy_event *event, struct place place)
{
  struct fy_token *token = event->scalar.value;
  struct frame *top = yaml->depth > 0 ? &yaml->stack[yaml->depth - 1] : NULL;
  bool one_line;
  int width = token_width(token, &one_line);
  char *text = copy_scalar(yaml, token, place);
  bool faulty = text == NULL;

  if (faulty)
    text = copy_bytes(yaml, NULL, 0);
  if (top && top->node->kind == TREE_MAP && !top->key) {
    yaml->stop |= faulty; /* whatever stands under this key has no name */
    top->key = text;
    top->key_place = place;
    top->key_width = width;

    struct tree key = {0};

    note_bytes(yaml, token, &key);
    top->key_begin = key.begin;
    return;
  }

  struct tree *node = new_node(yaml, TREE_TEXT, place);

  node->text = text;
  node->width = width;
  node->faulty = faulty;
  node->empty = text[0] == '\0' && (!token || fy_token_scalar_style(token) == FYSS_PLAIN);
  node->plain = one_line && token && fy_token_scalar_style(token) == FYSS_PLAIN;
  note_bytes(yaml, token, node);
  if (!token && top && top->key) /* an empty value has no mark of its own */
    node->place = top->key_place;
  attach(yaml, node);
}

static void refuse(struct yaml *yaml, struct fy_token *token, const char *what)
{
  if (!token)
    return;

  struct place place = at_mark(yaml, fy_token_start_mark(token));

  if (what[0] == 'a' && place.column > 1)
    place.column--; /* an anchor's mark is behind its '&', an alias's behind its '*' */
  COMPLAIN(yaml, place, 1, "%s are not used in suite files; write the value itself here", what);
}

static void document_starts(struct yaml *yaml, struct place place)
{
  if (++yaml->documents == 1)
    return;
  COMPLAIN(yaml, place, 3, "a second document begins here; a suite is one document");
  yaml->stop = true;
}

static void take(struct yaml *yaml, struct fy_event *event)
{
  const struct fy_mark *mark = fy_event_start_mark(event);
  struct place place = mark ? at_mark(yaml, mark) : yaml->last;

  yaml->last = place;
  switch ((int)event->type) {
  case FYET_DOCUMENT_START:
    document_starts(yaml, place);
    break;
  case FYET_MAPPING_START:
    refuse(yaml, event->mapping_start.anchor, "anchors (&)");
    refuse(yaml, event->mapping_start.tag, "tags (!)");
    open_node(yaml, TREE_MAP, place, mark ? mark->input_pos : 0);
    break;
  case FYET_SEQUENCE_START:
    refuse(yaml, event->sequence_start.anchor, "anchors (&)");
    refuse(yaml, event->sequence_start.tag, "tags (!)");
    open_node(yaml, TREE_LIST, place, mark ? mark->input_pos : 0);
    break;
  case FYET_MAPPING_END:
  case FYET_SEQUENCE_END:
    close_node(yaml, event);
    break;
  case FYET_ALIAS:
    refuse(yaml, event->alias.anchor, "aliases (*)");
    yaml->stop = true;
    break;
  case FYET_SCALAR:
    refuse(yaml, event->scalar.anchor, "anchors (&)");
    refuse(yaml, event->scalar.tag, "tags (!)");
    scalar(yaml, event, place);
    break;
  default:
    break;
  }
}

/* ---- libfyaml's own complaints, in words that help ---- */

static const struct {
  const char *said, *meant;
} hints[] = {
    {"multiline plain key", "this line and the next read as one; is the next one indented too "
                            "far, or a ':' missing?"},
    {"nested block mapping", "a second ':' on this line; put the value in \"quotes\""},
    {"tab", "a tab stands here; indent with blanks"},
    {"mismatched", "this bracket closes what was not opened; check the brackets above"},
    {"missing comma", "put ',' between the entries of { } and [ ]"},
    {"indentation", "the indentation fits no line above; use the same number of blanks for all "
                    "keys of one map"},
    {"quoted", "a quoted text is not closed, or something follows it; check the quotes"},
};

/* A place inside the text: libfyaml may point past the end. */
static struct place inside(const struct yaml *yaml, int line, int column, bool *past_out)
{
  struct place place = {.file = yaml->text->file, .line = 1, .column = 1};
  const char *at = yaml->text->bytes, *end = at + yaml->text->size;

  while (place.line < line) {
    const char *next = memchr(at, '\n', (size_t)(end - at));

    if (!next || next + 1 == end)
      break;
    at = next + 1;
    place.line++;
  }

  const char *line_end = memchr(at, '\n', (size_t)(end - at));
  int length = (int)((line_end ? line_end : end) - at);
  bool past = place.line < line || column > length + 1;

  *past_out = past || (!line_end && column == length + 1);
  place.column = past ? length + 1 : column < 1 ? 1 : column;
  return place;
}

static void syntax(struct yaml *yaml, struct fy_diag *diag)
{
  void *at = NULL;

  yaml->stop = true;

  struct fy_diag_error *error = fy_diag_errors_iterate(diag, &at);

  if (!error || !error->msg) {
    COMPLAIN(yaml, ((struct place){.file = yaml->text->file}), 0,
             "this is not readable as YAML; check brackets, quotes and indentation");
    return;
  }

  const char *meant = "check brackets, quotes and indentation around here";

  for (size_t i = 0; i < sizeof hints / sizeof *hints; i++)
    if (strstr(error->msg, hints[i].said)) {
      meant = hints[i].meant;
      break;
    }

  bool past;
  struct place place = inside(yaml, error->line, error->column, &past);

  if (yaml->depth > 0 && (past || strstr(error->msg, "without a closing"))) {
    const struct tree *open = yaml->stack[yaml->depth - 1].node;

    COMPLAIN(yaml, open->place, 1, "what begins here is never finished; look for a missing '%s'",
             open->kind == TREE_LIST ? "]" : "}");
    return;
  }
  COMPLAIN(yaml, place, 1, "%s; %s", tree_shown(yaml->arena, error->msg), meant);
}

static void parse(struct yaml *yaml, struct fy_parser *parser, struct fy_diag *diag)
{
  struct fy_event *event;

  if (fy_parser_set_string(parser, yaml->text->bytes, yaml->text->size) != 0) {
    syntax(yaml, diag);
    return;
  }
  while (!yaml->stop && (event = fy_parser_parse(parser)) != NULL) {
    take(yaml, event);
    fy_parser_event_free(parser, event);
  }
  if (!yaml->stop && fy_parser_get_stream_error(parser))
    syntax(yaml, diag);
}

struct tree *tree_read(const struct facility_text *text, struct arena *arena,
                       struct complaints *complaints)
{
  struct yaml yaml = {.text = text, .arena = arena, .complaints = complaints};

  yaml.last = at_mark(&yaml, NULL);

  if (!bytes_are_fit(&yaml))
    return NULL;

  struct fy_diag_cfg quiet;

  fy_diag_cfg_default(&quiet);
  quiet.fp = NULL;

  struct fy_diag *diag = fy_diag_create(&quiet);
  struct fy_parse_cfg config = {.flags = FYPCF_QUIET | FYPCF_COLLECT_DIAG | FYPCF_JSON_NONE |
                                         FYPCF_DEFAULT_VERSION_1_2,
                                .diag = diag};

  BUG_IF(!diag);
  fy_diag_set_collect_errors(diag, true);

  struct fy_parser *parser = fy_parser_create(&config);

  BUG_IF(!parser);
  parse(&yaml, parser, diag);
  fy_parser_destroy(parser);
  fy_diag_destroy(diag);
  if (yaml.stop)
    return NULL;
  if (!yaml.root || yaml.root->kind != TREE_MAP) {
    COMPLAIN(&yaml, ((struct place){.file = text->file, .line = 1, .column = 1}), 1,
             "this is not a suite: it must begin with the line 'inward: 1 suite'");
    return NULL;
  }
  return yaml.root;
}
