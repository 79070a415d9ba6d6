#ifndef BACNET_BACNET_IMPL_H
#define BACNET_BACNET_IMPL_H

#include "bacnet/bacnet.h"

/* Tags, clause 20.2.1: a head that says number, class and length, and what follows it. */
enum bacnet_mark { BACNET_CONTENT, BACNET_OPENING, BACNET_CLOSING };

struct bacnet_tag {
  int number;
  bool context; /* else application: number is an enum bacnet_type */
  enum bacnet_mark mark;
  uint32_t length;      /* of CONTENT, bytes; of an application BOOLEAN: its value */
  size_t head;          /* bytes of the head */
  const uint8_t *bytes; /* of CONTENT */
};

/* Bytes that are read from the front. */
struct bacnet_bytes {
  const uint8_t *bytes;
  size_t size, at;
};

/* The tag at `in->at`, without moving; false with err set when it is not whole. */
NODISCARD bool bacnet_peek(const struct bacnet_bytes *in, struct bacnet_tag *out, struct err *err);
/* Moves past it, its content too. */
NODISCARD bool bacnet_take(struct bacnet_bytes *in, struct bacnet_tag *out, struct err *err);
/* Is the next one such a context tag?  Does not move; false at the end. */
bool bacnet_is_context(const struct bacnet_bytes *in, int number, enum bacnet_mark mark);
/* Takes a context tag of that number, or says that it is missing. */
NODISCARD bool bacnet_take_context(struct bacnet_bytes *in, int number, enum bacnet_mark mark,
                                   struct bacnet_tag *out, struct err *err);
/* From behind an opening tag of that number to its closing one, which is passed. */
NODISCARD bool bacnet_take_inside(struct bacnet_bytes *in, int number, struct bacnet_bytes *out,
                                  struct err *err);
/* False, with what and where it was in err. */
bool bacnet_fail(const struct bacnet_bytes *in, struct err *err, const char *what);

/* Content of a tag. */
NODISCARD bool bacnet_unsigned(const struct bacnet_tag *tag, uint32_t *out);
NODISCARD bool bacnet_object(const struct bacnet_tag *tag, struct bacnet_object *out);
NODISCARD bool bacnet_date(const struct bacnet_tag *tag, struct bacnet_date *out);
NODISCARD bool bacnet_time(const struct bacnet_tag *tag, struct bacnet_time *out);
/* By a type, for an application tag it is the tag's number. */
NODISCARD bool bacnet_content(const struct bacnet_tag *tag, enum bacnet_type type,
                              struct bacnet_value *out);

/* A context tag with an unsigned number, or an object. */
NODISCARD bool bacnet_take_unsigned(struct bacnet_bytes *in, int number, uint32_t *out,
                                    struct err *err);
NODISCARD bool bacnet_take_object(struct bacnet_bytes *in, int number, struct bacnet_object *out,
                                  struct err *err);
NODISCARD bool bacnet_take_error(struct bacnet_bytes *in, int *class_out, int *code_out,
                                 struct err *err);

#endif
