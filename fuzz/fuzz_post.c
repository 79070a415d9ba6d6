/*
 * What is sent, whatever the texts are made of: a mail has its own headers and no other, lines that end in
 * CR LF and are no longer than RFC 5322 section 2.1.1 allows, and a subject that decodes (RFC 2047) to
 * what was said; a webhook gets JSON that another reader reads back the same.
 *
 * Lines of the input: suite, label, what, priority, about, text.
 */
#include "base/utf8.h"
#include "post/post_impl.h"

#include <jansson.h>
#include <sodium.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

enum { PARTS = 6, ROOM = 64 << 10, LINE_MOST = 998 };

static void must(bool so)
{
  if (!so)
    abort();
}

/* ---- the mail ---- */

static const char *const headers[] = {
    "Date: ",         "From: ",         "To: ",
    "Message-ID: ",   "Subject: ",      "Auto-Submitted: ",
    "MIME-Version: ", "Content-Type: ", "Content-Transfer-Encoding: "};

/* One encoded word of the subject, decoded behind what is there. */
static void decode(const char *at, size_t length, struct buf *out)
{
  static const char head[] = "=?UTF-8?B?";
  unsigned char bytes[128];
  size_t used = 0;

  must(length <= 75 && length > sizeof head + 1 && strncmp(at, head, sizeof head - 1) == 0);
  must(strncmp(at + length - 2, "?=", 2) == 0);
  must(sodium_base642bin(bytes, sizeof bytes, at + sizeof head - 1, length - sizeof head - 1, NULL,
                         &used, NULL, sodium_base64_VARIANT_ORIGINAL) == 0);
  for (size_t i = 0; i < used; i++)
    buf_putc(out, (char)bytes[i]);
}

static void check_mail(const struct post_settings *settings, const struct post_letter *letter,
                       const char *mail)
{
  size_t header = 0;
  bool in_subject = false;
  struct buf subject, want;

  buf_init(&subject, ROOM);
  buf_init(&want, ROOM);
  for (const char *at = mail, *end; *at; at = end + 2) {
    end = strstr(at, "\r\n");
    must(end && (size_t)(end - at) <= LINE_MOST && memchr(at, '\n', (size_t)(end - at)) == NULL &&
         memchr(at, '\r', (size_t)(end - at)) == NULL);
    if (header > sizeof headers / sizeof *headers)
      continue; /* the text */
    if (end == at) {
      must(header == sizeof headers / sizeof *headers);
      header++;
    } else if (*at == ' ') {
      must(header > 0);
      if (in_subject)
        decode(at + 1, (size_t)(end - at) - 1, &subject);
    } else {
      must(header < sizeof headers / sizeof *headers);
      must(strncmp(at, headers[header], strlen(headers[header])) == 0);
      in_subject = strcmp(headers[header], "Subject: ") == 0;
      if (in_subject)
        decode(at + strlen("Subject: "), (size_t)(end - at) - strlen("Subject: "), &subject);
      header++;
    }
  }
  buf_printf(&want, "%s%s%s: %s%s%s", settings->label ? settings->label : "",
             settings->label ? " " : "", settings->suite ? settings->suite : "Inward",
             letter->priority, letter->priority[0] ? ": " : "", letter->text);
  must(header == sizeof headers / sizeof *headers + 1 &&
       strncmp(subject.text, want.text, subject.used) == 0 && subject.used > 0);
  must(subject.used == want.used || want.used >= 999); /* what is longer is cut */
  buf_release(&subject);
  buf_release(&want);
}

static void same(const json_t *root, const char *key, const char *want)
{
  const char *got = json_string_value(json_object_get(root, key));

  must(want ? got && strcmp(got, want) == 0 : json_is_null(json_object_get(root, key)));
}

static void check_json(const struct post_settings *settings, const struct post_letter *letter,
                       const struct buf *out)
{
  json_error_t error;
  json_t *root = json_loadb(out->text, out->used, JSON_REJECT_DUPLICATES, &error);

  must(root != NULL);
  same(root, "suite", settings->suite);
  same(root, "label", settings->label);
  same(root, "what", letter->what);
  same(root, "priority", letter->priority[0] ? letter->priority : NULL);
  same(root, "about", letter->about);
  same(root, "text", letter->text);
  must(json_integer_value(json_object_get(root, "more")) == letter->more);
  json_decref(root);
}

static void check(char *const parts[PARTS])
{
  static const char *const to[] = {"shift@example.org", "desk@example.org"};
  const struct feeds_message mail = {.from = "board@example.org", .to_count = 2, .to = to};
  const struct post_settings settings = {.suite = parts[0][0] ? parts[0] : NULL,
                                         .label = parts[1][0] ? parts[1] : NULL};
  struct post_letter letter = {.t_ms = 1700000000000, .more = (long)strlen(parts[5]) % 3};
  struct buf out;

  snprintf(letter.what, sizeof letter.what, "%s", parts[2]);
  snprintf(letter.priority, sizeof letter.priority, "%s", parts[3]);
  snprintf(letter.about, sizeof letter.about, "%s", parts[4]);
  snprintf(letter.text, sizeof letter.text, "%s", parts[5]);
  utf8_mend_end(letter.what); /* as post.c does when it copies */
  utf8_mend_end(letter.priority);
  utf8_mend_end(letter.about);
  utf8_mend_end(letter.text);
  buf_init(&out, ROOM);
  post_mail(&settings, &mail, &letter, 1700000000000, &out);
  check_mail(&settings, &letter, out.text);
  buf_clear(&out);
  post_json(&settings, &letter, &out);
  check_json(&settings, &letter, &out);
  buf_release(&out);
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
  char *text = malloc(size + 1), *parts[PARTS];

  must(text != NULL);
  memcpy(text, data, size);
  text[size] = '\0';
  for (int i = 0; i < PARTS; i++)
    parts[i] = text + strlen(text);

  char *at = text;

  for (int i = 0; i < PARTS; i++) {
    parts[i] = at;
    if (i == PARTS - 1) /* the text itself may hold further lines */
      break;
    at += strcspn(at, "\n");
    if (!*at) {
      for (int k = i + 1; k < PARTS; k++)
        parts[k] = at;
      break;
    }
    *at++ = '\0';
  }

  bool valid = true;

  for (int i = 0; i < PARTS; i++)
    valid = valid && !utf8_fault(parts[i]);
  if (valid) /* no text gets so far that is not */
    check(parts);
  free(text);
  return 0;
}
