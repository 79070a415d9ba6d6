#include "bacnet/bacnet.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool promise)
{
  if (!promise)
    abort();
}

static void refused(const struct err *err, size_t size)
{
  must(err->code == ERR_INPUT && err->text[0] != '\0');
  must(err->col >= 1 && (size_t)err->col <= size + 1);
}

static bool inside(const struct bacnet_message *m, const uint8_t *bytes, size_t size)
{
  return size == 0 || (bytes >= m->body && bytes + size <= m->body + m->body_size);
}

static void look_at_value(const uint8_t *bytes, size_t size)
{
  struct bacnet_object logged;
  struct bacnet_value v;
  struct err err = {0};
  bool elsewhere;

  if (bacnet_reference(bytes, size, &logged, &elsewhere, NULL) == ERR_OK)
    must(logged.instance >= 0 && logged.instance <= 4194303);

  if (bacnet_value(bytes, size, &v, &err) != ERR_OK) {
    refused(&err, size);
    return;
  }
  must((int)v.type >= BACNET_NULL && v.type <= BACNET_OTHER);
  must(v.bit_count >= 0 && (v.type == BACNET_BITS || v.bits == 0));
  if (v.type == BACNET_UNSIGNED || v.type == BACNET_SIGNED || v.type == BACNET_ENUMERATED)
    must(isfinite(v.number));
  if (v.type == BACNET_OBJECT)
    must(v.object.type >= 0 && v.object.type <= 1023);
}

/* Each step passes at least two bytes, so that the work is bounded by the message. */
static void walk_properties(const struct bacnet_message *m, struct bacnet_scan *scan)
{
  struct bacnet_property p;
  struct err err = {0};
  enum bacnet_step step;
  size_t steps = 0;

  while ((step = bacnet_next_property(scan, &p, &err)) == BACNET_ONE) {
    must(2 * ++steps <= m->body_size);
    must(inside(m, p.bytes, p.size) && (!p.failed || p.size == 0));
    if (!p.failed)
      look_at_value(p.bytes, p.size);
  }
  if (step == BACNET_BAD)
    refused(&err, m->body_size);
  must(bacnet_next_property(scan, &p, &err) == BACNET_END);
}

static void walk_log(const struct bacnet_message *m)
{
  struct bacnet_moment again;
  struct bacnet_record r;
  struct bacnet_scan scan;
  struct bacnet_log log;
  struct err err = {0};
  int64_t t_ms, back_ms;
  size_t steps = 0;

  if (bacnet_log(m, &log, &scan, &err) != ERR_OK) {
    refused(&err, m->body_size);
    return;
  }
  while (bacnet_next_record(&scan, &r, &err) == BACNET_ONE) {
    must(2 * ++steps <= m->body_size);
    if (!bacnet_moment_ms(&r.moment, &t_ms))
      continue;
    bacnet_moment_of(t_ms, &again);
    must(bacnet_moment_ms(&again, &back_ms) && back_ms == t_ms);
  }
}

static void look_inside(const struct bacnet_message *m)
{
  struct bacnet_device device;
  struct bacnet_notice notice;
  struct bacnet_scan scan;
  struct err err = {0};
  bool unconfirmed = m->kind == BACNET_UNCONFIRMED;

  if (m->kind == BACNET_COMPLEX_ACK && m->service == BACNET_SERVICE_READ_RANGE)
    walk_log(m);
  if (m->kind == BACNET_COMPLEX_ACK &&
      (m->service == BACNET_SERVICE_READ_PROPERTY || m->service == BACNET_SERVICE_READ_MULTIPLE)) {
    bacnet_scan_property(&scan, m);
    walk_properties(m, &scan);
  }
  if (unconfirmed && m->service == BACNET_UNCONFIRMED_I_AM &&
      bacnet_i_am(m, &device, &err) == ERR_OK)
    must(device.instance >= 0 && device.instance <= BACNET_ANY_INSTANCE);
  if ((unconfirmed && m->service == BACNET_UNCONFIRMED_COV) ||
      (m->kind == BACNET_CONFIRMED && m->service == BACNET_SERVICE_COV_NOTIFICATION)) {
    if (bacnet_notice(m, &notice, &scan, &err) == ERR_OK)
      walk_properties(m, &scan);
    else
      refused(&err, m->body_size);
  }
}

/* In memory of exactly its size, so that a byte beyond it is seen. */
static void read_exactly(const uint8_t *bytes, size_t size)
{
  uint8_t *exact = malloc(size ? size : 1);
  struct bacnet_message m;
  struct err err = {0};

  must(exact != NULL);
  memcpy(exact, bytes, size);
  if (bacnet_read(exact, size, &m, &err) == ERR_OK) {
    must(!m.body || m.body + m.body_size == exact + size);
    look_inside(&m);
  } else {
    refused(&err, size);
  }
  free(exact);
}

/* What we send is well formed by our own reading, in the same envelope and with the same object. */
static void write_and_read(const uint8_t *data, size_t size)
{
  struct bacnet_asked asked[64] = {{.property_count = 1}};
  struct bacnet_route route = {0};
  struct bacnet_message m;
  struct bacnet_out out;
  int count = 0,
      service = data[0] % 2 ? BACNET_SERVICE_READ_MULTIPLE : BACNET_SERVICE_READ_PROPERTY;

  if (data[1] % 2)
    route = (struct bacnet_route){.network = 1 + data[2] * 200, .length = data[3] % 8};
  for (size_t at = 4; at + 4 <= size && count < 64; at += 4, count++) {
    asked[count].object.type = (data[at] << 2 | data[at + 1] >> 6) & 1023;
    asked[count].object.instance = (data[at + 1] & 0x3f) << 16 | data[at + 2] << 8 | data[at + 3];
    asked[count].property_count = 1 + data[at] % BACNET_MOST_ASKED;
    for (int p = 0; p < asked[count].property_count; p++)
      asked[count].properties[p] = data[at + 3] << (5 * p);
  }
  if (service == BACNET_SERVICE_READ_MULTIPLE)
    bacnet_write_read_multiple(&out, &route, data[2], asked, count);
  else
    bacnet_write_read_property(&out, &route, data[2], &asked[0].object, asked[0].properties[0]);
  must(out.used <= BACNET_MOST_BYTES);
  if (out.full)
    return;
  must(bacnet_read(out.bytes, out.used, &m, NULL) == ERR_OK);
  must(m.kind == BACNET_CONFIRMED && m.service == service && m.invoke_id == data[2]);
  must(count == 0 || m.body_size >= 5);
}

/*
 * The first byte chooses: the rest is a datagram; or what stands behind its envelopes; or what is
 * asked for.
 */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  uint8_t whole[2048] = {0x81, 0x0a, 0, 0, 1, 0};

  if (size < 6 || size > sizeof whole - 6)
    return 0;
  switch (data[0] % 3) {
  case 0:
    read_exactly(data + 1, size - 1);
    break;
  case 1:
    memcpy(whole + 6, data + 1, size - 1);
    whole[2] = (uint8_t)((size + 5) >> 8);
    whole[3] = (uint8_t)((size + 5) & 0xff);
    read_exactly(whole, size + 5);
    break;
  default:
    write_and_read(data + 1, size - 1);
  }
  return 0;
}
