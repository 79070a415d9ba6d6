#include "sheet/sheet_impl.h"

#include <string.h>

/*
 * What else people hand over as a sheet, known by its first bytes, with what to do instead.  In this
 * order; `text` rows are looked for after blanks and with capitals or without.
 */
static const struct {
  const char *bytes;
  int size;
  bool text;
  const char *what;
} kinds[] = {
    {"%PDF-", 5, false, "a PDF, which holds no cells; save the sheet itself as .xlsx or .csv"},
    {"\x89PNG", 4, false,
     "a picture (PNG); type the list into a sheet and save it as .xlsx or .csv"},
    {"\xff\xd8\xff", 3, false,
     "a picture (JPEG); type the list into a sheet and save it as .xlsx or .csv"},
    {"GIF8", 4, false, "a picture (GIF); type the list into a sheet and save it as .xlsx or .csv"},
    {"II*\0", 4, false,
     "a picture (TIFF); type the list into a sheet and save it as .xlsx or .csv"},
    {"MM\0*", 4, false,
     "a picture (TIFF); type the list into a sheet and save it as .xlsx or .csv"},
    {"{\\rtf", 5, false,
     "a text document (RTF); copy its table into a sheet and save that as .xlsx"},
    {"\x1f\x8b", 2, false, "a packed file (gzip); unpack it first"},
    {"7z\xbc\xaf", 4, false, "a packed file (7z); unpack it first"},
    {"Rar!", 4, false, "a packed file (RAR); unpack it first"},
    {"\xfd"
     "7zXZ",
     5, false, "a packed file (xz); unpack it first"},
    {"SQLite format 3", 15, false, "a database (SQLite); save the one table as .csv"},
    {"\x09\x08\x10\0", 4, false, "an old workbook (.xls); open it and save it as .xlsx"},
    {"\x09\x08\x08\0", 4, false, "an old workbook (.xls); open it and save it as .xlsx"},
    {"\x09\x04\x06\0", 4, false, "an old workbook (.xls); open it and save it as .xlsx"},
    {"\x09\x02\x06\0", 4, false, "an old workbook (.xls); open it and save it as .xlsx"},
    {"\x09\0\x04\0", 4, false, "an old workbook (.xls); open it and save it as .xlsx"},
    {"<!doctype html", 14, true,
     "a web page, whatever its name says; open it in a spreadsheet program and save it as .xlsx"},
    {"<html", 5, true,
     "a web page, whatever its name says; open it in a spreadsheet program and save it as .xlsx"},
    {"<table", 6, true,
     "a web page, whatever its name says; open it in a spreadsheet program and save it as .xlsx"},
    {"mime-version:", 13, true,
     "a saved web page, whatever its name says; open it in a spreadsheet program and save it as .xlsx"},
    {"<?xml", 5, true,
     "an XML file and no packed workbook; open it in a spreadsheet program and save it as .xlsx"},
};

/* An OLE compound file (MS-CFB) is told apart by the names of its streams, which are UTF-16. */
static const unsigned char ole[] = {0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1};
static const struct {
  const char *stream, *what;
} ole_kinds[] = {
    {"EncryptedPackage",
     "protected with a password; take the password off (save it without one) and try again"},
    {"WordDocument",
     "an old text document (.doc); copy its table into a sheet and save that as .xlsx"},
    {"Workbook", "an old workbook (.xls); open it and save it as .xlsx"},
    {"Book", "an old workbook (.xls); open it and save it as .xlsx"},
};

static bool has_stream(const unsigned char *bytes, size_t size, const char *name)
{
  size_t length = strlen(name);

  for (size_t i = 0; i + 2 * length <= size; i++) {
    size_t k = 0;

    while (k < length && bytes[i + 2 * k] == (unsigned char)name[k] && bytes[i + 2 * k + 1] == 0)
      k++;
    if (k == length)
      return true;
  }
  return false;
}

static const char *ole_kind(const unsigned char *bytes, size_t size)
{
  for (size_t i = 0; i < sizeof ole_kinds / sizeof ole_kinds[0]; i++)
    if (has_stream(bytes, size, ole_kinds[i].stream))
      return ole_kinds[i].what;
  return "an old Office file; open it in a spreadsheet program and save it as .xlsx or .csv";
}

static bool begins(const unsigned char *bytes, size_t size, const char *want, size_t count,
                   bool text)
{
  static const char *const blanks = " \t\r\n";

  if (text && size >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0) {
    bytes += 3;
    size -= 3;
  }
  while (text && size > 0 && bytes[0] != '\0' && strchr(blanks, bytes[0])) {
    bytes++;
    size--;
  }
  if (size < count)
    return false;
  for (size_t i = 0; i < count; i++) {
    unsigned char c = bytes[i];

    c = text && c >= 'A' && c <= 'Z' ? (unsigned char)(c - 'A' + 'a') : c;
    if (c != (unsigned char)want[i])
      return false;
  }
  return true;
}

static const char *kind_of(const unsigned char *bytes, size_t size)
{
  if (size == 0)
    return "empty; save the sheet again as .xlsx or .csv";
  if (size >= sizeof ole && memcmp(bytes, ole, sizeof ole) == 0)
    return ole_kind(bytes, size);
  for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
    if (begins(bytes, size, kinds[i].bytes, (size_t)kinds[i].size, kinds[i].text))
      return kinds[i].what;
  return NULL;
}

static bool is_utf16(const unsigned char *bytes, size_t size)
{
  return size >= 2 && (memcmp(bytes, "\xff\xfe", 2) == 0 || memcmp(bytes, "\xfe\xff", 2) == 0) &&
         !(size >= 4 && memcmp(bytes, "\xff\xfe\0\0", 4) == 0);
}

bool sheet_is_no_text(const unsigned char *bytes, size_t size)
{
  if (kind_of(bytes, size))
    return true;
  return !is_utf16(bytes, size) && memchr(bytes, '\0', size) != NULL;
}

void sheet_refuse_kind(struct reading *r, const unsigned char *bytes, size_t size)
{
  const char *what = kind_of(bytes, size);

  if (what)
    sheet_refuse(r, 0, 0, "this is %s", what);
  else
    sheet_refuse(r, 0, 0,
                 "this is no spreadsheet and no text; save the list as .xlsx or as \"CSV "
                 "UTF-8\"");
}
