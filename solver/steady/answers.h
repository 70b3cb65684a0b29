/* Answers: all steady answers of a network along one link whose law may rise and fall: the duty
 * points of a pump with a rising part in its curve.
 *
 * The rest of the network is solved with the link's flow prescribed. The head it leaves missing,
 * law less head difference there, is looked at over the flows: between all flows at which the law
 * falls (only there can more than one answer lie, since the head that the rest of a network gives
 * falls with flow), and outward from these until it changes sign. Each change of sign is narrowed
 * down and finished with the full solver.
 *
 * An answer is stable when a little more flow meets more missing head, which slows it (the slope
 * criterion of any textbook on pumps: the system's curve is steeper than the pump's). Other links
 * of the kind keep to the answer the solver finds for them: it is one link's flow that is varied.
 */
#ifndef SOLVER_STEADY_ANSWERS_H
#define SOLVER_STEADY_ANSWERS_H

#include "solver/steady/steady.h"

enum { STEADY_ANSWERS_MOST = 8 };

struct steady_answer {
    double flow; /* m3/s through the link */
    bool is_stable;
    struct steady steady;
};

struct steady_answers {
    int link;
    int count; /* in order of rising flow */
    struct steady_answer items[STEADY_ANSWERS_MOST];
};

/* True when the law of the link falls with flow somewhere, so that there may be several answers. */
bool steady_may_have_several(const struct network *network, const struct water *water, int link);

/* Finds the answers along `link`, which has a coupling without partners. Arrays live in `arena`.
 * False: memory. */
MUST_CHECK bool steady_answers_find(const struct network *network, const struct water *water,
                                    int link, struct steady_answers *answers, struct arena *arena,
                                    struct failure *failure);

#endif
