#include "io/door/explain.h"

#include "io/door/explain_filling.h"
#include "io/door/explain_parts.h"
#include "models/circle.h"
#include "models/fitting.h"
#include "models/pipe.h"
#include "models/pump_curve.h"

#include <math.h>

static const char *const mounting_words[] = {"vertical up", "level", "vertical down"};

static void write_water(const struct site *site, struct prose *out)
{
    const struct water *water = &site->water;
    prose_add(out, "Water: %.1f degC, density %.1f kg/m3, viscosity %.3f mm2/s, boils at %.2f m\n",
              water->temperature_c, water->density, water->viscosity * 1e6,
              water_vapour_head(water));
    prose_add(out,
              "       altitude %.0f m, air pressure %.1f kPa, gravity %.5f m/s2, bulk modulus "
              "%.3f GPa\n",
              site->altitude, water->air_pressure / 1e3, water->gravity, water->bulk_modulus / 1e9);
    if (site->circumstances.has_fibres || site->circumstances.has_grit) {
        prose_add(out, "       it carries%s%s%s\n", site->circumstances.has_fibres ? " fibres" : "",
                  site->circumstances.has_fibres && site->circumstances.has_grit ? " and" : "",
                  site->circumstances.has_grit ? " grit" : "");
    }
}

static void write_tanks(const struct network *network, struct prose *out)
{
    if (network->tank_count > 0) {
        prose_add(out, "\nTanks\n");
    }
    for (int i = 0; i < network->tank_count; i++) {
        const struct tank *tank = &network->tanks[i];
        prose_add(out, "  %-16s level %.3f m", tank->name, tank->level);
        if (tank->is_fixed) {
            prose_add(out, ", fixed");
        } else {
            prose_add(out, ", floor %.2f m, brim %.2f m, %.2f m2, %.2f m3 in it", tank->floor,
                      tank->brim, tank->area, tank->area * (tank->level - tank->floor));
        }
        prose_add(out, "%s\n", tank->inlet_above ? ", filled from above the water" : "");
    }
}

static void write_points(const struct network *network, struct prose *out)
{
    bool is_first = true;
    for (int i = 0; i < network->point_count; i++) {
        const struct point *point = &network->points[i];
        if (!point->is_named || point->tank >= 0) {
            continue;
        }
        prose_add(out, "%s  %-16s %.3f m", is_first ? "\nPoints and outlets\n" : "", point->name,
                  point->elevation);
        is_first = false;
        if (point->draw > 0 || point->draw < 0) {
            prose_add(out, ", draw %.4g L/s", point->draw * 1e3);
        }
        if (point->wanted_head > 0) {
            prose_add(out, ", wanted pressure %.3g m", point->wanted_head);
        }
        if (point->is_held) {
            prose_add(out, ", head held at %.4g m", point->held_head);
        }
        prose_add(out, "\n");
    }
}

static void write_pumps(const struct site *site, struct prose *out)
{
    if (site->pump_count > 0) {
        prose_add(out, "\nPumps\n");
    }
    for (int i = 0; i < site->pump_count; i++) {
        const struct pump *pump = &site->pumps[i];
        prose_add(out,
                  "  %-16s %.0f rev/min, %d points, %.4g m shut to %.4g m at %.4g L/s, best "
                  "%.4g L/s\n",
                  pump->name, pump->speed * 60, pump->count, pump->head[0],
                  pump->head[pump->count - 1], pump->flow[pump->count - 1] * 1e3,
                  pump->best_flow * 1e3);
        prose_add(out, "  %-16s specific speed %.0f, inertia %.3g kg m2%s\n", "",
                  pump_specific_speed(pump), pump->inertia,
                  pump->inertia_is_estimated ? " (estimated)" : "");
    }
}

static void write_pipe(const struct pipe *pipe, const struct water *water, struct prose *out)
{
    const double rise = pipe->vertical_to - pipe->vertical_from;
    prose_add(out, "pipe %.1f mm, %.4g m, %s %.3g m, %.4g L", pipe->friction.bore * 1e3,
              pipe->friction.length, rise < 0 ? "falls" : "rises", fabs(rise),
              circle_area(pipe->friction.bore) * pipe->friction.length * 1e3);
    if (pipe->friction.factor > 0) {
        prose_add(out, ", friction factor %.4g", pipe->friction.factor);
    } else if (pipe->friction.hazen_williams > 0) {
        prose_add(out, ", Hazen-Williams C %.4g", pipe->friction.hazen_williams);
    } else {
        prose_add(out, ", roughness %.3g mm", pipe->friction.roughness * 1e3);
    }
    prose_add(out, ", wave speed %.0f m/s", pipe_wave_speed(pipe, water));
    if (pipe->pressure_class > 0) {
        prose_add(out, ", class %.3g bar", pipe->pressure_class / 1e5);
        if (pipe_allowed_pressure(pipe, water) < 0.999 * pipe->pressure_class) {
            prose_add(out, ", %.3g bar at %.4g degC", pipe_allowed_pressure(pipe, water) / 1e5,
                      pipe_warmth(pipe, water));
        }
    } else {
        prose_add(out, ", class not known");
    }
}

static void write_fitting(const struct fitting *fitting, struct prose *out)
{
    if (fitting->resistance > 0) {
        prose_add(out, "resistance %.4g s2/m5", fitting->resistance);
    } else {
        prose_add(out, "K %.3g", fitting->loss);
    }
    prose_add(out, "%s", fitting->is_one_way ? ", pours out, nothing flows back" : "");
}

static void write_valve(const struct site *site, int link, const struct non_return *valve,
                        struct prose *out)
{
    prose_add(out, "%s DN%.0f, %s, K %.3g, opens at %.3g m", valve->type, valve->bore * 1e3,
              mounting_words[valve->mounting], valve->full_open_loss + valve->extra_loss,
              valve->opening_head);
    if (valve->full_open_velocity > 0) {
        prose_add(out, ", fully open from %.3g m/s", valve->full_open_velocity);
    }
    for (int i = 0; i < site->valve_count; i++) {
        const struct valve_place *place = &site->valves[i];
        if (place->link == link) {
            prose_add(out, ", %s, unions %s", place->is_on_suction ? "suction" : "delivery",
                      place->union_before && place->union_after ? "both sides"
                      : place->union_before                     ? "before it"
                      : place->union_after                      ? "behind it"
                                                                : "none");
        }
    }
    prose_add(out, "%s%s", valve->has_strainer ? ", strainer" : "",
              valve->is_placeholder ? " (placeholder numbers)" : "");
}

static void write_unit(const struct pump_unit *unit, struct prose *out)
{
    prose_add(out, "pump %s%s", unit->pump->name,
              unit->pump->rising ? ", its curve rises before it falls" : "");
    if (!unit->is_running) {
        prose_add(out, ", standing");
    } else if (unit->speed < 1 || unit->speed > 1) {
        prose_add(out, " at %.1f %% of its speed", unit->speed * 100);
    }
}

static void write_link(const struct site *site, int index, struct prose *out)
{
    const struct link *link = &site->network->links[index];
    const struct pipe *pipe = link->element->pipe ? link->element->pipe(link->data) : NULL;
    prose_add(out, "      %-24s ", link->name);
    if (pipe) {
        write_pipe(pipe, &site->water, out);
    } else if (link->element == &fitting_element) {
        write_fitting(link->data, out);
    } else if (link->element == &non_return_element) {
        write_valve(site, index, link->data, out);
    } else if (pump_is_kind(link->element)) {
        write_unit(link->data, out);
    } else {
        explain_part(site, link, out);
    }
    prose_add(out, "\n");
}

static void write_point(const struct network *network, int index, struct prose *out)
{
    const struct point *point = &network->points[index];
    prose_add(out, "    %-26s %s %.3f m\n", point->name,
              point->tank >= 0 && point->is_named ? "water at" : "at", point->elevation);
}

/* Pipe length m and volume m3 of the links. */
static void measure(const struct network *network, int first, int count, double *length,
                    double *volume)
{
    for (int i = first; i < first + count; i++) {
        const struct link *link = &network->links[i];
        const struct pipe *pipe = link->element->pipe ? link->element->pipe(link->data) : NULL;
        if (pipe) {
            *length += pipe->friction.length;
            *volume += circle_area(pipe->friction.bore) * pipe->friction.length;
        }
    }
}

static void write_runs(const struct site *site, struct prose *out)
{
    const struct network *network = site->network;
    double all_length = 0;
    double all_volume = 0;
    prose_add(out, "\nRuns (each point, then the part behind it)\n");
    for (int i = 0; i < network->run_count; i++) {
        const struct run *run = &network->runs[i];
        double length = 0;
        double volume = 0;
        measure(network, run->first_link, run->link_count, &length, &volume);
        all_length += length;
        all_volume += volume;
        prose_add(out, "  %s: %.4g m of pipe, %.4g L%s\n", run->name, length, volume * 1e3,
                  run->is_suction ? ", draws from a tank" : "");
        write_point(network, run->from, out);
        for (int k = run->first_link; k < run->first_link + run->link_count; k++) {
            write_link(site, k, out);
            write_point(network, network->links[k].to, out);
        }
    }
    for (int i = 0; i < network->link_count; i++) {
        if (network->links[i].run == NETWORK_NONE) {
            write_link(site, i, out);
        }
    }
    prose_add(out, "  In all %d points, %d parts, %.4g m of pipe, %.4g L in it\n",
              network->point_count, network->link_count, all_length, all_volume * 1e3);
}

static void write_surge(const struct site *site, struct prose *out)
{
    const struct surge_plan *plan = &site->surge;
    if (!plan->is_given) {
        return;
    }
    prose_add(out, "\nSurge: %.4g s, %d event%s, %d gauge%s\n", plan->duration, plan->event_count,
              plan->event_count == 1 ? "" : "s", plan->gauge_count,
              plan->gauge_count == 1 ? "" : "s");
    for (int i = 0; i < plan->event_count; i++) {
        const struct surge_event *event = &plan->events[i];
        prose_add(out, "  at %.4g s %s %s", event->at,
                  event->kind == SURGE_EVENT_STOP ? "the power fails at" : "set",
                  site->network->links[event->link].name);
        if (event->kind == SURGE_EVENT_SET) {
            prose_add(out, " to %.3g over %.3g s", event->value, event->ramp);
        }
        prose_add(out, "\n");
    }
}

static void write_list(const struct faults *faults, enum fault_level level, const char *title,
                       struct prose *out)
{
    if (faults_count(faults, level) > 0) {
        prose_add(out, "\n%s\n", title);
        out->extra = 4;
        faults_tell(faults, level, out);
        out->extra = 0;
    }
}

void explain_site(const struct site *site, const struct faults *faults, struct prose *out)
{
    prose_add(out, "%s (%s)\n\n", site->name, site->path);
    write_water(site, out);
    write_tanks(site->network, out);
    write_points(site->network, out);
    write_pumps(site, out);
    write_runs(site, out);
    write_surge(site, out);
    explain_filling(site, out);
    write_list(faults, FAULT_ASSUMED, "Not said, and taken so", out);
    write_list(faults, FAULT_DOUBT, "To be looked at again", out);
}
