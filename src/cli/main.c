#include "cli/cli.h"

#include "answer/answer.h"

#include <stdio.h>
#include <string.h>

static const struct verb {
  const char *name, *what;
  int (*run)(int argc, char **argv);
} verbs[] = {
    {"air", "steady air: state, headroom, which sash to lower, every pressure and flow", cli_air},
    {"calc", "any single formula of the formula table", cli_calc},
    {"check", "every fault of a suite file, in one pass", cli_check},
    {"diff", "what differs between two suites, and what that changes in the air", cli_diff},
    {"schema", "the suite file's manual, or its JSON Schema", cli_schema},
    {"serve", "the board, on http://127.0.0.1:8470", cli_serve},
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

/* An answer that did not arrive is no answer, whatever it said. */
static int written(int status)
{
  if (fflush(stdout) == 0 && !ferror(stdout))
    return status;
  fputs("inward: the answer could not be written: is the disk full, or the reader gone?\n", stderr);
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
      return written(verbs[i].run(argc - 2, argv + 2));
  fprintf(stderr, "inward: no verb '%.40s'; 'inward --help' lists them\n", word);
  return 2;
}
