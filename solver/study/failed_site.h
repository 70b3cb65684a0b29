/* Failed site: a site with one thing in it failed. */
#ifndef SOLVER_STUDY_FAILED_SITE_H
#define SOLVER_STUDY_FAILED_SITE_H

#include "models/arena.h"
#include "models/fitting.h"
#include "models/pump.h"
#include "models/site.h"
#include "models/strainer.h"

enum failed_kind {
    FAILED_NOTHING, /* the site as it should be, for comparison */
    FAILED_STUCK_OPEN,
    FAILED_STUCK_SHUT,
    FAILED_LEAKING, /* failures_leak of the bore stays open */
    FAILED_DEBRIS, /* failures_debris of the bore stays open, and failures_debris_area of it is lost
                    */
    FAILED_SPRING_GONE,
    FAILED_PUMP,
    FAILED_POWER,
    FAILED_KIND_COUNT
};

extern const double failures_leak;   /* share of the bore, 0.01 */
extern const double failures_debris; /* 0.10 */
extern const double
    failures_debris_area; /* share of the bore that debris lies in, 0.5: as screens are
                             reckoned half blocked (common practice). What is left is
                             a sharp-edged opening; its loss (strainer_plate_loss, 4.0
                             velocity heads) is added to the valve's own. */

struct failed_site {
    struct site site; /* the caller's with network, surge plan and what follows changed */
    struct network *network;
    struct non_return valve;
    struct fitting open;
    struct strainer shut;
    struct pump_unit *units; /* [pump_place_count] */
    struct surge_event *events;
};

/* Whether a valve has this way to fail (only one with a spring loses it). */
bool failed_site_can(const struct site *site, enum failed_kind kind, int link);

/* Copies `site` into `arena` and lets `link` fail. The surge plan is: the power of all running
 * pumps fails, or that of the one. False: memory ended. */
MUST_CHECK bool failed_site_init(struct failed_site *failed, const struct site *site,
                                 enum failed_kind kind, int link, struct arena *arena,
                                 struct failure *failure);

/* Lets the pumps run as the case has them, but for that of link `stopped` (NETWORK_NONE: none). */
void failed_site_run_pumps(struct failed_site *failed, const struct site *site, int stopped);

/* Lets all stand. */
void failed_site_rest(struct failed_site *failed);

#endif
