#include "solver/surge/energy.h"

#include "models/air_valve.h"
#include "models/air_vessel.h"
#include "models/pump.h"
#include "models/pump_curve.h"
#include "models/standpipe.h"
#include "solver/surge/grid.h"
#include "solver/surge/groups.h"
#include "solver/surge/kernel.h"

#include <stddef.h>

/* W for 1 m of head and 1 m3/s. */
static double unit_power(const struct groups *groups)
{
    const struct water *water = groups->water;
    return water->density * water->gravity;
}

/* J held over head 0 by a pipe. */
static double pipe_stored(const struct groups *groups, int pipe)
{
    const struct kernel *kernel = groups->kernel;
    const double impedance = kernel->pipes[pipe].impedance;
    const int reaches = groups->grid->reaches[pipe];
    double sum = 0.0;
    for (int i = 0; i <= reaches; i++) {
        const double head = kernel_head(kernel, pipe, i);
        const double wave = impedance * kernel_flow(kernel, pipe, i);
        sum += (i == 0 || i == reaches ? 0.5 : 1.0) * (head * head + wave * wave);
    }
    return unit_power(groups) * kernel->step / (2.0 * impedance) * sum;
}

static double find_stored(const struct groups *groups)
{
    double sum = 0.0;
    for (int i = 0; i < groups->grid->pipe_count; i++) {
        sum += pipe_stored(groups, i);
    }
    for (int i = 0; i < groups->grid->stub_count; i++) {
        sum += unit_power(groups) * stub_energy(&groups->stubs[i]);
    }
    return sum;
}

static bool is_vessel(const struct element *element)
{
    return element == &air_vessel_element || element == &standpipe_element ||
           element == &air_valve_element;
}

/* What a lumped link takes out of its points, by its kind. */
static void add_lumped(struct energy_power *power, const struct groups *groups,
                       const struct lumped *lumped)
{
    if (lumped->link == NETWORK_NONE) {
        power->vessels -= groups->head[lumped->point] * lumped->flow;
        return;
    }
    const struct link *link = &groups->network->links[lumped->link];
    const double taken = (groups->head[link->from] - groups->head[link->to]) * lumped->flow;
    if (pump_is_kind(link->element)) {
        power->pumps -= taken;
    } else if (is_vessel(link->element)) {
        power->vessels += taken;
    } else if (!(lumped->series > 0.0)) { /* a stub is reckoned by its ends */
        power->parts += taken;
    }
}

/* What pipes take at their ends, and what comes in at held points, by the flows there. */
static void add_ends(struct energy_power *power, const struct groups *groups)
{
    const struct network *network = groups->network;
    for (int i = 0; i < network->link_count; i++) {
        const struct link *link = &network->links[i];
        const bool is_pipe = groups->grid->pipe_of_link[i] != NETWORK_NONE ||
                             groups->grid->stub_of_link[i] != NETWORK_NONE;
        if (!is_pipe && !network->points[link->from].is_held &&
            !network->points[link->to].is_held) {
            continue;
        }
        const double end = groups_flow(groups, i);
        const double start = groups_flow_at_start(groups, i);
        const double in = groups->head[link->from] * start;
        const double out = groups->head[link->to] * end;
        power->pipes += is_pipe ? in - out : 0.0;
        power->ends += network->points[link->from].is_held ? in : 0.0;
        power->ends -= network->points[link->to].is_held ? out : 0.0;
    }
    for (int i = 0; i < network->point_count; i++) {
        const struct point *point = &network->points[i];
        power->ends -= point->is_held ? 0.0 : groups->head[i] * point->draw;
    }
}

static struct energy_power find_power(const struct groups *groups)
{
    struct energy_power power = {0};
    add_ends(&power, groups);
    for (int i = 0; i < groups->lumped_count; i++) {
        add_lumped(&power, groups, &groups->lumped[i]);
    }
    return power;
}

void energy_start(struct energy *energy, const struct groups *groups)
{
    *energy = (struct energy){.now = find_power(groups), .stored_start = find_stored(groups)};
}

void energy_step(struct energy *energy, const struct groups *groups, double step)
{
    const struct energy_power old = energy->now;
    const struct energy_power now = find_power(groups);
    energy->sum.ends += 0.5 * step * (old.ends + now.ends);
    energy->sum.pumps += 0.5 * step * (old.pumps + now.pumps);
    energy->sum.vessels += 0.5 * step * (old.vessels + now.vessels);
    energy->sum.parts += 0.5 * step * (old.parts + now.parts);
    energy->sum.pipes += 0.5 * step * (old.pipes + now.pipes);
    energy->now = now;
}

struct surge_energy energy_end(const struct energy *energy, const struct groups *groups)
{
    const double unit = unit_power(groups);
    const struct energy_power *sum = &energy->sum;
    const double stored = find_stored(groups) - energy->stored_start;
    return (struct surge_energy){
        .from_ends = unit * sum->ends,
        .from_pumps = unit * sum->pumps,
        .to_vessels = unit * sum->vessels,
        .lost_in_parts = unit * sum->parts,
        .stored = stored,
        .lost_in_pipes = unit * sum->pipes - stored,
        .residual = unit * (sum->ends + sum->pumps - sum->vessels - sum->parts - sum->pipes),
    };
}
