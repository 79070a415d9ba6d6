#include "bacnet/bacnet_impl.h"

#include <math.h>

/* Trend logs: ReadRange (clause 15.8), BACnetLogRecord (clause 21), and the device's clock. */

enum err_code bacnet_log(const struct bacnet_message *m, struct bacnet_log *out,
                         struct bacnet_scan *scan, struct err *err)
{
  struct bacnet_bytes in = {m->body, m->body_size, 0}, inside;
  struct bacnet_value flags;
  struct bacnet_tag tag;
  uint32_t property, index;

  BUG_IF(m->kind != BACNET_COMPLEX_ACK || m->service != BACNET_SERVICE_READ_RANGE);
  *out = (struct bacnet_log){.count = 0};
  if (!bacnet_take_object(&in, 0, &out->object, err) ||
      !bacnet_take_unsigned(&in, 1, &property, err))
    return ERR_INPUT;
  out->property = property > 0x3fffff ? -1 : (int)property;
  if (bacnet_is_context(&in, 2, BACNET_CONTENT) && !bacnet_take_unsigned(&in, 2, &index, err))
    return ERR_INPUT;
  if (!bacnet_take_context(&in, 3, BACNET_CONTENT, &tag, err))
    return ERR_INPUT;
  if (!bacnet_content(&tag, BACNET_BITS, &flags) || flags.bit_count < 3) {
    bacnet_fail(&in, err, "a log's answer without its flags");
    return ERR_INPUT;
  }
  out->first = flags.bits & 1;
  out->last = flags.bits & 2;
  out->more = flags.bits & 4;
  if (!bacnet_take_unsigned(&in, 4, &out->count, err) || !bacnet_take_inside(&in, 5, &inside, err))
    return ERR_INPUT;
  out->has_sequence = bacnet_is_context(&in, 6, BACNET_CONTENT);
  if (out->has_sequence && !bacnet_take_unsigned(&in, 6, &out->sequence, err))
    return ERR_INPUT;
  *scan = (struct bacnet_scan){.bytes = inside.bytes, .size = inside.size};
  return ERR_OK;
}

/* ---- records ---- */

static bool take_moment(struct bacnet_bytes *in, struct bacnet_moment *out, struct err *err)
{
  struct bacnet_bytes inside;
  struct bacnet_tag date, time;

  if (!bacnet_take_inside(in, 0, &inside, err) || !bacnet_take(&inside, &date, err) ||
      !bacnet_take(&inside, &time, err))
    return false;
  if (date.context || date.number != BACNET_DATE || time.context || time.number != BACNET_TIME ||
      !bacnet_date(&date, &out->date) || !bacnet_time(&time, &out->time))
    return bacnet_fail(in, err, "a record without its date and time");
  return true;
}

/* What was logged, by the number of its tag. */
static const struct {
  enum bacnet_logged what;
  enum bacnet_type type;
  bool opens;
} logged[] = {
    {BACNET_LOGGED_STATUS, BACNET_BITS, false},    {BACNET_LOGGED_VALUE, BACNET_BOOLEAN, false},
    {BACNET_LOGGED_VALUE, BACNET_REAL, false},     {BACNET_LOGGED_VALUE, BACNET_ENUMERATED, false},
    {BACNET_LOGGED_VALUE, BACNET_UNSIGNED, false}, {BACNET_LOGGED_VALUE, BACNET_SIGNED, false},
    {BACNET_LOGGED_VALUE, BACNET_BITS, false},     {BACNET_LOGGED_NONE, BACNET_NULL, false},
    {BACNET_LOGGED_FAILED, BACNET_OTHER, true},    {BACNET_LOGGED_CLOCK, BACNET_REAL, false},
    {BACNET_LOGGED_VALUE, BACNET_OTHER, true}};

enum { LOGGED_ANY = 10 };

static bool take_any(const struct bacnet_bytes *inside, struct bacnet_value *out, struct err *err)
{
  return bacnet_value(inside->bytes, inside->size, out, err) == ERR_OK;
}

static bool take_datum(struct bacnet_bytes *in, struct bacnet_record *out, struct err *err)
{
  struct bacnet_bytes outer, inside, before;
  struct bacnet_tag tag;

  if (!bacnet_take_inside(in, 1, &outer, err) || !bacnet_peek(&outer, &tag, err))
    return false;
  before = outer;
  if (!tag.context || (size_t)tag.number >= sizeof logged / sizeof *logged)
    return bacnet_fail(&outer, err, "a record of a kind that the standard does not have");
  out->what = logged[tag.number].what;
  out->value.number = NAN;
  if (logged[tag.number].opens) {
    if (!bacnet_take_inside(&outer, tag.number, &inside, err))
      return false;
    return tag.number != LOGGED_ANY || take_any(&inside, &out->value, err);
  }
  return bacnet_take(&outer, &tag, err) &&
         (bacnet_content(&tag, logged[tag.number].type, &out->value) ||
          bacnet_fail(&before, err, "a logged value that is not of its type"));
}

static bool take_flags(struct bacnet_bytes *in, struct bacnet_record *out, struct err *err)
{
  struct bacnet_value flags;
  struct bacnet_tag tag;

  out->has_flags = bacnet_is_context(in, 2, BACNET_CONTENT);
  if (!out->has_flags)
    return true;
  if (!bacnet_take(in, &tag, err))
    return false;
  if (!bacnet_content(&tag, BACNET_BITS, &flags) || flags.bit_count != 4)
    return bacnet_fail(in, err, "status flags that are not four");
  out->flags = flags.bits;
  return true;
}

enum bacnet_step bacnet_next_record(struct bacnet_scan *scan, struct bacnet_record *out,
                                    struct err *err)
{
  struct bacnet_bytes in = {scan->bytes, scan->size, scan->at};

  if (scan->ended || in.at == in.size)
    return BACNET_END;
  *out = (struct bacnet_record){.what = BACNET_LOGGED_NONE};
  if (!take_moment(&in, &out->moment, err) || !take_datum(&in, out, err) ||
      !take_flags(&in, out, err)) {
    scan->ended = true;
    return BACNET_BAD;
  }
  scan->at = in.at;
  return BACNET_ONE;
}

enum err_code bacnet_reference(const uint8_t *bytes, size_t size, struct bacnet_object *out,
                               bool *elsewhere_out, struct err *err)
{
  struct bacnet_bytes in = {bytes, size, 0};
  uint32_t number;

  if (!bacnet_take_object(&in, 0, out, err) || !bacnet_take_unsigned(&in, 1, &number, err))
    return ERR_INPUT;
  if (bacnet_is_context(&in, 2, BACNET_CONTENT) && !bacnet_take_unsigned(&in, 2, &number, err))
    return ERR_INPUT;
  *elsewhere_out = bacnet_is_context(&in, 3, BACNET_CONTENT);
  return ERR_OK;
}

/* ---- the device's clock ---- */

/* Days since 1970-01-01; Euclidean years that begin in March, so that the leap day is last. */
static int64_t days_of(int year, int month, int day)
{
  int64_t y = month > 2 ? year : year - 1, m = month > 2 ? month - 3 : month + 9;

  return 365 * y + y / 4 - y / 100 + y / 400 + (153 * m + 2) / 5 + day - 1 - 719468;
}

static int days_in(int year, int month)
{
  static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  bool leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);

  return days[month - 1] + (month == 2 && leap ? 1 : 0);
}

bool bacnet_moment_ms(const struct bacnet_moment *moment, int64_t *t_out_ms)
{
  const struct bacnet_date *d = &moment->date;
  const struct bacnet_time *t = &moment->time;
  int hundredth = t->hundredth == 255 ? 0 : t->hundredth;

  if (d->year < 1900 || d->month < 1 || d->month > 12 || d->day < 1 ||
      d->day > days_in(d->year, d->month))
    return false;
  if (t->hour < 0 || t->hour > 23 || t->minute < 0 || t->minute > 59 || t->second < 0 ||
      t->second > 59 || hundredth < 0 || hundredth > 99)
    return false;

  int64_t minutes = (days_of(d->year, d->month, d->day) * 24 + t->hour) * 60 + t->minute;

  *t_out_ms = (minutes * 60 + t->second) * 1000 + 10 * hundredth;
  return true;
}

void bacnet_moment_of(int64_t t_ms, struct bacnet_moment *out)
{
  int64_t day_ms = 24 * INT64_C(3600000);
  int64_t days = t_ms >= 0 ? t_ms / day_ms : -((day_ms - 1 - t_ms) / day_ms);
  int64_t rest = t_ms - days * day_ms, z = days + 719468;
  int64_t era = z / 146097, of_era = z - era * 146097;
  int64_t year = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
  int64_t of_year = of_era - (365 * year + year / 4 - year / 100), month = (5 * of_year + 2) / 153;

  out->date.year = (int)(year + 400 * era) + (month >= 10 ? 1 : 0);
  out->date.month = (int)(month < 10 ? month + 3 : month - 9);
  out->date.day = (int)(of_year - (153 * month + 2) / 5 + 1);
  out->date.weekday = (int)((days % 7 + 10) % 7) + 1; /* 1970-01-01 was a Thursday */
  out->time.hour = (int)(rest / 3600000);
  out->time.minute = (int)(rest / 60000 % 60);
  out->time.second = (int)(rest / 1000 % 60);
  out->time.hundredth = (int)(rest / 10 % 100);
}
