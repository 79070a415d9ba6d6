#include "cli/day_plan.h"

#include <errno.h>
#include <limits.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { MODEL_MOST_BYTES = 512 << 20 };

extern char **environ;

/* "inward-plan" in the folder that this program is in. */
static bool find_program(char *path, size_t room)
{
  static const char name[] = "inward-plan";
  ssize_t length = readlink("/proc/self/exe", path, room - sizeof name);
  char *end;

  if (length <= 0)
    return false;
  path[length] = '\0';
  end = strrchr(path, '/');
  if (!end)
    return false;
  memcpy(end + 1, name, sizeof name);
  return true;
}

static enum err_code write_model(const struct day_model *model, const char *path, struct err *err)
{
  FILE *file = fopen(path, "w");
  struct buf text;

  if (!file)
    return err_set(err, ERR_IO, "a file for the schedule: %s", strerror(errno));
  buf_init(&text, MODEL_MOST_BYTES);
  day_model_mps(model, &text);
  bool fine = !text.full && fwrite(text.text, 1, text.used, file) == text.used;

  fine = fclose(file) == 0 && fine;
  buf_release(&text);
  return fine ? ERR_OK : err_set(err, ERR_IO, "the schedule's model could not be written");
}

static void read_line(const char *line, const struct day_model *model, struct day_solution *out)
{
  char word[8] = "";

  if (strncmp(line, "@x ", 3) == 0) {
    long column = strtol(line + 3, NULL, 10);

    if (column >= 0 && column < model->column_count)
      out->chosen[column] = true;
  } else if (line[0] == '@' && line[1] == ' ') {
    const char *at = line + 2;
    char *end;

    snprintf(word, sizeof word, "%.*s", (int)strcspn(at, " "), at);
    out->found = strcmp(word, "found") == 0;
    out->cost_count = strtod(at + strcspn(at, " "), &end);
    out->bound_count = strtod(end, &end);
    out->took_s = strtod(end, NULL);
  }
}

static enum err_code run(const char *program, char **argv, const struct day_model *model,
                         struct day_solution *out, struct err *err)
{
  posix_spawn_file_actions_t actions;
  int ends[2], status = 0;
  char line[200];
  pid_t child;

  if (pipe(ends) != 0)
    return err_set(err, ERR_IO, "a pipe to inward-plan: %s", strerror(errno));
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, ends[1], STDOUT_FILENO);
  posix_spawn_file_actions_addclose(&actions, ends[0]);
  posix_spawn_file_actions_addclose(&actions, ends[1]);
  int failed = posix_spawn(&child, program, &actions, NULL, argv, environ);

  posix_spawn_file_actions_destroy(&actions);
  close(ends[1]);
  if (failed) {
    close(ends[0]);
    return err_set(err, ERR_IO, "inward-plan does not start: %s; 'make build' makes it",
                   strerror(failed));
  }
  FILE *said = fdopen(ends[0], "r");

  while (said && fgets(line, sizeof line, said))
    read_line(line, model, out);
  if (said)
    fclose(said);
  while (waitpid(child, &status, 0) < 0 && errno == EINTR)
    continue;
  if (!WIFEXITED(status) || WEXITSTATUS(status) != 0)
    return err_set(err, ERR_IO, "inward-plan ended before it had an answer (%s %d)",
                   WIFSIGNALED(status) ? "signal" : "exit",
                   WIFSIGNALED(status) ? WTERMSIG(status) : WEXITSTATUS(status));
  return ERR_OK;
}

enum err_code cli_day_solve(void *arg, const struct day_model *model, double seconds_s,
                            struct day_solution *out, struct err *err)
{
  char program[PATH_MAX], folder[] = "/tmp/inward-plan-XXXXXX", path[64], seconds[32], gap[32];
  char name[] = "inward-plan";
  char *argv[] = {name, path, seconds, gap, NULL};
  const double *gap_ratio = arg;
  bool *chosen = out->chosen;

  if (!find_program(program, sizeof program))
    return err_set(err, ERR_IO, "it cannot tell where it stands, so it cannot find inward-plan");
  if (!mkdtemp(folder))
    return err_set(err, ERR_IO, "a folder for the schedule: %s", strerror(errno));
  snprintf(path, sizeof path, "%s/day.mps", folder); /* the library reads no other name */
  snprintf(seconds, sizeof seconds, "%.1f", seconds_s);
  snprintf(gap, sizeof gap, "%g", *gap_ratio);
  for (int c = 0; c < model->column_count; c++)
    chosen[c] = false;
  *out = (struct day_solution){.chosen = chosen};
  enum err_code code = write_model(model, path, err);

  if (code == ERR_OK)
    code = run(program, argv, model, out, err);
  unlink(path);
  rmdir(folder);
  return code;
}
