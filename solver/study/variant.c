#include "solver/study/variant.h"

#include "models/letters.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What the solver's analysis rests on: variants that share it share the solver. */
struct shape {
    int point_count;
    int link_count;
    int *from;                      /* [link_count] */
    int *to;                        /* [link_count] */
    const struct element **element; /* [link_count] */
    bool *holds;                    /* [point_count] */
};

struct variant_bench {
    struct shape shape;
    struct steady_solver *solver; /* for the shape; NULL: none yet */
};

void row_init(struct row *row)
{
    *row = (struct row){.status = ROW_DONE};
    for (int i = 0; i < ROW_VALUE_MAX; i++) {
        row->value[i] = (double)NAN;
    }
}

void row_end(struct row *row, enum row_status status, const char *reason)
{
    row->status = status;
    memset(row->reason, 0, sizeof row->reason);
    letters_fit(reason, sizeof row->reason, row->reason);
}

const char *row_status_text(enum row_status status)
{
    switch (status) {
    case ROW_DONE:
        break;
    case ROW_REFUSED:
        return "refused";
    case ROW_NO_STEADY:
        return "no steady answer";
    case ROW_NO_SURGE:
        return "no surge answer";
    case ROW_NO_FILLING:
        return "no filling answer";
    }
    return "done";
}

struct variant_bench *variant_bench_new(struct failure *failure)
{
    struct variant_bench *bench = calloc(1, sizeof *bench);
    if (!bench) {
        (void)fail_memory(failure, "a worker of the study");
    }
    return bench;
}

static void forget_shape(struct variant_bench *bench)
{
    steady_solver_free(bench->solver);
    bench->solver = NULL;
    free(bench->shape.from);
    free(bench->shape.to);
    free(bench->shape.element);
    free(bench->shape.holds);
    bench->shape = (struct shape){0};
}

void variant_bench_free(struct variant_bench *bench)
{
    if (bench) {
        forget_shape(bench);
        free(bench);
    }
}

static bool has_shape(const struct shape *shape, const struct network *network)
{
    if (shape->point_count != network->point_count || shape->link_count != network->link_count) {
        return false;
    }
    for (int i = 0; i < network->link_count; i++) {
        const struct link *link = &network->links[i];
        if (shape->from[i] != link->from || shape->to[i] != link->to ||
            shape->element[i] != link->element) {
            return false;
        }
    }
    for (int i = 0; i < network->point_count; i++) {
        if (shape->holds[i] != network->points[i].is_held) {
            return false;
        }
    }
    return true;
}

static bool note_shape(struct shape *shape, const struct network *network)
{
    const size_t links = (size_t)network->link_count + 1;
    shape->from = calloc(links, sizeof *shape->from);
    shape->to = calloc(links, sizeof *shape->to);
    shape->element = calloc(links, sizeof(const struct element *));
    shape->holds = calloc((size_t)network->point_count + 1, sizeof *shape->holds);
    if (!shape->from || !shape->to || !shape->element || !shape->holds) {
        return false;
    }
    shape->point_count = network->point_count;
    shape->link_count = network->link_count;
    for (int i = 0; i < network->link_count; i++) {
        shape->from[i] = network->links[i].from;
        shape->to[i] = network->links[i].to;
        shape->element[i] = network->links[i].element;
    }
    for (int i = 0; i < network->point_count; i++) {
        shape->holds[i] = network->points[i].is_held;
    }
    return true;
}

/* A solver for the network; the last one's analysis serves where the shape is the same. */
static bool take_solver(struct variant_bench *bench, const struct network *network,
                        struct failure *failure)
{
    if (bench->solver && has_shape(&bench->shape, network)) {
        return true;
    }
    forget_shape(bench);
    if (!note_shape(&bench->shape, network)) {
        return fail_memory(failure, "a worker of the study");
    }
    bench->solver = steady_solver_new(network, failure);
    return bench->solver != NULL;
}

/* Residuals at which a stalled answer is good enough: a thousandth of a millilitre a second and a
 * micrometre of head. */
static bool is_answer(const struct steady *steady)
{
    const bool is_near = steady->mass_residual <= 1e-9 && steady->energy_residual <= 1e-6 &&
                         steady->complementarity <= 1e-6;
    return steady->ending == STEADY_CONVERGED || (steady->ending == STEADY_STALLED && is_near);
}

static void tell_no_steady(const struct network *network, const struct steady *steady,
                           struct row *row)
{
    struct failure reason;
    const char *where =
        steady->worst_link == NETWORK_NONE ? "" : network->links[steady->worst_link].name;
    (void)fail(&reason, FAILURE_NONE, (struct place){0},
               "%s; head does not balance by %.3g m%s%s, flow by %.3g m3/s",
               steady_ending_text(steady->ending), steady->energy_residual, *where ? " over " : "",
               where, steady->mass_residual);
    row_end(row, ROW_NO_STEADY, reason.message);
}

static void tell_no_surge(const struct network *network, const struct surge *surge, struct row *row)
{
    struct failure reason;
    const int point = surge->group_failed_point;
    (void)fail(&reason, FAILURE_NONE, (struct place){0},
               "parts that meet at %s found no common answer at %.4g s",
               point == NETWORK_NONE ? "a point" : network->points[point].name,
               surge->time_reached);
    row_end(row, ROW_NO_SURGE, reason.message);
}

/* The surge run; a plan that cannot be run is the row's trouble, ended memory everybody's. */
static bool solve_surge(const struct site *site, const struct steady *steady, struct surge *surge,
                        struct arena *arena, struct row *row, struct failure *failure)
{
    struct failure reason = {0};
    if (!surge_run_plan(site, site->network, steady, &surge_defaults, surge, arena, &reason)) {
        if (reason.kind == FAILURE_MEMORY) {
            *failure = reason;
            return false;
        }
        row_end(row, ROW_NO_SURGE, reason.message);
    } else if (surge->ending != SURGE_DONE) {
        tell_no_surge(site->network, surge, row);
    }
    return true;
}

static void tell_no_filling(const struct site *site, const struct filling *filling, struct row *row)
{
    struct failure reason;
    const bool chatters = filling->ending == FILLING_CHATTERS;
    const char *what =
        chatters ? filling_event_subject(site, filling->chattering, filling->chattering_subject)
                 : "";
    (void)fail(&reason, FAILURE_NONE, (struct place){0}, "%s%s%s after %.6g s",
               filling_ending_text(filling->ending), chatters ? ": " : "", what,
               filling->time_reached);
    row_end(row, ROW_NO_FILLING, reason.message);
}

/* The filling run, of which only the sums are kept. Failures as with the surge run. */
static bool solve_filling(const struct site *site, struct filling *filling, struct arena *arena,
                          struct row *row, struct failure *failure)
{
    struct failure reason = {0};
    struct filling_options options = filling_defaults;
    options.series_limit = options.event_limit = 2;
    if (!filling_run(site, &options, filling, arena, &reason)) {
        if (reason.kind == FAILURE_MEMORY) {
            *failure = reason;
            return false;
        }
        row_end(row, ROW_NO_FILLING, reason.message);
    } else if (filling->ending != FILLING_DONE) {
        tell_no_filling(site, filling, row);
    }
    return true;
}

bool variant_solve(struct variant_bench *bench, const struct site *site, unsigned runs,
                   int measure_count, const struct measure measures[], struct arena *arena,
                   struct row *row, struct failure *failure)
{
    struct steady steady;
    struct surge surge = {0};
    struct filling filling = {0};
    const bool with_surge = (runs & STUDY_SURGE) != 0;
    const bool with_filling = (runs & STUDY_FILL) != 0;
    row_init(row);
    if (!take_solver(bench, site->network, failure) ||
        !steady_init(&steady, site->network, arena, failure) ||
        !steady_solve(bench->solver, site->network, &site->water, &steady_defaults, &steady,
                      failure)) {
        return false;
    }
    if (!is_answer(&steady)) {
        tell_no_steady(site->network, &steady, row);
        return true;
    }
    if (with_surge && !solve_surge(site, &steady, &surge, arena, row, failure)) {
        return false;
    }
    const bool is_surged = with_surge && row->status == ROW_DONE;
    if (with_filling && !solve_filling(site, &filling, arena, row, failure)) {
        return false;
    }
    const bool is_filled = with_filling && row->status != ROW_NO_FILLING;
    const struct measure_view view = {site, &steady, is_surged ? &surge : NULL,
                                      is_filled ? &filling : NULL};
    for (int i = 0; i < measure_count; i++) {
        row->value[i] = measure_value(&measures[i], &view);
    }
    return true;
}
