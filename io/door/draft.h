/* Draft: a site while it is being read: growing points and links, the index of names, and what
 * sections leave for later ones. */
#ifndef IO_DOOR_DRAFT_H
#define IO_DOOR_DRAFT_H

#include "io/door/keys.h"
#include "io/door/names.h"
#include "io/nearest.h"
#include "models/site.h"

struct valve_numbers;
struct protection;

/* Entry and exit losses where a run meets a tank. */
struct losses {
    double entry; /* K */
    double exit;  /* K */
};

/* What a name at the end of a run stands for. */
enum end_kind { END_POINT, END_TANK, END_OUTLET };

/* A tank's words that the network does not keep. */
struct tank_ends {
    double inlet_elevation;  /* m; NAN: not said */
    double outlet_elevation; /* m; NAN: not said */
};

/* An outlet's own law, as said (io/door/outlet_law.h); NAN: not said. */
struct outlet_law {
    double flow;     /* m3/s of a nozzle ... */
    double pressure; /* ... at this head, m */
    double power;
    double factor;   /* of a sprinkler, L/min at 1 bar */
    double opens_at; /* m, of a relief valve */
    double overpressure;
    double opening_time; /* s */
    double closing_time;
};

/* A point's own law, as said (io/door/point_law.h). */
struct point_law {
    int point;
    int falls;                     /* 1: its draw falls with the pressure */
    double standpipe_top;          /* m; NAN */
    double standpipe_bore;         /* m; NAN */
    double standpipe_throttle;     /* m, of the hole at its foot; NAN: as wide as itself */
    const struct tree *tee;        /* NULL: none */
    const struct tree *vessel;     /* its air vessel's map; NULL: none */
    const struct tree *air;        /* its air valve's map; NULL: none */
    struct protection *protection; /* read from them, see io/door/protection.h */
};

/* An open end; its link is made when the pipe that leads to it is known. */
struct outlet {
    const char *name;
    struct place place;
    int point;   /* the free point before it */
    double bore; /* m; NAN: that of the pipe */
    double discharge_coefficient;
    struct outlet_law law;
    int run_count;   /* runs that end or begin here */
    double run_bore; /* m, bore of the last such run's end */
};

/* The case's own type of valve: a stated set of numbers over another type. */
struct own_type {
    const char *name;
    const struct tree *node;
    const struct non_return_type *base;
    struct valve_numbers *numbers;
};

struct draft {
    struct reader reader;
    struct site *site;
    struct losses losses;
    struct network *network; /* points and links grow; tanks and runs have room from the start */
    int point_room;
    int link_room;
    struct names points; /* every point by name, tanks' and outlets' too */
    struct names links;
    const struct tree *root;     /* the case */
    bool has_lost_names;         /* a name or a section was refused: who calls it is not to blame */
    bool has_lost_parts;         /* a run was refused, and with it what is in it (see lost.h) */
    bool has_twins;              /* of two things with one name only the first is known by it */
    int lost_questions;          /* so often was is_lost asked about them */
    bool has_wrong_tanks;        /* levels and sizes of tanks are no measure for others */
    struct tank_ends *tank_ends; /* [tank_count] */
    int outlet_count;
    struct outlet *outlets; /* [outlet_count] */
    int point_law_count;
    int point_law_room;
    struct point_law *point_laws; /* [point_law_count] */
    int type_count;
    struct own_type *types; /* [type_count] */
    struct pump *pumps;     /* [site->pump_count] */
    int pump_place_room;
    int valve_room;
    struct pump_place *pump_places;
    struct valve_place *valves;
};

/* Room for this many more points and links, so that large tables do not move what is there again
 * and again. False: memory (told). */
bool draft_reserve(struct draft *draft, int points, int links);

/* An empty index of the network's points by name, and one of its links. */
void draft_name_points(struct draft *draft);
void draft_name_links(struct draft *draft);

/* Adds a point (its index is given back) or -1: the name is taken, or memory ended (told). */
int draft_add_point(struct draft *draft, const struct point *point);
int draft_add_link(struct draft *draft, const struct link *link);

/* The same for who has the key of its name. */
int draft_add_point_by(struct draft *draft, const struct point *point, struct name_key key);
int draft_add_link_by(struct draft *draft, const struct link *link, struct name_key key);

bool draft_add_valve_place(struct draft *draft, const struct valve_place *place);
bool draft_add_pump_place(struct draft *draft, const struct pump_place *place);

/* printf into the arena; "" when memory ended (told). */
const char *draft_text(struct draft *draft, const char *format, ...) PRINTF_LIKE(2, 3);

/* Room in the arena, or NULL (told). */
void *draft_take(struct draft *draft, size_t count, size_t size);

/* Name of a map's child may serve as a name: no blank ends, not empty, at most 60 bytes, no
 * "/"-names of ours. */
bool draft_check_name(struct draft *draft, const char *kind, const char *name, struct place place);

/* Offers a name as what a person may have meant, unless it is one that is refused. */
void draft_offer_name(struct nearest *nearest, const char *name);

/* Shorthands. */
bool draft_error(struct draft *draft, struct place place, const char *format, ...)
    PRINTF_LIKE(3, 4);
void draft_doubt(struct draft *draft, struct place place, const char *format, ...)
    PRINTF_LIKE(3, 4);
void draft_assume(struct draft *draft, struct place place, const char *format, ...)
    PRINTF_LIKE(3, 4);

#endif
