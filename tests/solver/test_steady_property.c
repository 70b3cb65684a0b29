/* Random networks: every one must converge, and its answer is checked by code that shares nothing
 * with the solver. Plain program, so that a thousand networks need no thousand processes.
 *     test_steady_property [networks] [first seed] [v]
 * A failing network is told by its seed. */
#include "models/fitting.h"
#include "models/pipe.h"
#include "tests/solver/kit.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

enum { STEPS_ALLOWED = 40, MEDIAN_ALLOWED = 13, POINTS_MOST = 500, LINKS_MOST = 1600 };

/* Numbers from a seed (xorshift64*, Vigna 2016). */
static uint64_t random_state;

static uint64_t random_bits(void)
{
    random_state ^= random_state >> 12;
    random_state ^= random_state << 25;
    random_state ^= random_state >> 27;
    return random_state * 2685821657736338717ULL;
}

static double uniform(double low, double high)
{
    return low + (high - low) * (double)(random_bits() >> 11) * 0x1p-53;
}

static int pick(int count)
{
    return (int)(random_bits() % (uint64_t)count);
}

static double spread(double low, double high)
{
    return exp(uniform(log(low), log(high)));
}

struct trial {
    struct network network;
    struct point points[POINTS_MOST];
    struct link links[LINKS_MOST];
    struct pipe pipes[LINKS_MOST];
    struct fitting fittings[LINKS_MOST];
    struct kit_law laws[LINKS_MOST];
};

static struct trial trial;

static void join(int from, int to, double area, const struct element *element, const void *data)
{
    trial.links[trial.network.link_count++] = (struct link){.name = "link",
                                                            .from = from,
                                                            .to = to,
                                                            .run = NETWORK_NONE,
                                                            .area = area,
                                                            .element = element,
                                                            .data = data};
}

static const double bores[] = {0.016, 0.02, 0.032, 0.05, 0.063, 0.09, 0.11, 0.16, 0.2};

static double random_bore(void)
{
    return bores[pick(sizeof bores / sizeof *bores)];
}

static double area_of(double bore)
{
    return 0.78539816339744830962 * bore * bore;
}

static void add_pipe(int from, int to)
{
    const double bore = random_bore();
    struct pipe *pipe = &trial.pipes[trial.network.link_count];
    struct fitting *fitting = &trial.fittings[trial.network.link_count];
    if (pick(10) == 0) { /* a plain fitting, some purely quadratic */
        const double loss = spread(0.05, 50);
        *fitting = (struct fitting){
            .area = area_of(bore), .loss = loss, .loss_back = loss, .laminar = pick(2) ? 500 : 0};
        join(from, to, area_of(bore), &fitting_element, fitting);
        return;
    }
    *pipe = (struct pipe){
        .friction = {.length = spread(0.5, 500), .bore = bore, .roughness = 1e-5 * pick(10)}};
    if (pick(4) == 0) {
        pipe->friction.hazen_williams = 150;
        pipe->friction.hazen_williams_constant = 10.667;
        pipe->friction.hazen_williams_flow_power = 1.852;
        pipe->friction.hazen_williams_bore_power = 4.871;
    }
    join(from, to, area_of(bore), &pipe_element, pipe);
}

static struct kit_law random_valve(double bore)
{
    static const double openings[] = {0, 0, 0.05, 0.3, 1};
    const double area = area_of(bore);
    const double k = pick(4) == 0 ? 0 : spread(0.5, 10);
    return kit_valve(openings[pick(5)], k / (19.62 * area * area));
}

static void add_law(int from, int to, double bore, struct kit_law law)
{
    trial.laws[trial.network.link_count] = law;
    join(from, to, area_of(bore), &kit_element, &trial.laws[trial.network.link_count]);
}

static int add_point(bool is_held, double draw)
{
    struct point *point = &trial.points[trial.network.point_count];
    *point = (struct point){.name = "point", .draw = draw, .is_held = is_held};
    point->tank = NETWORK_NONE;
    /* whole numbers, so that equal levels and ties at the opening head happen */
    point->held_head = is_held ? (pick(2) ? pick(12) : uniform(0, 60)) : 0;
    return trial.network.point_count++;
}

/* A pump, often with a valve behind it and another such pair beside it. */
static void add_pumps(int from, int to)
{
    const double bore = random_bore();
    const double area = area_of(bore);
    const double rated = 1.5 * area;
    const int pairs = 1 + pick(3);
    for (int i = 0; i < pairs; i++) {
        const double head = pick(2) ? 30 : uniform(5, 60);
        struct kit_law law = kit_pump(head, 0.4 * head / (rated * rated));
        const bool has_valve = pick(4) > 0;
        if (pick(3) == 0) { /* straight lines, the first level where nothing can run backward */
            law.count = 4;
            const double share_flow[] = {0, 0.5, 1, 1.6};
            const double share_head[] = {has_valve ? 1 : 1.1, 1, 0.8, 0.2};
            for (int k = 0; k < 4; k++) {
                law.flow[k] = share_flow[k] * rated;
                law.head[k] = share_head[k] * head;
            }
        }
        if (!has_valve) {
            add_law(from, to, bore, law);
        } else {
            const int between = add_point(false, 0);
            add_law(from, between, bore, law);
            add_law(between, to, bore, random_valve(bore));
        }
    }
}

/* A tree of pipes with loops, tanks, draws, pumps and valves strewn over it. */
static void make_network(uint64_t seed)
{
    random_state = seed * 0x9E3779B97F4A7C15ULL + 1;
    (void)random_bits();
    trial.network = (struct network){.points = trial.points, .links = trial.links};
    const int size = (int)spread(5, 380);
    const int tanks = 1 + pick(4);
    const double typical_draw = pick(3) == 0 ? 0 : spread(1e-6, 5e-4);
    for (int i = 0; i < size; i++) {
        const bool is_held = i < tanks;
        const int point = add_point(is_held, is_held || pick(3) ? 0 : typical_draw * uniform(0, 1));
        if (i > 0) {
            add_pipe(pick(2) ? point - 1 : pick(point), point);
        }
    }
    const int loops = pick(1 + size / 2);
    for (int i = 0; i < loops; i++) {
        const int from = pick(size);
        add_pipe(from, (from + 1 + pick(size - 1)) % size);
    }
    const int pumps = pick(4);
    for (int i = 0; i < pumps; i++) {
        const int from = pick(size);
        add_pumps(from, (from + 1 + pick(size - 1)) % size);
    }
    const int valves = 1 + pick(14);
    for (int i = 0; i < valves; i++) {
        const double bore = random_bore();
        const struct kit_law valve = random_valve(bore);
        const int from = pick(size);
        if (pick(2)) { /* across; a pipe behind it, as one without loss may not join two tanks */
            const int to = (from + 1 + pick(size - 1)) % size;
            const int middle = add_point(false, 0);
            const int count = pick(4) == 0 ? 2 : 1; /* equal ones side by side */
            for (int k = 0; k < count; k++) {
                add_law(from, middle, bore, valve);
            }
            add_pipe(middle, to);
        } else { /* a branch that may hang behind it, two in a row */
            const int middle = add_point(false, 0);
            const int end = add_point(false, 0);
            add_law(from, middle, bore, valve);
            add_pipe(middle, end);
            if (pick(2)) {
                add_law(end, pick(size), bore, random_valve(bore));
            }
        }
    }
}

/* The answer against the laws; written apart from the solver on purpose. */
static bool is_right(const struct steady *answer)
{
    static double sum[POINTS_MOST];
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
                                             : fabs(sum[i]) < 1e-13 * fmax(1, flows * 100));
    }
    return is_good;
}

/* Steps taken, or -1 when the answer is wrong. */
static int try_network(uint64_t seed, bool is_loud)
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
    const bool is_met = answer.ending == STEADY_CONVERGED && is_right(&answer);
    if (!is_met || answer.steps > STEPS_ALLOWED || is_loud) {
        printf("seed %llu: %s in %d steps, %d points, %d links, %d zones; mass %.2e m3/s, energy "
               "%.2e m, complementarity %.2e m%s\n",
               (unsigned long long)seed, steady_ending_text(answer.ending), answer.steps,
               trial.network.point_count, trial.network.link_count, answer.zone_count,
               answer.mass_residual, answer.energy_residual, answer.complementarity,
               is_met ? "" : " WRONG");
    }
    const int steps = answer.steps;
    steady_solver_free(solver);
    arena_free(arena);
    return is_met ? steps : -1;
}

int main(int count, char *argument[])
{
    const int networks = count > 1 ? atoi(argument[1]) : 1000;
    const uint64_t first = count > 2 ? strtoull(argument[2], NULL, 10) : 1;
    int by_steps[1000] = {0};
    int wrong = 0;
    int most = 0;
    for (int i = 0; i < networks; i++) {
        const int steps = try_network(first + (uint64_t)i, count > 3);
        wrong += steps < 0;
        most = steps > most ? steps : most;
        by_steps[steps > 0 ? steps : 0]++;
    }
    int median = 0;
    int p95 = 0;
    for (int seen = by_steps[0]; seen * 2 < networks; seen += by_steps[median]) {
        median++;
    }
    for (int seen = by_steps[0]; seen * 20 < networks * 19; seen += by_steps[p95]) {
        p95++;
    }
    printf("%d networks from seed %llu: %d wrong; linear systems: median %d, 95 %% %d, most %d\n",
           networks, (unsigned long long)first, wrong, median, p95, most);
    return wrong > 0 || most > STEPS_ALLOWED || median > MEDIAN_ALLOWED;
}
