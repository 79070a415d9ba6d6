#include "cli/day_rules.h"

#include "cli/people_load.h"

#include <stdio.h>
#include <string.h>

void cli_day_rules_load(const struct facility *facility, const char *suite,
                        const struct when_zone *zone, int64_t day_ms, struct arena *arena,
                        struct cli_day_rules *out)
{
  struct err err = {0};

  *out = (struct cli_day_rules){.arena = arena, .zone = zone};
  if (!facility->people_file || !facility->processes_file)
    return;
  out->loaded = true;
  out->asked =
      cli_may_load(facility, suite, zone, cli_day(zone, day_ms), &out->may, &err) == ERR_OK;
}

void cli_day_rules_release(struct cli_day_rules *rules)
{
  if (rules->loaded)
    cli_may_release(&rules->may);
}

static bool is_in_word(char c)
{
  return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '-' ||
         c == '_' || (unsigned char)c >= 0x80;
}

/* The process that a title names by its id; NULL: none. */
static const char *process_of(const struct processes *processes, const char *title)
{
  for (int i = 0; processes && i < processes->count; i++) {
    const char *id = processes->list[i].part.id;
    size_t size = strlen(id);

    for (const char *at = strstr(title, id); at; at = strstr(at + 1, id))
      if ((at == title || !is_in_word(at[-1])) && !is_in_word(at[size]))
        return id;
  }
  return NULL;
}

static const char *put_no(const struct cli_day_rules *r, const char *process,
                          const struct may_answer *answer)
{
  const char *kinds[8];
  int count = 0;
  struct buf text;

  buf_init(&text, 600);
  buf_printf(&text, "%s: the rules are not met there then (", process);
  for (int i = 0; i < answer->reason_count && count < 8; i++) {
    const struct may_reason *reason = &answer->reasons[i];
    const char *what = reason->id ? reason->id : reason->kind;
    bool told = reason->verdict != MAY_NO;

    for (int k = 0; k < count && !told; k++)
      told = strcmp(kinds[k], what) == 0;
    if (told)
      continue;
    buf_printf(&text, "%s%s", count ? ", " : "", what);
    kinds[count++] = what;
  }
  buf_puts(&text, "); `inward may` says why");
  const char *copy = arena_strdup(r->arena, text.text);

  buf_release(&text);
  return copy;
}

const char *cli_day_may_not(void *arg, const struct day_booking *booking)
{
  const struct cli_day_rules *r = arg;
  const char *process = process_of(r->may.place.processes, booking->what);
  const struct facility *f = r->may.place.facility;
  struct when_civil from;
  struct err err = {0};
  char text[48];

  if (!process || !*booking->who)
    return NULL;
  from = when_civil(r->zone, booking->start_ms, NULL);
  snprintf(text, sizeof text, "%04d-%02d-%02d %02d:%02d", from.year, from.month, from.day,
           from.hour, from.minute);
  const struct may_request request = {.who = booking->who,
                                      .process = process,
                                      .station = f->stations[booking->station].part.id,
                                      .from = text,
                                      .lasts_s =
                                          (double)(booking->end_ms - booking->start_ms) / 1000,
                                      .now_ms = booking->start_ms};
  const struct may_answer *answer = may_answer(r->may.may, &request, r->arena, &err);

  if (!answer)
    return arena_printf(r->arena,
                        "%s: it cannot be asked whether the rules are met: nobody of that "
                        "name, or another fault; `inward may` says which",
                        process);
  return answer->verdict == MAY_NO ? put_no(r, process, answer) : NULL;
}

static const struct processes_process *process_at(const struct cli_day_rules *r,
                                                  const struct day_booking *booking)
{
  const char *id = process_of(r->may.place.processes, booking->what);
  int at = id ? processes_find(r->may.place.processes, id) : -1;

  return at < 0 ? NULL : &r->may.place.processes->list[at];
}

enum day_need cli_day_second_needs(void *arg, const struct day_booking *booking, int64_t t_ms)
{
  const struct cli_day_rules *r = arg;
  const struct processes_process *process = process_at(r, booking);
  const struct people *people = r->may.place.people;
  struct when_civil at;
  enum people_staffed staffed = PEOPLE_HOURS_UNKNOWN;

  if (!process || process->second == PROCESSES_NEVER)
    return DAY_NO_NEED;
  at = when_civil(r->zone, t_ms, NULL);
  if (people)
    staffed = people_hours(people->roster, &at, r->arena).now;
  if (staffed == PEOPLE_HOURS_UNKNOWN)
    return process->second == PROCESSES_ALWAYS ? DAY_NEED : DAY_NEED_NOT_KNOWN;
  if (staffed == PEOPLE_NOT_STAFFED)
    return DAY_NEED;
  return process->second == PROCESSES_ALWAYS ? DAY_NEED_STAFF_THERE : DAY_NO_NEED;
}

/* By whom `may` would take for one: somebody else whom the people file knows, and who is not gone. */
enum day_can cli_day_second_can(void *arg, const struct day_booking *booking,
                                const struct day_booking *other)
{
  const struct cli_day_rules *r = arg;
  const struct processes_process *process = process_at(r, booking);
  const struct people *people = r->may.place.people;
  int who = people ? people_find(people, other->who) : -1,
      first = people ? people_find(people, booking->who) : -1;
  int day = cli_day(r->zone, other->start_ms);
  bool endorsed = true;

  if (who < 0 || who == first || people->list[who].status == PEOPLE_GONE ||
      (first >= 0 && people_same_name(people, who, first)))
    return DAY_CANNOT;
  for (int i = 0; process && i < process->endorsement_count; i++) {
    int at = roster_endorsement_find(people->roster, process->endorsements[i]);

    endorsed = endorsed && at >= 0 &&
               people_endorsed(people, who, at, day, r->arena).standing == PEOPLE_VALID;
  }
  return endorsed ? DAY_CAN_ENDORSED : DAY_CAN;
}
