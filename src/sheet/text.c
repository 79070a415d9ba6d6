#include "sheet/sheet_impl.h"

#include "base/utf8.h"

#include <stdint.h>
#include <string.h>

/* The C1 half of Windows-1252, as the Encoding standard's index has it; 0 where it has a control
 * character that no sheet means. */
static const uint16_t windows_1252[32] = {
    0x20ac, 0,      0x201a, 0x0192, 0x201e, 0x2026, 0x2020, 0x2021, 0x02c6, 0x2030, 0x0160,
    0x2039, 0x0152, 0,      0x017d, 0,      0,      0x2018, 0x2019, 0x201c, 0x201d, 0x2022,
    0x2013, 0x2014, 0x02dc, 0x2122, 0x0161, 0x203a, 0x0153, 0,      0x017e, 0x0178,
};

static size_t put(char *out, uint32_t code)
{
  if (code < 0x80) {
    out[0] = (char)code;
    return 1;
  }
  if (code < 0x800) {
    out[0] = (char)(0xc0 | code >> 6);
    out[1] = (char)(0x80 | (code & 0x3f));
    return 2;
  }
  if (code < 0x10000) {
    out[0] = (char)(0xe0 | code >> 12);
    out[1] = (char)(0x80 | (code >> 6 & 0x3f));
    out[2] = (char)(0x80 | (code & 0x3f));
    return 3;
  }
  out[0] = (char)(0xf0 | code >> 18);
  out[1] = (char)(0x80 | (code >> 12 & 0x3f));
  out[2] = (char)(0x80 | (code >> 6 & 0x3f));
  out[3] = (char)(0x80 | (code & 0x3f));
  return 4;
}

static int line_of(const char *text, const char *at)
{
  int line = 1;

  for (; text < at; text++)
    line += *text == '\n' || (*text == '\r' && text[1] != '\n');
  return line;
}

static char *utf16(struct reading *r, const unsigned char *bytes, size_t size, int low,
                   size_t *used)
{
  char *out = arena_push(r->arena, size / 2 * 3 + 5, 1), *end = out;

  if (!out) {
    sheet_refuse(r, 0, 0, "the file holds more than can be kept");
    return NULL;
  }
  for (size_t i = 0; i + 1 < size; i += 2) {
    uint32_t code = bytes[i + (size_t)low] | (uint32_t)bytes[i + 1 - (size_t)low] << 8;
    uint32_t next =
        i + 3 < size ? bytes[i + 2 + (size_t)low] | (uint32_t)bytes[i + 3 - (size_t)low] << 8 : 0;

    if (code >= 0xd800 && code < 0xdc00 && next >= 0xdc00 && next < 0xe000) {
      code = 0x10000 + ((code - 0xd800) << 10) + (next - 0xdc00);
      i += 2;
    } else if (code >= 0xd800 && code < 0xe000) {
      sheet_refuse(r, line_of(out, end), 1,
                   "half a character stands in this line; the file is "
                   "damaged: save it again as \"CSV UTF-8\"");
      return NULL;
    }
    end += put(end, code);
  }
  if (size % 2 != 0) {
    sheet_refuse(r, line_of(out, end), 1,
                 "the file ends in the middle of a character; it is cut "
                 "short: save it again");
    return NULL;
  }
  *end = '\0';
  *used = (size_t)(end - out);
  return out;
}

/* Not UTF-8, so taken for what older spreadsheet programs write in Europe and America. */
static char *western(struct reading *r, const unsigned char *bytes, size_t size, size_t *used)
{
  char *out = arena_push(r->arena, size * 3 + 1, 1), *end = out;

  if (!out) {
    sheet_refuse(r, 0, 0, "the file holds more than can be kept");
    return NULL;
  }
  for (size_t i = 0; i < size; i++) {
    uint32_t code = bytes[i];

    if (code >= 0x80 && code < 0xa0)
      code = windows_1252[code - 0x80];
    if (code == 0) {
      sheet_refuse(r, line_of(out, end), 1,
                   "a character in this line is of no known encoding; save "
                   "the file as \"CSV UTF-8\"");
      return NULL;
    }
    end += put(end, code);
  }
  *end = '\0';
  *used = (size_t)(end - out);
  sheet_remark(r,
               "the file is not UTF-8 and says no other encoding; it was read as Windows-1252: "
               "see that accents and signs such as \xc2\xb1 and \xc2\xb3 came over, or save it as "
               "\"CSV UTF-8\"");
  return out;
}

char *sheet_decode(struct reading *r, const unsigned char *bytes, size_t size, size_t *used)
{
  bool marked = size >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0;

  if (size >= 2 && (memcmp(bytes, "\xff\xfe", 2) == 0 || memcmp(bytes, "\xfe\xff", 2) == 0)) {
    r->book.encoding = "UTF-16";
    return utf16(r, bytes + 2, size - 2, bytes[0] == 0xff ? 0 : 1, used);
  }
  bytes += marked ? 3 : 0;
  size -= marked ? 3 : 0;

  char *copy = arena_push(r->arena, size + 1, 1);

  if (!copy) {
    sheet_refuse(r, 0, 0, "the file holds more than can be kept");
    return NULL;
  }
  if (size > 0)
    memcpy(copy, bytes, size);
  copy[size] = '\0';

  const char *fault = utf8_fault(copy);

  r->book.encoding = "UTF-8";
  *used = size;
  if (!fault)
    return copy;
  if (marked) {
    sheet_refuse(r, line_of(copy, fault), 1,
                 "this line is not UTF-8, though the file says it is; "
                 "save it again as \"CSV UTF-8\"");
    return NULL;
  }
  r->book.encoding = "Windows-1252";
  return western(r, bytes, size, used);
}
