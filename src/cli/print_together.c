/* inward print together and failure: a wall sheet, and a card for each part that can be lost. */
#include "cli/print_impl.h"

#include <string.h>

static enum err_code find_lost(const struct cli_together_wanted *wanted,
                               const struct together_answer *answer,
                               const struct together_lost **out, struct err *err)
{
  struct buf words;

  *out = NULL;
  if (!wanted->part || strcmp(wanted->part, "all") == 0)
    return answer->lost_count > 0
               ? ERR_OK
               : err_set(err, ERR_INPUT,
                         "no fan, make-up unit or door is in the file: nothing can be lost");
  *out = together_find_lost(answer, wanted->part);
  if (*out)
    return ERR_OK;
  buf_init(&words, 1 << 12);
  for (int i = 0; i < answer->lost_count; i++)
    buf_printf(&words, "%s%s", i ? ", " : "", answer->lost[i].id);
  err_set(err, ERR_INPUT, "no '%.40s' can be lost here; all, or one of %.300s", wanted->part,
          words.used ? words.text : "nothing");
  buf_release(&words);
  return err->code;
}

enum err_code cli_print_together(const struct cli_together_wanted *wanted,
                                 const struct papers_request *papers, struct buf *bytes,
                                 struct err *err)
{
  struct arena *arena = papers->report->arena;
  const struct facility *f = papers->facility;
  const struct scene *named = NULL;
  struct together_request request = {.lost = true};
  struct papers_together sheet = {.expires = wanted->expires};
  struct scene scene;
  enum err_code code = wanted->scene ? scene_named(f, wanted->scene, &named, err) : ERR_OK;

  if (code != ERR_OK)
    return code;
  scene = named ? scene_copy(f, named, arena) : scene_parked(f, arena);
  request.scene = &scene;
  sheet.answer = together_ask(f, &request, arena, err);
  if (!sheet.answer)
    return err->code;
  if (!wanted->failure)
    return papers_together(papers, &sheet, bytes, err);
  if (!sheet.answer->sets.known)
    return err_set(err, ERR_INPUT, "no failure cards: %.400s", sheet.answer->sets.why);
  code = find_lost(wanted, sheet.answer, &sheet.lost, err);
  return code == ERR_OK ? papers_failure(papers, &sheet, bytes, err) : code;
}
