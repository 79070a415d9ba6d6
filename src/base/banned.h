#ifndef BASE_BANNED_H
#define BASE_BANNED_H

/*
 * Functions nobody may call.  The build puts this file in front of every source
 * file, so a call does not compile, and the message says what to use.
 *
 * The headers that declare them come first: after that, only calls see the
 * macros.
 */
#include <alloca.h>
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* NOLINTBEGIN(readability-identifier-naming): these must be spelled as the functions are. */

/* No room is known: a buf or snprintf. */
#undef strcpy
#define strcpy(...) banned_strcpy_use_a_buf_or_snprintf
#undef strcat
#define strcat(...) banned_strcat_use_a_buf_or_snprintf
#undef stpcpy
#define stpcpy(...) banned_stpcpy_use_a_buf_or_snprintf
#undef strncpy
#define strncpy(...) banned_strncpy_use_a_buf_or_snprintf
#undef strncat
#define strncat(...) banned_strncat_use_a_buf_or_snprintf
#undef sprintf
#define sprintf(...) banned_sprintf_use_a_buf_or_snprintf
#undef vsprintf
#define vsprintf(...) banned_vsprintf_use_a_buf_or_vsnprintf
#undef gets
#define gets(...) banned_gets_use_getline
#undef alloca
#define alloca(...) banned_alloca_use_an_arena

/* Failure looks like zero. */
#undef atoi
#define atoi(...) banned_atoi_use_strtol_and_look_at_its_end
#undef atol
#define atol(...) banned_atol_use_strtol_and_look_at_its_end
#undef atof
#define atof(...) banned_atof_use_strtod_and_look_at_its_end

/* Hidden state that threads share. */
#undef strtok
#define strtok(...) banned_strtok_use_strcspn
#undef gmtime
#define gmtime(...) banned_gmtime_use_gmtime_r
#undef localtime
#define localtime(...) banned_localtime_use_localtime_r
#undef asctime
#define asctime(...) banned_asctime_use_strftime
#undef ctime
#define ctime(...) banned_ctime_use_strftime
#undef rand
#define rand(...) banned_rand_use_the_generator_of_numeric

/* Numbers are read and written with a point, wherever the machine stands. */
#undef setlocale
#define setlocale(...) banned_setlocale_numbers_are_read_with_a_point

/* NOLINTEND(readability-identifier-naming) */

#endif
