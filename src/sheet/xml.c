#include "sheet/xml_impl.h"

#include <expat.h>
#include <stdio.h>
#include <string.h>

enum { DEPTH_MOST = 100, PIECE_MOST = 1 << 20 };

/* ECMA-376 and ISO/IEC 29500 (transitional, then strict); OpenDocument 1.2. */
static const struct {
  const char *uri;
  enum xml_space space;
} spaces[] = {
    {"http://schemas.openxmlformats.org/spreadsheetml/2006/main", XML_SPACE_SHEET},
    {"http://purl.oclc.org/ooxml/spreadsheetml/main", XML_SPACE_SHEET},
    {"http://schemas.openxmlformats.org/officeDocument/2006/relationships", XML_SPACE_REF},
    {"http://purl.oclc.org/ooxml/officeDocument/relationships", XML_SPACE_REF},
    {"http://schemas.openxmlformats.org/package/2006/relationships", XML_SPACE_RELATIONS},
    {"http://schemas.openxmlformats.org/package/2006/content-types", XML_SPACE_TYPES},
    {"http://schemas.microsoft.com/office/spreadsheetml/2018/threadedcomments", XML_SPACE_THREADED},
    {"urn:oasis:names:tc:opendocument:xmlns:office:1.0", XML_SPACE_OFFICE},
    {"urn:oasis:names:tc:opendocument:xmlns:table:1.0", XML_SPACE_TABLE},
    {"urn:oasis:names:tc:opendocument:xmlns:text:1.0", XML_SPACE_TEXT},
    {"urn:oasis:names:tc:opendocument:xmlns:style:1.0", XML_SPACE_STYLE},
    {"urn:oasis:names:tc:opendocument:xmlns:drawing:1.0", XML_SPACE_DRAW},
    {"urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0", XML_SPACE_CALCEXT},
};

/* expat gives "uri local", or "local" alone. */
static enum xml_space split(const char *name, const char **local)
{
  const char *blank = strrchr(name, ' ');

  *local = blank ? blank + 1 : name;
  if (!blank)
    return XML_SPACE_NONE;
  for (size_t i = 0; i < sizeof spaces / sizeof spaces[0]; i++)
    if (strncmp(name, spaces[i].uri, (size_t)(blank - name)) == 0 &&
        spaces[i].uri[blank - name] == '\0')
      return spaces[i].space;
  return XML_SPACE_OTHER;
}

static int id_of(const struct xml *xml, const char *name)
{
  const char *local;
  enum xml_space space = split(name, &local);

  for (int i = 0; i < xml->word_count; i++) {
    enum xml_space want = xml->words[i].space;

    if ((want == space || (want == XML_SPACE_SHEET && space == XML_SPACE_NONE)) &&
        strcmp(xml->words[i].local, local) == 0)
      return xml->words[i].id;
  }
  return 0;
}

static void stop(struct xml *xml)
{
  xml->failed = true;
  XML_StopParser(xml->parser, XML_FALSE);
}

static void refuse_here(struct xml *xml, const char *what)
{
  sheet_refuse(xml->r, 0, 0, "%s, line %lu, column %lu: %s", xml->part,
               (unsigned long)XML_GetCurrentLineNumber(xml->parser),
               (unsigned long)XML_GetCurrentColumnNumber(xml->parser) + 1, what);
  xml->failed = true;
}

static void XMLCALL on_start(void *to, const XML_Char *name, const XML_Char **attributes)
{
  struct xml *xml = to;

  if (xml->failed)
    return;
  if (++xml->depth > DEPTH_MOST) {
    refuse_here(xml, "elements are nested deeper than any spreadsheet nests them; the file is "
                     "damaged: open it and save it again");
    stop(xml);
  } else if (!xml->start(xml, id_of(xml, name), attributes))
    stop(xml);
}

static void XMLCALL on_end(void *to, const XML_Char *name)
{
  struct xml *xml = to;

  if (xml->failed)
    return;
  xml->depth--;
  if (!xml->end(xml, id_of(xml, name)))
    stop(xml);
}

static void XMLCALL on_text(void *to, const XML_Char *bytes, int count)
{
  struct xml *xml = to;

  if (!xml->failed && xml->text)
    xml->text(xml, bytes, count);
}

static void XMLCALL on_doctype(void *to, const XML_Char *name, const XML_Char *system,
                               const XML_Char *public, int has_subset)
{
  struct xml *xml = to;

  (void)name, (void)system, (void)public, (void)has_subset;
  if (xml->failed)
    return;
  refuse_here(xml, "a document type is declared, which no spreadsheet program writes; the file is "
                   "not read: open it and save it again");
  stop(xml);
}

static bool give(struct xml *xml, const char *bytes, int count, bool last)
{
  if (xml->failed)
    return false;
  if (XML_Parse(xml->parser, bytes, count, last) == XML_STATUS_OK)
    return true;
  if (!xml->failed) {
    char what[200];

    snprintf(what, sizeof what, "broken XML (%s); the file is damaged: open it and save it again",
             XML_ErrorString(XML_GetErrorCode(xml->parser)));
    refuse_here(xml, what);
  }
  return false;
}

static bool take_piece(void *to, const char *bytes, size_t size)
{
  for (size_t at = 0; at < size; at += PIECE_MOST)
    if (!give(to, bytes + at, (int)(size - at < PIECE_MOST ? size - at : PIECE_MOST), false))
      return false;
  return true;
}

bool xml_read(struct xml *xml, struct pack *pack)
{
  XML_Parser parser = XML_ParserCreateNS(NULL, ' ');

  if (!parser)
    err_no_memory();
  xml->parser = parser;
  xml->depth = 0;
  xml->failed = false;
  XML_SetUserData(parser, xml);
  XML_SetElementHandler(parser, on_start, on_end);
  XML_SetCharacterDataHandler(parser, on_text);
  XML_SetStartDoctypeDeclHandler(parser, on_doctype);

  bool good = pack_feed(pack, xml->part, take_piece, xml) && give(xml, "", 0, true);

  XML_ParserFree(parser);
  xml->parser = NULL;
  return good && !xml->failed;
}

const char *xml_attribute(const char **attributes, enum xml_space space, const char *local)
{
  for (int i = 0; attributes[i]; i += 2) {
    const char *name;

    if (split(attributes[i], &name) == space && strcmp(name, local) == 0)
      return attributes[i + 1];
  }
  return NULL;
}

int xml_int(const char *value, int most, int missing)
{
  long long number = 0;

  if (!value || *value == '\0')
    return missing;
  for (; *value; value++) {
    if (*value < '0' || *value > '9' || number > most)
      return missing;
    number = number * 10 + (*value - '0');
  }
  return number > most ? missing : (int)number;
}

bool xml_is_true(const char *value)
{
  return value && (strcmp(value, "1") == 0 || strcmp(value, "true") == 0);
}
