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
