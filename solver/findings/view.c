#include "solver/findings/view.h"

#include <math.h>

const double view_still = 1e-9;

const struct pipe *view_pipe(const struct view *view, int link)
{
    const struct link *at = &view->network->links[link];
    return at->element->pipe ? at->element->pipe(at->data) : NULL;
}

double view_pressure_head(const struct view *view, int point)
{
    return view->steady->head[point] - view->network->points[point].elevation;
}

const struct non_return *view_valve(const struct view *view, const struct valve_place *place)
{
    return view->network->links[place->link].data;
}

const struct pump_unit *view_pump(const struct view *view, const struct pump_place *place)
{
    return view->network->links[place->link].data;
}

static void tell(const struct view *view, const struct finding *rule, const char *subject,
                 struct place place, const struct told *told)
{
    struct finding finding = *rule;
    finding.subject = subject;
    finding.place = place;
    finding.value = told->value;
    finding.limit = isnan(told->limit) ? rule->limit : told->limit;
    finding.level = told->failed ? FINDING_FAILED : rule->level;
    findings_add(view->findings, &finding);
}

void view_tell_link(const struct view *view, const struct finding *rule, int link,
                    const struct told *told)
{
    tell(view, rule, view->network->links[link].name, view->network->links[link].place, told);
}

void view_tell_point(const struct view *view, const struct finding *rule, int point,
                     const struct told *told)
{
    tell(view, rule, view->network->points[point].name, view->network->points[point].place, told);
}
