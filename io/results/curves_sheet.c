#include "io/results/curves_sheet.h"

#include "io/results/choose_sheet.h"
#include "models/pump.h"
#include "solver/steady/system_curve.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { POINTS = 41, POINTS_OF_SITE_MOST = 5000 };

/* The arrays of one group. */
struct curves {
    double flow[POINTS];
    double pump_head[POINTS];
    double system_head[POINTS];
};

bool curves_fit(const struct site *site)
{
    return site->network->point_count <= POINTS_OF_SITE_MOST;
}

/* "<folder><name>", a slash in the name changed, since it would open a further group. */
static const char *group_path(const char *folder, const char *name, struct arena *arena)
{
    char path[600];
    const size_t length = strlen(folder);
    (void)snprintf(path, sizeof path, "%s%s", folder, name);
    for (char *letter = path + length; *letter; letter++) {
        if (*letter == '/') {
            *letter = '_';
        }
    }
    return arena_text(arena, path);
}

/* Flows from next to nothing (at none a shut valve leaves the head open) up to `most`. */
static void spread(struct curves *curves, double most)
{
    for (int i = 0; i < POINTS; i++) {
        curves->flow[i] = most * (i > 0 ? (double)i / (POINTS - 1) : 1e-4);
        curves->pump_head[i] = (double)NAN;
        curves->system_head[i] = (double)NAN;
    }
}

static double head_at(const struct site *site, const struct link *link, double flow)
{
    return -link->element->drop(link->data, &site->water, flow).head;
}

/* Fills the curves of the pump in `link`. */
static bool follow_pump(const struct site *site, int number, struct curves *curves,
                        struct failure *failure)
{
    const struct link *link = &site->network->links[number];
    const struct pump_unit *unit = link->data;
    spread(curves, 1.1 * unit->speed * unit->pump->flow[unit->pump->count - 1]);
    for (int i = 0; i < POINTS; i++) {
        curves->pump_head[i] = head_at(site, link, curves->flow[i]);
    }
    return system_curve(site->network, &site->water, number, POINTS, curves->flow,
                        curves->system_head, failure);
}

static int put_curves(const struct curves *curves, struct sheet *sheet)
{
    const int along = sheet_dimension(sheet, "flow", POINTS);
    sheet_numbers(sheet, (struct field_head){"flow", "m3 s-1", "flow through it"}, along,
                  curves->flow);
    sheet_numbers(sheet, (struct field_head){"pump_head", "m", "head the pump adds"}, along,
                  curves->pump_head);
    sheet_numbers(sheet, (struct field_head){"system_head", "m", "head the site asks of the pump"},
                  along, curves->system_head);
    return along;
}

bool curves_pump_sheet(const struct site *site, const struct steady *steady, int pump,
                       struct sheet *sheet, struct arena *arena, struct failure *failure)
{
    const int number = site->pump_places[pump].link;
    const char *name = site->network->links[number].name;
    struct curves *curves = arena_take(arena, 1, sizeof *curves);
    double *duty = arena_take(arena, 2, sizeof *duty);
    const char **names = arena_take(arena, 1, sizeof *names);
    const char *path = group_path("/steady/curves/", name, arena);
    if (!curves || !duty || !names || !path) {
        return fail_memory(failure, "the curves of a pump");
    }
    if (!follow_pump(site, number, curves, failure)) {
        return false;
    }
    sheet_init(sheet, path);
    sheet_attribute_text(sheet, "pump", name);
    (void)put_curves(curves, sheet);
    names[0] = name;
    duty[0] = steady->flow[number];
    duty[1] = -steady->drop[number];
    const int along = sheet_dimension(sheet, "duty", 1);
    sheet_texts(sheet, (struct field_head){"duty", "1", "the pump"}, along, names);
    sheet_numbers(sheet, (struct field_head){"duty_flow", "m3 s-1", "flow it gives"}, along, duty);
    sheet_numbers(sheet, (struct field_head){"duty_head", "m", "head it adds"}, along, duty + 1);
    return true;
}

/* A running pump in the run of the place, or NETWORK_NONE. */
static int pump_of(const struct site *site, const struct choose_place *place)
{
    const int link = site->valves[place->valve].pump_link;
    const struct pump_unit *unit = link == NETWORK_NONE ? NULL : site->network->links[link].data;
    return unit && unit->is_running ? link : NETWORK_NONE;
}

static bool follow_place(const struct site *site, const struct choose_place *place,
                         struct curves *curves, struct failure *failure)
{
    const int pump = pump_of(site, place);
    double most = place->reference.flow;
    if (pump == NETWORK_NONE) {
        spread(curves, isfinite(most) && most > 0.0 ? 1.3 * most : 1e-3);
        return true;
    }
    const struct link *present = &site->network->links[site->valves[place->valve].link];
    if (!follow_pump(site, pump, curves, failure)) {
        return false;
    }
    for (int i = 0; i < POINTS; i++) { /* one after the other: their heads add */
        curves->system_head[i] += head_at(site, present, curves->flow[i]);
    }
    return true;
}

/* Columns of the candidates: heads over the flows [POINTS][count], then rank, flow, head there of
 * the valve and of the pump. */
static void fill_candidates(const struct site *site, const struct choose_place *place,
                            const struct curves *curves, double *heads, double *columns)
{
    const int count = place->candidate_count;
    const int pump = pump_of(site, place);
    const struct link *present = &site->network->links[site->valves[place->valve].link];
    for (int k = 0; k < count; k++) {
        const struct candidate *candidate = &place->candidates[k];
        const double flow = candidate->measures.flow;
        for (int i = 0; i < POINTS; i++) {
            heads[(ptrdiff_t)i * count + k] =
                present->element->drop(&candidate->valve, &site->water, curves->flow[i]).head;
        }
        columns[k] = candidate->rank;
        columns[count + k] = flow;
        columns[2 * count + k] = candidate->measures.valve_head;
        columns[3 * count + k] = pump == NETWORK_NONE || !isfinite(flow)
                                     ? (double)NAN
                                     : head_at(site, &site->network->links[pump], flow);
    }
}

static void put_candidates(int count, const char *const *labels, const double *heads,
                           const double *columns, int flow, struct sheet *sheet)
{
    static const struct field_head field_heads[] = {
        {"duty_flow", "m3 s-1", "flow with it"},
        {"duty_valve_head", "m", "head it takes then"},
        {"duty_pump_head", "m", "head the pump adds then"},
    };
    const int along = sheet_dimension(sheet, "candidate", (size_t)count);
    sheet_texts(sheet, (struct field_head){"candidate", "1", "type and nominal size"}, along,
                labels);
    sheet_wholes(sheet, (struct field_head){"rank", "1", "1 is best, 0: not acceptable"}, along,
                 columns);
    for (int i = 0; i < 3; i++) {
        sheet_numbers(sheet, field_heads[i], along, columns + (ptrdiff_t)(i + 1) * count);
    }
    sheet_grid(sheet, (struct field_head){"valve_head", "m", "head the candidate takes"}, flow,
               along, heads);
}

bool curves_place_sheet(const struct site *site, const struct choose_place *place,
                        struct sheet *sheet, struct arena *arena, struct failure *failure)
{
    const int count = place->candidate_count;
    const char *name = site->network->links[site->valves[place->valve].link].name;
    struct curves *curves = arena_take(arena, 1, sizeof *curves);
    double *heads = arena_take(arena, (size_t)count * POINTS + 1, sizeof *heads);
    double *columns = arena_take(arena, (size_t)count * 4 + 1, sizeof *columns);
    const char **labels = arena_take(arena, (size_t)count + 1, sizeof *labels);
    const char *path = group_path("/choose/curves/", name, arena);
    if (!curves || !heads || !columns || !labels || !path) {
        return fail_memory(failure, "the curves of a place");
    }
    if (!follow_place(site, place, curves, failure)) {
        return false;
    }
    fill_candidates(site, place, curves, heads, columns);
    for (int k = 0; k < count; k++) {
        char text[200];
        choose_label(&place->candidates[k], sizeof text, text);
        labels[k] = arena_text(arena, text);
    }
    sheet_init(sheet, path);
    sheet_attribute_text(sheet, "place", name);
    const int flow = put_curves(curves, sheet);
    put_candidates(count, labels, heads, columns, flow, sheet);
    return true;
}
