#include "serve/route_impl.h"

#include <string.h>

static const char json_type[] = "application/json; charset=utf-8";

/* Every page is the same document; its script reads the address. */
static const char *const pages[] = {"/", "/air"};

static const struct serve_asset *find_asset(const char *path)
{
  for (size_t i = 0; i < sizeof pages / sizeof *pages; i++)
    if (strcmp(pages[i], path) == 0)
      path = "/page.html";
  for (int i = 0; i < serve_asset_count; i++)
    if (strcmp(serve_assets[i].path, path) == 0)
      return &serve_assets[i];
  return NULL;
}

int route_check(const char *method, const char *path)
{
  if (!ask_knows(path) && !find_asset(path))
    return 404;
  return strcmp(method, "GET") == 0 || strcmp(method, "HEAD") == 0 ? 0 : 405;
}

void route_refuse(struct route_reply *reply, int status, const char *why)
{
  *reply = (struct route_reply){.status = status, .type = json_type, .body = reply->body};
  ask_refuse(&reply->body, status, why);
}

/* A page's query is for its script: nothing here reads it. */
void route_answer(struct ask_worker *worker, const char *path, const char *search, size_t size,
                  struct route_reply *reply)
{
  const struct serve_asset *asset = ask_knows(path) ? NULL : find_asset(path);

  *reply = (struct route_reply){
      .status = 200, .type = asset ? asset->type : json_type, .asset = asset, .body = reply->body};
  if (!asset)
    reply->status = ask_answer(worker, path, search, size, &reply->body);
}
