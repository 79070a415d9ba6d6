#include "bacnet/bacnet.h"

#include <string.h>

/* Requests.  The numbers of services stand in these functions and nowhere as a parameter that a
 * caller could choose: what is not below cannot be sent. */

static void put(struct bacnet_out *out, int byte)
{
  if (out->used == sizeof out->bytes) {
    out->full = true;
    return;
  }
  out->bytes[out->used++] = (uint8_t)byte;
}

static void put_16(struct bacnet_out *out, int value)
{
  put(out, value >> 8);
  put(out, value & 0xff);
}

/* ---- tags; the numbers used here are all below 15 and the contents below 5 bytes ---- */

static void put_tag(struct bacnet_out *out, int number, bool context, int length)
{
  put(out, number << 4 | (context ? 8 : 0) | length);
}

static void put_opening(struct bacnet_out *out, int number)
{
  put(out, number << 4 | 0xe);
}

static void put_closing(struct bacnet_out *out, int number)
{
  put(out, number << 4 | 0xf);
}

static void put_unsigned(struct bacnet_out *out, int number, bool context, uint32_t value)
{
  int length = value < 1U << 8 ? 1 : value < 1U << 16 ? 2 : value < 1U << 24 ? 3 : 4;

  put_tag(out, number, context, length);
  for (int i = length - 1; i >= 0; i--)
    put(out, (int)(value >> (8 * i) & 0xff));
}

/* Two's complement, in as few bytes as hold it. */
static void put_signed(struct bacnet_out *out, int value)
{
  int length = value >= -128 && value < 128 ? 1 : value >= -32768 && value < 32768 ? 2 : 4;

  put_tag(out, BACNET_SIGNED, false, length);
  for (int i = length - 1; i >= 0; i--)
    put(out, (int)((uint32_t)value >> (8 * i) & 0xff));
}

static void put_object(struct bacnet_out *out, int number, const struct bacnet_object *object)
{
  BUG_IF(object->type < 0 || object->type > 1023 || object->instance < 0 ||
         object->instance > BACNET_ANY_INSTANCE);
  uint32_t word = (uint32_t)object->type << 22 | (uint32_t)object->instance;

  put_tag(out, number, true, 4);
  for (int i = 3; i >= 0; i--)
    put(out, (int)(word >> (8 * i) & 0xff));
}

/* ---- envelopes ---- */

enum { BVLC_UNICAST = 10, BVLC_BROADCAST = 11 };
enum { NPDU_EXPECTING_REPLY = 0x04, NPDU_DESTINATION = 0x20, HOPS = 255 };
enum { APDU_SIZE_1476 = 5 }; /* and in the high bits 0: we take no segments */

static void begin(struct bacnet_out *out, int function, const struct bacnet_route *route,
                  bool expecting_reply)
{
  bool routed = route && route->network != 0;

  *out = (struct bacnet_out){.used = 0};
  put(out, 0x81);
  put(out, function);
  put_16(out, 0); /* the length, by finish */
  put(out, 1);
  put(out, (expecting_reply ? NPDU_EXPECTING_REPLY : 0) | (routed ? NPDU_DESTINATION : 0));
  if (!routed)
    return;
  BUG_IF(route->length < 0 || route->length > BACNET_MOST_ADDRESS);
  put_16(out, route->network);
  put(out, route->length);
  for (int i = 0; i < route->length; i++)
    put(out, route->address[i]);
  put(out, HOPS);
}

static void begin_request(struct bacnet_out *out, const struct bacnet_route *route,
                          uint8_t invoke_id, int service)
{
  begin(out, BVLC_UNICAST, route, true);
  put(out, 0x00);
  put(out, APDU_SIZE_1476);
  put(out, invoke_id);
  put(out, service);
}

static void finish(struct bacnet_out *out)
{
  out->bytes[2] = (uint8_t)(out->used >> 8);
  out->bytes[3] = (uint8_t)(out->used & 0xff);
}

/* ---- services ---- */

void bacnet_write_who_is(struct bacnet_out *out, bool broadcast, int low, int high)
{
  begin(out, broadcast ? BVLC_BROADCAST : BVLC_UNICAST, NULL, false);
  put(out, 0x10);
  put(out, BACNET_UNCONFIRMED_WHO_IS);
  put_unsigned(out, 0, true, (uint32_t)low);
  put_unsigned(out, 1, true, (uint32_t)high);
  finish(out);
}

void bacnet_write_read_property(struct bacnet_out *out, const struct bacnet_route *route,
                                uint8_t invoke_id, const struct bacnet_object *object, int property)
{
  begin_request(out, route, invoke_id, BACNET_SERVICE_READ_PROPERTY);
  put_object(out, 0, object);
  put_unsigned(out, 1, true, (uint32_t)property);
  finish(out);
}

void bacnet_write_read_multiple(struct bacnet_out *out, const struct bacnet_route *route,
                                uint8_t invoke_id, const struct bacnet_asked *list, int count)
{
  begin_request(out, route, invoke_id, BACNET_SERVICE_READ_MULTIPLE);
  for (int i = 0; i < count; i++) {
    BUG_IF(list[i].property_count < 1 || list[i].property_count > BACNET_MOST_ASKED);
    put_object(out, 0, &list[i].object);
    put_opening(out, 1);
    for (int p = 0; p < list[i].property_count; p++)
      put_unsigned(out, 0, true, (uint32_t)list[i].properties[p]);
    put_closing(out, 1);
  }
  finish(out);
}

static void begin_log(struct bacnet_out *out, const struct bacnet_route *route, uint8_t invoke_id,
                      const struct bacnet_object *log)
{
  begin_request(out, route, invoke_id, BACNET_SERVICE_READ_RANGE);
  put_object(out, 0, log);
  put_unsigned(out, 1, true, BACNET_LOG_BUFFER);
}

/* By position is tag 3, by sequence number tag 6. */
static void put_range(struct bacnet_out *out, int number, uint32_t from, int count)
{
  put_opening(out, number);
  put_unsigned(out, BACNET_UNSIGNED, false, from);
  put_signed(out, count);
  put_closing(out, number);
}

void bacnet_write_read_log_at(struct bacnet_out *out, const struct bacnet_route *route,
                              uint8_t invoke_id, const struct bacnet_object *log, uint32_t position,
                              int count)
{
  begin_log(out, route, invoke_id, log);
  put_range(out, 3, position, count);
  finish(out);
}

void bacnet_write_read_log_from(struct bacnet_out *out, const struct bacnet_route *route,
                                uint8_t invoke_id, const struct bacnet_object *log,
                                uint32_t sequence, int count)
{
  begin_log(out, route, invoke_id, log);
  put_range(out, 6, sequence, count);
  finish(out);
}

void bacnet_write_read_log_after(struct bacnet_out *out, const struct bacnet_route *route,
                                 uint8_t invoke_id, const struct bacnet_object *log,
                                 const struct bacnet_moment *moment, int count)
{
  begin_log(out, route, invoke_id, log);
  put_opening(out, 7);
  put_tag(out, BACNET_DATE, false, 4);
  put(out, moment->date.year - 1900);
  put(out, moment->date.month);
  put(out, moment->date.day);
  put(out, moment->date.weekday);
  put_tag(out, BACNET_TIME, false, 4);
  put(out, moment->time.hour);
  put(out, moment->time.minute);
  put(out, moment->time.second);
  put(out, moment->time.hundredth);
  put_signed(out, count);
  put_closing(out, 7);
  finish(out);
}

void bacnet_write_subscribe(struct bacnet_out *out, const struct bacnet_route *route,
                            uint8_t invoke_id, uint32_t process, const struct bacnet_object *object,
                            bool confirmed, uint32_t lifetime_s)
{
  begin_request(out, route, invoke_id, BACNET_SERVICE_SUBSCRIBE_COV);
  put_unsigned(out, 0, true, process);
  put_object(out, 1, object);
  put_tag(out, 2, true, 1);
  put(out, confirmed ? 1 : 0);
  put_unsigned(out, 3, true, lifetime_s);
  finish(out);
}

void bacnet_write_thanks(struct bacnet_out *out, const struct bacnet_route *route,
                         uint8_t invoke_id)
{
  begin(out, BVLC_UNICAST, route, false);
  put(out, 0x20);
  put(out, invoke_id);
  put(out, BACNET_SERVICE_COV_NOTIFICATION);
  finish(out);
}
