/* A unit is looked up by its text in a cache first; a new one has the trade's words in it replaced
 * (whole text first, then word by word), is parsed by UDUNITS-2, and must convert to the quantity's
 * SI unit. The cache is a plain array: a case has a few dozen units. */
#include "io/door/units.h"

#include "io/door/number.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <udunits2.h>

enum { UNIT_SIZE = 48, EXPANDED_SIZE = 256, CACHE_ROOM = 96 };

struct quantity_row {
    const char *name;
    const char *unit;    /* in which values are kept, for people */
    const char *udunits; /* the same for UDUNITS-2 */
    const char *example;
    double largest; /* in SI; beyond it a number is surely a slip */
};

static const struct quantity_row quantities[QUANTITY_COUNT] = {
    [QUANTITY_NUMBER] = {"number", "", "1", "0.8", 1e15},
    [QUANTITY_LENGTH] = {"length", "m", "m", "2.1 m", 1e7},
    [QUANTITY_AREA] = {"area", "m2", "m2", "6 m2", 1e10},
    [QUANTITY_VOLUME] = {"volume", "m3", "m3", "200 L", 1e10},
    [QUANTITY_FLOW] = {"flow", "m3/s", "m3/s", "1.2 L/s", 1e6},
    [QUANTITY_VELOCITY] = {"velocity", "m/s", "m/s", "1.5 m/s", 1e5},
    [QUANTITY_HEAD] = {"head", "m", "m", "0.3 m", 1e6},
    [QUANTITY_PRESSURE] = {"pressure", "Pa", "Pa", "0.3 bar", 1e13},
    [QUANTITY_ANGLE] = {"angle", "rad", "rad", "90 deg", 100},
    [QUANTITY_TEMPERATURE] = {"temperature", "degC", "degC", "11 degC", 1e4},
    [QUANTITY_TIME] = {"time", "s", "s", "20 s", 1e10},
    [QUANTITY_TURNS] = {"speed of rotation", "rev/s", "Hz", "2900 rpm", 1e5},
    [QUANTITY_POWER] = {"power", "W", "W", "0.55 kW", 1e10},
    [QUANTITY_ENERGY] = {"energy", "J", "J", "12 kWh", 1e15},
    [QUANTITY_MASS] = {"mass", "kg", "kg", "0.2 kg", 1e7},
    [QUANTITY_INERTIA] = {"moment of inertia", "kg m2", "kg m2", "0.006 kg m2", 1e9},
    [QUANTITY_FORCE] = {"force", "N", "N", "4 N", 1e9},
    [QUANTITY_MOMENT] = {"moment", "N m", "N m", "0.4 N m", 1e9},
    [QUANTITY_DAMPING] = {"damping", "N s/m", "N s/m", "20 N s/m", 1e9},
    [QUANTITY_SWING_DAMPING] = {"damping about a pin", "N m s", "N m s", "0.1 N m s", 1e9},
    [QUANTITY_SPRING_RATE] = {"rate of a spring", "N/m", "N/m", "400 N/m", 1e9},
    [QUANTITY_SWING_RATE] = {"rate of a spring about a pin", "N m/rad", "N m rad-1", "0.2 N m/rad",
                             1e9},
    [QUANTITY_DENSITY] = {"density", "kg/m3", "kg/m3", "998.2 kg/m3", 1e5},
    [QUANTITY_VISCOSITY] = {"kinematic viscosity", "m2/s", "m2/s", "1.0 mm2/s", 10},
    [QUANTITY_GRAVITY] = {"acceleration", "m/s2", "m/s2", "9.81 m/s2", 1e3},
    [QUANTITY_RESISTANCE] = {"resistance", "s2/m5", "s2/m5", "2e4 s2/m5", 1e18},
    [QUANTITY_ENERGY_PRICE] = {"price of energy", "1/J", "J-1", "0.30 /kWh", 1e3},
    [QUANTITY_COMPLIANCE] = {"creep compliance", "1/Pa", "Pa-1", "1.06e-10 /Pa", 1e-6},
};

/* Trade words. `quantity` QUANTITY_COUNT: wherever the word stands; else only there and only as the
 * whole unit. US gallon 231 in3 and imperial gallon 4.54609 L: NIST SP 811 (2008), appendix B. */
struct alias {
    const char *word;
    const char *meaning;
    enum quantity quantity;
};

static const struct alias aliases[] = {
    {"mH2O", "9806.65 Pa", QUANTITY_PRESSURE}, /* conventional, ISO 80000-4 */
    {"mWC", "9806.65 Pa", QUANTITY_PRESSURE},
    {"mwc", "9806.65 Pa", QUANTITY_PRESSURE},
    {"m of water", "9806.65 Pa", QUANTITY_PRESSURE},
    {"mH2O", "m", QUANTITY_HEAD},
    {"mWC", "m", QUANTITY_HEAD},
    {"mwc", "m", QUANTITY_HEAD},
    {"m of head", "m", QUANTITY_HEAD},
    {"m of water", "m", QUANTITY_HEAD},
    {"m head", "m", QUANTITY_HEAD},
    {"ft of head", "ft", QUANTITY_HEAD},
    {"ft head", "ft", QUANTITY_HEAD},
    {"L/m", "L/min", QUANTITY_FLOW},
    {"l/m", "L/min", QUANTITY_FLOW},
    {"rpm", "min-1", QUANTITY_TURNS},
    {"turns/min", "min-1", QUANTITY_TURNS},
    {"rev/min", "min-1", QUANTITY_TURNS},
    {"rev/s", "s-1", QUANTITY_TURNS},
    {"turns/s", "s-1", QUANTITY_TURNS},
    {"rad/s", "0.15915494309189535 s-1", QUANTITY_TURNS},
    {"\"", "inch", QUANTITY_LENGTH},
    {"imp gal/min", "0.00454609 m3/min", QUANTITY_FLOW},
    {"UK gal/min", "0.00454609 m3/min", QUANTITY_FLOW},
    {"US gal/min", "0.003785411784 m3/min", QUANTITY_FLOW},
    {"gal", "(0.003785411784 m3)", QUANTITY_COUNT},
    {"gallon", "(0.003785411784 m3)", QUANTITY_COUNT},
    {"gpm", "(0.003785411784 m3/min)", QUANTITY_COUNT},
    {"gph", "(0.003785411784 m3/h)", QUANTITY_COUNT},
    {"lpm", "(L/min)", QUANTITY_COUNT},
    {"lps", "(L/s)", QUANTITY_COUNT},
    {"lph", "(L/h)", QUANTITY_COUNT},
    {"cmh", "(m3/h)", QUANTITY_COUNT},
    {"cfs", "(ft3/s)", QUANTITY_COUNT},
    {"deg", "(arc_degree)", QUANTITY_COUNT},
    {"degree", "(arc_degree)", QUANTITY_COUNT},
    {"degrees", "(arc_degree)", QUANTITY_COUNT},
    {"kWh", "(kW.h)", QUANTITY_COUNT},
    {"MWh", "(MW.h)", QUANTITY_COUNT},
    {"Wh", "(W.h)", QUANTITY_COUNT},
    {"Nm", "(N.m)", QUANTITY_COUNT},
    {"mins", "(min)", QUANTITY_COUNT},
    {"secs", "(s)", QUANTITY_COUNT},
    {"hrs", "(h)", QUANTITY_COUNT},
    {"barg", "(bar)", QUANTITY_COUNT},
    {"year", "(31536000 s)", QUANTITY_COUNT}, /* 365 days, as hours a year are counted */
    {"a", "(31536000 s)", QUANTITY_COUNT},
};

/* Words of UDUNITS-2's grammar that would make a time stamp or a logarithm of a unit. */
static const char *const refused_words[] = {"since", "after", "from", "ref", "re",
                                            "lg",    "ln",    "lb",   "log", "bara"};

struct cached {
    char text[UNIT_SIZE];
    enum quantity quantity;
    bool is_pressure;
    cv_converter *converter; /* NULL: not convertible */
};

struct units {
    ut_system *system;
    ut_unit *base[QUANTITY_COUNT];
    int cached_count;
    struct cached cached[CACHE_ROOM];
};

const char *quantity_name(enum quantity quantity)
{
    return quantities[quantity].name;
}

const char *quantity_unit(enum quantity quantity)
{
    return quantities[quantity].unit;
}

const char *quantity_example(enum quantity quantity)
{
    return quantities[quantity].example;
}

struct units *units_new(struct failure *failure)
{
    const struct place nowhere = {0};
    struct units *units = calloc(1, sizeof *units);
    if (!units) {
        (void)fail_memory(failure, "the reader of units");
        return NULL;
    }
    (void)ut_set_error_message_handler(ut_ignore);
    units->system = ut_read_xml(NULL);
    bool is_ready = units->system != NULL;
    for (int i = 0; is_ready && i < QUANTITY_COUNT; i++) {
        units->base[i] = ut_parse(units->system, quantities[i].udunits, UT_ASCII);
        is_ready = units->base[i] != NULL;
    }
    if (!is_ready) {
        units_free(units);
        (void)fail(failure, FAILURE_FILE, nowhere,
                   "the table of units (udunits2.xml) cannot be read; install libudunits2-data or "
                   "set UDUNITS2_XML_PATH");
        return NULL;
    }
    return units;
}

void units_free(struct units *units)
{
    if (!units) {
        return;
    }
    for (int i = 0; i < units->cached_count; i++) {
        if (units->cached[i].converter) {
            cv_free(units->cached[i].converter);
        }
    }
    for (int i = 0; i < QUANTITY_COUNT; i++) {
        if (units->base[i]) {
            ut_free(units->base[i]);
        }
    }
    if (units->system) {
        ut_free_system(units->system);
    }
    free(units);
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
}

/* Only what a unit can need; UDUNITS-2 would take much more (dates, offsets, logarithms), and would
 * read "m 2" as two metres, which nobody means. */
static bool has_allowed_characters(const char *unit)
{
    for (const char *c = unit; *c; c++) {
        if (*c == ' ' && c[1] >= '0' && c[1] <= '9') {
            return false;
        }
        const bool is_high = (unsigned char)*c >= 0x80; /* degree sign, micro, superscripts */
        if (!is_letter(*c) && !(*c >= '0' && *c <= '9') && !strchr(" /.*^-()%\"'", *c) &&
            !is_high) {
            return false;
        }
    }
    return true;
}

static const char *find_alias(enum quantity quantity, const char *word, size_t length)
{
    for (size_t i = 0; i < sizeof aliases / sizeof *aliases; i++) {
        if (aliases[i].quantity == quantity && strlen(aliases[i].word) == length &&
            strncmp(aliases[i].word, word, length) == 0) {
            return aliases[i].meaning;
        }
    }
    return NULL;
}

static bool is_refused(const char *word, size_t length)
{
    for (size_t i = 0; i < sizeof refused_words / sizeof *refused_words; i++) {
        if (strlen(refused_words[i]) == length && strncmp(refused_words[i], word, length) == 0) {
            return true;
        }
    }
    return false;
}

static bool append(char expanded[EXPANDED_SIZE], const char *text, size_t length)
{
    const size_t used = strlen(expanded);
    if (used + length + 1 > EXPANDED_SIZE) {
        return false;
    }
    memcpy(expanded + used, text, length);
    expanded[used + length] = '\0';
    return true;
}

/* The unit in UDUNITS-2's words; false: not a unit. */
static bool expand(enum quantity quantity, const char *unit, char expanded[EXPANDED_SIZE])
{
    expanded[0] = '\0';
    const char *whole = find_alias(quantity, unit, strlen(unit));
    if (whole) {
        return append(expanded, whole, strlen(whole));
    }
    if (!has_allowed_characters(unit)) {
        return false;
    }
    if (*unit == '/' && !append(expanded, "1", 1)) {
        return false;
    }
    for (const char *c = unit; *c;) {
        size_t length = 1;
        if (is_letter(*c)) {
            while (is_letter(c[length])) {
                length++;
            }
            if (is_refused(c, length)) {
                return false;
            }
        }
        const char *meaning = find_alias(QUANTITY_COUNT, c, length);
        if (!append(expanded, meaning ? meaning : c, meaning ? strlen(meaning) : length)) {
            return false;
        }
        c += length;
    }
    return true;
}

static void convert_unit(struct units *units, struct cached *entry)
{
    char expanded[EXPANDED_SIZE];
    entry->converter = NULL;
    if (!expand(entry->quantity, entry->text, expanded)) {
        return;
    }
    ut_unit *unit = ut_parse(units->system, expanded, UT_UTF8);
    if (!unit) {
        return;
    }
    enum quantity target = entry->quantity;
    if (target == QUANTITY_HEAD && ut_are_convertible(unit, units->base[QUANTITY_PRESSURE])) {
        target = QUANTITY_PRESSURE;
        entry->is_pressure = true;
    }
    /* Radians are without dimension to UDUNITS-2: "90 deg" must not pass for a number. */
    const bool is_angle = ut_compare(unit, units->base[QUANTITY_NUMBER]) != 0 &&
                          target == QUANTITY_NUMBER && !strchr(entry->text, '%');
    if (!is_angle && ut_are_convertible(unit, units->base[target])) {
        entry->converter = ut_get_converter(unit, units->base[target]);
    }
    ut_free(unit);
}

/* The converter of a unit; NULL when it is none or of another dimension. `spare` serves when the
 * cache is full. */
static const struct cached *find_unit(struct units *units, enum quantity quantity, const char *unit,
                                      struct cached *spare)
{
    for (int i = 0; i < units->cached_count; i++) {
        if (units->cached[i].quantity == quantity && strcmp(units->cached[i].text, unit) == 0) {
            return &units->cached[i];
        }
    }
    struct cached *entry = spare;
    if (units->cached_count < CACHE_ROOM) {
        entry = &units->cached[units->cached_count++];
    }
    (void)snprintf(entry->text, sizeof entry->text, "%s", unit);
    entry->quantity = quantity;
    entry->is_pressure = false;
    convert_unit(units, entry);
    return entry;
}

static const char *article(enum quantity quantity)
{
    return strchr("aeiou", quantities[quantity].name[0]) ? "an" : "a";
}

static bool say_expected(enum quantity quantity, const char *text, const char *unit, size_t size,
                         char *message)
{
    const struct quantity_row *row = &quantities[quantity];
    if (*unit == '\0') {
        (void)snprintf(message, size, "'%.60s' has no unit; %s %s is expected, such as '%s'", text,
                       article(quantity), row->name, row->example);
    } else if (quantity == QUANTITY_NUMBER) {
        (void)snprintf(message, size, "'%.60s': a plain number is expected, such as '%s'", text,
                       row->example);
    } else {
        (void)snprintf(message, size, "'%.60s': '%.40s' is not a unit of %s; write it such as '%s'",
                       text, unit, row->name, row->example);
    }
    return false;
}

/* Reads the numbers at the head of `text`; the rest is left in *rest. -1: too many. */
static int read_numbers(const char *text, int room, double *value, const char **rest)
{
    int count = 0;
    const char *at = text;
    *rest = text;
    for (;;) {
        double number = 0;
        const char *end = number_read(at, &number);
        /* "3m" is taken for 3 m; "1-2" and "1.2.3" are no numbers. */
        if (!end || strchr("0123456789+-.,", *end ? *end : ' ') != NULL) {
            break;
        }
        if (count > 0 && *end == '/') {
            break; /* the 1 of "2900 1/min" belongs to the unit */
        }
        if (count == room) {
            return -1;
        }
        value[count++] = number;
        at = end;
        *rest = end;
    }
    while (**rest == ' ' || **rest == '\t') {
        (*rest)++;
    }
    return count;
}

static bool convert(const struct cached *unit, const char *text, struct amount *amount, size_t size,
                    char *message)
{
    const enum quantity kept = unit->is_pressure ? QUANTITY_PRESSURE : unit->quantity;
    for (int i = 0; i < amount->count; i++) {
        amount->value[i] = cv_convert_double(unit->converter, amount->value[i]);
        if (!isfinite(amount->value[i]) || fabs(amount->value[i]) > quantities[kept].largest) {
            (void)snprintf(message, size,
                           "'%.60s' is too large for %s %s; look at the number and its unit", text,
                           article(unit->quantity), quantities[unit->quantity].name);
            return false;
        }
    }
    amount->is_pressure = unit->is_pressure;
    return true;
}

bool units_read(struct units *units, enum quantity quantity, const char *text, int room,
                struct amount *amount, size_t message_size, char *message)
{
    const char *unit = text;
    struct cached spare = {.converter = NULL};
    amount->count = read_numbers(text, room, amount->value, &unit);
    if (amount->count < 0) {
        (void)snprintf(message, message_size, "'%.60s': at most %d numbers may stand here", text,
                       room);
        return false;
    }
    if (amount->count == 0) {
        (void)snprintf(message, message_size, "'%.60s' is not %s %s%s; write it such as '%s'%s",
                       text, article(quantity), quantities[quantity].name,
                       quantity == QUANTITY_NUMBER ? "" : " with unit",
                       quantities[quantity].example,
                       strstr(text, ", ")  ? " (blanks between numbers, no commas)"
                       : strchr(text, ',') ? " (decimal point, not comma)"
                                           : "");
        return false;
    }
    if (*unit == '\0' && quantity != QUANTITY_NUMBER) {
        return say_expected(quantity, text, unit, message_size, message);
    }
    if (strlen(unit) >= UNIT_SIZE) {
        return say_expected(quantity, text, "that", message_size, message);
    }
    char trimmed[UNIT_SIZE];
    (void)snprintf(trimmed, sizeof trimmed, "%s", unit);
    for (size_t end = strlen(trimmed); end > 0 && trimmed[end - 1] == ' '; end--) {
        trimmed[end - 1] = '\0';
    }
    const struct cached *found = find_unit(units, quantity, trimmed, &spare);
    if (!found->converter) {
        return say_expected(quantity, text, trimmed, message_size, message);
    }
    const bool done = convert(found, text, amount, message_size, message);
    if (found == &spare) {
        cv_free(spare.converter);
    }
    return done;
}
