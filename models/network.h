/* Network: points joined by links, and the tanks, runs and names a person put there.
 * One network serves the steady, the filling and the surge solver. Built once, then read only; a
 * variant is a shallow copy (network_copy) whose links point at other element data. */
#ifndef MODELS_NETWORK_H
#define MODELS_NETWORK_H

#include "models/arena.h"
#include "models/element.h"
#include "models/failure.h"

enum { NETWORK_NONE = -1 };

/* Where links meet. Head is total, m: elevation + gauge pressure/(density gravity) and, where water
 * flows, the velocity head, which is not told apart. Losses count so: from a level an entry takes
 * 0.5 velocity heads and no more, and a mouth under water all. A pressure taken from it is that of
 * the water brought to rest; on the wall it is less by v2/2g: 0.05 m at 1 m/s, 0.3 m at 2.4 m/s. */
struct point {
    const char *name; /* "main/2", "manifold", "lift-1/in"; borrowed */
    struct place place;
    double elevation;   /* m */
    double draw;        /* m3/s taken out here whatever the pressure; negative: fed in */
    double held_head;   /* m; used when is_held */
    double wanted_head; /* m of gauge pressure wanted here; 0: none */
    bool is_held;       /* its head is given: tank, outlet to the air */
    bool is_named;      /* the user named it (not made by a run) */
    int tank;           /* index of the tank whose water it is, or NETWORK_NONE */
};

struct link {
    const char *name; /* "delivery", "main/pipe-1"; borrowed */
    struct place place;
    int from; /* point indices */
    int to;
    int run;                       /* run it belongs to, or NETWORK_NONE */
    double area;                   /* m2, bore area that its velocity refers to; > 0 */
    const struct element *element; /* law; static table */
    const void *data;              /* what the law works on; borrowed */
};

/* Open water. */
struct tank {
    const char *name;
    struct place place;
    double floor;     /* m */
    double brim;      /* m */
    double level;     /* m */
    double area;      /* m2; 0: level is fixed */
    bool is_fixed;    /* the level does not change */
    bool inlet_above; /* runs that end here pour in above the water: nothing flows back */
    int point;        /* the held point */
};

/* A row of parts as the user wrote it; its links follow one another in network.links. */
struct run {
    const char *name;
    struct place place;
    int from; /* point indices of its ends */
    int to;
    int first_link;
    int link_count;
    bool is_suction; /* its `from` is a tank and the first pump is in it, or the user says so */
    const struct run *before; /* the suction run without a pump that alone leads to it, or NULL */
};

struct network {
    int point_count;
    int link_count;
    int tank_count;
    int run_count;
    struct point *points; /* [point_count] */
    struct link *links;   /* [link_count] */
    struct tank *tanks;   /* [tank_count] */
    struct run *runs;     /* [run_count] */
};

/* Every index in range, every link with an element, area > 0 and two different ends, finite
 * numbers; the first fault is told with the link's or point's place. */
MUST_CHECK bool network_check(const struct network *network, struct failure *failure);

/* A copy in `arena` whose points, links and tanks may be changed; element data is shared.
 * NULL when memory ended. */
struct network *network_copy(const struct network *network, struct arena *arena);

/* Whether all water of link `target` has come through `link`: it stands before it in its run, or in
 * a suction run that leads to that (struct run, before). */
bool network_leads_to(const struct network *network, int link, int target);

/* m3 of water in the pipes of links that lead to `target`. */
double network_volume_before(const struct network *network, int target);

/* Index of the link, point or tank of this name, or NETWORK_NONE. Linear search. */
int network_find_link(const struct network *network, const char *name);
int network_find_point(const struct network *network, const char *name);
int network_find_tank(const struct network *network, const char *name);

#endif
