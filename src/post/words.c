#include "base/emit.h"
#include "base/when.h"
#include "post/post_impl.h"

#include <sodium.h>
#include <string.h>

/* What is sent: a mail as RFC 5322 wants it, or inward.message.1. */

static const char no_guarantee[] =
    "Sent by the board. Shared air only: a station's own alarm and the building's decide. No message is a "
    "guarantee that anybody reads it; the board shows what is so now.";

/* A word of a header (RFC 2047): nothing in it can end the line. */
static void encoded(struct buf *out, const char *text)
{
  enum { PIECE = 42 }; /* bytes, so that a word has at most 75 characters */
  char word[sodium_base64_ENCODED_LEN(PIECE, sodium_base64_VARIANT_ORIGINAL)];
  size_t size = strlen(text);

  for (size_t at = 0; at < size;) {
    size_t piece = size - at < PIECE ? size - at : PIECE;

    while (at + piece < size && ((unsigned char)text[at + piece] & 0xc0) == 0x80)
      piece--; /* whole characters */
    sodium_bin2base64(word, sizeof word, (const unsigned char *)text + at, piece,
                      sodium_base64_VARIANT_ORIGINAL);
    buf_printf(out, "%s=?UTF-8?B?%s?=", at == 0 ? "" : "\r\n ", word);
    at += piece;
  }
}

static void date(struct buf *out, int64_t t_ms)
{
  static const char *const days[] = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
  static const char *const months[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                       "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  struct when_civil c = when_civil(when_utc(), t_ms, NULL);

  buf_printf(out, "%s, %02d %s %04d %02d:%02d:%02d +0000", days[when_weekday(&c)], c.day,
             months[c.month - 1], c.year, c.hour, c.minute, c.second);
}

/* One line, whatever it was made of; lines of a mail end in CR LF. */
static void line(struct buf *out, const char *text)
{
  for (const char *c = text; *c; c++)
    buf_putc(out, (unsigned char)*c < ' ' || *c == 0x7f ? ' ' : *c);
  buf_puts(out, "\r\n");
}

static void more_words(struct buf *out, const struct post_letter *letter)
{
  buf_printf(out, "and %ld more: look at the board", letter->more);
}

void post_mail(const struct post_settings *settings, const struct feeds_message *to,
               const struct post_letter *letter, int64_t now_ms, struct buf *out)
{
  struct buf subject, digest;

  buf_init(&subject, 1000);
  buf_init(&digest, 200);
  buf_printf(&subject, "%s%s%s: %s%s%s", settings->label ? settings->label : "",
             settings->label ? " " : "", settings->suite ? settings->suite : "Inward",
             letter->priority, letter->priority[0] ? ": " : "", letter->text);
  buf_puts(out, "Date: ");
  date(out, now_ms);
  buf_printf(out, "\r\nFrom: <%s>\r\nTo: ", to->from);
  for (int i = 0; i < to->to_count; i++)
    buf_printf(out, "%s<%s>", i == 0 ? "" : ",\r\n ", to->to[i]);
  buf_printf(out, "\r\nMessage-ID: <%lld.%08x.inward%s>\r\nSubject: ", (long long)now_ms,
             (unsigned)randombytes_random(), strchr(to->from, '@'));
  encoded(out, subject.text);
  buf_puts(out,
           "\r\nAuto-Submitted: auto-generated\r\nMIME-Version: 1.0\r\n"
           "Content-Type: text/plain; charset=utf-8\r\nContent-Transfer-Encoding: 8bit\r\n\r\n");
  line(out, letter->text);
  if (letter->more > 0) {
    more_words(&digest, letter);
    line(out, digest.text);
  }
  buf_puts(out, "\r\nIt was so at ");
  when_print_utc(out, letter->t_ms);
  buf_puts(out, ".\r\n");
  line(out, no_guarantee);
  buf_release(&subject);
  buf_release(&digest);
}

void post_json(const struct post_settings *settings, const struct post_letter *letter,
               struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.message.1");
  emit_text(&json, "suite", settings->suite);
  emit_text(&json, "label", settings->label);
  when_emit(&json, "t", letter->t_ms);
  emit_text(&json, "what", letter->what);
  emit_text(&json, "priority", letter->priority[0] ? letter->priority : NULL);
  emit_text(&json, "about", letter->about);
  emit_text(&json, "text", letter->text);
  emit_int(&json, "more", letter->more);
  emit_text(&json, "line", no_guarantee);
  emit_close(&json);
  emit_end(&json);
}
