#include "solver/choose/judge.h"

#include <math.h>

/* Default limits, where the case says nothing. */
static const double DEFAULT_FLOW_SHARE = 0.8; /* our rule: a valve that takes more is too small */
static const double DEFAULT_SUCTION_MARGIN = 0.5; /* m, ISO 5199 and old practice (from memory) */
static const double DEFAULT_SLAM_SHARE = 0.5; /* of the class; UK CP 312 (1977) range of a cycle */
static const double DEFAULT_VELOCITY_SUCTION = 1.5;  /* m/s, trade practice */
static const double DEFAULT_VELOCITY_DELIVERY = 2.4; /* m/s, pool code 8 ft/s */
enum { DEBRIS_LIMIT = 3, DEBRIS_WORST = 5 };

const double judge_vapour_margin = 2.0;

static double stated_or(double stated, double otherwise)
{
    return isnan(stated) ? otherwise : stated;
}

/* The site's limits with the default rule in every place where the case said nothing. */
static struct limits find_limits(const struct site *site)
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

/* Whether the smaller value is the worse one. */
static bool is_least(enum requirement requirement)
{
    switch (requirement) {
    case REQUIREMENT_OPENS:
    case REQUIREMENT_FLOW:
    case REQUIREMENT_SEATS:
    case REQUIREMENT_SUCTION:
    case REQUIREMENT_VAPOUR:
        return true;
    case REQUIREMENT_MOUNTING:
    case REQUIREMENT_HOLDS:
    case REQUIREMENT_DEBRIS:
    case REQUIREMENT_SLAM:
    case REQUIREMENT_REVERSE:
    case REQUIREMENT_PRESSURE:
    case REQUIREMENT_COUNT:
        break;
    }
    return false;
}

static int severity(enum verdict verdict)
{
    switch (verdict) {
    case VERDICT_FAILED:
        return 3;
    case VERDICT_SITE:
        return 2;
    case VERDICT_MET:
        return 1;
    case VERDICT_NOT_ASKED:
        break;
    }
    return 0;
}

bool judge_is_more(double found, double kept)
{
    /* Of the larger size, or of 1 m, m/s, m3/s or share; surges agree to 1e-11 and so. */
    static const double round_off = 1e-9;
    if (isnan(kept) || isnan(found)) {
        return !isnan(found);
    }
    if (isinf(kept) || isinf(found)) {
        return found > kept;
    }
    return found - kept > round_off * fmax(1.0, fmax(fabs(found), fabs(kept)));
}

/* Keeps the worse of what was found before and now; of equals the first. */
static void record(struct judgement judgements[], enum requirement requirement,
                   struct judgement found)
{
    struct judgement *kept = &judgements[requirement];
    const int before = severity(kept->verdict);
    const int now = severity(found.verdict);
    const bool is_further = is_least(requirement) ? judge_is_more(-found.value, -kept->value)
                                                  : judge_is_more(found.value, kept->value);
    if (now > before || (now == before && is_further)) {
        *kept = found;
    }
}

static enum verdict verdict_of(bool is_met)
{
    return is_met ? VERDICT_MET : VERDICT_FAILED;
}

/* A requirement that the reference misses too is the site's fault and fails no candidate. */
static enum verdict verdict_beside(bool is_met, bool reference_meets)
{
    return is_met || reference_meets ? verdict_of(is_met) : VERDICT_SITE;
}

static void judge_mounting(const struct non_return *valve, struct judgement judgements[])
{
    const unsigned bit = 1u << (unsigned)valve->mounting;
    const bool is_met = (valve->mountings & bit) != 0;
    record(judgements, REQUIREMENT_MOUNTING,
           (struct judgement){verdict_of(is_met), (double)valve->mounting, 0.0, NETWORK_NONE});
}

/* A strainer keeps what clogs out of the valve; it must be cleaned instead. */
static void judge_debris(const struct site *site, const struct non_return *valve,
                         struct judgement judgements[])
{
    const bool has_fibres = site->circumstances.has_fibres;
    if (!has_fibres && !site->circumstances.has_grit) {
        return;
    }
    int grade = has_fibres && valve->spring_in_stream ? DEBRIS_WORST : valve->debris;
    if (valve->has_strainer && grade > DEBRIS_LIMIT) {
        grade = DEBRIS_LIMIT;
    }
    record(judgements, REQUIREMENT_DEBRIS,
           (struct judgement){verdict_of(grade <= DEBRIS_LIMIT), (double)grade,
                              (double)DEBRIS_LIMIT, NETWORK_NONE});
}

void judge_alone(const struct site *site, const struct non_return *valve,
                 struct judgement judgements[])
{
    judge_mounting(valve, judgements);
    judge_debris(site, valve, judgements);
}

void judge_rest(const struct non_return *valve, double back_head, int at,
                struct judgement judgements[])
{
    /* m; the site lets water run on by itself, so no valve ever shuts there. */
    static const double runs_on = -1e-6;
    if (!isfinite(back_head)) {
        return;
    }
    if (back_head < runs_on) {
        record(judgements, REQUIREMENT_SEATS,
               (struct judgement){VERDICT_SITE, back_head, valve->seating_head, at});
        return;
    }
    if (valve->mounting == MOUNTING_LEVEL && valve->level_needs_back_head && back_head <= 0.0) {
        record(judgements, REQUIREMENT_MOUNTING,
               (struct judgement){VERDICT_FAILED, (double)valve->mounting, 0.0, at});
    }
    record(judgements, REQUIREMENT_SEATS,
           (struct judgement){verdict_of(back_head >= valve->seating_head), back_head,
                              valve->seating_head, at});
    if (valve->holding_head > 0.0) {
        record(judgements, REQUIREMENT_HOLDS,
               (struct judgement){verdict_of(back_head <= valve->holding_head), back_head,
                                  valve->holding_head, at});
    }
}

void judge_flow(const struct site *site, const struct valve_place *place,
                const struct measures *reference, const struct measures *found, int at,
                struct judgement judgements[])
{
    static const double still = 1e-9; /* m3/s, less is no flow */
    const struct limits limits = find_limits(site);
    const bool opens = found->is_solved && found->flow > 0.0;
    if (!reference->is_solved || !(reference->flow > still)) {
        return;
    }
    record(judgements, REQUIREMENT_OPENS,
           (struct judgement){verdict_of(opens), found->flow, 0.0, at});
    if (!opens) {
        return;
    }
    const double share = found->flow / reference->flow;
    record(judgements, REQUIREMENT_FLOW,
           (struct judgement){verdict_of(share >= limits.least_flow_share), share,
                              limits.least_flow_share, at});
    if (place->is_on_suction && isfinite(found->suction_margin)) {
        record(
            judgements, REQUIREMENT_SUCTION,
            (struct judgement){verdict_beside(found->suction_margin >= limits.suction_margin,
                                              reference->suction_margin >= limits.suction_margin),
                               found->suction_margin, limits.suction_margin, at});
    }
}

bool judge_needs_reference(const struct measures *found)
{
    return found->is_surged &&
           (found->highest_share > 1.0 || found->lowest_margin < judge_vapour_margin);
}

void judge_surge(const struct site *site, const struct measures *reference,
                 const struct measures *found, int at, struct judgement judgements[])
{
    const struct limits limits = find_limits(site);
    const bool has_reference = reference && reference->is_surged;
    if (!found->is_surged) {
        return;
    }
    const double share = found->slam_head / found->allowed_head;
    if (isfinite(share)) {
        record(judgements, REQUIREMENT_SLAM,
               (struct judgement){verdict_of(share <= limits.slam_head_share), share,
                                  limits.slam_head_share, at});
    }
    if (isfinite(limits.reverse_velocity) && isfinite(found->reverse_velocity)) {
        record(judgements, REQUIREMENT_REVERSE,
               (struct judgement){verdict_of(found->reverse_velocity <= limits.reverse_velocity),
                                  found->reverse_velocity, limits.reverse_velocity, at});
    }
    if (isfinite(found->highest_share)) {
        const bool other = !has_reference || reference->highest_share <= 1.0;
        record(judgements, REQUIREMENT_PRESSURE,
               (struct judgement){verdict_beside(found->highest_share <= 1.0, other),
                                  found->highest_share, 1.0, at});
    }
    if (isfinite(found->lowest_margin)) {
        const bool other = !has_reference || reference->lowest_margin >= judge_vapour_margin;
        record(
            judgements, REQUIREMENT_VAPOUR,
            (struct judgement){verdict_beside(found->lowest_margin >= judge_vapour_margin, other),
                               found->lowest_margin, judge_vapour_margin, at});
    }
}

static bool is_of_site(enum requirement requirement)
{
    return requirement == REQUIREMENT_PRESSURE || requirement == REQUIREMENT_VAPOUR;
}

int judge_failures(const struct judgement judgements[], bool with_site)
{
    int count = 0;
    for (int i = 0; i < REQUIREMENT_COUNT; i++) {
        const bool counts = with_site || !is_of_site((enum requirement)i);
        count += counts && judgements[i].verdict == VERDICT_FAILED;
    }
    return count;
}
