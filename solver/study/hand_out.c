#include "solver/study/hand_out.h"

bool hand_out_init(struct hand_out *hand_out, int count, const bool is_done[], struct arena *arena,
                   struct failure *failure)
{
    *hand_out = (struct hand_out){.count = count, .is_done = is_done};
    hand_out->holder = arena_take(arena, (size_t)count, sizeof *hand_out->holder);
    if (!hand_out->holder) {
        return fail_memory(failure, "the variants of the study");
    }
    for (int i = 0; i < count; i++) {
        hand_out->holder[i] = HAND_OUT_FREE;
    }
    return true;
}

static bool is_done(const struct hand_out *hand_out, int variant)
{
    return hand_out->is_done && hand_out->is_done[variant];
}

int hand_out_take(struct hand_out *hand_out, int holder)
{
    while (hand_out->next < hand_out->count) {
        const int variant = hand_out->next++;
        if (!is_done(hand_out, variant) && hand_out->holder[variant] == HAND_OUT_FREE) {
            hand_out->holder[variant] = holder;
            return variant;
        }
    }
    return HAND_OUT_NONE;
}

int hand_out_give_back(struct hand_out *hand_out, int holder)
{
    int count = 0;
    for (int i = hand_out->count - 1; i >= 0; i--) {
        if (hand_out->holder[i] == holder && !is_done(hand_out, i)) {
            hand_out->holder[i] = HAND_OUT_FREE;
            hand_out->next = i < hand_out->next ? i : hand_out->next;
            count++;
        }
    }
    return count;
}
