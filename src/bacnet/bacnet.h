#ifndef BACNET_BACNET_H
#define BACNET_BACNET_H

#include "base/err.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/*
 * BACnet/IP as bytes: what a reader of the building network sends and receives.  ISO 16484-5, which
 * is ANSI/ASHRAE 135; clauses are of 135-2016.  A codec only: no socket, clock or memory of its own.
 *
 * It reads.  The services it can ask for are ReadProperty, ReadPropertyMultiple, ReadRange and
 * SubscribeCOV, and it can look for a device (Who-Is) and thank for a notification (SimpleACK).
 * There is no function that writes a property, commands, creates, deletes, sets a clock or restarts
 * anything, and none that could be made to: a service's number is never a parameter.
 *
 *     struct bacnet_out out = {0};
 *     struct bacnet_message m;
 *     struct bacnet_scan scan;
 *     struct bacnet_property p;
 *
 *     bacnet_write_read_property(&out, NULL, invoke_id, &object, BACNET_PRESENT_VALUE);
 *     ... send out.bytes, out.used; receive bytes, size ...
 *     if (bacnet_read(bytes, size, &m, &err) == ERR_OK && m.kind == BACNET_COMPLEX_ACK) {
 *       bacnet_scan_property(&scan, &m);
 *       while (bacnet_next_property(&scan, &p, &err) == BACNET_ONE)
 *         ... bacnet_value(p.bytes, p.size, &value, &err) ...
 *     }
 *
 * What is read points into the bytes it was read from.  Nothing is read beyond them whatever they
 * say, no nesting is followed by recursion, and the work is bounded by their number.  A failure is
 * ERR_INPUT with what was wrong and err->col at the byte (1-based) of the part that was being read;
 * outputs are then unspecified but never point outside.
 */

enum {
  BACNET_MOST_BYTES = 1497, /* of a datagram: BVLC 4 + NPDU 17 + APDU 1476 */
  BACNET_MOST_APDU = 1476,  /* what we accept, clause 20.1.2.5 */
  BACNET_MOST_ADDRESS = 7,  /* of a device behind a router, bytes: MS/TP 1, IP 6, ZigBee 3 */
  BACNET_PORT = 47808,
  BACNET_ANY_INSTANCE = 4194303
};

/* Clause 12, BACnetObjectType; the types a point may name are in the feeds file's schema. */
enum { BACNET_DEVICE = 8, BACNET_TREND_LOG = 20 };

/* BACnetPropertyIdentifier, clause 21. */
enum {
  BACNET_LOCAL_DATE = 56,
  BACNET_LOCAL_TIME = 57,
  BACNET_MAX_APDU_LENGTH_ACCEPTED = 62,
  BACNET_OBJECT_IDENTIFIER = 75,
  BACNET_PRESENT_VALUE = 85,
  BACNET_RELIABILITY = 103,
  BACNET_STATUS_FLAGS = 111,
  BACNET_UNITS = 117,
  BACNET_LOG_BUFFER = 131,
  BACNET_LOG_DEVICE_OBJECT_PROPERTY = 132,
  BACNET_RECORD_COUNT = 141
};

/* Confirmed services that we know, clause 21, BACnetConfirmedServiceChoice. */
enum {
  BACNET_SERVICE_COV_NOTIFICATION = 1, /* received only */
  BACNET_SERVICE_SUBSCRIBE_COV = 5,
  BACNET_SERVICE_READ_PROPERTY = 12,
  BACNET_SERVICE_READ_MULTIPLE = 14,
  BACNET_SERVICE_READ_RANGE = 26
};
/* Unconfirmed ones. */
enum { BACNET_UNCONFIRMED_I_AM = 0, BACNET_UNCONFIRMED_COV = 2, BACNET_UNCONFIRMED_WHO_IS = 8 };

struct bacnet_object {
  int type;     /* 0 to 1023 */
  int instance; /* 0 to 4194303 */
};

/* A device behind a router (clause 6.2.2); length 0 with network 0: none. */
struct bacnet_route {
  int network; /* 1 to 65534; 0: on this network */
  int length;  /* bytes of the address; 0 with a network: a broadcast there */
  uint8_t address[BACNET_MOST_ADDRESS];
};

/* ---- what we send ---- */

/* Zero it first; `full` is set when something did not fit, and nothing of it may be sent then. */
struct bacnet_out {
  uint8_t bytes[BACNET_MOST_BYTES];
  size_t used;
  bool full;
};

enum { BACNET_MOST_ASKED = 4 };
struct bacnet_asked {
  struct bacnet_object object;
  int property_count;
  int properties[BACNET_MOST_ASKED];
};

/* As the device keeps it, in its local time; 255 (a year: 0): not said. */
struct bacnet_date {
  int year, month, day, weekday; /* 1900 to 2154, 1 to 12, 1 to 31, 1: Monday */
};
struct bacnet_time {
  int hour, minute, second, hundredth;
};
struct bacnet_moment {
  struct bacnet_date date;
  struct bacnet_time time;
};

/* `route` may be NULL.  Everything replaces what `out` held. */
void bacnet_write_who_is(struct bacnet_out *out, bool broadcast, int low, int high);
void bacnet_write_read_property(struct bacnet_out *out, const struct bacnet_route *route,
                                uint8_t invoke_id, const struct bacnet_object *object,
                                int property);
void bacnet_write_read_multiple(struct bacnet_out *out, const struct bacnet_route *route,
                                uint8_t invoke_id, const struct bacnet_asked *list, int count);
/* Items of a trend log from the one at `position` (from 1) on; a negative count: up to it. */
void bacnet_write_read_log_at(struct bacnet_out *out, const struct bacnet_route *route,
                              uint8_t invoke_id, const struct bacnet_object *log, uint32_t position,
                              int count);
/* Items from the one with this sequence number on, which never changes while it is kept. */
void bacnet_write_read_log_from(struct bacnet_out *out, const struct bacnet_route *route,
                                uint8_t invoke_id, const struct bacnet_object *log,
                                uint32_t sequence, int count);
/* Items logged after a moment of the device's clock. */
void bacnet_write_read_log_after(struct bacnet_out *out, const struct bacnet_route *route,
                                 uint8_t invoke_id, const struct bacnet_object *log,
                                 const struct bacnet_moment *moment, int count);
/* Asks to be told of changes; `process` comes back with each notification. */
void bacnet_write_subscribe(struct bacnet_out *out, const struct bacnet_route *route,
                            uint8_t invoke_id, uint32_t process, const struct bacnet_object *object,
                            bool confirmed, uint32_t lifetime_s);
/* The answer to a confirmed notification of change, the only thing we ever acknowledge. */
void bacnet_write_thanks(struct bacnet_out *out, const struct bacnet_route *route,
                         uint8_t invoke_id);

/* ---- what comes ---- */

enum bacnet_kind {
  BACNET_NOTHING, /* well formed, and nothing for us: a router's message, a kind we do not take */
  BACNET_BVLC_RESULT, /* a BBMD's answer; `reason` is its code */
  BACNET_CONFIRMED,
  BACNET_UNCONFIRMED,
  BACNET_SIMPLE_ACK,
  BACNET_COMPLEX_ACK,
  BACNET_SEGMENT, /* part of a longer answer, which we do not take */
  BACNET_ERROR,
  BACNET_REJECT,
  BACNET_ABORT
};

struct bacnet_message {
  enum bacnet_kind kind;
  bool forwarded; /* by a BBMD, for: */
  uint8_t from_ip[4];
  int from_port;
  struct bacnet_route from; /* behind a router */
  uint8_t invoke_id;        /* not of UNCONFIRMED */
  int service;
  int error_class, error_code; /* ERROR */
  int reason;                  /* REJECT, ABORT, BVLC_RESULT */
  const uint8_t *body;         /* service parameters */
  size_t body_size, body_at;   /* body_at: its place in the datagram */
};

/* One whole datagram. */
NODISCARD enum err_code bacnet_read(const uint8_t *bytes, size_t size, struct bacnet_message *out,
                                    struct err *err);

struct bacnet_device {
  int instance, most_apdu, segmentation, vendor; /* segmentation 3: none */
};
NODISCARD enum err_code bacnet_i_am(const struct bacnet_message *m, struct bacnet_device *out,
                                    struct err *err);

/* What a property holds, by its application tag (clause 20.2.1.4). */
enum bacnet_type {
  BACNET_NULL,
  BACNET_BOOLEAN,
  BACNET_UNSIGNED,
  BACNET_SIGNED,
  BACNET_REAL,
  BACNET_DOUBLE,
  BACNET_OCTETS,
  BACNET_CHARACTERS,
  BACNET_BITS,
  BACNET_ENUMERATED,
  BACNET_DATE,
  BACNET_TIME,
  BACNET_OBJECT,
  BACNET_OTHER /* constructed or context-tagged: not looked into */
};

struct bacnet_value {
  enum bacnet_type type;
  double number; /* BOOLEAN, UNSIGNED, SIGNED, REAL, DOUBLE, ENUMERATED; else NaN */
  uint32_t bits; /* BITS: bit 0 is the first one, the first 32 of them */
  int bit_count; /* BITS */
  struct bacnet_object object;
  struct bacnet_date date;
  struct bacnet_time time;
};

/* The first value of a property.  ERR_INPUT also where there is none, or more than one. */
NODISCARD enum err_code bacnet_value(const uint8_t *bytes, size_t size, struct bacnet_value *out,
                                     struct err *err);

/* BACnetStatusFlags, clause 21: bits of a BITS value. */
enum { BACNET_IN_ALARM = 1, BACNET_FAULT = 2, BACNET_OVERRIDDEN = 4, BACNET_OUT_OF_SERVICE = 8 };

/* ---- lists of properties: answers to ReadProperty and ReadPropertyMultiple, notifications ---- */

enum bacnet_step { BACNET_END, BACNET_ONE, BACNET_BAD };

struct bacnet_scan {
  const uint8_t *bytes; /* private, all of it */
  size_t size, at;
  int form;
  bool inside, ended;
  struct bacnet_object object;
};

struct bacnet_property {
  struct bacnet_object object;
  int property;
  bool has_index; /* one element of an array */
  uint32_t index;
  bool failed; /* the device has no value for it, and says why: */
  int error_class, error_code;
  const uint8_t *bytes; /* its values, application tagged */
  size_t size;
};

/* By m->service; m must be a COMPLEX_ACK of one of the two services. */
void bacnet_scan_property(struct bacnet_scan *scan, const struct bacnet_message *m);
enum bacnet_step bacnet_next_property(struct bacnet_scan *scan, struct bacnet_property *out,
                                      struct err *err);

struct bacnet_notice {
  uint32_t process;
  int device;
  struct bacnet_object object;
  uint32_t left_s; /* of the subscription */
};
/* A notification of change, confirmed or not; scan is then ready for its properties. */
NODISCARD enum err_code bacnet_notice(const struct bacnet_message *m, struct bacnet_notice *out,
                                      struct bacnet_scan *scan, struct err *err);

/* ---- a trend log's answer to ReadRange ---- */

struct bacnet_log {
  struct bacnet_object object;
  int property;
  bool first, last,
      more;       /* holds the log's first, its last item; more would have fitted the range */
  uint32_t count; /* of items in here, as it says */
  bool has_sequence;
  uint32_t sequence; /* of the first item in here */
};

enum bacnet_logged {
  BACNET_LOGGED_VALUE,
  BACNET_LOGGED_NONE,   /* null: nothing was there to log */
  BACNET_LOGGED_FAILED, /* reading it failed, at the device */
  BACNET_LOGGED_STATUS, /* the log was switched on or off, or emptied */
  BACNET_LOGGED_CLOCK   /* the device's clock was changed */
};

struct bacnet_record {
  struct bacnet_moment moment;
  enum bacnet_logged what;
  struct bacnet_value value; /* LOGGED_VALUE */
  bool has_flags;
  uint32_t flags; /* BACNET_FAULT ... at that time */
};

NODISCARD enum err_code bacnet_log(const struct bacnet_message *m, struct bacnet_log *out,
                                   struct bacnet_scan *scan, struct err *err);
enum bacnet_step bacnet_next_record(struct bacnet_scan *scan, struct bacnet_record *out,
                                    struct err *err);

/* What a log logs (BACNET_LOG_DEVICE_OBJECT_PROPERTY): *elsewhere: of another device. */
NODISCARD enum err_code bacnet_reference(const uint8_t *bytes, size_t size,
                                         struct bacnet_object *out, bool *elsewhere_out,
                                         struct err *err);

/* Milliseconds since 1970 as if it were UTC; false where something of it is not said or not so. */
bool bacnet_moment_ms(const struct bacnet_moment *moment, int64_t *t_out_ms);
/* The moment's day and time in the same way. */
void bacnet_moment_of(int64_t t_ms, struct bacnet_moment *out);

/* ---- words for numbers ---- */

/* Our text of a code of BACnetEngineeringUnits, "m3/h"; NULL for one we have no unit for, "" for
 * no-units. */
const char *bacnet_unit_text(int code);
const char *bacnet_reliability_name(int code); /* "no sensor"; "code 64" is not made up: NULL */
const char *bacnet_reason_name(enum bacnet_kind kind,
                               int reason);    /* REJECT, ABORT; NULL: unknown */
const char *bacnet_error_name(int error_code); /* NULL: not one we know */
const char *bacnet_object_type_name(int type); /* "analog-input"; NULL */

#endif
