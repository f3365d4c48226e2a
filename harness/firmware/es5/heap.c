/*
 * How much memory does a script take in Duktape? Harness layer; built where Duktape's development files are.
 *
 * Evaluates each file named on the command line in one heap, with an allocator that counts the bytes asked for. After
 * the bare heap, and after each file, prints what is live once nothing can be freed, and the most that was since the
 * line before: "live most", in bytes. What the allocator itself spends is not counted.
 */
#include <duktape.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>

typedef union {
    size_t size;
    max_align_t aligned;
} header;

static size_t live;
static size_t most;

static void *resize(void *udata, void *block, duk_size_t size) {
    header *old = block == NULL ? NULL : (header *)block - 1;
    (void)udata;
    live -= old == NULL ? 0 : old->size;
    if (size == 0) {
        free(old);
        return NULL;
    }
    header *now = realloc(old, sizeof *now + size);
    if (now == NULL) abort();
    now->size = size;
    live += size;
    if (live > most) most = live;
    return now + 1;
}

static void *take(void *udata, duk_size_t size) { return resize(udata, NULL, size); }

static void give(void *udata, void *block) { (void)resize(udata, block, 0); }

static void tell(duk_context *heap) {
    size_t peak = most;
    /* Twice: what a finalizer frees is seen by the second. */
    duk_gc(heap, 0);
    duk_gc(heap, 0);
    printf("%zu %zu\n", live, peak);
    most = live;
}

static int evaluate(duk_context *heap, const char *path) {
    static char text[1 << 20];
    FILE *file = fopen(path, "rb");
    if (file == NULL) return 1;
    size_t length = fread(text, 1, sizeof text, file);
    fclose(file);
    int failed = duk_peval_lstring_noresult(heap, text, length);
    tell(heap);
    return failed;
}

int main(int count, char **paths) {
    duk_context *heap = duk_create_heap(take, resize, give, NULL, NULL);
    if (heap == NULL) return 1;
    tell(heap);
    int failed = 0;
    for (int i = 1; i < count; i++) failed |= evaluate(heap, paths[i]);
    duk_destroy_heap(heap);
    return failed != 0 || live != 0;
}
