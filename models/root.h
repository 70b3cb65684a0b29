/* Root: the zero of one rising function of one variable.
 * Newton with a bracket (Press et al., Numerical Recipes, ch. 9.4: a step that leaves the bracket
 * is replaced by a halving). No allocation. */
#ifndef MODELS_ROOT_H
#define MODELS_ROOT_H

struct root_value {
    double value;
    double slope;
};

/* The function; `user` is what it works on. */
typedef struct root_value (*root_function)(const void *user, double x);

/* Where `function` crosses zero from below between `lower` and `upper` (either may be infinite),
 * to round-off, starting from `guess`. If it never crosses, the end it tends to. */
double root_find(root_function function, const void *user, double guess, double lower,
                 double upper);

#endif
