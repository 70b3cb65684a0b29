#include "io/door/read_creep.h"

#include "models/pipe.h"

#include <math.h>
#include <string.h>

struct creep_words {
    struct numbers compliance, time;
};

#define FIELD(name) offsetof(struct creep_words, name)
static const struct key creep_keys[] = {
    {.name = "compliance",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(compliance),
     .quantity = QUANTITY_COMPLIANCE,
     .range = RANGE_POSITIVE,
     .is_required = true,
     .help = "of each Kelvin-Voigt element"},
    {.name = "time",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(time),
     .quantity = QUANTITY_TIME,
     .plausible = PLAUSIBLE_SURGE_TIME,
     .range = RANGE_POSITIVE,
     .is_required = true,
     .help = "in which each element follows"},
};
#undef FIELD

const struct section creep_section = {"part: pipe, creep", "how its wall goes on stretching",
                                      sizeof creep_keys / sizeof *creep_keys, creep_keys};

bool read_creep(struct draft *draft, const struct tree *node, const char *subject,
                const struct wall **material)
{
    struct creep_words words;
    const struct target targets[] = {{&creep_section, &words}};
    if (!keys_read(&draft->reader, node, keys_subject(&draft->reader, subject, "creep"), 1,
                   targets)) {
        return false;
    }
    if (*material == NULL) {
        return draft_error(draft, node->place,
                           "%s: with its 'creep' say its 'material', or 'modulus' and 'poisson'",
                           subject);
    }
    if (words.compliance.count != words.time.count || words.time.count > WALL_CREEP_MAX) {
        return draft_error(draft, node->place,
                           "%s: creep: %d compliances and %d times; it takes as many of one as of "
                           "the other, at most %d",
                           subject, words.compliance.count, words.time.count, WALL_CREEP_MAX);
    }
    struct wall *own = draft_take(draft, 1, sizeof *own);
    if (own == NULL) {
        return false;
    }
    *own = **material;
    own->creep_count = words.time.count;
    memcpy(own->creep_compliance, words.compliance.value,
           (size_t)own->creep_count * sizeof(double));
    memcpy(own->creep_time, words.time.value, (size_t)own->creep_count * sizeof(double));
    own->creep_source = "stated in the case";
    *material = own;
    return true;
}

/* Pa; what is stiffer than any plastic does not creep in the time of a surge. */
static const double stiffest_plastic = 1e10;

/* degC of the built-in creep, and how far from it nothing need be said. */
static const double creep_temperature = 20.0;
static const double creep_tolerance = 3.0;

static const struct wall *wall_of(const struct network *network, int link)
{
    const struct element *element = network->links[link].element;
    const struct pipe *pipe = element->pipe ? element->pipe(network->links[link].data) : NULL;
    return pipe ? pipe->material : NULL;
}

static bool is_creep_stated(const struct wall *wall)
{
    const struct wall *built_in = wall_find(wall->name);
    return wall->creep_count > 0 && (!built_in || wall->creep_source != built_in->creep_source);
}

/* How many pipes are of a wall of this name whose creep the case does not state; 0 also when an
 * earlier link told of it. */
static int count_alike(const struct network *network, int first, const struct wall *wall)
{
    int count = 0;
    for (int i = 0; i < network->link_count; i++) {
        const struct wall *other = wall_of(network, i);
        if (other && !is_creep_stated(other) && strcmp(other->name, wall->name) == 0) {
            if (i < first) {
                return 0;
            }
            count++;
        }
    }
    return count;
}

static void doubt_wall(struct draft *draft, struct place place, const struct wall *wall, int count)
{
    const double temperature = draft->site->water.temperature_c;
    if (wall->creep_count == 0) {
        draft_doubt(
            draft, place,
            "surge: walls: creeping: of the creep of '%s' none published was found, so %d "
            "pipe%s of it stay%s elastic; state 'creep' at a pipe where its maker or a test "
            "gives it",
            wall->name, count, count == 1 ? "" : "s", count == 1 ? "s" : "");
    } else if (fabs(temperature - creep_temperature) > creep_tolerance) {
        draft_doubt(draft, place,
                    "surge: walls: creeping: the creep of '%s' was found at about %.0f degC and is "
                    "used at %.3g degC as it is: no published shift with temperature was found; a "
                    "colder wall creeps less, a warmer one more",
                    wall->name, creep_temperature, temperature);
    }
}

void doubt_creep(struct draft *draft, struct place place)
{
    for (int i = 0; i < draft->network->link_count; i++) {
        const struct wall *wall = wall_of(draft->network, i);
        if (!wall || is_creep_stated(wall) || wall->modulus > stiffest_plastic) {
            continue;
        }
        const int count = count_alike(draft->network, i, wall);
        if (count > 0) {
            doubt_wall(draft, place, wall, count);
        }
    }
}
