#include "io/door/read_water.h"

#include <math.h>

/* --- water --- */

struct water_words {
    double temperature, altitude, gravity, density, viscosity;
    double vapour_pressure, vapour_head, bulk_modulus, air_pressure;
    int fibres, grit;
};

#define FIELD(name) offsetof(struct water_words, name)
static const struct key water_keys[] = {
    {.name = "temperature",
     .kind = KEY_QUANTITY,
     .offset = FIELD(temperature),
     .quantity = QUANTITY_TEMPERATURE,
     .help = "from 0 to 60 degC"},
    {.name = "altitude",
     .kind = KEY_QUANTITY,
     .offset = FIELD(altitude),
     .quantity = QUANTITY_LENGTH,
     .help = "of the site above the sea, for the air's pressure"},
    {.name = "gravity",
     .kind = KEY_QUANTITY,
     .offset = FIELD(gravity),
     .quantity = QUANTITY_GRAVITY,
     .range = RANGE_POSITIVE,
     .help = "instead of 9.80665 m/s2, for published cases"},
    {.name = "density",
     .kind = KEY_QUANTITY,
     .offset = FIELD(density),
     .quantity = QUANTITY_DENSITY,
     .plausible = PLAUSIBLE_DENSITY,
     .range = RANGE_POSITIVE,
     .help = "instead of that of water"},
    {.name = "viscosity",
     .kind = KEY_QUANTITY,
     .offset = FIELD(viscosity),
     .quantity = QUANTITY_VISCOSITY,
     .range = RANGE_POSITIVE,
     .help = "kinematic, instead of that of water"},
    {.name = "vapour pressure",
     .kind = KEY_QUANTITY,
     .offset = FIELD(vapour_pressure),
     .quantity = QUANTITY_PRESSURE,
     .plausible = PLAUSIBLE_VAPOUR_PRESSURE,
     .range = RANGE_NOT_NEGATIVE,
     .help = "absolute, instead of that of water"},
    {.name = "vapour head",
     .kind = KEY_QUANTITY,
     .offset = FIELD(vapour_head),
     .quantity = QUANTITY_HEAD,
     .plausible = PLAUSIBLE_VAPOUR_HEAD,
     .help = "gauge head at which it boils, such as -10.1 m"},
    {.name = "bulk modulus",
     .kind = KEY_QUANTITY,
     .offset = FIELD(bulk_modulus),
     .quantity = QUANTITY_PRESSURE,
     .plausible = PLAUSIBLE_BULK_MODULUS,
     .range = RANGE_POSITIVE,
     .help = "adiabatic, instead of that of water"},
    {.name = "air pressure",
     .kind = KEY_QUANTITY,
     .offset = FIELD(air_pressure),
     .quantity = QUANTITY_PRESSURE,
     .plausible = PLAUSIBLE_AIR_PRESSURE,
     .range = RANGE_POSITIVE,
     .help = "absolute, instead of that of the altitude"},
    {.name = "fibres",
     .kind = KEY_YES,
     .offset = FIELD(fibres),
     .help = "hair, leaves or string are in the water"},
    {.name = "grit",
     .kind = KEY_YES,
     .offset = FIELD(grit),
     .help = "sand or grit is in the water"},
};
#undef FIELD

const struct section water_section = {"water", "the water and its place",
                                      sizeof water_keys / sizeof *water_keys, water_keys};

static const double default_temperature_c = 10.0; /* groundwater and mains of a temperate country */

static void state(double stated, double *value)
{
    if (isfinite(stated)) {
        *value = stated;
    }
}

static void apply_water(struct draft *draft, const struct water_words *words, struct place place)
{
    struct water *water = &draft->site->water;
    state(words->gravity, &water->gravity);
    state(words->density, &water->density);
    state(words->viscosity, &water->viscosity);
    state(words->vapour_pressure, &water->vapour_pressure);
    state(words->bulk_modulus, &water->bulk_modulus);
    state(words->air_pressure, &water->air_pressure);
    if (isfinite(words->vapour_head)) {
        water->vapour_pressure =
            water->air_pressure + words->vapour_head * water->density * water->gravity;
        if (water->vapour_pressure < 0) {
            (void)draft_error(draft, place,
                              "water: 'vapour head' %.4g m is below no pressure at all",
                              words->vapour_head);
        }
    }
    draft->site->circumstances.has_fibres = words->fibres == 1;
    draft->site->circumstances.has_grit = words->grit == 1;
}

void read_water(struct draft *draft, const struct tree *node)
{
    struct water_words words;
    struct failure failure;
    struct place place = {0};
    const struct target targets[] = {{&water_section, &words}};
    keys_clear(&draft->reader, 1, targets);
    if (node) {
        place = node->place;
        if (!keys_read(&draft->reader, node, "water", 1, targets)) {
            /* told; go on with what could be read */
        }
    }
    if (!isfinite(words.temperature)) {
        words.temperature = default_temperature_c;
        draft_assume(draft, place, "water: temperature not said; taken as %.0f degC",
                     default_temperature_c);
    }
    if (!isfinite(words.altitude)) {
        words.altitude = 0;
        if (!isfinite(words.air_pressure)) {
            draft_assume(draft, place, "water: altitude not said; taken as sea level");
        }
    }
    draft->site->altitude = words.altitude;
    if (!water_init(&draft->site->water, words.temperature, words.altitude, place, &failure)) {
        struct failure spare;
        (void)faults_add_failure(draft->reader.faults, &failure);
        if (!water_init(&draft->site->water, default_temperature_c, 0, place, &spare)) {
            return;
        }
    }
    apply_water(draft, &words, place);
    draft->reader.water = &draft->site->water;
}

/* --- energy --- */

struct energy_words {
    double price, hours;
};

#define FIELD(name) offsetof(struct energy_words, name)
static const struct key energy_keys[] = {
    {.name = "price",
     .kind = KEY_QUANTITY,
     .offset = FIELD(price),
     .quantity = QUANTITY_ENERGY_PRICE,
     .range = RANGE_NOT_NEGATIVE,
     .help = "of electricity, in whatever money"},
    {.name = "hours",
     .kind = KEY_QUANTITY,
     .offset = FIELD(hours),
     .quantity = QUANTITY_TIME,
     .range = RANGE_NOT_NEGATIVE,
     .help = "that the pumps run in a year"},
};
#undef FIELD

const struct section energy_section = {"energy", "what pumping costs",
                                       sizeof energy_keys / sizeof *energy_keys, energy_keys};

void read_energy(struct draft *draft, const struct tree *node)
{
    static const double year = 366.0 * 86400; /* s */
    struct energy_words words;
    const struct target targets[] = {{&energy_section, &words}};
    if (!node || !keys_read(&draft->reader, node, "energy", 1, targets)) {
        return;
    }
    if (words.hours > year) {
        (void)draft_error(draft, tree_find(node, "hours")->place,
                          "energy: hours: a year has no more than 8784 h");
    }
    state(words.price, &draft->site->circumstances.energy_price);
    state(words.hours, &draft->site->circumstances.hours_a_year);
}

/* --- losses --- */

/* Sharp flush entrance 0.5, exit to a tank 1.0: Crane TP-410 (the first read in a reprint, the
 * second exact for uniform flow). */
static const struct key losses_keys[] = {
    {.name = "entry",
     .kind = KEY_QUANTITY,
     .offset = offsetof(struct losses, entry),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_LOSS,
     .range = RANGE_NOT_NEGATIVE,
     .fallback = "0.5",
     .help = "K where a run leaves a tank without a part for it; 0 switches it off"},
    {.name = "exit",
     .kind = KEY_QUANTITY,
     .offset = offsetof(struct losses, exit),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_LOSS,
     .range = RANGE_NOT_NEGATIVE,
     .fallback = "1.0",
     .help = "K where a run enters a tank; 0 switches it off"},
};

const struct section losses_section = {"losses", "losses added at tanks",
                                       sizeof losses_keys / sizeof *losses_keys, losses_keys};

void read_losses(struct draft *draft, const struct tree *node)
{
    const struct target targets[] = {{&losses_section, &draft->losses}};
    keys_clear(&draft->reader, 1, targets);
    if (node && !keys_read(&draft->reader, node, "losses", 1, targets)) {
        return; /* told */
    }
}

/* --- limits --- */

#define FIELD(name) offsetof(struct limits, name)
static const struct key limits_keys[] = {
    {.name = "least flow",
     .kind = KEY_QUANTITY,
     .offset = FIELD(least_flow_share),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_SHARE,
     .fallback = "0.8",
     .help = "share of the flow with a valve without loss that must be left"},
    {.name = "suction margin",
     .kind = KEY_QUANTITY,
     .offset = FIELD(suction_margin),
     .quantity = QUANTITY_HEAD,
     .range = RANGE_NOT_NEGATIVE,
     .fallback = "0.5 m",
     .help = "of NPSH over what the pump requires"},
    {.name = "reverse velocity",
     .kind = KEY_QUANTITY,
     .offset = FIELD(reverse_velocity),
     .quantity = QUANTITY_VELOCITY,
     .range = RANGE_NOT_NEGATIVE,
     .help = "largest as a valve meets its seat; else judged by the slam"},
    {.name = "slam",
     .kind = KEY_QUANTITY,
     .offset = FIELD(slam_head_share),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_NOT_NEGATIVE,
     .fallback = "0.5",
     .help = "largest slam head, share of the pressure class"},
    {.name = "suction velocity",
     .kind = KEY_QUANTITY,
     .offset = FIELD(velocity_suction),
     .quantity = QUANTITY_VELOCITY,
     .range = RANGE_POSITIVE,
     .fallback = "1.5 m/s",
     .help = "largest in suction pipe"},
    {.name = "delivery velocity",
     .kind = KEY_QUANTITY,
     .offset = FIELD(velocity_delivery),
     .quantity = QUANTITY_VELOCITY,
     .range = RANGE_POSITIVE,
     .fallback = "2.4 m/s",
     .help = "largest in delivery pipe"},
};
#undef FIELD

const struct section limits_section = {"limits", "what will not be accepted",
                                       sizeof limits_keys / sizeof *limits_keys, limits_keys};

void read_limits(struct draft *draft, const struct tree *node)
{
    const struct target targets[] = {{&limits_section, &draft->site->limits}};
    keys_clear(&draft->reader, 1, targets);
    if (node && !keys_read(&draft->reader, node, "limits", 1, targets)) {
        return; /* told */
    }
}
