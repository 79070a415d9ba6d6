#include "sheet/sheet_impl.h"

#include "base/encoding.h"

#include <string.h>

static void refuse(struct reading *r, enum encoding_fault fault, int line)
{
  static const char *const said[] = {
      [ENCODING_NO_ROOM] = "the file holds more than can be kept",
      [ENCODING_HALF] = "half a character stands in this line; the file is damaged: save it again "
                        "as \"CSV UTF-8\"",
      [ENCODING_CUT] = "the file ends in the middle of a character; it is cut short: save it again",
      [ENCODING_FALSE] = "this line is not UTF-8, though the file says it is; save it again as "
                         "\"CSV UTF-8\"",
      [ENCODING_UNKNOWN] = "a character in this line is of no known encoding; save the file as "
                           "\"CSV UTF-8\""};

  sheet_refuse(r, line, line > 0 ? 1 : 0, "%s", said[fault]);
}

/* A copy that may be taken apart in place. */
static char *copied(struct reading *r, const struct encoding_text *from)
{
  char *copy = arena_push(r->arena, from->size + 1, 1);

  if (!copy) {
    refuse(r, ENCODING_NO_ROOM, 0);
    return NULL;
  }
  if (from->size > 0)
    memcpy(copy, from->text, from->size);
  copy[from->size] = '\0';
  return copy;
}

char *sheet_decode(struct reading *r, const unsigned char *bytes, size_t size, size_t *used)
{
  struct encoding_text text = {0};
  int line = 0;
  enum encoding_fault fault = encoding_read(bytes, size, r->arena, &text, &line);

  if (fault != ENCODING_NO_FAULT) {
    refuse(r, fault, line);
    return NULL;
  }
  r->book.encoding = encoding_name(text.encoding);
  *used = text.size;
  if (text.encoding == ENCODING_WINDOWS_1252)
    sheet_remark(
        r, "the file is not UTF-8 and says no other encoding; it was read as Windows-1252: "
           "see that accents and signs such as \xc2\xb1 and \xc2\xb3 came over, or save it as "
           "\"CSV UTF-8\"");
  return text.own ? text.own : copied(r, &text);
}
