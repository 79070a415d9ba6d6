#include "listed.h"

#include <string.h>

void listed_begin(struct listed *g)
{
  *g = (struct listed){0};
  arena_init(&g->arena, 64 << 20);
  complaints_init(&g->complaints, &g->arena);
  buf_init(&g->suite, 1 << 20);
}

void listed_take_book(struct listed *g, const struct sheet_book *book, const char *answers)
{
  g->intake = book ? intake_read(book, NULL, &g->arena, &g->complaints) : NULL;
  if (!g->intake)
    return;
  if (answers) {
    struct facility_text text = {"answers", answers, strlen(answers)};

    if (!intake_answers(g->intake, &text, &g->complaints))
      return;
  }
  g->result = intake_finish(g->intake);
  intake_suite(g->intake, &g->suite);

  struct facility_text text = {"suite.yaml", g->suite.text, g->suite.used};

  g->facility = facility_read(&text, NULL, 0, &g->complaints);
}

void listed_read_list(struct listed *g, const char *csv, const char *answers)
{
  listed_begin(g);
  listed_take_book(g, sheet_read("list.csv", csv, strlen(csv), &g->arena, &g->complaints), answers);
}

void listed_release(struct listed *g)
{
  facility_free(g->facility);
  buf_release(&g->suite);
  arena_release(&g->arena);
}

bool listed_has_notice_at(const struct listed *g, const char *place)
{
  for (int i = 0; g->result && i < g->result->remark_count; i++)
    if (g->result->remarks[i].weight == INTAKE_NOTICE &&
        strcmp(g->result->remarks[i].place, place) == 0)
      return true;
  return false;
}

bool listed_has_fault_at(const struct listed *g, const char *place)
{
  for (int i = 0; g->result && i < g->result->remark_count; i++)
    if (g->result->remarks[i].weight == INTAKE_FAULT &&
        strcmp(g->result->remarks[i].place, place) == 0)
      return true;
  return false;
}
