/* Random networks: every one must converge, and its answer is checked by code that shares nothing
 * with the solver. Plain program, so that a thousand networks need no thousand processes.
 *     test_steady_property [networks] [first seed] [v]
 * A failing network is told by its seed.
 *
 * What is drawn: 5 to 500 points (half of the networks even in number, half in its logarithm), a
 * tree of pipes and fittings with up to half as many loops; 1 to 4 tanks, draws in two networks of
 * three; up to 3 groups of 1 to 3 pumps, most with a non-return valve each; 1 to 30 directional
 * elements (fewer in networks of fewer points): non-return valves of the catalogue and of numbers,
 * alone, in rows and equal ones side by side, mouths to the air, relief valves, flow limiters. Half
 * of the levels and the opening heads are round numbers and a quarter of the valves of numbers have
 * no loss, so that ties are common. Nothing keeps a part of the network joined to a tank. */
#include "tests/solver/random_valves.h"

enum { STEPS_ALLOWED = 40, MEDIAN_ALLOWED = 8 };

/* One network in so many is solved a second time with its branches. */
enum { WHOLE_EVERY = 4 };

/* Networks that once were wrong. 213752: a valve stood open by the last digit of a flow of nought,
 * shut, and took with it the digits of its neighbours' flows; heads of two ways to the answer lay
 * 5e-9 m apart. */
static const uint64_t once_wrong[] = {213752};

/* Points that pumps, a valve beyond the count and their pipes may still want. */
enum { POINTS_KEPT = 12 };

static struct trial trial;

static int pick(int count)
{
    return random_pick(&trial.random, count);
}

/* Any other of the first `size` points. */
static int pick_other(int point, int size)
{
    return (point + 1 + pick(size - 1)) % size;
}

static void add_pumps(int from, int to)
{
    const int pairs = 1 + pick(3);
    for (int i = 0; i < pairs; i++) {
        if (pick(4) == 0) {
            trial_pump(&trial, from, to, false);
        } else {
            const int between = trial_point(&trial, false, 0);
            trial_pump(&trial, from, between, true);
            trial_valves(&trial, between, to, 1);
        }
    }
}

/* A directional element somewhere on the first `size` points. A pipe stands behind it, as one
 * without loss may not join two tanks. */
static void add_directional(int size)
{
    const int from = pick(size);
    const int kind = pick(8);
    if (kind == 0) {
        const int end = trial_point(&trial, false, 0);
        trial_pipe(&trial, from, end);
        trial_mouth(&trial, end);
        return;
    }
    const int middle = trial_point(&trial, false, 0);
    if (kind == 1) {
        trial_limiter(&trial, from, middle);
        trial_pipe(&trial, middle, pick_other(from, size));
    } else if (kind < 5) { /* across, some side by side */
        trial_valves(&trial, from, middle, pick(4) == 0 ? 2 : 1);
        trial_pipe(&trial, middle, pick_other(from, size));
    } else { /* a branch that may hang behind it, or two in a row */
        const int end = trial_point(&trial, false, 0);
        trial_valves(&trial, from, middle, 1);
        trial_pipe(&trial, middle, end);
        if (pick(2)) {
            trial_valves(&trial, end, pick(size), 1);
        }
    }
}

static void make_network(uint64_t seed)
{
    trial.network = (struct network){.points = trial.points, .links = trial.links};
    trial.pump_count = 0;
    trial.directional_count = 0;
    struct random *random = &trial.random;
    random_seed(random, seed);
    const int points = (int)(pick(2) ? random_spread(random, 5, 501) : random_even(random, 5, 501));
    const int wanted = 1 + pick(points < 60 ? 1 + points / 2 : 29);
    const int rest = points - 2 * wanted - POINTS_KEPT;
    const int size = rest > 5 ? rest : 5;
    const int tanks = 1 + pick(4);
    const double draw = pick(3) == 0 ? 0 : random_spread(random, 1e-6, 5e-4);
    for (int i = 0; i < size; i++) {
        const bool is_held = i < tanks;
        const double share = is_held || pick(3) ? 0 : random_even(random, 0, 1);
        const int point = trial_point(&trial, is_held, draw * share);
        if (i > 0) {
            trial_pipe(&trial, pick(2) ? point - 1 : pick(point), point);
        }
    }
    const int loops = pick(1 + size / 2);
    for (int i = 0; i < loops; i++) {
        const int from = pick(size);
        trial_pipe(&trial, from, pick_other(from, size));
    }
    const int pumps = points < 20 ? pick(2) : pick(4);
    for (int i = 0; i < pumps && trial.directional_count + 3 <= wanted; i++) {
        const int from = pick(size);
        add_pumps(from, pick_other(from, size));
    }
    while (trial.directional_count < wanted && trial.network.point_count + 2 <= TRIAL_POINTS) {
        add_directional(size);
    }
}

/* The answer against the laws; written apart from the solver on purpose. */
static bool is_right(const struct steady *answer)
{
    static double sum[TRIAL_POINTS];
    double scale = 1;
    double flows = 1e-2;
    for (int i = 0; i < trial.network.point_count; i++) {
        sum[i] = trial.points[i].draw;
        scale = fmax(scale, fabs(answer->head[i]) / 10);
    }
    bool is_good = true;
    for (int e = 0; e < trial.network.link_count; e++) {
        const struct link *link = &trial.links[e];
        const double flow = answer->flow[e];
        const double across = answer->head[link->from] - answer->head[link->to];
        const struct span span = link->element->span(link->data, &kit_water);
        const double excess = across - link->element->drop(link->data, &kit_water, flow).head;
        sum[link->from] += flow;
        sum[link->to] -= flow;
        flows = fmax(flows, fabs(flow));
        is_good = is_good && isfinite(flow) && flow >= span.lower && flow <= span.upper;
        is_good = is_good && (excess < 1e-11 * scale || flow >= span.upper);
        is_good = is_good && (excess > -1e-11 * scale || flow <= span.lower);
    }
    for (int i = 0; i < trial.network.point_count; i++) {
        const struct point *point = &trial.points[i];
        is_good = is_good && isfinite(answer->head[i]);
        is_good = is_good && (point->is_held ? answer->head[i] == point->held_head
                                             : fabs(sum[i]) < 1e-13 * flows);
    }
    return is_good;
}

/* Heads where both answers reach a tank, and heads lost along pipes everywhere. In a zone that is
 * cut off heads are any, and a valve before a dead end is shut or lets nothing pass: that makes the
 * zones any too. */
static bool is_same(const struct steady *a, const struct steady *b)
{
    bool is_same = a->ending == b->ending;
    for (int i = 0; i < trial.network.point_count; i++) {
        const bool is_held = a->zone[i] == NETWORK_NONE && b->zone[i] == NETWORK_NONE;
        const double size = fmax(1, fabs(a->head[i]));
        is_same = is_same && (!is_held || fabs(a->head[i] - b->head[i]) < 1e-9 * size);
    }
    for (int e = 0; e < trial.network.link_count; e++) {
        const struct link *link = &trial.links[e];
        if (link->element != &pipe_element) {
            continue; /* flows beside a part without loss are any */
        }
        const double lost = pipe_element.drop(link->data, &kit_water, a->flow[e]).head;
        const double other = pipe_element.drop(link->data, &kit_water, b->flow[e]).head;
        is_same = is_same && fabs(lost - other) < 1e-9 * fmax(1, fabs(lost));
    }
    return is_same;
}

/* Makes of each pipe a link with the same law that is no pipe, or takes that back. */
static void hide_pipes(const struct element *seen, const struct element *made)
{
    for (int e = 0; e < trial.network.link_count; e++) {
        if (trial.links[e].element == seen) {
            trial.links[e].element = made;
        }
    }
}

/* Whether the answer is the one of a solver that takes no branches out, as it sees no pipes. */
static bool is_as_whole(const struct steady *answer, struct arena *arena)
{
    struct failure failure = {0};
    struct steady whole;
    struct element no_pipe = pipe_element;
    no_pipe.pipe = NULL;
    hide_pipes(&pipe_element, &no_pipe);
    struct steady_solver *solver = steady_solver_new(&trial.network, &failure);
    const bool is_solved =
        solver && steady_init(&whole, &trial.network, arena, &failure) &&
        steady_solve(solver, &trial.network, &kit_water, &steady_defaults, &whole, &failure);
    hide_pipes(&no_pipe, &pipe_element);
    steady_solver_free(solver);
    return is_solved && is_same(answer, &whole);
}

/* Steps taken, or -1 when the answer is wrong. */
static int try_network(uint64_t seed, bool is_loud, long *solves)
{
    struct failure failure = {0};
    struct steady answer;
    struct arena *arena = arena_new();
    make_network(seed);
    struct steady_solver *solver = steady_solver_new(&trial.network, &failure);
    if (!solver || !arena || !steady_init(&answer, &trial.network, arena, &failure) ||
        !steady_solve(solver, &trial.network, &kit_water, &steady_defaults, &answer, &failure)) {
        printf("%s\n", failure.message);
        exit(2);
    }
    const bool is_met = answer.ending == STEADY_CONVERGED && is_right(&answer) &&
                        (seed % WHOLE_EVERY != 0 || is_as_whole(&answer, arena));
    if (!is_met || answer.steps > STEPS_ALLOWED || is_loud) {
        printf("seed %llu: %s in %d steps, %d points, %d links, %d zones; mass %.2e m3/s, energy "
               "%.2e m, complementarity %.2e m%s\n",
               (unsigned long long)seed, steady_ending_text(answer.ending), answer.steps,
               trial.network.point_count, trial.network.link_count, answer.zone_count,
               answer.mass_residual, answer.energy_residual, answer.complementarity,
               is_met ? "" : " WRONG");
    }
    const int steps = answer.steps;
    *solves += answer.solves;
    steady_solver_free(solver);
    arena_free(arena);
    return is_met ? steps : -1;
}

/* Least number of steps that `share` of the networks did with. */
static int quantile(const int by_steps[], int networks, double share)
{
    int steps = 0;
    for (int seen = by_steps[0]; seen < share * networks; seen += by_steps[steps]) {
        steps++;
    }
    return steps;
}

int main(int count, char *argument[])
{
    const int networks = count > 1 ? atoi(argument[1]) : 1000;
    const uint64_t first = count > 2 ? strtoull(argument[2], NULL, 10) : 1;
    int by_steps[1000] = {0};
    int wrong = 0;
    int most = 0;
    long total = 0;
    long solves = 0;
    for (size_t i = 0; i < sizeof once_wrong / sizeof *once_wrong; i++) {
        wrong += try_network(once_wrong[i], false, &solves) < 0;
    }
    solves = 0;
    for (int i = 0; i < networks; i++) {
        const int steps = try_network(first + (uint64_t)i, count > 3, &solves);
        wrong += steps < 0;
        total += steps > 0 ? steps : 0;
        most = steps > most ? steps : most;
        by_steps[steps > 0 ? steps : 0]++;
    }
    const int median = quantile(by_steps, networks, 0.5);
    printf("%d networks from seed %llu: %d wrong\n", networks, (unsigned long long)first, wrong);
    printf("factorisations: median %d, mean %.2f, 95 %% %d, 99 %% %d, most %d; "
           "back-substitutions: mean %.2f\n",
           median, (double)total / networks, quantile(by_steps, networks, 0.95),
           quantile(by_steps, networks, 0.99), most, (double)solves / networks);
    for (int steps = 1; steps <= most; steps++) {
        printf("%4d steps: %d\n", steps, by_steps[steps]);
    }
    return wrong > 0 || most > STEPS_ALLOWED || median > MEDIAN_ALLOWED;
}
