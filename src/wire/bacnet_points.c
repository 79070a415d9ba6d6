#include "wire/bacnet_impl.h"

#include <math.h>
#include <string.h>

/* What objects say, and what of it counts as measured. */

enum { MOST_GROUP = 30 };

static const struct feeds_point *point_of(const struct bacnet_link *link, int at)
{
  return &link->line->feeds->points[link->line->points[at]];
}

static bool is_analog(const struct bacnet_object *object)
{
  return object->type <= 2;
}

static bool is_binary(const struct bacnet_object *object)
{
  return object->type >= 3 && object->type <= 5;
}

static bool same_object(const struct bacnet_object *a, const struct bacnet_object *b)
{
  return a->type == b->type && a->instance == b->instance;
}

void bacnet_tell_object(struct bacnet_link *link, int at, const char *what)
{
  const struct bacnet_object *object = &link->own->states[at].object;
  const char *type = bacnet_object_type_name(object->type);

  wire_refuse(link->line, "%s %d (%s): %s", type ? type : "object", object->instance,
              point_of(link, at)->part.id, what);
}

/* ---- units ---- */

/* Two texts of one unit make the same of a number that no file lists as a missing one. */
static bool is_unit_of(const struct feeds_point *point, const char *text)
{
  struct feed_observation said = {.si = NAN}, declared = {.si = NAN};

  if (text[0] == '%')
    return point->unit_text[0] == '%' &&
           (text[1] == '\0' || point->unit_text[1] == '\0' || strcmp(text, point->unit_text) == 0);
  feed_value(point, false, "20.304071", text, &said);
  feed_number(point, 20.304071, &declared);
  return said.quality == FEED_GOOD && declared.quality == FEED_GOOD &&
         fabs(said.si - declared.si) <= 1e-9 * fabs(declared.si);
}

/* A device that says no unit contradicts nothing. */
static bool unit_fits(struct bacnet_link *link, int at)
{
  struct bacnet_state *state = &link->own->states[at];
  const struct feeds_point *point = point_of(link, at);
  const char *text = state->unit < 0 ? "" : bacnet_unit_text(state->unit);
  char what[120];

  if (!point->unit_text || (text && (text[0] == '\0' || is_unit_of(point, text))))
    return true;
  if (state->told_unit != state->unit) {
    snprintf(what, sizeof what, "counts in %s (code %d), the feeds file says %s; not taken",
             text ? text : "a unit not known here", state->unit, point->unit_text);
    bacnet_tell_object(link, at, what);
  }
  state->told_unit = state->unit;
  return false;
}

/* ---- quality ---- */

static void read_number(const struct feeds_point *point, const struct bacnet_object *object,
                        const struct bacnet_value *value, struct feed_observation *out)
{
  /* A file may list the words of the standard, or the numbers that are sent. */
  if (is_binary(object) && value->type == BACNET_ENUMERATED && value->number <= 1) {
    feed_value(point, false, value->number == 1 ? "active" : "inactive", NULL, out);
    if (out->quality != FEED_UNREADABLE)
      return;
  }
  feed_number(point, value->number, out);
}

void bacnet_judge(struct bacnet_link *link, int at, const struct bacnet_value *value,
                  uint32_t flags, struct feed_observation *out)
{
  const struct bacnet_state *state = &link->own->states[at];

  out->si = NAN;
  if (flags & BACNET_OUT_OF_SERVICE) {
    out->quality = FEED_OUT_OF_SERVICE;
    return;
  }
  if (flags & BACNET_FAULT || state->reliability > 0) {
    out->quality = FEED_FAULTY;
    return;
  }
  if (value->type == BACNET_NULL) {
    out->quality = FEED_MISSING;
    return;
  }
  if (!isfinite(value->number) || !unit_fits(link, at)) {
    out->quality = FEED_UNREADABLE;
    return;
  }
  read_number(point_of(link, at), &state->object, value, out);
  if (out->quality == FEED_GOOD && flags & BACNET_OVERRIDDEN)
    out->quality = FEED_OVERRIDDEN;
}

static void tell_error_once(struct bacnet_link *link, int at)
{
  struct bacnet_state *state = &link->own->states[at];
  const char *name = bacnet_error_name(state->value_error);
  char what[100];

  if (state->told_error == state->value_error)
    return;
  state->told_error = state->value_error;
  if (name)
    snprintf(what, sizeof what, "the device says: %s", name);
  else
    snprintf(what, sizeof what, "the device says error %d", state->value_error);
  bacnet_tell_object(link, at, what);
}

enum { NO_FLAGS = 100000, NO_VALUE }; /* told like error codes, which are below 65536 */

/* One observation of what was last said. */
static void observe(struct bacnet_link *link, int at)
{
  struct bacnet_state *state = &link->own->states[at];
  struct feed_observation o = {
      .point = link->line->points[at], .si = NAN, .quality = FEED_UNREADABLE};

  if (!state->has_value) {
    o.quality = FEED_MISSING;
    if (state->value_error < 0)
      state->value_error = NO_VALUE;
    tell_error_once(link, at);
  } else if (state->has_flags) {
    state->told_error = -1;
    bacnet_judge(link, at, &state->value, state->flags, &o);
  } else if (state->told_error != NO_FLAGS) {
    state->told_error = NO_FLAGS;
    bacnet_tell_object(link, at, "says no status flags; without them its value is not taken");
  }
  feed_time(link->line->feeds, link->line->index, false, 0, wire_now_ms(link->line), &o);
  wire_put(link->line, &o);
}

/* ---- asking ---- */

static void ask_of(const struct bacnet_object *object, struct bacnet_asked *out)
{
  *out = (struct bacnet_asked){
      *object,
      is_analog(object) ? 4 : 3,
      {BACNET_PRESENT_VALUE, BACNET_STATUS_FLAGS, BACNET_RELIABILITY, BACNET_UNITS}};
}

static void clear(struct bacnet_state *state)
{
  state->has_value = state->has_flags = false;
  state->value_error = state->reliability = state->unit = -1;
  state->asked = true;
}

static void take_flags(struct bacnet_state *state, const struct bacnet_value *value)
{
  state->has_flags = value->type == BACNET_BITS && value->bit_count == 4;
  state->flags = value->bits;
}

static int code_of(const struct bacnet_value *value)
{
  return value->type == BACNET_ENUMERATED && value->number <= 65535 ? (int)value->number : -1;
}

/* One property of an object into what is known of it; *value is what it holds, unless it failed. */
static void take_property(struct bacnet_state *state, const struct bacnet_property *p,
                          const struct bacnet_value *value)
{
  if (p->has_index)
    return;
  switch (p->property) {
  case BACNET_PRESENT_VALUE:
    state->has_value = !p->failed;
    state->value_error = p->failed ? p->error_code : -1;
    if (!p->failed)
      state->value = *value;
    break;
  case BACNET_STATUS_FLAGS:
    if (!p->failed)
      take_flags(state, value);
    break;
  case BACNET_RELIABILITY: /* optional: a device without it says so by an error */
    state->reliability = p->failed ? -1 : code_of(value);
    break;
  case BACNET_UNITS:
    state->unit = p->failed ? -1 : code_of(value);
    break;
  default:
    break;
  }
}

static void take_result(struct bacnet_link *link, const int *group, int count,
                        const struct bacnet_property *p, const struct bacnet_value *value)
{
  for (int i = 0; i < count; i++) {
    struct bacnet_state *state = &link->own->states[group[i]];

    if (same_object(&state->object, &p->object))
      take_property(state, p, value);
  }
}

/* The whole answer or nothing of it: one that is broken in the middle is not to be trusted. */
static bool is_readable(struct bacnet_link *link)
{
  struct bacnet_property p;
  struct bacnet_value value;
  struct bacnet_scan scan;
  struct err err = {0};
  enum bacnet_step step;

  bacnet_scan_property(&scan, &link->m);
  while ((step = bacnet_next_property(&scan, &p, &err)) == BACNET_ONE)
    if (!p.failed && bacnet_value(p.bytes, p.size, &value, &err) != ERR_OK)
      break;
  if (step != BACNET_END)
    wire_refuse(link->line, "an answer that cannot be read: %s", err.text);
  return step == BACNET_END;
}

static void take_answer(struct bacnet_link *link, const int *group, int count)
{
  struct bacnet_property p;
  struct bacnet_value value = {.type = BACNET_NULL};
  struct bacnet_scan scan;

  for (int i = 0; i < count; i++)
    clear(&link->own->states[group[i]]);
  if (link->m.kind != BACNET_COMPLEX_ACK || !is_readable(link))
    return;
  bacnet_scan_property(&scan, &link->m);
  while (bacnet_next_property(&scan, &p, NULL) == BACNET_ONE)
    if (p.failed || bacnet_value(p.bytes, p.size, &value, NULL) == ERR_OK)
      take_result(link, group, count, &p, &value);
}

static bool lost(struct bacnet_link *link, enum bacnet_reply reply)
{
  if (reply == BACNET_REPLY_NONE)
    wire_down(link->line, "device %d does not answer any more", link->line->source->device);
  return reply == BACNET_REPLY_NONE || reply == BACNET_REPLY_STOP;
}

/* The old way: a question for each property. */
static bool ask_one_by_one(struct bacnet_link *link, int at)
{
  struct bacnet_state fresh = link->own->states[at];
  struct bacnet_asked asked;

  clear(&fresh);
  ask_of(&fresh.object, &asked);
  for (int i = 0; i < asked.property_count; i++) {
    struct bacnet_property p = {.property = asked.properties[i], .failed = true};
    struct bacnet_value value = {.type = BACNET_NULL};
    enum bacnet_reply reply =
        bacnet_ask_value(link, &fresh.object, asked.properties[i], &p, &value);

    if (lost(link, reply))
      return false;
    if (reply != BACNET_REPLY_ACK) {
      p = (struct bacnet_property){.property = asked.properties[i], .failed = true};
      p.error_code = reply == BACNET_REPLY_ERROR ? link->m.error_code : NO_VALUE;
    }
    take_property(&fresh, &p, &value);
  }
  fresh.subscribe_s = link->own->states[at].subscribe_s;
  fresh.told_error = link->own->states[at].told_error; /* a notification came in between */
  fresh.told_unit = link->own->states[at].told_unit;
  link->own->states[at] = fresh;
  observe(link, at);
  return true;
}

static bool ask_singly(struct bacnet_link *link, const int *group, int count)
{
  for (int i = 0; i < count; i++)
    if (!ask_one_by_one(link, group[i]))
      return false;
  return true;
}

/* A device that cannot answer so many is asked for fewer from now on, in the end one by one. */
static void ask_for_fewer(struct bacnet_link *link, bool service_refused)
{
  link->objects_at_once = service_refused ? 0 : link->objects_at_once / 2;
}

static enum bacnet_reply ask_group(struct bacnet_link *link, const int *group, int count)
{
  struct bacnet_asked asked[MOST_GROUP];
  struct bacnet_out out;
  uint8_t id = bacnet_next_id(link);

  for (int i = 0; i < count; i++)
    ask_of(&link->own->states[group[i]].object, &asked[i]);
  bacnet_write_read_multiple(&out, &link->route, id, asked, count);
  return bacnet_ask(link, &out, id, BACNET_SERVICE_READ_MULTIPLE);
}

/* The next group of objects from *at on; logs are asked elsewhere. */
static int next_group(const struct bacnet_link *link, int *at, int group[MOST_GROUP])
{
  int most = link->objects_at_once, count = 0;

  if (most < 1)
    most = 1;
  for (; *at < link->own->point_count && count < most && count < MOST_GROUP; ++*at)
    if (!link->own->states[*at].is_log)
      group[count++] = *at;
  return count;
}

/* False when the group must be asked again, differently, or the connection is lost. */
static bool ask_together(struct bacnet_link *link, const int *group, int count, bool *go_on)
{
  enum bacnet_reply reply = ask_group(link, group, count);

  *go_on = !lost(link, reply);
  if (!*go_on)
    return false;
  if (reply == BACNET_REPLY_TOO_LONG || reply == BACNET_REPLY_REFUSED) {
    ask_for_fewer(link, reply == BACNET_REPLY_REFUSED);
    return false;
  }
  if (reply == BACNET_REPLY_ERROR) { /* for one object that it does not have, some refuse all */
    *go_on = ask_singly(link, group, count);
    return true;
  }
  take_answer(link, group, count);
  for (int i = 0; i < count; i++)
    observe(link, group[i]);
  return true;
}

bool bacnet_ask_points(struct bacnet_link *link)
{
  int group[MOST_GROUP], at = 0;
  bool go_on = true;

  while (go_on && at < link->own->point_count) {
    int from = at, count = next_group(link, &at, group);

    if (count == 0)
      break;
    if (link->objects_at_once == 0)
      go_on = ask_singly(link, group, count);
    else if (!ask_together(link, group, count, &go_on))
      at = from;
    wire_flush(link->line);
  }
  return go_on;
}

/* ---- changes ---- */

/* A subscription ends by itself when it is not renewed: a device is left as it was found. */
enum { LIFETIME_S = 300, RENEW_S = LIFETIME_S / 2 };

/* The same after a restart, so that an old subscription is renewed and not doubled. */
static uint32_t process_of(const struct bacnet_link *link)
{
  return 0x496e0000U + (uint32_t)link->line->index;
}

bool bacnet_subscribe(struct bacnet_link *link)
{
  for (int i = 0; i < link->own->point_count; i++) {
    struct bacnet_state *state = &link->own->states[i];
    char words[60], what[120];
    struct bacnet_out out;

    if (state->is_log || wire_clock_s() < state->subscribe_s)
      continue;

    uint8_t id = bacnet_next_id(link);

    bacnet_write_subscribe(&out, &link->route, id, process_of(link), &state->object, true,
                           LIFETIME_S);

    enum bacnet_reply reply = bacnet_ask(link, &out, id, BACNET_SERVICE_SUBSCRIBE_COV);

    if (lost(link, reply))
      return false;
    state->subscribe_s = wire_clock_s() + RENEW_S;
    if (reply == BACNET_REPLY_ACK)
      continue;
    snprintf(what, sizeof what, "changes are not told (%s); it is asked only",
             bacnet_reply_words(link, words, sizeof words));
    bacnet_tell_object(link, i, what);
  }
  return true;
}

/* Value and flags of a notification; false where it lacks one of them or cannot be read. */
static bool read_notice(struct bacnet_scan *scan, struct bacnet_state *out, struct err *err)
{
  struct bacnet_property p;
  struct bacnet_value value;
  enum bacnet_step step;

  clear(out);
  while ((step = bacnet_next_property(scan, &p, err)) == BACNET_ONE) {
    if (bacnet_value(p.bytes, p.size, &value, err) != ERR_OK)
      return false;
    take_property(out, &p, &value);
  }
  return step == BACNET_END && out->has_value && out->has_flags;
}

bool bacnet_take_notice(struct bacnet_link *link)
{
  struct bacnet_notice notice;
  struct bacnet_state said = {0};
  struct bacnet_scan scan;
  struct err err = {0};

  if (bacnet_notice(&link->m, &notice, &scan, &err) != ERR_OK || !read_notice(&scan, &said, &err)) {
    wire_refuse(link->line, "a notification that cannot be read: %s",
                err.text[0] ? err.text : "it lacks value or flags");
    return false;
  }
  if (notice.process != process_of(link) || notice.device != link->line->source->device)
    return false;
  for (int i = 0; i < link->own->point_count; i++) {
    struct bacnet_state *state = &link->own->states[i];

    /* Unit and reliability are known from asking; before that nothing can be said of it. */
    if (!state->asked || state->is_log || !same_object(&state->object, &notice.object))
      continue;
    state->has_value = state->has_flags = true;
    state->value = said.value;
    state->flags = said.flags;
    if (said.reliability >= 0)
      state->reliability = said.reliability;
    observe(link, i);
  }
  wire_flush(link->line);
  return true;
}
