#include "io/door/explain_filling.h"

#include <math.h>

static const char *pump_name(const struct site *site, int pump)
{
    return site->network->links[site->filling.pumps[pump].link].name;
}

static void write_tank(const struct site *site, int index, struct prose *out)
{
    const struct filling_tank *tank = &site->filling.tanks[index];
    const struct network *network = site->network;
    const char *name = network->tanks[index].name;
    if (tank->inflow > 0) {
        prose_add(out, "  %s: fed with %.4g L/s\n", name, tank->inflow * 1e3);
    }
    if (tank->leak > 0) {
        prose_add(out, "  %s: leaks %.4g L/s\n", name, tank->leak * 1e3);
    }
    if (tank->overflow_to != NETWORK_NONE) {
        prose_add(out, "  %s: runs over into %s\n", name, network->tanks[tank->overflow_to].name);
    }
}

static void write_switch(const struct site *site, const struct filling_switch *here,
                         struct prose *out)
{
    prose_add(out, "  %s: %s %s, on at", here->name, here->is_emptying ? "empties" : "fills",
              site->network->tanks[here->tank].name);
    for (int i = 0; i < here->stage_count; i++) {
        prose_add(out, " %.4g", here->on_level[i]);
    }
    prose_add(out, " m, off at");
    for (int i = 0; i < here->stage_count; i++) {
        prose_add(out, " %.4g", here->off_level[i]);
    }
    prose_add(out, " m, %s between them at first:", here->is_on_at_start ? "on" : "off");
    for (int i = 0; i < here->pump_count; i++) {
        prose_add(out, "%s %s", i > 0 ? "," : "", pump_name(site, here->pumps[i]));
    }
    prose_add(out, "%s\n", here->alternates ? ", by turns" : "");
}

static void write_course(const struct filling_course *course, struct prose *out)
{
    prose_add(out, "%d time%s", course->count, course->count == 1 ? "" : "s");
    if (course->period > 0) {
        prose_add(out, ", again every %.4g h", course->period / 3600);
    }
}

static void write_draw(const struct site *site, const struct filling_draw *draw, struct prose *out)
{
    double least = HUGE_VAL;
    double most = -HUGE_VAL;
    for (int i = 0; i < draw->flow.count; i++) {
        least = fmin(least, draw->flow.value[i]);
        most = fmax(most, draw->flow.value[i]);
    }
    prose_add(out, "  drawn from %s: %.4g to %.4g L/s, ",
              draw->point != NETWORK_NONE ? site->network->points[draw->point].name
                                          : site->network->tanks[draw->tank].name,
              least * 1e3, most * 1e3);
    write_course(&draw->flow, out);
    prose_add(out, "\n");
}

static void write_pump(const struct site *site, int pump, struct prose *out)
{
    const struct filling_plan *plan = &site->filling;
    const struct filling_pump *here = &plan->pumps[pump];
    const char *name = pump_name(site, pump);
    if (!filling_plan_has_float(plan, pump) && !filling_plan_has_timer(plan, pump)) {
        prose_add(out, "  %s: no float switch and no timer moves it\n", name);
    }
    if (here->protect_tank != NETWORK_NONE) {
        prose_add(out, "  %s: stopped when %s is down to %.4g m, allowed again from %.4g m\n", name,
                  site->network->tanks[here->protect_tank].name, here->protect_level,
                  here->restart_level);
    }
    if (here->least_rest > 0) {
        prose_add(out, "  %s: rests %.4g s between stop and start\n", name, here->least_rest);
    }
}

void explain_filling(const struct site *site, struct prose *out)
{
    const struct filling_plan *plan = &site->filling;
    if (!plan->is_given) {
        return;
    }
    prose_add(out, "\nHours and days:");
    if (plan->duration > 0) {
        prose_add(out, " %.4g h", plan->duration / 3600);
    }
    prose_add(out, " from %.4g o'clock\n", plan->clock / 3600);
    for (int i = 0; plan->tanks && i < site->network->tank_count; i++) {
        write_tank(site, i, out);
    }
    for (int i = 0; i < plan->switch_count; i++) {
        write_switch(site, &plan->switches[i], out);
    }
    for (int i = 0; i < plan->draw_count; i++) {
        write_draw(site, &plan->draws[i], out);
    }
    for (int i = 0; i < plan->timer_count; i++) {
        const struct filling_timer *timer = &plan->timers[i];
        prose_add(out, "  timer of %s: ", site->network->links[timer->link].name);
        write_course(&timer->setting, out);
        prose_add(out, "\n");
    }
    for (int i = 0; i < plan->pump_count; i++) {
        write_pump(site, i, out);
    }
    if (plan->tariff.count == 1) {
        prose_add(out, "  energy at one price all day\n");
    } else if (plan->tariff.count > 1) {
        prose_add(out, "  energy by a tariff of %d prices\n", plan->tariff.count);
    }
}
