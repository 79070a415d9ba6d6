/*
 * Sends by a feeds file's messages, for check_post.py:
 *
 *     post_try FEEDS.yaml COUNT       COUNT messages of different causes to each
 *
 * Prints for each of the file's messages: id sent not_sent held why; and the longest that putting took, ms.
 */
#include "post/post.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static const char suite_text[] =
    "inward: 1 suite\nname: Post suite\nlabel: DEMO\nrooms: {Etch: {}}\n"
    "leaks: {L: {from: Etch, to: outdoors, area: 1 cm2}}\n";

static double now_s(void)
{
  struct timespec now;

  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

static struct feeds *read_feeds(const char *path, struct arena *arena,
                                struct facility **facility_out)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct complaints complaints;
  static char bytes[1 << 16];
  FILE *file = fopen(path, "rb");
  struct buf said;

  complaints_init(&complaints, arena);
  *facility_out = facility_read(&suite, NULL, 0, &complaints);
  if (!file || !*facility_out)
    return NULL;
  struct facility_text text = {path, bytes, fread(bytes, 1, sizeof bytes, file)};

  fclose(file);
  struct feeds *feeds = feeds_read(*facility_out, &text, &complaints);

  buf_init(&said, 1 << 16);
  complaints_print(&complaints, path, NULL, &said);
  fputs(said.text, stderr);
  buf_release(&said);
  return feeds;
}

static void told(void *arg, int channel, bool sent, const char *why)
{
  (void)arg;
  printf("told %d %s %s\n", channel, sent ? "sent" : "not sent", why);
  fflush(stdout);
}

static double put_all(struct post *post, const struct feeds *feeds, int count)
{
  double longest_s = 0;

  for (int i = 0; i < count; i++)
    for (int c = 0; c < feeds->message_count; c++) {
      char cause[40], text[80];
      double began_s = now_s();

      snprintf(cause, sizeof cause, "alarm fan %d", i);
      snprintf(text, sizeof text, "AF%d: 1 of the usual 2 running", i);
      post_put(post, c, &(struct post_item){cause, "alarm", "urgent", "AF", text, 1793000000000});
      post_put(post, c, &(struct post_item){cause, "alarm", "urgent", "AF", text, 1793000000000});
      longest_s = now_s() - began_s > longest_s ? now_s() - began_s : longest_s;
    }
  return longest_s;
}

static bool all_done(struct post *post, const struct feeds *feeds, int count)
{
  for (int c = 0; c < feeds->message_count; c++) {
    struct post_health h;

    post_look(post, c, &h);
    if (h.sent + h.not_sent + h.held < count)
      return false;
  }
  return true;
}

static void send_and_tell(struct post *post, const struct feeds *feeds, int count)
{
  double longest_s = put_all(post, feeds, count);

  for (int i = 0; i < 300 && !all_done(post, feeds, count); i++)
    nanosleep(&(struct timespec){.tv_nsec = 100000000}, NULL);
  for (int c = 0; c < feeds->message_count; c++) {
    struct post_health h;

    post_look(post, c, &h);
    printf("%s %ld %ld %ld %s\n", feeds->messages[c].part.id, h.sent, h.not_sent, h.held, h.why);
  }
  printf("longest %.1f ms\n", longest_s * 1e3);
  double began_s = now_s();

  post_close(post);
  printf("closed %.1f s\n", now_s() - began_s);
}

static int try_post(const struct facility *facility, const struct feeds *feeds, const char *count)
{
  struct post_settings settings = {.feeds = feeds,
                                   .folder = ".",
                                   .suite = facility->name,
                                   .label = facility->label,
                                   .told = told,
                                   .pause_s = 0.1,
                                   .most_s = 1.5};
  struct post *post = NULL;
  struct err err = {0};

  if (post_open(&settings, &post, &err) != ERR_OK) {
    fprintf(stderr, "%s\n", err.text);
    return 3;
  }
  send_and_tell(post, feeds, (int)strtol(count, NULL, 10));
  return 0;
}

int main(int argc, char **argv)
{
  struct arena arena;
  struct facility *facility;

  if (argc != 3)
    return 2;
  arena_init(&arena, SIZE_MAX);
  struct feeds *feeds = read_feeds(argv[1], &arena, &facility);
  int status = feeds ? try_post(facility, feeds, argv[2]) : 2;

  feeds_free(feeds);
  facility_free(facility);
  arena_release(&arena);
  return status;
}
