#include "solver/surge/unsteady.h"

#include <math.h>
#include <stdbool.h>

/* Where models/friction.h leaves Hagen-Poiseuille's law. */
static const double laminar_end = 2000.0;

static const double laminar_decay[UNSTEADY_TERMS] = {26.3744, 72.8033, 187.424, 536.626, 1570.60,
                                                     4618.13, 13601.1, 40082.5, 118153,  348316};
static const double laminar_size[UNSTEADY_TERMS] = {1.0,     1.16725, 2.20064, 3.92861, 6.78788,
                                                    11.6761, 20.0612, 34.4541, 59.1642, 101.590};
static const double turbulent_decay[UNSTEADY_TERMS] = {4.78793, 51.0897, 210.868, 765.030, 2731.01,
                                                       9731.44, 34668.5, 123511,  440374,  1590300};
static const double turbulent_size[UNSTEADY_TERMS] = {5.03392, 6.48760, 10.7735, 19.9040, 37.4754,
                                                      70.7117, 133.460, 251.933, 476.597, 932.860};

struct unsteady_weight unsteady_weight_of(double reynolds)
{
    static const double half_root = 0.28209479177387814; /* 1/(2 sqrt(pi)) */
    struct unsteady_weight weight;
    bool is_laminar = !(reynolds > laminar_end);
    double shear = 0.0;
    if (!is_laminar) {
        shear = pow(reynolds, log10(15.29 / pow(reynolds, 0.0567))) / 12.86;
    }
    for (int k = 0; k < UNSTEADY_TERMS; k++) {
        weight.size[k] = is_laminar ? laminar_size[k] : half_root * turbulent_size[k];
        weight.decay[k] = is_laminar ? laminar_decay[k] : turbulent_decay[k] + shear;
    }
    return weight;
}

double unsteady_weight_at(const struct unsteady_weight *weight, double psi)
{
    double sum = 0.0;
    for (int k = 0; k < UNSTEADY_TERMS; k++) {
        sum += weight->size[k] * exp(-weight->decay[k] * psi);
    }
    return sum;
}

struct unsteady unsteady_of(const struct unsteady_weight *weight,
                            const struct unsteady_reach *reach)
{
    struct unsteady unsteady = {.lag = 0.0};
    double square = reach->bore * reach->bore;
    double psi = 4.0 * reach->viscosity * reach->step / square;
    double scale =
        16.0 * reach->viscosity * reach->length / (reach->gravity * square * reach->area);
    for (int k = 0; k < UNSTEADY_TERMS; k++) {
        double decay = weight->decay[k] * psi;
        unsteady.fade[k] = exp(-decay);
        unsteady.gain[k] = scale * weight->size[k] * (-expm1(-decay) / decay);
        unsteady.lag += unsteady.gain[k];
    }
    return unsteady;
}

struct unsteady unsteady_of_pipe(const struct pipe *pipe, double reaches, const struct water *water,
                                 double flow, double step)
{
    const struct friction *friction = &pipe->friction;
    const double area = pipe_area(pipe);
    const double reynolds = fabs(flow) / area * friction->bore / water->viscosity;
    const struct unsteady_weight weight = unsteady_weight_of(reynolds);
    const struct unsteady_reach reach = {
        .length = friction->length / reaches,
        .bore = friction->bore,
        .area = area,
        .viscosity = water->viscosity,
        .gravity = water->gravity,
        .step = step,
    };
    return unsteady_of(&weight, &reach);
}
