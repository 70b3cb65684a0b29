#include "solver/steady/planning.h"

#include <stdint.h>
#include <stdlib.h>

struct planning_piece {
    struct planning_piece *before;
    max_align_t room[];
};

void planning_init(struct planning *planning, struct arena *kept)
{
    *planning = (struct planning){.kept = kept};
}

void planning_lend(struct planning *planning, void *piece, size_t count, size_t size)
{
#ifdef ARENA_ONE_BY_ONE /* each piece is a block of its own then, so that overruns are seen */
    (void)planning;
    (void)piece;
    (void)count;
    (void)size;
#else
    const size_t need = arena_need(count, size);
    if (planning->lent && planning->lent + planning->lent_size == (unsigned char *)piece) {
        planning->lent_size += need;
    } else if (need > planning->lent_size) {
        planning->lent = piece;
        planning->lent_size = need;
    }
#endif
}

void *planning_take(struct planning *planning, size_t count, size_t size)
{
    if (size > 0 && count > SIZE_MAX / 2 / size) {
        return NULL;
    }
    const size_t need = arena_need(count, size);
    if (need <= planning->lent_size - planning->lent_used) {
        unsigned char *room = planning->lent + planning->lent_used;
        planning->lent_used += need;
        return room;
    }
    struct planning_piece *piece = malloc(sizeof *piece + count * size);
    if (!piece) {
        return NULL;
    }
    piece->before = planning->own;
    planning->own = piece;
    return piece->room;
}

struct planning_mark planning_mark(const struct planning *planning)
{
    return (struct planning_mark){planning->lent_used, planning->own};
}

void planning_give(struct planning *planning, struct planning_mark mark)
{
    planning->lent_used = mark.lent_used;
    while (planning->own != mark.own) {
        struct planning_piece *piece = planning->own;
        planning->own = piece->before;
        free(piece);
    }
}
