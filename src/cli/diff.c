/* inward diff A B: what differs between two suites. */
#include "cli/cli.h"

#include "answer/answer.h"
#include "base/emit.h"
#include "cli/read.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward diff BEFORE AFTER [--json]\n\n"
    "What differs between two suites, by id and key, and what that changes in the air, with\n"
    "all sashes parked, all at work, and in every scene both have. Order and comments do not\n"
    "count.\n"
    "Both must be without faults.\n\n"
    "  -  only in BEFORE      +  only in AFTER      ~  changed\n\n"
    "Exit: 0 the same; 1 they differ; 2 faults; 3 a file could not be read.\n"
    "example: inward diff suite.yaml suite-next.yaml\n";

struct request {
  const char *suites[2];
  int suite_count;
  bool json, help;
};

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  for (int i = 0; i < argc; i++) {
    if (strcmp(argv[i], "--json") == 0)
      r->json = true;
    else if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0)
      r->help = true;
    else if (argv[i][0] == '-')
      return err_set(err, ERR_USAGE, "what is '%.40s'?", argv[i]);
    else if (r->suite_count < 2)
      r->suites[r->suite_count++] = argv[i];
    else
      return err_set(err, ERR_USAGE, "two suites, not more; what is '%.40s'?", argv[i]);
  }
  if (r->suite_count < 2 && !r->help)
    return err_set(err, ERR_USAGE, "which two suites? inward diff BEFORE AFTER");
  return ERR_OK;
}

static void print_text(const struct facility_difference *list, int count, struct buf *out)
{
  for (int i = 0; i < count; i++) {
    const struct facility_difference *d = &list[i];
    char mark = !d->before ? '+' : !d->after ? '-' : '~';

    buf_printf(out, "%c %s", mark, d->kind);
    if (d->id)
      buf_printf(out, " %s", d->id);
    if (d->key)
      buf_printf(out, ": %s", d->key);
    if (d->before && d->after)
      buf_printf(out, ": %s -> %s\n", d->before, d->after);
    else
      buf_printf(out, ": %s\n", d->before ? d->before : d->after);
  }
  if (count == 0)
    buf_puts(out, "no difference\n");
}

static void json_differences(struct emit *json, const struct facility_difference *list, int count)
{
  emit_array(json, "differences");
  for (int i = 0; i < count; i++) {
    emit_object(json, NULL);
    emit_text(json, "kind", list[i].kind);
    emit_text(json, "id", list[i].id);
    emit_text(json, "key", list[i].key);
    emit_text(json, "before", list[i].before);
    emit_text(json, "after", list[i].after);
    emit_close(json);
  }
  emit_close(json);
}

/* ---- the air of both sides ---- */

struct asked {
  const struct facility *facility;
  struct air *air;
};

/* The air of one scene by name; "all work" is every sash of the parked scene at work. */
static bool ask(const struct asked *a, const char *name, struct arena *arena,
                struct answer_side *out)
{
  const struct scene *named = scene_find(a->facility, name);
  struct scene *scene = ARENA_NEW(arena, struct scene);
  struct err err = {0};

  *scene = named ? scene_copy(a->facility, named, arena) : scene_parked(a->facility, arena);
  if (strcmp(name, "all work") == 0 &&
      scene_change(a->facility, scene, "all", "work", &err) != ERR_OK)
    return false;
  scene->name = name;
  *out = (struct answer_side){a->facility, scene,
                              air_ask(a->air, scene, &air_settings_sure, arena, &err)};
  return out->answer != NULL;
}

static void compare_scene(const struct asked sides[2], const char *name, struct emit *json,
                          struct buf *out)
{
  struct answer_side before, after;
  struct arena arena;

  arena_init(&arena, (size_t)256 << 20);
  if (ask(&sides[0], name, &arena, &before) && ask(&sides[1], name, &arena, &after)) {
    if (json)
      answer_compare_json(&before, &after, json);
    else
      answer_compare_text(&before, &after, out);
  }
  arena_release(&arena);
}

static void compare_air(const struct facility *before, const struct facility *after,
                        struct emit *json, struct buf *out)
{
  struct asked sides[2] = {{before, air_new(before, NULL)}, {after, air_new(after, NULL)}};

  if (sides[0].air && sides[1].air) {
    compare_scene(sides, "as parked", json, out);
    compare_scene(sides, "all work", json, out);
    for (int i = 0; i < before->scene_count; i++)
      if (scene_find(after, before->scenes[i].name))
        compare_scene(sides, before->scenes[i].name, json, out);
  }
  air_free(sides[0].air);
  air_free(sides[1].air);
}

static void print_json(const struct request *r, const struct facility_difference *list, int count,
                       const struct cli_reading *before, const struct cli_reading *after,
                       struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.diff.1");
  emit_text(&json, "before", r->suites[0]);
  emit_text(&json, "after", r->suites[1]);
  json_differences(&json, list, count);
  emit_array(&json, "air");
  if (count > 0)
    compare_air(before->facility, after->facility, &json, out);
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}

/* Both readings are without faults. */
static int print_differences(const struct request *r, const struct cli_reading *before,
                             const struct cli_reading *after)
{
  const struct facility_difference *list = NULL;
  struct arena arena;
  struct buf out;
  int count;

  arena_init(&arena, SIZE_MAX); /* bounded by the two files */
  buf_init(&out, 64 << 20);
  count = facility_diff(&before->texts[0], &after->texts[0], &arena, &list);
  if (r->json) {
    print_json(r, list, count, before, after, &out);
  } else {
    print_text(list, count, &out);
    if (count > 0) {
      buf_puts(&out, "\nin the air:\n");
      compare_air(before->facility, after->facility, NULL, &out);
    }
  }
  int status = cli_show(&out, count > 0 ? 1 : 0);

  buf_release(&out);
  arena_release(&arena);
  return status;
}

/* Reads one side; prints what is wrong with it.  0 when nothing is. */
static int read_side(struct cli_reading *reading, const char *suite)
{
  struct err err = {0};
  struct buf out;

  if (cli_reading_read(reading, suite, NULL, 0, &err) != ERR_OK) {
    fprintf(stderr, "inward diff: %s\n", err.text);
    return err_exit_status(err.code);
  }
  buf_init(&out, 1 << 20);
  cli_reading_print(reading, &out);
  fputs(out.text, stderr);
  buf_release(&out);
  return reading->facility ? 0 : 2;
}

int cli_diff(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  struct cli_reading before, after;
  int status, other;

  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward diff: %s; 'inward diff --help' explains\n", err.text);
    return 2;
  }
  if (r.help) {
    fputs(help, stdout);
    return 0;
  }
  status = read_side(&before, r.suites[0]);
  other = read_side(&after, r.suites[1]);
  status = other > status ? other : status;
  if (status == 0)
    status = print_differences(&r, &before, &after);
  cli_reading_release(&before);
  cli_reading_release(&after);
  return status;
}
