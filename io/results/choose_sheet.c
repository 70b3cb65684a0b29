#include "io/results/choose_sheet.h"

#include <math.h>
#include <stdio.h>

enum { REASONS_SIZE = 800, LABEL_SIZE = 120 };

enum {
    TEXT_PLACE,
    TEXT_LABEL,
    TEXT_TYPE,
    TEXT_REASONS,
    TEXT_SITE,
    TEXT_FLOW_CASE,
    TEXT_SLAM_CASE,
    TEXTS
};

static const struct field_head text_heads[TEXTS] = {
    {"place", "1", "name of the valve whose place it is"},
    {"label", "1", "type and nominal size of the candidate"},
    {"type", "1", "type of the candidate"},
    {"reasons", "1", "what it fails"},
    {"site_misses", "1", "what is missed whatever valve stands there"},
    {"flow_lost_case", "1", "the case in which most of the flow is lost"},
    {"slam_case", "1", "the surge case with the largest slam of those run"},
};

enum {
    NUMBER_CANDIDATE,
    NUMBER_RANK,
    NUMBER_FAILED,
    NUMBER_PRESENT,
    NUMBER_OPEN,
    NUMBER_PLACEHOLDER,
    NUMBER_SURGED,
    NUMBER_TRIPS,
    WHOLES,
    NUMBER_BORE = WHOLES,
    NUMBER_HANDICAP,
    NUMBER_FLOW,
    NUMBER_FLOW_LOST,
    NUMBER_DELIVERED,
    NUMBER_HEAD,
    NUMBER_VELOCITY,
    NUMBER_OPENING,
    NUMBER_POWER,
    NUMBER_ENERGY,
    NUMBER_SUCTION,
    NUMBER_BACK_HEAD,
    NUMBER_REVERSE,
    NUMBER_SLAM,
    NUMBER_SHUT,
    NUMBER_HIGHEST,
    NUMBER_LOWEST,
    NUMBER_COST,
    NUMBERS
};

static const struct field_head number_heads[NUMBERS] = {
    [NUMBER_CANDIDATE] = {"candidate", "1", "number of the candidate"},
    [NUMBER_RANK] = {"rank", "1",
                     "1 is best, 0: not acceptable, or not run through every surge case"},
    [NUMBER_FAILED] = {"failed", "1", "requirements it fails"},
    [NUMBER_PRESENT] = {"is_present", "1", "1: the valve the case has now"},
    [NUMBER_OPEN] = {"is_open", "1",
                     "1: fails nothing in the surge cases run, but was not run through all"},
    [NUMBER_PLACEHOLDER] = {"is_placeholder", "1", "1: some number has no published figure"},
    [NUMBER_SURGED] = {"is_surged", "1", "1: the surge runs with it went to their end"},
    [NUMBER_TRIPS] = {"surge_cases", "1",
                      "surge cases run; where not all, the handicap is the least it can be"},
    [NUMBER_BORE] = {"bore", "m", "nominal bore"},
    [NUMBER_HANDICAP] = {"handicap", "percent",
                         "handicap of the best set with it, by the ranking rule"},
    [NUMBER_FLOW] = {"flow", "m3 s-1", "flow through it, the case as it stands"},
    [NUMBER_FLOW_LOST] = {"flow_lost", "1",
                          "share of the flow lost against valves without loss, the worst case"},
    [NUMBER_DELIVERED] = {"delivered", "m3 s-1", "flow through all running pumps"},
    [NUMBER_HEAD] = {"valve_head", "m", "head it takes, the case as it stands"},
    [NUMBER_VELOCITY] = {"velocity", "m s-1", "velocity in its bore"},
    [NUMBER_OPENING] = {"opening", "1", "share open where water flows, the least"},
    [NUMBER_POWER] = {"power", "W", "power of all pumps"},
    [NUMBER_ENERGY] = {"energy", "J m-3", "energy for a cubic metre delivered"},
    [NUMBER_SUCTION] = {"suction_margin", "m", "NPSH available less required, the least"},
    [NUMBER_BACK_HEAD] = {"back_head", "m", "head on it at rest, the least"},
    [NUMBER_REVERSE] = {"reverse_velocity", "m s-1",
                        "reverse velocity as it met its seat, the worst case"},
    [NUMBER_SLAM] = {"slam_head", "m", "head rise as it met its seat"},
    [NUMBER_SHUT] = {"shut_time", "s", "time from the first event until it shut"},
    [NUMBER_HIGHEST] = {"highest_share", "1", "highest pressure over what is allowed, worst place"},
    [NUMBER_LOWEST] = {"lowest_margin", "m", "lowest head above boiling, worst place"},
    [NUMBER_COST] =
        {"energy_cost", "1",
         "a year's energy in the case's money, for the water the present valves deliver "
         "in the hours stated"},
};

/* Columns that are being filled, row by row. */
struct columns {
    const struct site *site;
    const struct envelope *envelope;
    struct arena *arena;
    int rows;
    int row;
    const char **texts; /* [TEXTS][rows] */
    double *numbers;    /* [NUMBERS][rows] */
    double *judged;     /* [3][rows][REQUIREMENT_COUNT]: verdict, value, limit */
    bool is_short;
};

static void set_text(struct columns *columns, int which, const char *text)
{
    const char *copy = arena_text(columns->arena, text);
    columns->is_short = columns->is_short || !copy;
    columns->texts[(ptrdiff_t)which * columns->rows + columns->row] = copy;
}

static void set(struct columns *columns, int which, double number)
{
    columns->numbers[(ptrdiff_t)which * columns->rows + columns->row] = number;
}

static void set_measures(struct columns *columns, const struct measures *measures)
{
    set(columns, NUMBER_FLOW, measures->flow);
    set(columns, NUMBER_DELIVERED, measures->delivered);
    set(columns, NUMBER_HEAD, measures->valve_head);
    set(columns, NUMBER_VELOCITY, measures->velocity);
    set(columns, NUMBER_OPENING, measures->opening);
    set(columns, NUMBER_POWER, measures->power);
    set(columns, NUMBER_ENERGY, measures->energy);
    set(columns, NUMBER_SUCTION, measures->suction_margin);
    set(columns, NUMBER_BACK_HEAD, measures->back_head);
    set(columns, NUMBER_REVERSE, measures->reverse_velocity);
    set(columns, NUMBER_SLAM, measures->slam_head);
    set(columns, NUMBER_SHUT, measures->shut_time);
    set(columns, NUMBER_HIGHEST, measures->highest_share);
    set(columns, NUMBER_LOWEST, measures->lowest_margin);
}

static void set_judgements(struct columns *columns, const struct candidate *candidate)
{
    ptrdiff_t grid = (ptrdiff_t)columns->rows * REQUIREMENT_COUNT;
    double *at = columns->judged + (ptrdiff_t)columns->row * REQUIREMENT_COUNT;
    for (int i = 0; i < REQUIREMENT_COUNT; i++) {
        const struct judgement *judgement = &candidate->judgements[i];
        bool is_asked = judgement->verdict != VERDICT_NOT_ASKED;
        at[i] = (double)judgement->verdict;
        at[grid + i] = is_asked ? judgement->value : (double)NAN;
        at[2 * grid + i] = is_asked ? judgement->limit : (double)NAN;
    }
}

void choose_label(const struct candidate *candidate, size_t size, char text[size])
{
    (void)snprintf(text, size, "%s DN%.0f%s", candidate->type, 1000.0 * candidate->valve.bore,
                   candidate->is_present ? " (present)" : "");
}

static void add_candidate(struct columns *columns, const char *place,
                          const struct candidate *candidate)
{
    char text[REASONS_SIZE];
    char label[LABEL_SIZE];
    choose_label(candidate, sizeof label, label);
    set_text(columns, TEXT_PLACE, place);
    set_text(columns, TEXT_LABEL, label);
    set_text(columns, TEXT_TYPE, candidate->type);
    choose_reasons(columns->envelope, candidate->judgements, VERDICT_FAILED, sizeof text, text);
    const bool is_elsewhere = !*text && candidate->failed_elsewhere > 0;
    if (candidate->is_open) {
        (void)snprintf(text, sizeof text,
                       "run through %d of %d surge cases; its handicap is %.1f %% or more",
                       candidate->trip_count, columns->envelope->trip_count, candidate->handicap);
    }
    set_text(columns, TEXT_REASONS,
             is_elsewhere ? "with it the best valve of another place fails" : text);
    choose_reasons(columns->envelope, candidate->judgements, VERDICT_SITE, sizeof text, text);
    set_text(columns, TEXT_SITE, text);
    set_text(columns, TEXT_FLOW_CASE,
             candidate->flow_lost_at == NETWORK_NONE
                 ? ""
                 : columns->envelope->conditions[candidate->flow_lost_at].name);
    set_text(columns, TEXT_SLAM_CASE,
             candidate->slam_at == NETWORK_NONE
                 ? ""
                 : columns->envelope->trips[candidate->slam_at].name);
    set(columns, NUMBER_CANDIDATE, columns->row + 1);
    set(columns, NUMBER_RANK, candidate->rank);
    set(columns, NUMBER_FAILED, candidate->failed_count);
    set(columns, NUMBER_PRESENT, candidate->is_present);
    set(columns, NUMBER_OPEN, candidate->is_open);
    set(columns, NUMBER_PLACEHOLDER, candidate->valve.is_placeholder);
    set(columns, NUMBER_SURGED, candidate->measures.is_surged);
    set(columns, NUMBER_TRIPS, candidate->trip_count);
    set(columns, NUMBER_COST, candidate->energy_cost);
    set(columns, NUMBER_BORE, candidate->valve.bore);
    set(columns, NUMBER_HANDICAP, candidate->handicap);
    set(columns, NUMBER_FLOW_LOST, candidate->flow_lost);
    set_measures(columns, &candidate->measures);
    set_judgements(columns, candidate);
    columns->row++;
}

static void add_place(struct columns *columns, const struct choose_place *place)
{
    const struct network *network = columns->site->network;
    const char *name = network->links[columns->site->valves[place->valve].link].name;
    for (int i = 0; i < place->candidate_count; i++) {
        add_candidate(columns, name, &place->candidates[i]);
    }
}

static void put_judged(const struct columns *columns, int along, const char *const *names,
                       struct sheet *sheet)
{
    ptrdiff_t grid = (ptrdiff_t)columns->rows * REQUIREMENT_COUNT;
    int across = sheet_dimension(sheet, "requirement", REQUIREMENT_COUNT);
    sheet_texts(sheet, (struct field_head){"requirement", "1", "what is required"}, across, names);
    sheet_grid(sheet,
               (struct field_head){"verdict", "1",
                                   "0 not asked, 1 met, 2 failed, 3 missed by the site itself"},
               along, across, columns->judged);
    sheet_grid(sheet, (struct field_head){"value", "1", "value, in the requirement's unit"}, along,
               across, columns->judged + grid);
    sheet_grid(sheet, (struct field_head){"limit", "1", "limit, in the requirement's unit"}, along,
               across, columns->judged + 2 * grid);
}

static bool put_all(const struct columns *columns, struct sheet *sheet)
{
    const char **names = arena_take(columns->arena, REQUIREMENT_COUNT, sizeof *names);
    if (!names || columns->is_short) {
        return false;
    }
    for (int i = 0; i < REQUIREMENT_COUNT; i++) {
        names[i] = requirement_name((enum requirement)i);
    }
    sheet_init(sheet, "/choose");
    int along = sheet_dimension(sheet, "candidate", (size_t)columns->rows);
    for (int i = 0; i < WHOLES; i++) {
        sheet_wholes(sheet, number_heads[i], along,
                     columns->numbers + (ptrdiff_t)i * columns->rows);
    }
    for (int i = 0; i < TEXTS; i++) {
        sheet_texts(sheet, text_heads[i], along, columns->texts + (ptrdiff_t)i * columns->rows);
    }
    for (int i = WHOLES; i < NUMBERS; i++) {
        sheet_numbers(sheet, number_heads[i], along,
                      columns->numbers + (ptrdiff_t)i * columns->rows);
    }
    put_judged(columns, along, names, sheet);
    return true;
}

static bool take_columns(struct columns *columns)
{
    size_t rows = (size_t)columns->rows;
    columns->texts = arena_take(columns->arena, TEXTS * rows, sizeof(const char *));
    columns->numbers = arena_take(columns->arena, NUMBERS * rows, sizeof(double));
    columns->judged = arena_take(columns->arena, 3 * rows * REQUIREMENT_COUNT, sizeof(double));
    return columns->texts && columns->numbers && columns->judged;
}

static void put_attributes(const struct choose *choose, struct sheet *sheet)
{
    sheet_attribute_number(sheet, "plan_is_default", choose->envelope.plan_is_default);
    sheet_attribute_number(sheet, "is_stopped", choose->is_stopped);
    sheet_attribute_number(sheet, "steady_cases", choose->envelope.condition_count);
    sheet_attribute_number(sheet, "surge_cases", choose->envelope.trip_count);
}

bool choose_sheet(const struct site *site, const struct choose *choose, struct sheet *sheet,
                  struct arena *arena, struct failure *failure)
{
    struct columns columns = {.site = site, .envelope = &choose->envelope, .arena = arena};
    for (int i = 0; i < choose->place_count; i++) {
        columns.rows += choose->places[i].candidate_count;
    }
    if (!take_columns(&columns)) {
        return fail_memory(failure, "the results of the choice");
    }
    for (int i = 0; i < choose->place_count; i++) {
        add_place(&columns, &choose->places[i]);
    }
    if (!put_all(&columns, sheet)) {
        return fail_memory(failure, "the results of the choice");
    }
    put_attributes(choose, sheet);
    return true;
}

bool choose_place_sheet(const struct site *site, const struct choose *choose, int place,
                        struct sheet *sheet, struct arena *arena, struct failure *failure)
{
    const struct choose_place *at = &choose->places[place];
    struct columns columns = {
        .site = site, .envelope = &choose->envelope, .arena = arena, .rows = at->candidate_count};
    if (!take_columns(&columns)) {
        return fail_memory(failure, "the results of the choice");
    }
    add_place(&columns, at);
    return put_all(&columns, sheet) || fail_memory(failure, "the results of the choice");
}
