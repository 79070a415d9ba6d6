#include "feed/feed_impl.h"

#include "base/utf8.h"

#include <jansson.h>
#include <math.h>
#include <string.h>

/* Messages: a bare value, or a JSON object with fields (RFC 8259), as brokers and gateways send
 * them.  The bytes are a stranger's: size and depth are looked at before jansson sees them, and a
 * key that stands twice is refused, for nobody can say which of the two is meant. */

struct reading {
  const struct feeds *feeds;
  int source;
  const char *topic;
  const char *bytes;
  size_t size;
  bool retained;
  bool refused; /* too large to be looked at */
  int64_t seen_ms;
  const struct feed_sink *sink;
  json_t *json;    /* NULL: not looked for, or refused */
  struct err *err; /* the first fault */
  enum err_code code;
};

static void fault(struct reading *r, int col, const char *fmt, ...) PRINTF_LIKE(3, 4);
static void fault(struct reading *r, int col, const char *fmt, ...)
{
  char text[160];
  va_list args;

  if (r->code)
    return;
  va_start(args, fmt);
  vsnprintf(text, sizeof text, fmt, args);
  va_end(args);
  utf8_mend_end(text);
  r->code = err_set(r->err, ERR_INPUT, "%s", text);
  if (r->err)
    r->err->col = col;
}

/* What may be shown of a stranger's text: its first characters, and nothing that steers a screen. */
static const char *shown(struct feed_span span, char out[48])
{
  size_t size = span.size < 40 ? span.size : 40;

  memcpy(out, span.at, size);
  out[size] = '\0';
  for (size_t i = 0; i < size; i++)
    if ((unsigned char)out[i] < 0x20 || (unsigned char)out[i] > 0x7e)
      out[i] = '?';
  return out;
}

/* ---- JSON ---- */

/* Brackets outside strings: the parser below goes as deep as it is told to, and so does its memory. */
static bool too_deep(const char *bytes, size_t size, size_t *at_out)
{
  int depth = 0;
  bool in_text = false;

  for (size_t i = 0; i < size; i++) {
    char c = bytes[i];

    if (in_text) {
      if (c == '\\')
        i++;
      else
        in_text = c != '"';
    } else if (c == '"') {
      in_text = true;
    } else if (c == '{' || c == '[') {
      if (++depth > FEED_PAYLOAD_MOST_DEPTH) {
        *at_out = i;
        return true;
      }
    } else if (c == '}' || c == ']') {
      depth--;
    }
  }
  return false;
}

/* In our words: the library's own text may hold bytes of the message. */
static const char *json_words(enum json_error_code code)
{
  switch ((int)code) {
  case json_error_invalid_utf8:
    return "it is not UTF-8";
  case json_error_duplicate_key:
    return "a field stands there twice";
  case json_error_numeric_overflow:
    return "a number is too large";
  case json_error_premature_end_of_input:
    return "it ends too early";
  case json_error_end_of_input_expected:
    return "something follows it";
  case json_error_null_character:
  case json_error_null_byte_in_key:
    return "it holds a NUL";
  default:
    return "a character is out of place";
  }
}

static void read_json(struct reading *r)
{
  json_error_t error;
  size_t at = 0;

  if (too_deep(r->bytes, r->size, &at)) {
    fault(r, (int)at + 1, "topic %s: JSON is nested deeper than %d", r->topic,
          FEED_PAYLOAD_MOST_DEPTH);
    return;
  }
  r->json = json_loadb(r->bytes, r->size,
                       JSON_REJECT_DUPLICATES | JSON_DECODE_ANY | JSON_DECODE_INT_AS_REAL, &error);
  if (!r->json) {
    at = error.position > 0 ? (size_t)error.position : 1;
    fault(r, at > r->size + 1 ? (int)r->size + 1 : (int)at, "topic %s: no JSON: %s", r->topic,
          json_words(json_error_code(&error)));
  } else if (!json_is_object(r->json)) {
    fault(r, 1, "topic %s: JSON, but no object, so it has no fields", r->topic);
    json_decref(r->json);
    r->json = NULL;
  }
}

/* "a.b" is b inside a; NULL where there is none. */
static const json_t *find_field(const json_t *object, const char *path)
{
  const json_t *at = object;

  for (;;) {
    size_t length = strcspn(path, ".");
    char key[128];

    if (!json_is_object(at) || length >= sizeof key)
      return NULL;
    memcpy(key, path, length);
    key[length] = '\0';
    at = json_object_get(at, key);
    if (path[length] == '\0')
      return at;
    path += length + 1;
  }
}

static struct feed_span text_span(const json_t *text)
{
  return (struct feed_span){json_string_value(text), json_string_length(text)};
}

/* ---- one point ---- */

static const char *unit_of(const struct reading *r, const struct feeds_point *p, char out[48])
{
  const json_t *unit = p->unit_field ? find_field(r->json, p->unit_field) : NULL;

  if (!json_is_string(unit))
    return NULL;

  struct feed_span span = text_span(unit);

  span = feed_trim(span.at, span.size);
  if (span.size >= 48)
    span.size = 47; /* no unit is as long, so it will be none */
  memcpy(out, span.at, span.size);
  out[span.size] = '\0';
  return out;
}

static void take_json_number(const struct feeds_point *p, double value, const char *unit,
                             struct feed_observation *out)
{
  char text[40];

  if (!unit || !*unit || p->yes_no || p->count) {
    feed_number(p, value, out);
    return;
  }
  snprintf(text, sizeof text, "%.17g", value);
  feed_value(p, false, text, unit, out);
}

static void take_field(struct reading *r, const struct feeds_point *p, struct feed_observation *out)
{
  const json_t *value = find_field(r->json, p->field);
  char unit[48], said[48], unit_said[48];
  const char *unit_text = unit_of(r, p, unit);
  struct feed_span span = {"", 0};

  if (!value || json_is_null(value)) {
    out->quality = FEED_MISSING;
    return;
  }
  if (json_is_real(value)) {
    take_json_number(p, json_real_value(value), unit_text, out);
  } else if (json_is_string(value) || json_is_boolean(value)) {
    span = json_is_string(value) ? text_span(value)
           : json_is_true(value) ? (struct feed_span){"true", 4}
                                 : (struct feed_span){"false", 5};
    feed_value_span(p, false, span, unit_text, out);
  }
  if (out->quality == FEED_UNREADABLE)
    fault(r, 0, "point %s: '%s' in field %s means nothing here%s%s", p->part.id, shown(span, said),
          p->field, unit_text ? ", unit " : "",
          unit_text ? shown((struct feed_span){unit, strlen(unit)}, unit_said) : "");
}

static void take_quality(const struct reading *r, const struct feeds_point *p,
                         struct feed_observation *out)
{
  static const char *const good[] = {"good"};
  const json_t *said = find_field(r->json, p->quality_field);

  if (out->quality != FEED_GOOD || (json_is_string(said) && feed_is_word(text_span(said), good, 1)))
    return;
  out->quality = FEED_FAULTY;
  out->si = NAN;
}

/* ---- time ---- */

enum time_said { TIME_NONE, TIME_SAID, TIME_UNREADABLE };

/* Since 1970, in seconds or milliseconds: for any moment between 2001 and 2286 the sizes of the two
 * do not overlap, so that which one it is need not be guessed. */
static enum time_said unix_time(double value, int64_t *t_out_ms)
{
  if (value >= 1e9 && value < 1e10)
    *t_out_ms = llround(value * 1000);
  else if (value >= 1e12 && value < 1e13)
    *t_out_ms = llround(value);
  else
    return TIME_UNREADABLE;
  return TIME_SAID;
}

/* Behind the day, an hour's offset or Z: a message without one is in nobody knows which zone. */
static bool has_offset(const char *text)
{
  size_t length = strlen(text);

  return length > 10 && strpbrk(text + 10, "Zz+-") != NULL;
}

static enum time_said text_time(struct feed_span span, int64_t *t_out_ms)
{
  struct feed_span word = feed_trim(span.at, span.size), rest;
  char text[48];
  double number;

  if (word.size >= sizeof text)
    return TIME_UNREADABLE;
  memcpy(text, word.at, word.size);
  text[word.size] = '\0';
  if (strlen(text) != word.size)
    return TIME_UNREADABLE;
  if (has_offset(text) && when_read(text, when_utc(), NULL, t_out_ms, NULL) == ERR_OK)
    return TIME_SAID;
  if (feed_read_number(word, false, &number, &rest) && rest.size == 0)
    return unix_time(number, t_out_ms);
  return TIME_UNREADABLE;
}

static enum time_said time_of(const struct reading *r, const struct feeds_point *p,
                              int64_t *t_out_ms)
{
  const json_t *value = p->time_field && r->json ? find_field(r->json, p->time_field) : NULL;

  if (!value || json_is_null(value))
    return TIME_NONE;
  if (json_is_real(value))
    return unix_time(json_real_value(value), t_out_ms);
  return json_is_string(value) ? text_time(text_span(value), t_out_ms) : TIME_UNREADABLE;
}

/* A value that was kept by the broker, or that should have said its time and did not, may be of any
 * age. */
static void take_time(struct reading *r, const struct feeds_point *p, struct feed_observation *out)
{
  int64_t t_ms = 0;
  enum time_said said = time_of(r, p, &t_ms);

  if (said == TIME_UNREADABLE) {
    out->quality = FEED_UNREADABLE;
    out->si = NAN;
    fault(r, 0, "point %s: the time in field %s cannot be read; write it as 2026-10-25T02:30:00Z",
          p->part.id, p->time_field);
  }
  feed_time(r->feeds, r->source, said == TIME_SAID, t_ms, r->seen_ms, out);
  if (said == TIME_NONE && (r->retained || p->time_field) && out->quality == FEED_GOOD) {
    out->quality = FEED_UNTIMED;
    out->si = NAN;
  }
}

/* ---- the message ---- */

static void take_point(struct reading *r, int point)
{
  const struct feeds_point *p = &r->feeds->points[point];
  struct feed_observation out = {.point = point, .si = NAN, .quality = FEED_UNREADABLE};
  struct feed_span whole = {r->bytes, r->size};
  char said[48];

  if (!p->field && !r->refused) {
    feed_value_span(p, false, whole, NULL, &out);
    if (out.quality == FEED_UNREADABLE)
      fault(r, 0, "point %s: '%s' on topic %s means nothing here", p->part.id, shown(whole, said),
            r->topic);
  } else if (p->field && r->json) {
    take_field(r, p, &out);
    if (p->quality_field)
      take_quality(r, p, &out);
  }
  take_time(r, p, &out);
  r->sink->take(r->sink->arg, &out);
}

static bool is_of(const struct reading *r, int point)
{
  const struct feeds_point *p = &r->feeds->points[point];

  return p->source == r->source && strcmp(p->at, r->topic) == 0;
}

enum err_code feed_payload(const struct feeds *feeds, int source,
                           const struct feed_message *message, const struct feed_sink *sink,
                           struct err *err)
{
  struct reading r = {.feeds = feeds,
                      .source = source,
                      .topic = message->topic,
                      .bytes = message->bytes ? message->bytes : "",
                      .size = message->size,
                      .retained = message->retained,
                      .seen_ms = message->seen_ms,
                      .sink = sink,
                      .err = err};
  bool any = false, fields = false;

  for (int i = 0; i < feeds->point_count; i++)
    if (is_of(&r, i)) {
      any = true;
      fields = fields || feeds->points[i].field;
    }
  if (!any)
    return err_set(err, ERR_INPUT, "no point of source %s reads that topic",
                   feeds->sources[source].part.id);
  if (r.size > FEED_PAYLOAD_MOST_BYTES) {
    fault(&r, FEED_PAYLOAD_MOST_BYTES + 1, "topic %s: a message of %zu bytes; at most %d are read",
          r.topic, r.size, FEED_PAYLOAD_MOST_BYTES);
    r.refused = true;
  } else if (fields) {
    read_json(&r);
  }
  for (int i = 0; i < feeds->point_count; i++)
    if (is_of(&r, i))
      take_point(&r, i);
  json_decref(r.json);
  return r.code;
}
