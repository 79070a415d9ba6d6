#include "feed/feed_impl.h"

#include <string.h>

/*
 * The hour that comes twice.  Rows that may be of either are held until a row comes whose moment is
 * certain, and then told apart by their order: going up, the time goes back exactly once, and there
 * the second hour begins; going down, it goes forward once, and there the first begins.  Both readings
 * must also fit between their neighbours, and only one may, counting that all are of one hour.
 */

bool feed_fold_hold(struct feed_fold *fold, const struct feed_held *row, struct arena *arena)
{
  if (fold->count == fold->room) {
    int room = fold->room ? 2 * fold->room : 32;
    struct feed_held *list = ARENA_ARRAY(arena, struct feed_held, (size_t)room);

    if (!list)
      return false;
    if (fold->count > 0)
      memcpy(list, fold->list, (size_t)fold->count * sizeof *list);
    fold->list = list;
    fold->room = room;
  }
  fold->list[fold->count++] = *row;
  return true;
}

/* Rows from `turn` on are of the other hour than those before it: going up of the second. */
struct as {
  bool up;
  int turn;
};

static int64_t read_as(const struct feed_held *row, bool second)
{
  return second ? row->second_ms : row->first_ms;
}

static bool is_second(struct as as, int row)
{
  return (row >= as.turn) == as.up;
}

/* Do all rows run one way under this reading, with the certain ones around them? */
static bool fits(const struct feed_fold *fold, struct as as, const int64_t *after_ms)
{
  int64_t last = fold->before_ms;
  bool has_last = fold->has_before;

  for (int i = 0; i < fold->count; i++) {
    int64_t now = read_as(&fold->list[i], is_second(as, i));

    if (fold->list[i].surely_first && is_second(as, i))
      return false;
    if (has_last && (as.up ? now <= last : now >= last))
      return false;
    last = now;
    has_last = true;
  }
  return !after_ms || (as.up ? *after_ms > last : *after_ms < last);
}

/* Where the time turns against its direction for the first time. */
static int first_turn(const struct feed_fold *fold, bool up)
{
  for (int i = 1; i < fold->count; i++) {
    int64_t step = fold->list[i].first_ms - fold->list[i - 1].first_ms;

    if (up ? step <= 0 : step >= 0)
      return i;
  }
  return fold->count;
}

/* The readings that fit: up and down, each with its turn, or all of one hour. */
static int readings(const struct feed_fold *fold, const int64_t *after_ms, struct as *found)
{
  int count = 0;

  for (int up = 0; up < 2; up++) {
    struct as as = {up != 0, first_turn(fold, up != 0)};

    for (int one = 0; one < 2; one++) {
      if (fits(fold, as, after_ms)) {
        *found = as;
        count++;
      }
      if (as.turn < fold->count)
        break; /* two hours: there is but one way to read it in this direction */
      as.turn = 0;
    }
  }
  return count;
}

bool feed_fold_settle(struct feed_fold *fold, const int64_t *after_ms)
{
  struct as as = {true, fold->count};
  bool all_first = true;

  for (int i = 0; i < fold->count; i++)
    all_first = all_first && fold->list[i].surely_first;
  if (!all_first && readings(fold, after_ms, &as) != 1)
    return false;
  for (int i = 0; i < fold->count; i++)
    fold->list[i].t_ms = read_as(&fold->list[i], is_second(as, i));
  return true;
}
