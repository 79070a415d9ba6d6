/*
 * The `messages` of a feeds file: what is taken can be sent, to nobody but those named.  The input stands
 * behind a fixed beginning of the file.
 */
#include "facility/feeds.h"
#include "post/post_impl.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

enum { ROOM = 1 << 20 };

static const char suite_text[] = "inward: 1 suite\n"
                                 "rooms: {Wet: {}}\n"
                                 "mains: {Acid: {capacity: {value: 3000 m3/h}}}\n"
                                 "stations: {A3: {kind: fume hood, room: Wet, main: Acid, flow: "
                                 "{constant: 900 m3/h}}}\n";
static const char begins[] = "inward: 1 feeds\n"
                             "sources: {us: {hand: {}}}\n"
                             "points: {p: {of: A3, what: presence, from: us}}\n"
                             "messages:\n";

static void must(bool so)
{
  if (!so)
    abort();
}

static const struct facility *facility(void)
{
  static struct facility *made;
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct complaints complaints;
  struct arena arena;

  if (made)
    return made;
  arena_init(&arena, 1 << 20);
  complaints_init(&complaints, &arena);
  made = facility_read(&suite, NULL, 0, &complaints);
  must(made != NULL);
  arena_release(&arena);
  return made;
}

/* Nothing of an address can end its line or name a second one. */
static void must_be_address(const char *address)
{
  for (const char *c = address; *c; c++)
    must((unsigned char)*c > ' ' && (unsigned char)*c < 0x7f && !strchr("<>,;\"", *c));
  must(strchr(address, '@') && strchr(address, '@') == strrchr(address, '@'));
}

static int lines_with(const char *text, const char *begin)
{
  int count = 0;

  for (const char *at = text; at; at = (at = strstr(at, "\r\n")) ? at + 2 : NULL)
    count += strncmp(at, begin, strlen(begin)) == 0;
  return count;
}

static void check_mail(const struct feeds_message *m)
{
  const struct post_settings settings = {.suite = "Quillmere", .label = "DEMO"};
  const struct post_letter letter = {.what = "alarm", .text = "short of air", .t_ms = 1};
  struct buf out;

  must(m->host && m->port >= 1 && m->port <= 65535 && m->to_count > 0);
  must((m->user != NULL) == (m->secret != NULL) && !(m->tls == FEEDS_TLS_NONE && m->secret));
  must_be_address(m->from);
  for (int i = 0; i < m->to_count; i++)
    must_be_address(m->to[i]);
  buf_init(&out, ROOM);
  post_mail(&settings, m, &letter, 1700000000000, &out);
  must(lines_with(out.text, "From: ") == 1 && lines_with(out.text, "To: ") == 1 &&
       lines_with(out.text, "Bcc") == 0 && lines_with(out.text, " <") == m->to_count - 1);
  buf_release(&out);
}

static void check_hook(const struct feeds_message *m)
{
  must(strncmp(m->url, "https://", 8) == 0 || strncmp(m->url, "http://127.0.0.1", 16) == 0 ||
       strncmp(m->url, "http://localhost", 16) == 0 || strncmp(m->url, "http://[::1]", 12) == 0);
  must(!strpbrk(m->url, " @\t\r\n"));
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
  size_t head = sizeof begins - 1;
  char *bytes = malloc(head + size + 1);
  struct complaints complaints;
  struct arena arena;

  must(bytes != NULL);
  memcpy(bytes, begins, head);
  memcpy(bytes + head, data, size);
  bytes[head + size] = '\0';
  arena_init(&arena, 64 << 20);
  complaints_init(&complaints, &arena);

  const struct facility_text text = {"feeds.yaml", bytes, head + size};
  struct feeds *feeds = feeds_read(facility(), &text, &complaints);

  must(feeds ? complaints.count == 0 : complaints.count > 0);
  for (int i = 0; feeds && i < feeds->message_count; i++) {
    const struct feeds_message *m = &feeds->messages[i];

    must(m->part.id[0] && m->most_per_h >= 1 && (m->alarms != FEEDS_NOBODY || m->errands));
    if (m->url)
      check_hook(m);
    else
      check_mail(m);
  }
  feeds_free(feeds);
  arena_release(&arena);
  free(bytes);
  return 0;
}
