#include "etch/etch_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- words ---- */

static char folded(char c)
{
  if (c >= 'A' && c <= 'Z')
    return (char)(c - 'A' + 'a');
  return c == '-' || c == '_' ? ' ' : c;
}

/* Alike but for capitals and hyphens. */
static bool same_word(const char *a, size_t length, const char *b)
{
  if (strlen(b) != length)
    return false;
  for (size_t i = 0; i < length; i++)
    if (folded(a[i]) != folded(b[i]))
      return false;
  return true;
}

bool etch_same_word(const char *a, const char *b)
{
  return same_word(a, strlen(a), b);
}

/* `word` is one of a list parted by semicolons. */
static bool in_list(const char *list, const char *word)
{
  while (*list) {
    size_t length = strcspn(list, ";");

    if (same_word(list, length, word))
      return true;
    list += length;
    list += *list == ';';
  }
  return false;
}

static bool is_called(const char *word, const char *id, const char *name, const char *aliases)
{
  return same_word(id, strlen(id), word) || same_word(name, strlen(name), word) ||
         in_list(aliases, word);
}

static void closer(const char *word, const char *id, int *least, const char **best)
{
  int far = chem_slip(word, id);

  if (far > 0 && far < *least) {
    *least = far;
    *best = id;
  }
}

/* ", " between ids, as far as there is room. */
static void add_id(char *list, size_t room, const char *id)
{
  size_t used = strlen(list);

  if (used + strlen(id) + 3 < room)
    snprintf(list + used, room - used, "%s%s", used ? ", " : "", id);
}

/* ---- films ---- */

static enum err_code no_film(const struct etch_tables *t, const char *text, struct err *err)
{
  const char *best = NULL;
  int least = 3;

  for (int i = 0; i < t->film_count; i++) {
    closer(text, t->films[i].id, &least, &best);
    closer(text, t->films[i].name, &least, &best);
  }
  if (best)
    return err_set(err, ERR_INPUT, "no film '%.40s'; did you mean '%s'?", text, best);
  return err_set(err, ERR_INPUT,
                 "no film '%.40s' is listed; 'inward etch --list' shows those that are", text);
}

const struct etch_film *etch_find_film(const struct etch_tables *t, const char *text,
                                       struct err *err)
{
  const struct etch_film *found = NULL;
  char several[140] = "";
  int count = 0;

  for (int i = 0; i < t->film_count; i++)
    if (is_called(text, t->films[i].id, t->films[i].name, t->film_aliases[i]))
      return &t->films[i];
  for (int i = 0; i < t->film_count; i++)
    if (same_word(t->films[i].kind, strlen(t->films[i].kind), text)) {
      found = &t->films[i];
      add_id(several, sizeof several, found->id);
      count++;
    }
  if (count == 0) {
    found = etch_own_film(t, text);
    if (!found)
      no_film(t, text, err);
    return found;
  }
  if (count > 1)
    err_write(err, ERR_INPUT, "'%.20s' is several: %s; which?", text, several);
  return count == 1 ? found : NULL;
}

/* ---- a ratio that does not say its order ---- */

/* The first "5:1" in the text, and whether there are more than two numbers. */
static bool bare_ratio(const char *text, double *a, double *b, bool *more)
{
  for (const char *p = text; *p; p++) {
    char *end;

    if (*p < '0' || *p > '9')
      continue;
    *a = strtod(p, &end);
    p = end;
    while (*p == ' ')
      p++;
    if (*p == ':') {
      *b = strtod(p + 1, &end);
      while (*end == ' ')
        end++;
      *more = *end == ':';
      return end > p + 1;
    }
    if (!*p)
      return false;
  }
  return false;
}

static bool has_word(const char *text, const char *word)
{
  size_t length = strlen(word);

  for (; *text; text++) {
    size_t i = 0;

    while (i < length && text[i] && folded(text[i]) == word[i])
      i++;
    if (i == length)
      return true;
  }
  return false;
}

static enum err_code refuse_ratio(const char *text, double a, double b, bool more, struct err *err)
{
  bool buffered = has_word(text, "bhf") || has_word(text, "boe") || has_word(text, "buffer");
  const char *first = buffered ? "nh4f-40" : "water";

  if (more)
    return err_set(
        err, ERR_INPUT,
        "'%.40s': the order of a bare ratio differs between laboratories; name each part, "
        "as \"16 h3po4-85 + 1 hno3-70 + 2 water\"",
        text);
  if (!buffered && !has_word(text, "hf") && !has_word(text, "hydrofluoric"))
    return err_set(
        err, ERR_INPUT,
        "'%.40s': a bare ratio does not say which part is which; name them, as \"%g water "
        "+ %g hf-49\"",
        text, a, b);
  return err_set(err, ERR_INPUT,
                 "'%.30s': which number is which? \"%g %s + %g hf-49\" or \"%g hf-49 + %g %s\"",
                 text, a, first, b, a, b, first);
}

/* ---- parts ---- */

enum { PARTS_MOST = 6 };

struct parts {
  int count;
  double volume[PARTS_MOST];
  struct chem_stock stock[PARTS_MOST];
};

static enum err_code read_part(const struct etch_tables *t, const char *text, size_t length,
                               struct parts *parts, struct err *err)
{
  char word[ETCH_TEXT_MOST];
  char *name;
  double volume;

  memcpy(word, text, length);
  while (length > 0 && word[length - 1] == ' ')
    length--;
  word[length] = '\0';
  volume = strtod(word, &name);
  if (name == word || *name != ' ' || !(volume > 0 && volume < 1e6))
    return err_set(err, ERR_INPUT,
                   "part '%.40s': a number of parts and a bottle are wanted, as \"10 water + 1 "
                   "hf-49\"",
                   word);
  while (*name == ' ')
    name++;
  parts->volume[parts->count] = volume;
  return chem_part(t->chem, name, &parts->stock[parts->count++], err);
}

static enum err_code read_parts(const struct etch_tables *t, const char *text, struct parts *parts,
                                struct err *err)
{
  enum err_code code = ERR_OK;

  parts->count = 0;
  while (code == ERR_OK) {
    size_t length = strcspn(text, "+");

    while (*text == ' ' && length > 0) {
      text++;
      length--;
    }
    if (parts->count == PARTS_MOST)
      return err_set(err, ERR_INPUT, "more than %d parts", PARTS_MOST);
    code = read_part(t, text, length, parts, err);
    text += length;
    if (!*text)
      break;
    text++;
  }
  return code;
}

static bool same_stock(const struct chem_stock *a, const struct chem_stock *b)
{
  return a->substance == b->substance && fabs(a->assay_ratio - b->assay_ratio) < 0.011;
}

/* The same bottles in the same proportion, in any order.  "About 1 in 100" is how well parts are poured. */
static bool same_parts(const struct parts *a, const struct parts *b)
{
  double scale = 0;

  if (a->count != b->count)
    return false;
  for (int i = 0; i < a->count; i++) {
    int match = -1;

    for (int j = 0; j < b->count; j++)
      if (same_stock(&a->stock[i], &b->stock[j]))
        match = j;
    if (match < 0)
      return false;
    double ratio = a->volume[i] / b->volume[match];

    if (scale == 0)
      scale = ratio;
    if (fabs(ratio / scale - 1) > 0.01)
      return false;
  }
  return true;
}

static double stock_mol_m3(const struct chem_stock *stock)
{
  BUG_IF(!stock->substance);
  return stock->assay_ratio * chem_stock_density_kg_m3(stock, 293.15, NULL) /
         stock->substance->facts[CHEM_MOLAR_MASS].si;
}

static int part_of(const struct parts *parts, const char *substance)
{
  for (int i = 0; i < parts->count; i++) {
    const struct chem_substance *s = parts->stock[i].substance;

    BUG_IF(!s);
    if (strcmp(s->id, substance) == 0)
      return i;
  }
  return -1;
}

static const struct etch_bath *bath_called(const struct etch_tables *t, const char *id)
{
  for (int i = 0; i < t->bath_count; i++)
    if (strcmp(t->baths[i].id, id) == 0)
      return &t->baths[i];
  return NULL;
}

/* HF alone or with water.  Volumes are added as if nothing shrank, as the sources do. */
static bool take_dilution(const struct etch_tables *t, const struct parts *parts,
                          struct etch_place *out)
{
  int hf = part_of(parts, "hf"), water = part_of(parts, "water");
  double acid, total;

  if (hf < 0 || parts->count > 2 || (parts->count == 2 && water < 0))
    return false;
  acid = parts->volume[hf];
  total = acid + (water < 0 ? 0 : parts->volume[water]);
  out->bath = bath_called(t, "hf-water");
  if (fabs(parts->stock[hf].assay_ratio - 0.49) < 0.011)
    out->water_parts = (total - acid) / acid;
  out->hf_mol_m3 = acid / total * stock_mol_m3(&parts->stock[hf]);
  return true;
}

static enum err_code take_parts(const struct etch_tables *t, const char *text,
                                struct etch_place *out, struct err *err)
{
  struct parts parts, listed;
  enum err_code code = read_parts(t, text, &parts, err);

  if (code != ERR_OK)
    return code;
  out->parts = text;
  if (take_dilution(t, &parts, out))
    return ERR_OK;
  for (int i = 0; i < t->bath_count; i++) {
    if (!t->bath_parts[i][0] || read_parts(t, t->bath_parts[i], &listed, NULL) != ERR_OK)
      continue;
    if (same_parts(&parts, &listed)) {
      out->bath = &t->baths[i];
      return ERR_OK;
    }
  }
  return err_set(
      err, ERR_INPUT,
      "no bath of these parts is listed ('%.60s'); 'inward etch --list' shows the parts of "
      "those that are",
      text);
}

/* "KOH@30wt%", "hf@48wt%", or a bottle: "hf-49". */
static bool take_stock(const struct etch_tables *t, const struct chem_stock *stock,
                       struct etch_place *out)
{
  struct parts parts = {.count = 1, .volume = {1}, .stock = {*stock}}, listed;

  if (take_dilution(t, &parts, out))
    return true;
  for (int i = 0; i < t->bath_count; i++) {
    out->bath = &t->baths[i];
    out->parts = out->bath->parts;
    if (!stock->solid && strcmp(out->bath->strength_of, stock->substance->id) == 0) {
      out->strength_ratio = stock->assay_ratio;
      return true;
    }
    if (out->bath->parts[0] && read_parts(t, out->bath->parts, &listed, NULL) == ERR_OK &&
        same_parts(&parts, &listed))
      return true;
  }
  out->bath = NULL;
  return false;
}

double etch_agent_mol_m3(const struct etch_tables *t, const struct etch_place *place,
                         const char *agent)
{
  struct parts parts;
  double amount = 0, volume = 0;

  if (strcmp(place->bath->strength_of, agent) == 0) {
    const struct chem_substance *s = chem_find(t->chem, agent);

    BUG_IF(!s);
    return place->strength_ratio *
           chem_solution_density_kg_m3(s, place->strength_ratio, 293.15, NULL) /
           s->facts[CHEM_MOLAR_MASS].si;
  }
  if (!place->parts[0] || read_parts(t, place->parts, &parts, NULL) != ERR_OK)
    return NAN;
  for (int i = 0; i < parts.count; i++) {
    const struct chem_stock *stock = &parts.stock[i];

    BUG_IF(!stock->substance);
    volume += parts.volume[i];
    if (strcmp(stock->substance->id, agent) == 0)
      amount += parts.volume[i] * stock_mol_m3(stock);
  }
  return amount / volume;
}

/* ---- baths ---- */

static enum err_code no_bath(const struct etch_tables *t, const char *text, struct err *err)
{
  const char *best = NULL;
  int least = 3;

  for (int i = 0; i < t->bath_count; i++)
    closer(text, t->baths[i].id, &least, &best);
  if (best)
    return err_set(err, ERR_INPUT, "no bath '%.40s'; did you mean '%s'?", text, best);
  return err_set(
      err, ERR_INPUT,
      "no bath '%.40s' is listed; 'inward etch --list' shows those that are, or name its "
      "parts: \"10 water + 1 hf-49\"",
      text);
}

/* A listed name for some dilution of hydrofluoric acid is that dilution. */
static void take_if_dilution(const struct etch_tables *t, struct etch_place *out)
{
  struct parts parts;

  if (read_parts(t, out->parts, &parts, NULL) == ERR_OK)
    take_dilution(t, &parts, out);
}

/* A substance by its name alone is the bath that is plainly of it. */
static struct chem_baths plainly_of(const struct etch_tables *t, const char *text)
{
  const struct chem_substance *s = chem_find(t->chem, text);
  struct chem_baths found = {0};

  for (int row = 0; s && row < t->bath_table->row_count; row++)
    if (strcmp(chem_cell(t->bath_table, row, "plain"), s->id) == 0)
      found.rows[found.count++] = row;
  return found;
}

/* Of a ready-made kind whose parts nobody says, those of its kind that have rates. */
static struct chem_baths rows_called(const struct etch_tables *t, const char *text)
{
  struct chem_baths plain = plainly_of(t, text), found;

  if (plain.count > 0)
    return plain;
  found = chem_baths_called(t->bath_table, text);
  if (found.count == 1 && !*chem_cell(t->bath_table, found.rows[0], "rates") &&
      *chem_cell(t->bath_table, found.rows[0], "ready"))
    found = chem_baths_of(t->bath_table, chem_cell(t->bath_table, found.rows[0], "family"));
  return found;
}

/* By id, name or alias; ERR_INPUT when it is a word for several, or for one that needs its parts. */
static enum err_code by_name(const struct etch_tables *t, const char *text, struct etch_place *out,
                             struct err *err)
{
  const struct etch_bath *found = NULL;
  struct chem_baths called = rows_called(t, text);
  char several[120] = "";
  int count = 0;

  for (int i = 0; i < t->bath_count; i++)
    for (int k = 0; k < called.count; k++)
      if (called.rows[k] == t->bath_rows[i]) {
        found = &t->baths[i];
        add_id(several, sizeof several, found->id);
        count++;
      }
  if (count > 1)
    return err_set(err, ERR_INPUT,
                   "'%.20s' is several: %s; which? 'inward etch --list' has their parts", text,
                   several);
  if (count == 1 && strcmp(found->id, "hf-water") == 0)
    return err_set(
        err, ERR_INPUT,
        "'%.20s' does not say how dilute it is: \"10 water + 1 hf-49\", or \"hf-49\" as it is "
        "in the bottle",
        text);
  out->bath = found;
  out->parts = found ? found->parts : "";
  if (found && found->parts[0])
    take_if_dilution(t, out);
  return ERR_OK;
}

/* A solution named by its bottle or its assay. */
static enum err_code by_stock(const struct etch_tables *t, const char *text, struct arena *arena,
                              struct etch_place *out, struct err *err)
{
  struct chem_stock stock;
  struct err why = {0};
  enum err_code code = chem_part(t->chem, text, &stock, &why);

  out->bath = etch_own_bath(t, text);
  if (out->bath)
    return ERR_OK;
  if (code != ERR_OK && strchr(text, '@'))
    return err_set(err, code, "%s", why.text);
  if (code != ERR_OK || !take_stock(t, &stock, out))
    return no_bath(t, text, err);
  if (!out->parts[0] && !out->bath->strength_of[0])
    out->parts = arena_printf(arena, "1 %s", text);
  return ERR_OK;
}

/* A bath of the suite: the listed one of the same parts, or one that only its own rates know. */
static void by_own_parts(const struct etch_tables *t, const char *text, const char *parts,
                         struct etch_place *out)
{
  if (take_parts(t, parts, out, NULL) != ERR_OK)
    out->bath = etch_own_bath(t, text);
  BUG_IF(!out->bath);
  out->parts = parts;
}

enum err_code etch_find_bath(const struct etch_tables *t, const char *text, struct arena *arena,
                             struct etch_place *out, struct err *err)
{
  struct etch_place place = {
      .parts = "", .water_parts = NAN, .hf_mol_m3 = NAN, .at_K = NAN, .strength_ratio = NAN};
  double a = 0, b = 0, own_at_K = NAN;
  bool more = false;
  const char *own_parts = etch_own_parts(t, text, &own_at_K);
  enum err_code code;

  if (own_parts) {
    by_own_parts(t, text, own_parts, &place);
    place.at_K = isnan(own_at_K) ? place.bath->usual_K : own_at_K;
    *out = place;
    return ERR_OK;
  }
  if (bare_ratio(text, &a, &b, &more))
    return refuse_ratio(text, a, b, more, err);
  code = by_name(t, text, &place, err);
  if (code == ERR_OK && !place.bath)
    code = strchr(text, '+') || (*text >= '0' && *text <= '9')
               ? take_parts(t, text, &place, err)
               : by_stock(t, text, arena, &place, err);
  if (code != ERR_OK)
    return code;
  place.at_K = place.bath->usual_K;
  *out = place;
  return ERR_OK;
}
