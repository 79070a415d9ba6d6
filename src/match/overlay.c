/*
 * The fit as an overlay: each figure it makes better known, in the unit it was written in, with its new ±.
 *
 * A key that holds others is replaced whole by an overlay, so it is written whole: what the suite says, and
 * the new figures in it.
 */
#include "match/match_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { OVERLAY_SUITE_MOST = 9 << 20 }; /* bytes of a suite with its overlays, as one */

static const double least_shift_ratio = 0.02; /* of its ±: less is not worth a line */
static const double least_gain_ratio = 0.9;

enum { PATH_MOST = 240, LEVELS_MOST = 8 };

struct writing {
  const struct match_result *r;
  const struct facility_leaf *leaves;
  int count;
  const char **now; /* per leaf: its new text, or NULL */
  struct arena *arena;
  struct buf *out;
  const char **extra; /* per leaf: a key beside it that the suite does not have */
  int changed;
};

/* ---- texts ---- */

/* "95 Pa ± 5 Pa" -> "99 Pa ± 3 Pa"; the number times `factor`, ± as a share of the new one. */
static const char *scaled_part(struct arena *arena, const char *text, double factor,
                               double pm_ratio)
{
  char *end = NULL, *unit;
  double value = strtod(text, &end) * factor;
  size_t length;

  while (*end == ' ')
    end++;
  length = strcspn(end, "\xc2+"); /* up to its ±, or +/- */
  while (length > 0 && end[length - 1] == ' ')
    length--;
  unit = arena_strdup(arena, end);
  if (!unit)
    return text;
  unit[length] = '\0';
  if (isnan(pm_ratio))
    return arena_printf(arena, "%.4g%s%s", value, unit[0] ? " " : "", unit);
  return arena_printf(arena, "%.4g%s%s ± %.2g%s%s", value, unit[0] ? " " : "", unit,
                      fabs(value) * pm_ratio, unit[0] ? " " : "", unit);
}

static const char *scaled(struct arena *arena, const char *text, double factor, double pm_ratio,
                          bool second)
{
  char *first = arena_strdup(arena, text), *at = first ? strstr(first, " at ") : NULL;

  if (!first || (second && !at))
    return text;
  if (!at)
    return scaled_part(arena, first, factor, pm_ratio);
  *at = '\0';
  at += 4;
  return arena_printf(arena, "%s at %s",
                      second ? first : scaled_part(arena, first, factor, pm_ratio),
                      second ? scaled_part(arena, at, factor, pm_ratio) : at);
}

/* A list, "a; b; c": each of it; the first carries the ±. */
static const char *scaled_list(struct arena *arena, const char *text, double factor,
                               double pm_ratio)
{
  char *whole = arena_strdup(arena, text), *rest = NULL;
  struct buf out;
  const char *copy;

  buf_init(&out, 1 << 16);
  for (char *item = whole ? strtok_r(whole, ";", &rest) : NULL; item;
       item = strtok_r(NULL, ";", &rest)) {
    item += strspn(item, " ");
    buf_printf(&out, "%s%s", out.used ? "; " : "",
               scaled(arena, item, factor, out.used ? (double)NAN : pm_ratio, false));
  }
  copy = arena_strdup(arena, out.text);
  buf_release(&out);
  return copy ? copy : text;
}

/* ---- which leaf a figure is ---- */

static int find_leaf(const struct writing *w, const char *section, const char *id, const char *key)
{
  for (int i = 0; i < w->count; i++)
    if (strcmp(w->leaves[i].section, section) == 0 && w->leaves[i].id &&
        strcmp(w->leaves[i].id, id) == 0 && strcmp(w->leaves[i].key, key) == 0)
      return i;
  return -1;
}

static const char *section_of(const char *kind)
{
  static const char *const sections[][2] = {
      {"leak", "leaks"},    {"door", "doors"},       {"duct", "ducts"},
      {"fan", "fans"},      {"exhaust", "exhausts"}, {"supply", "supplies"},
      {"feed", "supplies"}, {"station", "stations"}, {"main", "mains"},
  };

  for (size_t i = 0; i < sizeof sections / sizeof sections[0]; i++)
    if (strcmp(kind, sections[i][0]) == 0)
      return sections[i][1];
  return "";
}

/* The id a section knows the part by, and what leads to its keys there. */
static void where(const struct writing *w, const struct facility_input *in, const char **id_out,
                  const char **before_out)
{
  char *id = arena_strdup(w->arena, in->part), *slash = id ? strchr(id, '/') : NULL;

  *id_out = id ? id : "";
  *before_out = "";
  if (strcmp(in->kind, "feed") != 0 || !slash)
    return;
  *slash = '\0';
  *before_out = arena_printf(w->arena, "feeds, %s, ", slash + 1);
}

static void change(struct writing *w, int leaf, double factor, double pm_ratio, bool second)
{
  const char *text;

  if (leaf < 0)
    return;
  text = w->now[leaf] ? w->now[leaf] : w->leaves[leaf].text;
  w->now[leaf] = strchr(text, ';') ? scaled_list(w->arena, text, factor, pm_ratio)
                                   : scaled(w->arena, text, factor, pm_ratio, second);
  w->changed++;
}

static bool ends_with(const char *text, const char *end)
{
  size_t a = strlen(text), b = strlen(end);

  return a >= b && strcmp(text + a - b, end) == 0;
}

static const char *but_end(const struct writing *w, const char *text, const char *end)
{
  char *copy = arena_strdup(w->arena, text);

  if (copy)
    copy[strlen(text) - strlen(end)] = '\0';
  return copy ? copy : "";
}

static void change_figure(struct writing *w, const struct match_figure *f)
{
  static const char at_flow[] = ", at flow", pair[] = "length and loss";
  const struct facility_input *in = &w->r->facility->inputs[f->index];
  const char *section = section_of(in->kind), *id, *before, *key = in->key;
  double factor, pm_ratio = f->pm_si / fabs(f->fitted_si);

  if (!(fabs(in->value_si) > 0.0))
    return;
  factor = f->fitted_si / in->value_si;
  where(w, in, &id, &before);
  if (ends_with(key, pair)) {
    const char *stem = but_end(w, key, pair);

    change(w, find_leaf(w, section, id, arena_printf(w->arena, "%slength", stem)), factor, pm_ratio,
           false);
    change(w, find_leaf(w, section, id, arena_printf(w->arena, "%sloss", stem)), factor, NAN,
           false);
    return;
  }
  if (strcmp(key, "shut-off") == 0)
    change(w, find_leaf(w, section, id, "falls"), factor, NAN, false);
  if (ends_with(key, at_flow))
    change(
        w,
        find_leaf(w, section, id, arena_printf(w->arena, "%s%s", before, but_end(w, key, at_flow))),
        factor, pm_ratio, true);
  else
    change(w, find_leaf(w, section, id, arena_printf(w->arena, "%s%s", before, key)), factor,
           pm_ratio, false);
}

/* A leak turned about the flow at its pivot: what it is at the drop it was written at. */
static void change_exponent(struct writing *w, const struct match_figure *f)
{
  const struct facility_leak *leak = &w->r->facility->leaks[f->index];
  int flow = find_leaf(w, "leaks", leak->part.id, "flow");
  int c = find_leaf(w, "leaks", leak->part.id, "c"), n = find_leaf(w, "leaks", leak->part.id, "n");
  double by = f->fitted_si - f->written_si, at_Pa = 1.0;
  struct units_quantity read;

  if (flow >= 0 && units_parse(w->leaves[flow].text, UNITS_FLOW, UNITS_PRESSURE_DIFFERENCE, &read,
                               NULL) == ERR_OK)
    at_Pa = read.at_si;
  change(w, flow >= 0 ? flow : c, pow(at_Pa / w->r->pivot_Pa[f->index], by), NAN, false);
  if (n >= 0)
    w->now[n] = arena_printf(w->arena, "%.4g", f->fitted_si);
  else if (flow >= 0)
    w->extra[flow] = arena_printf(w->arena, "n: %.4g", f->fitted_si);
}

static bool is_worth(const struct match_figure *f)
{
  return f->known != MATCH_NOT &&
         (fabs(f->shift_ratio) > least_shift_ratio || f->left_ratio < least_gain_ratio);
}

/* Exponents first, so that the ± of the size is what stands in the end. */
static void change_all(struct writing *w)
{
  for (int k = 0; k < w->r->figure_count; k++)
    if (w->r->figures[k].of == MATCH_OF_EXPONENT && is_worth(&w->r->figures[k]))
      change_exponent(w, &w->r->figures[k]);
  for (int k = 0; k < w->r->figure_count; k++)
    if (w->r->figures[k].of == MATCH_OF_FIGURE && is_worth(&w->r->figures[k]))
      change_figure(w, &w->r->figures[k]);
}

/* ---- YAML ---- */

static void put_scalar(struct buf *out, const char *text)
{
  bool plain = text[0] && !strpbrk(text, ",[]{}#:&*!|>'\"@`\\");

  if (plain) {
    buf_puts(out, text);
    return;
  }
  buf_putc(out, '"');
  for (; *text; text++)
    buf_printf(out, "%s%c", *text == '"' || *text == '\\' ? "\\" : "", *text);
  buf_putc(out, '"');
}

static void put_value(const struct writing *w, int leaf)
{
  const char *text = w->now[leaf] ? w->now[leaf] : w->leaves[leaf].text;
  char *whole, *rest = NULL;
  int count = 0;

  if (!strchr(text, ';')) {
    put_scalar(w->out, text);
    return;
  }
  whole = arena_strdup(w->arena, text);
  buf_putc(w->out, '[');
  for (char *item = whole ? strtok_r(whole, ";", &rest) : NULL; item;
       item = strtok_r(NULL, ";", &rest)) {
    item += strspn(item, " ");
    buf_puts(w->out, count++ ? ", " : "");
    put_scalar(w->out, item);
  }
  buf_putc(w->out, ']');
}

/* The piece of a path at that depth, and what is left of it; false: it has no such piece. */
static bool piece(const char *path, int depth, const char **from, size_t *length, bool *last)
{
  for (; depth > 0; depth--) {
    path = strstr(path, ", ");
    if (!path)
      return false;
    path += 2;
  }
  *from = path;
  *last = strstr(path, ", ") == NULL;
  *length = *last ? strlen(path) : (size_t)(strstr(path, ", ") - path);
  return true;
}

/* Do two leaves agree in the first `depth` pieces? */
static bool same_path(const char *a, const char *b, int depth)
{
  for (int d = 0; d < depth; d++) {
    const char *x, *y;
    size_t m, n;
    bool last;

    if (!piece(a, d, &x, &m, &last) || !piece(b, d, &y, &n, &last) || m != n ||
        strncmp(x, y, n) != 0)
      return false;
  }
  return true;
}

static bool same_part(const struct facility_leaf *a, const struct facility_leaf *b)
{
  return a->id && b->id && strcmp(a->section, b->section) == 0 && strcmp(a->id, b->id) == 0;
}

struct level {
  int depth, next, end; /* leaves next..end share the first `depth` pieces */
};

/* Leaves from..end, which share their first `depth` pieces, as what stands behind the last of these. */
static void put_nested(const struct writing *w, int from, int end, int depth)
{
  struct level stack[LEVELS_MOST] = {{depth, from, end}};
  int top = 0;
  bool opened = true;

  buf_putc(w->out, '{');
  while (top >= 0) {
    struct level *l = &stack[top];
    const char *name = "";
    size_t length = 0;
    bool last = true;
    int i = l->next, until = i;

    if (i == l->end) {
      buf_putc(w->out, '}');
      top--;
      continue;
    }
    buf_puts(w->out, opened ? "" : ", ");
    opened = false;
    piece(w->leaves[i].key, l->depth, &name, &length, &last);
    buf_add(w->out, name, length);
    buf_puts(w->out, ": ");
    while (until < l->end && same_path(w->leaves[i].key, w->leaves[until].key, l->depth + 1))
      until++;
    l->next = until;
    if (last) {
      put_value(w, i);
    } else {
      BUG_IF(top + 1 == LEVELS_MOST);
      stack[++top] = (struct level){l->depth + 1, i, until};
      buf_putc(w->out, '{');
      opened = true;
    }
  }
}

/* How many pieces name what an overlay replaces whole: of a feed three, else one. */
static int whole_depth(const struct facility_leaf *leaf)
{
  return strcmp(leaf->section, "supplies") == 0 && strncmp(leaf->key, "feeds, ", 7) == 0 ? 3 : 1;
}

static int end_of_whole(const struct writing *w, int from)
{
  int until = from + 1;

  while (until < w->count && same_part(&w->leaves[from], &w->leaves[until]) &&
         same_path(w->leaves[from].key, w->leaves[until].key, whole_depth(&w->leaves[from])))
    until++;
  return until;
}

static bool any_changed(const struct writing *w, int from, int until)
{
  for (int i = from; i < until; i++)
    if (w->now[i] || w->extra[i])
      return true;
  return false;
}

/* What leads to a whole key: its section, its part, of a feed its room; each once. */
struct leading {
  const struct facility_leaf *last; /* put before, or NULL */
};

static void put_leading(const struct writing *w, struct leading *l,
                        const struct facility_leaf *leaf)
{
  bool feed = whole_depth(leaf) == 3, section = l->last && !strcmp(l->last->section, leaf->section);
  bool part = l->last && same_part(l->last, leaf);
  const char *room = "";
  size_t length = 0;
  bool last;

  if (!section)
    buf_printf(w->out, "  %s:\n", leaf->section);
  if (!part)
    buf_printf(w->out, "    %s:\n", leaf->id);
  if (feed && !(part && whole_depth(l->last) == 3))
    buf_puts(w->out, "      feeds:\n");
  if (feed && !(part && same_path(l->last->key, leaf->key, 2)) &&
      piece(leaf->key, 1, &room, &length, &last))
    buf_printf(w->out, "        %.*s:\n", (int)length, room);
  l->last = leaf;
}

static void put_key(const struct writing *w, int from, int until)
{
  int depth = whole_depth(&w->leaves[from]);
  const char *name = "";
  size_t length = 0;
  bool last = true;

  piece(w->leaves[from].key, depth - 1, &name, &length, &last);
  buf_printf(w->out, "%s%.*s: ", depth == 3 ? "          " : "      ", (int)length, name);
  if (last && until == from + 1)
    put_value(w, from);
  else
    put_nested(w, from, until, depth);
  buf_putc(w->out, '\n');
  if (w->extra[from])
    buf_printf(w->out, "      %s\n", w->extra[from]);
}

static void put_changes(const struct writing *w)
{
  struct leading leading = {NULL};

  buf_puts(w->out, "change:\n");
  for (int i = 0; i < w->count; i = end_of_whole(w, i)) {
    if (!w->leaves[i].id || !any_changed(w, i, end_of_whole(w, i)))
      continue;
    put_leading(w, &leading, &w->leaves[i]);
    put_key(w, i, end_of_whole(w, i));
  }
}

static void put_head(const struct writing *w, const char *readings_file)
{
  const struct match_result *r = w->r;

  buf_puts(w->out, "inward: 1 overlay\nname: ");
  put_scalar(w->out, "as fitted to what was measured");
  buf_printf(w->out, "\nnote: |\n  Made by inward match from %d readings of %s%s%s%s%s\n",
             r->readings->count, readings_file, r->readings->date ? ", read " : "",
             r->readings->date ? r->readings->date : "", r->readings->by ? " by " : "",
             r->readings->by ? r->readings->by : "");
  if (r->facility->label)
    buf_printf(w->out, "  %s.\n", r->facility->label);
  buf_printf(
      w->out,
      "  %s. Suite %.12s.\n"
      "  Each ± is the figure's own. Those told only together are known better together than\n"
      "  they look here, one by one. Look at each before you believe it.\n",
      match_verdict_words(r->verdict), r->facility->sha256);
}

bool match_overlay(const struct match_result *result, const struct facility_leaf *leaves, int count,
                   const char *readings_file, struct arena *arena, struct buf *out)
{
  struct writing w = {.r = result,
                      .leaves = leaves,
                      .count = count,
                      .now = ARENA_ARRAY(arena, const char *, (size_t)count + 1),
                      .extra = ARENA_ARRAY(arena, const char *, (size_t)count + 1),
                      .arena = arena,
                      .out = out};

  if (!w.now || !w.extra)
    return false;
  change_all(&w);
  if (w.changed == 0)
    return false;
  put_head(&w, readings_file);
  put_changes(&w);
  return true;
}

enum err_code match_write(const struct match_result *result, const struct facility_text *texts,
                          int text_count, const char *readings_file, struct arena *arena,
                          struct buf *out, struct err *err)
{
  const struct facility_leaf *leaves = NULL;
  struct complaints complaints;
  struct buf merged;
  enum err_code code = ERR_OK;
  int count;

  complaints_init(&complaints, arena);
  buf_init(&merged, OVERLAY_SUITE_MOST);
  if (!facility_print_suite(&texts[0], &texts[1], text_count - 1, &complaints, &merged))
    code = err_set(err, ERR_INPUT, "the suite with its overlays cannot be written as one");
  if (code == ERR_OK) {
    struct facility_text text = {texts[0].file, merged.text, merged.used};

    count = facility_leaves(&text, arena, &complaints, &leaves);
    if (count < 0 || !match_overlay(result, leaves, count, readings_file, arena, out))
      code = err_set(err, ERR_INPUT, "no figure is known better, so there is nothing to write");
  }
  buf_release(&merged);
  return code;
}
