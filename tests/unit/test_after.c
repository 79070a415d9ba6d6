#include "after/after.h"

#include "check.h"

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  return check_end(); /* a program without a test fails */
}
