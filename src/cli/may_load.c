#include "cli/may_load.h"

/* ---- processes and rules ---- */

static enum err_code load_processes(const struct facility *f, const char *suite,
                                    struct cli_may *out, struct err *err)
{
  struct facility_text text = {0};
  struct complaints faults;
  enum err_code code;

  if (!f->processes_file)
    return ERR_OK;
  complaints_init(&faults, &out->arena);
  code = cli_read_file(cli_beside(suite, f->processes_file, &out->arena), CLI_FILE_MAX, &text, err);
  if (code == ERR_OK) {
    out->processes = processes_read(f, &text, &faults);
    cli_say_faults(&faults, &text);
    if (!out->processes)
      code = err_set(err, ERR_INPUT, "the processes file has faults; 'inward check' lists them");
  }
  cli_free_file(&text);
  return code;
}

static enum err_code load_rules(const struct facility *f, const char *suite, struct cli_may *out,
                                struct err *err)
{
  struct facility_text text = {0};
  struct complaints faults;
  enum err_code code;

  if (!f->rules_file)
    return ERR_OK;
  complaints_init(&faults, &out->arena);
  code = cli_read_file(cli_beside(suite, f->rules_file, &out->arena), CLI_FILE_MAX, &text, err);
  if (code == ERR_OK) {
    out->rules = rules_read(f, &text, &faults);
    cli_say_faults(&faults, &text);
    if (!out->rules)
      code = err_set(err, ERR_INPUT, "the rules file has faults; 'inward check' lists them");
  }
  cli_free_file(&text);
  return code;
}

/* ---- the whole ---- */

enum err_code cli_may_load(const struct facility *facility, const char *suite,
                           const struct when_zone *zone, int today_day, struct cli_may *out,
                           struct err *err)
{
  enum err_code code = ERR_OK;

  *out = (struct cli_may){0};
  arena_init(&out->arena, 512 << 20);
  if (facility->people_file)
    code = cli_people_load(facility, suite, today_day, &out->people, err);
  if (code == ERR_OK)
    code = cli_load_chemicals(facility, suite, &out->own, err);
  if (code == ERR_OK)
    code = load_processes(facility, suite, out, err);
  if (code == ERR_OK)
    code = load_rules(facility, suite, out, err);
  if (code != ERR_OK)
    return code;

  const struct chem *chem = chem_with(chem_read(&out->arena), out->own, &out->arena);

  out->place = (struct may_place){.facility = facility,
                                  .chem = chem,
                                  .meet = meet_read(chem, &out->arena),
                                  .own = out->own,
                                  .people = out->people.people,
                                  .processes = out->processes,
                                  .rules = out->rules,
                                  .zone = zone};
  out->may = may_new(&out->place, &out->arena);
  return ERR_OK;
}

void cli_may_release(struct cli_may *may)
{
  rules_free(may->rules);
  processes_free(may->processes);
  chemicals_free(may->own);
  cli_people_release(&may->people);
  arena_release(&may->arena);
  *may = (struct cli_may){0};
}
