#include "sheet/pack_impl.h"

#include <string.h>

/* What else is packed as a zip, told by its parts, with what to do instead. */
static const struct {
  const char *begin, *end, *what;
} others[] = {
    {"xl/", "workbook.bin", "this is a binary workbook (.xlsb); save it as .xlsx"},
    {"Index/", ".iwa", "this is a sheet of another program (.numbers); export it as .xlsx or .csv"},
    {"Index.zip", "", "this is a sheet of another program (.numbers); export it as .xlsx or .csv"},
    {"word/", "document.xml",
     "this is a text document (.docx); copy its table into a sheet and save that as .xlsx"},
    {"ppt/", "presentation.xml",
     "this is a set of slides (.pptx); copy its table into a sheet and save that as .xlsx"},
    {"", ".xlsx", "this is a zip with a workbook in it; unpack it and give the workbook"},
    {"", ".ods", "this is a zip with a workbook in it; unpack it and give the workbook"},
    {"", ".csv", "this is a zip with a .csv in it; unpack it and give that"},
    {"META-INF/", "MANIFEST.MF", "this is a program (.jar), not a sheet"},
};

/* OpenDocument says in its first part what it is. */
enum { MIMETYPE_MOST = 100 };
struct mimetype {
  char text[MIMETYPE_MOST + 1];
  size_t used;
};

static bool take_mimetype(void *to, const char *bytes, size_t size)
{
  struct mimetype *m = to;

  size = size < MIMETYPE_MOST - m->used ? size : MIMETYPE_MOST - m->used;
  if (size > 0)
    memcpy(m->text + m->used, bytes, size);
  m->used += size;
  return true;
}

static bool read_open_document(struct reading *r, struct pack *pack)
{
  static const char spreadsheet[] = "application/vnd.oasis.opendocument.spreadsheet";
  struct mimetype mimetype = {.used = 0};
  const char *part = pack_find(pack, "mimetype");

  if (part && !pack_feed(pack, part, take_mimetype, &mimetype))
    return false;
  if (part && strncmp(mimetype.text, spreadsheet, strlen(spreadsheet)) != 0)
    return sheet_refuse(r, 0, 0,
                        "this is an OpenDocument file, but no spreadsheet; copy its table "
                        "into a sheet and save that as .ods or .xlsx");
  return ods_read(r, pack);
}

bool sheet_read_pack(struct reading *r, struct pack *pack)
{
  for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
    if (pack_find_like(pack, others[i].begin, others[i].end))
      return sheet_refuse(r, 0, 0, "%s", others[i].what);
  if (pack_find(pack, "[Content_Types].xml"))
    return xlsx_read(r, pack);
  if (pack_find(pack, "content.xml"))
    return read_open_document(r, pack);
  if (pack->count == 0)
    return sheet_refuse(r, 0, 0, "this zip is empty; save the list as .xlsx or .csv");
  return sheet_refuse(r, 0, 0,
                      "this is a zip, but no workbook (its first part is %s); save the list "
                      "as .xlsx or .csv",
                      pack->parts[0].name);
}

bool sheet_read_zip(struct reading *r, const unsigned char *bytes, size_t size)
{
  struct pack pack;

  return pack_open(&pack, r, bytes, size) && sheet_read_pack(r, &pack);
}
