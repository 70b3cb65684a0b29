#include "models/filling_plan.h"

bool filling_plan_has_float(const struct filling_plan *plan, int pump)
{
    for (int i = 0; i < plan->switch_count; i++) {
        for (int k = 0; k < plan->switches[i].pump_count; k++) {
            if (plan->switches[i].pumps[k] == pump) {
                return true;
            }
        }
    }
    return false;
}

bool filling_plan_has_timer(const struct filling_plan *plan, int pump)
{
    for (int i = 0; i < plan->timer_count; i++) {
        if (plan->timers[i].link == plan->pumps[pump].link) {
            return true;
        }
    }
    return false;
}
