/* From a row of the catalogue to a complete valve. Where the row has no number: rules below, all
 * constructed for this program but for the added mass of water (Lamb, Hydrodynamics, 1932, ch. 5-6,
 * unbounded fluid; near a seat it is higher). */
#include "models/catalogue/non_return_types.h"
#include "models/circle.h"
#include "models/fitting.h"
#include "models/name.h"
#include "models/non_return.h"

#include <limits.h>
#include <math.h>
#include <stddef.h>

/* s_floor of every catalogue valve: K may grow ten thousand times before it meets its seat. */
static const double opening_floor = 0.01;

/* Share of critical damping of the part on the spring it would have at the seat; a placeholder, set
 * so high that no type's reverse velocity falls where the water slows faster, for a part that rings
 * would meet its seat early now and then (tests/solver/test_slam_characteristic.c). */
static const double damping_share = 0.3;

/* Head, m, that counts as spring for damping where the opening head is smaller. */
static const double least_spring_head = 0.05;

int non_return_type_count(void)
{
    return non_return_row_count();
}

const struct non_return_type *non_return_type_at(int index)
{
    return &non_return_row_at(index)->type;
}

const struct non_return_type *non_return_type_find(const char *name, const char **nearest)
{
    int least = INT_MAX;
    for (int i = 0; i < non_return_row_count(); i++) {
        const struct non_return_type *type = non_return_type_at(i);
        if (name_is_same(type->name, name)) {
            return type;
        }
    }
    /* Nearness is costly, and asked for only where nothing is found. */
    for (int i = 0; i < non_return_row_count(); i++) {
        const struct non_return_type *type = non_return_type_at(i);
        const int distance = name_distance(type->name, name);
        if (distance < least) {
            least = distance;
            if (nearest) {
                *nearest = type->name;
            }
        }
    }
    return NULL;
}

int non_return_size_count(void)
{
    return NON_RETURN_SIZES;
}

double non_return_size_at(int index)
{
    return non_return_sizes[index];
}

int non_return_size_nearest(double bore)
{
    int nearest = 0;
    for (int i = 1; i < NON_RETURN_SIZES; i++) {
        if (fabs(log(bore / non_return_sizes[i])) < fabs(log(bore / non_return_sizes[nearest]))) {
            nearest = i;
        }
    }
    return nearest;
}

static double opening_head(const struct non_return_row *row, int size, double bore,
                           enum mounting mounting, const struct water *water)
{
    const double specific_weight = water->density * water->gravity;
    const double weight =
        row->part == PART_BALL
            ? non_return_ball_opening_head(row->relative_density, row->diameter * bore, bore)
            : row->weight[size] / specific_weight;
    return fmax(0.0, row->spring[size] / specific_weight + row->weight_share[mounting] * weight);
}

/* kg, or kg m2 about the pin: the solid part and the water that moves with it. */
static double inertia(const struct non_return_row *row, int size, double bore,
                      const struct water *water)
{
    const double density = water->density;
    const double r = 0.5 * row->diameter * bore;
    const double cube = r * r * r;
    if (row->part == PART_BALL) {
        return (4.0 / 3.0 * row->relative_density + 2.0 / 3.0) * circle_pi * density * cube;
    }
    if (row->part == PART_DISC) { /* solid mass from its submerged weight */
        const double area = row->seat_share * circle_area(bore);
        const double apparent = fmax(1.0 - 1.0 / row->relative_density, 0.05);
        return row->weight[size] * area / (water->gravity * apparent) + 8.0 / 3.0 * density * cube;
    }
    const double arm = row->arm * bore;
    const double solid =
        row->relative_density * density * circle_pi * r * r * row->thickness * bore;
    return solid * (0.25 * r * r + arm * arm) +
           density * cube * (16.0 / 45.0 * r * r + 8.0 / 3.0 * arm * arm);
}

static double full_open_velocity(const struct non_return_row *row, const struct water *water,
                                 const struct non_return *valve)
{
    if (row->full_velocity > 0.0 || !(row->full_ratio > 0.0)) {
        return row->full_velocity;
    }
    return sqrt(2.0 * water->gravity * row->full_ratio * valve->opening_head /
                valve->full_open_loss);
}

static const struct non_return_row *row_of(const struct non_return_type *type)
{
    int i = 0;
    while (i < non_return_row_count() - 1 && &non_return_row_at(i)->type != type) {
        i++;
    }
    return non_return_row_at(i);
}

static unsigned mountings_of(const struct non_return_row *row, double bore)
{
    const bool is_too_large = row->largest_down > 0.0 && bore > 1.001 * row->largest_down;
    return is_too_large ? row->mountings & ~(1u << MOUNTING_DOWN) : row->mountings;
}

void non_return_make(const struct non_return_type *type, double bore, enum mounting mounting,
                     const struct water *water, struct non_return *valve)
{
    const struct non_return_row *row = row_of(type);
    const int size = non_return_size_nearest(bore);
    const double area = circle_area(bore);
    const struct fitting_kind turbulent = {.per_turbulent_factor = row->turbulent_factor[size]};
    const struct non_return made = {
        .type = type->name,
        .form = type->form,
        .mounting = mounting,
        .bore = bore,
        .port_area = row->port_share * area,
        .opening_head = opening_head(row, size, bore, mounting, water),
        .full_open_loss = row->turbulent_factor[size] > 0.0 ? fitting_kind_loss(&turbulent, bore)
                                                            : row->loss[size],
        .extra_loss = row->strainer_loss,
        .seat_area = row->seat_share * area,
        .is_swing = row->part == PART_FLAP,
        .inertia = inertia(row, size, bore, water),
        .travel = row->part == PART_FLAP ? row->travel : row->travel * bore,
        .arm = row->part == PART_FLAP ? row->arm * bore : 1.0,
        .opening_floor = opening_floor,
        .own = {.rotation = 1.0}, /* all of the water that its part sweeps: it has no other way */
        .seating_head = row->seating_head,
        .holding_head = row->holding_head,
        .has_strainer = row->has_strainer,
        .spring_in_stream = row->spring_in_stream,
        .mountings = mountings_of(row, bore),
        .level_needs_back_head = row->level_needs_back_head,
        .debris = row->debris,
        .slam = row->slam,
        .service = row->service,
        .is_placeholder = type->is_placeholder,
        .source = type->source,
    };
    *valve = made;
    valve->full_open_velocity = full_open_velocity(row, water, valve);
    const double lift = non_return_lift(valve, water);
    valve->closing_force = lift * valve->opening_head;
    const double stiffness = lift * fmax(valve->opening_head, least_spring_head) / valve->travel;
    valve->damping = 2.0 * damping_share * sqrt(stiffness * valve->inertia);
}
