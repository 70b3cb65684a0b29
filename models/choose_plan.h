/* Choose plan: what a case says of the choice of its valves: between which waters and levels it
 * must hold, which valves are in question, and how many sets of them are wanted. Plain data. */
#ifndef MODELS_CHOOSE_PLAN_H
#define MODELS_CHOOSE_PLAN_H

#include <stdbool.h>

enum { CHOOSE_TANKS_MOST = 6, CHOOSE_WATERS_MOST = 64 };

/* Levels that one tank may stand at. */
struct choose_levels {
    int tank; /* index in network.tanks */
    int count;
    const double *level; /* [count] m */
};

struct choose_plan {
    int temperature_count; /* 0: the case's own */
    const double *temperature_c;
    int tank_count; /* 0: levels as the case says */
    struct choose_levels tanks[CHOOSE_TANKS_MOST];
    bool pumps_as_stated; /* else each running pump also alone, and each stopping alone */
    int valve_count;      /* 0: every valve of the site */
    const int *valves;    /* [valve_count] indices in site.valves, rising */
    double duration;      /* s of each surge run; 0: the surge plan's */
    int finalists;        /* sets judged in every case; 0: CHOOSE_FINALISTS */
};

enum { CHOOSE_FINALISTS = 3, CHOOSE_FINALISTS_MOST = 20 };

#endif
