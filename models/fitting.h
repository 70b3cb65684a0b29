/* Fitting: anything that costs K v|v|/2g: bend, tee, union, entry, exit, strainer, any stated loss.
 * A small laminar part (K1/Re, the form of Hooper 1981) makes the slope at rest finite.
 * Also the plain resistance h = r Q|Q| of textbook networks. */
#ifndef MODELS_FITTING_H
#define MODELS_FITTING_H

#include "models/element.h"

struct fitting {
    double area;       /* m2, bore area its K refers to */
    double loss;       /* K forward, for the whole row when several equal ones are joined */
    double loss_back;  /* K when flow runs backward; the same as `loss` for most */
    double laminar;    /* K1 of K1/Re; 0: purely quadratic */
    double resistance; /* r, s2/m5; > 0: h = r Q|Q| instead of K */
    bool is_one_way; /* outlet to the air or inlet above water: no flow backward; while things move
                        a mouth (models/mouth.h) */
};

extern const struct element fitting_element; /* kind "fitting" */

/* Built-in kinds: "elbow 90 deg", "bend 45 deg", "tee through" ... with K by bore. */
struct fitting_kind {
    const char *name;
    double per_turbulent_factor; /* N of K = N f_T; 0: K is fixed */
    double fixed_loss;
    double laminar; /* K1 of K1/Re (Hooper 1981); 0: none published */
    const char *source;
};

int fitting_catalogue_count(void);
const struct fitting_kind *fitting_catalogue_at(int index);

/* The kind of this name (case, spaces and hyphens do not matter), or NULL; then, if `nearest` is
 * not NULL, *nearest is the closest name to offer. */
const struct fitting_kind *fitting_catalogue_find(const char *name, const char **nearest);

/* K of a kind in a bore of `bore` m: N f_T with f_T = 0.25/log10(e/(3.7 D))^2, e = 0.04572 mm
 * (Crane TP-410). */
double fitting_kind_loss(const struct fitting_kind *kind, double bore);

#endif
