#include "io/door/filling_tanks.h"

#include "io/door/lost.h"
#include "io/door/table.h"
#include "models/pipe.h"

#include <math.h>

enum shape_word {
    WORD_UPRIGHT,
    WORD_BOX,
    WORD_CYLINDER,
    WORD_LYING,
    WORD_CONE,
    WORD_RING,
    WORD_SPHERE,
    WORD_AREA_TABLE,
    WORD_VOLUME_TABLE
};

struct tank_words {
    int shape;
    double length, width, bore, inner_bore, bottom_bore, top_bore;
    const char *table, *overflow_to;
    double inflow, rain, catchment, evaporation, leak;
};

#define FIELD(name) offsetof(struct tank_words, name)
#define SIZE_KEY(word, field, text)                                                                \
    {                                                                                              \
        .name = (word), .kind = KEY_QUANTITY, .offset = FIELD(field), .quantity = QUANTITY_LENGTH, \
        .range = RANGE_POSITIVE, .help = (text)                                                    \
    }
static const struct key tank_keys[] = {
    {.name = "shape",
     .kind = KEY_CHOICE,
     .offset = FIELD(shape),
     .choices = "upright|box|cylinder|lying cylinder|cone|ring|sphere|area table|volume table",
     .fallback = "upright",
     .help = "upright walls over the tank's area, unless said"},
    SIZE_KEY("length", length, "of a box, or along a lying cylinder's axis"),
    SIZE_KEY("width", width, "of a box"),
    SIZE_KEY("bore", bore, "inner diameter of a cylinder, ring or sphere"),
    SIZE_KEY("inner bore", inner_bore, "of a ring: diameter of what stands in its middle"),
    {.name = "bottom bore",
     .kind = KEY_QUANTITY,
     .offset = FIELD(bottom_bore),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_SHAFT,
     .range = RANGE_NOT_NEGATIVE,
     .help = "of a cone, at the floor"},
    {.name = "top bore",
     .kind = KEY_QUANTITY,
     .offset = FIELD(top_bore),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_SHAFT,
     .range = RANGE_NOT_NEGATIVE,
     .help = "of a cone, at the brim"},
    {.name = "table",
     .kind = KEY_TEXT,
     .offset = FIELD(table),
     .help = "a CSV file beside the case: depth and area, or depth and volume, from the floor up"},
    {.name = "inflow",
     .kind = KEY_QUANTITY,
     .offset = FIELD(inflow),
     .quantity = QUANTITY_FLOW,
     .range = RANGE_NOT_NEGATIVE,
     .fallback = "0 L/s",
     .help = "fed in whatever happens, such as a spring's yield"},
    {.name = "rain",
     .kind = KEY_QUANTITY,
     .offset = FIELD(rain),
     .quantity = QUANTITY_VELOCITY,
     .plausible = PLAUSIBLE_RAIN,
     .range = RANGE_NOT_NEGATIVE,
     .fallback = "0 mm/day",
     .help = "depth in a time, such as 3 mm/day"},
    {.name = "catchment",
     .kind = KEY_QUANTITY,
     .offset = FIELD(catchment),
     .quantity = QUANTITY_AREA,
     .plausible = PLAUSIBLE_WATER_AREA,
     .range = RANGE_POSITIVE,
     .help = "the rain is caught on; else the tank's area at the brim"},
    {.name = "evaporation",
     .kind = KEY_QUANTITY,
     .offset = FIELD(evaporation),
     .quantity = QUANTITY_VELOCITY,
     .plausible = PLAUSIBLE_RAIN,
     .range = RANGE_NOT_NEGATIVE,
     .fallback = "0 mm/day",
     .help = "depth in a time over the water's surface"},
    {.name = "leak",
     .kind = KEY_QUANTITY,
     .offset = FIELD(leak),
     .quantity = QUANTITY_FLOW,
     .range = RANGE_NOT_NEGATIVE,
     .fallback = "0 L/s",
     .help = "while there is water"},
    {.name = "overflow to",
     .kind = KEY_TEXT,
     .offset = FIELD(overflow_to),
     .help = "a tank that takes what runs over; else it leaves the site"},
};
#undef SIZE_KEY
#undef FIELD

const struct section filling_tank_section = {"filling: tanks", "shape and weather of each tank",
                                             sizeof tank_keys / sizeof *tank_keys, tank_keys};

static double height_of(const struct tank *tank)
{
    return tank->brim - tank->floor;
}

static struct filling_tank plain_tank(const struct tank *tank)
{
    return (struct filling_tank){.shape = tank_shape_upright(tank->area, height_of(tank)),
                                 .catchment = tank->area,
                                 .overflow_to = NETWORK_NONE};
}

/* --- shapes --- */

static bool read_shape_table(struct draft *draft, const struct tree *node,
                             const struct tank_words *words, struct tank_shape *shape)
{
    const bool is_volume = words->shape == WORD_VOLUME_TABLE;
    const struct column columns[] = {{"depth", QUANTITY_LENGTH, false, PLAUSIBLE_BY_QUANTITY},
                                     {is_volume ? "volume" : "area",
                                      is_volume ? QUANTITY_VOLUME : QUANTITY_AREA, false,
                                      PLAUSIBLE_BY_QUANTITY}};
    struct table table;
    const char *path = table_path(&draft->reader, draft->site->path, words->table,
                                  tree_find(node, "table")->place);
    if (!path || !table_read(&draft->reader, path, 2, columns, &table)) {
        return false;
    }
    double *depth = draft_take(draft, (size_t)table.row_count, sizeof *depth);
    double *value = draft_take(draft, (size_t)table.row_count, sizeof *value);
    if (!depth || !value) {
        return false;
    }
    for (int i = 0; i < table.row_count; i++) {
        depth[i] = table.values[2 * (size_t)i];
        value[i] = table.values[2 * (size_t)i + 1];
    }
    *shape = tank_shape_table(is_volume ? TANK_SHAPE_VOLUME_TABLE : TANK_SHAPE_AREA_TABLE,
                              table.row_count, depth, value);
    return true;
}

/* What a shape cannot do without; NULL: all is there. */
static const char *missing_size(const struct tank_words *words, const struct tank *tank)
{
    switch ((enum shape_word)words->shape) {
    case WORD_UPRIGHT:
        return tank->area > 0 ? NULL : "'area' of the tank";
    case WORD_BOX:
        return isfinite(words->length) && isfinite(words->width) ? NULL : "'length' and 'width'";
    case WORD_CYLINDER:
    case WORD_SPHERE:
        return isfinite(words->bore) ? NULL : "'bore'";
    case WORD_LYING:
        return isfinite(words->length) && isfinite(words->bore) ? NULL : "'bore' and 'length'";
    case WORD_CONE:
        return isfinite(words->bottom_bore) && isfinite(words->top_bore)
                   ? NULL
                   : "'bottom bore' and 'top bore'";
    case WORD_RING:
        return isfinite(words->inner_bore) && isfinite(words->bore) ? NULL
                                                                    : "'bore' and 'inner bore'";
    case WORD_AREA_TABLE:
    case WORD_VOLUME_TABLE:
        break;
    }
    return words->table ? NULL : "'table'";
}

static struct tank_shape plain_shape(const struct tank_words *words, const struct tank *tank)
{
    const double height = height_of(tank);
    switch ((enum shape_word)words->shape) {
    case WORD_BOX:
        return tank_shape_upright(words->length * words->width, height);
    case WORD_CYLINDER:
        return tank_shape_ring(words->bore, 0, height);
    case WORD_LYING:
        return tank_shape_lying(words->bore, words->length);
    case WORD_CONE:
        return tank_shape_cone(words->bottom_bore, words->top_bore, height);
    case WORD_RING:
        return tank_shape_ring(words->bore, words->inner_bore, height);
    case WORD_SPHERE:
        return tank_shape_sphere(words->bore);
    case WORD_UPRIGHT:
    case WORD_AREA_TABLE:
    case WORD_VOLUME_TABLE:
        break;
    }
    return tank_shape_upright(tank->area, height);
}

static bool read_shape(struct draft *draft, const struct tree *node, const struct tank_words *words,
                       const struct tank *tank, struct tank_shape *shape)
{
    struct failure failure;
    const char *missing = missing_size(words, tank);
    if (missing) {
        return draft_error(draft, node->place, "filling tank '%s': this shape needs %s", tank->name,
                           missing);
    }
    *shape = plain_shape(words, tank);
    const bool is_table = words->shape == WORD_AREA_TABLE || words->shape == WORD_VOLUME_TABLE;
    if (is_table && !read_shape_table(draft, node, words, shape)) {
        return false;
    }
    if (!tank_shape_check(shape, tank->name, node->key_place, &failure)) {
        return faults_add_failure(draft->reader.faults, &failure);
    }
    if (shape->height < height_of(tank) * (1 - 1e-9)) {
        return draft_error(draft, node->place,
                           "filling tank '%s': its shape is %.4g m high, but its brim stands %.4g "
                           "m over its floor",
                           tank->name, shape->height, height_of(tank));
    }
    return true;
}

/* --- one tank --- */

static void read_overflow(struct draft *draft, const struct tree *node, const char *name,
                          struct filling_tank *into, int self)
{
    into->overflow_to = network_find_tank(draft->network, name);
    if (into->overflow_to == NETWORK_NONE && is_lost(draft, name)) {
        return;
    }
    if (into->overflow_to == NETWORK_NONE || into->overflow_to == self) {
        (void)draft_error(draft, tree_find(node, "overflow to")->place,
                          "filling tank '%s': its overflow cannot run to '%.60s'; the name of "
                          "another tank is expected",
                          node->key, name);
        into->overflow_to = NETWORK_NONE;
    }
}

static void read_tank(struct draft *draft, const struct tree *node, struct filling_tank *tanks)
{
    struct tank_words words;
    const struct target targets[] = {{&filling_tank_section, &words}};
    const char *subject = keys_subject(&draft->reader, "filling tank", node->key);
    const int index = network_find_tank(draft->network, node->key);
    if (index == NETWORK_NONE && !is_lost(draft, node->key)) {
        (void)draft_error(draft, node->key_place, "%s: there is no tank of this name", subject);
        return;
    }
    if (!keys_read(&draft->reader, node, subject, 1, targets) || index == NETWORK_NONE) {
        return;
    }
    if (words.overflow_to) {
        read_overflow(draft, node, words.overflow_to, &tanks[index], index);
    }
    struct tank *tank = &draft->network->tanks[index];
    /* A shape is held against floor, brim and area, which are not known of a wrong tank. */
    if (draft->has_wrong_tanks || !read_shape(draft, node, &words, tank, &tanks[index].shape)) {
        return;
    }
    if (words.shape != WORD_UPRIGHT) {
        const struct tank_shape *shape = &tanks[index].shape;
        tank->area = tank_shape_area(shape, tank->level - tank->floor);
        tank->is_fixed = false;
        tanks[index].catchment = tank_shape_area(shape, height_of(tank));
    }
    tanks[index].inflow = words.inflow;
    tanks[index].rain = words.rain;
    tanks[index].evaporation = words.evaporation;
    tanks[index].leak = words.leak;
    tanks[index].catchment = isfinite(words.catchment) ? words.catchment : tanks[index].catchment;
}

/* Overflows that run in a ring would never leave it. */
static void check_ring(struct draft *draft, const struct tree *node,
                       const struct filling_tank *tanks)
{
    const int count = draft->network->tank_count;
    for (int i = 0; i < count; i++) {
        int at = i;
        for (int steps = 0; at != NETWORK_NONE && steps < count; steps++) {
            at = tanks[at].overflow_to;
            if (at == i) {
                (void)draft_error(draft, node->place,
                                  "filling tanks: the overflow of '%s' runs back to it",
                                  draft->network->tanks[i].name);
                return;
            }
        }
    }
}

void read_filling_tanks(struct draft *draft, const struct tree *node)
{
    const int count = draft->network->tank_count;
    struct filling_tank *tanks = draft_take(draft, (size_t)count, sizeof *tanks);
    if (!tanks) {
        return;
    }
    for (int i = 0; i < count; i++) {
        tanks[i] = plain_tank(&draft->network->tanks[i]);
    }
    draft->site->filling.tanks = tanks;
    if (node && node->kind != TREE_MAP) {
        (void)draft_error(draft, node->place,
                          "filling: tanks: a map of tanks is expected, such as "
                          "'header: {shape: cylinder, bore: 2 m}'");
        return;
    }
    for (const struct tree *child = node ? node->first : NULL; child; child = child->next) {
        read_tank(draft, child, tanks);
    }
    if (node) {
        check_ring(draft, node, tanks);
    }
}

/* --- mouths --- */

/* The mouth lies where the first pipe begins; a part there has the elevation of its other end. */
static double mouth_elevation(const struct network *network, const struct link *link, bool is_start)
{
    const struct pipe *pipe = link->element->pipe ? link->element->pipe(link->data) : NULL;
    if (pipe) {
        return is_start ? pipe->vertical_from : pipe->vertical_to;
    }
    return network->points[is_start ? link->to : link->from].elevation;
}

void find_filling_mouths(struct draft *draft)
{
    const struct network *network = draft->network;
    struct filling_plan *plan = &draft->site->filling;
    struct filling_mouth *mouths =
        draft_take(draft, 2 * (size_t)network->link_count, sizeof *mouths);
    for (int end = 0; mouths && end < 2 * network->link_count; end++) {
        const bool is_start = end % 2 == 0;
        const struct link *link = &network->links[end / 2];
        const int point = is_start ? link->from : link->to;
        const int tank = network->points[point].tank;
        if (tank != NETWORK_NONE && network->tanks[tank].point == point) {
            mouths[plan->mouth_count++] =
                (struct filling_mouth){end / 2, tank, mouth_elevation(network, link, is_start)};
        }
    }
    plan->mouths = mouths;
}
