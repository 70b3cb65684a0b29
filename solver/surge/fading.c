#include "solver/surge/fading.h"

#include <assert.h>
#include <math.h>

void fading_add(struct fading *fading, double share, double decay)
{
    if (!(share > 0.0)) {
        return;
    }
    const int k = fading->count++;
    assert(k < FADING_TERMS);
    fading->share[k] = share;
    fading->fade[k] = exp(-decay);
    fading->push[k] = -expm1(-decay) * share;
    fading->total += share;
}

double fading_start(const struct fading *fading, double value, double term[])
{
    double sum = 0.0;
    for (int k = 0; k < fading->count; k++) {
        term[k] = fading->share[k] * value;
        sum += term[k];
    }
    return sum;
}

double fading_step(const struct fading *fading, double value, double term[])
{
    double sum = 0.0;
    for (int k = 0; k < fading->count; k++) {
        term[k] = fading->fade[k] * term[k] + fading->push[k] * value;
        sum += term[k];
    }
    return sum;
}
