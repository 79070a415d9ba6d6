#ifndef WASM_WASM_H
#define WASM_WASM_H

#include <stddef.h>

/*
 * The engine inside a page: what `inward export` puts into one HTML file.
 *
 * These are the functions that the compiled module exports; web/src/engine.ts
 * calls them.  One instance of the module holds one suite and serves one page,
 * so its state is static and there is nothing to pass around.  Bytes go in
 * through wasm_room, answers come out of wasm_answer:
 *
 *     memcpy(wasm_room(size), merged, size);
 *     wasm_load(size, 0);                      200, or why not
 *     memcpy(wasm_room(18), "/api/airscene=busy", 18);
 *     wasm_ask(8, 10);                         what serve answers to /api/air?scene=busy
 *     puts(wasm_answer());
 *
 * A broken promise or no memory ends the instance by a trap; whoever holds it
 * throws it away and makes another.
 */
enum { WASM_ROOM_MOST = 9 << 20 };

/* Room for that many bytes, valid until it is asked for again; NULL: more than WASM_ROOM_MOST. */
char *wasm_room(size_t bytes);

/* In the room: a suite in its merged form, then the name of the scene to start from, or none for
 * all parked.  200; else a refusal is the answer, and every question is refused too. */
int wasm_load(size_t suite_bytes, size_t scene_bytes);

/* In the room: an address such as /api/air, then its query.  The status, in HTTP's numbers. */
int wasm_ask(size_t path_bytes, size_t search_bytes);

/* JSON, valid until the next call of any of these. */
const char *wasm_answer(void);
size_t wasm_answer_bytes(void);

#endif
