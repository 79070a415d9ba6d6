#include "serve/sheets_impl.h"

#include "ask/ask.h"
#include "serve/body_impl.h"

#include <stdio.h>
#include <string.h>

/* What people say on the list pages: a sheet was printed, all work stopped, a station was released. */

enum { WORK_BYTES = 256 << 20, SAID_MOST = 1500 };

/* ---- printed ---- */

static int post_printed(const struct live *live, json_t *root, struct buf *out)
{
  static const char keys[] = "who|content";
  const char *who = live_text(root, "who"), *content = live_text(root, "content");
  const char *strange = live_strange_key(root, keys);
  struct lists_page *page = NULL;
  struct arena arena;
  struct err err = {0};
  struct buf detail;
  char text[120];
  int status;

  if (strange)
    return live_refuse_key(out, strange, keys);
  if (!live_is_person(who) || !content)
    return ask_refuse(out, 400, "\"who\" prints, and the \"content\" that was on the page?");
  arena_init(&arena, WORK_BYTES);
  buf_init(&detail, 4000);
  struct live_reader reader = {NULL};
  enum err_code code = live_need_record(live, &reader, &err);
  const struct lists_ask ask = {live->facility, live->given, live->wet, reader.record,
                                LISTS_RESPONDER};

  if (code == ERR_OK)
    code = lists_now(&ask, &arena, &page, &err);
  if (code != ERR_OK)
    status = ask_refuse(out, 503, err.text);
  else if (strcmp(page->content, content) != 0)
    status = ask_refuse(out, 400, "it changed meanwhile: look at the page again, then print");
  else {
    sheet_desk_number(live->sheets, page);
    lists_printed_json(page, &detail);
    snprintf(text, sizeof text, "responder sheet printed, revision %ld (%s)", page->revision,
             page->content);
    struct record_entry entry = {
        .kind = RECORD_PRINTED, .about = "", .who = who, .text = text, .detail = detail.text};

    status = live_enter(live, &entry, out);
    if (status == 200)
      sheet_desk_was_printed(live->sheets, page, who);
  }
  live_reader_release(&reader);
  buf_release(&detail);
  arena_release(&arena);
  return status;
}

/* ---- all work stopped, and began again ---- */

static int post_stop(const struct live *live, json_t *root, const char *who, struct buf *out)
{
  const char *cause = live_text(root, "cause"), *said = live_text(root, "text");
  int known = 0;
  struct buf detail, text;

  while (past_stop_cause(known) && (!cause || strcmp(past_stop_cause(known), cause) != 0))
    known++;
  if (!past_stop_cause(known))
    return ask_refuse(out, 400, "\"cause\" must be power, evacuation or gas");
  buf_init(&detail, 4000);
  buf_init(&text, 4000);
  lists_stopped_json(cause, &detail);
  buf_printf(&text, "%s%s%s", past_stop_cause_text(known), said && *said ? ": " : "",
             said ? said : "");
  struct record_entry entry = {
      .kind = RECORD_STOPPED, .about = "", .who = who, .text = text.text, .detail = detail.text};
  int status = live_enter(live, &entry, out);

  buf_release(&detail);
  buf_release(&text);
  return status;
}

/* What is released is released from the stop as the list has it now. */
static int restart_page(const struct live *live, struct live_reader *reader, struct arena *arena,
                        struct lists_page **page_out, struct buf *out)
{
  struct err err = {0};
  enum err_code code = live_need_record(live, reader, &err);
  const struct past_place place = {.record = reader->record,
                                   .facility = live->facility,
                                   .feeds = live->given->feeds,
                                   .zone = live->given->zone};

  if (code == ERR_OK)
    code = lists_restart(&place, keeper_now_ms(live->given->keeper), arena, page_out, &err);
  return code == ERR_OK ? 200 : ask_refuse(out, err_exit_status(code) == 2 ? 400 : 503, err.text);
}

static int enter_reentry(const struct live *live, const char *removed, const char *measured,
                         const char *who, struct buf *out)
{
  struct buf detail;

  buf_init(&detail, RECORD_TEXT_MOST_BYTES);
  lists_reentry_json(removed, measured, &detail);
  struct record_entry entry = {.kind = RECORD_RELEASED,
                               .about = "",
                               .who = who,
                               .text = "released to go in",
                               .detail = detail.text};
  int status = live_enter(live, &entry, out);

  buf_release(&detail);
  return status;
}

static int post_reentry(const struct live *live, json_t *root, const char *who,
                        const struct lists_page *page, struct buf *out)
{
  const char *removed = live_text(root, "removed"), *measured = live_text(root, "measured");
  const char *refusal = lists_reentry_refusal(page);

  if (!live_is_filled(removed, SAID_MOST) || !live_is_filled(measured, SAID_MOST))
    return ask_refuse(out, 400,
                      "how was the source \"removed\", and what was \"measured\", where, "
                      "with what? Both are needed");
  if (!past_says_yes(removed) || !past_says_yes(measured))
    return ask_refuse(out, 400,
                      "nobody goes in before both are done: \"removed\" and \"measured\" must each "
                      "begin with yes, then how: \"yes, bottle shut\"");
  return refusal ? ask_refuse(out, 400, refusal) : enter_reentry(live, removed, measured, who, out);
}

/* The flow as the list has it belongs to what is signed. */
static int post_release(const struct live *live, json_t *root, const char *who,
                        const struct lists_page *page, struct buf *out)
{
  const char *about = live_text(root, "about"), *said = live_text(root, "text");
  const struct lists_row *row = lists_station_row(page, about ? about : "");
  const char *refusal = lists_release_refusal(page, row);
  bool has_said = live_is_filled(said, SAID_MOST);
  struct buf text, detail;

  if (refusal)
    return ask_refuse(out, 400, refusal);
  if (strcmp(row->state, "flow_seen") != 0 && !has_said)
    return ask_refuse(out, 400,
                      "no flow was measured there since the stop: say what was seen at "
                      "the station");
  buf_init(&text, 4000);
  buf_init(&detail, 400);
  buf_printf(&text, "released after the stop; flow: %s%s%s", row->cells[2], has_said ? "; " : "",
             has_said ? said : "");
  lists_restarted_json(&detail);
  struct record_entry entry = {.kind = RECORD_RELEASED,
                               .about = about,
                               .who = who,
                               .text = text.text,
                               .detail = detail.text};
  int status = live_enter(live, &entry, out);

  buf_release(&text);
  buf_release(&detail);
  return status;
}

static int post_released(const struct live *live, json_t *root, const char *who, bool reentry,
                         struct buf *out)
{
  struct live_reader reader = {NULL};
  struct lists_page *page = NULL;
  struct arena arena;

  arena_init(&arena, WORK_BYTES);
  int status = restart_page(live, &reader, &arena, &page, out);

  if (status == 200)
    status = reentry ? post_reentry(live, root, who, page, out)
                     : post_release(live, root, who, page, out);
  arena_release(&arena);
  live_reader_release(&reader);
  return status;
}

static int post_stopped(const struct live *live, json_t *root, struct buf *out)
{
  static const char keys[] = "act|cause|about|who|text|removed|measured";
  const char *act = live_text(root, "act"), *who = live_text(root, "who");
  const char *strange = live_strange_key(root, keys);

  if (strange)
    return live_refuse_key(out, strange, keys);
  if (!live_is_person(who))
    return ask_refuse(out, 400, "\"who\" says so?");
  if (live_text(root, "text") && strlen(live_text(root, "text")) > SAID_MOST)
    return ask_refuse(out, 400, "\"text\" has at most 1500 bytes");
  if (act && strcmp(act, "stop") == 0)
    return post_stop(live, root, who, out);
  if (act && strcmp(act, "reentry") == 0)
    return post_released(live, root, who, true, out);
  if (act && strcmp(act, "release") == 0)
    return post_released(live, root, who, false, out);
  return ask_refuse(out, 400, "\"act\" must be stop, reentry or release");
}

int lists_post(const struct live *live, const struct live_post *post, struct buf *out)
{
  int status;
  json_t *root = live_read_object(post, out, &status);

  if (!root)
    return status;
  status = live_check_texts(root, out);
  if (status == 200)
    status = strcmp(post->path, "/api/printed") == 0 ? post_printed(live, root, out)
                                                     : post_stopped(live, root, out);
  json_decref(root);
  return status;
}
