/* Types of non-return valves as rows of numbers; what models/non_return_catalogue.c makes a valve
 * of. Pressures and losses by nominal size, the rest for the whole type. */
#ifndef MODELS_CATALOGUE_NON_RETURN_TYPES_H
#define MODELS_CATALOGUE_NON_RETURN_TYPES_H

#include "models/non_return.h"

enum { NON_RETURN_SIZES = 14 };

enum moving_part {
    PART_DISC, /* moves along the stream: disc, cone, poppet, lips */
    PART_BALL,
    PART_FLAP /* turns about a pin */
};

struct non_return_row {
    struct non_return_type type;
    double spring[NON_RETURN_SIZES]; /* Pa on the seat area that the spring alone holds */
    double weight[NON_RETURN_SIZES]; /* Pa, submerged weight of the part; a ball's is computed */
    double weight_share[MOUNTING_COUNT];       /* of the weight that shuts it: up, level, down */
    double turbulent_factor[NON_RETURN_SIZES]; /* N of K = N f_T; 0: loss stands below */
    double loss[NON_RETURN_SIZES];             /* K fully open */
    double full_velocity;                      /* m/s when fully open; 0: from full_ratio */
    double full_ratio;       /* head when fully open/opening head; 0 too: opening head paid on */
    double port_share;       /* of bore area */
    double seat_share;       /* of bore area */
    double relative_density; /* of the part to water */
    double diameter;         /* of the part, in bores */
    double thickness;        /* of a flap, in bores */
    double travel;           /* in bores, or rad for a flap */
    double arm;              /* in bores, pin to centre of a flap */
    double seating_head;     /* m */
    double holding_head;     /* m of back head at most; 0: no less than its pipe */
    double strainer_loss;    /* K on top of the valve's own */
    double largest_down;     /* m, largest size allowed in down-flow; 0: as mountings says */
    enum moving_part part;
    unsigned mountings;
    int debris;
    int slam;
    enum non_return_service service;
    bool has_strainer;
    bool spring_in_stream;
    bool level_needs_back_head;
};

int non_return_row_count(void);
const struct non_return_row *non_return_row_at(int index);

/* m at which a ball lifts in up-flow: weight less buoyancy on the seat, (s_b - 1)(2/3) D^3/d^2. */
double non_return_ball_opening_head(double relative_density, double ball, double seat);

/* m, DN15 .. DN300. */
extern const double non_return_sizes[NON_RETURN_SIZES];

#endif
