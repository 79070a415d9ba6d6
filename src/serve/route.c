#include "serve/route_impl.h"

#include <stdio.h>
#include <string.h>

static const char json_type[] = "application/json; charset=utf-8";

/* A page's address and its document; the document's script reads the address. */
static const struct {
  const char *path, *document;
} pages[] = {
    {"/", "/page.html"},           {"/air", "/page.html"},          {"/wall", "/wall.html"},
    {"/station", "/station.html"}, {"/stations", "/stations.html"}, {"/record", "/record.html"},
    {"/tell", "/tell.html"},       {"/bath", "/bath.html"},         {"/baths", "/baths.html"},
    {"/day", "/day.html"},         {"/may", "/may.html"},           {"/round", "/round.html"},
    {"/run", "/run.html"},         {"/together", "/together.html"}, {"/match", "/match.html"},
};

static const char station_folder[] = "/station/";

/* The id in "/station/S3"; NULL when this is no such address. */
static const char *station_id(const char *path)
{
  static const char others[] = "0123456789_-";
  static const char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz";
  size_t folder = sizeof station_folder - 1;
  const char *id = path + folder;

  if (strncmp(path, station_folder, folder) != 0 || strspn(id, letters) == 0)
    return NULL;
  for (const char *c = id; *c; c++)
    if (!strchr(letters, *c) && !strchr(others, *c))
      return NULL;
  return strlen(id) <= 32 ? id : NULL;
}

static const struct serve_asset *find_asset(const char *path)
{
  if (station_id(path))
    path = "/station.html";
  for (size_t i = 0; i < sizeof pages / sizeof *pages; i++)
    if (strcmp(pages[i].path, path) == 0)
      path = pages[i].document;
  for (int i = 0; i < serve_asset_count; i++)
    if (strcmp(serve_assets[i].path, path) == 0)
      return &serve_assets[i];
  return NULL;
}

const char *route_asset_path(const char *begins, const char *ends)
{
  for (int i = 0; i < serve_asset_count; i++) {
    const char *path = serve_assets[i].path;
    size_t length = strlen(path), tail = strlen(ends);

    if (strncmp(path, begins, strlen(begins)) == 0 && length > tail &&
        strcmp(path + length - tail, ends) == 0)
      return path;
  }
  return "";
}

void route_links(const char *path, struct buf *out)
{
  static const char present[] = " aria-current=\"page\"";
  const struct serve_asset *links = find_asset("/pages.html");
  char link[64];
  size_t length = (size_t)snprintf(link, sizeof link, "href=\"%s\"", path), from = 0;

  if (!links || length >= sizeof link)
    return;
  for (size_t i = 0; i + length <= links->plain_bytes; i++) {
    if (memcmp(links->plain + i, link, length) != 0)
      continue;
    buf_add(out, (const char *)links->plain + from, i + length - from);
    buf_puts(out, present);
    from = i + length;
  }
  buf_add(out, (const char *)links->plain + from, links->plain_bytes - from);
}

int route_check(const char *method, const char *path)
{
  if (!ask_knows(path) && !find_asset(path))
    return 404;
  return strcmp(method, "GET") == 0 || strcmp(method, "HEAD") == 0 ? 0 : 405;
}

void route_json(struct route_reply *reply)
{
  reply->status = 200;
  reply->type = json_type;
}

void route_refuse(struct route_reply *reply, int status, const char *why)
{
  *reply = (struct route_reply){.status = status,
                                .takes_post = reply->takes_post,
                                .takes_both = reply->takes_both,
                                .type = json_type,
                                .body = reply->body};
  ask_refuse(&reply->body, status, why);
}

/* A page's query is for its script: nothing here reads it. */
void route_answer(struct ask_worker *worker, const char *path, const char *search, size_t size,
                  struct route_reply *reply)
{
  const struct serve_asset *asset = ask_knows(path) ? NULL : find_asset(path);

  *reply = (struct route_reply){
      .status = 200, .type = asset ? asset->type : json_type, .asset = asset, .body = reply->body};
  const char *station = asset ? station_id(path) : NULL;

  if (station && facility_station_find(worker->site->facility, station) < 0)
    reply->status = 404; /* the page says so too, and lists those there are */
  if (!asset)
    reply->status = ask_answer(worker, path, search, size, &reply->body);
}
