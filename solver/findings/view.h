/* View: what every rule looks at, and the small questions that several rules ask of it. */
#ifndef SOLVER_FINDINGS_VIEW_H
#define SOLVER_FINDINGS_VIEW_H

#include "models/site.h"
#include "solver/findings/finding.h"
#include "solver/steady/steady.h"

struct view {
    const struct site *site;
    const struct network *network;
    const struct steady *steady;
    const struct steady *rest; /* all pumps stopped; NULL: that was not solved */
    const double *back_head;   /* [valve_count] m on each valve at rest if it alone holds; NAN */
    struct findings *findings;
};

/* The pipe of a link, or NULL. */
const struct pipe *view_pipe(const struct view *view, int link);

/* Gauge pressure head, m, at a point: head less elevation. */
double view_pressure_head(const struct view *view, int point);

/* The valve's or pump's data of a place. */
const struct non_return *view_valve(const struct view *view, const struct valve_place *place);
const struct pump_unit *view_pump(const struct view *view, const struct pump_place *place);

/* Adds `rule`, a constant with its words, source and usual limit, about a link or a point with its
 * number. `limit` NAN: the rule's own. `failed`: raise it to a limit exceeded. */
struct told {
    double value;
    double limit;
    bool failed;
};
void view_tell_link(const struct view *view, const struct finding *rule, int link,
                    const struct told *told);
void view_tell_point(const struct view *view, const struct finding *rule, int point,
                     const struct told *told);

/* A flow too small to mean anything, m3/s. */
extern const double view_still; /* 1e-9 */

#endif
