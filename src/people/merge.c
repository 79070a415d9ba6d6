#include "people/people_impl.h"

#include <string.h>
#include <strings.h>

/* Persons who stand there twice. */

/* ---- names ---- */

enum { WORDS_MAX = 8, LONG_ENOUGH = 3 };

struct words {
  int count;
  struct {
    const char *at;
    size_t length;
  } list[WORDS_MAX];
};

static bool is_letter(char c)
{
  return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (c & 0x80) || c == '\'';
}

static struct words words_of(const char *text)
{
  struct words out = {0};

  while (*text && out.count < WORDS_MAX) {
    const char *from = text;

    while (is_letter(*text))
      text++;
    if (text > from) {
      out.list[out.count].at = from;
      out.list[out.count++].length = (size_t)(text - from);
    } else {
      text++;
    }
  }
  return out;
}

static bool has_word(const struct words *w, const char *at, size_t length)
{
  for (int i = 0; i < w->count; i++)
    if (w->list[i].length == length && strncasecmp(w->list[i].at, at, length) == 0)
      return true;
  return false;
}

/* Is each word of one in the other, an initial for a name that begins with it? */
static bool is_part_of(const struct words *a, const struct words *b)
{
  for (int i = 0; i < a->count; i++) {
    bool found = has_word(b, a->list[i].at, a->list[i].length);

    for (int k = 0; k < b->count && a->list[i].length == 1; k++)
      found = found || strncasecmp(a->list[i].at, b->list[k].at, 1) == 0;
    if (!found)
      return false;
  }
  return true;
}

enum people_names people_names(const char *a, const char *b)
{
  struct words left = words_of(a), right = words_of(b);
  int shared = 0;
  bool like = false;

  for (int i = 0; i < left.count; i++)
    if (has_word(&right, left.list[i].at, left.list[i].length)) {
      shared++;
      like |= left.list[i].length >= LONG_ENOUGH;
    }
  if (shared == left.count && shared == right.count)
    return PEOPLE_SAME_NAME;
  if (!like)
    return PEOPLE_OTHER_NAME;
  return is_part_of(&left, &right) || is_part_of(&right, &left) ? PEOPLE_LIKE_NAME
                                                                : PEOPLE_HALF_NAME;
}

bool people_same_name(const struct people *people, int a, int b)
{
  const char *one = people->list[a].name, *other = people->list[b].name;

  return a != b && one && other && people_names(one, other) == PEOPLE_SAME_NAME;
}

/* ---- rows of one id ---- */

static bool days_contradict(const struct people_day *a, const struct people_day *b)
{
  if (a->kind == PEOPLE_NOT_SAID || b->kind == PEOPLE_NOT_SAID)
    return false;
  return a->kind != b->kind || (a->kind == PEOPLE_ON_DAY && a->day != b->day);
}

/* What contradicts between two rows, in words; NULL: nothing. */
static const char *contradiction(struct people_build *b, const struct people_row *x,
                                 const struct people_row *y)
{
  const struct people_person *p = &x->person, *q = &y->person;

  if (p->name && q->name && people_names(p->name, q->name) == PEOPLE_OTHER_NAME)
    return "the names are of two persons";
  if (p->name && q->name && people_names(p->name, q->name) == PEOPLE_HALF_NAME)
    return "the names share a word and may be of two persons";
  if (p->status != q->status)
    return "the status differs";
  if (p->group && q->group && strcasecmp(p->group, q->group) != 0)
    return "the group differs";
  if (days_contradict(&p->last_use, &q->last_use))
    return "the last use differs";
  for (int i = 0; i < b->roster->endorsement_count; i++)
    if (days_contradict(&p->granted[i], &q->granted[i]))
      return arena_printf(b->arena, "the day of %s differs", b->roster->endorsements[i].part.id);
  return NULL;
}

/* Where nothing contradicts, what one row says and the other leaves out. */
static struct people_day either(struct people_day a, struct people_day b)
{
  return a.kind == PEOPLE_NOT_SAID ? b : a;
}

/* The stricter: the earlier day; not known where one of them does not say. */
static struct people_day stricter(struct people_day a, struct people_day b)
{
  if (a.kind == PEOPLE_ON_DAY && b.kind == PEOPLE_ON_DAY)
    return a.day <= b.day ? a : b;
  if (a.kind == PEOPLE_NOT_SAID && b.kind == PEOPLE_NOT_SAID)
    return a;
  return (struct people_day){.kind = PEOPLE_UNCLEAR,
                             .why = "two rows contradict each other",
                             .where = a.where ? a.where : b.where};
}

static void take_in(struct people_build *b, struct people_person *into, struct people_day *granted,
                    const struct people_row *row, const char *against)
{
  struct people_day (*both)(struct people_day, struct people_day) = against ? stricter : either;

  into->last_use = both(into->last_use, row->person.last_use);
  for (int i = 0; i < b->roster->endorsement_count; i++)
    granted[i] = both(granted[i], row->person.granted[i]);
  if (row->person.status > into->status) {
    into->status = row->person.status;
    into->status_why = row->person.status_why;
  }
  if (!into->name)
    into->name = row->person.name;
  if (!into->group)
    into->group = row->person.group;
  into->row_count++;
}

static void say_twice(struct people_build *b, const struct people_row *first,
                      const struct people_row *row, const char *against)
{
  const struct people_person *p = &first->person, *q = &row->person;

  if (against)
    people_remark(b, row, "%.32s stands in %s too, and %s: the stricter counts; keep one row",
                  q->id, p->where, against);
  else if (p->name && q->name && people_names(p->name, q->name) == PEOPLE_LIKE_NAME)
    people_remark(b, row,
                  "%.32s stands in %s too, under a name that was changed or shortened; made one "
                  "person: keep one row",
                  q->id, p->where);
  else
    people_remark(b, row, "%.32s stands in %s too; nothing contradicts, made one: keep one row",
                  q->id, p->where);
}

/* What contradicts between any two rows; NULL: nothing. */
static const char *any_contradiction(struct people_build *b, const struct people_row *first)
{
  const char *against = NULL;

  for (const struct people_row *row = first->next; row && !against; row = row->next)
    for (const struct people_row *other = first; other != row && !against; other = other->next)
      against = contradiction(b, other, row);
  return against;
}

/* Where two of the rows contradict each other, the stricter of all counts, in whatever order they are. */
struct people_person people_merged(struct people_build *b, struct people_row *first)
{
  struct people_person out = first->person;
  const char *any = first->next ? any_contradiction(b, first) : NULL;

  for (const struct people_row *row = first->next; row; row = row->next) {
    const char *against = NULL;

    for (const struct people_row *other = first; other != row && !against; other = other->next)
      against = contradiction(b, other, row);
    say_twice(b, first, row, against ? against : any);
    take_in(b, &out, first->granted, row, any);
    if (against && strcmp(against, "the names are of two persons") == 0) {
      out.status = PEOPLE_STATUS_UNKNOWN;
      out.status_why = "two persons stand under one id";
    }
  }
  return out;
}
