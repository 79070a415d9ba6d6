/* inward past --verify and --backup. */
#include "cli/past_impl.h"

#include "base/emit.h"

#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

struct head {
  int64_t number;
  char hex[65];
};

/* "1412, 9f3c41d2", as it was printed: "entry" before it and dots behind it may stay. */
static enum err_code read_head(const char *text, struct head *out, struct err *err)
{
  char *end;
  size_t digits;

  if (strncmp(text, "head:", 5) == 0)
    text += 5 + strspn(text + 5, " ");
  if (strncmp(text, "entry", 5) == 0)
    text += 5;
  errno = 0;
  out->number = strtoll(text, &end, 10);
  if (end == text || errno != 0 || out->number < 1)
    return err_set(err, ERR_INPUT, "--head: as it was printed, \"entry 1412, 9f3c41d2\"");
  end += strspn(end, ", ");
  digits = strspn(end, "0123456789abcdef");
  if (digits < 8 || digits > 64 || end[digits + strspn(end + digits, ". \n")] != '\0')
    return err_set(err, ERR_INPUT, "--head: the first 8 to 64 digits of its hash, small letters");
  memcpy(out->hex, end, digits);
  out->hex[digits] = '\0';
  return ERR_OK;
}

struct verdict {
  struct head head, known; /* known: of before, as it was given; number 0: none was */
  int chain_faults, file_faults;
  struct buf lines;
};

static void verdict_text(const struct verdict *verdict, struct buf *out)
{
  buf_puts(out, verdict->lines.text);
  if (verdict->chain_faults == 0)
    buf_printf(out, "the chain is unbroken: %" PRId64 " entries\n", verdict->head.number);
  if (verdict->chain_faults == 0 && verdict->known.number > 0)
    buf_printf(out, "entry %" PRId64 ", %s, printed before, stands in it unchanged\n",
               verdict->known.number, verdict->known.hex);
  if (verdict->file_faults == 0)
    buf_puts(out, "the file is whole; every roll-up is what its samples give\n");
  buf_printf(out, "head: entry %" PRId64 ", %s\n", verdict->head.number, verdict->head.hex);
}

static void verdict_json(const struct verdict *verdict, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.verify.1");
  emit_object(&json, "head");
  emit_int(&json, "number", verdict->head.number);
  emit_text(&json, "sha256", verdict->head.hex);
  emit_close(&json);
  if (verdict->known.number > 0)
    emit_bool(&json, "head_given_found", verdict->chain_faults == 0);
  else
    emit_null(&json, "head_given_found");
  emit_int(&json, "chain_faults", verdict->chain_faults);
  emit_int(&json, "file_faults", verdict->file_faults);
  emit_array(&json, "faults");
  for (char *line = verdict->lines.text; *line;) {
    size_t length = strcspn(line, "\n");

    line[length] = '\0'; /* the text is ours, and printed once */
    emit_text(&json, NULL, line);
    line += length + 1;
  }
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}

int past_verify(struct past *past, struct err *err)
{
  struct verdict verdict = {0};
  int status = 3;

  if (past->asked->head && read_head(past->asked->head, &verdict.known, err) != ERR_OK)
    return 2;
  buf_init(&verdict.lines, 1 << 20);
  if (record_verify(past->record, verdict.known.number, verdict.known.hex, &verdict.chain_faults,
                    &verdict.lines, err) == ERR_OK &&
      record_check(past->record, &verdict.file_faults, &verdict.lines, err) == ERR_OK &&
      record_head(past->record, &verdict.head.number, verdict.head.hex, err) == ERR_OK) {
    if (past->asked->json)
      verdict_json(&verdict, &past->out);
    else
      verdict_text(&verdict, &past->out);
    status = verdict.chain_faults + verdict.file_faults > 0 ? 1 : 0;
  }
  buf_release(&verdict.lines);
  return status;
}

int past_backup(struct past *past, struct err *err)
{
  struct record *copy = NULL;
  struct head head;
  int status = 3;

  if (record_backup(past->record, past->asked->value, err) != ERR_OK ||
      record_open(past->asked->value, RECORD_READ, &copy, err) != ERR_OK)
    return 3;
  if (record_head(copy, &head.number, head.hex, err) == ERR_OK) { /* of the copy: it was read */
    buf_printf(&past->out, "copied to %s\nhead: entry %" PRId64 ", %s\n", past->asked->value,
               head.number, head.hex);
    status = 0;
  }
  record_close(copy);
  return status;
}
