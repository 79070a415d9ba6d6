#ifndef BASE_UTF8_H
#define BASE_UTF8_H

#include <stddef.h>

/*
 * The little that a program needs to know of UTF-8 (RFC 3629): where a character ends, and whether
 * it is one.  Overlong forms, surrogates and anything above U+10FFFF are not.
 */

/* Bytes of the character at text, 1 to 4; 0 when no valid character starts there.  Reads no byte
 * beyond the terminating NUL, which is itself a character of one byte. */
int utf8_size(const char *text);

/* Takes off the end of text a character that was cut in the middle, as snprintf does when it runs
 * out of room. */
void utf8_mend_end(char *text);

/* Characters in the first `bytes` bytes of valid text. */
int utf8_count(const char *text, size_t bytes);

/* Where text first is not UTF-8, or NULL when all of it is. */
const char *utf8_fault(const char *text);

/*
 * What people tell is read as it is seen.  The first character of valid text that is not: a control
 * (line feed apart), one of Unicode's Bidi_Control (UAX #9: it turns the order of the others
 * round), a line separator, one without a width.  NULL: none.  `said` gets its name and what it does.
 * The joiners U+200C and U+200D stay: some scripts cannot be written without them (UAX #31).
 */
enum { UTF8_SAID_BYTES = 80 };
const char *utf8_unseen(const char *text, char said[UTF8_SAID_BYTES]);

#endif
