#include "bacnet/bacnet.h"

#include "check.h"

#include <math.h>
#include <string.h>

/*
 * "F.3.7" and the like: examples of ANSI/ASHRAE 135, Annex F, "Examples of APDU encoding".  They are
 * bytes of APDUs; a device sends them inside a BVLC (Annex J.2) and an NPDU (clause 6.2).
 */

/* 16: none */
static unsigned digit(char c)
{
  static const char digits[] = "0123456789abcdef";
  const char *at = strchr(digits, c >= 'A' && c <= 'F' ? c - 'A' + 'a' : c);

  return at ? (unsigned)(at - digits) & 15U : 16U;
}

static size_t bytes_of(const char *hex, uint8_t *out, size_t room)
{
  size_t count = 0;

  for (const char *at = hex; *at;) {
    if (*at == ' ') {
      at++;
      continue;
    }
    if (!CHECK(digit(at[0]) < 16 && at[1] && digit(at[1]) < 16) || !CHECK(count < room))
      return count;
    out[count++] = (uint8_t)(digit(at[0]) << 4 | digit(at[1]));
    at += 2;
  }
  return count;
}

struct seen {
  uint8_t bytes[2000];
  size_t size;
  struct bacnet_message m;
  struct bacnet_scan scan;
  struct err err;
};

static enum err_code read_bytes(struct seen *s, const char *hex)
{
  s->err = (struct err){0};
  s->size = bytes_of(hex, s->bytes, sizeof s->bytes);
  return bacnet_read(s->bytes, s->size, &s->m, &s->err);
}

/* An APDU as a device on this network sends it. */
static enum err_code read_apdu(struct seen *s, const char *hex)
{
  s->err = (struct err){0};
  s->size = 6 + bytes_of(hex, s->bytes + 6, sizeof s->bytes - 6);
  memcpy(s->bytes, (uint8_t[]){0x81, 0x0a, (uint8_t)(s->size >> 8), (uint8_t)s->size, 1, 0}, 6);
  return bacnet_read(s->bytes, s->size, &s->m, &s->err);
}

/* What we send holds that APDU, but for its second byte: we take 1476 bytes where the examples take
 * fewer. */
static void holds(struct bacnet_out *out, const char *hex, bool is_request)
{
  uint8_t want[200];
  size_t size = bytes_of(hex, want, sizeof want);

  if (is_request)
    want[1] = 0x05;
  CHECK(!out->full);
  CHECK_INT((long long)out->used, (long long)size + 6);
  CHECK_INT(out->bytes[0], 0x81);
  CHECK_INT(out->bytes[2] << 8 | out->bytes[3], (long long)out->used);
  CHECK(memcmp(out->bytes + 6, want, size) == 0);
}

/* ---- what we send ---- */

static void requests_are_those_of_annex_f(void)
{
  static const struct bacnet_object input5 = {0, 5}, input10 = {0, 10}, log1 = {20, 1};
  static const struct bacnet_asked two = {{0, 16}, 2, {BACNET_PRESENT_VALUE, BACNET_RELIABILITY}};
  static const struct bacnet_asked three[] = {{{0, 33}, 1, {BACNET_PRESENT_VALUE}},
                                              {{0, 50}, 1, {BACNET_PRESENT_VALUE}},
                                              {{0, 35}, 1, {BACNET_PRESENT_VALUE}}};
  static const struct bacnet_moment moment = {{1998, 3, 23, 1}, {19, 52, 34, 0}};
  struct bacnet_out out;

  CHECK_CASE("F.3.5 ReadProperty");
  bacnet_write_read_property(&out, NULL, 1, &input5, BACNET_PRESENT_VALUE);
  holds(&out, "00 00 01 0C 0C 00 00 00 05 19 55", true);
  CHECK_CASE("F.3.7 ReadPropertyMultiple, one object");
  bacnet_write_read_multiple(&out, NULL, 241, &two, 1);
  holds(&out, "00 04 F1 0E 0C 00 00 00 10 1E 09 55 09 67 1F", true);
  CHECK_CASE("F.3.7 ReadPropertyMultiple, three objects");
  bacnet_write_read_multiple(&out, NULL, 2, three, 3);
  holds(&out,
        "00 04 02 0E 0C 00 00 00 21 1E 09 55 1F 0C 00 00 00 32 1E 09 55 1F "
        "0C 00 00 00 23 1E 09 55 1F",
        true);
  CHECK_CASE("F.1.10 SubscribeCOV");
  bacnet_write_subscribe(&out, NULL, 15, 18, &input10, true, 0);
  holds(&out, "00 02 0F 05 09 12 1C 00 00 00 0A 29 01 39 00", true);
  /* The example's first byte says that it takes segments (02); ours never does. */
  CHECK_CASE("F.3.8 ReadRange by time");
  bacnet_write_read_log_after(&out, NULL, 1, &log1, &moment, 4);
  holds(&out, "00 02 01 1A 0C 05 00 00 01 19 83 7E A4 62 03 17 01 B4 13 34 22 00 31 04 7F", true);
  CHECK_CASE("F.4.9 Who-Is");
  bacnet_write_who_is(&out, false, 3, 3);
  holds(&out, "10 08 09 03 19 03", false);
  CHECK_CASE("F.1.2 SimpleACK of a notification");
  bacnet_write_thanks(&out, NULL, 15);
  holds(&out, "20 0F 01", false);
}

static void reading_by_position_counts_back_with_a_negative_number(void)
{
  static const struct bacnet_object log = {20, 7};
  struct bacnet_out out;

  /* clause 15.8 and 20.2.5; no example in Annex F: value from memory */
  bacnet_write_read_log_at(&out, NULL, 9, &log, 300, -20);
  holds(&out, "00 05 09 1A 0C 05 00 00 07 19 83 3E 22 01 2C 31 EC 3F", true);
  bacnet_write_read_log_at(&out, NULL, 9, &log, 1, 200);
  holds(&out, "00 05 09 1A 0C 05 00 00 07 19 83 3E 21 01 32 00 C8 3F", true);
  bacnet_write_read_log_from(&out, NULL, 9, &log, 79202, 25);
  holds(&out, "00 05 09 1A 0C 05 00 00 07 19 83 6E 23 01 35 62 31 19 6F", true);
}

static void a_device_behind_a_router_is_addressed_there(void)
{
  static const struct bacnet_route route = {5, 1, {0x1a}};
  static const struct bacnet_object input = {0, 5};
  struct bacnet_out out;
  uint8_t want[40];
  size_t size = bytes_of("81 0a 00 15 01 24 00 05 01 1a ff 00 05 01 0c 0c 00 00 00 05 19 55", want,
                         sizeof want);

  want[3] = (uint8_t)size;
  bacnet_write_read_property(&out, &route, 1, &input, BACNET_PRESENT_VALUE);
  CHECK_INT((long long)out.used, (long long)size);
  CHECK(memcmp(out.bytes, want, size) == 0);
}

/* Which services can be sent at all: those that read, whatever is asked with whatever arguments. */
static void nothing_that_is_sent_writes(void)
{
  static const struct bacnet_object object = {2, 1};
  static const struct bacnet_asked asked = {{2, 1}, 1, {BACNET_PRESENT_VALUE}};
  static const struct bacnet_moment moment = {{2026, 11, 25, 3}, {14, 10, 0, 0}};
  struct bacnet_out out[6];

  bacnet_write_read_property(&out[0], NULL, 1, &object, BACNET_PRESENT_VALUE);
  bacnet_write_read_multiple(&out[1], NULL, 1, &asked, 1);
  bacnet_write_read_log_at(&out[2], NULL, 1, &object, 1, 1);
  bacnet_write_read_log_after(&out[3], NULL, 1, &object, &moment, 1);
  bacnet_write_subscribe(&out[4], NULL, 1, 1, &object, false, 60);
  bacnet_write_read_log_from(&out[5], NULL, 1, &object, 1, 1);
  for (int i = 0; i < 6; i++) {
    int service = out[i].bytes[9];

    CHECK_INT(out[i].bytes[6], 0x00); /* a confirmed request, whole */
    CHECK(service == 5 || service == 12 || service == 14 || service == 26);
  }
}

static void a_request_that_is_too_long_is_not_sent(void)
{
  static struct bacnet_asked list[200];
  struct bacnet_out out;

  for (int i = 0; i < 200; i++)
    list[i] = (struct bacnet_asked){{0, i}, 4, {85, 111, 103, 117}};
  bacnet_write_read_multiple(&out, NULL, 1, list, 200);
  CHECK(out.full);
  CHECK((long long)out.used <= BACNET_MOST_BYTES);
}

/* ---- what comes ---- */

static void one_property_is_read(void)
{
  struct seen s;
  struct bacnet_property p;
  struct bacnet_value v;

  CHECK_INT(read_apdu(&s, "30 01 0C 0C 00 00 00 05 19 55 3E 44 42 90 99 9A 3F"),
            ERR_OK); /* F.3.5 */
  REQUIRE(s.m.kind == BACNET_COMPLEX_ACK);
  CHECK_INT(s.m.invoke_id, 1);
  bacnet_scan_property(&s.scan, &s.m);
  REQUIRE(bacnet_next_property(&s.scan, &p, &s.err) == BACNET_ONE);
  CHECK(p.object.type == 0 && p.object.instance == 5 && p.property == BACNET_PRESENT_VALUE);
  CHECK(!p.failed && !p.has_index);
  CHECK_INT(bacnet_value(p.bytes, p.size, &v, &s.err), ERR_OK);
  CHECK_INT(v.type, BACNET_REAL);
  CHECK_NEAR(v.number, 72.3, 1e-7, 0);
  CHECK_INT(bacnet_next_property(&s.scan, &p, &s.err), BACNET_END);
}

/* F.3.7: three objects, of which the device does not know the second. */
static void many_properties_are_read_and_one_is_not_known(void)
{
  static const struct {
    int instance;
    bool failed;
    double number;
  } want[] = {{33, false, 42.3}, {50, true, 0}, {35, false, 435.7}};
  struct seen s;
  struct bacnet_property p;
  struct bacnet_value v;

  CHECK_INT(read_apdu(&s, "30 02 0E 0C 00 00 00 21 1E 29 55 4E 44 42 29 33 33 4F 1F 0C 00 00 00 32 "
                          "1E 29 55 5E 91 01 91 1F 5F 1F 0C 00 00 00 23 1E 29 55 4E 44 43 D9 D9 9A "
                          "4F 1F"),
            ERR_OK);
  REQUIRE(s.m.kind == BACNET_COMPLEX_ACK);
  bacnet_scan_property(&s.scan, &s.m);
  for (int i = 0; i < 3; i++) {
    REQUIRE(bacnet_next_property(&s.scan, &p, &s.err) == BACNET_ONE);
    CHECK_INT(p.object.instance, want[i].instance);
    CHECK_INT(p.failed, want[i].failed);
    if (p.failed) {
      CHECK_INT(p.error_class, 1);
      CHECK_STR(bacnet_error_name(p.error_code), "unknown object");
    } else {
      CHECK_INT(bacnet_value(p.bytes, p.size, &v, &s.err), ERR_OK);
      CHECK_NEAR(v.number, want[i].number, 1e-7, 0);
    }
  }
  CHECK_INT(bacnet_next_property(&s.scan, &p, &s.err), BACNET_END);
}

static void reliability_comes_with_its_value(void)
{
  struct seen s;
  struct bacnet_property p;
  struct bacnet_value v;

  CHECK_INT(
      read_apdu(&s, "30 F1 0E 0C 00 00 00 10 1E 29 55 4E 44 42 90 99 9A 4F 29 67 4E 91 00 4F 1F"),
      ERR_OK); /* F.3.7 */
  bacnet_scan_property(&s.scan, &s.m);
  CHECK_INT(bacnet_next_property(&s.scan, &p, &s.err), BACNET_ONE);
  REQUIRE(bacnet_next_property(&s.scan, &p, &s.err) == BACNET_ONE);
  CHECK_INT(p.property, BACNET_RELIABILITY);
  CHECK_INT(bacnet_value(p.bytes, p.size, &v, &s.err), ERR_OK);
  CHECK_INT(v.type, BACNET_ENUMERATED);
  CHECK_STR(bacnet_reliability_name((int)v.number), "no fault detected");
}

static void check_notice(struct seen *s)
{
  struct bacnet_notice n;
  struct bacnet_property p;
  struct bacnet_value v;

  CHECK_INT(bacnet_notice(&s->m, &n, &s->scan, &s->err), ERR_OK);
  CHECK_INT(n.process, 18);
  CHECK_INT(n.device, 4);
  CHECK_INT(n.object.instance, 10);
  CHECK_INT(n.left_s, 0);
  REQUIRE(bacnet_next_property(&s->scan, &p, &s->err) == BACNET_ONE);
  CHECK_INT(bacnet_value(p.bytes, p.size, &v, &s->err), ERR_OK);
  CHECK_NEAR(v.number, 65, 0, 0);
  REQUIRE(bacnet_next_property(&s->scan, &p, &s->err) == BACNET_ONE);
  CHECK_INT(p.property, BACNET_STATUS_FLAGS);
  CHECK_INT(bacnet_value(p.bytes, p.size, &v, &s->err), ERR_OK);
  CHECK_INT(v.bit_count, 4);
  CHECK_INT(v.bits, 0);
  CHECK_INT(bacnet_next_property(&s->scan, &p, &s->err), BACNET_END);
}

static void a_change_is_notified(void)
{
#define COV                                                                                        \
  "09 12 1C 02 00 00 04 2C 00 00 00 0A 39 00 4E 09 55 2E 44 42 82 00 00 2F 09 6F 2E 82 04 00 2F 4F"
  struct seen s;

  CHECK_INT(read_apdu(&s, "00 02 0F 01 " COV), ERR_OK); /* F.1.2 */
  REQUIRE(s.m.kind == BACNET_CONFIRMED);
  CHECK_INT(s.m.invoke_id, 15);
  check_notice(&s);
  CHECK_INT(read_apdu(&s, "10 02 " COV), ERR_OK); /* F.1.3 */
  REQUIRE(s.m.kind == BACNET_UNCONFIRMED);
  check_notice(&s);
}

static void flags_stand_in_the_order_of_the_standard(void)
{
  static const struct {
    const char *hex;
    uint32_t bits;
  } flags[] = {{"82 04 80", BACNET_IN_ALARM},
               {"82 04 40", BACNET_FAULT},
               {"82 04 20", BACNET_OVERRIDDEN},
               {"82 04 10", BACNET_OUT_OF_SERVICE},
               {"82 04 F0", 15}};
  uint8_t bytes[8];
  struct bacnet_value v;

  for (size_t i = 0; i < sizeof flags / sizeof *flags; i++) {
    size_t size = bytes_of(flags[i].hex, bytes, sizeof bytes);

    CHECK_INT(bacnet_value(bytes, size, &v, NULL), ERR_OK);
    CHECK_INT(v.bits, flags[i].bits);
    CHECK_INT(v.bit_count, 4);
  }
}

/* Clause 20.2 gives most of these as examples of its own. */
static void every_type_of_value_is_read(void)
{
  static const struct {
    const char *hex;
    enum bacnet_type type;
    double number;
  } values[] = {{"00", BACNET_NULL, NAN},
                {"10", BACNET_BOOLEAN, 0},
                {"11", BACNET_BOOLEAN, 1},      /* 20.2.3 */
                {"21 48", BACNET_UNSIGNED, 72}, /* 20.2.4 */
                {"25 05 01 00 00 00 00", BACNET_UNSIGNED, 4294967296.0},
                {"31 48", BACNET_SIGNED, 72}, /* 20.2.5 */
                {"31 FF", BACNET_SIGNED, -1},
                {"32 FF 7F", BACNET_SIGNED, -129},
                {"35 08 80 00 00 00 00 00 00 00", BACNET_SIGNED, -9223372036854775808.0},
                {"44 42 90 00 00", BACNET_REAL, 72},                  /* 20.2.6 */
                {"55 08 40 52 00 00 00 00 00 00", BACNET_DOUBLE, 72}, /* 20.2.7 */
                {"91 00", BACNET_ENUMERATED, 0},                      /* 20.2.11 */
                {"75 0A 00 54 65 6D 70 65 72 61 74 75", BACNET_CHARACTERS, NAN},
                {"C4 00 C0 00 0F", BACNET_OBJECT, NAN}, /* 20.2.14 */
                {"0E 91 00 0F", BACNET_OTHER, NAN}};
  uint8_t bytes[20];
  struct bacnet_value v;

  for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
    size_t size = bytes_of(values[i].hex, bytes, sizeof bytes);

    CHECK_CASE("%s", values[i].hex);
    CHECK_INT(bacnet_value(bytes, size, &v, NULL), ERR_OK);
    CHECK_INT(v.type, values[i].type);
    if (isnan(values[i].number))
      CHECK(isnan(v.number));
    else
      CHECK_NEAR(v.number, values[i].number, 0, 0);
  }
}

static void a_value_that_is_none_is_refused(void)
{
  static const char *const bad[] = {
      "",         "44 42 90 00", "54 42 90 00 00",    "12",          "20",
      "82 09 00", "81 01",       "21 48 21 48",       "C3 00 00 01", "F4",
      "25",       "25 FE 01",    "25 FF 7F FF FF FF", "2D"};
  uint8_t bytes[20];
  struct bacnet_value v;
  struct err err;

  for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
    size_t size = bytes_of(bad[i], bytes, sizeof bytes);

    CHECK_CASE("'%s'", bad[i]);
    err = (struct err){0};
    CHECK_INT(bacnet_value(bytes, size, &v, &err), ERR_INPUT);
    CHECK(err.text[0] && err.col >= 1 && (size_t)err.col <= size + 1);
  }
}

/* ---- devices, errors, envelopes ---- */

static void devices_say_who_they_are(void)
{
  static const struct {
    const char *hex;
    struct bacnet_device want;
  } said[] = {{"10 00 C4 02 00 00 01 22 01 E0 91 01 21 63", {1, 480, 1, 99}}, /* F.4.9 */
              {"10 00 C4 02 00 00 02 21 CE 91 02 21 21", {2, 206, 2, 33}},
              {"10 00 C4 02 00 00 03 22 04 00 91 03 21 63", {3, 1024, 3, 99}},
              {"10 00 C4 02 00 00 04 21 80 91 00 21 42", {4, 128, 0, 66}}};
  struct seen s;
  struct bacnet_device got;

  for (size_t i = 0; i < sizeof said / sizeof *said; i++) {
    CHECK_INT(read_apdu(&s, said[i].hex), ERR_OK);
    REQUIRE(s.m.kind == BACNET_UNCONFIRMED && s.m.service == BACNET_UNCONFIRMED_I_AM);
    CHECK_INT(bacnet_i_am(&s.m, &got, &s.err), ERR_OK);
    CHECK_INT(got.instance, said[i].want.instance);
    CHECK_INT(got.most_apdu, said[i].want.most_apdu);
    CHECK_INT(got.segmentation, said[i].want.segmentation);
    CHECK_INT(got.vendor, said[i].want.vendor);
  }
  CHECK_INT(read_apdu(&s, "10 00 C4 00 00 00 01 22 01 E0 91 01 21 63"), ERR_OK);
  CHECK_INT(bacnet_i_am(&s.m, &got, &s.err), ERR_INPUT); /* an analog input is none */
}

static void refusals_say_why(void)
{
  struct seen s;

  CHECK_INT(read_apdu(&s, "50 58 0B 91 01 91 17"), ERR_OK); /* F.3.4 */
  CHECK_INT(s.m.kind, BACNET_ERROR);
  CHECK_INT(s.m.error_class, 1);
  CHECK_INT(s.m.error_code, 23);
  CHECK_INT(read_apdu(&s, "50 58 1A 0E 91 02 91 20 0F"), ERR_OK); /* some services wrap it */
  CHECK_INT(s.m.error_code, 32);
  CHECK_INT(read_apdu(&s, "60 05 09"), ERR_OK);
  CHECK_INT(s.m.kind, BACNET_REJECT);
  CHECK_STR(bacnet_reason_name(s.m.kind, s.m.reason), "unrecognized service");
  CHECK_INT(read_apdu(&s, "71 05 04"), ERR_OK);
  CHECK_INT(s.m.kind, BACNET_ABORT);
  CHECK_STR(bacnet_reason_name(s.m.kind, s.m.reason), "segmentation not supported");
  CHECK(bacnet_reason_name(s.m.kind, 200) == NULL);
}

static void a_segment_is_known_as_one(void)
{
  struct seen s;

  CHECK_INT(read_apdu(&s, "3C 07 00 10 0E 0C 00 00 00 05"), ERR_OK);
  CHECK_INT(s.m.kind, BACNET_SEGMENT);
  CHECK_INT(s.m.invoke_id, 7);
  CHECK_INT(s.m.service, BACNET_SERVICE_READ_MULTIPLE);
  CHECK_INT(read_apdu(&s, "0C 05 07 00 10 01 09 12"), ERR_OK);
  CHECK_INT(s.m.kind, BACNET_SEGMENT);
  CHECK_INT(read_apdu(&s, "40 07 00 10"), ERR_OK);
  CHECK_INT(s.m.kind, BACNET_NOTHING);
}

static void envelopes_are_opened(void)
{
  struct seen s;

  CHECK_CASE("from behind a router, to a device there");
  CHECK_INT(read_bytes(&s, "81 0a 00 15 01 28 00 01 00 00 05 01 1a fe 30 01 0c 0c 00 00 00"),
            ERR_OK);
  CHECK_INT(s.m.kind, BACNET_COMPLEX_ACK);
  CHECK_INT(s.m.from.network, 5);
  CHECK_INT(s.m.from.length, 1);
  CHECK_INT(s.m.from.address[0], 0x1a);
  CHECK_CASE("forwarded by a BBMD");
  CHECK_INT(
      read_bytes(&s, "81 04 00 18 c0 a8 01 14 ba c0 01 20 ff ff 00 ff 10 00 c4 02 00 00 01 22"),
      ERR_OK);
  CHECK(s.m.forwarded);
  CHECK_INT(s.m.from_port, 47808);
  CHECK_INT(s.m.from_ip[3], 20);
  CHECK_INT(s.m.kind, BACNET_UNCONFIRMED);
  CHECK_CASE("a broadcast");
  CHECK_INT(read_bytes(&s, "81 0b 00 08 01 00 10 08"), ERR_OK);
  CHECK_INT(s.m.service, BACNET_UNCONFIRMED_WHO_IS);
  CHECK_CASE("a BBMD's result");
  CHECK_INT(read_bytes(&s, "81 00 00 06 00 30"), ERR_OK);
  CHECK_INT(s.m.kind, BACNET_BVLC_RESULT);
  CHECK_INT(s.m.reason, 0x30);
  CHECK_CASE("between routers");
  CHECK_INT(read_bytes(&s, "81 0b 00 09 01 80 01 00 05"), ERR_OK);
  CHECK_INT(s.m.kind, BACNET_NOTHING);
}

static void what_is_no_message_is_refused_with_its_place(void)
{
  static const char *const bad[] = {"",
                                    "81",
                                    "82 0a 00 08 01 00 10 08",
                                    "81 0a 00 09 01 00 10 08",
                                    "81 0a 00 04",
                                    "81 0a 00 06 02 00",
                                    "81 0a 00 06 01 00",
                                    "81 04 00 07 c0 a8 01",
                                    "81 0a 00 09 01 20 00 05 09",
                                    "81 0a 00 0a 01 08 00 05 00 10",
                                    "81 0a 00 0c 01 08 00 05 09 01 02 03",
                                    "81 00 00 05 00",
                                    "81 0a 00 07 01 00 30",
                                    "81 0a 00 09 01 00 50 01 0c",
                                    "81 0a 00 0b 01 00 3c 01 00 01 0c 00"};
  struct seen s;

  for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
    CHECK_CASE("'%s'", bad[i]);
    CHECK_INT(read_bytes(&s, bad[i]), ERR_INPUT);
    CHECK(s.err.text[0] && s.err.col >= 1 && (size_t)s.err.col <= s.size + 1);
  }
}

/* Under the sanitizers no byte beyond the end is touched. */
static void cut_off_anywhere_it_is_an_answer_or_a_refusal(void)
{
  struct seen s;
  struct bacnet_property p;
  struct err err = {0};
  int ends = 0;

  CHECK_INT(read_apdu(&s, "30 02 0E 0C 00 00 00 21 1E 29 55 4E 44 42 29 33 33 4F 1F 0C 00 00 00 32 "
                          "1E 29 55 5E 91 01 91 1F 5F 1F"),
            ERR_OK);
  size_t whole = s.m.body_size;

  for (size_t size = 0; size <= whole; size++) {
    enum bacnet_step step;
    uint8_t exact[200];

    memcpy(exact, s.m.body, size);
    s.m.body_size = size;

    struct bacnet_message cut = s.m;

    cut.body = exact;
    bacnet_scan_property(&s.scan, &cut);
    while ((step = bacnet_next_property(&s.scan, &p, &err)) == BACNET_ONE)
      ;
    ends += step == BACNET_END;
  }
  CHECK_INT(ends, 3); /* nothing at all, the first object, both */
}

/* ---- logs ---- */

static void a_log_is_read(void) /* F.3.8 */
{
  struct seen s;
  struct bacnet_log log;
  struct bacnet_record r;
  int64_t t_ms = 0;

  CHECK_INT(read_apdu(&s,
                      "30 01 1A 0C 05 00 00 01 19 83 3A 05 C0 49 02 5E 0E A4 62 03 17 01 B4 13 36 "
                      "1B 00 0F 1E 2C 41 90 00 00 1F 2A 04 00 0E A4 62 03 17 01 B4 13 38 1B 00 "
                      "0F 1E 2C 41 90 CC CD 1F 2A 04 00 5F 6B 01 35 61"),
            ERR_OK);
  CHECK_INT(bacnet_log(&s.m, &log, &s.scan, &s.err), ERR_OK);
  CHECK_INT(log.object.type, BACNET_TREND_LOG);
  CHECK_INT(log.property, BACNET_LOG_BUFFER);
  CHECK(log.first && log.last && !log.more);
  CHECK_INT(log.count, 2);
  CHECK(log.has_sequence);
  CHECK_INT(log.sequence, 79201);
  REQUIRE(bacnet_next_record(&s.scan, &r, &s.err) == BACNET_ONE);
  CHECK_INT(r.what, BACNET_LOGGED_VALUE);
  CHECK_NEAR(r.value.number, 18.0, 0, 0);
  CHECK(r.has_flags && r.flags == 0);
  CHECK(bacnet_moment_ms(&r.moment, &t_ms));
  CHECK_INT(t_ms, 890682867000); /* date -u -d '1998-03-23 19:54:27' +%s */
  REQUIRE(bacnet_next_record(&s.scan, &r, &s.err) == BACNET_ONE);
  CHECK_NEAR(r.value.number, 18.1, 1e-7, 0);
  CHECK_INT(bacnet_next_record(&s.scan, &r, &s.err), BACNET_END);
}

static void a_log_says_what_was_no_value(void)
{
#define AT "0E A4 7E 0B 19 03 B4 0E 0A 00 00 0F "
  static const struct {
    const char *hex;
    enum bacnet_logged what;
    double number;
  } records[] = {{AT "1E 0A 05 20 1F", BACNET_LOGGED_STATUS, NAN},
                 {AT "1E 19 01 1F", BACNET_LOGGED_VALUE, 1},
                 {AT "1E 39 02 1F", BACNET_LOGGED_VALUE, 2},
                 {AT "1E 59 FE 1F", BACNET_LOGGED_VALUE, -2},
                 {AT "1E 78 1F", BACNET_LOGGED_NONE, NAN},
                 {AT "1E 8E 91 02 91 20 8F 1F", BACNET_LOGGED_FAILED, NAN},
                 {AT "1E 9C 42 70 00 00 1F", BACNET_LOGGED_CLOCK, 60},
                 {AT "1E AE 55 08 40 52 00 00 00 00 00 00 AF 1F", BACNET_LOGGED_VALUE, 72}};
  struct bacnet_record r;
  struct err err = {0};
  uint8_t bytes[60];

  for (size_t i = 0; i < sizeof records / sizeof *records; i++) {
    struct bacnet_scan scan = {.bytes = bytes,
                               .size = bytes_of(records[i].hex, bytes, sizeof bytes)};

    CHECK_CASE("%s", records[i].hex);
    REQUIRE(bacnet_next_record(&scan, &r, &err) == BACNET_ONE);
    CHECK_INT(r.what, records[i].what);
    CHECK_INT(r.moment.date.year, 2026);
    CHECK_INT(r.moment.time.minute, 10);
    if (!isnan(records[i].number))
      CHECK_NEAR(r.value.number, records[i].number, 0, 0);
  }
}

/* Clause 21, BACnetDeviceObjectPropertyReference; no example in Annex F: value from memory. */
static void a_log_says_what_it_logs(void)
{
  static const struct {
    const char *hex;
    bool elsewhere;
  } said[] = {{"0C 00 00 00 0A 19 55", false}, {"0C 00 00 00 0A 19 55 29 01 3C 02 00 00 07", true}};
  struct bacnet_object object;
  bool elsewhere;
  uint8_t bytes[20];

  for (size_t i = 0; i < 2; i++) {
    size_t size = bytes_of(said[i].hex, bytes, sizeof bytes);

    CHECK_INT(bacnet_reference(bytes, size, &object, &elsewhere, NULL), ERR_OK);
    CHECK(object.type == 0 && object.instance == 10);
    CHECK_INT(elsewhere, said[i].elsewhere);
  }
  CHECK_INT(bacnet_reference(bytes, 5, &object, &elsewhere, NULL), ERR_INPUT);
}

static void moments_and_milliseconds_are_the_same(void)
{
  static const int64_t at[] = {0, 951782400000, /* 2000-02-29 */
                               -2208988800000,  /* 1900-01-01 */
                               1764079830250, 5839430399990};
  struct bacnet_moment m;
  int64_t back;

  for (size_t i = 0; i < sizeof at / sizeof *at; i++) {
    bacnet_moment_of(at[i], &m);
    CHECK(bacnet_moment_ms(&m, &back));
    CHECK_INT(back, at[i] - at[i] % 10);
  }
  bacnet_moment_of(951782400000, &m);
  CHECK(m.date.month == 2 && m.date.day == 29 && m.date.weekday == 2); /* a Tuesday: cal 2 2000 */
  m.date.day = 30;
  CHECK(!bacnet_moment_ms(&m, &back));
  m = (struct bacnet_moment){{0, 255, 255, 255}, {255, 255, 255, 255}};
  CHECK(!bacnet_moment_ms(&m, &back));
}

static void units_have_our_texts(void)
{
  CHECK_STR(bacnet_unit_text(135), "m3/h");
  CHECK_STR(bacnet_unit_text(84), "cfm");
  CHECK_STR(bacnet_unit_text(53), "Pa");
  CHECK_STR(bacnet_unit_text(74), "m/s");
  CHECK_STR(bacnet_unit_text(95), "");
  CHECK(bacnet_unit_text(20) == NULL);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(requests_are_those_of_annex_f);
  RUN(reading_by_position_counts_back_with_a_negative_number);
  RUN(a_device_behind_a_router_is_addressed_there);
  RUN(nothing_that_is_sent_writes);
  RUN(a_request_that_is_too_long_is_not_sent);
  RUN(one_property_is_read);
  RUN(many_properties_are_read_and_one_is_not_known);
  RUN(reliability_comes_with_its_value);
  RUN(a_change_is_notified);
  RUN(flags_stand_in_the_order_of_the_standard);
  RUN(every_type_of_value_is_read);
  RUN(a_value_that_is_none_is_refused);
  RUN(devices_say_who_they_are);
  RUN(refusals_say_why);
  RUN(a_segment_is_known_as_one);
  RUN(envelopes_are_opened);
  RUN(what_is_no_message_is_refused_with_its_place);
  RUN(cut_off_anywhere_it_is_an_answer_or_a_refusal);
  RUN(a_log_is_read);
  RUN(a_log_says_what_was_no_value);
  RUN(a_log_says_what_it_logs);
  RUN(moments_and_milliseconds_are_the_same);
  RUN(units_have_our_texts);
  return check_end();
}
