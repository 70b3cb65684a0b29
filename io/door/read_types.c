#include "io/door/read_types.h"

#include "io/door/type_hint.h"
#include "models/circle.h"

#include <math.h>
#include <string.h>

#define FIELD(name) offsetof(struct valve_numbers, name)
#define QUANTITY_KEY(words, field, unit, what, bounds, text)                                       \
    {                                                                                              \
        .name = (words), .kind = KEY_QUANTITY, .offset = FIELD(field), .quantity = (unit),         \
        .plausible = PLAUSIBLE_##what, .range = (bounds), .help = (text)                           \
    }
static const struct key valve_numbers_keys[] = {
    QUANTITY_KEY("full-open loss", full_open_loss, QUANTITY_NUMBER, LOSS, RANGE_POSITIVE,
                 "K on the velocity in its nominal bore"),
    QUANTITY_KEY("opening head", opening_head, QUANTITY_HEAD, BY_QUANTITY, RANGE_NOT_NEGATIVE,
                 "at which it lifts off its seat, in its mounting"),
    QUANTITY_KEY("full-open velocity", full_open_velocity, QUANTITY_VELOCITY, BY_QUANTITY,
                 RANGE_NOT_NEGATIVE, "in its bore; 0: the opening head keeps being paid"),
    QUANTITY_KEY("port area", port_area, QUANTITY_AREA, BY_QUANTITY, RANGE_POSITIVE,
                 "narrowest free way"),
    QUANTITY_KEY("strainer loss", strainer_loss, QUANTITY_NUMBER, LOSS, RANGE_NOT_NEGATIVE,
                 "K of its strainer"),
    QUANTITY_KEY("seat area", seat_area, QUANTITY_AREA, BY_QUANTITY, RANGE_POSITIVE,
                 "on which the head difference acts"),
    QUANTITY_KEY("moving mass", moving_mass, QUANTITY_MASS, BY_QUANTITY, RANGE_POSITIVE,
                 "of a lifting part, with the water it moves"),
    QUANTITY_KEY("moving inertia", moving_inertia, QUANTITY_INERTIA, BY_QUANTITY, RANGE_POSITIVE,
                 "of a swinging part about its pin, with the water it moves"),
    QUANTITY_KEY("travel", travel, QUANTITY_LENGTH, TRAVEL, RANGE_POSITIVE, "of a lifting part"),
    QUANTITY_KEY("swing angle", swing_angle, QUANTITY_ANGLE, BY_QUANTITY, RANGE_POSITIVE,
                 "of a swinging part"),
    QUANTITY_KEY("arm", arm, QUANTITY_LENGTH, TRAVEL, RANGE_POSITIVE,
                 "from pin to middle of the disc"),
    QUANTITY_KEY("damping", damping, QUANTITY_DAMPING, BY_QUANTITY, RANGE_NOT_NEGATIVE,
                 "of a lifting part"),
    QUANTITY_KEY("swing damping", swing_damping, QUANTITY_SWING_DAMPING, BY_QUANTITY,
                 RANGE_NOT_NEGATIVE, "of a swinging part"),
    QUANTITY_KEY("closing force", closing_force, QUANTITY_FORCE, BY_QUANTITY, RANGE_NOT_NEGATIVE,
                 "on the shut lifting part: spring and weight"),
    QUANTITY_KEY("closing moment", closing_moment, QUANTITY_MOMENT, BY_QUANTITY, RANGE_NOT_NEGATIVE,
                 "on the shut swinging part: spring and weight"),
    QUANTITY_KEY("opening floor", opening_floor, QUANTITY_NUMBER, BY_QUANTITY, RANGE_SHARE,
                 "share open below which the loss rises no more"),
    QUANTITY_KEY("seating head", seating_head, QUANTITY_HEAD, BY_QUANTITY, RANGE_NOT_NEGATIVE,
                 "back head that makes it tight; 0: its spring does"),
    QUANTITY_KEY("holding head", holding_head, QUANTITY_HEAD, BY_QUANTITY, RANGE_NOT_NEGATIVE,
                 "back head that it holds at most, as rubber lips; 0: no less than its pipe"),
    QUANTITY_KEY("leak", leak, QUANTITY_AREA, BY_QUANTITY, RANGE_NOT_NEGATIVE,
                 "area of the gap when shut"),
    QUANTITY_KEY("leak share", leak_share, QUANTITY_NUMBER, BY_QUANTITY, RANGE_SHARE,
                 "the same as a share of the bore's area"),
    QUANTITY_KEY("restitution", restitution, QUANTITY_NUMBER, BY_QUANTITY, RANGE_SHARE,
                 "share of its speed with which it leaves its stops"),
    QUANTITY_KEY("preload", preload, QUANTITY_FORCE, BY_QUANTITY, RANGE_NOT_NEGATIVE,
                 "of its spring on the shut lifting part"),
    QUANTITY_KEY("preload moment", preload_moment, QUANTITY_MOMENT, BY_QUANTITY, RANGE_NOT_NEGATIVE,
                 "of its spring on the shut swinging part"),
    QUANTITY_KEY("spring rate", spring_rate, QUANTITY_SPRING_RATE, BY_QUANTITY, RANGE_NOT_NEGATIVE,
                 "of the spring on a lifting part"),
    QUANTITY_KEY("swing spring rate", swing_spring_rate, QUANTITY_SWING_RATE, BY_QUANTITY,
                 RANGE_NOT_NEGATIVE, "of the spring on a swinging part"),
    QUANTITY_KEY("moving weight", weight, QUANTITY_FORCE, BY_QUANTITY, RANGE_NOT_NEGATIVE,
                 "of the lifting part, submerged, as far as it shuts it in its mounting"),
    QUANTITY_KEY("weight moment", weight_moment, QUANTITY_MOMENT, BY_QUANTITY, RANGE_NOT_NEGATIVE,
                 "of the swinging part, submerged, with its arm level"),
    QUANTITY_KEY("seat angle", seat_angle, QUANTITY_ANGLE, BY_QUANTITY, RANGE_NOT_NEGATIVE,
                 "of its arm from hanging as it sits on its seat"),
    QUANTITY_KEY("swept share", swept_share, QUANTITY_NUMBER, BY_QUANTITY, RANGE_NOT_NEGATIVE,
                 "of the water its own movement sweeps, on which its force hangs too; 1 if not "
                 "said; 0: the flow alone"),
    QUANTITY_KEY("sticks until", sticks_until, QUANTITY_VELOCITY, BY_QUANTITY, RANGE_NOT_NEGATIVE,
                 "this velocity backward in its bore, then slams"),
    QUANTITY_KEY("shut delay", shut_delay, QUANTITY_TIME, BY_QUANTITY, RANGE_NOT_NEGATIVE,
                 "from the turn of the flow until it shuts at once"),
    {.name = "loss opening",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(loss_opening),
     .quantity = QUANTITY_NUMBER,
     .range = RANGE_POSITIVE,
     .help = "shares of travel, rising to 1, at which its loss is stated"},
    {.name = "loss at opening",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(loss_at_opening),
     .quantity = QUANTITY_NUMBER,
     .plausible = PLAUSIBLE_LOSS,
     .range = RANGE_POSITIVE,
     .help = "K there, falling; the last is its full-open loss"},
    {.name = "measured flow",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(measured.flow),
     .quantity = QUANTITY_FLOW,
     .range = RANGE_POSITIVE,
     .help = "flows, rising, at which its loss was measured"},
    {.name = "measured loss",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(measured.loss),
     .quantity = QUANTITY_HEAD,
     .range = RANGE_POSITIVE,
     .help = "head lost at these flows; rules over opening head and full-open loss"},
    {.name = "slam deceleration",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(slam_deceleration),
     .quantity = QUANTITY_GRAVITY,
     .plausible = PLAUSIBLE_DECELERATION,
     .range = RANGE_POSITIVE,
     .help = "points of its maker's curve, rising"},
    {.name = "slam velocity",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(slam_velocity),
     .quantity = QUANTITY_VELOCITY,
     .range = RANGE_NOT_NEGATIVE,
     .help = "largest velocity backward at these decelerations; rules over the computed one"},
    {.name = "spring in stream",
     .kind = KEY_YES,
     .offset = FIELD(spring_in_stream),
     .help = "debris can hang on the spring"},
    {.name = "level needs back head",
     .kind = KEY_YES,
     .offset = FIELD(level_needs_back_head),
     .help = "lying, it shuts only with standing head behind it"},
    {.name = "debris",
     .kind = KEY_WHOLE,
     .offset = FIELD(debris),
     .range = RANGE_POSITIVE,
     .help = "1 passes it very well to 5 poor"},
    {.name = "slam",
     .kind = KEY_WHOLE,
     .offset = FIELD(slam),
     .range = RANGE_POSITIVE,
     .help = "1 quiet to 6"},
    {.name = "service",
     .kind = KEY_CHOICE,
     .offset = FIELD(service),
     .choices = "unions|flanges|cover|lift out|none",
     .help = "how one gets at it"},
    {.name = "mountings",
     .kind = KEY_TEXT,
     .offset = FIELD(mountings),
     .help = "those allowed, such as 'up level'"},
    {.name = "source",
     .kind = KEY_TEXT,
     .offset = FIELD(source),
     .help = "where these numbers are from"},
};
#undef QUANTITY_KEY
#undef FIELD

const struct section valve_numbers_section = {
    "valve numbers", "what may be stated of a non-return valve, in a type or at its place",
    sizeof valve_numbers_keys / sizeof *valve_numbers_keys, valve_numbers_keys};

struct own_type_words {
    const char *like;
};

static const struct key own_type_keys[] = {
    {.name = "like",
     .kind = KEY_TEXT,
     .offset = offsetof(struct own_type_words, like),
     .is_required = true,
     .help = "the built-in type whose numbers hold where none is stated"},
};

const struct section own_type_section = {"types: non-return", "own kinds of valve",
                                         sizeof own_type_keys / sizeof *own_type_keys,
                                         own_type_keys};

static const struct own_type *find_own(const struct draft *draft, const char *name)
{
    for (int i = 0; i < draft->type_count; i++) {
        if (strcmp(draft->types[i].name, name) == 0) {
            return &draft->types[i];
        }
    }
    return NULL;
}

bool is_own_type(const struct draft *draft, const char *name)
{
    return find_own(draft, name) != NULL;
}

/* `own`: its types, the case's own, count too; NULL: built-in ones alone. */
static bool refuse_type(struct draft *draft, const struct draft *own, const char *name,
                        struct place place)
{
    return draft_error(draft, place, "no %snon-return valve is called '%.60s'%s",
                       own ? "" : "built-in ", name,
                       type_hint(&(struct type_hint){{0}}, own, name));
}

bool find_valve_type(struct draft *draft, const char *name, struct place place, bool *is_foot)
{
    const struct own_type *own = find_own(draft, name);
    const struct non_return_type *base = own ? own->base : non_return_type_find(name, NULL);
    *is_foot = base && base->is_foot;
    if (own) {
        return base != NULL; /* a wrong own type has been told where it stands */
    }
    return base || refuse_type(draft, draft, name, place);
}

static void read_own_type(struct draft *draft, const struct tree *node)
{
    struct own_type_words words;
    struct own_type *type = &draft->types[draft->type_count];
    type->name = node->key;
    type->node = node;
    type->numbers = draft_take(draft, 1, sizeof *type->numbers);
    if (!type->numbers) {
        return;
    }
    const struct target targets[] = {{&own_type_section, &words},
                                     {&valve_numbers_section, type->numbers}};
    const char *subject = keys_subject(&draft->reader, "type", node->key);
    bool is_good = draft_check_name(draft, "type", node->key, node->key_place);
    is_good = keys_read(&draft->reader, node, subject, 2, targets) && is_good;
    if (words.like) {
        type->base = non_return_type_find(words.like, NULL);
        if (!type->base) {
            is_good = refuse_type(draft, NULL, words.like, tree_find(node, "like")->place);
        }
    }
    if (!is_good) {
        type->base = NULL;
    }
    draft->type_count++;
}

void read_types(struct draft *draft, const struct tree *node)
{
    if (!node) {
        return;
    }
    const struct tree *own = NULL;
    const struct key keys[] = {{.name = "non-return", .kind = KEY_NODE, .help = "own valves"}};
    const struct section section = {"types", "own kinds of parts", 1, keys};
    const struct target targets[] = {{&section, &own}};
    if (!keys_read(&draft->reader, node, "types", 1, targets) || !own) {
        return;
    }
    if (own->kind != TREE_MAP) {
        (void)draft_error(draft, own->place,
                          "types: non-return: %s stands here; names are "
                          "expected, such as 'my flap: {like: swing flap}'",
                          tree_kind_name(own->kind));
        return;
    }
    draft->types = draft_take(draft, (size_t)own->count, sizeof *draft->types);
    for (const struct tree *child = own->first; draft->types && child; child = child->next) {
        read_own_type(draft, child);
    }
}

/* --- a valve made complete --- */

static void state(double stated, double *value)
{
    if (isfinite(stated)) {
        *value = stated;
    }
}

static void state_whole(int stated, int *value)
{
    if (stated >= 0) {
        *value = stated;
    }
}

/* The closing force on the seat and the opening head say the same thing: one follows from the
 * other, rho g A h = force (times the arm when it swings). */
static void state_opening(const struct water *water, const struct valve_numbers *numbers,
                          struct non_return *valve)
{
    const double per_head =
        water->density * water->gravity * valve->seat_area * (valve->is_swing ? valve->arm : 1);
    const double stated_force = valve->is_swing ? numbers->closing_moment : numbers->closing_force;
    if (isfinite(stated_force)) {
        valve->closing_force = stated_force;
        if (!isfinite(numbers->opening_head) && per_head > 0) {
            valve->opening_head = stated_force / per_head;
        }
    }
    if (isfinite(numbers->opening_head)) {
        valve->opening_head = numbers->opening_head;
        if (!isfinite(stated_force)) {
            valve->closing_force = per_head * numbers->opening_head;
        }
    } else if (!isfinite(stated_force) &&
               (isfinite(numbers->seat_area) || isfinite(numbers->arm))) {
        valve->closing_force = per_head * valve->opening_head;
    }
}

static bool state_mountings(struct draft *draft, const char *words, struct place place,
                            struct non_return *valve)
{
    static const char *const names[] = {"up", "level", "down"};
    valve->mountings = 0;
    for (const char *at = words; *at;) {
        const size_t length = strcspn(at, " ,");
        bool is_known = length == 0;
        for (unsigned m = 0; m < MOUNTING_COUNT; m++) {
            if (strlen(names[m]) == length && strncmp(names[m], at, length) == 0) {
                valve->mountings |= 1u << m;
                is_known = true;
            }
        }
        if (!is_known) {
            return draft_error(draft, place, "mountings: '%.60s': only up, level and down", words);
        }
        at += length + (at[length] ? 1 : 0);
    }
    return valve->mountings != 0 ||
           draft_error(draft, place, "mountings: at least one of up, level and down");
}

/* Numbers of the other kind of motion are a slip: a lifting part has no swing angle. */
static bool check_kind(struct draft *draft, const struct valve_numbers *numbers,
                       const struct non_return *valve, struct place place)
{
    const bool swings = isfinite(numbers->moving_inertia) || isfinite(numbers->swing_angle) ||
                        isfinite(numbers->swing_damping) || isfinite(numbers->closing_moment) ||
                        isfinite(numbers->arm) || isfinite(numbers->preload_moment) ||
                        isfinite(numbers->swing_spring_rate) || isfinite(numbers->weight_moment) ||
                        isfinite(numbers->seat_angle);
    const bool lifts = isfinite(numbers->moving_mass) || isfinite(numbers->travel) ||
                       isfinite(numbers->damping) || isfinite(numbers->closing_force) ||
                       isfinite(numbers->preload) || isfinite(numbers->spring_rate) ||
                       isfinite(numbers->weight);
    if (valve->is_swing && lifts) {
        return draft_error(draft, place,
                           "a '%s' swings on a pin: state 'moving inertia', 'swing "
                           "angle', 'swing damping', 'closing moment'",
                           valve->type);
    }
    if (!valve->is_swing && swings) {
        return draft_error(draft, place,
                           "the part of a '%s' lifts: state 'moving mass', 'travel', "
                           "'damping', 'closing force'",
                           valve->type);
    }
    return true;
}

/* What was measured rules over opening head and full-open loss. */
static bool state_measured(struct draft *draft, const struct non_return *valve, struct place place,
                           struct valve_numbers *numbers)
{
    struct fitted_loss fitted;
    if (numbers->measured.flow.count == 0 && numbers->measured.loss.count == 0) {
        return true;
    }
    if (!fit_measured_loss(draft, valve, place, &numbers->measured, &fitted)) {
        return false;
    }
    numbers->opening_head = fitted.opening_head;
    numbers->full_open_loss = fitted.full_open_loss;
    numbers->full_open_velocity = 0.0;
    return true;
}

static bool state_numbers(struct draft *draft, const struct valve_numbers *stated,
                          struct place place, struct non_return *valve)
{
    struct valve_numbers own = *stated;
    const struct valve_numbers *numbers = &own;
    if (!check_kind(draft, numbers, valve, place) || !state_measured(draft, valve, place, &own)) {
        return false;
    }
    state(numbers->port_area, &valve->port_area);
    state(numbers->full_open_loss, &valve->full_open_loss);
    state(numbers->full_open_velocity, &valve->full_open_velocity);
    state(numbers->strainer_loss, &valve->extra_loss);
    state(numbers->seat_area, &valve->seat_area);
    state(valve->is_swing ? numbers->moving_inertia : numbers->moving_mass, &valve->inertia);
    state(valve->is_swing ? numbers->swing_angle : numbers->travel, &valve->travel);
    state(numbers->arm, &valve->arm);
    state(valve->is_swing ? numbers->swing_damping : numbers->damping, &valve->damping);
    state(numbers->opening_floor, &valve->opening_floor);
    state(numbers->seating_head, &valve->seating_head);
    state(numbers->holding_head, &valve->holding_head);
    state(numbers->leak_share * circle_area(valve->bore), &valve->leak_area);
    state(numbers->leak, &valve->leak_area);
    state(numbers->restitution, &valve->restitution);
    state_opening(&draft->site->water, numbers, valve);
    state_whole(numbers->debris, &valve->debris);
    state_whole(numbers->slam, &valve->slam);
    if (numbers->service >= 0) {
        valve->service = (enum non_return_service)numbers->service;
    }
    if (numbers->spring_in_stream >= 0) {
        valve->spring_in_stream = numbers->spring_in_stream == 1;
    }
    if (numbers->level_needs_back_head >= 0) {
        valve->level_needs_back_head = numbers->level_needs_back_head == 1;
    }
    if (numbers->source) {
        valve->source = numbers->source;
        valve->is_placeholder = false;
    }
    return state_own_motion(draft, numbers, place, valve) &&
           (!numbers->mountings || state_mountings(draft, numbers->mountings, place, valve));
}

/* A stated strainer on a valve that has none of its own, or the other way. */
static void state_strainer(struct draft *draft, const struct valve_choice *choice,
                           struct non_return *valve)
{
    static const double strainer_loss = 1.0; /* placeholder: no published figure at hand */
    if (choice->strainer == 0) {
        valve->has_strainer = false;
        valve->extra_loss = 0;
    }
    if (choice->strainer != 1 || valve->has_strainer) {
        return;
    }
    valve->has_strainer = true;
    if (!(valve->extra_loss > 0)) {
        valve->extra_loss = strainer_loss;
        draft_assume(draft, choice->place,
                     "'%s' with a strainer: its loss is taken as K = %.1f (placeholder)",
                     choice->type, strainer_loss);
    }
}

/* Where a type states what a message about it names: the longest such key, or the type itself. */
static struct place place_in_type(const struct own_type *own, const char *message)
{
    const char *what = strstr(message, "': ");
    const struct tree *found = NULL;
    for (const struct tree *child = own->node->first; what && child; child = child->next) {
        const bool is_longer = !found || strlen(child->key) > strlen(found->key);
        found = is_longer && strstr(what, child->key) ? child : found;
    }
    return found ? found->place : own->node->place;
}

/* The type's own numbers; what is wrong with them is told once, however often it is used. */
static bool state_type(struct draft *draft, const struct own_type *own, struct non_return *valve)
{
    valve->type = own->name;
    return !faults_is_wrong(draft->reader.faults, own->node->place) &&
           state_numbers(draft, own->numbers, own->node->place, valve);
}

/* Told where the wrong number stands: in the type (`alone`: as it is without what is said at its
 * place; NULL: a built-in one), or at its place. */
static bool check_valve(struct draft *draft, const struct own_type *own,
                        const struct non_return *alone, const struct non_return *valve,
                        struct place at)
{
    struct failure failure;
    struct failure told;
    if (non_return_check(valve, at, &failure)) {
        return true;
    }
    if (alone && !non_return_check(alone, at, &failure)) {
        const struct place place = place_in_type(own, failure.message);
        if (faults_is_wrong(draft->reader.faults, place)) {
            return false;
        }
        (void)fail(&told, FAILURE_INPUT, place, "%s; used in line %d", failure.message, at.line);
        return faults_add_failure(draft->reader.faults, &told);
    }
    return faults_add_failure(draft->reader.faults, &failure);
}

struct non_return *make_valve(struct draft *draft, const struct valve_choice *choice)
{
    bool is_foot = false;
    const struct own_type *own = find_own(draft, choice->type);
    struct non_return *valve = draft_take(draft, 1, sizeof *valve);
    if (!valve || !find_valve_type(draft, choice->type, choice->place, &is_foot)) {
        return NULL;
    }
    const struct non_return_type *base = own ? own->base : non_return_type_find(choice->type, NULL);
    non_return_make(base, choice->bore, choice->mounting, &draft->site->water, valve);
    if (own && !state_type(draft, own, valve)) {
        return NULL;
    }
    const struct non_return alone = *valve;
    state_strainer(draft, choice, valve);
    if (choice->numbers && !state_numbers(draft, choice->numbers, choice->place, valve)) {
        return NULL;
    }
    return check_valve(draft, own, own ? &alone : NULL, valve, choice->place) ? valve : NULL;
}
