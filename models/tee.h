/* Tee: three legs whose losses hang on how the flow divides or joins.
 *
 * Legs 1 and 2 are the run, of one area; leg 3 is the branch, at an angle t to leg 2. Flows count
 * into the tee. In velocity heads of the run (r = run/branch area, H total head):
 *   dividing run, from 1:  H1 - H2 = q2^2 - 1.5 q2 + 0.5  (q2 = share that goes straight on),
 *       H1 - H3 = 1 + (r q3)^2 - 2 r q3 cos(3t/4): Bassett, Winterbone & Pearson, Proc. IMechE C
 *       215, 2001 (from memory).
 *   joining run, into 2:  momentum along the run, one pressure where the streams meet (Vazsonyi
 *       1944; derived): H1 - H2 = 1 - q1^2 + 2 r q3^2 cos t,  H1 - H3 = q1^2 - (r q3)^2.
 *   branch into both:  the same momentum; the branch's pressure between those of the two ends, each
 *       weighed with the flow to the other (with all to leg 2, that of leg 1).
 *   both into the branch:  between its two ends, where it is the dividing law, linear in the share.
 * The last two are ours where no published law joins the others without a jump. All are quadratic
 * forms in the flows, and agree where a leg's flow changes its sign. They take energy from the
 * stream everywhere for branches of 45 to 135 deg down to a quarter of the run's area.
 *
 * Each leg is a link between the run's pipe and the middle of the tee, whose head is the mean of H1
 * and H2. Nearest monotone law: fixed losses (Crane TP-410). During a surge run the same law holds
 * at every instant (quasi-steady). */
#ifndef MODELS_TEE_H
#define MODELS_TEE_H

#include "models/element.h"

enum { TEE_RUN_1, TEE_RUN_2, TEE_BRANCH, TEE_LEGS };

struct tee {
    double run_area;           /* m2 */
    double branch_area;        /* m2, at most run_area */
    double angle;              /* rad, between branch and leg 2 (pi/2: square), pi/6 to 5 pi/6 */
    int link[TEE_LEGS];        /* its links in the network */
    bool is_outward[TEE_LEGS]; /* the link runs from the middle outward */

    double fixed_loss[TEE_LEGS]; /* derived: K of the nearest law, each on its leg's area */
};

/* The data of one link. */
struct tee_leg {
    const struct tee *tee; /* borrowed */
    int leg;
};

extern const struct element tee_element; /* kind "tee" */

/* Checks the numbers and derives the fixed losses; the first fault is told. */
MUST_CHECK bool tee_init(struct tee *tee, struct place place, struct failure *failure);

/* Total head of each leg above the middle's, m, and its derivatives by_flow[leg][flow], s/m2, at
 * flows into the tee, m3/s. Flows that do not sum to 0 are first brought to it by equal parts. */
void tee_heads(const struct tee *tee, const struct water *water, const double flow[TEE_LEGS],
               double head[TEE_LEGS], double by_flow[TEE_LEGS][TEE_LEGS]);

#endif
