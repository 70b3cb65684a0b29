#include "io/door/part.h"
#include "io/door/read_creep.h"
#include "io/door/table.h"
#include "io/nearest.h"
#include "models/circle.h"
#include "models/pipe.h"
#include "models/pipe_catalogue.h"

#include <math.h>
#include <string.h>

struct pipe_words {
    const char *size, *material, *profile;
    double length, bore, wall, roughness, factor, hazen_williams, hazen_williams_constant;
    double hazen_williams_flow_power, hazen_williams_bore_power, wave_speed, class;
    double modulus, poisson, temperature;
    int restraint;
    const struct tree *creep;
    /* found by read */
    const struct pipe_size *row;
    const struct wall *wall_material;
    int profile_count;
    double *profile_distance, *profile_elevation, *profile_ground;
};

#define FIELD(name) offsetof(struct pipe_words, name)
#define QUANTITY_KEY(words, field, unit, what, bounds, text)                                       \
    {                                                                                              \
        .name = words, .kind = KEY_QUANTITY, .offset = FIELD(field), .quantity = unit,             \
        .plausible = PLAUSIBLE_##what, .range = bounds, .help = text                               \
    }
static const struct key pipe_keys[] = {
    {.name = "pipe",
     .kind = KEY_TEXT,
     .offset = FIELD(size),
     .help = "a size of the catalogue, such as pvc-u 63 pn10, or any word if the bore is said"},
    {.name = "length",
     .kind = KEY_QUANTITY,
     .offset = FIELD(length),
     .quantity = QUANTITY_LENGTH,
     .plausible = PLAUSIBLE_PIPE_LENGTH,
     .range = RANGE_POSITIVE,
     .is_required = true,
     .help = "along the pipe"},
    {.name = "profile",
     .kind = KEY_TEXT,
     .offset = FIELD(profile),
     .help = "table beside the case with columns 'distance [m]', 'elevation [m]' and perhaps "
             "'ground [m]'"},
    QUANTITY_KEY("bore", bore, QUANTITY_LENGTH, BORE, RANGE_POSITIVE, "inside diameter"),
    QUANTITY_KEY("wall", wall, QUANTITY_LENGTH, WALL, RANGE_POSITIVE, "thickness; else rigid"),
    {.name = "material", .kind = KEY_TEXT, .offset = FIELD(material), .help = "such as pvc-u"},
    QUANTITY_KEY("modulus", modulus, QUANTITY_PRESSURE, MODULUS, RANGE_POSITIVE,
                 "Young's, of the wall"),
    QUANTITY_KEY("poisson", poisson, QUANTITY_NUMBER, POISSON, RANGE_SHARE,
                 "Poisson's ratio of the wall"),
    QUANTITY_KEY("roughness", roughness, QUANTITY_LENGTH, ROUGHNESS, RANGE_NOT_NEGATIVE,
                 "absolute"),
    QUANTITY_KEY("friction factor", factor, QUANTITY_NUMBER, FRICTION_FACTOR, RANGE_POSITIVE,
                 "Darcy's, fixed, for published cases"),
    QUANTITY_KEY("hazen-williams", hazen_williams, QUANTITY_NUMBER, HAZEN_WILLIAMS, RANGE_POSITIVE,
                 "its coefficient C, for published cases"),
    {.name = "hazen-williams constant",
     .kind = KEY_QUANTITY,
     .offset = FIELD(hazen_williams_constant),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_POSITIVE,
     .fallback = "10.67",
     .help = "k in h = k L Q^n C^-n D^-m, SI"},
    {.name = "hazen-williams flow power",
     .kind = KEY_QUANTITY,
     .offset = FIELD(hazen_williams_flow_power),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_POSITIVE,
     .fallback = "1.852",
     .help = "n"},
    {.name = "hazen-williams bore power",
     .kind = KEY_QUANTITY,
     .offset = FIELD(hazen_williams_bore_power),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_POSITIVE,
     .fallback = "4.8704",
     .help = "m"},
    QUANTITY_KEY("wave speed", wave_speed, QUANTITY_VELOCITY, WAVE_SPEED, RANGE_POSITIVE,
                 "instead of the computed one"),
    QUANTITY_KEY("class", class, QUANTITY_PRESSURE, CLASS, RANGE_POSITIVE,
                 "pressure it is made for"),
    {.name = "temperature",
     .kind = KEY_QUANTITY,
     .offset = FIELD(temperature),
     .quantity = QUANTITY_TEMPERATURE,
     .help =
         "of the warmest water in it, where it is warmer than the site's; by this goes what its "
         "class allows, nothing else"},
    {.name = "restraint",
     .kind = KEY_CHOICE,
     .offset = FIELD(restraint),
     .choices = "throughout|upstream|jointed",
     .fallback = "throughout",
     .help = "how it is held lengthwise"},
    {.name = "creep",
     .kind = KEY_NODE,
     .offset = FIELD(creep),
     .help = "of its wall, for surge: {compliance: 1.06e-10 0.91e-10 /Pa, time: 0.05 1.5 s}"},
};
#undef QUANTITY_KEY
#undef FIELD

static const struct section pipe_section = {"part: pipe", "straight pipe of one size",
                                            sizeof pipe_keys / sizeof *pipe_keys, pipe_keys};

static double either(double stated, double otherwise)
{
    return isfinite(stated) ? stated : otherwise;
}

static bool find_size(struct draft *draft, struct part *part, struct pipe_words *words)
{
    const char *nearest = NULL;
    words->row = words->size ? pipe_catalogue_find(words->size, &nearest) : NULL;
    if (words->row || isfinite(words->bore)) {
        part->bore = either(words->bore, words->row ? words->row->bore : (double)NAN);
        return true;
    }
    return draft_error(draft, part_child_place(part, "pipe"),
                       "%s: no pipe '%.60s' in the catalogue%s%s", part->subject,
                       words->size ? words->size : "",
                       nearest_hint(&(struct hint){{0}}, nearest, "; say its 'bore' and 'wall'"),
                       nearest ? " Or say its 'bore'" : "");
}

static const struct wall *named_material(struct draft *draft, const struct part *part,
                                         const char *name, bool must_be)
{
    struct nearest nearest;
    const struct wall *found = wall_find(name);
    if (found || !must_be) {
        return found;
    }
    nearest_start(&nearest, name);
    for (int i = 0; i < wall_count(); i++) {
        nearest_offer(&nearest, wall_at(i)->name);
    }
    (void)draft_error(draft, part_child_place(part, "material"),
                      "%s: no material '%.40s'%s 'modulus' and 'poisson' can be stated instead",
                      part->subject, name, nearest_hint(&(struct hint){{0}}, nearest.found, ";"));
    return NULL;
}

/* A stated modulus makes a material of the case's own; nothing is known of it in the warm. */
static const struct wall *own_material(struct draft *draft, const struct part *part,
                                       const struct pipe_words *words, const struct wall *known)
{
    struct wall *own = draft_take(draft, 1, sizeof *own);
    if (!own) {
        return NULL;
    }
    if (known) {
        *own = *known;
    } else {
        own->name = words->material ? words->material : "own";
        own->derating_count = 2;
        own->derating_temperature[1] = 100;
        own->derating_share[0] = 1;
        own->derating_share[1] = 1;
        own->derating_source = "stated in the case: none";
    }
    if (!known && !isfinite(words->poisson)) {
        (void)draft_error(draft, part->place,
                          "%s: with its 'modulus' say 'poisson' too, such as 0.34", part->subject);
        return NULL;
    }
    own->modulus = words->modulus;
    own->poisson = either(words->poisson, own->poisson);
    own->source = "stated in the case";
    return own;
}

static bool find_material(struct draft *draft, struct part *part, struct pipe_words *words)
{
    const bool is_stated = isfinite(words->modulus);
    const char *name = words->material ? words->material : words->row ? words->row->material : NULL;
    const struct wall *known =
        name ? named_material(draft, part, name, words->material && !is_stated) : NULL;
    words->wall_material = is_stated ? own_material(draft, part, words, known) : known;
    if (words->creep && !read_creep(draft, words->creep, part->subject, &words->wall_material)) {
        return false;
    }
    return words->wall_material || (!is_stated && (!words->material || known));
}

/* Exactly one way to friction. */
static bool check_friction(struct draft *draft, const struct part *part,
                           const struct pipe_words *words)
{
    const int ways =
        isfinite(words->roughness) + isfinite(words->factor) + isfinite(words->hazen_williams);
    if (ways > 1) {
        return draft_error(draft, part->place,
                           "%s: only one of 'roughness', 'friction factor' and 'hazen-williams'",
                           part->subject);
    }
    if (ways == 0 && !words->wall_material) {
        return draft_error(draft, part->place,
                           "%s: say its 'roughness' (or 'material', or 'friction factor')",
                           part->subject);
    }
    if (isfinite(words->roughness) && words->roughness > 0.1 * part->bore) {
        return draft_error(draft, part_child_place(part, "roughness"),
                           "%s: a roughness of %.4g mm is over a tenth of the bore %.4g mm",
                           part->subject, words->roughness * 1e3, part->bore * 1e3);
    }
    return true;
}

/* Columns of a profile, m. */
enum { PROFILE_COLUMNS = 3 };

static double distance_of(const struct table *table, int row)
{
    return table->values[(size_t)PROFILE_COLUMNS * (size_t)row];
}

static double elevation_of(const struct table *table, int row)
{
    return table->values[(size_t)PROFILE_COLUMNS * (size_t)row + 1];
}

/* Distances from 0 to the length; up to 1 % apart is survey error and is stretched away. */
static bool check_profile(struct draft *draft, const struct part *part, const char *path,
                          const struct table *table)
{
    static const double stretch = 0.01;
    const double last = table->row_count > 0 ? distance_of(table, table->row_count - 1) : 0;
    if (table->row_count < 2) {
        return draft_error(draft, (struct place){path, 1, 1}, "a profile has at least two rows");
    }
    for (int i = 1; i < table->row_count; i++) {
        if (distance_of(table, i) <= distance_of(table, i - 1)) {
            return draft_error(draft, (struct place){path, table->lines[i], 1},
                               "distance must rise; %.6g m follows %.6g m", distance_of(table, i),
                               distance_of(table, i - 1));
        }
    }
    if (fabs(table->values[0]) > stretch * part->length) {
        return draft_error(draft, (struct place){path, table->lines[0], 1},
                           "a profile begins at distance 0, not %.6g m", table->values[0]);
    }
    if (fabs(last - part->length) > stretch * part->length) {
        return draft_error(draft, (struct place){path, table->lines[table->row_count - 1], 1},
                           "the profile ends at %.6g m, but the pipe in line %d is %.6g m long",
                           last, part->place.line, part->length);
    }
    return true;
}

static bool read_profile(struct draft *draft, struct part *part, struct pipe_words *words)
{
    static const struct column columns[PROFILE_COLUMNS] = {
        {"distance", QUANTITY_LENGTH, false, PLAUSIBLE_PIPE_LENGTH},
        {"elevation", QUANTITY_LENGTH, false, PLAUSIBLE_BY_QUANTITY},
        {"ground", QUANTITY_LENGTH, true, PLAUSIBLE_BY_QUANTITY}};
    struct table table;
    const char *path = table_path(&draft->reader, draft->site->path, words->profile,
                                  part_child_place(part, "profile"));
    if (!path || !table_read(&draft->reader, path, PROFILE_COLUMNS, columns, &table) ||
        !check_profile(draft, part, path, &table)) {
        return false;
    }
    const int count = table.row_count;
    double *distance = draft_take(draft, (size_t)count, sizeof *distance);
    double *elevation = draft_take(draft, (size_t)count, sizeof *elevation);
    double *ground = draft_take(draft, (size_t)count, sizeof *ground);
    if (!distance || !elevation || !ground) {
        return false;
    }
    const double first = distance_of(&table, 0);
    const double span = distance_of(&table, count - 1) - first;
    for (int i = 0; i < count; i++) {
        distance[i] = (distance_of(&table, i) - first) / span * part->length;
        elevation[i] = elevation_of(&table, i);
        ground[i] = table.values[(size_t)PROFILE_COLUMNS * (size_t)i + 2];
    }
    distance[count - 1] = part->length; /* not a last bit beyond it */
    words->profile_count = count;
    words->profile_distance = distance;
    words->profile_elevation = elevation;
    words->profile_ground = isfinite(ground[0]) ? ground : NULL;
    part->start = elevation[0];
    if (isfinite(part->end) && fabs(part->end - elevation[count - 1]) > 0.05) {
        draft_doubt(draft, part_child_place(part, "end"),
                    "%s: its end is said to be at %.4g m, but its profile ends at %.4g m; the "
                    "profile is taken",
                    part->subject, part->end, elevation[count - 1]);
    }
    part->end = elevation[count - 1];
    return true;
}

static bool read(struct draft *draft, struct part *part)
{
    struct pipe_words *words = part->words;
    part->is_pipe = true;
    part->length = words->length;
    bool is_good = find_size(draft, part, words);
    is_good = find_material(draft, part, words) && is_good;
    is_good = is_good && check_friction(draft, part, words);
    if (words->profile) {
        is_good = read_profile(draft, part, words) && is_good;
    }
    return is_good;
}

static void assume_pipe(struct draft *draft, const struct part *part, const struct pipe *pipe)
{
    if (!pipe->material && !(pipe->stated_wave_speed > 0)) {
        draft_assume(draft, part->place,
                     "%s: neither material nor wave speed said; its wall is taken as rigid",
                     part->subject);
    } else if (!(pipe->wall > 0) && !(pipe->stated_wave_speed > 0)) {
        draft_assume(draft, part->place, "%s: no wall said; it is taken as rigid", part->subject);
    }
}

/* What a stated temperature, or warm water, leaves of its class: the rule of each material ends at
 * some temperature, and beyond it nothing would judge the pressure. */
static bool check_warmth(struct draft *draft, const struct part *part, const struct pipe *pipe,
                         double stated)
{
    const struct water *water = &draft->site->water;
    const struct wall *wall = pipe->material;
    if (stated < water->temperature_c) {
        draft_doubt(draft, part->place,
                    "%s: its temperature, %.4g degC, changes nothing: the site's water is warmer, "
                    "%.4g degC",
                    part->subject, stated, water->temperature_c);
    }
    if (pipe->pressure_class > 0 && !wall && isfinite(stated)) {
        draft_doubt(draft, part->place,
                    "%s: its class stays what it is at %.4g degC, as no material is said",
                    part->subject, stated);
    }
    if (!(pipe->pressure_class > 0) || !wall || pipe_allowed_pressure(pipe, water) > 0) {
        return true;
    }
    const double end = wall->derating_temperature[wall->derating_count - 1];
    const double warmth = pipe_warmth(pipe, water);
    if (warmth > water->temperature_c) {
        return draft_error(draft, part->place,
                           "%s: temperature: what %s bears is known up to %.4g degC, not at %.4g",
                           part->subject, wall->name, end, warmth);
    }
    draft_doubt(draft, part->place,
                "%s: what %s bears is known up to %.4g degC; at %.4g degC nothing tells whether "
                "a surge is too much for it",
                part->subject, wall->name, end, warmth);
    return true;
}

static bool make(struct draft *draft, struct part *part)
{
    const struct pipe_words *words = part->words;
    struct pipe *pipe = draft_take(draft, 1, sizeof *pipe);
    if (!pipe) {
        return false;
    }
    pipe->friction = (struct friction){
        .length = part->length,
        .bore = part->bore,
        .roughness =
            either(words->roughness, words->wall_material ? words->wall_material->roughness : 0),
        .factor = either(words->factor, 0),
        .hazen_williams = either(words->hazen_williams, 0),
        .hazen_williams_constant = words->hazen_williams_constant,
        .hazen_williams_flow_power = words->hazen_williams_flow_power,
        .hazen_williams_bore_power = words->hazen_williams_bore_power};
    pipe->material = words->wall_material;
    pipe->wall = either(words->wall, words->row ? words->row->wall : 0);
    pipe->pressure_class = either(words->class, words->row ? words->row->pressure_class : 0);
    pipe->temperature_c = either(words->temperature, 0);
    pipe->stated_wave_speed = either(words->wave_speed, 0);
    pipe->restraint = (enum restraint)words->restraint;
    pipe->vertical_from = part->elevation_from;
    pipe->vertical_to = part->elevation_to;
    pipe->profile_count = words->profile_count;
    pipe->profile_distance = words->profile_distance;
    pipe->profile_elevation = words->profile_elevation;
    pipe->profile_ground = words->profile_ground;
    part->area = circle_area(part->bore);
    part->element = &pipe_element;
    part->data = pipe;
    assume_pipe(draft, part, pipe);
    return check_warmth(draft, part, pipe, words->temperature);
}

static const char *const openings[] = {"pipe", NULL};
const struct part_kind pipe_part = {.word = "pipe",
                                    .openings = openings,
                                    .section = &pipe_section,
                                    .words_size = sizeof(struct pipe_words),
                                    .read = read,
                                    .make = make};
