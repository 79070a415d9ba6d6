#include "intake/intake_impl.h"

#include <math.h>
#include <string.h>

/* The suite as YAML, one comment for each row it came from. */

/* A text that YAML reads as itself without quotes. */
static bool is_plain(const char *text)
{
  static const char *const meant_else[] = {"yes", "no", "true", "false", "null", "~", "on", "off"};

  if (text[0] == '\0' ||
      !((text[0] >= 'A' && text[0] <= 'Z') || (text[0] >= 'a' && text[0] <= 'z')))
    return false;
  for (size_t i = 0; i < sizeof meant_else / sizeof meant_else[0]; i++)
    if (strcmp(text, meant_else[i]) == 0)
      return false;
  for (const char *p = text; *p != '\0'; p++)
    if ((unsigned char)*p < 0x20 || strchr(":#,[]{}\"'\\|>&*!%@`", *p))
      return false;
  return text[strlen(text) - 1] != ' ';
}

void intake_yaml_text(struct buf *out, const char *text)
{
  if (is_plain(text)) {
    buf_puts(out, text);
    return;
  }
  buf_putc(out, '"');
  for (const char *p = text; *p != '\0'; p++) {
    if (*p == '"' || *p == '\\')
      buf_putc(out, '\\');
    buf_putc(out, (unsigned char)*p < 0x20 || *p == 0x7F ? ' ' : *p);
  }
  buf_putc(out, '"');
}

/* ---- a station, key by key ---- */

static void add_key(struct intake_key_list *keys, const char *path, const char *yaml,
                    const char *aside)
{
  BUG_IF(keys->count >= INTAKE_KEYS);
  if (yaml)
    keys->list[keys->count++] = (struct intake_key){path, yaml, aside, true};
}

static const char *quoted(struct intake *in, const char *text)
{
  struct buf out;
  const char *copy;

  if (!text)
    return NULL;
  buf_init(&out, 2 * strlen(text) + 16);
  intake_yaml_text(&out, text);
  copy = intake_text(in, "%s", out.text);
  buf_release(&out);
  return copy;
}

/* {parked: ..., work: ...} of what is given; NULL when `needed` is not. */
static const char *map_of(struct intake *in, const char *const (*pairs)[2], int count, int needed)
{
  struct buf out;
  const char *copy = NULL;

  buf_init(&out, 1 << 20); /* of cells, whose length is bounded */
  for (int i = 0; i < count; i++)
    if (pairs[i][1])
      buf_printf(&out, "%s%s: %s", out.used > 0 ? ", " : "", pairs[i][0], pairs[i][1]);
  if (out.used > 0 && (needed < 0 || pairs[needed][1]))
    copy = intake_text(in, "{%s}", out.text);
  buf_release(&out);
  return copy;
}

/* "a; b" as [a, b] */
static const char *list_of(struct intake *in, const char *text)
{
  struct buf out;
  const char *copy, *glue = "[";

  if (!text)
    return NULL;
  buf_init(&out, 5 * strlen(text) + 16);
  for (const char *p = text; *p != '\0';) {
    size_t length = strcspn(p, ";\n");
    const char *end = p + length;

    while (p < end && *p == ' ')
      p++;
    while (end > p && end[-1] == ' ')
      end--;
    if (end > p) {
      buf_puts(&out, glue);
      intake_yaml_text(&out, intake_text(in, "%.*s", (int)(end - p), p));
      glue = ", ";
    }
    p += strcspn(p, ";\n");
    p += *p != '\0';
  }
  copy = out.used > 0 ? intake_text(in, "%s]", out.text) : NULL;
  buf_release(&out);
  return copy;
}

static const char *about(const struct intake_value *v)
{
  return v->text && v->about ? "the list says about" : NULL;
}

void intake_station_keys(struct intake *in, const struct intake_station *s,
                         struct intake_key_list *keys)
{
  const char *const glass[][2] = {{"colour", s->colour},
                                  {"shape", s->shape},
                                  {"letter", s->letter ? quoted(in, s->letter) : NULL}};
  const char *const wear[][2] = {{"what", quoted(in, s->wear)},
                                 {"source", quoted(in, s->wear_source)}};
  const char *const opening[][2] = {{"parked", VALUE(s, FIELD_DOWN).text},
                                    {"work", VALUE(s, FIELD_MARK).text},
                                    {"most", VALUE(s, FIELD_TOP).text}};
  bool renamed = strcmp(s->id, s->written_id) != 0;

  keys->count = 0;
  add_key(keys, "name", quoted(in, s->name), NULL);
  add_key(keys, "was", renamed ? quoted(in, s->written_id) : NULL, NULL);
  add_key(keys, "kind",
          s->kind < 0 ? "other" : facility_kind_name((enum facility_station_kind)s->kind),
          s->kind < 0 ? "the list does not say" : NULL);
  add_key(keys, "room", s->room, NULL);
  add_key(keys, "main", s->main, NULL);
  add_key(keys, "in service", s->out_of_service ? "no" : NULL, NULL);
  add_key(keys, "chemistry", quoted(in, s->chemistry), NULL);
  add_key(keys, "not here", list_of(in, s->not_here), NULL);
  add_key(keys, "glass mark", map_of(in, glass, 3, -1), NULL);
  add_key(keys, "wear", map_of(in, wear, 2, 1), NULL);
  add_key(keys, "call", quoted(in, s->call), NULL);
  add_key(keys, "width", VALUE(s, FIELD_WIDTH).text, about(&VALUE(s, FIELD_WIDTH)));
  add_key(keys, "opening", map_of(in, opening, 3, 1), NULL);
  add_key(keys, "flow", s->flow, s->flow_aside);
  add_key(keys, "note", quoted(in, s->note), NULL);
}

void intake_station_leaves(struct intake *in, const struct intake_station *s,
                           struct intake_key_list *leaves)
{
  struct intake_key_list keys;
  bool has_room = intake_column_of(in, FIELD_ROOM), has_main = intake_column_of(in, FIELD_MAIN);
  const char *const parts[][2] = {{"glass mark, colour", s->colour},
                                  {"glass mark, shape", s->shape},
                                  {"glass mark, letter", s->letter ? quoted(in, s->letter) : NULL},
                                  {"wear, what", quoted(in, s->wear)},
                                  {"wear, source", quoted(in, s->wear_source)},
                                  {"opening, parked", VALUE(s, FIELD_DOWN).text},
                                  {"opening, work", VALUE(s, FIELD_MARK).text},
                                  {"opening, most", VALUE(s, FIELD_TOP).text}};

  intake_station_keys(in, s, &keys);
  leaves->count = 0;
  for (int i = 0; i < keys.count; i++) {
    struct intake_key key = keys.list[i];

    if (strcmp(key.path, "glass mark") == 0 || strcmp(key.path, "wear") == 0 ||
        strcmp(key.path, "opening") == 0 || strcmp(key.path, "flow") == 0)
      continue;
    key.listed = !(strcmp(key.path, "kind") == 0 && s->kind < 0) &&
                 (strcmp(key.path, "room") != 0 || has_room) &&
                 (strcmp(key.path, "main") != 0 || has_main) && strcmp(key.path, "was") != 0;
    leaves->list[leaves->count++] = key;
  }
  for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
    add_key(leaves, parts[i][0], parts[i][1], NULL);
  for (int i = 0; i < s->flow_count; i++) {
    const struct intake_flow_key *f = &s->flow_keys[i];

    add_key(leaves,
            intake_text(in, "flow, %s%s%s", s->flow_form, f->key ? ", " : "", f->key ? f->key : ""),
            f->text, NULL);
    leaves->list[leaves->count - 1].listed = f->listed;
  }
}

static void write_station(struct intake *in, const struct intake_station *s, struct buf *out)
{
  struct intake_key_list keys;
  const struct intake_column *id = intake_column_of(in, FIELD_ID);

  intake_station_keys(in, s, &keys);
  buf_printf(out, "  %s:   # %s\n", s->id, intake_place(in, s->row, id->column));
  for (int i = 0; i < keys.count; i++) {
    buf_printf(out, "    %s: %s", keys.list[i].path, keys.list[i].yaml);
    if (keys.list[i].aside)
      buf_printf(out, "   # %s", keys.list[i].aside);
    buf_putc(out, '\n');
  }
}

/* ---- the plant ---- */

static void write_named(struct intake *in, const struct intake_named *list, int count,
                        const char *section, struct buf *out)
{
  buf_printf(out, "\n%s:\n", section);
  for (int i = 0; i < count; i++) {
    buf_printf(out, "  %s: {", list[i].id);
    if (strcmp(list[i].id, list[i].written) != 0) {
      buf_puts(out, "name: ");
      intake_yaml_text(out, list[i].written);
    }
    buf_puts(out, "}\n");
  }
  (void)in;
}

static void write_mains(struct intake *in, struct buf *out)
{
  const struct intake_answer *mains = intake_answer_find(in, "exhaust mains");

  buf_puts(
      out,
      "\n# What each exhaust main can draw, all its stations together: the total at its fan.\n");
  if (mains->open && !mains->text)
    buf_puts(out,
             "# Nobody said whether acids and solvents share one main: all stand on one here.\n");
  buf_puts(out, "mains:\n");
  for (int i = 0; i < in->main_count; i++) {
    const struct intake_named *m = &in->mains[i];
    const char *total = intake_said(in, intake_text(in, "exhaust total, %s", m->id));
    bool named = strcmp(m->id, m->written) != 0;

    buf_printf(out, "  %s: {", m->id);
    if (named) {
      buf_puts(out, "name: ");
      intake_yaml_text(out, m->written);
    }
    if (total)
      buf_printf(out, "%scapacity: {value: %s}}   # as answered\n", named ? ", " : "", total);
    else
      buf_puts(
          out,
          "}   # not known yet: capacity: {value: 9000 m3/h \302\261 10 %}, from the balancing "
          "report\n");
  }
}

static const char *flow_in(struct intake *in, double flow_m3_s, double one_m3_s, const char *unit)
{
  double value = flow_m3_s / one_m3_s;

  return intake_text(in, value >= 1000.0 ? "%.0f %s" : "%.4g %s", value, unit);
}

/* The offset over all rooms, shared equally: the list does not say which room leaks.  The rooms'
 * shares count as independent, so each has the root of their number too much ± for the sum to keep
 * that of the answer. */
static const char *offset_of_room(struct intake *in)
{
  const char *said = intake_said(in, "supplied minus exhausted");
  struct units_quantity total, one;

  if (!said)
    return "0 m3/h";
  if (in->room_count == 1)
    return said;
  BUG_IF(units_parse(said, UNITS_FLOW, UNITS_NOTHING, &total, NULL) != ERR_OK);

  const char *unit = said + strspn(said, "+.0123456789 "), *end = unit;

  while (*end != '\0' && *end != ' ' && *end != '+' && strncmp(end, "\302\261", 2) != 0)
    end++;
  unit = intake_text(in, "%.*s", (int)(end - unit), unit);
  if (units_parse(intake_text(in, "1 %s", unit), UNITS_FLOW, UNITS_NOTHING, &one, NULL) != ERR_OK) {
    unit = "m3/s"; /* written in a way of its own: "1e3 m\302\263/h" */
    one.si = 1.0;
  }

  const char *share = flow_in(in, total.si / in->room_count, one.si, unit);

  if (!total.has_plus_minus)
    return share;
  return intake_text(in, "%s \302\261 %s", share,
                     flow_in(in, total.plus_minus_si / sqrt(in->room_count), one.si, unit));
}

static bool is_taken(const struct intake *in, const char *id)
{
  for (int i = 0; i < in->station_count; i++)
    if (strcmp(in->stations[i].id, id) == 0)
      return true;
  for (int i = 0; i < in->room_count + in->main_count; i++)
    if (strcmp(i < in->room_count ? in->rooms[i].id : in->mains[i - in->room_count].id, id) == 0)
      return true;
  return false;
}

static bool is_id(const char *text)
{
  return strlen(text) <= 32 && ((text[0] | 32) >= 'a' && (text[0] | 32) <= 'z') &&
         text[strspn(text, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_-")] ==
             '\0';
}

static void write_supply(struct intake *in, struct buf *out)
{
  const char *most = intake_said(in, "supply maximum"), *id = intake_said(in, "supply");
  const char *name = id && !is_id(id) ? id : NULL;

  id = id && is_id(id) ? id : "MU";
  for (int i = 2; is_taken(in, id); i++)
    id = intake_text(in, "MU%d", i);
  if (!most) {
    buf_puts(
        out,
        "\n# The make-up air is not known yet. Its most stands in the balancing report. Then:\n"
        "# supplies:\n"
        "#   MU: {most: 15600 m3/h \302\261 10 %, feeds: {");
    for (int i = 0; i < in->room_count; i++)
      buf_printf(out, "%s%s: {follows exhaust: {offset: 600 m3/h}}", i > 0 ? ", " : "",
                 in->rooms[i].id);
    buf_puts(out, "}}\n");
    return;
  }
  buf_puts(
      out,
      "\n# The make-up unit gives each room what its stations draw and a little more, which leaks out.\n");
  if (!intake_said(in, "supplied minus exhausted"))
    buf_puts(out, "# How much more is not known: 0 stands here, and below under 'not counted'.\n");
  else if (in->room_count > 1)
    buf_puts(out,
             "# Supplied minus exhausted is known for all rooms together and shared equally here,\n"
             "# each share with as much \302\261 as leaves their sum the one that was answered.\n");
  buf_printf(out, "supplies:\n  %s:\n", id);
  if (name) {
    buf_puts(out, "    name: ");
    intake_yaml_text(out, name);
    buf_putc(out, '\n');
  }
  buf_printf(out, "    most: %s   # as answered\n    feeds:\n", most);
  for (int i = 0; i < in->room_count; i++)
    buf_printf(out, "      %s: {follows exhaust: {offset: %s}}\n", in->rooms[i].id,
               offset_of_room(in));
}

/* ---- the whole ---- */

static const char *base_name(const char *path)
{
  const char *slash = strrchr(path, '/');

  return slash ? slash + 1 : path;
}

static void write_comment(struct intake *in, struct buf *out, const char *text)
{
  for (const char *p = intake_text(in, "%s", text); *p != '\0'; p++)
    buf_putc(out, (unsigned char)*p < 0x20 ? ' ' : *p);
}

static void write_head(struct intake *in, struct buf *out)
{
  const char *name = intake_said(in, "name"), *label = intake_said(in, "label");
  const struct intake_result *r = &in->result;

  const char *schema = intake_said(in, "schema");

  buf_printf(out, "# yaml-language-server: $schema=%s\ninward: 1 suite\n",
             schema ? schema : "suite.schema.json");
  if (name) {
    buf_puts(out, "name: ");
    intake_yaml_text(out, name);
    buf_putc(out, '\n');
  }
  if (label) {
    buf_puts(out, "label: ");
    intake_yaml_text(out, label);
    buf_putc(out, '\n');
  }
  buf_puts(out, "# From the list ");
  write_comment(in, out, base_name(in->book->file));
  if (r->table[0] != '\0') {
    buf_puts(out, ", sheet ");
    write_comment(in, out, r->table);
  }
  buf_printf(out, ": %d of %d rows became stations.\n", r->station_count, r->row_count);
  buf_puts(
      out,
      "# Coarse: plant totals and the stations' flows, no ducts. A figure may say how sure it is:\n"
      "# 520 m3/h \302\261 10 %. The list can be read again: inward new LIST --into this file.\n");
}

static void write_not_counted_head(bool *any, struct buf *out)
{
  if (!*any)
    buf_puts(
        out,
        "\n# Left out here because nobody could say how much it draws. Every answer says so, for it\n"
        "# is too good by that. The balancing report has the rows.\nnot counted:\n");
  *any = true;
}

static void write_not_counted(struct intake *in, struct buf *out)
{
  bool any = false;

  for (int i = 0; i < in->station_count; i++) {
    const struct intake_station *s = &in->stations[i];

    if (s->flow)
      continue;
    write_not_counted_head(&any, out);
    buf_puts(out, "  - ");
    intake_yaml_text(out, s->written_id);
    buf_printf(out, "   # %s\n", intake_place(in, s->row, intake_column_of(in, FIELD_ID)->column));
  }
  for (int i = 0; i < in->row_out_count; i++) {
    write_not_counted_head(&any, out);
    buf_printf(out, "  - row %d of the list   # %s\n", in->rows_out[i] + 1,
               intake_place(in, in->rows_out[i], intake_column_of(in, FIELD_ID)->column));
  }
  if (intake_said(in, "supply maximum") && !intake_said(in, "supplied minus exhausted")) {
    write_not_counted_head(&any, out);
    buf_puts(out,
             "  - what leaks out of the rooms   # supplied minus exhausted, all sashes down\n");
  }
}

void intake_suite(struct intake *in, struct buf *out)
{
  intake_finish(in);
  write_head(in, out);
  write_named(in, in->rooms, in->room_count, "rooms", out);
  write_mains(in, out);
  write_supply(in, out);
  buf_puts(out, "\n# As in the list; behind each id stands its cell.\nstations:\n");
  for (int i = 0; i < in->station_count; i++)
    if (in->stations[i].flow)
      write_station(in, &in->stations[i], out);
  write_not_counted(in, out);
}
