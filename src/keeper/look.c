#include "keeper/keeper_impl.h"

/* Others look at what is believed of now, from the one thread that knows it. */

struct looking {
  void (*look)(void *arg, const struct watch_belief *belief);
  void *arg;
};

static enum err_code look(struct keeper *k, void *arg, struct err *err)
{
  const struct looking *looking = arg;
  struct arena arena;

  (void)err;
  arena_init(&arena, SIZE_MAX); /* bounded by the feeds file */
  struct watch_belief belief = watch_believe(k->watch, keeper_now_ms(k), &arena);

  looking->look(looking->arg, &belief);
  arena_release(&arena);
  return ERR_OK;
}

enum err_code keeper_look(struct keeper *k,
                          void (*see)(void *arg, const struct watch_belief *belief), void *arg,
                          struct err *err)
{
  struct looking looking = {see, arg};

  return keeper_do(k, look, &looking, err);
}

struct looking_live {
  void (*look)(void *arg, const struct answer_live *live);
  void *arg;
};

static enum err_code look_live(struct keeper *k, void *arg, struct err *err)
{
  const struct looking_live *looking = arg;
  struct judge_now judged = judge_now(k->judge);
  struct arena arena;

  (void)err;
  arena_init(&arena, SIZE_MAX); /* bounded by the feeds file */
  struct watch_belief belief = watch_believe(k->watch, keeper_now_ms(k), &arena);
  const struct answer_live live = {.facility = k->given.facility,
                                   .feeds = k->given.feeds,
                                   .belief = &belief,
                                   .air = judged.air,
                                   .held = judged.held,
                                   .zone = k->given.zone,
                                   .withdrawn = k->withdrawn,
                                   .since_ms = judged.since_ms};

  looking->look(looking->arg, &live);
  arena_release(&arena);
  return ERR_OK;
}

enum err_code keeper_look_live(struct keeper *k,
                               void (*see)(void *arg, const struct answer_live *live), void *arg,
                               struct err *err)
{
  struct looking_live looking = {see, arg};

  return keeper_do(k, look_live, &looking, err);
}
