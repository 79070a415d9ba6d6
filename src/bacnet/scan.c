#include "bacnet/bacnet_impl.h"

/* Properties and their values: clauses 15.5 (ReadProperty), 15.7 (ReadPropertyMultiple), 13.6 and
 * 13.7 (notifications of change). */

enum { FORM_ONE, FORM_MULTIPLE, FORM_NOTICE };

enum err_code bacnet_value(const uint8_t *bytes, size_t size, struct bacnet_value *out,
                           struct err *err)
{
  struct bacnet_bytes in = {bytes, size, 0};
  struct bacnet_bytes before = in;
  struct bacnet_tag tag;

  if (!bacnet_take(&in, &tag, err))
    return ERR_INPUT;

  bool plain = !tag.context && tag.number <= BACNET_OBJECT;

  *out = (struct bacnet_value){.type = BACNET_OTHER};
  if (!bacnet_content(&tag, plain ? (enum bacnet_type)tag.number : BACNET_OTHER, out) && plain) {
    bacnet_fail(&before, err, "a value that is not of its type");
    return ERR_INPUT;
  }
  if (plain && in.at < in.size) {
    bacnet_fail(&in, err, "more than one value");
    return ERR_INPUT;
  }
  return ERR_OK;
}

/* ---- the scan ---- */

static void begin(struct bacnet_scan *scan, int form, const uint8_t *bytes, size_t size)
{
  *scan = (struct bacnet_scan){.bytes = bytes, .size = size, .form = form};
}

void bacnet_scan_property(struct bacnet_scan *scan, const struct bacnet_message *m)
{
  BUG_IF(m->kind != BACNET_COMPLEX_ACK || (m->service != BACNET_SERVICE_READ_PROPERTY &&
                                           m->service != BACNET_SERVICE_READ_MULTIPLE));
  begin(scan, m->service == BACNET_SERVICE_READ_PROPERTY ? FORM_ONE : FORM_MULTIPLE, m->body,
        m->body_size);
}

/* Numbers of the tags; a list's answer and a notification count differently. */
struct numbering {
  int property, index, values, error; /* error -1: there is none */
};
static const struct numbering numberings[] = {
    [FORM_ONE] = {1, 2, 3, -1}, [FORM_MULTIPLE] = {2, 3, 4, 5}, [FORM_NOTICE] = {0, 1, 2, -1}};

static bool take_property(struct bacnet_bytes *in, const struct numbering *numbers,
                          struct bacnet_property *out, struct err *err)
{
  struct bacnet_bytes inside;
  uint32_t property;

  if (!bacnet_take_unsigned(in, numbers->property, &property, err))
    return false;
  if (property > 0x3fffff)
    return bacnet_fail(in, err, "no such property number");
  out->property = (int)property;
  out->has_index = bacnet_is_context(in, numbers->index, BACNET_CONTENT);
  if (out->has_index && !bacnet_take_unsigned(in, numbers->index, &out->index, err))
    return false;
  out->failed = numbers->error >= 0 && bacnet_is_context(in, numbers->error, BACNET_OPENING);
  if (!bacnet_take_inside(in, out->failed ? numbers->error : numbers->values, &inside, err))
    return false;
  if (out->failed)
    return bacnet_take_error(&inside, &out->error_class, &out->error_code, err);
  out->bytes = inside.bytes;
  out->size = inside.size;
  return true;
}

/* A notification may say with which priority a value was written. */
static bool skip_priority(struct bacnet_bytes *in, struct err *err)
{
  struct bacnet_tag tag;

  return !bacnet_is_context(in, 3, BACNET_CONTENT) || bacnet_take(in, &tag, err);
}

/* Stands in front of an object's list, or behind it.  One of each is passed at a time, so that an
 * answer full of empty lists costs no more than its bytes. */
static bool find_next(struct bacnet_scan *scan, struct bacnet_bytes *in, struct err *err)
{
  struct bacnet_tag tag;

  while (in->at < in->size) {
    if (!scan->inside) {
      if (!bacnet_take_object(in, 0, &scan->object, err) ||
          !bacnet_take_context(in, 1, BACNET_OPENING, &tag, err))
        return false;
      scan->inside = true;
    } else if (bacnet_is_context(in, 1, BACNET_CLOSING)) {
      if (!bacnet_take(in, &tag, err))
        return false;
      scan->inside = false;
    } else {
      return true;
    }
  }
  if (scan->inside)
    return bacnet_fail(in, err, "an object's list has no end");
  scan->ended = true;
  return true;
}

static bool step(struct bacnet_scan *scan, struct bacnet_bytes *in, struct bacnet_property *out,
                 struct err *err)
{
  if (scan->form == FORM_MULTIPLE && !find_next(scan, in, err))
    return false;
  if (scan->form != FORM_MULTIPLE && in->at == in->size)
    scan->ended = true;
  if (scan->form == FORM_ONE && in->at == 0 && !bacnet_take_object(in, 0, &scan->object, err))
    return false;
  if (scan->ended)
    return true;
  out->object = scan->object;
  if (!take_property(in, &numberings[scan->form], out, err))
    return false;
  if (scan->form == FORM_NOTICE)
    return skip_priority(in, err);
  return scan->form != FORM_ONE || in->at == in->size ||
         bacnet_fail(in, err, "something stands behind the value");
}

enum bacnet_step bacnet_next_property(struct bacnet_scan *scan, struct bacnet_property *out,
                                      struct err *err)
{
  struct bacnet_bytes in = {scan->bytes, scan->size, scan->at};

  if (scan->ended)
    return BACNET_END;
  *out = (struct bacnet_property){.property = -1};

  bool well = step(scan, &in, out, err);

  scan->at = in.at;
  if (!well) {
    scan->ended = true;
    return BACNET_BAD;
  }
  return scan->ended ? BACNET_END : BACNET_ONE;
}

/* ---- notifications ---- */

enum err_code bacnet_notice(const struct bacnet_message *m, struct bacnet_notice *out,
                            struct bacnet_scan *scan, struct err *err)
{
  struct bacnet_bytes in = {m->body, m->body_size, 0}, inside;
  struct bacnet_object device;

  BUG_IF(!(m->kind == BACNET_CONFIRMED && m->service == BACNET_SERVICE_COV_NOTIFICATION) &&
         !(m->kind == BACNET_UNCONFIRMED && m->service == BACNET_UNCONFIRMED_COV));
  if (!bacnet_take_unsigned(&in, 0, &out->process, err) ||
      !bacnet_take_object(&in, 1, &device, err) || !bacnet_take_object(&in, 2, &out->object, err) ||
      !bacnet_take_unsigned(&in, 3, &out->left_s, err) || !bacnet_take_inside(&in, 4, &inside, err))
    return ERR_INPUT;
  if (device.type != BACNET_DEVICE) {
    bacnet_fail(&in, err, "a notification that is not from a device");
    return ERR_INPUT;
  }
  out->device = device.instance;
  begin(scan, FORM_NOTICE, inside.bytes, inside.size);
  scan->object = out->object;
  return ERR_OK;
}
