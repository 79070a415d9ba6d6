#include "facility/processes.h"
#include "rule/rule_impl.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool promise)
{
  if (!promise)
    abort();
}

static const struct facility *facility(void)
{
  static const char text[] =
      "inward: 1 suite\n"
      "rooms: {Wet: {}, Gown: {}}\n"
      "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n"
      "mains: {Acid: {}}\n"
      "stations: {A3: {kind: fume hood, room: Wet, main: Acid, flow: {constant: 900 m3/h}}}\n";
  static struct arena kept;
  static struct facility *made;
  struct facility_text suite = {"suite.yaml", text, sizeof text - 1};
  struct complaints complaints;

  if (made)
    return made;
  arena_init(&kept, 64 << 20);
  complaints_init(&complaints, &kept);
  made = facility_read(&suite, NULL, 0, &complaints);
  must(made != NULL);
  return made;
}

static void are_whole(const struct processes *processes)
{
  must(processes->permission_by[0]);
  for (int i = 0; i < processes->count; i++) {
    const struct processes_process *p = &processes->list[i];

    must(processes_find(processes, p->part.id) == i);
    must(p->use_count <= PROCESSES_USES_MAX && p->endorsement_count <= PROCESSES_ENDORSEMENTS_MAX);
    must(!(p->unattended_s > p->lasts_s));
    must(!p->document == !p->review);
  }
}

/* Where nothing is known, only a rule that asks nothing is met, and one that is bad never is. */
static void are_strict(const struct rule_set *set)
{
  struct rule_value none[RULE_SLOTS_MAX] = {{0}};

  for (int i = 0; i < set->count; i++) {
    must(set->list[i].said->test_count > 0);
    if (set->list[i].bad)
      must(rule_says(set, i, none) == RULE_UNKNOWN);
    (void)rule_clash(set, i, i, none);
  }
}

/* A processes file or a rules file; what is neither is refused by both. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  const struct facility *suite = facility();
  char *bytes = malloc(size + 1);
  struct complaints of_processes, of_rules;
  struct arena arena;

  must(bytes != NULL);
  if (size > 0)
    memcpy(bytes, data, size);
  bytes[size] = '\0';
  arena_init(&arena, 256 << 20);
  complaints_init(&of_processes, &arena);
  complaints_init(&of_rules, &arena);

  struct facility_text text = {"house.yaml", bytes, size};
  struct processes *processes = processes_read(suite, &text, &of_processes);
  struct rules *rules = rules_read(suite, &text, &of_rules);

  must(processes ? of_processes.count == 0 : of_processes.count > 0);
  must(rules ? of_rules.count == 0 : of_rules.count > 0);
  must(!processes || !rules);
  if (processes)
    are_whole(processes);
  if (rules)
    are_strict(rule_read(rules, NULL, &arena, &of_rules));
  rules_free(rules);
  processes_free(processes);
  arena_release(&arena);
  free(bytes);
  return 0;
}
