/* Tank shape: how much water stands in a tank at a depth, and the other way round.
 * Upright walls (box, cylinder, ring), a cylinder lying down, a cone or its frustum, a sphere, or a
 * table. Volumes and areas of solids: any handbook of mensuration; the formula is told at each.
 * Laws are total: below the floor a tank is empty, above its height it is full. */
#ifndef MODELS_TANK_SHAPE_H
#define MODELS_TANK_SHAPE_H

#include "models/failure.h"

enum tank_shape_kind {
    TANK_SHAPE_UPRIGHT,     /* the same area at every depth */
    TANK_SHAPE_LYING,       /* cylinder with a level axis and flat ends */
    TANK_SHAPE_CONE,        /* bore changes evenly from floor to height */
    TANK_SHAPE_SPHERE,      /* depth counted from its lowest point */
    TANK_SHAPE_AREA_TABLE,  /* area by depth, straight lines between the points */
    TANK_SHAPE_VOLUME_TABLE /* volume by depth, straight lines between the points */
};

struct tank_shape {
    enum tank_shape_kind kind;
    double height;       /* m, depth when full; > 0 */
    double area;         /* m2, upright */
    double bore;         /* m, inner diameter: lying, sphere */
    double length;       /* m, lying */
    double bottom_bore;  /* m, cone: inner diameter at the floor, >= 0 */
    double top_bore;     /* m, cone: inner diameter at `height`, >= 0 */
    int count;           /* points of a table, at least 2 */
    const double *depth; /* [count] m, rising from 0; borrowed */
    const double *value; /* [count] m2, >= 0, or m3, rising from 0; borrowed */
};

struct tank_shape tank_shape_upright(double area, double height);
struct tank_shape tank_shape_ring(double outer_bore, double inner_bore, double height);
struct tank_shape tank_shape_lying(double bore, double length);
struct tank_shape tank_shape_cone(double bottom_bore, double top_bore, double height);
struct tank_shape tank_shape_sphere(double bore);

/* A table's height is its last depth. `count` points; the arrays are borrowed. */
struct tank_shape tank_shape_table(enum tank_shape_kind kind, int count, const double depth[],
                                   const double value[]);

/* Numbers finite, sizes above 0, tables in order; the first fault is told of tank `name`. */
MUST_CHECK bool tank_shape_check(const struct tank_shape *shape, const char *name,
                                 struct place place, struct failure *failure);

/* m3 below `depth` m. */
double tank_shape_volume(const struct tank_shape *shape, double depth);

/* m2 of water surface at `depth` m, >= 0; within a volume table's piece its slope. */
double tank_shape_area(const struct tank_shape *shape, double depth);

/* m of depth when it holds `volume` m3; the inverse of tank_shape_volume to round-off. */
double tank_shape_depth(const struct tank_shape *shape, double volume);

#endif
