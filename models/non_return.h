/* Non-return valve: one description; steady loss, opening and closing motion follow from it.
 *
 * Moving part: s = position / full travel, 0 shut, 1 open. Across the valve
 *     dH = K(s) Q|Q| / (2 g A^2),  K(s) = full_open_loss / max(s, s_floor)^2,
 * and at rest the force balance  rho g A_seat dH = closing force(s)  gives the steady law: shut up
 * to the opening head, then s rises with flow to 1 at the full-open velocity, then K alone. The
 * balance head rises evenly with s from opening_head to K v_full^2/2g; where that is below the
 * opening head, the opening head rules: the drop stays level at it until K v^2/2g has reached it,
 * and only then it is fully open. Without a full-open velocity the opening head keeps being
 * paid: dH = opening_head + K v^2/2g (what makers' tables of sprung valves show); the closing force
 * is then preload/(1 - s^2), the same law read as a balance.
 * A leak is a part that cannot shut the last gap: the valve never loses more than an orifice of
 * that area would, in both directions.
 * Stated numbers of the closing force (own.has_force) rule instead; where such a force falls as the
 * part opens further (a weight past its level arm), the steady law stays level at its highest.
 * s_floor bounds K only against reverse flow (and where there is no opening head).
 * Motion: poppet or ball  m x'' = rho g A_seat dH - force(s) - c x'; flap the same about its pin.
 * Weight enters by mounting. */
#ifndef MODELS_NON_RETURN_H
#define MODELS_NON_RETURN_H

#include "models/element.h"
#include "models/non_return_own.h"
#include "models/non_return_state.h"

enum non_return_form {
    NON_RETURN_SPRING_CONE,
    NON_RETURN_BALL,
    NON_RETURN_SWING_FLAP,
    NON_RETURN_WAFER_FLAP,
    NON_RETURN_DUAL_PLATE,
    NON_RETURN_AXIAL_NOZZLE,
    NON_RETURN_TILTING_DISC,
    NON_RETURN_DUCKBILL,
    NON_RETURN_LIFT,
    NON_RETURN_FOOT_POPPET,
    NON_RETURN_FOOT_BALL,
    NON_RETURN_FOOT_FLAP,
    NON_RETURN_IDEAL, /* shuts at zero flow, no inertia: the reference */
    NON_RETURN_FORM_COUNT
};

/* How the pipe stands where the valve sits, seen along the arrow. */
enum mounting { MOUNTING_UP, MOUNTING_LEVEL, MOUNTING_DOWN, MOUNTING_COUNT };

/* How one gets at it. */
enum non_return_service {
    SERVICE_UNIONS,
    SERVICE_FLANGES,
    SERVICE_COVER,
    SERVICE_LIFT_OUT,
    SERVICE_NONE
};

/* One kind of valve in one size, complete: every number in SI, derived or stated. */
struct non_return {
    const char *type; /* catalogue or the case's own name: "spring cone" */
    enum non_return_form form;
    enum mounting mounting;
    double bore;               /* m, nominal bore its K refers to */
    double port_area;          /* m2, narrowest free way */
    double opening_head;       /* m in this mounting, >= 0 */
    double full_open_loss;     /* K, > 0; ideal form also 0 */
    double full_open_velocity; /* m/s in `bore`; 0: the opening head keeps being paid (see above) */
    double extra_loss;         /* K of a strainer and of reducers on it, in `bore`; 0: none */
    double seat_area;          /* m2 on which the head difference acts */
    bool is_swing;             /* turns on a pin: inertia, travel and damping are about it */
    double inertia;            /* kg, or kg m2 about the pin; with the added mass of water */
    double travel;             /* m, or rad */
    double arm;                /* m, pin to disc centre; 1 for a lift */
    double damping;            /* N s/m, or N m s */
    double closing_force;      /* N (or N m) on the shut part in this mounting: spring and weight */
    double opening_floor;      /* s_floor, share, > 0 */
    double seating_head;       /* m of back head that makes it tight; 0: spring does */
    double holding_head;       /* m of back head that it holds at most; 0: no less than its pipe */
    double leak_area;          /* m2 of the gap when shut; 0: tight */
    double restitution;        /* of its stops, 0 to 1 */
    bool has_strainer;
    bool spring_in_stream;
    unsigned mountings;         /* bit (1u << enum mounting) for each allowed */
    bool level_needs_back_head; /* level only with standing head behind it */
    int debris;                 /* 1 very good .. 5 poor */
    int slam;                   /* 1 quiet .. 6, general ranking */
    enum non_return_service service;
    bool is_placeholder;       /* some number above has no published figure behind it */
    const char *source;        /* what stands behind the numbers, with marks */
    struct non_return_own own; /* what the case states beyond these; all 0: nothing */
};

extern const struct element non_return_element;

/* Share open, 0.95, from which people are told that it stands fully open. By the force balance of a
 * part whose closing force rises evenly from nothing or more, s^2 (opening + rise s) ~ v^2: the
 * velocity is then between 0.95^1.5 = 0.926 and 0.95 of the full-open velocity, and the loss within
 * 1/0.95^2 = 1.11 of K fully open. A catalogue's full-open velocity is not known closer than that
 * (Crane TP-410 gives it by rounded factors for all makes of a form), nor is a duty point by the
 * friction of its pipes. */
extern const double non_return_fully_open;

/* Flow, m3/s, from which it stands fully open to the last bit; infinite if it never does. */
double non_return_full_open_flow(const struct non_return *valve, const struct water *water);

/* Closing force (N or N m) at share open s, from opening_head and full_open_velocity or the four
 * numbers of its own, and its derivative by s (NULL: not wanted). */
double non_return_force(const struct non_return *valve, const struct water *water, double s,
                        double *slope);

/* Force (N or N m) on the part for each m of head across the valve: rho g A_seat arm. */
double non_return_lift(const struct non_return *valve, const struct water *water);

/* Full-open velocity, m/s, where the closing force fully open (preload + rate x travel) is this. */
double non_return_velocity_of_force(const struct non_return *valve, const struct water *water,
                                    double force);

/* Steady law, with strainer, and share open; both at any flow. */
struct drop non_return_drop(const struct non_return *valve, const struct water *water, double flow);
double non_return_opening(const struct non_return *valve, const struct water *water, double flow);

/* Largest K the leak allows, that of an orifice of leak_area; infinite for a tight valve. */
double non_return_leak_loss(const struct non_return *valve);

/* Every number finite and in its range; the first fault is told. */
MUST_CHECK bool non_return_check(const struct non_return *valve, struct place place,
                                 struct failure *failure);

struct non_return_type {
    const char *name; /* "spring cone" */
    enum non_return_form form;
    bool is_foot;    /* stands at the bottom end of a suction pipe */
    double smallest; /* m, nominal bores it is made in */
    double largest;
    bool is_placeholder; /* some number of the row has no published figure behind it */
    const char *source;  /* per row, which numbers are published, which placeholders */
};

int non_return_type_count(void);
const struct non_return_type *non_return_type_at(int index);
const struct non_return_type *non_return_type_find(const char *name, const char **nearest);

/* The valve of this type for nominal bore `bore` m (DN) in this mounting: all numbers filled from
 * the catalogue and, where it has none, from the rules of models/non_return_catalogue.c. */
void non_return_make(const struct non_return_type *type, double bore, enum mounting mounting,
                     const struct water *water, struct non_return *valve);

/* Nominal sizes on offer, m: DN15 .. DN300, rising; the index of the one nearest a bore. */
int non_return_size_count(void);
double non_return_size_at(int index);
int non_return_size_nearest(double bore);

#endif
