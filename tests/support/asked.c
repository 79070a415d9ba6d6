#include "asked.h"

#include <stdio.h>
#include <string.h>

bool suite_from_text(struct asked *asked, const char *text)
{
  struct facility_text suite = {"suite.yaml", text, strlen(text)};
  struct complaints complaints;
  struct err err = {0};

  *asked = (struct asked){0};
  arena_init(&asked->arena, (size_t)64 << 20);
  complaints_init(&complaints, &asked->arena);
  asked->facility = facility_read(&suite, NULL, 0, &complaints);
  if (!asked->facility) {
    struct buf out;

    buf_init(&out, 1 << 16);
    complaints_print(&complaints, "suite.yaml", text, &out);
    fputs(out.text, stdout);
    buf_release(&out);
    return false;
  }
  asked->air = air_new(asked->facility, &err);
  if (!asked->air)
    printf("air_new: %s\n", err.text);
  return asked->air != NULL;
}

bool suite_ask(struct asked *asked, const char *scene, const char *const *changes)
{
  const struct scene *named = scene ? scene_find(asked->facility, scene) : NULL;
  struct err err = {0};

  if (scene && !named)
    return false;
  asked->scene = named ? scene_copy(asked->facility, named, &asked->arena)
                       : scene_parked(asked->facility, &asked->arena);
  for (int i = 0; changes && changes[i]; i++) {
    char verb[32];
    const char *space = strchr(changes[i], ' ');

    snprintf(verb, sizeof verb, "%.*s", (int)(space - changes[i]), changes[i]);
    if (scene_change(asked->facility, &asked->scene, verb, space + 1, &err) != ERR_OK) {
      printf("%s: %s\n", changes[i], err.text);
      return false;
    }
  }
  asked->answer = air_ask(asked->air, &asked->scene, &air_settings_default, &asked->arena, &err);
  if (!asked->answer)
    printf("air_ask: %s\n", err.text);
  return asked->answer != NULL;
}

void suite_release(struct asked *asked)
{
  air_free(asked->air);
  facility_free(asked->facility);
  arena_release(&asked->arena);
}
