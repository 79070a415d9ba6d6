#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* Runs a fuzz target over saved inputs without a fuzzing engine, so the corpus
 * is an ordinary regression test for every compiler. */
int main(int argc, char **argv)
{
  for (int i = 1; i < argc; i++) {
    static uint8_t bytes[1 << 20];
    FILE *f = fopen(argv[i], "rb");

    if (!f) {
      perror(argv[i]);
      return 1;
    }
    size_t n = fread(bytes, 1, sizeof bytes, f);
    fclose(f);
    LLVMFuzzerTestOneInput(bytes, n);
  }
  printf("%d passed, 0 failed\n", argc - 1);
  return 0;
}
