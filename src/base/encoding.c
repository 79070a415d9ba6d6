#include "base/encoding.h"

#include "base/utf8.h"

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

/* The C1 half of Windows-1252, as the Encoding standard's index has it; 0 where it has a control
 * character that no text means. */
static const uint16_t windows_1252[32] = {
    0x20ac, 0,      0x201a, 0x0192, 0x201e, 0x2026, 0x2020, 0x2021, 0x02c6, 0x2030, 0x0160,
    0x2039, 0x0152, 0,      0x017d, 0,      0,      0x2018, 0x2019, 0x201c, 0x201d, 0x2022,
    0x2013, 0x2014, 0x02dc, 0x2122, 0x0161, 0x203a, 0x0153, 0,      0x017e, 0x0178,
};

const char *encoding_name(enum encoding encoding)
{
  static const char *const names[] = {"UTF-8", "UTF-16", "Windows-1252"};

  return names[encoding];
}

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

  for (const char *p = text; p < at; p++)
    line += *p == '\n' || (*p == '\r' && (p + 1 == at || p[1] != '\n'));
  return line;
}

static enum encoding_fault read_utf16(const unsigned char *bytes, size_t size, size_t low,
                                      struct arena *arena, struct encoding_text *out, int *line_out)
{
  char *text = arena_push(arena, size / 2 * 3 + 5, 1), *end = text;

  if (!text)
    return ENCODING_NO_ROOM;
  for (size_t i = 0; i + 1 < size; i += 2) {
    uint32_t code = bytes[i + low] | (uint32_t)bytes[i + 1 - low] << 8;
    uint32_t next = i + 3 < size ? bytes[i + 2 + low] | (uint32_t)bytes[i + 3 - low] << 8 : 0;

    if (code >= 0xd800 && code < 0xdc00 && next >= 0xdc00 && next < 0xe000) {
      code = 0x10000 + ((code - 0xd800) << 10) + (next - 0xdc00);
      i += 2;
    } else if (code >= 0xd800 && code < 0xe000) {
      *line_out = line_of(text, end);
      return ENCODING_HALF;
    }
    end += put(end, code);
  }
  if (size % 2 != 0) {
    *line_out = line_of(text, end);
    return ENCODING_CUT;
  }
  *out = (struct encoding_text){text, (size_t)(end - text), text, ENCODING_UTF16};
  return ENCODING_NO_FAULT;
}

static enum encoding_fault read_western(const unsigned char *bytes, size_t size,
                                        struct arena *arena, struct encoding_text *out,
                                        int *line_out)
{
  char *text = arena_push(arena, size * 3 + 1, 1), *end = text;

  if (!text)
    return ENCODING_NO_ROOM;
  for (size_t i = 0; i < size; i++) {
    uint32_t code = bytes[i];

    if (code >= 0x80 && code < 0xa0)
      code = windows_1252[code - 0x80];
    if (code == 0) {
      *line_out = line_of(text, end);
      return ENCODING_UNKNOWN;
    }
    end += put(end, code);
  }
  *out = (struct encoding_text){text, (size_t)(end - text), text, ENCODING_WINDOWS_1252};
  return ENCODING_NO_FAULT;
}

/* Where bytes first are not UTF-8, or NULL.  utf8_size wants a NUL behind what it looks at, so the
 * last few are looked at in a copy. */
static const char *fault_in(const char *at, const char *end)
{
  char tail[8] = {0};

  while (at < end) {
    uint64_t eight;

    /* Eight at a time while they are ASCII. */
    if (end - at >= 8 && (memcpy(&eight, at, 8), (eight & 0x8080808080808080U) == 0)) {
      at += 8;
      continue;
    }

    int size = end - at > 4 ? utf8_size(at) : -1;

    if (size < 0) {
      memset(tail, 0, sizeof tail);
      memcpy(tail, at, (size_t)(end - at));
      size = utf8_size(tail);
    }
    if (size == 0)
      return at;
    at += size;
  }
  return NULL;
}

static bool begins(const unsigned char *bytes, size_t size, const char *mark, size_t count)
{
  return size >= count && memcmp(bytes, mark, count) == 0;
}

enum encoding_fault encoding_read(const void *bytes, size_t size, struct arena *arena,
                                  struct encoding_text *out, int *line_out)
{
  const unsigned char *at = bytes;
  bool marked = begins(at, size, "\xef\xbb\xbf", 3);

  *line_out = 0;
  if (begins(at, size, "\xff\xfe", 2))
    return read_utf16(at + 2, size - 2, 0, arena, out, line_out);
  if (begins(at, size, "\xfe\xff", 2))
    return read_utf16(at + 2, size - 2, 1, arena, out, line_out);

  const char *text = (const char *)bytes + (marked ? 3 : 0), *end = (const char *)bytes + size;
  const char *fault = fault_in(text, end);

  if (fault && marked) {
    *line_out = line_of(text, fault);
    return ENCODING_FALSE;
  }
  if (fault)
    return read_western(at, size, arena, out, line_out);
  *out = (struct encoding_text){text, (size_t)(end - text), NULL, ENCODING_UTF8};
  return ENCODING_NO_FAULT;
}
