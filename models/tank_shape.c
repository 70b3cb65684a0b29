#include "models/tank_shape.h"

#include "models/circle.h"
#include "models/root.h"

#include <math.h>

static double clamp(double value, double lower, double upper)
{
    return fmin(fmax(value, lower), upper);
}

struct tank_shape tank_shape_upright(double area, double height)
{
    return (struct tank_shape){.kind = TANK_SHAPE_UPRIGHT, .area = area, .height = height};
}

struct tank_shape tank_shape_ring(double outer_bore, double inner_bore, double height)
{
    return tank_shape_upright(circle_area(outer_bore) - circle_area(inner_bore), height);
}

struct tank_shape tank_shape_lying(double bore, double length)
{
    return (struct tank_shape){
        .kind = TANK_SHAPE_LYING, .bore = bore, .length = length, .height = bore};
}

struct tank_shape tank_shape_cone(double bottom_bore, double top_bore, double height)
{
    return (struct tank_shape){.kind = TANK_SHAPE_CONE,
                               .bottom_bore = bottom_bore,
                               .top_bore = top_bore,
                               .height = height};
}

struct tank_shape tank_shape_sphere(double bore)
{
    return (struct tank_shape){.kind = TANK_SHAPE_SPHERE, .bore = bore, .height = bore};
}

struct tank_shape tank_shape_table(enum tank_shape_kind kind, int count, const double depth[],
                                   const double value[])
{
    return (struct tank_shape){.kind = kind,
                               .count = count,
                               .depth = depth,
                               .value = value,
                               .height = count > 0 ? depth[count - 1] : 0.0};
}

/* --- check --- */

static bool is_above_zero(double value)
{
    return isfinite(value) && value > 0.0;
}

static bool check_table(const struct tank_shape *shape, const char *name, struct place place,
                        struct failure *failure)
{
    const bool is_volume = shape->kind == TANK_SHAPE_VOLUME_TABLE;
    if (shape->count < 2) {
        return fail(failure, FAILURE_INPUT, place,
                    "tank '%s': its table has %d rows; at least 2 are needed", name, shape->count);
    }
    if (fabs(shape->depth[0]) > 0.0 || (is_volume && shape->value[0] > 0.0)) {
        return fail(failure, FAILURE_INPUT, place,
                    "tank '%s': its table begins at depth %.4g m%s; it must begin at the floor",
                    name, shape->depth[0], is_volume ? " or not at volume 0" : "");
    }
    for (int i = 0; i < shape->count; i++) {
        const bool rises = i == 0 || (shape->depth[i] > shape->depth[i - 1] &&
                                      (!is_volume || shape->value[i] > shape->value[i - 1]));
        if (!isfinite(shape->depth[i]) || !isfinite(shape->value[i]) || shape->value[i] < 0.0 ||
            !rises) {
            return fail(failure, FAILURE_INPUT, place,
                        "tank '%s': row %d of its table (depth %.4g m, %.4g %s): depths%s must "
                        "rise, and nothing may be below 0",
                        name, i + 1, shape->depth[i], shape->value[i], is_volume ? "m3" : "m2",
                        is_volume ? " and volumes" : "");
        }
    }
    if (!(tank_shape_volume(shape, shape->height) > 0.0)) {
        return fail(failure, FAILURE_INPUT, place, "tank '%s': its table gives no room for water",
                    name);
    }
    return true;
}

bool tank_shape_check(const struct tank_shape *shape, const char *name, struct place place,
                      struct failure *failure)
{
    bool is_good = true;
    switch (shape->kind) {
    case TANK_SHAPE_UPRIGHT:
        is_good = is_above_zero(shape->area);
        break;
    case TANK_SHAPE_LYING:
        is_good = is_above_zero(shape->bore) && is_above_zero(shape->length);
        break;
    case TANK_SHAPE_CONE:
        is_good = isfinite(shape->bottom_bore) && isfinite(shape->top_bore) &&
                  shape->bottom_bore >= 0.0 && shape->top_bore >= 0.0 &&
                  shape->bottom_bore + shape->top_bore > 0.0;
        break;
    case TANK_SHAPE_SPHERE:
        is_good = is_above_zero(shape->bore);
        break;
    case TANK_SHAPE_AREA_TABLE:
    case TANK_SHAPE_VOLUME_TABLE:
        return check_table(shape, name, place, failure);
    }
    if (!is_good || !is_above_zero(shape->height)) {
        return fail(failure, FAILURE_INPUT, place,
                    "tank '%s': its sizes must be above 0 (height %.4g m)", name, shape->height);
    }
    return true;
}

/* --- laws --- */

/* Circular segment of half angle a: r^2 (a - sin a cos a); by series where the two nearly cancel.
 */
static double segment(double radius, double depth)
{
    static const double series_below = 0.02; /* next term left out: 1e-13 of the whole */
    const double angle = 2.0 * asin(sqrt(clamp(depth / (2.0 * radius), 0.0, 1.0)));
    const double square = angle * angle;
    const double share =
        angle < series_below
            ? square * angle * (2.0 / 3.0 - square * (2.0 / 15.0 - square * (4.0 / 315.0)))
            : angle - sin(angle) * cos(angle);
    return radius * radius * share;
}

/* Number of the table's piece that `depth` lies in. */
static int piece_at(const struct tank_shape *shape, double depth)
{
    int i = 0;
    while (i < shape->count - 2 && depth >= shape->depth[i + 1]) {
        i++;
    }
    return i;
}

/* Slope of the piece that begins at point i. */
static double piece_slope(const struct tank_shape *shape, int i)
{
    return (shape->value[i + 1] - shape->value[i]) / (shape->depth[i + 1] - shape->depth[i]);
}

static double table_volume(const struct tank_shape *shape, double depth)
{
    const int piece = piece_at(shape, depth);
    const double over = depth - shape->depth[piece];
    if (shape->kind == TANK_SHAPE_VOLUME_TABLE) {
        return shape->value[piece] + piece_slope(shape, piece) * over;
    }
    double volume = over * (shape->value[piece] + 0.5 * piece_slope(shape, piece) * over);
    for (int i = 0; i < piece; i++) {
        volume +=
            0.5 * (shape->value[i] + shape->value[i + 1]) * (shape->depth[i + 1] - shape->depth[i]);
    }
    return volume;
}

static double cone_bore(const struct tank_shape *shape, double depth)
{
    return shape->bottom_bore + (shape->top_bore - shape->bottom_bore) * depth / shape->height;
}

double tank_shape_volume(const struct tank_shape *shape, double depth)
{
    depth = clamp(depth, 0.0, shape->height);
    switch (shape->kind) {
    case TANK_SHAPE_UPRIGHT:
        return shape->area * depth;
    case TANK_SHAPE_LYING:
        return shape->length * segment(0.5 * shape->bore, depth);
    case TANK_SHAPE_CONE: {
        /* pi h/12 (a^2 + a b + b^2) with the bores a and b at its ends. */
        const double a = shape->bottom_bore;
        const double b = cone_bore(shape, depth);
        return circle_pi / 12.0 * depth * (a * a + a * b + b * b);
    }
    case TANK_SHAPE_SPHERE: /* cap: pi h^2 (3 r - h)/3 */
        return circle_pi / 3.0 * depth * depth * (1.5 * shape->bore - depth);
    case TANK_SHAPE_AREA_TABLE:
    case TANK_SHAPE_VOLUME_TABLE:
        break;
    }
    return table_volume(shape, depth);
}

double tank_shape_area(const struct tank_shape *shape, double depth)
{
    depth = clamp(depth, 0.0, shape->height);
    switch (shape->kind) {
    case TANK_SHAPE_UPRIGHT:
        return shape->area;
    case TANK_SHAPE_LYING: /* the chord times the length */
        return 2.0 * shape->length * sqrt(depth * (shape->bore - depth));
    case TANK_SHAPE_CONE:
        return circle_area(cone_bore(shape, depth));
    case TANK_SHAPE_SPHERE:
        return circle_pi * depth * (shape->bore - depth);
    case TANK_SHAPE_AREA_TABLE: {
        const int i = piece_at(shape, depth);
        return shape->value[i] + piece_slope(shape, i) * (depth - shape->depth[i]);
    }
    case TANK_SHAPE_VOLUME_TABLE:
        break;
    }
    return piece_slope(shape, piece_at(shape, depth));
}

struct wanted {
    const struct tank_shape *shape;
    double volume;
};

static struct root_value excess(const void *user, double depth)
{
    const struct wanted *wanted = user;
    return (struct root_value){tank_shape_volume(wanted->shape, depth) - wanted->volume,
                               tank_shape_area(wanted->shape, depth)};
}

double tank_shape_depth(const struct tank_shape *shape, double volume)
{
    if (!(volume > 0.0)) {
        return 0.0;
    }
    if (shape->kind == TANK_SHAPE_UPRIGHT) {
        return fmin(volume / shape->area, shape->height);
    }
    const double full = tank_shape_volume(shape, shape->height);
    if (volume >= full) {
        return shape->height;
    }
    const struct wanted wanted = {shape, volume};
    return root_find(excess, &wanted, shape->height * volume / full, 0.0, shape->height);
}
