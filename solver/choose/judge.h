/* Judge: measures against what a site demands of a valve. Every case adds to the judgements, which
 * keep the worst of each requirement and where it was found. */
#ifndef SOLVER_CHOOSE_JUDGE_H
#define SOLVER_CHOOSE_JUDGE_H

#include "models/site.h"
#include "solver/choose/candidate.h"

/* m above boiling that the lowest pressure of a surge keeps at least: dissolved air comes out
 * before (common practice). */
extern const double judge_vapour_margin;

/* What holds whatever the other valves and the case are: mounting and dirt. */
void judge_alone(const struct site *site, const struct non_return *valve,
                 struct judgement judgements[]);

/* Whether a value is larger than the one kept by more than round-off, or none is kept yet (NAN) and
 * this is one. Of conditions that differ in nothing that the value feels the first is then told,
 * not any. */
bool judge_is_more(double found, double kept);

/* Back head at rest in condition `at`; NAN is not asked. Where it is negative, water runs on by
 * itself, and what shuts no valve is the site's. */
void judge_rest(const struct non_return *valve, double back_head, int at,
                struct judgement judgements[]);

/* Flow and suction in condition `at`. `reference`: the same place with valves without loss; where
 * it lets no water through nothing is asked. */
void judge_flow(const struct site *site, const struct valve_place *place,
                const struct measures *reference, const struct measures *found, int at,
                struct judgement judgements[]);

/* What a surge run adds, in trip `at`. `reference`: the same trip with valves without loss or
 * inertia; NULL: not known yet, then a miss counts. */
void judge_surge(const struct site *site, const struct measures *reference,
                 const struct measures *found, int at, struct judgement judgements[]);

/* Whether the run misses what valves without loss or inertia may miss too, so that it must be known
 * before judging. */
bool judge_needs_reference(const struct measures *found);

/* How many requirements are failed, with or without those of the whole site: pressures, which are
 * the same at every place of a set. */
int judge_failures(const struct judgement judgements[], bool with_site);

#endif
