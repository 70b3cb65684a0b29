/* The head a site asks of a pump, against what is exact: where the site is one line of parts, the
 * lift and the sum of their losses; and on any site, that curve and pump cross at the duty point.
 */
#include "io/door/door.h"
#include "solver/steady/system_curve.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>

static const struct site *read(const char *name, struct arena *arena)
{
    char path[400];
    struct site *site = NULL;
    struct faults faults;
    (void)snprintf(path, sizeof path, "%s/cases/%s", SOURCE_DIR, name);
    faults_init(&faults, arena);
    cr_assert(read_site(path, arena, &site, &faults));
    return site;
}

Test(system_curve, is_the_lift_and_the_losses_of_a_single_line)
{
    struct failure failure = {0};
    struct arena *arena = arena_new();
    const struct site *site = read("lesson-study.yaml", arena); /* pond, pump, one main, roof */
    const struct network *network = site->network;
    const int pump = site->pump_places[0].link;
    const double flow[] = {1e-4, 1e-3, 3.7e-3};
    double head[3];
    cr_assert(system_curve(network, &site->water, pump, 3, flow, head, &failure));
    for (int i = 0; i < 3; i++) {
        double asked = 12.0 - 0.0; /* roof over pond, m, from the case */
        for (int k = 0; k < network->link_count; k++) {
            const struct link *link = &network->links[k];
            asked += k == pump ? 0.0 : link->element->drop(link->data, &site->water, flow[i]).head;
        }
        cr_expect_float_eq(head[i], asked, 1e-9, "%g, not %g", head[i], asked);
    }
    arena_free(arena);
}

Test(system_curve, crosses_the_pump_at_the_duty_point)
{
    struct failure failure = {0};
    struct steady steady;
    struct arena *arena = arena_new();
    const struct site *site = read("alder-beck.yaml", arena); /* two pumps on one main */
    struct steady_solver *solver = steady_solver_new(site->network, &failure);
    cr_assert(steady_init(&steady, site->network, arena, &failure));
    cr_assert(
        steady_solve(solver, site->network, &site->water, &steady_defaults, &steady, &failure));
    for (int i = 0; i < site->pump_place_count; i++) {
        const int link = site->pump_places[i].link;
        double head = 0.0;
        cr_assert(system_curve(site->network, &site->water, link, 1, &steady.flow[link], &head,
                               &failure));
        cr_expect_float_eq(head, -steady.drop[link], 1e-8, "%g, not %g", head, -steady.drop[link]);
    }
    steady_solver_free(solver);
    arena_free(arena);
}
