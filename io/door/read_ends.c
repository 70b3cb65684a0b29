#include "io/door/read_ends.h"

#include "io/door/outlet_law.h"
#include "io/door/point_law.h"
#include "io/door/tank_mouths.h"
#include "models/circle.h"
#include "models/fitting.h"

#include <math.h>

/* --- tanks --- */

struct tank_words {
    double floor, brim, level, area, inlet_elevation, outlet_elevation;
    int fixed, inlet;
};

#define FIELD(name) offsetof(struct tank_words, name)
static const struct key tank_keys[] = {
    {.name = "floor",
     .kind = KEY_QUANTITY,
     .offset = FIELD(floor),
     .quantity = QUANTITY_LENGTH,
     .help = "elevation of its floor"},
    {.name = "brim",
     .kind = KEY_QUANTITY,
     .offset = FIELD(brim),
     .quantity = QUANTITY_LENGTH,
     .help = "elevation at which it runs over"},
    {.name = "level",
     .kind = KEY_QUANTITY,
     .offset = FIELD(level),
     .quantity = QUANTITY_LENGTH,
     .is_required = true,
     .help = "elevation of the water"},
    {.name = "area",
     .kind = KEY_QUANTITY,
     .offset = FIELD(area),
     .quantity = QUANTITY_AREA,
     .plausible = PLAUSIBLE_WATER_AREA,
     .range = RANGE_POSITIVE,
     .help = "of the water seen from above"},
    {.name = "fixed",
     .kind = KEY_YES,
     .offset = FIELD(fixed),
     .help = "the level does not change (a lake, an overflow)"},
    {.name = "inlet",
     .kind = KEY_CHOICE,
     .offset = FIELD(inlet),
     .choices = "below water|above water",
     .fallback = "below water",
     .help = "how runs that end here enter: above water nothing flows back"},
    {.name = "inlet elevation",
     .kind = KEY_QUANTITY,
     .offset = FIELD(inlet_elevation),
     .quantity = QUANTITY_LENGTH,
     .help = "of the mouth of runs that end here"},
    {.name = "outlet elevation",
     .kind = KEY_QUANTITY,
     .offset = FIELD(outlet_elevation),
     .quantity = QUANTITY_LENGTH,
     .help = "of the mouth of runs that begin here"},
};
#undef FIELD

const struct section tank_section = {"tanks", "open water: sumps, header tanks, ponds, wells",
                                     sizeof tank_keys / sizeof *tank_keys, tank_keys};

static void check_tank(struct draft *draft, const struct tank *tank)
{
    if (isfinite(tank->floor) && isfinite(tank->brim) && tank->floor >= tank->brim) {
        (void)draft_error(draft, tank->place,
                          "tank '%s': its floor %.4g m is not below its brim %.4g m", tank->name,
                          tank->floor, tank->brim);
    }
    if (isfinite(tank->floor) && tank->level < tank->floor) {
        (void)draft_error(draft, tank->place,
                          "tank '%s': its level %.4g m is below its floor %.4g m", tank->name,
                          tank->level, tank->floor);
    }
    if (isfinite(tank->brim) && tank->level > tank->brim) {
        draft_doubt(draft, tank->place, "tank '%s': its level %.4g m is above its brim %.4g m",
                    tank->name, tank->level, tank->brim);
    }
}

static void assume_tank(struct draft *draft, struct tank *tank, const struct tank_words *words)
{
    static const double freeboard = 0.3; /* m, a common one, where no brim is said */
    static const double depth = 1.0;     /* m, likewise where no floor is said */
    tank->is_fixed = words->fixed == 1 || !isfinite(words->area);
    if (tank->is_fixed && words->fixed != 1) {
        draft_assume(draft, tank->place, "tank '%s': no area said; its level is taken as fixed",
                     tank->name);
    }
    if (!isfinite(tank->brim)) {
        tank->brim = tank->level + freeboard;
        if (!tank->is_fixed) {
            draft_assume(draft, tank->place,
                         "tank '%s': no brim said; taken %.1f m above the water", tank->name,
                         freeboard);
        }
    }
    if (!isfinite(tank->floor)) {
        tank->floor = tank->level - depth;
        if (!tank->is_fixed) {
            draft_assume(draft, tank->place,
                         "tank '%s': no floor said; taken %.1f m below the water", tank->name,
                         depth);
        }
    }
}

static void read_tank(struct draft *draft, const struct tree *node)
{
    struct tank_words words;
    const struct target targets[] = {{&tank_section, &words}};
    const char *subject = keys_subject(&draft->reader, "tank", node->key);
    const int before = faults_count(draft->reader.faults, FAULT_ERROR);
    bool is_good = draft_check_name(draft, "tank", node->key, node->key_place);
    is_good = keys_read(&draft->reader, node, subject, 1, targets) && is_good;
    struct network *network = draft->network;
    struct tank *tank = &network->tanks[network->tank_count];
    const double level = isfinite(words.level) ? words.level : 0;
    *tank = (struct tank){.name = node->key,
                          .place = node->key_place,
                          .floor = words.floor,
                          .brim = words.brim,
                          .level = level,
                          .area = isfinite(words.area) ? words.area : 0,
                          .inlet_above = words.inlet == 1};
    if (is_good) {
        check_tank(draft, tank);
        check_mouths(draft, node, tank, words.inlet_elevation, words.outlet_elevation);
    }
    assume_tank(draft, tank, &words);
    draft->has_wrong_tanks |= faults_count(draft->reader.faults, FAULT_ERROR) > before;
    /* A wrong tank keeps its name: runs that use it must not be blamed as well. */
    const struct point point = {.name = tank->name,
                                .place = tank->place,
                                .elevation = level,
                                .held_head = level,
                                .is_held = true,
                                .is_named = true,
                                .tank = network->tank_count};
    tank->point = draft_add_point(draft, &point);
    if (tank->point >= 0) {
        draft->tank_ends[network->tank_count] =
            (struct tank_ends){words.inlet_elevation, words.outlet_elevation};
        network->tank_count++;
    }
}

/* The section is a map of named maps. */
static bool is_map_of_names(struct draft *draft, const struct tree *node, const char *section,
                            const char *example)
{
    if (!node) {
        return false;
    }
    if (node->kind == TREE_MAP) {
        return true;
    }
    return draft_error(draft, node->place, "%s: %s stands here; names are expected, such as '%s'",
                       section, tree_kind_name(node->kind), example);
}

void read_tanks(struct draft *draft, const struct tree *node)
{
    if (!is_map_of_names(draft, node, "tanks", "header: {level: 13.8 m}")) {
        return;
    }
    draft->network->tanks = draft_take(draft, (size_t)node->count, sizeof *draft->network->tanks);
    draft->tank_ends = draft_take(draft, (size_t)node->count, sizeof *draft->tank_ends);
    if (!draft->network->tanks || !draft->tank_ends) {
        return;
    }
    for (const struct tree *child = node->first; child; child = child->next) {
        read_tank(draft, child);
    }
}

/* --- points --- */

struct point_words {
    double elevation, draw, wanted_pressure, fixed_head;
};

#define FIELD(name) offsetof(struct point_words, name)
static const struct key point_keys[] = {
    {.name = "elevation",
     .kind = KEY_QUANTITY,
     .offset = FIELD(elevation),
     .quantity = QUANTITY_LENGTH,
     .is_required = true,
     .help = "of the pipe there"},
    {.name = "draw",
     .kind = KEY_QUANTITY,
     .offset = FIELD(draw),
     .quantity = QUANTITY_FLOW,
     .help = "water taken out, whatever the pressure; below zero: fed in"},
    {.name = "wanted pressure",
     .kind = KEY_QUANTITY,
     .offset = FIELD(wanted_pressure),
     .quantity = QUANTITY_HEAD,
     .range = RANGE_NOT_NEGATIVE,
     .help = "that should stand there"},
    {.name = "fixed head",
     .kind = KEY_QUANTITY,
     .offset = FIELD(fixed_head),
     .quantity = QUANTITY_HEAD,
     .help = "level to which the water would rise, held whatever flows"},
};
#undef FIELD

const struct section point_section = {"points",
                                      "where runs meet, water is drawn off, or a gauge is read",
                                      sizeof point_keys / sizeof *point_keys, point_keys};

static void read_point(struct draft *draft, const struct tree *node)
{
    struct point_words words;
    struct point_law law;
    const struct target targets[] = {{&point_section, &words}, {&point_law_section, &law}};
    const char *subject = keys_subject(&draft->reader, "point", node->key);
    bool is_good = draft_check_name(draft, "point", node->key, node->key_place);
    is_good = keys_read(&draft->reader, node, subject, 2, targets) && is_good;
    if (is_good && isfinite(words.fixed_head) && isfinite(words.draw)) {
        (void)draft_error(draft, node->key_place,
                          "%s: a fixed head gives whatever flow is needed; leave out 'draw'",
                          subject);
    }
    const struct point point = {.name = node->key,
                                .place = node->key_place,
                                .elevation = isfinite(words.elevation) ? words.elevation : 0,
                                .draw = isfinite(words.draw) ? words.draw : 0,
                                .wanted_head =
                                    isfinite(words.wanted_pressure) ? words.wanted_pressure : 0,
                                .held_head = isfinite(words.fixed_head) ? words.fixed_head : 0,
                                .is_held = isfinite(words.fixed_head),
                                .is_named = true,
                                .tank = NETWORK_NONE};
    law.point = draft_add_point(draft, &point);
    if (law.point >= 0 && is_good && !point_law_keep(draft, &law)) {
        return; /* told */
    }
}

void read_points(struct draft *draft, const struct tree *node)
{
    if (!is_map_of_names(draft, node, "points", "manifold: {elevation: 1.0 m}")) {
        return;
    }
    for (const struct tree *child = node->first; child; child = child->next) {
        read_point(draft, child);
    }
}

/* --- outlets --- */

struct outlet_words {
    double elevation, bore, discharge_coefficient;
};

#define FIELD(name) offsetof(struct outlet_words, name)
static const struct key outlet_keys[] = {
    {.name = "elevation",
     .kind = KEY_QUANTITY,
     .offset = FIELD(elevation),
     .quantity = QUANTITY_LENGTH,
     .is_required = true,
     .help = "of the mouth"},
    {.name = "bore",
     .kind = KEY_QUANTITY,
     .offset = FIELD(bore),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_BORE,
     .range = RANGE_POSITIVE,
     .help = "of the mouth; else that of the pipe"},
    {.name = "discharge coefficient",
     .kind = KEY_QUANTITY,
     .offset = FIELD(discharge_coefficient),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_DISCHARGE,
     .range = RANGE_POSITIVE,
     .fallback = "1",
     .help = "flow over bore area times sqrt(2 g head)"},
};
#undef FIELD

const struct section outlet_section = {"outlets", "open ends to the air",
                                       sizeof outlet_keys / sizeof *outlet_keys, outlet_keys};

static void read_outlet(struct draft *draft, const struct tree *node)
{
    struct outlet_words words;
    struct outlet_law law;
    const struct target targets[] = {{&outlet_section, &words}, {&outlet_law_section, &law}};
    const char *subject = keys_subject(&draft->reader, "outlet", node->key);
    bool is_good = draft_check_name(draft, "outlet", node->key, node->key_place);
    is_good = keys_read(&draft->reader, node, subject, 2, targets) && is_good;
    if (!is_good || !outlet_law_check(draft, subject, node->key_place, &law)) {
        const struct target laws[] = {{&outlet_law_section, &law}};
        keys_clear(&draft->reader, 1, laws); /* told once */
    }
    const struct point point = {.name = node->key,
                                .place = node->key_place,
                                .elevation = isfinite(words.elevation) ? words.elevation : 0,
                                .is_named = true,
                                .tank = NETWORK_NONE};
    const int index = draft_add_point(draft, &point);
    if (index >= 0) {
        draft->outlets[draft->outlet_count++] =
            (struct outlet){.name = node->key,
                            .place = node->key_place,
                            .point = index,
                            .bore = words.bore,
                            .discharge_coefficient = words.discharge_coefficient,
                            .law = law,
                            .run_bore = NAN};
    }
}

void read_outlets(struct draft *draft, const struct tree *node)
{
    if (!is_map_of_names(draft, node, "outlets", "spray: {elevation: 5.0 m, bore: 12 mm}")) {
        return;
    }
    draft->outlets = draft_take(draft, (size_t)node->count, sizeof *draft->outlets);
    for (const struct tree *child = node->first; draft->outlets && child; child = child->next) {
        read_outlet(draft, child);
    }
}

int find_outlet(const struct draft *draft, int point)
{
    for (int i = 0; i < draft->outlet_count; i++) {
        if (draft->outlets[i].point == point) {
            return i;
        }
    }
    return -1;
}

/* Head lost to the air: v^2/(2g)/Cd^2 with v in the mouth (Torricelli, with the coefficient), or
 * the outlet's own law. */
static bool make_mouth(struct draft *draft, const struct outlet *outlet, struct link *link)
{
    const double coefficient = outlet->discharge_coefficient;
    if (outlet_law_make(draft, outlet, link)) {
        return true;
    }
    struct fitting *fitting = draft_take(draft, 1, sizeof *fitting);
    if (!fitting || link->element) {
        return false;
    }
    fitting->area = link->area;
    fitting->loss = 1 / (coefficient * coefficient);
    fitting->loss_back = fitting->loss;
    fitting->is_one_way = true;
    link->element = &fitting_element;
    link->data = fitting;
    return true;
}

static void finish_outlet(struct draft *draft, const struct outlet *outlet)
{
    const struct point *before = &draft->network->points[outlet->point];
    const double bore = isfinite(outlet->bore) ? outlet->bore : outlet->run_bore;
    if (outlet->run_count == 0) {
        (void)draft_error(draft, outlet->place, "outlet '%s': no run leads to it", outlet->name);
        return;
    }
    if (!isfinite(bore)) {
        return; /* the run without a bore has been told */
    }
    const struct point air = {.name = draft_text(draft, "%s/air", outlet->name),
                              .place = outlet->place,
                              .elevation = before->elevation,
                              .held_head = before->elevation,
                              .is_held = true,
                              .tank = NETWORK_NONE};
    struct link link = {.name = draft_text(draft, "%s/mouth", outlet->name),
                        .place = outlet->place,
                        .from = outlet->point,
                        .to = draft_add_point(draft, &air),
                        .run = NETWORK_NONE,
                        .area = circle_area(bore)};
    if (link.to < 0 || !make_mouth(draft, outlet, &link)) {
        return; /* told */
    }
    if (draft_add_link(draft, &link) < 0) {
        return; /* told */
    }
}

/* New index of each point when those that no run joins are left out; NULL: memory ended. */
static int *keep_joined(struct draft *draft)
{
    struct network *network = draft->network;
    bool *is_kept = draft_take(draft, (size_t)network->point_count, sizeof *is_kept);
    int *moved = draft_take(draft, (size_t)network->point_count, sizeof *moved);
    int count = 0;
    if (!is_kept || !moved) {
        return NULL;
    }
    for (int i = 0; i < network->link_count; i++) {
        is_kept[network->links[i].from] = true;
        is_kept[network->links[i].to] = true;
    }
    for (int i = 0; i < network->point_count; i++) {
        const struct point *point = &network->points[i];
        if (is_kept[i] || point->tank >= 0) {
            network->points[count] = *point;
            moved[i] = count++;
            continue;
        }
        moved[i] = NETWORK_NONE;
        draft_doubt(draft, point->place, "point '%s': no run leads to it; it is left out%s",
                    point->name, point->draw > 0 || point->draw < 0 ? ", with its draw" : "");
    }
    network->point_count = count;
    return moved;
}

/* A point without pipes is a site of its own, without an answer when water is drawn there. */
static void drop_idle_points(struct draft *draft)
{
    struct network *network = draft->network;
    const int before = network->point_count;
    const int *moved = keep_joined(draft);
    if (!moved || network->point_count == before) {
        return;
    }
    for (int i = 0; i < network->link_count; i++) {
        network->links[i].from = moved[network->links[i].from];
        network->links[i].to = moved[network->links[i].to];
    }
    for (int i = 0; i < network->run_count; i++) {
        network->runs[i].from = moved[network->runs[i].from];
        network->runs[i].to = moved[network->runs[i].to];
    }
    for (int i = 0; i < network->tank_count; i++) {
        network->tanks[i].point = moved[network->tanks[i].point];
    }
    draft_name_points(draft);
    if (!names_reserve(&draft->points, network->point_count)) {
        (void)faults_add_memory(draft->reader.faults, "names");
        return;
    }
    for (int i = 0; i < network->point_count; i++) {
        if (!names_add(&draft->points, network->points[i].name, i)) {
            (void)faults_add_memory(draft->reader.faults, "names");
            return;
        }
    }
}

void finish_ends(struct draft *draft)
{
    for (int i = 0; i < draft->outlet_count; i++) {
        finish_outlet(draft, &draft->outlets[i]);
    }
    point_laws_finish(draft);
    drop_idle_points(draft);
}
