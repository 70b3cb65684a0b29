#include "tests/bench/peer_kinsol.h"

#include "models/element.h"
#include "tests/bench/measure.h"

#include <kinsol/kinsol.h>
#include <nvector/nvector_serial.h>
#include <stdlib.h>
#include <sunlinsol/sunlinsol_klu.h>
#include <sunmatrix/sunmatrix_sparse.h>

struct problem {
    const struct network *network;
    const struct water *water;
    int links;
    int rows;
    int *row;       /* [points] number among the unknowns, or -1: held */
    int *from_link; /* [points + 1] place in `at` of each point's links */
    int *at;        /* [2 links] */
};

static double head_of(const struct problem *problem, const double x[], int point)
{
    const int row = problem->row[point];
    return row < 0 ? problem->network->points[point].held_head : x[row];
}

static int residual(N_Vector unknown, N_Vector value, void *data)
{
    const struct problem *problem = data;
    const struct network *network = problem->network;
    const double *x = N_VGetArrayPointer(unknown);
    double *f = N_VGetArrayPointer(value);
    for (int i = 0; i < network->point_count; i++) {
        if (problem->row[i] >= 0) {
            f[problem->row[i]] = network->points[i].draw;
        }
    }
    for (int e = 0; e < problem->links; e++) {
        const struct link *link = &network->links[e];
        f[e] = link->element->drop(link->data, problem->water, x[e]).head -
               head_of(problem, x, link->from) + head_of(problem, x, link->to);
        if (problem->row[link->from] >= 0) {
            f[problem->row[link->from]] += x[e];
        }
        if (problem->row[link->to] >= 0) {
            f[problem->row[link->to]] -= x[e];
        }
    }
    return 0;
}

static int jacobian(N_Vector unknown, N_Vector value, SUNMatrix matrix, void *data, N_Vector one,
                    N_Vector two)
{
    (void)value;
    (void)one;
    (void)two;
    const struct problem *problem = data;
    const struct network *network = problem->network;
    const double *x = N_VGetArrayPointer(unknown);
    sunindextype *start = SUNSparseMatrix_IndexPointers(matrix);
    sunindextype *index = SUNSparseMatrix_IndexValues(matrix);
    double *entry = SUNSparseMatrix_Data(matrix);
    sunindextype next = 0;
    for (int e = 0; e < problem->links; e++) {
        const struct link *link = &network->links[e];
        const int ends[] = {problem->row[link->from], problem->row[link->to]};
        start[e] = next;
        index[next] = e;
        entry[next++] = fmax(link->element->drop(link->data, problem->water, x[e]).slope, 1e-6);
        for (int side = 0; side < 2; side++) {
            if (ends[side] >= 0) {
                index[next] = ends[side];
                entry[next++] = side == 0 ? 1.0 : -1.0;
            }
        }
    }
    for (int i = 0; i < network->point_count; i++) {
        if (problem->row[i] >= 0) {
            start[problem->row[i]] = next;
            for (int k = problem->from_link[i]; k < problem->from_link[i + 1]; k++) {
                index[next] = problem->at[k];
                entry[next++] = network->links[problem->at[k]].from == i ? -1.0 : 1.0;
            }
        }
    }
    start[problem->links + problem->rows] = next;
    return 0;
}

static bool lay_out(struct problem *problem)
{
    const struct network *network = problem->network;
    const size_t points = (size_t)network->point_count + 2;
    problem->links = network->link_count;
    problem->row = malloc(points * sizeof *problem->row);
    problem->from_link = calloc(points, sizeof *problem->from_link);
    problem->at = malloc(2 * ((size_t)problem->links + 1) * sizeof *problem->at);
    if (!problem->row || !problem->from_link || !problem->at) {
        return false;
    }
    for (int i = 0; i < network->point_count; i++) {
        problem->row[i] = network->points[i].is_held ? -1 : problem->links + problem->rows++;
    }
    for (int e = 0; e < problem->links; e++) {
        problem->from_link[network->links[e].from + 1]++;
        problem->from_link[network->links[e].to + 1]++;
    }
    for (int i = 0; i < network->point_count; i++) {
        problem->from_link[i + 1] += problem->from_link[i];
    }
    for (int e = problem->links - 1; e >= 0; e--) { /* fills each point's links from behind */
        problem->at[--problem->from_link[network->links[e].from + 1]] = e;
        problem->at[--problem->from_link[network->links[e].to + 1]] = e;
    }
    for (int i = 0; i < network->point_count; i++) { /* starts now stand one place too far */
        problem->from_link[i] = problem->from_link[i + 1];
    }
    problem->from_link[network->point_count] = 2 * problem->links;
    return true;
}

static void free_problem(struct problem *problem)
{
    free(problem->row);
    free(problem->from_link);
    free(problem->at);
}

/* Every pipe at a usual velocity in the way it is written, heads at their mean. */
static void begin(const struct problem *problem, double x[], double scale[], double weight[])
{
    const struct network *network = problem->network;
    double head = 0.0;
    int held = 0;
    for (int i = 0; i < network->point_count; i++) {
        head += network->points[i].is_held ? network->points[i].held_head : 0.0;
        held += network->points[i].is_held ? 1 : 0;
    }
    for (int e = 0; e < problem->links; e++) {
        x[e] = 0.7 * network->links[e].area;
        scale[e] = 1.0 / x[e];
        weight[e] = 1.0;
    }
    for (int i = problem->links; i < problem->links + problem->rows; i++) {
        x[i] = head / (held > 0 ? held : 1);
        scale[i] = 0.02;
        weight[i] = 1e3;
    }
}

static bool solve(struct problem *problem, N_Vector vector[3], SUNContext context, long setups,
                  struct peer_kinsol *told)
{
    const sunindextype size = problem->links + problem->rows;
    SUNMatrix matrix =
        SUNSparseMatrix(size, size, 5 * (sunindextype)problem->links, CSC_MAT, context);
    SUNLinearSolver solver = SUNLinSol_KLU(vector[0], matrix, context);
    void *kinsol = KINCreate(context);
    SUNLinSol_KLUGetCommon(solver)->btf = 0; /* one block; the search for more took most time */
    bool is_good = KINInit(kinsol, residual, vector[0]) == KIN_SUCCESS &&
                   KINSetUserData(kinsol, problem) == KIN_SUCCESS &&
                   KINSetLinearSolver(kinsol, solver, matrix) == KIN_SUCCESS &&
                   KINSetJacFn(kinsol, jacobian) == KIN_SUCCESS &&
                   KINSetMaxSetupCalls(kinsol, setups) == KIN_SUCCESS &&
                   KINSetFuncNormTol(kinsol, 1e-8) == KIN_SUCCESS &&
                   KINSetScaledStepTol(kinsol, 1e-14) == KIN_SUCCESS &&
                   KINSetNumMaxIters(kinsol, 200) == KIN_SUCCESS;
    KINSetErrFile(kinsol, NULL);
    if (is_good) {
        is_good = KINSol(kinsol, vector[0], KIN_LINESEARCH, vector[1], vector[2]) >= 0;
        (void)KINGetNumNonlinSolvIters(kinsol, &told->steps);
        (void)KINGetNumJacEvals(kinsol, &told->factorisations);
        (void)KINGetFuncNorm(kinsol, &told->residual);
    }
    KINFree(&kinsol);
    (void)SUNLinSolFree(solver);
    SUNMatDestroy(matrix);
    return is_good;
}

bool peer_kinsol(const struct network *network, const struct water *water, long setups,
                 double *head, double *flow, struct peer_kinsol *told)
{
    struct problem problem = {.network = network, .water = water};
    N_Vector vector[3];
    SUNContext context;
    *told = (struct peer_kinsol){0};
    const double begun = measure_seconds();
    if (!lay_out(&problem) || SUNContext_Create(NULL, &context) != 0) {
        free_problem(&problem);
        return false;
    }
    for (int i = 0; i < 3; i++) {
        vector[i] = N_VNew_Serial(problem.links + problem.rows, context);
    }
    double *x = N_VGetArrayPointer(vector[0]);
    begin(&problem, x, N_VGetArrayPointer(vector[1]), N_VGetArrayPointer(vector[2]));
    const bool is_good = solve(&problem, vector, context, setups, told);
    told->seconds = measure_seconds() - begun;
    for (int i = 0; i < network->point_count; i++) {
        head[i] = head_of(&problem, x, i);
    }
    for (int e = 0; e < problem.links; e++) {
        flow[e] = x[e];
    }
    for (int i = 0; i < 3; i++) {
        N_VDestroy(vector[i]);
    }
    (void)SUNContext_Free(&context);
    free_problem(&problem);
    return is_good;
}
