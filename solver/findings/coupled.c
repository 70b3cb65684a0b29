/* Rules on laws that are no monotone graph: several duty points, regulators out of their range. */
#include "models/regulator.h"
#include "solver/findings/rules.h"
#include "solver/steady/answers.h"

#include <math.h>

static const struct finding OTHER_DUTY = {
    .level = FINDING_WARNING,
    .rule = "two duty points",
    .text = "flow at another duty point where the pump may run as well",
    .limit = (double)NAN,
    .unit = "m3/s",
    .remedy = "it depends on the start which one it takes: start it against an open, empty or low "
              "system, or take a pump whose curve falls from shut-off on",
    .source = "curves of pump and system cross more than once (computed here)",
    .question = 35};

static const struct finding UNSTABLE_DUTY = {
    .level = FINDING_NOTE,
    .rule = "two duty points",
    .text = "flow at a crossing of the curves where the pump cannot stay",
    .limit = (double)NAN,
    .unit = "m3/s",
    .remedy = "from a little less flow it falls back, from a little more it rises on: keep starts "
              "and changes away from it",
    .source = "system curve less steep than the pump's: any textbook on pumps",
    .question = 35};

static const struct finding STANDS_UNSTABLE = {
    .level = FINDING_FAILED,
    .rule = "unstable duty point",
    .text = "flow at a duty point where the pump cannot stay",
    .limit = (double)NAN,
    .unit = "m3/s",
    .remedy = "the flow will wander or surge: take a pump whose curve falls from shut-off on",
    .source = "system curve less steep than the pump's: any textbook on pumps",
    .question = 35};

static const struct finding LACKS_HEAD = {
    .level = FINDING_WARNING,
    .rule = "regulator open",
    .text = "head behind the regulator, which stands fully open",
    .limit = 0.0,
    .unit = "m",
    .remedy =
        "too little comes to it: it cannot hold its pressure; set it lower or bring more head",
    .source = "the case's own set pressure",
    .question = 11};

static const struct finding NOT_SUSTAINED = {
    .level = FINDING_WARNING,
    .rule = "regulator shut",
    .text = "head before the regulator, which is shut to sustain more",
    .limit = 0.0,
    .unit = "m",
    .remedy = "nothing passes it: set it lower or bring more head",
    .source = "the case's own set pressure",
    .question = 11};

static const struct finding HELD_SHUT = {
    .level = FINDING_NOTE,
    .rule = "regulator shut",
    .text = "head behind the regulator, which is shut",
    .limit = 0.0,
    .unit = "m",
    .remedy = "the other side keeps the head above its setting: is it set high enough?",
    .source = "the case's own set pressure",
    .question = 11};

static void tell(const struct view *view, const struct finding *rule, int link, double value,
                 double limit)
{
    const struct told told = {value, limit, false};
    view_tell_link(view, rule, link, &told);
}

/* Heads are told as heights like all heads of the site. */
static void rule_regulator(const struct view *view, int e)
{
    const struct link *link = &view->network->links[e];
    const struct regulator *regulator = link->data;
    const double before = view->steady->head[link->from];
    const double behind = view->steady->head[link->to];
    switch (regulator_duty(regulator, &view->site->water, view->steady->flow[e], before, behind)) {
    case REGULATOR_OPEN:
        if (isfinite(regulator->most_behind)) {
            tell(view, &LACKS_HEAD, e, behind, regulator->most_behind);
        }
        break;
    case REGULATOR_SHUT:
        if (before < regulator->least_before) {
            tell(view, &NOT_SUSTAINED, e, before, regulator->least_before);
        } else if (behind > regulator->most_behind) {
            tell(view, &HELD_SHUT, e, behind, regulator->most_behind);
        }
        break;
    case REGULATOR_HOLDS_BEHIND:
    case REGULATOR_HOLDS_BEFORE:
        break;
    }
}

/* Duty points other than the one of the answer, and that one when it cannot stay. */
static void tell_answers(const struct view *view, int e, const struct steady_answers *answers)
{
    static const double same = 1e-6; /* share of a flow: the same duty point */
    const double present = view->steady->flow[e];
    for (int i = 0; i < answers->count; i++) {
        const struct steady_answer *answer = &answers->items[i];
        const bool is_present =
            fabs(answer->flow - present) <= same * fmax(fabs(present), view_still / same);
        if (is_present) {
            if (!answer->is_stable) {
                tell(view, &STANDS_UNSTABLE, e, present, (double)NAN);
            }
        } else {
            tell(view, answer->is_stable ? &OTHER_DUTY : &UNSTABLE_DUTY, e, answer->flow,
                 (double)NAN);
        }
    }
}

bool rules_coupled(const struct view *view, struct arena *arena, struct failure *failure)
{
    struct steady_answers answers;
    for (int e = 0; e < view->network->link_count; e++) {
        const struct link *link = &view->network->links[e];
        if (link->element == &regulator_element) {
            rule_regulator(view, e);
        } else if (steady_may_have_several(view->network, &view->site->water, e)) {
            if (!steady_answers_find(view->network, &view->site->water, e, &answers, arena,
                                     failure)) {
                return false;
            }
            tell_answers(view, e, &answers);
        }
    }
    return true;
}
