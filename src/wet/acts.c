#include "wet/wet_impl.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Acts: as they are written down, read back, and what of them counts. */

static const char schema[] = "inward.wet.1";

enum need { NO, MAY, MUST };

/* What belongs to an act; what does not is not read. */
static const struct {
  const char *word;
  unsigned char tank, bath, container, stream, what, into, volume, wafers, temperature, fill, entry;
} rows[WET_ACT_COUNT] = {
    [WET_MADE] = {.word = "made", .tank = MUST, .bath = MUST, .volume = MAY},
    [WET_FOUND] = {.word = "found", .tank = MAY, .bath = MAY, .container = MAY, .stream = MAY},
    [WET_TOPPED] = {.word = "topped", .tank = MUST, .what = MUST, .volume = MAY},
    [WET_WAFERS] = {.word = "wafers", .tank = MUST, .wafers = MUST},
    [WET_TEMPERATURE] = {.word = "temperature", .tank = MUST, .temperature = MUST},
    [WET_LEVEL] = {.word = "level", .tank = MUST, .volume = MUST},
    [WET_DUMPED] = {.word = "dumped", .tank = MUST, .into = MAY, .volume = MAY},
    [WET_OPENED] = {.word = "opened", .container = MUST, .stream = MUST},
    [WET_ADDED] = {.word = "added", .container = MUST, .what = MUST, .volume = MAY},
    [WET_FILL] = {.word = "fill", .container = MUST, .fill = MUST},
    [WET_CLOSED] = {.word = "closed", .container = MUST},
    [WET_COLLECTED] = {.word = "collected", .container = MUST},
    [WET_TAKEN_BACK] = {.word = "taken-back", .entry = MUST},
};

const char *wet_act_word(enum wet_act act)
{
  return rows[act].word;
}

int wet_act_find(const char *word)
{
  for (int i = 0; word && i < WET_ACT_COUNT; i++)
    if (strcmp(rows[i].word, word) == 0)
      return i;
  return -1;
}

const char *wet_act_needs(enum wet_act act, struct arena *arena)
{
  const struct {
    const char *word;
    unsigned char need;
  } keys[] = {
      {"tank", rows[act].tank},
      {"container", rows[act].container},
      {"stream", rows[act].stream},
      {"what", rows[act].what},
      {"into", rows[act].into},
      {"amount", rows[act].volume | rows[act].wafers | rows[act].temperature | rows[act].fill},
      {"entry", rows[act].entry}};
  const char *all = "";

  for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
    if (keys[i].need != NO)
      all = arena_printf(arena, "%s%s\"%s\"%s", all, *all ? ", " : "", keys[i].word,
                         keys[i].need == MAY ? " (or not)" : "");
  return all;
}

/* ---- out ---- */

static void text_if(struct emit *json, const char *key, const char *text)
{
  if (text)
    emit_text(json, key, text);
}

static void number_if(struct emit *json, const char *key, double value)
{
  if (!isnan(value))
    emit_number(json, key, value);
}

void wet_detail(const struct wet_told *told, struct buf *out)
{
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", schema);
  emit_text(&json, "act", rows[told->act].word);
  text_if(&json, "tank", told->tank);
  text_if(&json, "bath", told->bath);
  text_if(&json, "container", told->container);
  text_if(&json, "stream", told->stream);
  text_if(&json, "what", told->what);
  text_if(&json, "into", told->into);
  number_if(&json, "volume_m3", told->volume_m3);
  number_if(&json, "volume_pm_m3", told->volume_pm_m3);
  number_if(&json, "temperature_K", told->temperature_K);
  number_if(&json, "fill_ratio", told->fill_ratio);
  number_if(&json, "fill_pm_ratio", told->fill_pm_ratio);
  if (told->wafers > 0)
    emit_int(&json, "wafers", told->wafers);
  if (told->entry > 0)
    emit_int(&json, "entry", told->entry);
  text_if(&json, "tap", told->tap);
  emit_close(&json);
  emit_end(&json);
}

/* ---- in ---- */

static bool fits(unsigned char need, bool there)
{
  return need == MUST ? there : need == MAY || !there;
}

static bool is_volume(double volume_m3)
{
  return isnan(volume_m3) || (volume_m3 >= 0 && volume_m3 <= 100);
}

static bool is_share(double ratio)
{
  return isnan(ratio) || (ratio >= 0 && ratio <= 1.5);
}

static bool figures_fit(const struct wet_told *t)
{
  return is_volume(t->volume_m3) && is_volume(t->volume_pm_m3) && is_share(t->fill_ratio) &&
         is_share(t->fill_pm_ratio) &&
         (isnan(t->temperature_K) || (t->temperature_K > 100 && t->temperature_K < 2000)) &&
         t->wafers >= 0 && t->wafers <= 1000000 && t->entry >= 0 &&
         (isnan(t->volume_pm_m3) || !isnan(t->volume_m3)) &&
         isnan(t->fill_pm_ratio) == isnan(t->fill_ratio);
}

static bool told_fits(const struct wet_told *t)
{
  return fits(rows[t->act].tank, t->tank != NULL) && fits(rows[t->act].bath, t->bath != NULL) &&
         fits(rows[t->act].container, t->container != NULL) &&
         fits(rows[t->act].stream, t->stream != NULL) && fits(rows[t->act].what, t->what != NULL) &&
         fits(rows[t->act].into, t->into != NULL) &&
         fits(rows[t->act].volume, !isnan(t->volume_m3)) &&
         fits(rows[t->act].wafers, t->wafers > 0) && fits(rows[t->act].entry, t->entry > 0) &&
         fits(rows[t->act].temperature, !isnan(t->temperature_K)) &&
         fits(rows[t->act].fill, !isnan(t->fill_ratio)) &&
         (t->act != WET_FOUND || (t->tank != NULL) != (t->container != NULL)) && figures_fit(t);
}

/* The texts of `root` are copied: it dies before they do. */
static void keep(struct arena *arena, const char **text)
{
  *text = *text ? arena_strdup(arena, *text) : NULL;
}

bool wet_detail_read(const char *detail, struct arena *arena, struct wet_told *out)
{
  struct wet_told t = {.number = out->number,
                       .t_ms = out->t_ms,
                       .written_ms = out->written_ms,
                       .who = out->who,
                       .text = out->text};
  const char *of = NULL, *word = NULL;
  json_error_t error;
  json_int_t wafers = 0, entry = 0;
  json_t *root = json_loads(detail, JSON_REJECT_DUPLICATES, &error);

  t.volume_m3 = t.volume_pm_m3 = t.temperature_K = t.fill_ratio = t.fill_pm_ratio = (double)NAN;
  bool read =
      root &&
      json_unpack_ex(root, &error, JSON_STRICT,
                     "{s:s, s:s, s?s, s?s, s?s, s?s, s?s, s?s, s?F, s?F, s?F, s?F, s?F, s?I, s?I, "
                     "s?s}",
                     "schema", &of, "act", &word, "tank", &t.tank, "bath", &t.bath, "container",
                     &t.container, "stream", &t.stream, "what", &t.what, "into", &t.into,
                     "volume_m3", &t.volume_m3, "volume_pm_m3", &t.volume_pm_m3, "temperature_K",
                     &t.temperature_K, "fill_ratio", &t.fill_ratio, "fill_pm_ratio",
                     &t.fill_pm_ratio, "wafers", &wafers, "entry", &entry, "tap", &t.tap) == 0 &&
      strcmp(of, schema) == 0 && wet_act_find(word) >= 0;

  t.wafers = wafers;
  t.entry = entry;
  if (read) {
    const char **const texts[] = {&t.tank, &t.bath, &t.container, &t.stream,
                                  &t.what, &t.into, &t.tap};

    t.act = (enum wet_act)wet_act_find(word);
    read = told_fits(&t);
    for (size_t i = 0; read && i < sizeof texts / sizeof *texts; i++)
      keep(arena, texts[i]);
  }
  if (read)
    *out = t;
  json_decref(root);
  return read;
}

/* ---- what counts ---- */

static int by_time(const void *a, const void *b)
{
  const struct wet_told *x = a, *y = b;

  if (x->t_ms != y->t_ms)
    return x->t_ms < y->t_ms ? -1 : 1;
  return x->number < y->number ? -1 : x->number > y->number;
}

static int by_number(const void *a, const void *b)
{
  const struct wet_told *x = a, *y = b;

  return x->number < y->number ? -1 : x->number > y->number;
}

/* What was taken back before is not taken back again, and a taking back stays. */
static void take_back(struct wet_told *list, int count, struct arena *arena)
{
  for (int i = 0; i < count; i++)
    for (int k = 0; list[i].act == WET_TAKEN_BACK && !list[i].void_why && k < i; k++)
      if (list[k].number == list[i].entry && list[k].act != WET_TAKEN_BACK && !list[k].void_why)
        list[k].void_why = arena_printf(arena, "taken back by entry %lld, %s",
                                        (long long)list[i].number, list[i].who);
}

static bool is_same_figure(double a, double b)
{
  return a == b || (isnan(a) && isnan(b));
}

bool wet_same_said(const struct wet_told *a, const struct wet_told *b)
{
  return a->act == b->act && wet_same(a->tank, b->tank) && wet_same(a->container, b->container) &&
         wet_same(a->stream, b->stream) && wet_same(a->into, b->into) &&
         wet_same(a->what, b->what) && a->wafers == b->wafers && a->entry == b->entry &&
         is_same_figure(a->volume_m3, b->volume_m3) &&
         is_same_figure(a->temperature_K, b->temperature_K) &&
         is_same_figure(a->fill_ratio, b->fill_ratio);
}

/* A tap that told something else is none of the same: what it told is not lost. */
static void drop_doubles(struct wet_told *list, int count, struct arena *arena)
{
  enum { LOOKED_AT = 500 }; /* a second tap comes at once, not a year later */

  for (int i = 0; i < count; i++)
    for (int k = i - 1; list[i].tap && k >= 0 && k >= i - LOOKED_AT; k--)
      if (list[k].tap && strcmp(list[k].tap, list[i].tap) == 0 &&
          wet_same_said(&list[k], &list[i])) {
        list[i].void_why = arena_printf(arena, "the same tap as entry %lld: it counts once",
                                        (long long)list[k].number);
        break;
      }
}

struct wet_past *wet_past(const struct record_entry *entries, int count, struct arena *arena)
{
  struct wet_past *past = ARENA_NEW(arena, struct wet_past);
  struct wet_told *list = ARENA_ARRAY(arena, struct wet_told, (size_t)count + 1);

  BUG_IF(!past || !list);
  past->unread_ms = past->cut_ms = INT64_MIN;
  for (int i = 0; i < count; i++) {
    const struct record_entry *e = &entries[i];
    struct wet_told *told = &list[past->count];

    if (e->kind != RECORD_BATH && e->kind != RECORD_WASTE)
      continue;
    *told = (struct wet_told){.number = e->number,
                              .t_ms = e->t_ms,
                              .written_ms = e->written_ms,
                              .who = e->who,
                              .text = e->text};
    if (wet_detail_read(e->detail, arena, told))
      past->count++;
    else {
      past->unread_count++;
      if (e->t_ms > past->unread_ms)
        past->unread_ms = e->t_ms;
    }
  }
  qsort(list, (size_t)past->count, sizeof *list, by_number);
  drop_doubles(list, past->count, arena);
  take_back(list, past->count, arena);
  qsort(list, (size_t)past->count, sizeof *list, by_time);
  past->list = list;
  return past;
}

enum err_code wet_recorded(struct record *record, int64_t now_ms, struct arena *arena,
                           struct wet_past **out, struct err *err)
{
  enum { MOST = 5000 };
  static const enum record_kind kinds[] = {RECORD_BATH, RECORD_WASTE};
  struct record_entry *all[2] = {NULL, NULL}, *both;
  int counts[2] = {0, 0}, ahead_count = 0;

  for (int i = 0; i < 2; i++) {
    const struct record_wanted wanted = {.from_ms = INT64_MIN,
                                         .to_ms = now_ms + 1,
                                         .kind = (int)kinds[i],
                                         .known_ms = INT64_MAX,
                                         .most = MOST};
    enum err_code code = record_entries(record, &wanted, arena, &all[i], &counts[i], err);

    if (code != ERR_OK)
      return code;
  }
  for (int i = 0; i < 2; i++) {
    const struct record_wanted wanted = {.from_ms = now_ms + 1,
                                         .to_ms = INT64_MAX,
                                         .kind = (int)kinds[i],
                                         .known_ms = INT64_MAX,
                                         .most = MOST};
    struct record_entry *ahead;
    int count = 0;
    enum err_code code = record_entries(record, &wanted, arena, &ahead, &count, err);

    if (code != ERR_OK)
      return code;
    ahead_count += count;
  }
  both = ARENA_ARRAY(arena, struct record_entry, (size_t)(counts[0] + counts[1]) + 1);
  if (!both)
    return err_set(err, ERR_LIMIT, "more was told of baths and waste than fits");
  for (int i = 0; i < counts[0]; i++)
    both[i] = all[0][i];
  for (int i = 0; i < counts[1]; i++)
    both[counts[0] + i] = all[1][i];
  *out = wet_past(both, counts[0] + counts[1], arena);
  (*out)->unread_count += ahead_count;
  if (ahead_count > 0)
    (*out)->unread_ms = now_ms;
  (*out)->is_cut = counts[0] == MOST || counts[1] == MOST;
  for (int i = 0; i < 2; i++)
    if (counts[i] == MOST && all[i][0].t_ms > (*out)->cut_ms)
      (*out)->cut_ms = all[i][0].t_ms;
  return ERR_OK;
}
