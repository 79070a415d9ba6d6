#include "sheet/xlsx_impl.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

/*
 * The parts of a workbook and how they hang together (ECMA-376 part 1 and 2): content types say what
 * sort of file it is, relations lead from the root to the workbook part and from it to the rest.
 */

/* What the main part may be, by the end of its content type. */
static const struct {
  const char *ending, *refusal;
} main_types[] = {
    {"spreadsheetml.sheet.main+xml", NULL},
    {"spreadsheetml.template.main+xml", NULL},
    {"sheet.macroEnabled.main+xml",
     "this workbook may hold macros (.xlsm), which are not let in; save it as .xlsx"},
    {"template.macroEnabled.main+xml",
     "this workbook may hold macros (.xltm), which are not let in; save it as .xlsx"},
    {"addin.macroEnabled.main+xml", "this is an add-in for a spreadsheet program, not a list"},
    {"sheet.binary.macroEnabled.main", "this is a binary workbook (.xlsb); save it as .xlsx"},
    {"wordprocessingml.document.main+xml",
     "this is a text document (.docx); copy its table into a sheet and save that as .xlsx"},
    {"presentationml.presentation.main+xml",
     "this is a set of slides (.pptx); copy its table into a sheet and save that as .xlsx"},
};

static bool ends_with(const char *text, const char *ending)
{
  size_t size = strlen(text), want = strlen(ending);

  return size >= want && strcasecmp(text + size - want, ending) == 0;
}

enum { OVERRIDE = 1, RELATION, WORKBOOK_PR, CALC_PR, SHEET };
static const struct xml_word type_words[] = {{XML_SPACE_TYPES, "Override", OVERRIDE},
                                             {XML_SPACE_TYPES, "Default", OVERRIDE}};

static bool on_type(struct xml *xml, int id, const char **attributes)
{
  const char *type = xml_attribute(attributes, XML_SPACE_NONE, "ContentType");

  for (size_t i = 0; id == OVERRIDE && type && i < sizeof main_types / sizeof main_types[0]; i++)
    if (ends_with(type, main_types[i].ending)) {
      *(bool *)xml->to = true;
      return !main_types[i].refusal || sheet_refuse(xml->r, 0, 0, "%s", main_types[i].refusal);
    }
  return true;
}

static bool nothing_to_do(struct xml *xml, int id)
{
  (void)xml, (void)id;
  return true;
}

static bool check_types(struct reading *r, struct pack *pack)
{
  bool known = false;
  struct xml xml = {
      r,    "[Content_Types].xml", type_words, 2, on_type, nothing_to_do, NULL, &known, NULL, 0,
      false};

  if (pack_find_like(pack, "", "vbaProject.bin"))
    return sheet_refuse(r, 0, 0,
                        "this workbook holds macros, which are not let in; save it as .xlsx "
                        "without them");
  return xml_read(&xml, pack) &&
         (known || sheet_refuse(r, 0, 0,
                                "this packed Office file is no workbook; save the list as "
                                ".xlsx or .csv"));
}

/* A target seen from the part that names it: "/xl/x.xml" from the root, "../x.xml" from beside. */
static const char *resolve(struct arena *arena, const char *part, const char *target)
{
  const char *slash = strrchr(part, '/');
  size_t folder = target[0] == '/' || !slash ? 0 : (size_t)(slash - part) + 1;
  char *path = arena_printf(arena, "%.*s%s", (int)folder, part, target + (target[0] == '/'));
  char *out = path, *at = path;

  while (at && *at) { /* step by step, what ".." undoes is taken out again */
    size_t length = strcspn(at, "/\\");
    bool more = at[length] != '\0';

    if (length == 2 && at[0] == '.' && at[1] == '.') {
      out -= out > path;
      while (out > path && out[-1] != '/')
        out--;
    } else if (!(length == 1 && at[0] == '.')) {
      memmove(out, at, length);
      out += length;
      if (more)
        *out++ = '/';
    }
    at += length + more;
  }
  if (path)
    *out = '\0';
  return path;
}

struct relating {
  struct xlsx *book;
  const char *part;
  struct xlsx_relations *out;
};
static const struct xml_word relation_words[] = {{XML_SPACE_RELATIONS, "Relationship", RELATION}};

static bool on_relation(struct xml *xml, int id, const char **attributes)
{
  struct relating *s = xml->to;
  struct arena *arena = &xml->r->scratch;
  const char *key = xml_attribute(attributes, XML_SPACE_NONE, "Id");
  const char *type = xml_attribute(attributes, XML_SPACE_NONE, "Type");
  const char *target = xml_attribute(attributes, XML_SPACE_NONE, "Target");
  const char *mode = xml_attribute(attributes, XML_SPACE_NONE, "TargetMode");

  if (id != RELATION || !key || !type || !target || (mode && strcmp(mode, "External") == 0))
    return true;
  if (s->out->count == SHEET_MOST_PARTS) /* more than there can be parts */
    return true;

  const char *word = strrchr(type, '/');
  struct xlsx_relation made = {arena_strdup(arena, key),
                               arena_strdup(arena, word ? word + 1 : type),
                               resolve(arena, s->part, target)};

  if (!made.id || !made.kind || !made.target)
    return sheet_refuse(xml->r, 0, 0, "the file holds more than can be kept");
  s->out->list[s->out->count++] = made;
  return true;
}

/* "xl/workbook.xml" has its relations in "xl/_rels/workbook.xml.rels".  None is no fault. */
bool xlsx_relations(struct xlsx *book, const char *part, struct xlsx_relations *out)
{
  struct arena *arena = &book->r->scratch;
  const char *slash = strrchr(part, '/');
  int folder = slash ? (int)(slash - part) + 1 : 0;
  const char *path = arena_printf(arena, "%.*s_rels/%s.rels", folder, part, part + folder);
  struct relating relating = {book, part, out};

  *out = (struct xlsx_relations){ARENA_ARRAY(arena, struct xlsx_relation, SHEET_MOST_PARTS), 0};
  if (!path || !out->list)
    return sheet_refuse(book->r, 0, 0, "the file holds more than can be kept");
  path = pack_find(book->pack, path);
  if (!path)
    return true;

  struct xml xml = {book->r, path,      relation_words, 1, on_relation, nothing_to_do,
                    NULL,    &relating, NULL,           0, false};

  return xml_read(&xml, book->pack);
}

static const char *target_of(const struct xlsx_relations *relations, const char *kind)
{
  for (int i = 0; i < relations->count; i++)
    if (strcmp(relations->list[i].kind, kind) == 0)
      return relations->list[i].target;
  return NULL;
}

/* The workbook part: which sheets there are, in which order, and what they are called. */
struct sheets {
  struct xlsx *book;
  int count;
  struct {
    const char *name, *id;
    bool hidden;
  } list[SHEET_MOST_TABLES];
};
static const struct xml_word book_words[] = {
    {XML_SPACE_SHEET, "workbookPr", WORKBOOK_PR},
    {XML_SPACE_SHEET, "calcPr", CALC_PR},
    {XML_SPACE_SHEET, "sheet", SHEET},
};

static bool add_sheet(struct sheets *s, struct xml *xml, const char **attributes)
{
  const char *name = xml_attribute(attributes, XML_SPACE_NONE, "name");
  const char *id = xml_attribute(attributes, XML_SPACE_REF, "id");
  const char *state = xml_attribute(attributes, XML_SPACE_NONE, "state");

  if (s->count == SHEET_MOST_TABLES)
    return sheet_refuse(xml->r, 0, 0,
                        "the workbook has more than %d sheets; save the one that is "
                        "needed as a file of its own",
                        SHEET_MOST_TABLES);
  if (!name || !id)
    return true;
  s->list[s->count].name = sheet_name(xml->r->arena, name);
  s->list[s->count].id = arena_strdup(&xml->r->scratch, id);
  s->list[s->count].hidden = state && strcmp(state, "visible") != 0;
  if (!s->list[s->count].name || !s->list[s->count].id)
    return sheet_refuse(xml->r, 0, 0, "the file holds more than can be kept");
  s->count++;
  return true;
}

static bool on_book(struct xml *xml, int id, const char **attributes)
{
  struct sheets *s = xml->to;

  if (id == WORKBOOK_PR)
    s->book->from_1904 = xml_is_true(xml_attribute(attributes, XML_SPACE_NONE, "date1904"));
  else if (id == CALC_PR)
    s->book->computed_later =
        xml_is_true(xml_attribute(attributes, XML_SPACE_NONE, "fullCalcOnLoad"));
  else if (id == SHEET)
    return add_sheet(s, xml, attributes);
  return true;
}

/* Threads first: see xlsx_notes.c.  A part that a relation names and the file lacks is no note. */
static bool read_notes(struct xlsx *book, const char *part, const char *name, struct grid *grid)
{
  struct xlsx_relations relations;

  if (!xlsx_relations(book, part, &relations))
    return false;
  for (int threaded = 1; threaded >= 0; threaded--)
    for (int i = 0; i < relations.count; i++) {
      const char *target = pack_find(book->pack, relations.list[i].target);

      if (target &&
          strcmp(relations.list[i].kind, threaded ? "threadedComment" : "comments") == 0 &&
          !xlsx_read_notes(book, target, threaded, name, grid))
        return false;
    }
  return true;
}

static bool read_table(struct xlsx *book, const char *part, struct sheet_table *table)
{
  struct grid *grid = grid_new();
  bool good = xlsx_read_cells(book, part, table->name, grid) &&
              read_notes(book, part, table->name, grid) && grid_finish(grid, book->r, table);

  grid_free(grid);
  return good;
}

static bool read_tables(struct xlsx *book, const struct sheets *sheets)
{
  struct reading *r = book->r;
  struct sheet_table *tables = ARENA_ARRAY(r->arena, struct sheet_table, (size_t)sheets->count + 1);

  if (!tables)
    return sheet_refuse(r, 0, 0, "the file holds more than can be kept");
  r->book.tables = tables;
  for (int i = 0; i < sheets->count; i++) {
    const struct xlsx_relation *relation = NULL;
    struct sheet_table *table = &tables[r->book.table_count];

    for (int k = 0; k < book->relations.count && !relation; k++)
      if (strcmp(book->relations.list[k].id, sheets->list[i].id) == 0)
        relation = &book->relations.list[k];
    if (relation && strcmp(relation->kind, "worksheet") != 0) {
      sheet_remark(r, "\"%s\" is no sheet of cells (%s) and was passed over", sheets->list[i].name,
                   relation->kind);
      continue;
    }
    if (!relation || !pack_find(book->pack, relation->target))
      return sheet_refuse(r, 0, 0,
                          "the sheet \"%s\" is missing in the file; it is damaged: open it "
                          "and save it again",
                          sheets->list[i].name);
    table->name = sheets->list[i].name;
    table->hidden = sheets->list[i].hidden;
    if (!read_table(book, pack_find(book->pack, relation->target), table))
      return false;
    r->book.table_count++;
  }
  return r->book.table_count > 0 || sheet_refuse(r, 0, 0,
                                                 "there is no sheet of cells in this "
                                                 "workbook");
}

static bool read_book(struct xlsx *book, const char *part)
{
  struct sheets sheets = {.book = book};
  struct xml xml = {book->r, part,    book_words, 3, on_book, nothing_to_do,
                    NULL,    &sheets, NULL,       0, false};

  if (!xml_read(&xml, book->pack) || !xlsx_relations(book, part, &book->relations))
    return false;

  const char *styles = target_of(&book->relations, "styles");
  const char *strings = target_of(&book->relations, "sharedStrings");

  styles = styles ? pack_find(book->pack, styles) : NULL;
  strings = strings ? pack_find(book->pack, strings) : NULL;
  if ((styles && !xlsx_read_styles(book, styles)) ||
      (strings && !xlsx_read_strings(book, strings)) || !read_tables(book, &sheets))
    return false;
  if (book->computed_later && book->formulas_stored)
    sheet_remark(book->r,
                 "the workbook asks to be computed when it is opened, so what its formulas "
                 "left may be old: open it in a spreadsheet program, save it, and compare");
  return true;
}

bool xlsx_read(struct reading *r, struct pack *pack)
{
  struct xlsx book = {.r = r, .pack = pack};
  struct xlsx_relations root;
  bool good = false;

  r->book.format = SHEET_XLSX;
  if (check_types(r, pack) && xlsx_relations(&book, "", &root)) {
    const char *part = target_of(&root, "officeDocument");

    part = part ? pack_find(pack, part) : NULL;
    good = part ? read_book(&book, part)
                : sheet_refuse(r, 0, 0,
                               "the workbook's main part is missing; the file is damaged: "
                               "open it and save it again");
  }
  free(book.styles);
  free(book.strings);
  return good;
}
