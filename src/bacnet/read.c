#include "bacnet/bacnet_impl.h"

/* A datagram's three envelopes: BVLC (Annex J.2), NPDU (clause 6.2), APDU (clause 20.1). */

enum { TYPE_BACNET_IP = 0x81 };
enum { BVLC_RESULT = 0, BVLC_FORWARDED = 4, BVLC_UNICAST = 10, BVLC_BROADCAST = 11 };

static bool left(const struct bacnet_bytes *in, size_t count)
{
  return in->size - in->at >= count;
}

static int take_16(struct bacnet_bytes *in)
{
  int value = in->bytes[in->at] << 8 | in->bytes[in->at + 1];

  in->at += 2;
  return value;
}

/* ---- BVLC ---- */

/* *done: there is nothing inside for us. */
static bool read_bvlc(struct bacnet_bytes *in, struct bacnet_message *out, bool *done,
                      struct err *err)
{
  if (!left(in, 4))
    return bacnet_fail(in, err, "shorter than the head of a BACnet/IP message");
  if (in->bytes[in->at] != TYPE_BACNET_IP)
    return bacnet_fail(in, err, "no BACnet/IP message: its first byte is not 0x81");

  int function = in->bytes[in->at + 1];

  in->at += 2;
  if ((size_t)take_16(in) != in->size)
    return bacnet_fail(in, err, "its length is not what it says");
  switch (function) {
  case BVLC_UNICAST:
  case BVLC_BROADCAST:
    return true;
  case BVLC_FORWARDED:
    if (!left(in, 6))
      return bacnet_fail(in, err, "forwarded, but not from where");
    out->forwarded = true;
    for (int i = 0; i < 4; i++)
      out->from_ip[i] = in->bytes[in->at++];
    out->from_port = take_16(in);
    return true;
  case BVLC_RESULT:
    if (!left(in, 2))
      return bacnet_fail(in, err, "a result without its code");
    out->kind = BACNET_BVLC_RESULT;
    out->reason = take_16(in);
    *done = true;
    return true;
  default: /* tables of a BBMD and the like */
    *done = true;
    return true;
  }
}

/* ---- NPDU ---- */

enum { NPDU_VERSION = 1 };
enum { NPDU_NETWORK_MESSAGE = 0x80, NPDU_DESTINATION = 0x20, NPDU_SOURCE = 0x08 };

static bool skip_destination(struct bacnet_bytes *in, struct err *err)
{
  if (!left(in, 3))
    return bacnet_fail(in, err, "a destination that is cut off");

  size_t length = in->bytes[in->at + 2];

  in->at += 3;
  if (!left(in, length))
    return bacnet_fail(in, err, "a destination that is cut off");
  in->at += length;
  return true;
}

static bool read_source(struct bacnet_bytes *in, struct bacnet_route *out, struct err *err)
{
  if (!left(in, 3))
    return bacnet_fail(in, err, "a source that is cut off");
  out->network = take_16(in);
  out->length = in->bytes[in->at++];
  if (out->network == 0 || out->network == 0xffff || out->length == 0)
    return bacnet_fail(in, err, "a source that is no device");
  if (!left(in, (size_t)out->length))
    return bacnet_fail(in, err, "a source that is cut off");
  if (out->length > BACNET_MOST_ADDRESS)
    return bacnet_fail(in, err, "a source whose address is longer than we take");
  for (int i = 0; i < out->length; i++)
    out->address[i] = in->bytes[in->at++];
  return true;
}

static bool read_npdu(struct bacnet_bytes *in, struct bacnet_message *out, bool *done,
                      struct err *err)
{
  if (!left(in, 2))
    return bacnet_fail(in, err, "no network layer in it");
  if (in->bytes[in->at] != NPDU_VERSION)
    return bacnet_fail(in, err, "another version of the network layer than 1");

  int control = in->bytes[in->at + 1];

  in->at += 2;
  if ((control & NPDU_DESTINATION) && !skip_destination(in, err))
    return false;
  if ((control & NPDU_SOURCE) && !read_source(in, &out->from, err))
    return false;
  if (control & NPDU_DESTINATION) { /* the hop count */
    if (!left(in, 1))
      return bacnet_fail(in, err, "a hop count is missing");
    in->at++;
  }
  if (control & NPDU_NETWORK_MESSAGE)
    *done = true; /* between routers */
  return true;
}

/* ---- APDU ---- */

enum { SEGMENTED = 0x08 };

/* The head behind the type: invoke id and, of most kinds, a service or reason. */
static bool read_pair(struct bacnet_bytes *in, struct bacnet_message *out, int *second,
                      struct err *err)
{
  if (!left(in, 2))
    return bacnet_fail(in, err, "a head that is cut off");
  out->invoke_id = in->bytes[in->at++];
  *second = in->bytes[in->at++];
  return true;
}

static bool read_confirmed(struct bacnet_bytes *in, int first, struct bacnet_message *out,
                           struct err *err)
{
  out->kind = first & SEGMENTED ? BACNET_SEGMENT : BACNET_CONFIRMED;
  if (!left(in, 1))
    return bacnet_fail(in, err, "a head that is cut off");
  in->at++; /* how much the other side takes: we answer with nothing long */
  if (first & SEGMENTED) {
    if (!left(in, 4))
      return bacnet_fail(in, err, "a head that is cut off");
    out->invoke_id = in->bytes[in->at];
    out->service = in->bytes[in->at + 3];
    in->at += 4;
    return true;
  }
  return read_pair(in, out, &out->service, err);
}

static bool read_complex_ack(struct bacnet_bytes *in, int first, struct bacnet_message *out,
                             struct err *err)
{
  out->kind = BACNET_COMPLEX_ACK;
  if (!(first & SEGMENTED))
    return read_pair(in, out, &out->service, err);
  out->kind = BACNET_SEGMENT;
  if (!left(in, 4))
    return bacnet_fail(in, err, "a head that is cut off");
  out->invoke_id = in->bytes[in->at];
  out->service = in->bytes[in->at + 3];
  in->at += 4;
  return true;
}

/* An error's class and code stand bare (most services) or inside tag 0 (those with more to say). */
static bool read_error(struct bacnet_bytes *in, struct bacnet_message *out, struct err *err)
{
  struct bacnet_bytes inside;

  out->kind = BACNET_ERROR;
  if (!read_pair(in, out, &out->service, err))
    return false;
  if (!bacnet_is_context(in, 0, BACNET_OPENING))
    return bacnet_take_error(in, &out->error_class, &out->error_code, err);
  return bacnet_take_inside(in, 0, &inside, err) &&
         bacnet_take_error(&inside, &out->error_class, &out->error_code, err);
}

static bool read_apdu(struct bacnet_bytes *in, struct bacnet_message *out, struct err *err)
{
  if (!left(in, 1))
    return bacnet_fail(in, err, "nothing inside the network layer");

  int first = in->bytes[in->at++];

  switch (first >> 4) {
  case 0:
    return read_confirmed(in, first, out, err);
  case 1:
    out->kind = BACNET_UNCONFIRMED;
    if (!left(in, 1))
      return bacnet_fail(in, err, "a head that is cut off");
    out->service = in->bytes[in->at++];
    return true;
  case 2:
    out->kind = BACNET_SIMPLE_ACK;
    return read_pair(in, out, &out->service, err);
  case 3:
    return read_complex_ack(in, first, out, err);
  case 5:
    return read_error(in, out, err);
  case 6:
    out->kind = BACNET_REJECT;
    return read_pair(in, out, &out->reason, err);
  case 7:
    out->kind = BACNET_ABORT;
    return read_pair(in, out, &out->reason, err);
  default: /* a segment's acknowledgement: we send no segments */
    return true;
  }
}

enum err_code bacnet_read(const uint8_t *bytes, size_t size, struct bacnet_message *out,
                          struct err *err)
{
  struct bacnet_bytes in = {bytes, size, 0};
  bool done = false;

  *out = (struct bacnet_message){.kind = BACNET_NOTHING};
  if (!read_bvlc(&in, out, &done, err))
    return ERR_INPUT;
  if (done)
    return ERR_OK;
  if (!read_npdu(&in, out, &done, err))
    return ERR_INPUT;
  if (done)
    return ERR_OK;
  if (!read_apdu(&in, out, err))
    return ERR_INPUT;
  out->body = bytes + in.at;
  out->body_size = size - in.at;
  out->body_at = in.at;
  return ERR_OK;
}

/* ---- I-Am, clause 16.10 ---- */

static bool take_application(struct bacnet_bytes *in, int number, struct bacnet_tag *out,
                             struct err *err)
{
  struct bacnet_bytes before = *in;

  if (!bacnet_take(in, out, err))
    return false;
  return (!out->context && out->number == number) ||
         bacnet_fail(&before, err, "another type than I-Am has here");
}

static bool take_number(struct bacnet_bytes *in, int number, int *out, struct err *err)
{
  struct bacnet_tag tag;
  uint32_t value;

  if (!take_application(in, number, &tag, err))
    return false;
  if (!bacnet_unsigned(&tag, &value) || value > INT32_MAX)
    return bacnet_fail(in, err, "a number out of range in I-Am");
  *out = (int)value;
  return true;
}

enum err_code bacnet_i_am(const struct bacnet_message *m, struct bacnet_device *out,
                          struct err *err)
{
  struct bacnet_bytes in = {m->body, m->body_size, 0};
  struct bacnet_object device;
  struct bacnet_tag tag;

  BUG_IF(m->kind != BACNET_UNCONFIRMED || m->service != BACNET_UNCONFIRMED_I_AM);
  if (!take_application(&in, BACNET_OBJECT, &tag, err))
    return ERR_INPUT;
  if (!bacnet_object(&tag, &device) || device.type != BACNET_DEVICE) {
    bacnet_fail(&in, err, "I-Am of something that is no device");
    return ERR_INPUT;
  }
  out->instance = device.instance;
  if (!take_number(&in, BACNET_UNSIGNED, &out->most_apdu, err) ||
      !take_number(&in, BACNET_ENUMERATED, &out->segmentation, err) ||
      !take_number(&in, BACNET_UNSIGNED, &out->vendor, err))
    return ERR_INPUT;
  return ERR_OK;
}
