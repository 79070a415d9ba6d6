#include "post/post_impl.h"

#include <curl/curl.h>
#include <stdio.h>
#include <string.h>

/* One try, by libcurl. */

enum { REPLY_MOST = 64 << 10, CONNECT_MOST_S = 10 };

struct talk {
  const struct post_way *way;
  const char *body;
  size_t size, at;
  size_t replied;
};

static size_t give(char *buffer, size_t size, size_t count, void *arg)
{
  struct talk *t = arg;
  size_t part = size * count < t->size - t->at ? size * count : t->size - t->at;

  memcpy(buffer, t->body + t->at, part);
  t->at += part;
  return part;
}

/* What it says is thrown away; a flood ends the talk. */
static size_t hear(const char *bytes, size_t size, size_t count, void *arg)
{
  struct talk *t = arg;

  (void)bytes;
  t->replied += size * count;
  return t->replied <= REPLY_MOST ? size * count : 0;
}

static int look(void *arg, curl_off_t a, curl_off_t b, curl_off_t c, curl_off_t d)
{
  const struct talk *t = arg;

  (void)a, (void)b, (void)c, (void)d;
  return atomic_load(t->way->stop);
}

/* Copied by the library. */
static void set_authority(CURL *curl, const struct post_way *way)
{
  char path[4096];

  if (!way->to->ca)
    return;
  snprintf(path, sizeof path, "%s%s%s", way->to->ca[0] == '/' ? "" : way->folder,
           way->to->ca[0] == '/' ? "" : "/", way->to->ca);
  curl_easy_setopt(curl, CURLOPT_CAINFO, path);
}

static void set_common(CURL *curl, struct talk *t, char *error)
{
  curl_easy_setopt(curl, CURLOPT_ERRORBUFFER, error);
  curl_easy_setopt(curl, CURLOPT_NOSIGNAL, 1L);
  curl_easy_setopt(curl, CURLOPT_CONNECTTIMEOUT, (long)CONNECT_MOST_S);
  curl_easy_setopt(curl, CURLOPT_TIMEOUT_MS, (long)(t->way->most_s * 1000));
  curl_easy_setopt(curl, CURLOPT_FOLLOWLOCATION, 0L);
  curl_easy_setopt(curl, CURLOPT_SSL_VERIFYPEER, 1L);
  curl_easy_setopt(curl, CURLOPT_SSL_VERIFYHOST, 2L);
  set_authority(curl, t->way);
  curl_easy_setopt(curl, CURLOPT_NETRC, (long)CURL_NETRC_IGNORED);
  curl_easy_setopt(curl, CURLOPT_WRITEFUNCTION, hear);
  curl_easy_setopt(curl, CURLOPT_WRITEDATA, t);
  curl_easy_setopt(curl, CURLOPT_HEADERFUNCTION, hear);
  curl_easy_setopt(curl, CURLOPT_HEADERDATA, t);
  curl_easy_setopt(curl, CURLOPT_NOPROGRESS, 0L);
  curl_easy_setopt(curl, CURLOPT_XFERINFOFUNCTION, look);
  curl_easy_setopt(curl, CURLOPT_XFERINFODATA, t);
}

static struct curl_slist *set_mail(CURL *curl, struct talk *t)
{
  const struct feeds_message *to = t->way->to;
  struct curl_slist *list = NULL;
  char url[600], from[300];

  snprintf(url, sizeof url, "%s://%s:%d", to->tls == FEEDS_TLS_FROM_THE_START ? "smtps" : "smtp",
           to->host, to->port);
  snprintf(from, sizeof from, "<%s>", to->from);
  curl_easy_setopt(curl, CURLOPT_PROTOCOLS_STR, "smtp,smtps");
  curl_easy_setopt(curl, CURLOPT_URL, url);
  if (to->tls == FEEDS_TLS_STARTTLS)
    curl_easy_setopt(curl, CURLOPT_USE_SSL, (long)CURLUSESSL_ALL);
  if (t->way->user && t->way->secret) {
    curl_easy_setopt(curl, CURLOPT_USERNAME, t->way->user);
    curl_easy_setopt(curl, CURLOPT_PASSWORD, t->way->secret);
  }
  curl_easy_setopt(curl, CURLOPT_MAIL_FROM, from);
  for (int i = 0; i < to->to_count; i++)
    list = curl_slist_append(list, to->to[i]);
  curl_easy_setopt(curl, CURLOPT_MAIL_RCPT, list);
  curl_easy_setopt(curl, CURLOPT_UPLOAD, 1L);
  curl_easy_setopt(curl, CURLOPT_READFUNCTION, give);
  curl_easy_setopt(curl, CURLOPT_READDATA, t);
  curl_easy_setopt(curl, CURLOPT_INFILESIZE_LARGE, (curl_off_t)t->size);
  return list;
}

static struct curl_slist *set_hook(CURL *curl, struct talk *t)
{
  struct curl_slist *list = curl_slist_append(NULL, "Content-Type: application/json");
  char word[1100];

  if (t->way->token) {
    snprintf(word, sizeof word, "Authorization: Bearer %s", t->way->token);
    list = curl_slist_append(list, word);
  }
  list = curl_slist_append(list, "Expect:"); /* so small a body need not be announced */
  curl_easy_setopt(curl, CURLOPT_PROTOCOLS_STR, "http,https");
  curl_easy_setopt(curl, CURLOPT_URL, t->way->to->url);
  curl_easy_setopt(curl, CURLOPT_HTTPHEADER, list);
  curl_easy_setopt(curl, CURLOPT_POSTFIELDS, t->body);
  curl_easy_setopt(curl, CURLOPT_POSTFIELDSIZE_LARGE, (curl_off_t)t->size);
  return list;
}

static bool was_taken(CURL *curl, const struct talk *t, CURLcode code, const char *error,
                      char why[160])
{
  long status = 0;

  if (t->replied > REPLY_MOST) {
    snprintf(why, 160, "it answered with more than 64 KiB");
    return false;
  }
  if (code != CURLE_OK) {
    snprintf(why, 160, "%s", error[0] ? error : curl_easy_strerror(code));
    return false;
  }
  curl_easy_getinfo(curl, CURLINFO_RESPONSE_CODE, &status);
  if (status >= 200 && status < 300)
    return true;
  snprintf(why, 160,
           status >= 300 && status < 400 ? "it sends elsewhere (%ld), which is not followed"
                                         : "it answered %ld",
           status);
  return false;
}

bool post_send(const struct post_way *way, const char *body, size_t size, char why[160])
{
  struct talk talk = {.way = way, .body = body, .size = size};
  char error[CURL_ERROR_SIZE] = "";
  CURL *curl = curl_easy_init();
  bool taken = false;

  why[0] = '\0';
  if (!curl) {
    snprintf(why, 160, "no memory to send with");
    return false;
  }
  set_common(curl, &talk, error);
  struct curl_slist *list = way->to->url ? set_hook(curl, &talk) : set_mail(curl, &talk);

  taken = was_taken(curl, &talk, curl_easy_perform(curl), error, why);
  curl_easy_cleanup(curl);
  curl_slist_free_all(list);
  return taken;
}
