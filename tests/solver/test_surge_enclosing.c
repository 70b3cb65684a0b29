/* Which groups may enclose a point at all: a pipe, part, two points joined by a part, part, pipe.
 */
#include "models/fitting.h"
#include "models/non_return.h"
#include "models/pump.h"
#include "solver/surge/enclosed.h"
#include "tests/solver/kit_law.h"

#include <criterion/criterion.h>

enum { POINTS = 4, PARTS = 3 };

struct row {
    int first[POINTS + 1];
    int no_stub[POINTS + 1];
    struct ends ends;
    int number[POINTS];
    struct kit_law law[PARTS];
    struct lumped lumped[PARTS];
    struct group_link link[PARTS];
    struct group group;
    bool is_known[POINTS];
    struct enclosed_work work;
};

static void open_row(struct row *row)
{
    *row = (struct row){.first = {0, 1, 1, 1, 2}, .number = {0, 1, 2, 3}};
    row->ends = (struct ends){.first = row->first, .stub_first = row->no_stub};
    for (int k = 0; k < PARTS; k++) {
        row->lumped[k] = (struct lumped){.element = &kit_element, .data = &row->law[k]};
        row->link[k] = (struct group_link){
            .lumped = &row->lumped[k], .from = k, .to = k + 1, .coupled = NETWORK_NONE};
    }
    row->group = (struct group){
        .point_count = POINTS, .link_count = PARTS, .points = row->number, .links = row->link};
    row->work = (struct enclosed_work){.is_known = row->is_known};
}

/* Parts whose spans have no end join their points for good: nothing is enclosed where such join
 * each point to a pipe. */
Test(surge_enclosing, takes_two_parts_that_can_shut)
{
    static const struct kit_law open = {.lower = -INFINITY, .upper = INFINITY};
    static const struct kit_law one_way = {.lower = 0, .upper = INFINITY};
    for (int shutting = 0; shutting < 8; shutting++) {
        struct row row;
        int count = 0;
        open_row(&row);
        for (int k = 0; k < PARTS; k++) {
            const bool shuts = shutting >> k & 1;
            row.law[k] = shuts ? one_way : open;
            count += shuts;
        }
        cr_expect_eq(enclosed_can_be(&row.group, &row.ends, &row.work), count >= 2, "%d", shutting);
    }
}

/* A valve that moves may shut whatever its steady law lets pass; a pump never does. */
Test(surge_enclosing, what_moves_tells_itself_whether_it_shuts)
{
    static const struct element *const kinds[] = {&pump_element, &fitting_element,
                                                  &non_return_element};
    for (int kind = 0; kind < 3; kind++) {
        struct row row;
        open_row(&row);
        for (int k = 0; k < PARTS; k++) {
            row.lumped[k].element = kinds[kind];
        }
        cr_expect_eq(enclosed_can_be(&row.group, &row.ends, &row.work), kind == 2, "%d", kind);
    }
}

/* A held head tells as much as a pipe does; a coupled law may shut. */
Test(surge_enclosing, a_held_head_is_known_and_a_coupled_law_is_not)
{
    static const struct kit_law open = {.lower = -INFINITY, .upper = INFINITY};
    struct row row;
    open_row(&row);
    for (int k = 0; k < PARTS; k++) {
        row.law[k] = open;
    }
    row.first[1] = 0; /* no pipe at either end */
    row.first[2] = 0;
    row.first[3] = 0;
    row.first[4] = 0;
    cr_expect(enclosed_can_be(&row.group, &row.ends, &row.work));
    row.link[0].from = GROUP_HELD;
    row.group.points = row.number + 1;
    row.group.point_count = 3;
    row.link[0].to = 0;
    row.link[1].from = 0;
    row.link[1].to = 1;
    row.link[2].from = 1;
    row.link[2].to = 2;
    cr_expect_not(enclosed_can_be(&row.group, &row.ends, &row.work));
    row.link[1].coupled = 0;
    cr_expect(enclosed_can_be(&row.group, &row.ends, &row.work));
}
