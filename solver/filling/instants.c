#include "solver/filling/instants.h"

#include <math.h>
#include <string.h>

/* Numbers kept in one series at most: 32 MB. */
static const double number_limit = 4e6;

static bool take(struct arena *arena, double **where, int rows, int columns,
                 struct failure *failure)
{
    *where = arena_take(arena, (size_t)rows * (size_t)columns, sizeof **where);
    return *where || fail_memory(failure, "the instants of the filling run");
}

bool instants_init(struct instants *instants, struct works *works, const struct account *account,
                   double duration, int limit, struct filling *result, struct arena *arena,
                   struct failure *failure)
{
    const int links = works->network->link_count;
    const int tanks = works->network->tank_count;
    const int pumps = works->machine_count;
    int room = limit > 2 ? limit : 2;
    if ((double)room * links > number_limit) {
        room = (int)fmax(2.0, number_limit / links);
    }
    *instants = (struct instants){.works = works,
                                  .account = account,
                                  .result = result,
                                  .step = duration / (room - 1),
                                  .room = room};
    for (int i = 0; i < tanks; i++) {
        struct filling_tank_answer *tank = &result->tanks[i];
        tank->level_start = tank->lowest = tank->highest = works_level(works, i);
    }
    return take(arena, &result->time, room, 1, failure) &&
           take(arena, &result->level, room, tanks, failure) &&
           take(arena, &result->flow, room, links, failure) &&
           take(arena, &result->running, room, pumps, failure) &&
           take(arena, &result->energy, room, pumps, failure);
}

double instants_next(const struct instants *instants)
{
    const int count = instants->result->time_count;
    return count < instants->room ? count * instants->step : (double)INFINITY;
}

void instants_take(struct instants *instants, double time, const double y[])
{
    const struct works *works = instants->works;
    struct filling *result = instants->result;
    const int at = result->time_count++;
    const int links = works->network->link_count;
    const int tanks = works->network->tank_count;
    const int pumps = works->machine_count;
    result->time[at] = time;
    for (int i = 0; i < tanks; i++) {
        result->level[(size_t)at * (size_t)tanks + (size_t)i] = works_level(works, i);
    }
    memcpy(&result->flow[(size_t)at * (size_t)links], works->steady.flow,
           (size_t)links * sizeof *result->flow);
    for (int i = 0; i < pumps; i++) {
        const size_t cell = (size_t)at * (size_t)pumps + (size_t)i;
        result->running[cell] = works->machines[i].is_on ? 1.0 : 0.0;
        result->energy[cell] = y[account_pump(instants->account, i, PUMP_SUM_ENERGY)];
    }
}

void instants_levels(struct instants *instants)
{
    for (int i = 0; i < instants->works->network->tank_count; i++) {
        struct filling_tank_answer *tank = &instants->result->tanks[i];
        const double level = works_level(instants->works, i);
        tank->level_end = level;
        tank->lowest = fmin(tank->lowest, level);
        tank->highest = fmax(tank->highest, level);
    }
}
