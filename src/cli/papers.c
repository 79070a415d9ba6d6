/*
 * inward-papers: the verbs that read spreadsheets and draw paper.  People type `inward VERB`; that
 * program becomes this one (run_beside in main.c), so both speak as `inward`.
 */
#include "cli/cli.h"

#include <stdio.h>
#include <string.h>

static const struct cli_verb verbs[] = {
    {"match", "does the model match what was measured", cli_match, NULL},
    {"may", "may this person start this here now", cli_may, NULL},
    {"new", "a first suite from a station list", cli_new, NULL},
    {"people", "who is endorsed for what", cli_people, NULL},
    {"print", "cards and mark sheets for the wall, as PDF", cli_print, NULL},
    {"walk", "the walk test", cli_walk, NULL},
    {NULL, NULL, NULL, NULL},
};

int main(int argc, char **argv)
{
  const char *word = argc > 1 ? argv[1] : "";

  for (const struct cli_verb *verb = verbs; verb->name; verb++)
    if (strcmp(word, verb->name) == 0)
      return cli_written(verb->run(argc - 2, argv + 2));
  fprintf(stderr, "inward-papers: no verb '%.40s'; start it as 'inward VERB'\n", word);
  return 2;
}
