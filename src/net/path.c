/* Which instructions that work on several numbers at a time this machine has. */
#include "net/net.h"

bool net_path_has(enum net_path path)
{
#if defined(__x86_64__)
  __builtin_cpu_init();
  if (path == NET_PATH_AVX2)
    return __builtin_cpu_supports("avx2");
  if (path == NET_PATH_AVX512)
    return __builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") &&
           __builtin_cpu_supports("avx512vl");
#endif
  return path == NET_PATH_BEST || path == NET_PATH_PLAIN;
}

enum net_path net_path_best(void)
{
  enum net_path path = NET_PATH_AVX512;

  while (!net_path_has(path))
    path--;
  return path;
}

const char *net_path_name(enum net_path path)
{
  static const char *const names[] = {"best", "plain", "AVX2", "AVX-512"};

  return names[path];
}
