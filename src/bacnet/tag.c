#include "bacnet/bacnet_impl.h"

#include <math.h>
#include <string.h>

/* Tags and what they hold: clause 20.2. */

bool bacnet_fail(const struct bacnet_bytes *in, struct err *err, const char *what)
{
  if (err) {
    (void)err_set(err, ERR_INPUT, "%s", what);
    err->col = (int)(in->at < in->size ? in->at : in->size) + 1;
  }
  return false;
}

static uint32_t big_endian(const uint8_t *bytes, size_t count)
{
  uint32_t value = 0;

  for (size_t i = 0; i < count; i++)
    value = value << 8 | bytes[i];
  return value;
}

/* Lengths of 5 and more stand behind the head's first byte: in one byte, in two or in four. */
static bool long_length(const struct bacnet_bytes *in, size_t at, struct bacnet_tag *out)
{
  size_t left = in->size - at, width;

  if (left < 1)
    return false;

  uint8_t first = in->bytes[at];

  width = first == 255 ? 4 : first == 254 ? 2 : 0;
  if (left < 1 + width)
    return false;
  out->length = width ? big_endian(in->bytes + at + 1, width) : first;
  out->head += 1 + width;
  return true;
}

bool bacnet_peek(const struct bacnet_bytes *in, struct bacnet_tag *out, struct err *err)
{
  size_t at = in->at;

  if (at >= in->size)
    return bacnet_fail(in, err, "a tag is missing at the end");

  uint8_t first = in->bytes[at++];
  int size_code = first & 7;

  *out = (struct bacnet_tag){.number = first >> 4, .context = first & 8, .head = 1};
  if (out->number == 15) {
    if (at >= in->size)
      return bacnet_fail(in, err, "a tag's number is cut off");
    out->number = in->bytes[at++];
    out->head = 2;
  }
  if (out->context && size_code >= 6) {
    out->mark = size_code == 6 ? BACNET_OPENING : BACNET_CLOSING;
    return true;
  }
  if (size_code > 5)
    return bacnet_fail(in, err, "an application tag cannot open or close anything");
  out->length = (uint32_t)size_code;
  if (!out->context && out->number == BACNET_BOOLEAN)
    return out->length <= 1 || bacnet_fail(in, err, "a boolean is 0 or 1");
  if (size_code == 5 && !long_length(in, at, out))
    return bacnet_fail(in, err, "a tag's length is cut off");
  if (out->length > in->size - in->at - out->head)
    return bacnet_fail(in, err, "a tag says more bytes than there are");
  out->bytes = in->bytes + in->at + out->head;
  return true;
}

/* What stands behind the head; an application boolean's value is in it. */
static size_t content_size(const struct bacnet_tag *tag)
{
  bool none = tag->mark != BACNET_CONTENT || (!tag->context && tag->number == BACNET_BOOLEAN);

  return none ? 0 : tag->length;
}

bool bacnet_take(struct bacnet_bytes *in, struct bacnet_tag *out, struct err *err)
{
  if (!bacnet_peek(in, out, err))
    return false;
  in->at += out->head + content_size(out);
  return true;
}

bool bacnet_is_context(const struct bacnet_bytes *in, int number, enum bacnet_mark mark)
{
  struct bacnet_tag tag;

  return bacnet_peek(in, &tag, NULL) && tag.context && tag.number == number && tag.mark == mark;
}

bool bacnet_take_context(struct bacnet_bytes *in, int number, enum bacnet_mark mark,
                         struct bacnet_tag *out, struct err *err)
{
  if (!bacnet_peek(in, out, err))
    return false;
  if (!out->context || out->number != number || out->mark != mark)
    return bacnet_fail(in, err, "another tag than the service has here");
  in->at += out->head + content_size(out);
  return true;
}

bool bacnet_take_inside(struct bacnet_bytes *in, int number, struct bacnet_bytes *out,
                        struct err *err)
{
  struct bacnet_tag tag;
  size_t from, depth = 1;

  if (!bacnet_take_context(in, number, BACNET_OPENING, &tag, err))
    return false;
  from = in->at;
  for (;;) {
    size_t before = in->at;

    if (!bacnet_take(in, &tag, err))
      return false;
    if (tag.mark == BACNET_OPENING)
      depth++;
    else if (tag.mark == BACNET_CLOSING && --depth == 0) {
      if (tag.number != number)
        return bacnet_fail(in, err, "a closing tag of another number");
      *out = (struct bacnet_bytes){in->bytes + from, before - from, 0};
      return true;
    }
  }
}

/* ---- contents ---- */

bool bacnet_unsigned(const struct bacnet_tag *tag, uint32_t *out)
{
  if (tag->mark != BACNET_CONTENT || tag->length < 1 || tag->length > 4)
    return false;
  *out = big_endian(tag->bytes, tag->length);
  return true;
}

bool bacnet_object(const struct bacnet_tag *tag, struct bacnet_object *out)
{
  if (tag->mark != BACNET_CONTENT || tag->length != 4)
    return false;

  uint32_t word = big_endian(tag->bytes, 4);

  *out = (struct bacnet_object){(int)(word >> 22), (int)(word & 0x3fffff)};
  return true;
}

bool bacnet_date(const struct bacnet_tag *tag, struct bacnet_date *out)
{
  if (tag->mark != BACNET_CONTENT || tag->length != 4)
    return false;
  *out = (struct bacnet_date){tag->bytes[0] == 255 ? 0 : 1900 + tag->bytes[0], tag->bytes[1],
                              tag->bytes[2], tag->bytes[3]};
  return true;
}

bool bacnet_time(const struct bacnet_tag *tag, struct bacnet_time *out)
{
  if (tag->mark != BACNET_CONTENT || tag->length != 4)
    return false;
  *out = (struct bacnet_time){tag->bytes[0], tag->bytes[1], tag->bytes[2], tag->bytes[3]};
  return true;
}

/* Whole numbers of up to eight bytes; beyond 2^53 a double rounds them, as it does any. */
static bool whole(const struct bacnet_tag *tag, bool is_signed, double *out)
{
  uint64_t value;

  if (tag->length < 1 || tag->length > 8)
    return false;
  value = is_signed && (tag->bytes[0] & 0x80) ? UINT64_MAX : 0;
  for (uint32_t i = 0; i < tag->length; i++)
    value = value << 8 | tag->bytes[i];
  if (is_signed && value >> 63)
    *out = -(double)(~value) - 1;
  else
    *out = (double)value;
  return true;
}

static bool floating(const struct bacnet_tag *tag, bool is_double, double *out)
{
  uint64_t bits;
  uint32_t bits32;
  float single;

  if (tag->length != (is_double ? 8U : 4U))
    return false;
  bits32 = big_endian(tag->bytes, 4);
  if (is_double) {
    bits = (uint64_t)bits32 << 32 | big_endian(tag->bytes + 4, 4);
    memcpy(out, &bits, sizeof *out);
  } else {
    memcpy(&single, &bits32, sizeof single);
    *out = (double)single;
  }
  return true;
}

static bool bits(const struct bacnet_tag *tag, struct bacnet_value *out)
{
  if (tag->length < 1 || tag->bytes[0] > 7 || (tag->length == 1 && tag->bytes[0] != 0))
    return false;
  if (tag->length > 1 + 1024) /* no bit string of the standard is nearly so long */
    return false;
  out->bit_count = (int)(8 * (tag->length - 1)) - tag->bytes[0];
  for (int i = 0; i < out->bit_count && i < 32; i++)
    if (tag->bytes[1 + i / 8] & (0x80 >> i % 8))
      out->bits |= UINT32_C(1) << i;
  return true;
}

bool bacnet_content(const struct bacnet_tag *tag, enum bacnet_type type, struct bacnet_value *out)
{
  *out = (struct bacnet_value){.type = type, .number = NAN};
  if (tag->mark != BACNET_CONTENT)
    return false;
  switch (type) {
  case BACNET_NULL:
    return tag->length == 0;
  case BACNET_BOOLEAN: /* with a context tag it is a byte */
    out->number = tag->context ? (tag->length == 1 ? tag->bytes[0] : 2) : tag->length;
    return out->number <= 1;
  case BACNET_UNSIGNED:
  case BACNET_ENUMERATED:
    return whole(tag, false, &out->number);
  case BACNET_SIGNED:
    return whole(tag, true, &out->number);
  case BACNET_REAL:
    return floating(tag, false, &out->number);
  case BACNET_DOUBLE:
    return floating(tag, true, &out->number);
  case BACNET_BITS:
    return bits(tag, out);
  case BACNET_DATE:
    return bacnet_date(tag, &out->date);
  case BACNET_TIME:
    return bacnet_time(tag, &out->time);
  case BACNET_OBJECT:
    return bacnet_object(tag, &out->object);
  case BACNET_OCTETS:
  case BACNET_CHARACTERS:
  case BACNET_OTHER:
  default:
    return true;
  }
}

/* ---- the commonest ones ---- */

bool bacnet_take_unsigned(struct bacnet_bytes *in, int number, uint32_t *out, struct err *err)
{
  struct bacnet_bytes before = *in;
  struct bacnet_tag tag;

  return bacnet_take_context(in, number, BACNET_CONTENT, &tag, err) &&
         (bacnet_unsigned(&tag, out) ||
          bacnet_fail(&before, err, "no whole number of 1 to 4 bytes"));
}

bool bacnet_take_object(struct bacnet_bytes *in, int number, struct bacnet_object *out,
                        struct err *err)
{
  struct bacnet_bytes before = *in;
  struct bacnet_tag tag;

  return bacnet_take_context(in, number, BACNET_CONTENT, &tag, err) &&
         (bacnet_object(&tag, out) || bacnet_fail(&before, err, "no object identifier"));
}

static bool take_enumerated(struct bacnet_bytes *in, int *out, struct err *err)
{
  struct bacnet_bytes before = *in;
  struct bacnet_tag tag;
  uint32_t value;

  if (!bacnet_take(in, &tag, err))
    return false;
  if (tag.context || tag.number != BACNET_ENUMERATED || !bacnet_unsigned(&tag, &value) ||
      value > 0xffff)
    return bacnet_fail(&before, err, "an error without its class and code");
  *out = (int)value;
  return true;
}

bool bacnet_take_error(struct bacnet_bytes *in, int *class_out, int *code_out, struct err *err)
{
  return take_enumerated(in, class_out, err) && take_enumerated(in, code_out, err);
}
