#include "wire/bacnet_impl.h"

#include <math.h>
#include <stdlib.h>

/*
 * Trend logs.  A device stamps its records in its own local time and says of no zone which; so its
 * clock is asked beside ours, and what is between them, to a quarter of an hour, is its zone.  When
 * that changes (in March and October, or by hand), records of the stretch in which it changed could
 * be from two moments: they are left out, and that is told.  For the same reason a log is read from
 * the moment on at which it was first asked, and what was logged while a connection was lost is read
 * afterwards; what is older stays in the device.
 */

enum {
  AT_ONCE = 25,       /* records in an answer: some 30 bytes each, and few devices send 1476 */
  MOST_ANSWERS = 200, /* of one log in one round */
  QUARTER_MS = 15 * 60 * 1000
};

static bool lost(struct bacnet_link *link, enum bacnet_reply reply)
{
  if (reply == BACNET_REPLY_NONE)
    wire_down(link->line, "device %d does not answer any more", link->line->source->device);
  return reply == BACNET_REPLY_NONE || reply == BACNET_REPLY_STOP;
}

/* ---- its clock ---- */

enum clock { CLOCK_KNOWN, CLOCK_UNKNOWN, CLOCK_LOST };

/* Date, time, and the date again, for midnight may be between. */
static enum clock read_clock(struct bacnet_link *link, int64_t *local_out_ms)
{
  static const int asked[] = {BACNET_LOCAL_DATE, BACNET_LOCAL_TIME, BACNET_LOCAL_DATE};
  struct bacnet_object device = {BACNET_DEVICE, link->line->source->device};
  struct bacnet_value said[3];
  struct bacnet_property raw;
  struct bacnet_moment moment;

  for (int i = 0; i < 3; i++) {
    enum bacnet_reply reply = bacnet_ask_value(link, &device, asked[i], &raw, &said[i]);

    if (lost(link, reply))
      return CLOCK_LOST;
    if (reply != BACNET_REPLY_ACK)
      return CLOCK_UNKNOWN;
  }
  if (said[0].type != BACNET_DATE || said[1].type != BACNET_TIME || said[2].type != BACNET_DATE ||
      said[0].date.day != said[2].date.day)
    return CLOCK_UNKNOWN;
  moment = (struct bacnet_moment){said[0].date, said[1].time};
  return bacnet_moment_ms(&moment, local_out_ms) ? CLOCK_KNOWN : CLOCK_UNKNOWN;
}

/* Where a log is read on from is a moment of the old clock, so it begins anew at the new one's now;
 * by sequence numbers, which no clock changes, what is left out is passed over. */
static void begin_at(struct bacnet_own *own, int64_t local_ms, bool all)
{
  for (int i = 0; i < own->point_count; i++)
    if (all || !own->states[i].has_last) {
      own->states[i].last_ms = local_ms;
      own->states[i].has_last = true;
    }
}

static enum clock look_at_clock(struct bacnet_link *link, bool *changed)
{
  struct bacnet_own *own = link->own;
  int64_t local_ms = 0;
  enum clock clock = read_clock(link, &local_ms);

  if (clock == CLOCK_UNKNOWN)
    wire_refuse(link->line, "device %d does not say its date and time: its logs are not read",
                link->line->source->device);
  if (clock != CLOCK_KNOWN)
    return clock;

  int64_t offset_ms =
      llround((double)(local_ms - wire_now_ms(link->line)) / QUARTER_MS) * QUARTER_MS;

  *changed = own->has_offset && own->offset_ms != offset_ms;
  own->has_offset = true;
  own->offset_ms = offset_ms;
  begin_at(own, local_ms, *changed);
  return clock;
}

/* ---- its unit ---- */

/* A log has no unit; the object it logs has one. */
static bool ask_unit(struct bacnet_link *link, int at)
{
  struct bacnet_state *state = &link->own->states[at];
  struct bacnet_object logged;
  struct bacnet_property raw;
  struct bacnet_value value;
  bool elsewhere = false;
  enum bacnet_reply reply =
      bacnet_ask_value(link, &state->object, BACNET_LOG_DEVICE_OBJECT_PROPERTY, &raw, &value);

  state->unit = state->reliability = -1;
  state->asked = true;
  if (lost(link, reply))
    return false;
  if (reply != BACNET_REPLY_ACK ||
      bacnet_reference(raw.bytes, raw.size, &logged, &elsewhere, NULL) != ERR_OK || elsewhere)
    return true;
  reply = bacnet_ask_value(link, &logged, BACNET_UNITS, &raw, &value);
  if (lost(link, reply))
    return false;
  if (reply == BACNET_REPLY_ACK && value.type == BACNET_ENUMERATED && value.number <= 65535)
    state->unit = (int)value.number;
  return true;
}

/* ---- records ---- */

static void observe(struct bacnet_link *link, int at, const struct bacnet_record *r,
                    int64_t local_ms)
{
  struct feed_observation o = {.point = link->line->points[at], .si = NAN, .quality = FEED_FAULTY};

  if (r->what == BACNET_LOGGED_STATUS || r->what == BACNET_LOGGED_CLOCK)
    return;
  if (r->what == BACNET_LOGGED_NONE)
    o.quality = FEED_MISSING;
  else if (r->what == BACNET_LOGGED_VALUE)
    bacnet_judge(link, at, &r->value, r->has_flags ? r->flags : 0, &o);
  feed_time(link->line->feeds, link->line->index, true, local_ms - link->own->offset_ms,
            wire_now_ms(link->line), &o);
  wire_put(link->line, &o);
}

static int64_t local_ms_of(const struct bacnet_record *r)
{
  int64_t t_ms = INT64_MIN;

  return bacnet_moment_ms(&r->moment, &t_ms) ? t_ms : INT64_MIN;
}

/* How many records were new; -1: the answer cannot be read. */
static int take_records(struct bacnet_link *link, int at, bool leave_out)
{
  struct bacnet_state *state = &link->own->states[at];
  struct bacnet_record record;
  struct bacnet_scan scan;
  struct bacnet_log log;
  struct err err = {0};
  enum bacnet_step step;
  int64_t local_ms;
  uint32_t count = 0;
  int fresh = 0;

  if (link->m.kind != BACNET_COMPLEX_ACK || bacnet_log(&link->m, &log, &scan, &err) != ERR_OK ||
      log.object.instance != state->object.instance) {
    bacnet_tell_object(link, at, err.text[0] ? err.text : "an answer about something else");
    return -1;
  }
  while ((step = bacnet_next_record(&scan, &record, &err)) == BACNET_ONE) {
    uint32_t sequence = log.sequence + count++;
    bool known = log.has_sequence && state->has_sequence ? sequence < state->next_sequence
                                                         : local_ms_of(&record) <= state->last_ms;

    if (known || !bacnet_moment_ms(&record.moment, &local_ms))
      continue;
    if (!leave_out)
      observe(link, at, &record, local_ms);
    state->last_ms = local_ms;
    fresh++;
  }
  if (step == BACNET_BAD) {
    bacnet_tell_object(link, at, err.text);
    return -1;
  }
  state->has_sequence = log.has_sequence && count > 0;
  state->next_sequence = state->has_sequence ? log.sequence + count : 0;
  return fresh;
}

/* By sequence numbers the last known record is asked for again: when it does not come, the log was
 * emptied or has run over it. */
static void ask_range(struct bacnet_link *link, int at, uint8_t id, struct bacnet_out *out)
{
  struct bacnet_state *state = &link->own->states[at];
  struct bacnet_moment moment;

  if (state->by_position) { /* the newest that there are: the last place is as many as it holds */
    bacnet_write_read_log_at(out, &link->route, id, &state->object, state->next_sequence, -AT_ONCE);
  } else if (state->has_sequence) {
    bacnet_write_read_log_from(out, &link->route, id, &state->object, state->next_sequence - 1,
                               AT_ONCE);
  } else {
    bacnet_moment_of(state->last_ms, &moment);
    bacnet_write_read_log_after(out, &link->route, id, &state->object, &moment, AT_ONCE);
  }
}

/* Of a log that cannot be asked by time, how many records it holds. */
static bool ask_count(struct bacnet_link *link, int at)
{
  struct bacnet_state *state = &link->own->states[at];
  struct bacnet_property raw;
  struct bacnet_value value = {.number = 0};
  enum bacnet_reply reply =
      bacnet_ask_value(link, &state->object, BACNET_RECORD_COUNT, &raw, &value);

  if (lost(link, reply))
    return false;
  state->next_sequence = reply == BACNET_REPLY_ACK && value.number >= 0 && value.number < 4e9
                             ? (uint32_t)value.number
                             : 0;
  return true;
}

enum more { MORE, ENOUGH, LOST };

static enum more ask_some(struct bacnet_link *link, int at, bool leave_out)
{
  struct bacnet_state *state = &link->own->states[at];
  uint8_t id;
  struct bacnet_out out;
  char words[60];

  if (state->by_position && !ask_count(link, at))
    return LOST;
  if (state->by_position && state->next_sequence == 0)
    return ENOUGH;
  id = bacnet_next_id(link);
  ask_range(link, at, id, &out);

  enum bacnet_reply reply = bacnet_ask(link, &out, id, BACNET_SERVICE_READ_RANGE);

  if (lost(link, reply))
    return LOST;
  if (reply != BACNET_REPLY_ACK) {
    bool again = !state->by_position;

    /* What was asked for may be gone, or this log knows no such question. */
    state->by_position = !state->has_sequence;
    state->has_sequence = false;
    if (!again)
      bacnet_tell_object(link, at, bacnet_reply_words(link, words, sizeof words));
    return again ? MORE : ENOUGH;
  }

  bool by_sequence = state->has_sequence;
  int fresh = take_records(link, at, leave_out);

  if (by_sequence && !state->has_sequence)
    return MORE; /* it is gone: by time */
  return fresh >= AT_ONCE - 1 && !state->by_position ? MORE : ENOUGH;
}

static bool ask_log(struct bacnet_link *link, int at, bool leave_out)
{
  if (!link->own->states[at].asked && !ask_unit(link, at))
    return false;
  for (int i = 0; i < MOST_ANSWERS; i++) {
    enum more more = ask_some(link, at, leave_out);

    wire_flush(link->line);
    if (more != MORE)
      return more != LOST;
  }
  return true;
}

static bool has_logs(const struct bacnet_own *own)
{
  for (int i = 0; i < own->point_count; i++)
    if (own->states[i].is_log)
      return true;
  return false;
}

bool bacnet_ask_logs(struct bacnet_link *link)
{
  bool changed = false;
  enum clock clock;

  if (!has_logs(link->own))
    return true;
  clock = look_at_clock(link, &changed);
  if (clock != CLOCK_KNOWN)
    return clock == CLOCK_UNKNOWN;
  if (changed)
    wire_refuse(link->line,
                "the device's clock was set by a quarter of an hour or more: records of "
                "that stretch are left out, for they could be from two moments");
  for (int i = 0; i < link->own->point_count; i++)
    if (link->own->states[i].is_log && !ask_log(link, i, changed))
      return false;
  return true;
}
