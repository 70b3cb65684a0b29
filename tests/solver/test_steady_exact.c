/* Cases whose answers are exact on paper (constructed), or computed to the digits shown. */
#include "models/throttling.h"
#include "solver/steady/certificate.h"
#include "tests/solver/kit.h"
#include "tests/solver/random_numbers.h"

static struct kit kit;

static double two_tanks(double difference, struct kit_law valve)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, difference);
    const int lower = kit_held(&kit, 0);
    const int link = kit_link(&kit, upper, lower, valve);
    kit_solve(&kit);
    const double flow = kit.answer.flow[link];
    cr_assert_float_eq(kit.answer.drop[link], difference, 1e-15);
    kit_clear(&kit);
    return flow;
}

/* (constructed) opening head 0.30 m, then 1e4 Q^2. */
Test(steady_exact, valve_stays_shut_up_to_its_opening_head)
{
    cr_assert_eq(two_tanks(0.25, kit_valve(0.30, 1e4)), 0.0);
    cr_assert_eq(two_tanks(0.30, kit_valve(0.30, 1e4)), 0.0);
}

/* (constructed) 1.30 - 0.30 = 1e4 Q^2. */
Test(steady_exact, valve_opens_beyond_its_opening_head)
{
    cr_assert_float_eq(two_tanks(1.30, kit_valve(0.30, 1e4)), 0.01, 1e-12);
}

/* (constructed) the same valve the other way round. */
Test(steady_exact, reversed_valve_passes_nothing)
{
    cr_assert_eq(two_tanks(-0.25, kit_valve(0.30, 1e4)), 0.0);
    cr_assert_eq(two_tanks(-100.0, kit_valve(0.30, 1e4)), 0.0);
}

/* Two pumps, each with its valve, from one sump into one riser. Links: 0 pump a, 1 valve a, 2 pump
 * b, 3 valve b, 4 riser. */
static int pump_pair(double a, double b, double static_head, double riser)
{
    kit_init(&kit);
    const int sump = kit_held(&kit, 0);
    const int tank = kit_held(&kit, static_head);
    const int after_a = kit_free(&kit, 0);
    const int after_b = kit_free(&kit, 0);
    const int header = kit_free(&kit, 0);
    kit_link(&kit, sump, after_a, kit_pump(a, 2e4));
    kit_link(&kit, after_a, header, kit_valve(0, 0));
    kit_link(&kit, sump, after_b, kit_pump(b, 2e4));
    kit_link(&kit, after_b, header, kit_valve(0, 0));
    kit_link(&kit, header, tank, kit_resistance(riser));
    kit_solve(&kit);
    return header;
}

/* (constructed) A 30 - 2e4 Q^2, B 18 - 2e4 Q^2, system 10 + 3e4 Q^2: 22 m, B held by 4 m. */
Test(steady_exact, weaker_pump_is_held_shut)
{
    const int header = pump_pair(30, 18, 10, 3e4);
    cr_assert_float_eq(kit.answer.flow[0], 0.02, 1e-12);
    cr_assert_float_eq(kit.answer.head[header], 22, 1e-9);
    cr_assert_eq(kit.answer.flow[3], 0.0);
    cr_assert_float_eq(kit.answer.drop[3], -4, 1e-9);
    kit_clear(&kit);
}

/* (computed, 1e-12) A 30 - 2e4 Q^2, B 26 - 2e4 Q^2, system 4 + 1e4 Q^2. */
Test(steady_exact, unequal_pumps_share)
{
    const int header = pump_pair(30, 26, 4, 1e4);
    cr_assert_float_eq(kit.answer.head[header], 19.91622805802528, 1e-9);
    cr_assert_float_eq(kit.answer.flow[0], 0.022454144319, 1e-12);
    cr_assert_float_eq(kit.answer.flow[2], 0.017441003328, 1e-12);
    cr_assert_float_eq(kit.answer.flow[4], 0.039895147647, 2e-12);
    kit_clear(&kit);
}

/* (constructed) loops; Q in L/s, r in m/(L/s)^2. AB 60, AD 40, BD 10, BC 35, DC 30. */
Test(steady_exact, two_loops_meet_their_answer)
{
    kit_init(&kit);
    const int a = kit_held(&kit, 100);
    const int b = kit_free(&kit, 15);
    const int c = kit_free(&kit, 65);
    const int d = kit_free(&kit, 20);
    kit_link(&kit, a, b, kit_resistance(0.002));
    kit_link(&kit, a, d, kit_resistance(0.005));
    kit_link(&kit, b, d, kit_resistance(0.008));
    kit_link(&kit, b, c, kit_resistance(0.002));
    kit_link(&kit, d, c, kit_resistance(11.0 / 6000));
    kit_solve(&kit);
    const double flow[] = {60, 40, 10, 35, 30};
    const double drop[] = {7.2, 8.0, 0.8, 2.45, 1.65};
    for (int e = 0; e < 5; e++) {
        cr_assert_float_eq(kit.answer.flow[e], flow[e], 1e-10);
        cr_assert_float_eq(kit.answer.drop[e], drop[e], 1e-10);
    }
    cr_assert_float_eq(kit.answer.head[a] - kit.answer.head[c], 9.65, 1e-10);
    kit_clear(&kit);
}

/* The same fed at A with no held head at all: heads are defined up to a constant, flows are not. */
Test(steady_exact, loops_without_a_held_head_are_one_zone)
{
    kit_init(&kit);
    const int a = kit_free(&kit, -100);
    const int b = kit_free(&kit, 15);
    const int c = kit_free(&kit, 65);
    const int d = kit_free(&kit, 20);
    kit_link(&kit, a, b, kit_resistance(0.002));
    kit_link(&kit, a, d, kit_resistance(0.005));
    kit_link(&kit, b, d, kit_resistance(0.008));
    kit_link(&kit, b, c, kit_resistance(0.002));
    kit_link(&kit, d, c, kit_resistance(11.0 / 6000));
    kit_solve(&kit);
    cr_assert_eq(kit.answer.zone_count, 1);
    cr_assert_eq(kit.answer.zone[c], 0);
    cr_assert_float_eq(kit.answer.flow[0], 60, 1e-10);
    cr_assert_float_eq(kit.answer.head[a] - kit.answer.head[c], 9.65, 1e-10);
    kit_clear(&kit);
}

static const struct friction smooth = {.length = 200, .bore = 0.1, .roughness = 1e-5};

static double lost(double flow)
{
    return friction_drop(&smooth, kit_water.viscosity, kit_water.gravity, flow).head;
}

/* Sums of what is drawn beyond each pipe (continuity), and heads outward from them; pipes turned
 * about count the other way. */
Test(steady_exact, branches_of_pipes_carry_what_is_drawn_at_their_ends)
{
    kit_init(&kit);
    const int tank = kit_held(&kit, 60);
    const int fork = kit_free(&kit, 0.001);
    const int near = kit_free(&kit, 0.002);
    const int far = kit_free(&kit, 0.004);
    const int spring = kit_free(&kit, -0.0005);
    const int trunk = kit_pipe(&kit, tank, fork, smooth);
    const int back = kit_pipe(&kit, near, fork, smooth);
    const int end = kit_pipe(&kit, near, far, smooth);
    const int feed = kit_pipe(&kit, spring, fork, smooth);
    kit_solve(&kit);
    cr_expect_float_eq(kit.answer.flow[trunk], 0.0065, 1e-17);
    cr_expect_float_eq(kit.answer.flow[back], -0.006, 1e-17);
    cr_expect_float_eq(kit.answer.flow[end], 0.004, 1e-17);
    cr_expect_float_eq(kit.answer.flow[feed], 0.0005, 1e-17);
    const double at_fork = 60 - lost(0.0065);
    cr_expect_float_eq(kit.answer.head[fork], at_fork, 1e-12);
    cr_expect_float_eq(kit.answer.head[far], at_fork - lost(0.006) - lost(0.004), 1e-12);
    cr_expect_float_eq(kit.answer.head[spring], at_fork + lost(0.0005), 1e-12);
    cr_expect_eq(kit.answer.zone[far], NETWORK_NONE);
    cr_expect_eq(kit.answer.zone_count, 0);
    kit_clear(&kit);
}

/* Solves with a solver that was made when every valve was a pipe. */
static void solve_after_pipes(void)
{
    struct failure failure = {0};
    struct link *links = kit.network.links;
    const struct element *element[KIT_MAX];
    for (int e = 0; e < kit.network.link_count; e++) {
        element[e] = links[e].element;
        links[e].element = &pipe_element;
    }
    struct steady_solver *solver = steady_solver_new(&kit.network, &failure);
    for (int e = 0; e < kit.network.link_count; e++) {
        links[e].element = element[e];
    }
    kit.arena = arena_new();
    cr_assert(solver && steady_init(&kit.answer, &kit.network, kit.arena, &failure));
    cr_assert(
        steady_solve(solver, &kit.network, &kit.water, &steady_defaults, &kit.answer, &failure));
    steady_solver_free(solver);
}

/* (constructed) behind a valve that lets water out alone 2 L/s are wanted at the end of a pipe: of
 * all draws that one is denied, whether or not the solver knew of the valve when it was made. */
Test(steady_exact, draw_at_the_end_of_a_pipe_behind_a_shut_valve_is_denied)
{
    for (int is_late = 0; is_late < 2; is_late++) {
        kit_init(&kit);
        const int tank = kit_held(&kit, 50);
        const int near = kit_free(&kit, 0.001);
        const int far = kit_free(&kit, 0);
        const int trough = kit_free(&kit, 0.002);
        kit_pipe(&kit, tank, near, smooth);
        kit_link(&kit, far, near, kit_valve(0.2, 1e4));
        const int last = kit_pipe(&kit, far, trough, smooth);
        if (is_late) {
            solve_after_pipes();
        } else {
            kit_solve_with(&kit, &steady_defaults);
        }
        cr_expect_eq(kit.answer.ending, STEADY_CUT_OFF_DRAW);
        cr_expect_eq(kit.answer.worst_point, trough);
        cr_expect_float_eq(kit.answer.mass_residual, 0.002, 1e-17);
        cr_expect_float_eq(kit.answer.flow[last], 0, 1e-17);
        cr_expect_eq(kit.answer.zone[trough], 0);
        kit_clear(&kit);
    }
}

/* What the certificate tells of heads and flows made up on purpose (definitions: a law 1e4 Q^2 at
 * 0.01 m3/s takes 1 m; a shut non-return valve holds any head behind it and none before it). */
Test(steady_exact, certificate_tells_how_far_made_up_answers_are_off)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, 3.0);
    const int middle = kit_free(&kit, 0.002);
    const int lower = kit_held(&kit, 0.0);
    kit_link(&kit, upper, middle, kit_resistance(1e4));
    const int valve = kit_link(&kit, middle, lower, kit_valve(0.30, 1e4));
    double sum[3];
    struct certificate found = certificate_find(&kit.network, &kit.water, (double[]){3.0, 1.8, 0.0},
                                                (double[]){0.01, 0.0}, sum);
    cr_expect_float_eq(found.mass_residual, 0.008, 1e-15);
    cr_expect_eq(found.worst_point, middle);
    cr_expect_float_eq(found.energy_residual, 0.2, 1e-12);
    cr_expect_float_eq(found.complementarity, 1.5, 1e-12, "%g", found.complementarity);
    cr_expect_eq(found.worst_link, valve);
    found = certificate_find(&kit.network, &kit.water, (double[]){-1.0, -2.0, 0.0},
                             (double[]){0.01, 0.0}, sum);
    cr_expect_float_eq(found.complementarity, 0.0, 0.0);
    found = certificate_find(&kit.network, &kit.water, (double[]){3.0, 1.0, 0.0},
                             (double[]){0.01, -0.004}, sum);
    cr_expect_float_eq(found.outside, 0.004, 1e-15);
    kit_clear(&kit);
}

/* A link that is shut both ways holds any head, whichever side it stands on (definition). */
Test(steady_exact, certificate_lets_a_shut_link_hold_any_head)
{
    kit_init(&kit);
    const int upper = kit_held(&kit, 3.0);
    const int lower = kit_held(&kit, 0.0);
    const struct throttling shut = {
        .curve = &throttling_catalogue_at(0)->curve, .area = 1e-3, .open_loss = 1.0};
    const int link = kit_link(&kit, upper, lower, kit_valve(0, 0));
    kit.links[link].element = &throttling_element;
    kit.links[link].data = &shut;
    const double head[][2] = {{3.0, 0.0}, {0.0, 3.0}};
    for (int i = 0; i < 2; i++) {
        double sum[2];
        const struct certificate found =
            certificate_find(&kit.network, &kit.water, head[i], (double[]){0.0}, sum);
        cr_expect_eq(found.complementarity, 0.0);
        cr_expect_eq(found.outside, 0.0);
        cr_expect_eq(found.worst_link, link); /* the only one, if by nothing */
    }
    kit_clear(&kit);
}

enum { PROOF_LINKS = 300, PROOF_POINTS = 40 };

/* |law| of a link that looks at its heads and two partners: 2 from - to + flow - 3 p0 + 5 p1. */
static void two_partners(const void *data, int links[])
{
    memcpy(links, data, 2 * sizeof *links);
}

static struct coupled_law many_sided(const void *data, const struct water *water,
                                     const struct coupled_at *at)
{
    (void)data;
    (void)water;
    return (struct coupled_law){.value = 2.0 * at->head_from - at->head_to + at->flow -
                                         3.0 * at->partner_flow[0] + 5.0 * at->partner_flow[1]};
}

/* Its drop counts for nothing. */
static struct drop no_drop(const void *data, const struct water *water, double flow)
{
    (void)data;
    (void)water;
    return (struct drop){.head = 1e6 * flow};
}

struct proof_case {
    struct point points[PROOF_POINTS];
    struct link links[PROOF_LINKS];
    struct kit_law laws[PROOF_LINKS];
    int partners[PROOF_LINKS][2];
    double head[PROOF_POINTS], flow[PROOF_LINKS];
    struct network network;
};

static void make_up(struct proof_case *made, struct random *random, int link_count,
                    const struct element *coupled)
{
    for (int i = 0; i < PROOF_POINTS; i++) {
        made->points[i] = (struct point){.draw = random_even(random, -1, 1), .is_held = i % 5 == 0};
        made->head[i] = random_even(random, -20, 20);
    }
    for (int e = 0; e < link_count; e++) {
        const int from = random_pick(random, PROOF_POINTS);
        const double lower = random_even(random, -1, 0.5);
        const double width = random_pick(random, 3) * 0.5;
        made->flow[e] = random_even(random, -1, 1);
        made->laws[e] =
            (struct kit_law){.start = random_even(random, -30, 30),
                             .linear = random_even(random, 0, 10),
                             .lower = random_pick(random, 2) ? lower : -(double)INFINITY,
                             .upper = random_pick(random, 2) ? lower + width : (double)INFINITY};
        if (random_pick(random, 3) == 0 && isfinite(made->laws[e].upper)) {
            made->flow[e] = made->laws[e].upper;
        }
        if (random_pick(random, 3) == 0 && isfinite(made->laws[e].lower)) {
            made->flow[e] = made->laws[e].lower;
        }
        made->partners[e][0] = random_pick(random, link_count);
        made->partners[e][1] = random_pick(random, link_count);
        const bool is_coupled = random_pick(random, 6) == 0;
        made->links[e] =
            (struct link){.from = from,
                          .to = (from + 1 + random_pick(random, PROOF_POINTS - 1)) % PROOF_POINTS,
                          .element = is_coupled ? coupled : &kit_element,
                          .data = is_coupled ? (const void *)made->partners[e] : &made->laws[e]};
    }
    made->network = (struct network){.points = made->points,
                                     .links = made->links,
                                     .point_count = PROOF_POINTS,
                                     .link_count = link_count};
}

/* What link `e` misses, and by how much its flow is outside its span. */
static double missed(const struct proof_case *made, int e, bool *is_end, double *outside)
{
    const struct link *link = &made->links[e];
    const struct kit_law *law = &made->laws[e];
    const double flow = made->flow[e];
    const double from = made->head[link->from];
    const double to = made->head[link->to];
    *is_end = false;
    *outside = 0.0;
    if (link->element != &kit_element) {
        const int *partner = made->partners[e];
        return fabs(2.0 * from - to + flow - 3.0 * made->flow[partner[0]] +
                    5.0 * made->flow[partner[1]]);
    }
    const double excess = from - to - kit_drop(law, &kit_water, flow).head;
    const bool may_be_less = flow <= law->lower; /* the head lost, at an upright */
    const bool may_be_more = flow >= law->upper;
    *is_end = may_be_less || may_be_more;
    *outside = fmax(0.0, fmax(law->lower - flow, flow - law->upper));
    return (excess < 0.0 && may_be_less) || (excess > 0.0 && may_be_more) ? 0.0 : fabs(excess);
}

/* Each number of the certificate by its definition, of heads and flows made up at random. */
Test(steady_exact, certificate_is_what_it_says_of_anything_made_up)
{
    static struct proof_case made;
    static struct coupling coupling = {
        .partner_count = 2, .partners = two_partners, .law = many_sided};
    struct element coupled = kit_element;
    struct random random;
    coupled.coupling = &coupling;
    coupled.drop = no_drop;
    random_seed(&random, 5);
    for (int i = 0; i < 60; i++) {
        double sum[PROOF_POINTS];
        double net[PROOF_POINTS];
        double most[2] = {0.0, 0.0};
        double farthest = 0.0;
        make_up(&made, &random, i < 30 ? 1 + i : PROOF_LINKS - i, &coupled);
        const struct certificate found =
            certificate_find(&made.network, &kit_water, made.head, made.flow, sum);
        for (int k = 0; k < PROOF_POINTS; k++) {
            net[k] = -made.points[k].draw;
        }
        for (int e = 0; e < made.network.link_count; e++) {
            bool is_end;
            double outside;
            const double error = missed(&made, e, &is_end, &outside);
            net[made.links[e].from] -= made.flow[e];
            net[made.links[e].to] += made.flow[e];
            most[is_end] = fmax(most[is_end], error);
            farthest = fmax(farthest, outside);
        }
        double largest = 0.0;
        for (int k = 0; k < PROOF_POINTS; k++) {
            largest = made.points[k].is_held ? largest : fmax(largest, fabs(net[k]));
        }
        cr_assert_float_eq(found.mass_residual, largest, 1e-13);
        cr_assert_float_eq(fabs(net[found.worst_point]), largest, 1e-13);
        cr_assert_not(made.points[found.worst_point].is_held);
        cr_assert_float_eq(found.energy_residual, most[false], 1e-12);
        cr_assert_float_eq(found.complementarity, most[true], 1e-12);
        cr_assert_float_eq(found.outside, farthest, 1e-15);
        bool is_end;
        double outside;
        cr_assert_float_eq(missed(&made, found.worst_link, &is_end, &outside),
                           fmax(most[false], most[true]), 1e-12);
    }
}
