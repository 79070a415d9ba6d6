#include "numeric/numeric.h"

void numeric_random_seed(struct numeric_random *random, uint64_t seed)
{
  for (int i = 0; i < 4; i++) {
    seed += 0x9e3779b97f4a7c15u;
    uint64_t z = seed;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    random->state[i] = z ^ (z >> 31);
  }
}

static uint64_t rotate(uint64_t x, int by)
{
  return (x << by) | (x >> (64 - by));
}

uint64_t numeric_random_bits(struct numeric_random *random)
{
  uint64_t *s = random->state;
  uint64_t result = rotate(s[1] * 5, 7) * 9, t = s[1] << 17;
  s[2] ^= s[0];
  s[3] ^= s[1];
  s[1] ^= s[2];
  s[0] ^= s[3];
  s[2] ^= t;
  s[3] = rotate(s[3], 45);
  return result;
}

double numeric_random_unit(struct numeric_random *random)
{
  return (double)(numeric_random_bits(random) >> 11) * 0x1p-53;
}

int numeric_random_below(struct numeric_random *random, int count)
{
  BUG_IF(count < 1);
  return (int)(numeric_random_bits(random) % (uint64_t)count);
}

double numeric_random_between(struct numeric_random *random, double low, double high)
{
  return low + (high - low) * numeric_random_unit(random);
}
