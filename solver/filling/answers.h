/* Answers: what a run of hours tells of each tank, each run, each pump and each tap. */
#ifndef SOLVER_FILLING_ANSWERS_H
#define SOLVER_FILLING_ANSWERS_H

#include <stdbool.h>

struct filling_tank_answer {
    double level_start; /* m */
    double level_end;
    double lowest; /* m, at steps and events */
    double highest;
    double in;  /* m3 by runs */
    double out; /* m3 by runs */
    double overflow;
    double fed; /* inflow and rain */
    double evaporation;
    double leak;
    double draw;
    double residence; /* s, mean volume over mean outflow of all kinds: how long water stays in a
                         mixed tank on average (Danckwerts 1953, Chem. Eng. Sci. 2, 1-13); NAN:
                         nothing flowed out */
    double brim_time; /* s running over */
    double dry_time;  /* s at or below its lowest mouth */
};

/* Runs are followed while there are at most so many: each is one more unknown. */
enum { FILLING_RUNS_MAX = 64 };

struct filling_run_answer {
    double content;   /* m3 of water in its pipes */
    double passed;    /* m3 that went through it, either way; NAN: not followed */
    double residence; /* s, content over mean flow either way: how long water is under way in it
                         (plug flow, the same source); NAN: nothing passed */
};

struct filling_pump_answer {
    int starts;
    double run_time;      /* s */
    double shortest_run;  /* s between start and stop; NAN: none ended */
    int most_starts;      /* in any hour */
    double starts_limit;  /* an hour */
    double volume;        /* m3 delivered */
    double volume_back;   /* m3 that ran back through it */
    bool is_back_unknown; /* its pipes branch and nothing in its run keeps their water back: what
                             drains out of them as it stops is not in volume_back */
    double energy;        /* J electrical; NAN: the maker's power is not known */
    double cost;          /* by the tariff; NAN: no price or no power */
    int primes_lost;
    double idle_run; /* s running without its prime */
    double dry_run; /* s running, primed, while every mouth that feeds it stood out of the water: it
                       draws air */
    double air_energy; /* J of `energy`, counted in those two times for no more than the water that
                          came, as if no air were with it; NAN as energy. How much air goes through
                          is not known. It makes that less: the blades work less on each kilogram
                          the more goes through (Euler's equation, blades bent back), and friction
                          on the impeller goes with density */
};

/* The pressure at a point where water is drawn, while it is drawn: looked at as something switches
 * and at the instants kept, each of which stands for the time until the next. */
struct filling_tap_answer {
    int point;
    double lowest;      /* m of gauge head; infinite: nothing was drawn while water fed it */
    double lowest_time; /* s from the start; NAN: as infinite */
    double short_time;  /* s with less than none, or fed by no water: nothing comes in truth */
    double low_time;    /* s with less than is wanted there, those too */
};

#endif
