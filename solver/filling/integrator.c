#include "solver/filling/integrator.h"

#include <cvode/cvode.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <stdlib.h>
#include <string.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

/* Weight of an unknown without error control beside 1 for the others. */
static const double no_weight = 1e-30;

struct integrator {
    struct integrator_system system;
    SUNContext context;
    void *cvode;
    N_Vector y;
    N_Vector moved; /* for differences */
    N_Vector rate;
    SUNMatrix matrix;
    SUNLinearSolver linear;
};

static int code_of(enum rates_ending ending)
{
    return ending == RATES_FOUND ? 0 : ending == RATES_NONE ? 1 : -1;
}

static int find_rates(sunrealtype time, N_Vector y, N_Vector rate, void *user)
{
    struct integrator *integrator = user;
    return code_of(integrator->system.rates(integrator->system.user, time, N_VGetArrayPointer(y),
                                            N_VGetArrayPointer(rate)));
}

static int find_roots(sunrealtype time, N_Vector y, sunrealtype *root, void *user)
{
    struct integrator *integrator = user;
    const enum rates_ending ending =
        integrator->system.roots(integrator->system.user, time, N_VGetArrayPointer(y), root);
    return code_of(ending) == 0 ? 0 : -1; /* a root function cannot be tried again */
}

static int find_weights(N_Vector y, N_Vector weight, void *user)
{
    const struct integrator *integrator = user;
    const struct integrator_system *system = &integrator->system;
    const double *at = N_VGetArrayPointer(y);
    double *result = N_VGetArrayPointer(weight);
    int controlled = 0;
    for (int i = 0; i < system->count; i++) {
        controlled += isfinite(system->scale[i]);
    }
    /* CVODE's norm is a mean over all unknowns. */
    const double mean = sqrt((double)system->count / controlled);
    for (int i = 0; i < system->count; i++) {
        const double allowed = system->accuracy * (fabs(at[i]) + system->scale[i]);
        result[i] = isfinite(allowed) ? mean / allowed : no_weight;
    }
    return 0;
}

static int find_matrix(sunrealtype time, N_Vector y, N_Vector rate, SUNMatrix matrix, void *user,
                       N_Vector one, N_Vector two, N_Vector three)
{
    (void)one;
    (void)two;
    (void)three;
    /* Differences of half the digits over the noise of a steady solution. */
    static const double share = 1e-6;
    struct integrator *integrator = user;
    const struct integrator_system *system = &integrator->system;
    const double *base = N_VGetArrayPointer(rate);
    double *moved = N_VGetArrayPointer(integrator->moved);
    double *there = N_VGetArrayPointer(integrator->rate);
    N_VScale(1.0, y, integrator->moved);
    (void)SUNMatZero(matrix);
    for (int j = 0; j < system->controlled; j++) {
        const double before = moved[j];
        moved[j] += share * (fabs(before) + 1e-3 * system->scale[j]);
        const double change = moved[j] - before;
        const enum rates_ending ending = system->rates(system->user, time, moved, there);
        moved[j] = before;
        if (ending != RATES_FOUND) {
            return code_of(ending);
        }
        sunrealtype *column = SM_COLUMN_D(matrix, j);
        for (int i = 0; i < system->count; i++) {
            column[i] = (there[i] - base[i]) / change;
        }
    }
    return 0;
}

/* The type of the message is the library's. NOLINTNEXTLINE(readability-non-const-parameter) */
static void keep_quiet(int code, const char *module, const char *function, char *message,
                       void *user)
{
    (void)code;
    (void)module;
    (void)function;
    (void)message;
    (void)user;
}

static bool make_parts(struct integrator *integrator)
{
    const int count = integrator->system.count;
    if (SUNContext_Create(NULL, &integrator->context) != 0) {
        return false;
    }
    integrator->cvode = CVodeCreate(CV_BDF, integrator->context);
    integrator->y = N_VNew_Serial(count, integrator->context);
    integrator->moved = N_VNew_Serial(count, integrator->context);
    integrator->rate = N_VNew_Serial(count, integrator->context);
    integrator->matrix = SUNDenseMatrix(count, count, integrator->context);
    if (!integrator->cvode || !integrator->y || !integrator->moved || !integrator->rate ||
        !integrator->matrix) {
        return false;
    }
    integrator->linear = SUNLinSol_Dense(integrator->y, integrator->matrix, integrator->context);
    return integrator->linear != NULL;
}

static bool join_parts(struct integrator *integrator)
{
    void *cvode = integrator->cvode;
    N_VConst(0.0, integrator->y);
    return CVodeInit(cvode, find_rates, 0.0, integrator->y) == CV_SUCCESS &&
           CVodeSetErrHandlerFn(cvode, keep_quiet, NULL) == CV_SUCCESS &&
           CVodeSetUserData(cvode, integrator) == CV_SUCCESS &&
           CVodeWFtolerances(cvode, find_weights) == CV_SUCCESS &&
           CVodeSetLinearSolver(cvode, integrator->linear, integrator->matrix) == CV_SUCCESS &&
           CVodeSetJacFn(cvode, find_matrix) == CV_SUCCESS &&
           CVodeSetNoInactiveRootWarn(cvode) == CV_SUCCESS &&
           CVodeRootInit(cvode, integrator->system.root_count, find_roots) == CV_SUCCESS;
}

struct integrator *integrator_new(const struct integrator_system *system, struct failure *failure)
{
    if (system->count > INTEGRATOR_COUNT_MAX) {
        (void)fail(failure, FAILURE_INPUT, (struct place){0},
                   "filling: %d volumes to follow; at most %d are taken: fewer tanks, pumps or "
                   "open ends are needed",
                   system->count, INTEGRATOR_COUNT_MAX);
        return NULL;
    }
    struct integrator *integrator = calloc(1, sizeof *integrator);
    if (!integrator) {
        (void)fail_memory(failure, "the time steps");
        return NULL;
    }
    integrator->system = *system;
    if (!make_parts(integrator) || !join_parts(integrator)) {
        (void)fail_memory(failure, "the time steps");
        integrator_free(integrator);
        return NULL;
    }
    return integrator;
}

void integrator_free(struct integrator *integrator)
{
    if (!integrator) {
        return;
    }
    CVodeFree(&integrator->cvode);
    if (integrator->linear) {
        (void)SUNLinSolFree(integrator->linear);
    }
    if (integrator->matrix) {
        SUNMatDestroy(integrator->matrix);
    }
    N_Vector vectors[] = {integrator->y, integrator->moved, integrator->rate};
    for (int i = 0; i < 3; i++) {
        if (vectors[i]) {
            N_VDestroy(vectors[i]);
        }
    }
    if (integrator->context) {
        (void)SUNContext_Free(&integrator->context);
    }
    free(integrator);
}

bool integrator_restart(struct integrator *integrator, double time, const double y[],
                        struct failure *failure)
{
    memcpy(N_VGetArrayPointer(integrator->y), y, (size_t)integrator->system.count * sizeof *y);
    return CVodeReInit(integrator->cvode, time, integrator->y) == CV_SUCCESS ||
           fail_memory(failure, "the time steps");
}

enum step_ending integrator_step(struct integrator *integrator, double stop, double *time,
                                 double y[])
{
    sunrealtype reached = *time;
    (void)CVodeSetStopTime(integrator->cvode, stop);
    const int code = CVode(integrator->cvode, stop, integrator->y, &reached, CV_ONE_STEP);
    if (code >= 0) {
        *time = reached;
        memcpy(y, N_VGetArrayPointer(integrator->y), (size_t)integrator->system.count * sizeof *y);
    }
    switch (code) {
    case CV_SUCCESS:
        return STEP_TAKEN;
    case CV_TSTOP_RETURN:
        return STEP_AT_STOP;
    case CV_ROOT_RETURN:
        return STEP_AT_ROOT;
    case CV_FIRST_RHSFUNC_ERR:
    case CV_REPTD_RHSFUNC_ERR:
    case CV_UNREC_RHSFUNC_ERR:
    case CV_RTFUNC_FAIL:
        return STEP_NO_ANSWER;
    default:
        return STEP_FAILED;
    }
}

void integrator_within(const struct integrator *integrator, double time, double y[])
{
    N_Vector into = integrator->moved;
    if (CVodeGetDky(integrator->cvode, time, 0, into) == CV_SUCCESS) {
        memcpy(y, N_VGetArrayPointer(into), (size_t)integrator->system.count * sizeof *y);
    }
}
