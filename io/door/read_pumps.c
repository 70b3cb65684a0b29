#include "io/door/read_pumps.h"

#include "io/nearest.h"
#include "models/pump_curve.h"

#include <math.h>
#include <string.h>

struct pump_words {
    double speed, motor_efficiency, inertia, shut_off;
    struct numbers flow, head, power, npsh, duty_flow, duty_head;
};

#define FIELD(name) offsetof(struct pump_words, name)
static const struct key pump_keys[] = {
    {.name = "speed",
     .kind = KEY_QUANTITY,
     .offset = FIELD(speed),
     .quantity = QUANTITY_TURNS,
     .range = RANGE_POSITIVE,
     .is_required = true,
     .help = "at which the curve was taken"},
    {.name = "flow",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(flow),
     .quantity = QUANTITY_FLOW,
     .range = RANGE_NOT_NEGATIVE,
     .help = "points of the curve, from 0, rising"},
    {.name = "head",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(head),
     .quantity = QUANTITY_HEAD,
     .plausible = PLAUSIBLE_PUMP_HEAD,
     .help = "at these flows, falling, or rising to one top and then falling"},
    {.name = "shut-off head",
     .kind = KEY_QUANTITY,
     .offset = FIELD(shut_off),
     .quantity = QUANTITY_HEAD,
     .plausible = PLAUSIBLE_PUMP_HEAD,
     .range = RANGE_POSITIVE,
     .help = "without a curve: at no flow; one or two duty points with it"},
    {.name = "duty flow",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(duty_flow),
     .quantity = QUANTITY_FLOW,
     .range = RANGE_POSITIVE,
     .help = "of one or two duty points"},
    {.name = "duty head",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(duty_head),
     .quantity = QUANTITY_HEAD,
     .plausible = PLAUSIBLE_PUMP_HEAD,
     .range = RANGE_POSITIVE,
     .help = "at these duty flows"},
    {.name = "power",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(power),
     .quantity = QUANTITY_POWER,
     .range = RANGE_POSITIVE,
     .help = "at the shaft at these flows"},
    {.name = "npsh required",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(npsh),
     .quantity = QUANTITY_HEAD,
     .plausible = PLAUSIBLE_NPSH,
     .range = RANGE_NOT_NEGATIVE,
     .help = "at these flows"},
    {.name = "motor efficiency",
     .kind = KEY_QUANTITY,
     .offset = FIELD(motor_efficiency),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_EFFICIENCY,
     .range = RANGE_SHARE,
     .help = "electrical to shaft"},
    {.name = "inertia",
     .kind = KEY_QUANTITY,
     .offset = FIELD(inertia),
     .quantity = QUANTITY_INERTIA,
     .range = RANGE_POSITIVE,
     .help = "of motor, impeller and the water in it"},
};
#undef FIELD

const struct section pump_section = {"pumps", "the machines, each with its curve",
                                     sizeof pump_keys / sizeof *pump_keys, pump_keys};

/* Copies a row that must have as many numbers as the flows. */
static bool copy_row(struct draft *draft, const struct tree *node, const char *name,
                     const struct numbers *numbers, int count, double row[PUMP_POINT_MAX])
{
    const struct tree *child = tree_find(node, name);
    if (numbers->count != count) {
        return draft_error(draft, child ? child->place : node->place,
                           "pump '%s': %s: %d numbers, but 'flow' has %d; one for each flow",
                           node->key, name, numbers->count, count);
    }
    memcpy(row, numbers->value, (size_t)count * sizeof *row);
    return true;
}

/* Share of the power that goes into the water at the best of the stated points; no pump that is
 * made gives less. */
static const double least_efficiency = 0.02;

/* No machine gives the water more power than it takes: a number in another unit, most likely. */
static bool check_power(struct draft *draft, const struct tree *node, const struct pump *pump)
{
    const struct water *water = &draft->site->water;
    double best = 0; /* no point has both flow and head: nothing is known */
    for (int i = 0; i < pump->power_count; i++) {
        const double given = water->density * water->gravity * pump->flow[i] * pump->head[i];
        if (pump->power[i] < given) {
            return draft_error(draft, tree_find(node, "power")->place,
                               "pump '%s': power: at %.4g L/s it takes %.4g kW but gives the water "
                               "%.4g kW; look at the units of power, flow and head",
                               pump->name, 1e3 * pump->flow[i], 1e-3 * pump->power[i],
                               1e-3 * given);
        }
        best = fmax(best, given / pump->power[i]);
    }
    if (best > 0 && best < least_efficiency) {
        draft_doubt(draft, tree_find(node, "power")->place,
                    "pump '%s': power: at its best only %.2g %% of it goes into the water; look at "
                    "the units of power, flow and head",
                    pump->name, 100 * best);
    }
    return true;
}

static bool check_curve(struct draft *draft, const struct tree *node, struct pump *pump)
{
    for (int i = 1; i < pump->count; i++) {
        if (pump->flow[i] <= pump->flow[i - 1]) {
            return draft_error(draft, tree_find(node, "flow")->place,
                               "pump '%s': flow points must rise; %.4g L/s follows %.4g L/s",
                               pump->name, pump->flow[i] * 1e3, pump->flow[i - 1] * 1e3);
        }
    }
    if (!pump_curve_rises(pump)) {
        return true;
    }
    struct failure failure;
    struct pump_curve *curve = draft_take(draft, 1, sizeof *curve);
    if (curve && !pump_curve_split(pump, curve, &failure)) {
        return draft_error(draft, tree_find(node, "head")->place, "%s", failure.message);
    }
    if (curve) {
        draft_doubt(draft, tree_find(node, "head")->place,
                    "pump '%s': its head rises up to %.4g L/s; between %.4g and %.4g m it may have "
                    "two duty points",
                    pump->name, pump->flow[curve->top] * 1e3, curve->head[0],
                    curve->head[curve->top]);
    }
    return curve != NULL;
}

/* A curve through the shut-off head and one or two duty points. */
static bool estimate_curve(struct draft *draft, const struct tree *node,
                           const struct pump_words *words, struct pump *pump)
{
    struct failure failure;
    const int duties = words->duty_flow.count;
    if (words->flow.count > 0 || words->head.count > 0 || words->power.count > 0 ||
        words->npsh.count > 0) {
        return draft_error(draft, node->key_place,
                           "pump '%s': rows of flow, head, power and NPSH, or a shut-off head and "
                           "duty points, not both",
                           pump->name);
    }
    if (duties < 1 || duties > 2 || words->duty_head.count != duties) {
        return draft_error(draft, node->key_place,
                           "pump '%s': a shut-off head needs one or two duty points: 'duty flow' "
                           "and 'duty head', number by number",
                           pump->name);
    }
    if (!pump_curve_estimate(pump, words->shut_off, duties, words->duty_flow.value,
                             words->duty_head.value, &failure)) {
        return faults_add_failure(draft->reader.faults, &failure);
    }
    draft_assume(draft, pump->place,
                 "pump '%s': its curve is an estimate, H0 - a Q^n through %d numbers; the maker's "
                 "curve is better",
                 pump->name, 1 + 2 * duties);
    return true;
}

/* The rows of the maker. */
static bool fill_rows(struct draft *draft, const struct tree *node, const struct pump_words *words,
                      struct pump *pump)
{
    if (words->flow.count == 0 || words->head.count == 0) {
        return draft_error(draft, node->key_place,
                           "pump '%s': '%s' is missing (its curve: points of flow and head, such "
                           "as 'flow: 0 1 2 L/s' and 'head: 20 18 12 m'; or 'shut-off head' with "
                           "'duty flow' and 'duty head')",
                           node->key, words->flow.count == 0 ? "flow" : "head");
    }
    pump->count = words->flow.count;
    if (pump->count < 2 || pump->count > PUMP_POINT_MAX) {
        return draft_error(draft, tree_find(node, "flow")->place,
                           "pump '%s': flow: a curve has 2 to %d points, not %d", node->key,
                           PUMP_POINT_MAX, pump->count);
    }
    memcpy(pump->flow, words->flow.value, (size_t)pump->count * sizeof *pump->flow);
    bool is_good = copy_row(draft, node, "head", &words->head, pump->count, pump->head);
    if (words->power.count > 0) {
        pump->power_count = pump->count;
        is_good =
            copy_row(draft, node, "power", &words->power, pump->count, pump->power) && is_good;
    }
    if (words->npsh.count > 0) {
        pump->npsh_count = pump->count;
        is_good = copy_row(draft, node, "npsh required", &words->npsh, pump->count, pump->npsh) &&
                  is_good;
    }
    return is_good && check_curve(draft, node, pump) && check_power(draft, node, pump);
}

static bool fill_pump(struct draft *draft, const struct tree *node, const struct pump_words *words,
                      struct pump *pump)
{
    pump->speed = words->speed;
    pump->motor_efficiency = isfinite(words->motor_efficiency) ? words->motor_efficiency : 0;
    pump->inertia = isfinite(words->inertia) ? words->inertia : 0;
    return isfinite(words->shut_off) ? estimate_curve(draft, node, words, pump)
                                     : fill_rows(draft, node, words, pump);
}

static void read_pump(struct draft *draft, const struct tree *node, struct pump *pump)
{
    struct pump_words words = {0};
    struct failure failure;
    const struct target targets[] = {{&pump_section, &words}};
    const char *subject = keys_subject(&draft->reader, "pump", node->key);
    pump->name = node->key;
    pump->place = node->key_place;
    bool is_good = draft_check_name(draft, "pump", node->key, node->key_place);
    is_good = keys_read(&draft->reader, node, subject, 1, targets) && is_good;
    if (!is_good || !fill_pump(draft, node, &words, pump)) {
        return;
    }
    if (!pump_init(pump, &draft->site->water, &failure)) {
        (void)faults_add_failure(draft->reader.faults, &failure);
        return;
    }
    if (pump->inertia_is_estimated) {
        draft_assume(draft, pump->place, "pump '%s': no inertia said; estimated as %.3g kg m2",
                     pump->name, pump->inertia);
    }
    if (pump->power_count == 0) {
        draft_assume(draft, pump->place,
                     "pump '%s': no power said; energy is left out and torque is estimated",
                     pump->name);
    }
    if (pump->power_count > 0 && !(pump->motor_efficiency > 0)) {
        draft_assume(draft, pump->place,
                     "pump '%s': no motor efficiency said; energy and cost are those at the shaft, "
                     "and the meter counts more",
                     pump->name);
    }
    if (pump->npsh_count == 0) {
        draft_assume(draft, pump->place,
                     "pump '%s': no NPSH required said; suction cannot be judged", pump->name);
    }
}

void read_pumps(struct draft *draft, const struct tree *node)
{
    if (!node) {
        return;
    }
    if (node->kind != TREE_MAP) {
        (void)draft_error(draft, node->place,
                          "pumps: %s stands here; names are expected, such as "
                          "'lift: {speed: 2900 rpm, ...}'",
                          tree_kind_name(node->kind));
        return;
    }
    draft->pumps = draft_take(draft, (size_t)node->count, sizeof *draft->pumps);
    for (const struct tree *child = node->first; draft->pumps && child; child = child->next) {
        read_pump(draft, child, &draft->pumps[draft->site->pump_count++]);
    }
    draft->site->pumps = draft->pumps;
}

const struct pump *find_pump(const struct draft *draft, const char *name, const char **nearest)
{
    struct nearest search;
    nearest_start(&search, name);
    for (int i = 0; i < draft->site->pump_count; i++) {
        if (strcmp(draft->pumps[i].name, name) == 0) {
            return &draft->pumps[i];
        }
        draft_offer_name(&search, draft->pumps[i].name);
    }
    *nearest = search.found;
    return NULL;
}
