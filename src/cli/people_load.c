#include "cli/people_load.h"

#include <stdio.h>
#include <string.h>

int cli_day(const struct when_zone *zone, int64_t t_ms)
{
  struct when_civil civil = when_civil(zone, t_ms, NULL);
  char date[40];

  snprintf(date, sizeof date, "%04d-%02d-%02d", civil.year, civil.month, civil.day);
  return roster_day(date);
}

void cli_say_faults(const struct complaints *faults, const struct facility_text *text)
{
  struct buf out;

  buf_init(&out, 1 << 20);
  complaints_print(faults, text->file, text->bytes, &out);
  fputs(out.text, stderr);
  buf_release(&out);
}

static void read_tables(struct cli_people *p, const char *beside, int today_day)
{
  int count = p->roster->table_count;
  struct people_table *tables = ARENA_ARRAY(&p->arena, struct people_table, (size_t)count + 1);

  p->texts = ARENA_ARRAY(&p->arena, struct facility_text, (size_t)count + 1);
  BUG_IF(!tables || !p->texts);
  p->text_count = count;
  for (int i = 0; i < count; i++) {
    const char *path = cli_beside(beside, p->roster->tables[i].file, &p->arena);
    struct err err = {0};

    if (cli_read_file(path, CLI_FILE_MAX, &p->texts[i], &err) == ERR_OK)
      tables[i] =
          (struct people_table){.file = path, .bytes = p->texts[i].bytes, .size = p->texts[i].size};
    else
      tables[i] = (struct people_table){.file = path, .why = arena_strdup(&p->arena, err.text)};
  }
  p->people = people_read(p->roster, tables, today_day, &p->arena, &p->remarks);
}

enum err_code cli_people_load(const struct facility *facility, const char *suite, int today_day,
                              struct cli_people *out, struct err *err)
{
  struct facility_text text = {0};
  struct complaints faults;
  enum err_code code;

  *out = (struct cli_people){0};
  arena_init(&out->arena, 256 << 20);
  complaints_init(&out->remarks, &out->arena);
  complaints_init(&faults, &out->arena);
  if (!facility->people_file)
    return err_set(err, ERR_INPUT,
                   "%.120s names no people file; write files: {people: people.yaml}", suite);

  const char *path = cli_beside(suite, facility->people_file, &out->arena);

  code = cli_read_file(path, CLI_FILE_MAX, &text, err);
  if (code != ERR_OK)
    return code;
  out->roster = roster_read(facility, &text, &faults);
  if (out->roster) {
    read_tables(out, path, today_day);
  } else {
    cli_say_faults(&faults, &text);
    code = err_set(err, ERR_INPUT, "the people file has faults; 'inward check' lists them");
  }
  cli_free_file(&text);
  return code;
}

void cli_people_release(struct cli_people *people)
{
  for (int i = 0; i < people->text_count; i++)
    cli_free_file(&people->texts[i]);
  roster_free(people->roster);
  arena_release(&people->arena);
  *people = (struct cli_people){0};
}
