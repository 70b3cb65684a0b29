#include "solver/choose/judge.h"

#include <math.h>

/* Default limits, where the case says nothing. */
static const double DEFAULT_FLOW_SHARE = 0.8; /* our rule: a valve that takes more is too small */
static const double DEFAULT_SUCTION_MARGIN = 0.5; /* m, ISO 5199 and old practice (from memory) */
static const double DEFAULT_SLAM_SHARE = 0.5; /* of the class; UK CP 312 (1977) range of a cycle */
static const double DEFAULT_VELOCITY_SUCTION = 1.5;  /* m/s, trade practice */
static const double DEFAULT_VELOCITY_DELIVERY = 2.4; /* m/s, pool code 8 ft/s */
static const double VAPOUR_MARGIN = 2.0; /* m above boiling at the lowest: dissolved air comes out
                                            before; common practice */
enum { DEBRIS_LIMIT = 3, DEBRIS_WORST = 5 };

static double stated_or(double stated, double otherwise)
{
    return isnan(stated) ? otherwise : stated;
}

struct limits judge_limits(const struct site *site)
{
    const struct limits *given = &site->limits;
    return (struct limits){
        .least_flow_share = stated_or(given->least_flow_share, DEFAULT_FLOW_SHARE),
        .suction_margin = stated_or(given->suction_margin, DEFAULT_SUCTION_MARGIN),
        .reverse_velocity = given->reverse_velocity,
        .slam_head_share = stated_or(given->slam_head_share, DEFAULT_SLAM_SHARE),
        .velocity_suction = stated_or(given->velocity_suction, DEFAULT_VELOCITY_SUCTION),
        .velocity_delivery = stated_or(given->velocity_delivery, DEFAULT_VELOCITY_DELIVERY)};
}

static void record(struct candidate *candidate, enum requirement requirement, bool is_met,
                   double value, double limit)
{
    candidate->judgements[requirement] =
        (struct judgement){is_met ? VERDICT_MET : VERDICT_FAILED, value, limit};
    candidate->failed_count += is_met ? 0 : 1;
}

/* A requirement that the reference misses too is the site's fault and fails no candidate. */
static void record_beside(struct candidate *candidate, enum requirement requirement, bool is_met,
                          bool reference_meets, double value, double limit)
{
    if (!is_met && !reference_meets) {
        candidate->judgements[requirement] = (struct judgement){VERDICT_SITE, value, limit};
        return;
    }
    record(candidate, requirement, is_met, value, limit);
}

static void judge_mounting(struct candidate *candidate)
{
    const struct non_return *valve = &candidate->valve;
    const unsigned bit = 1u << (unsigned)valve->mounting;
    const double back_head = candidate->measures.back_head;
    const bool needs_back_head = valve->mounting == MOUNTING_LEVEL && valve->level_needs_back_head;
    const bool is_met = (valve->mountings & bit) != 0 &&
                        (!needs_back_head || !isfinite(back_head) || back_head > 0);
    record(candidate, REQUIREMENT_MOUNTING, is_met, (double)valve->mounting, 0.0);
}

/* A strainer keeps what clogs out of the valve; it must be cleaned instead. */
static void judge_debris(const struct site *site, struct candidate *candidate)
{
    const struct non_return *valve = &candidate->valve;
    const bool has_fibres = site->circumstances.has_fibres;
    if (!has_fibres && !site->circumstances.has_grit) {
        return;
    }
    int grade = has_fibres && valve->spring_in_stream ? DEBRIS_WORST : valve->debris;
    if (valve->has_strainer && grade > DEBRIS_LIMIT) {
        grade = DEBRIS_LIMIT;
    }
    record(candidate, REQUIREMENT_DEBRIS, grade <= DEBRIS_LIMIT, (double)grade,
           (double)DEBRIS_LIMIT);
}

void judge_steady(const struct site *site, const struct valve_place *place,
                  const struct measures *reference, struct candidate *candidate)
{
    const struct limits limits = judge_limits(site);
    const struct measures *found = &candidate->measures;
    const bool opens = found->is_solved && found->flow > 0.0;
    judge_mounting(candidate);
    judge_debris(site, candidate);
    record(candidate, REQUIREMENT_OPENS, opens, found->flow, 0.0);
    if (!opens) {
        return;
    }
    const double share = reference->flow > 0.0 ? found->flow / reference->flow : 1.0;
    candidate->flow_lost = 1.0 - share;
    record(candidate, REQUIREMENT_FLOW, share >= limits.least_flow_share, share,
           limits.least_flow_share);
    if (isfinite(found->back_head)) {
        record(candidate, REQUIREMENT_SEATS, found->back_head >= candidate->valve.seating_head,
               found->back_head, candidate->valve.seating_head);
    }
    if (place->is_on_suction && isfinite(found->suction_margin)) {
        record_beside(candidate, REQUIREMENT_SUCTION,
                      found->suction_margin >= limits.suction_margin,
                      reference->suction_margin >= limits.suction_margin, found->suction_margin,
                      limits.suction_margin);
    }
}

void judge_surge(const struct site *site, const struct measures *reference,
                 struct candidate *candidate)
{
    const struct limits limits = judge_limits(site);
    const struct measures *found = &candidate->measures;
    if (!found->is_surged) {
        return;
    }
    const double share = found->slam_head / found->allowed_head;
    if (isfinite(share)) {
        record(candidate, REQUIREMENT_SLAM, share <= limits.slam_head_share, share,
               limits.slam_head_share);
    }
    if (isfinite(limits.reverse_velocity)) {
        record(candidate, REQUIREMENT_REVERSE, found->reverse_velocity <= limits.reverse_velocity,
               found->reverse_velocity, limits.reverse_velocity);
    }
    if (isfinite(found->highest_share)) {
        record_beside(candidate, REQUIREMENT_PRESSURE, found->highest_share <= 1.0,
                      reference->highest_share <= 1.0, found->highest_share, 1.0);
    }
    if (isfinite(found->lowest_margin)) {
        record_beside(candidate, REQUIREMENT_VAPOUR, found->lowest_margin >= VAPOUR_MARGIN,
                      reference->lowest_margin >= VAPOUR_MARGIN, found->lowest_margin,
                      VAPOUR_MARGIN);
    }
}
