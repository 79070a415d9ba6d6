/* A page put together: lines, sections, rows, and what its content comes to. */
#include "lists/lists_impl.h"

#include <stdio.h>
#include <string.h>

static const struct {
  const char *name, *title, *question;
} kinds[LISTS_KIND_COUNT] = {
    [LISTS_LEAVE] = {"leave", "Leave list", "What is left behind?"},
    [LISTS_RESPONDER] = {"responder", "Responder sheet", "What is in there?"},
    [LISTS_RESTART] = {"restart", "Restart list", "May work begin again?"},
    [LISTS_HANDOVER] = {"handover", "Handover to the ventilation technician", "What was seen?"},
};

const char *lists_kind_name(enum lists_kind kind)
{
  return kinds[kind].name;
}

int lists_kind_find(const char *name)
{
  for (int i = 0; i < LISTS_KIND_COUNT; i++)
    if (strcmp(kinds[i].name, name) == 0)
      return i;
  return -1;
}

struct lists_page *page_new(enum lists_kind kind, const struct facility *facility,
                            const struct when_zone *zone, int64_t t_ms, struct arena *arena)
{
  struct lists_page *page = ARENA_NEW(arena, struct lists_page);

  BUG_IF(!page);
  *page = (struct lists_page){.kind = kind,
                              .facility = facility,
                              .zone = zone,
                              .title = kinds[kind].title,
                              .question = kinds[kind].question,
                              .t_ms = t_ms,
                              .act = "",
                              .foot = "",
                              .arena = arena};
  return page;
}

const char *page_words(struct lists_page *page, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  const char *text = arena_vprintf(page->arena, fmt, args);

  va_end(args);
  BUG_IF(!text);
  return text;
}

void page_line(struct lists_page *page, const char *text)
{
  BUG_IF(page->line_count == LISTS_LINES_MOST);
  page->lines[page->line_count++] = (struct lists_line){text, false};
}

void page_age_line(struct lists_page *page, const char *text)
{
  BUG_IF(page->line_count == LISTS_LINES_MOST);
  page->lines[page->line_count++] = (struct lists_line){text, true};
}

struct lists_section *page_section(struct lists_page *page, const char *key, const char *head,
                                   const char *nothing)
{
  BUG_IF(page->section_count == LISTS_SECTIONS_MOST);
  struct lists_section *section = &page->sections[page->section_count++];

  *section = (struct lists_section){.key = key, .head = head, .nothing = nothing};
  return section;
}

void section_column(struct lists_section *section, const struct lists_column *column)
{
  BUG_IF(section->column_count == LISTS_CELLS_MOST);
  section->columns[section->column_count++] = *column;
}

struct lists_row *section_row(struct lists_page *page, struct lists_section *section,
                              const char *about, const char *state)
{
  if (section->row_count == section->row_room) {
    int room = section->row_room ? 2 * section->row_room : 16;
    struct lists_row *more = ARENA_ARRAY(page->arena, struct lists_row, (size_t)room);

    BUG_IF(!more);
    if (section->rows)
      memcpy(more, section->rows, (size_t)section->row_count * sizeof *more);
    section->rows = more;
    section->row_room = room;
  }
  struct lists_row *row = &section->rows[section->row_count++];

  *row = (struct lists_row){.about = about, .state = state};
  return row;
}

/* FNV-1a, 32 bits: names a content, and keeps nobody out. */
static unsigned stir(unsigned hash, const char *text)
{
  for (const char *at = text ? text : ""; *at; at++)
    hash = (hash ^ (unsigned char)*at) * 16777619u;
  return (hash ^ 0x1f) * 16777619u; /* where a text ends counts */
}

void page_seal(struct lists_page *page)
{
  unsigned hash = stir(2166136261u, page->facility->sha256);

  hash = stir(hash, page->act);
  for (int i = 0; i < page->line_count; i++)
    if (!page->lines[i].is_age)
      hash = stir(hash, page->lines[i].text);
  for (int s = 0; s < page->section_count; s++) {
    const struct lists_section *section = &page->sections[s];

    hash = stir(hash, section->head);
    for (int r = 0; r < section->row_count; r++) {
      hash = stir(hash, section->rows[r].about);
      hash = stir(hash, section->rows[r].state);
      for (int c = 0; c < section->column_count; c++)
        if (!section->columns[c].is_age)
          hash = stir(hash, section->rows[r].cells[c]);
    }
  }
  snprintf(page->content, sizeof page->content, "%08x", hash);
}
