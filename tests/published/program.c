#include "program.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

static struct {
  const char *path, *folder;
  char asked[512];
  json_t *answer;
} program;

void program_use(const char *path, const char *folder)
{
  program.path = path;
  program.folder = folder;
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

const json_t *program_air(const char *suite, const char *arguments)
{
  char command[512];

  snprintf(command, sizeof command, "'%s' air '%s/%s' %s --json", program.path, program.folder,
           suite, arguments);
  if (strcmp(command, program.asked) != 0) {
    program_end();
    snprintf(program.asked, sizeof program.asked, "%s", command);
    program.answer = run(command);
  }
  return program.answer;
}
