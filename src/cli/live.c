/*
 * inward-live: the verbs that listen and connect.  People type `inward VERB`; that program becomes
 * this one (run_beside in main.c), so both speak as `inward`.
 */
#include "cli/cli.h"

#include <stdio.h>
#include <string.h>

static const struct cli_verb verbs[] = {
    {"baths", "baths of the day", cli_baths, NULL},
    {"day", "will the air last today", cli_the_day, NULL},
    {"glass", "glass marks, and glass that was seen", cli_glass, NULL},
    {"past", "the record", cli_past, NULL},
    {"ready", "may I start here now", cli_ready, NULL},
    {"round", "what was looked at on rounds", cli_round, NULL},
    {"run", "runs with nobody there", cli_run, NULL},
    {"serve", "the board", cli_serve, NULL},
    {"stock", "what stands in cabinets and out of them", cli_stock, NULL},
    {"take", "a table into the record", cli_take, NULL},
    {"together", "who may work together", cli_together, NULL},
    {"waste", "waste containers", cli_waste, NULL},
    {"watch", "what turns, as it turns", cli_watch, NULL},
    {NULL, NULL, NULL, NULL},
};

int main(int argc, char **argv)
{
  const char *word = argc > 1 ? argv[1] : "";

  for (const struct cli_verb *verb = verbs; verb->name; verb++)
    if (strcmp(word, verb->name) == 0)
      return cli_written(verb->run(argc - 2, argv + 2));
  fprintf(stderr, "inward-live: no verb '%.40s'; start it as 'inward VERB'\n", word);
  return 2;
}
