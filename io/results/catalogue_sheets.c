#include "io/results/catalogue_sheets.h"

#include "io/terminal/table.h"
#include "models/fitting.h"
#include "models/non_return.h"
#include "models/pipe_catalogue.h"
#include "models/wall.h"
#include "models/water.h"
#include "solver/findings/inventory.h"
#include "solver/study/measures.h"

/* --- pipes --- */

static bool fill_pipes(struct sheet *sheet, struct arena *arena)
{
    int count = pipe_catalogue_count();
    const char **name = arena_take(arena, 3 * (size_t)count, sizeof *name);
    double *outside = arena_take(arena, 4 * (size_t)count, sizeof *outside);
    if (!name || !outside) {
        return false;
    }
    const char **material = name + count;
    const char **source = material + count;
    double *wall = outside + count;
    double *bore = wall + count;
    double *class = bore + count;
    for (int i = 0; i < count; i++) {
        const struct pipe_size *size = pipe_catalogue_at(i);
        name[i] = size->name;
        material[i] = size->material;
        source[i] = size->source;
        outside[i] = size->outside;
        wall[i] = size->wall;
        bore[i] = size->bore;
        class[i] = size->pressure_class;
    }
    sheet_init(sheet, "/pipes");
    int along = sheet_dimension(sheet, "pipe", (size_t)count);
    sheet_texts(sheet, (struct field_head){"pipe", "1", "size"}, along, name);
    sheet_texts(sheet, (struct field_head){"material", "1", "material of the wall"}, along,
                material);
    sheet_numbers(sheet, (struct field_head){"outside", "m", "outside diameter"}, along, outside);
    sheet_numbers(sheet, (struct field_head){"wall", "m", "wall"}, along, wall);
    sheet_numbers(sheet, (struct field_head){"bore", "m", "bore"}, along, bore);
    sheet_numbers(sheet, (struct field_head){"pressure_class", "Pa", "pressure class"}, along,
                  class);
    sheet_texts(sheet, (struct field_head){"source", "1", "source of the size"}, along, source);
    return true;
}

static const struct trade_column pipe_columns[] = {
    {"pipe", "pipe", "", 1.0, TABLE_TEXT},
    {"outside", "outside", "mm", 1e3, 1},
    {"wall", "wall", "mm", 1e3, 2},
    {"bore", "bore", "mm", 1e3, 1},
    {"pressure_class", "class", "bar", 1e-5, 1},
    {"source", "source", "", 1.0, TABLE_TEXT},
    {NULL, NULL, NULL, 0.0, 0},
};

/* --- materials --- */

/* Pa; what is stiffer is no plastic. */
static const double stiffest_plastic = 1e10;

static bool fill_materials(struct sheet *sheet, struct arena *arena)
{
    int count = wall_count();
    const char **name = arena_take(arena, 5 * (size_t)count, sizeof *name);
    double *modulus = arena_take(arena, 5 * (size_t)count, sizeof *modulus);
    if (!name || !modulus) {
        return false;
    }
    const char **source = name + count;
    const char **rule = source + count;
    const char **creep = rule + count;
    const char **creep_word = creep + count;
    double *poisson = modulus + count;
    double *roughness = poisson + count;
    double *share30 = roughness + count;
    double *share40 = share30 + count;
    for (int i = 0; i < count; i++) {
        const struct wall *wall = wall_at(i);
        name[i] = wall->name;
        source[i] = wall->source;
        rule[i] = wall->derating_source;
        creep[i] = wall->creep_source ? wall->creep_source : "none published found";
        if (wall->modulus > stiffest_plastic) {
            creep[i] = "none in the time of a surge";
        }
        creep_word[i] = wall->creep_source ? "one set" : creep[i];
        modulus[i] = wall->modulus;
        poisson[i] = wall->poisson;
        roughness[i] = wall->roughness;
        share30[i] = wall_derating(wall, 30.0);
        share40[i] = wall_derating(wall, 40.0);
    }
    sheet_init(sheet, "/materials");
    int along = sheet_dimension(sheet, "material", (size_t)count);
    sheet_texts(sheet, (struct field_head){"material", "1", "name"}, along, name);
    sheet_numbers(sheet, (struct field_head){"modulus", "Pa", "Young's modulus, short term"}, along,
                  modulus);
    sheet_numbers(sheet, (struct field_head){"poisson", "1", "Poisson's ratio"}, along, poisson);
    sheet_numbers(sheet, (struct field_head){"roughness", "m", "absolute roughness"}, along,
                  roughness);
    sheet_numbers(sheet, (struct field_head){"share_30", "1", "share of class at 30 degC"}, along,
                  share30);
    sheet_numbers(sheet, (struct field_head){"share_40", "1", "share of class at 40 degC"}, along,
                  share40);
    sheet_texts(sheet, (struct field_head){"source", "1", "source of modulus and Poisson's ratio"},
                along, source);
    sheet_texts(sheet,
                (struct field_head){"derating_source", "1",
                                    "rule of the class by "
                                    "temperature"},
                along, rule);
    sheet_texts(sheet, (struct field_head){"creep", "1", "whether its creep is built in"}, along,
                creep_word);
    sheet_texts(sheet, (struct field_head){"creep_source", "1", "source of its creep, for surge"},
                along, creep);
    return true;
}

static const struct trade_column material_columns[] = {
    {"material", "material", "", 1.0, TABLE_TEXT},
    {"modulus", "modulus", "GPa", 1e-9, 2},
    {"poisson", "Poisson", "", 1.0, 2},
    {"roughness", "roughness", "mm", 1e3, 4},
    {"share_30", "at 30 C", "of class", 1.0, 2},
    {"share_40", "at 40 C", "of class", 1.0, 2},
    {"derating_source", "class when warm, by", "", 1.0, TABLE_TEXT},
    {"creep", "creep in surge", "", 1.0, TABLE_TEXT},
    {"source", "source", "", 1.0, TABLE_TEXT},
    {NULL, NULL, NULL, 0.0, 0},
};

/* --- fittings --- */

static bool fill_fittings(struct sheet *sheet, struct arena *arena)
{
    static const double bores[] = {0.025, 0.05, 0.1};
    int count = fitting_catalogue_count();
    const char **name = arena_take(arena, 2 * (size_t)count, sizeof *name);
    double *loss = arena_take(arena, 4 * (size_t)count, sizeof *loss);
    if (!name || !loss) {
        return false;
    }
    const char **source = name + count;
    double *laminar = loss + 3 * (size_t)count;
    for (int i = 0; i < count; i++) {
        const struct fitting_kind *kind = fitting_catalogue_at(i);
        name[i] = kind->name;
        source[i] = kind->source;
        laminar[i] = kind->laminar;
        for (int k = 0; k < 3; k++) {
            loss[k * count + i] = fitting_kind_loss(kind, bores[k]);
        }
    }
    sheet_init(sheet, "/fittings");
    int along = sheet_dimension(sheet, "fitting", (size_t)count);
    sheet_texts(sheet, (struct field_head){"fitting", "1", "name"}, along, name);
    sheet_numbers(sheet, (struct field_head){"loss_25", "1", "K in a bore of 25 mm"}, along, loss);
    sheet_numbers(sheet, (struct field_head){"loss_50", "1", "K in a bore of 50 mm"}, along,
                  loss + count);
    sheet_numbers(sheet, (struct field_head){"loss_100", "1", "K in a bore of 100 mm"}, along,
                  loss + 2 * (size_t)count);
    sheet_numbers(sheet, (struct field_head){"laminar", "1", "K1 of K1/Re"}, along, laminar);
    sheet_texts(sheet, (struct field_head){"source", "1", "source of the numbers"}, along, source);
    return true;
}

static const struct trade_column fitting_columns[] = {
    {"fitting", "fitting", "", 1.0, TABLE_TEXT},
    {"loss_25", "K 25 mm", "", 1.0, 2},
    {"loss_50", "K 50 mm", "", 1.0, 2},
    {"loss_100", "K 100 mm", "", 1.0, 2},
    {"laminar", "K1", "", 1.0, 0},
    {"source", "source", "", 1.0, TABLE_TEXT},
    {NULL, NULL, NULL, 0.0, 0},
};

/* --- non-return valves --- */

/* Numbers are shown for this size and this mounting, or the nearest allowed. */
static const double shown_bore = 0.05;
static const double shown_temperature = 15.0; /* degC */

static void put_type(const struct non_return_type *type, const struct water *water, int count,
                     const char **text, double *number)
{
    static const char *const mountings[] = {"none", "up",       "level",       "up, level",
                                            "down", "up, down", "level, down", "any"};
    struct non_return valve;
    double bore = shown_bore < type->smallest  ? type->smallest
                  : shown_bore > type->largest ? type->largest
                                               : shown_bore;
    non_return_make(type, bore, MOUNTING_UP, water, &valve);
    const double numbers[] = {type->smallest,
                              type->largest,
                              valve.opening_head,
                              valve.full_open_loss,
                              valve.full_open_velocity,
                              valve.seating_head,
                              valve.holding_head,
                              valve.debris,
                              valve.slam,
                              valve.is_placeholder};
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        number[(ptrdiff_t)i * count] = numbers[i];
    }
    text[0] = type->name;
    text[count] = mountings[valve.mountings & 7U];
    text[2 * (ptrdiff_t)count] = valve.is_placeholder ? "placeholder" : "-";
    text[3 * (ptrdiff_t)count] = type->source;
}

static bool fill_valves(struct sheet *sheet, struct arena *arena)
{
    static const struct field_head heads[] = {
        {"smallest", "m", "smallest nominal bore it is made in"},
        {"largest", "m", "largest nominal bore it is made in"},
        {"opening_head", "m", "head that opens it, DN50 or nearest, flow upward"},
        {"full_open_loss", "1", "K when fully open"},
        {"full_open_velocity", "m s-1", "velocity that holds it fully open"},
        {"seating_head", "m", "back head that makes it tight"},
        {"holding_head", "m", "back head that it holds at most, 0: no less than its pipe"},
        {"debris", "1", "proneness to clog, 1 very good to 5 poor"},
        {"slam", "1", "general ranking of slam, 1 quiet to 6"},
        {"is_placeholder", "1", "1: some number has no published figure behind it"},
    };
    enum { NUMBERS = sizeof heads / sizeof heads[0] };
    int count = non_return_type_count();
    struct failure failure = {0};
    struct water water;
    const char **text = arena_take(arena, 4 * (size_t)count, sizeof *text);
    double *number = arena_take(arena, NUMBERS * (size_t)count, sizeof *number);
    if (!text || !number ||
        !water_init(&water, shown_temperature, 0.0, (struct place){0}, &failure)) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        put_type(non_return_type_at(i), &water, count, text + i, number + i);
    }
    sheet_init(sheet, "/non-return");
    int along = sheet_dimension(sheet, "type", (size_t)count);
    sheet_texts(sheet, (struct field_head){"type", "1", "name"}, along, text);
    for (int i = 0; i < NUMBERS; i++) {
        sheet_numbers(sheet, heads[i], along, number + (ptrdiff_t)i * count);
    }
    sheet_texts(sheet, (struct field_head){"mountings", "1", "ways the flow may run"}, along,
                text + count);
    sheet_texts(sheet,
                (struct field_head){"mark", "1",
                                    "whether a published figure stands behind "
                                    "every number"},
                along, text + 2 * (ptrdiff_t)count);
    sheet_texts(sheet, (struct field_head){"source", "1", "source, with its mark"}, along,
                text + 3 * (ptrdiff_t)count);
    return true;
}

static const struct trade_column valve_columns[] = {
    {"type", "type", "", 1.0, TABLE_TEXT},
    {"smallest", "from", "DN", 1e3, 0},
    {"largest", "to", "DN", 1e3, 0},
    {"opening_head", "opens at", "m", 1.0, 2},
    {"full_open_loss", "K open", "", 1.0, 1},
    {"full_open_velocity", "full open", "m/s", 1.0, 2},
    {"seating_head", "tight from", "m", 1.0, 2},
    {"debris", "clogs", "1 to 5", 1.0, 0},
    {"slam", "slam", "1 to 6", 1.0, 0},
    {"mountings", "flow", "", 1.0, TABLE_TEXT},
    {"mark", "numbers", "", 1.0, TABLE_TEXT},
    {"source", "source", "", 1.0, TABLE_TEXT},
    {NULL, NULL, NULL, 0.0, 0},
};

/* --- questions --- */

static bool fill_questions(struct sheet *sheet, struct arena *arena)
{
    const size_t count = INVENTORY_COUNT;
    const char **text = arena_take(arena, 4 * count, sizeof *text);
    double *number = arena_take(arena, count, sizeof *number);
    if (!text || !number) {
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        const struct question *question = inventory_at((int)i);
        number[i] = question->number;
        text[i] = question->part;
        text[count + i] = question->asks;
        text[2 * count + i] = answered_by_text(question->by);
        text[3 * count + i] = question->where;
    }
    sheet_init(sheet, "/questions");
    const int along = sheet_dimension(sheet, "question", count);
    sheet_wholes(sheet, (struct field_head){"question", "1", "number"}, along, number);
    sheet_texts(sheet, (struct field_head){"part", "1", "part of the job"}, along, text);
    sheet_texts(sheet, (struct field_head){"asks", "1", "the question"}, along, text + count);
    sheet_texts(sheet, (struct field_head){"by", "1", "who answers it"}, along, text + 2 * count);
    sheet_texts(sheet,
                (struct field_head){"where", "1", "where the answer is, or what to look for"},
                along, text + 3 * count);
    return true;
}

static const struct trade_column question_columns[] = {
    {"question", "no", "", 1.0, 0},
    {"part", "part", "", 1.0, TABLE_TEXT},
    {"asks", "question", "", 1.0, TABLE_TEXT},
    {"by", "answered by", "", 1.0, TABLE_TEXT},
    {"where", "where", "", 1.0, TABLE_TEXT},
    {NULL, NULL, NULL, 0.0, 0},
};

/* --- measures --- */

static const char *subject_text(enum measure_subject subject)
{
    switch (subject) {
    case MEASURE_OF_SITE:
        break;
    case MEASURE_OF_LINK:
        return " of PART";
    case MEASURE_OF_POINT:
        return " at POINT";
    case MEASURE_OF_TANK:
        return " of TANK";
    case MEASURE_OF_PUMP:
        return " of PUMP";
    case MEASURE_OF_VALVE:
        return " of VALVE";
    }
    return "";
}

static bool fill_measures(struct sheet *sheet, struct arena *arena)
{
    const size_t count = (size_t)measure_kind_count();
    const char **text = arena_take(arena, 4 * count, sizeof *text);
    char name[120];
    if (!text) {
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        const struct measure_kind *kind = measure_kind_at((int)i);
        (void)snprintf(name, sizeof name, "%s%s", kind->words, subject_text(kind->subject));
        text[i] = arena_text(arena, name);
        text[count + i] = kind->unit;
        text[2 * count + i] = kind->run == STUDY_SURGE  ? "surge"
                              : kind->run == STUDY_FILL ? "filling"
                                                        : "steady";
        text[3 * count + i] = kind->long_name;
        if (!text[i]) {
            return false;
        }
    }
    sheet_init(sheet, "/measures");
    const int along = sheet_dimension(sheet, "measure", count);
    sheet_texts(sheet, (struct field_head){"measure", "1", "as a case writes it"}, along, text);
    sheet_texts(sheet, (struct field_head){"unit", "1", "unit in results"}, along, text + count);
    sheet_texts(sheet, (struct field_head){"run", "1", "run that gives it"}, along,
                text + 2 * count);
    sheet_texts(sheet, (struct field_head){"meaning", "1", "what it is"}, along, text + 3 * count);
    return true;
}

static const struct trade_column measure_columns[] = {
    {"measure", "measure", "", 1.0, TABLE_TEXT},
    {"unit", "unit in results", "", 1.0, TABLE_TEXT},
    {"run", "from", "", 1.0, TABLE_TEXT},
    {"meaning", "meaning", "", 1.0, TABLE_TEXT},
    {NULL, NULL, NULL, 0.0, 0},
};

const struct catalogue_part catalogue_parts[] = {
    {"pipes", "Sizes of plastic pressure pipe",
     "The bore follows from outside diameter and wall, never from the size's name.", pipe_columns,
     fill_pipes},
    {"materials", "Pipe materials: stiffness, roughness, pressure class by temperature",
     "(read): read in the source named; (from memory): to be confirmed before quoting.",
     material_columns, fill_materials},
    {"fittings", "Fittings and open valves: loss coefficient K by bore",
     "Handbooks differ by half on small fittings. K1/Re is added to K at small flows.",
     fitting_columns, fill_fittings},
    {"non-return", "Types of non-return valve, numbers of DN50 or the nearest with upward flow",
     "placeholder: some number has no published figure behind it; state your own in the case.",
     valve_columns, fill_valves},
    {"measures",
     "What a study can keep of each variant: names for its measures, limits and compare",
     "PART, POINT, TANK, PUMP, VALVE: a name of the case. Limits take any unit that measures the "
     "same.",
     measure_columns, fill_measures},
    {"questions", "Everything a whole job must answer: by the program, in the case, or by you",
     "Rows answered by you are the checklist for the site; local rules and licensed practice "
     "first.",
     question_columns, fill_questions},
};

const int catalogue_part_count = (int)(sizeof catalogue_parts / sizeof catalogue_parts[0]);
