#include "facility/feeds_impl.h"

#include <string.h>

/* Messages: what is sent out, to whom, and how. */

static const char *text_of(struct feeds_build *b, const struct record *r, enum schema_key_id key)
{
  const struct value *value = record_given(r, key);

  return value ? build_text(&b->build, value->text) : NULL;
}

static int number_of(const struct record *r, enum schema_key_id key)
{
  return record_value(r, key)->number;
}

static bool begins(const char *text, const char *with)
{
  return strncmp(text, with, strlen(with)) == 0;
}

/* ---- mail ---- */

/* One address and nothing that could begin another header. */
static bool is_address(const char *text)
{
  const char *at = strchr(text, '@');

  for (const char *c = text; *c; c++)
    if ((unsigned char)*c <= ' ' || (unsigned char)*c >= 0x7f || strchr("<>,;\"", *c))
      return false;
  return at && at > text && at[1] && !strchr(at + 1, '@');
}

static void check_address(struct feeds_build *b, const struct record *r, const struct value *value,
                          const char *text)
{
  if (!is_address(text))
    reader_complain(b->reader, r->who, value->tree->place, value->tree->width,
                    "'%s' is no mail address; write name@example.org, without a name before it",
                    tree_shown(b->reader->work, text));
}

static void check_mail(struct feeds_build *b, const struct record *r, const struct feeds_message *m)
{
  const struct value *from = record_given(r, KEY_feeds_mail_from);
  const struct value *to = record_value(r, KEY_feeds_mail_to);

  feeds_check_secret(b, r, KEY_feeds_mail_user);
  feeds_check_secret(b, r, KEY_feeds_mail_secret);
  if (from)
    check_address(b, r, from, from->text);
  for (int i = 0; i < m->to_count; i++)
    check_address(b, r, to, m->to[i]);
  if ((m->user != NULL) != (m->secret != NULL))
    reader_complain(b->reader, r->who, r->place, r->width, "'user' and 'secret' belong together");
  if (m->tls == FEEDS_TLS_NONE && m->secret)
    reader_complain(
        b->reader, r->who, r->place, r->width,
        "a password over 'tls: none' can be read by everybody on the way; use tls, or no "
        "'user' and 'secret'");
}

static void build_mail(struct feeds_build *b, const struct record *r, struct feeds_message *m)
{
  m->host = text_of(b, r, KEY_feeds_mail_host);
  m->port = number_of(r, KEY_feeds_mail_port);
  m->from = text_of(b, r, KEY_feeds_mail_from);
  m->to_count = record_value(r, KEY_feeds_mail_to)->count;
  m->to = build_texts(&b->build, record_value(r, KEY_feeds_mail_to));
  m->user = text_of(b, r, KEY_feeds_mail_user);
  m->secret = text_of(b, r, KEY_feeds_mail_secret);
  m->ca = text_of(b, r, KEY_feeds_mail_ca);
  m->tls = (enum feeds_tls)number_of(r, KEY_feeds_mail_tls);
  check_mail(b, r, m);
}

/* ---- webhook ---- */

static bool is_this_machine(const char *url)
{
  static const char *const heads[] = {"http://127.0.0.1", "http://localhost", "http://[::1]"};

  for (size_t i = 0; i < sizeof heads / sizeof *heads; i++)
    if (begins(url, heads[i]) && strchr(":/", url[strlen(heads[i])]))
      return true; /* or the end: strchr finds the NUL */
  return false;
}

static void build_hook(struct feeds_build *b, const struct record *r, struct feeds_message *m)
{
  const struct value *url = record_given(r, KEY_feeds_hook_url);

  feeds_check_secret(b, r, KEY_feeds_hook_token);
  m->url = text_of(b, r, KEY_feeds_hook_url);
  m->ca = text_of(b, r, KEY_feeds_hook_ca);
  m->token = text_of(b, r, KEY_feeds_hook_token);
  if (url && ((!begins(url->text, "https://") && !is_this_machine(url->text)) ||
              strpbrk(url->text, " @\t\r\n")))
    reader_complain(
        b->reader, r->who, url->tree->place, url->tree->width,
        "'url' begins with https:// and holds no name or password; http:// only to this "
        "machine (127.0.0.1)");
}

/* ---- one ---- */

static struct feeds_message one_message(struct feeds_build *b, const struct record *r)
{
  struct feeds_message m = {
      .part = build_part(&b->build, r),
      .alarms = (enum feeds_priority)number_of(r, KEY_feeds_message_alarms),
      .errands = number_of(r, KEY_feeds_message_errands) != 0,
      .reminders = number_of(r, KEY_feeds_message_reminders) != 0,
      .most_per_h = number_of(r, KEY_feeds_message_most),
  };
  const struct record *mail = record_inner(r, KEY_feeds_message_mail);
  const struct record *hook = record_inner(r, KEY_feeds_message_webhook);

  if (mail && !mail->unread)
    build_mail(b, mail, &m);
  else if (hook && !hook->unread)
    build_hook(b, hook, &m);
  if (m.alarms == FEEDS_NOBODY && !m.errands && !m.reminders)
    reader_complain(
        b->reader, r->who, r->place, r->width,
        "nothing would be sent: say which 'alarms' (urgent, high, low), 'errands: yes' or 'reminders: yes'");
  return m;
}

void feeds_build_messages(struct feeds_build *b, const struct value *from)
{
  struct feeds_message *list =
      ARENA_ARRAY(b->feeds->arena, struct feeds_message, (size_t)from->count + 1);

  BUG_IF(!list);
  for (int i = 0; i < from->count; i++)
    list[i] = one_message(b, from->records[i]);
  b->feeds->messages = list;
  b->feeds->message_count = from->count;
}
