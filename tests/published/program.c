#include "program.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { COMMAND_MAX = 2 * PATH_MAX + 1024 };

static struct {
  char path[PATH_MAX]; /* absolute: a verb is run in another folder */
  const char *folder;
  char asked[COMMAND_MAX];
  json_t *answer;
} program;

void program_use(const char *path, const char *folder)
{
  program.folder = folder;
  char here[PATH_MAX / 2];

  if (path[0] == '/' || !getcwd(here, sizeof here))
    snprintf(program.path, sizeof program.path, "%s", path);
  else
    snprintf(program.path, sizeof program.path, "%s/%.*s", here, PATH_MAX / 2 - 2, path);
}

void program_end(void)
{
  json_decref(program.answer);
  program.answer = NULL;
  program.asked[0] = '\0';
}

/* Suites and arguments stand in our own tables: no quoting is needed. */
static json_t *run(const char *command)
{
  FILE *pipe = popen(command, "r");
  json_error_t error;
  json_t *answer;
  int status;

  if (!pipe) {
    printf("cannot run: %s\n", command);
    return NULL;
  }
  answer = json_loadf(pipe, 0, &error);
  status = pclose(pipe);
  if (answer && WIFEXITED(status) && WEXITSTATUS(status) <= 1)
    return answer;
  printf("exit %d, %s: %s\n", WIFEXITED(status) ? WEXITSTATUS(status) : -1,
         answer ? "an answer all the same" : error.text, command);
  json_decref(answer);
  return NULL;
}

static const json_t *ask(const char *command)
{
  if (strcmp(command, program.asked) != 0) {
    program_end();
    snprintf(program.asked, sizeof program.asked, "%s", command);
    program.answer = run(command);
  }
  return program.answer;
}

const json_t *program_air(const char *suite, const char *arguments)
{
  char command[COMMAND_MAX];

  snprintf(command, sizeof command, "'%s' air '%s/%s' %s --json", program.path, program.folder,
           suite, arguments);
  return ask(command);
}

const json_t *program_verb(const char *verb, const char *arguments)
{
  char command[COMMAND_MAX];

  snprintf(command, sizeof command, "cd '%s' && '%s' %s %s --json", program.folder, program.path,
           verb, arguments);
  return ask(command);
}
