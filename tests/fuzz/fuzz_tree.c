/* Whatever bytes a YAML text holds: a tree of the right shape or a message, never a crash. */
#include "io/door/tree.h"
#include "tests/fuzz/fuzz.h"

static void walk(const struct tree *node, int depth)
{
    int count = 0;
    if (depth > TREE_DEEPEST) {
        abort();
    }
    for (const struct tree *child = node->first; child; child = child->next) {
        if ((node->kind == TREE_MAP) != (child->key != NULL)) {
            abort();
        }
        walk(child, depth + 1);
        count++;
    }
    if (count != node->count) {
        abort();
    }
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    struct arena *arena = arena_new();
    struct faults faults;
    char *text = arena ? arena_take(arena, size + 1, 1) : NULL;
    if (text) {
        for (size_t i = 0; i < size; i++) {
            text[i] = (char)data[i];
        }
        faults_init(&faults, arena);
        const struct tree *root = tree_read("fuzz.yaml", text, size, arena, &faults);
        if (root) {
            walk(root, 0);
        } else if (faults_count(&faults, FAULT_ERROR) == 0) {
            abort();
        }
    }
    arena_free(arena);
    return 0;
}
