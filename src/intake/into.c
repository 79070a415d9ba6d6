#include "intake/intake_impl.h"

#include <math.h>
#include <string.h>

/* A list read again, beside the suite that was made of it or of one like it. */
struct into {
  struct intake *in;
  const struct facility_leaf *leaves;
  int leaf_count;
  struct intake_change *changes;
  int change_count, change_room;
  struct facility_edit *edits;
  int edit_count, edit_room;
};

static void *grown(struct intake *in, void *list, int count, int *room, size_t size)
{
  void *more = list;

  if (count == *room) {
    *room = *room ? 2 * *room : 64;
    more = arena_push(in->arena, (size_t)*room, size);
    BUG_IF(!more);
    if (count > 0)
      memcpy(more, list, (size_t)count * size);
  }
  return more;
}

static void add_change(struct into *t, struct intake_change change)
{
  t->changes = grown(t->in, t->changes, t->change_count, &t->change_room, sizeof *t->changes);
  t->changes[t->change_count++] = change;
}

static void add_edit(struct into *t, const char *section, const char *id, const char *key,
                     const char *yaml)
{
  t->edits = grown(t->in, t->edits, t->edit_count, &t->edit_room, sizeof *t->edits);
  t->edits[t->edit_count++] = (struct facility_edit){section, id, key, yaml};
}

static const struct facility_leaf *leaf_of(const struct into *t, const char *section,
                                           const char *id, const char *key)
{
  for (int i = 0; i < t->leaf_count; i++)
    if (t->leaves[i].id && strcmp(t->leaves[i].section, section) == 0 &&
        strcmp(t->leaves[i].id, id) == 0 && (!key || strcmp(t->leaves[i].key, key) == 0))
      return &t->leaves[i];
  return NULL;
}

/* Does the part have anything under this key? */
static bool has_under(const struct into *t, const char *id, const char *key)
{
  size_t length = strlen(key);

  for (int i = 0; i < t->leaf_count; i++)
    if (t->leaves[i].id && strcmp(t->leaves[i].section, "stations") == 0 &&
        strcmp(t->leaves[i].id, id) == 0 && strncmp(t->leaves[i].key, key, length) == 0 &&
        (t->leaves[i].key[length] == ',' || t->leaves[i].key[length] == '\0'))
      return true;
  return false;
}

/* ---- one value ---- */

static const char *unquoted(struct intake *in, const char *yaml)
{
  size_t length = strlen(yaml), used = 0;

  if (yaml[0] == '[' && length >= 2) { /* a list as its leaf has it: "a; b" */
    char *out = arena_push(in->arena, 2 * length, 1);
    bool quote = false;

    BUG_IF(!out);
    for (const char *p = yaml + 1; p + 1 < yaml + length; p++)
      if (*p == '"')
        quote = !quote;
      else if (*p == '\\' && quote)
        out[used++] = *++p;
      else
        out[used++] = !quote && *p == ',' ? ';' : *p;
    return out;
  }
  if (yaml[0] != '"')
    return yaml;

  char *out = arena_push(in->arena, length, 1);

  BUG_IF(!out);
  for (const char *p = yaml + 1; p + 1 < yaml + length; p++) {
    p += *p == '\\';
    out[used++] = *p;
  }
  return out;
}

/* A list that says no ± says nothing against the suite's own. */
static bool same_quantity(const char *suite, const char *list)
{
  static const enum units_dimension all[] = {UNITS_LENGTH, UNITS_FLOW, UNITS_VELOCITY};

  for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
    struct units_quantity x = {0}, y = {0};

    if (units_parse(suite, all[i], UNITS_NOTHING, &x, NULL) == ERR_OK &&
        units_parse(list, all[i], UNITS_NOTHING, &y, NULL) == ERR_OK)
      return fabs(x.si - y.si) <= 1e-9 * fmax(fabs(x.si), fabs(y.si)) &&
             (!y.has_plus_minus ||
              (x.has_plus_minus && fabs(x.plus_minus_si - y.plus_minus_si) <=
                                       1e-9 * fmax(x.plus_minus_si, y.plus_minus_si)));
  }
  return false;
}

/* Line breaks and runs of blanks are how a cell and a file may tell the same text. */
static bool same_words(const char *a, const char *b)
{
  for (;;) {
    a += strspn(a, " \n\t\r");
    b += strspn(b, " \n\t\r");
    if (*a == '\0' || *b == '\0')
      return *a == *b;

    size_t length = strcspn(a, " \n\t\r");

    if (length != strcspn(b, " \n\t\r") || strncmp(a, b, length) != 0)
      return false;
    a += length;
    b += length;
  }
}

static bool same_value(const char *suite, const char *list)
{
  return same_words(suite, list) || same_quantity(suite, list);
}

/* ---- one station ---- */

/* The station's id in the suite: its own, or that of the one called so before. */
static const char *id_in_suite(const struct into *t, const struct intake_station *s)
{
  if (leaf_of(t, "stations", s->id, NULL))
    return s->id;
  for (int i = 0; i < t->leaf_count; i++)
    if (t->leaves[i].id && strcmp(t->leaves[i].section, "stations") == 0 &&
        strcmp(t->leaves[i].key, "was") == 0 && strcmp(t->leaves[i].text, s->written_id) == 0)
      return t->leaves[i].id;
  return NULL;
}

/* What stands under a key, as a file would say it: "follows opening: {velocity: ..., least: ...}". */
static void print_under(const struct into *t, const char *id, const char *key, struct buf *out)
{
  const char *form = NULL;
  size_t length = strlen(key), form_length = 0;

  for (int i = 0; i < t->leaf_count; i++) {
    const struct facility_leaf *l = &t->leaves[i];

    if (!l->id || strcmp(l->section, "stations") != 0 || strcmp(l->id, id) != 0 ||
        strncmp(l->key, key, length) != 0 || l->key[length] != ',')
      continue;

    const char *rest = l->key + length + 2, *comma = strchr(rest, ',');

    if (form && comma && strncmp(rest, form, form_length) == 0 && rest[form_length] == ',') {
      buf_printf(out, ", %s: %s", comma + 2, l->text);
      continue;
    }
    buf_printf(out, "%s%s", form ? "}" : "", out->used > 0 ? ", " : "");
    form = comma ? rest : NULL;
    form_length = comma ? (size_t)(comma - rest) : 0;
    if (comma)
      buf_printf(out, "%.*s: {%s: %s", (int)form_length, rest, comma + 2, l->text);
    else
      buf_printf(out, "%s: %s", rest, l->text);
  }
  if (form)
    buf_putc(out, '}');
}

static void change_whole(struct into *t, const char *id, const char *place, const char *key,
                         const char *yaml)
{
  struct buf before;

  for (int i = 0; i < t->edit_count; i++)
    if (strcmp(t->edits[i].id, id) == 0 && strcmp(t->edits[i].key, key) == 0)
      return;
  buf_init(&before, 1000);
  print_under(t, id, key, &before);
  add_change(t, (struct intake_change){
                    INTAKE_CHANGED, id, key,
                    before.used > 0 ? intake_text(t->in, "%s", before.text) : NULL, yaml, place});
  add_edit(t, "stations", id, key, yaml);
  buf_release(&before);
}

static const char *whole_of(const struct intake_key_list *keys, const char *key, size_t length)
{
  for (int i = 0; i < keys->count; i++)
    if (strlen(keys->list[i].path) == length && strncmp(keys->list[i].path, key, length) == 0)
      return keys->list[i].yaml;
  return NULL;
}

static void compare_leaf(struct into *t, const char *id, const char *place,
                         const struct intake_key *leaf, const struct intake_key_list *keys)
{
  const struct facility_leaf *there = leaf_of(t, "stations", id, leaf->path);
  size_t length = strcspn(leaf->path, ",");
  const char *top = intake_text(t->in, "%.*s", (int)length, leaf->path);
  const char *value = unquoted(t->in, leaf->yaml);
  bool nested = leaf->path[length] == ',';

  if (there && same_value(there->text, value))
    return;
  if (there || !nested || (strcmp(top, "flow") != 0 && has_under(t, id, top))) {
    add_change(t, (struct intake_change){INTAKE_CHANGED, id, leaf->path, there ? there->text : NULL,
                                         value, place});
    add_edit(t, "stations", id, leaf->path, leaf->yaml);
    return;
  }
  if (whole_of(keys, top, length))
    change_whole(t, id, place, top, whole_of(keys, top, length));
}

static const char *place_of(struct into *t, const struct intake_station *s)
{
  return intake_place(t->in, s->row, intake_column_of(t->in, FIELD_ID)->column);
}

static void compare_station(struct into *t, const struct intake_station *s, const char *id)
{
  struct intake_key_list keys, leaves;

  intake_station_keys(t->in, s, &keys);
  intake_station_leaves(t->in, s, &leaves);
  for (int i = 0; i < leaves.count; i++)
    if (leaves.list[i].listed)
      compare_leaf(t, id, place_of(t, s), &leaves.list[i], &keys);
}

/* ---- a station the suite does not have ---- */

/* The only room or main that stations have, where a list says nothing of it. */
static const char *only_one(const struct into *t, const char *key)
{
  const char *found = NULL;

  for (int i = 0; i < t->leaf_count; i++) {
    if (!t->leaves[i].id || strcmp(t->leaves[i].section, "stations") != 0 ||
        strcmp(t->leaves[i].key, key) != 0)
      continue;
    if (found && strcmp(found, t->leaves[i].text) != 0)
      return NULL;
    found = t->leaves[i].text;
  }
  return found;
}

static bool is_used(const struct into *t, const char *key, const char *text)
{
  for (int i = 0; i < t->leaf_count; i++)
    if (t->leaves[i].id && strcmp(t->leaves[i].section, "stations") == 0 &&
        strcmp(t->leaves[i].key, key) == 0 && strcmp(t->leaves[i].text, text) == 0)
      return true;
  return false;
}

/* Room or main of a new station: as the list says, or the only one there is. */
static const char *place_for(struct into *t, const struct intake_station *s,
                             enum intake_field field, const char *key, const char *said)
{
  const char *only = only_one(t, key);

  if (intake_column_of(t->in, field) || is_used(t, key, said))
    return said;
  if (!only)
    intake_remark(t->in, INTAKE_FAULT, s->row, intake_column_of(t->in, FIELD_ID)->column,
                  "%.40s is new and the list does not say its %s; add a column for it",
                  s->written_id, key);
  return only;
}

static void add_station(struct into *t, const struct intake_station *s)
{
  struct intake_key_list keys;
  const char *room = place_for(t, s, FIELD_ROOM, "room", s->room);
  const char *main = room ? place_for(t, s, FIELD_MAIN, "main", s->main) : NULL;

  if (!main)
    return;
  if (!is_used(t, "room", room) && !leaf_of(t, "rooms", room, NULL))
    add_edit(t, "rooms", room, NULL, "{}");
  if (!is_used(t, "main", main) && !leaf_of(t, "mains", main, NULL))
    add_edit(t, "mains", main, NULL, "{}");
  intake_station_keys(t->in, s, &keys);
  add_change(t, (struct intake_change){INTAKE_ADDED, s->id, NULL, NULL, s->flow, place_of(t, s)});
  for (int i = 0; i < keys.count; i++) {
    const char *yaml = keys.list[i].yaml;

    if (strcmp(keys.list[i].path, "room") == 0)
      yaml = room;
    if (strcmp(keys.list[i].path, "main") == 0)
      yaml = main;
    add_edit(t, "stations", s->id, keys.list[i].path, yaml);
  }
}

/* ---- all of them ---- */

static bool is_in_list(const struct into *t, const char *id)
{
  for (int i = 0; i < t->in->station_count; i++) {
    const char *mine = id_in_suite(t, &t->in->stations[i]);

    if (mine && strcmp(mine, id) == 0)
      return true;
  }
  return false;
}

static void find_missing(struct into *t)
{
  const char *last = "";

  for (int i = 0; i < t->leaf_count; i++) {
    const char *id = t->leaves[i].id;

    if (!id || strcmp(t->leaves[i].section, "stations") != 0 || strcmp(id, last) == 0)
      continue;
    last = id;
    if (!is_in_list(t, id))
      add_change(t, (struct intake_change){INTAKE_MISSING, id, NULL, NULL, NULL, NULL});
  }
}

static bool compare(struct into *t, struct intake *in, const struct facility_text *suite,
                    struct complaints *complaints)
{
  *t = (struct into){.in = in};
  intake_finish(in);
  t->leaf_count = facility_leaves(suite, in->arena, complaints, &t->leaves);
  if (t->leaf_count < 0)
    return false;
  for (int i = 0; i < in->station_count; i++) {
    const struct intake_station *s = &in->stations[i];
    const char *id = id_in_suite(t, s);

    if (id)
      compare_station(t, s, id);
    else if (s->flow)
      add_station(t, s);
  }
  find_missing(t);
  in->result.remarks = in->remarks;
  in->result.remark_count = in->remark_count;
  return true;
}

int intake_compare(struct intake *in, const struct facility_text *suite,
                   struct complaints *complaints, const struct intake_change **list_out)
{
  struct into t;

  if (!compare(&t, in, suite, complaints))
    return -1;
  *list_out = t.changes;
  return t.change_count;
}

/* ---- comments of ours behind a flow that is another now ---- */

struct stale {
  int line;
  const char *aside; /* what holds now, or NULL */
};

static const char *aside_of(const struct into *t, const char *id)
{
  for (int i = 0; i < t->in->station_count; i++) {
    const char *mine = id_in_suite(t, &t->in->stations[i]);

    if (mine && strcmp(mine, id) == 0)
      return t->in->stations[i].flow_aside;
  }
  return NULL;
}

/* The lines of the changed text whose flow or face velocity was edited. */
static int find_stale(const struct into *t, const struct facility_leaf *leaves, int leaf_count,
                      struct stale *list)
{
  int count = 0;

  for (int i = 0; i < t->edit_count; i++) {
    const struct facility_edit *edit = &t->edits[i];
    bool whole = edit->key && strcmp(edit->key, "flow") == 0;

    if (!whole && !(edit->key && strcmp(edit->key, "flow, follows opening, velocity") == 0))
      continue;
    for (int k = 0; k < leaf_count; k++)
      if (leaves[k].id && strcmp(leaves[k].section, "stations") == 0 &&
          strcmp(leaves[k].id, edit->id) == 0 && strncmp(leaves[k].key, "flow,", 5) == 0) {
        list[count++] = (struct stale){leaves[k].place.line, whole ? aside_of(t, edit->id) : NULL};
        break;
      }
  }
  return count;
}

/* One line, its comment of ours replaced by what holds now. */
static void copy_line(const char *line, size_t length, const struct stale *stale, struct buf *out)
{
  for (size_t at = 1; stale && at + 2 < length; at++) {
    if (line[at] != '#' || line[at - 1] != ' ' || !intake_is_own_aside(line + at + 2))
      continue;

    size_t kept = at;

    while (kept > 0 && line[kept - 1] == ' ')
      kept--;
    buf_add(out, line, kept);
    if (stale->aside)
      buf_printf(out, "   # %s", stale->aside);
    if (line[length - 1] == '\r')
      buf_putc(out, '\r');
    return;
  }
  buf_add(out, line, length);
}

static bool renew_asides(const struct into *t, const char *file, struct complaints *complaints,
                         struct buf *text)
{
  struct stale *list = ARENA_ARRAY(t->in->arena, struct stale, (size_t)t->edit_count + 1);
  struct facility_text changed = {file, text->text, text->used};
  const struct facility_leaf *leaves;
  int leaf_count = facility_leaves(&changed, t->in->arena, complaints, &leaves), number = 1;
  const char *copy = arena_printf(t->in->arena, "%s", text->text);
  int count = leaf_count < 0 ? 0 : find_stale(t, leaves, leaf_count, list);

  BUG_IF(!list || !copy);
  if (count > 0)
    buf_clear(text);
  for (const char *p = copy; count > 0 && *p != '\0'; number++) {
    size_t length = strcspn(p, "\n");
    const struct stale *stale = NULL;

    for (int i = 0; i < count && !stale; i++)
      stale = list[i].line == number ? &list[i] : NULL;
    copy_line(p, length, stale, text);
    p += length;
    if (*p == '\n') {
      buf_putc(text, '\n');
      p++;
    }
  }
  return leaf_count >= 0;
}

bool intake_apply(struct intake *in, const struct facility_text *suite, bool remove_missing,
                  struct complaints *complaints, struct buf *out)
{
  struct into t;

  if (!compare(&t, in, suite, complaints))
    return false;
  for (int i = 0; remove_missing && i < t.change_count; i++)
    if (t.changes[i].kind == INTAKE_MISSING)
      add_edit(&t, "stations", t.changes[i].id, NULL, NULL);
  return facility_edit(suite, t.edits, t.edit_count, complaints, out) &&
         renew_asides(&t, suite->file, complaints, out);
}
