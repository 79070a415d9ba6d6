#include "cli/cli.h"

#include "answer/answer.h"

#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static const char papers[] = "inward-papers", live[] = "inward-live";

/* A verb without `run` lives in a program beside this one that links what is heavy: libraries for
 * paper and spreadsheets, or for what listens and connects.  A plain answer does not wait for them
 * to load. */
static const struct cli_verb verbs[] = {
    {"after", "what happens next: pressures, flows and the three clocks in time", cli_after, NULL},
    {"air", "steady air: state, headroom, which sash to lower, every pressure and flow", cli_air,
     NULL},
    {"bath", "how a bath is made: parts, order, heat, what it holds", cli_bath, NULL},
    {"baths", "baths of the day: what stands in which tank, what is due; told there", NULL, live},
    {"calc", "any single formula of the formula table", cli_calc, NULL},
    {"check", "every fault of a suite file, in one pass", cli_check, NULL},
    {"day", "will the air last today: busy quarter hours, the one booking to move", NULL, live},
    {"diff", "what differs between two suites, and what that changes in the air", cli_diff, NULL},
    {"etch", "how long must it etch, what else it takes, how long the bath lasts", cli_etch, NULL},
    {"export", "the trial page in one file, with suite and engine inside", cli_export, NULL},
    {"feeds", "what is measured where; or a first mapping for a table", cli_feeds, NULL},
    {"glass", "are the marks on glass told apart; whose is this piece, what lost its status", NULL,
     live},
    {"match", "does the model match what was measured; what is known better for it", NULL, papers},
    {"may", "may this person start this process at this station then: all reasons", NULL, papers},
    {"meet", "may these stand or be poured together here", cli_meet, NULL},
    {"new", "a first suite from a station list, and the list back", NULL, papers},
    {"past", "ask the record, add to it, verify and copy it", NULL, live},
    {"people", "who is endorsed for what, and which rows say too little", NULL, papers},
    {"print", "cards and mark sheets for the wall, as PDF", NULL, papers},
    {"ready", "may I start here now: the worst reason first, station by station", NULL, live},
    {"round", "what was looked at on rounds, what is open, overdue or not known", NULL, live},
    {"run", "what runs or cools with nobody there, until when, and its sign", NULL, live},
    {"schema", "the suite file's manual, or its JSON Schema", cli_schema, NULL},
    {"serve", "the board, on http://127.0.0.1:8470", NULL, live},
    {"stock", "how much stands in cabinets and out of them, against the house's limits", NULL,
     live},
    {"stop", "a planned stop: who is affected, what may stay open", cli_stop, NULL},
    {"take", "an e-mailed table into the record", NULL, live},
    {"together", "which stations may work together; each part lost in turn", NULL, live},
    {"vapor", "the same as vapour", cli_vapour, NULL},
    {"vapour", "what of a liquid reaches duct, room and person, and if the air stops", cli_vapour,
     NULL},
    {"walk", "the walk test: what instruments will read, predicted; compared afterwards", NULL,
     papers},
    {"waste", "waste containers: what is in them, how full, until when, what may go in", NULL,
     live},
    {"watch", "what turns, a line each as it turns; or the live answer once", NULL, live},
};

static void usage(FILE *out)
{
  fputs("Inward: the air of a suite of wet-chemistry stations, computed from one file.\n\n"
        "usage: inward VERB ...     inward VERB --help\n\n",
        out);
  for (size_t i = 0; i < sizeof verbs / sizeof verbs[0]; i++)
    fprintf(out, "  %-8s %s\n", verbs[i].name, verbs[i].what);
  fputs("\nExit: 0 answered; 1 answered no, short or not known; 2 bad input; 3 could not.\n"
        "Inward advises; people and local rules decide. Your station's own alarm decides first.\n",
        out);
}

/* Becomes `program`, in the folder this one is in; returns only when it cannot. */
static int run_beside(const char *program, char **argv)
{
  char path[PATH_MAX];
  size_t name = strlen(program) + 1;
  ssize_t length = readlink("/proc/self/exe", path, sizeof path - name);
  char *folder_end;

  if (length <= 0 || (size_t)length >= sizeof path - name) {
    fprintf(stderr, "inward: it cannot tell where it stands, so it cannot find %s beside it\n",
            program);
    return 3;
  }
  path[length] = '\0';
  folder_end = strrchr(path, '/') + 1;
  memcpy(folder_end, program, name);
  execv(path, argv);
  fprintf(stderr, "inward: '%s' needs %s, which does not start: %s; 'make build' makes it\n",
          argv[1], program, strerror(errno));
  return 3;
}

int main(int argc, char **argv)
{
  const char *word = argc > 1 ? argv[1] : "--help";

  if (strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0 || strcmp(word, "help") == 0) {
    usage(stdout);
    return argc > 1 ? 0 : 2;
  }
  if (strcmp(word, "--version") == 0) {
    printf("inward %s\n", answer_engine_version());
    return 0;
  }
  for (size_t i = 0; i < sizeof verbs / sizeof verbs[0]; i++)
    if (strcmp(word, verbs[i].name) == 0)
      return verbs[i].run ? cli_written(verbs[i].run(argc - 2, argv + 2))
                          : run_beside(verbs[i].program, argv);
  fprintf(stderr, "inward: no verb '%.40s'; 'inward --help' lists them\n", word);
  return 2;
}
