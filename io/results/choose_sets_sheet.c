/* The group /choose/sets: which valves together. */
#include "io/results/choose_sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LABEL_SIZE = 400 };

/* The sets that are written: the best ones, then the present one where it is not among them. */
struct writing {
    const struct site *site;
    const struct choose *choose;
    struct arena *arena;
    int count;
    bool is_short; /* memory ended */
};

static const struct valve_set *set_at(const struct writing *writing, int index)
{
    return index < writing->choose->set_count ? &writing->choose->sets[index]
                                              : &writing->choose->present;
}

static const char *place_name(const struct writing *writing, int place)
{
    const int valve = writing->choose->places[place].valve;
    return writing->site->network->links[writing->site->valves[valve].link].name;
}

static const char *keep(struct writing *writing, const char *text)
{
    const char *kept = arena_text(writing->arena, text);
    writing->is_short = writing->is_short || !kept;
    return kept;
}

static void *take(struct writing *writing, size_t count, size_t size)
{
    void *room = arena_take(writing->arena, count + 1, size);
    writing->is_short = writing->is_short || !room;
    return room;
}

static const char *reasons_of(struct writing *writing, const struct valve_set *set)
{
    char text[LABEL_SIZE * 2] = "";
    size_t used = 0;
    for (int i = 0; i < set->place_count; i++) {
        char one[LABEL_SIZE];
        choose_reasons(&writing->choose->envelope, set->places[i].judgements, VERDICT_FAILED,
                       sizeof one, one);
        if (*one && used + strlen(one) + 70 < sizeof text) {
            used += (size_t)snprintf(text + used, sizeof text - used, "%s%.60s: %s",
                                     used ? "; " : "", place_name(writing, i), one);
        }
    }
    return keep(writing, text);
}

static void put_texts(struct writing *writing, struct sheet *sheet, int along)
{
    const size_t rows = (size_t)writing->count;
    const char **lost = take(writing, rows, sizeof *lost);
    const char **reasons = take(writing, rows, sizeof *reasons);
    for (int i = 0; lost && reasons && i < writing->count; i++) {
        const struct valve_set *set = set_at(writing, i);
        lost[i] = set->flow_lost_at == NETWORK_NONE
                      ? ""
                      : writing->choose->envelope.conditions[set->flow_lost_at].name;
        reasons[i] = reasons_of(writing, set);
    }
    sheet_texts(sheet, (struct field_head){"flow_lost_case", "1", "the case in which most is lost"},
                along, lost);
    sheet_texts(sheet, (struct field_head){"reasons", "1", "what it fails, and where"}, along,
                reasons);
}

enum {
    SET,
    RANK,
    PRESENT,
    FAILED,
    CASES,
    WHOLES,
    HANDICAP = WHOLES,
    BAND,
    LOST,
    DELIVERED,
    POWER,
    ENERGY,
    COST,
    NUMBERS
};

static const struct field_head number_heads[NUMBERS] = {
    [SET] = {"set", "1", "number of the set"},
    [RANK] = {"rank", "1", "1 is best, 0: not acceptable, or not judged in every case"},
    [PRESENT] = {"is_present", "1", "1: the valves the case has now"},
    [FAILED] = {"failed", "1", "requirements it fails"},
    [CASES] = {"surge_cases", "1", "surge cases it was run through"},
    [HANDICAP] = {"handicap", "percent",
                  "by the ranking rule; where not in all surge cases the least it can be"},
    [BAND] = {"handicap_band", "percent",
              "the handicap is right within this: slam at half the time step; nan: not known"},
    [LOST] = {"flow_lost", "1", "share of the flow lost against valves without loss, worst case"},
    [DELIVERED] = {"delivered", "m3 s-1", "flow through all running pumps, the case as it stands"},
    [POWER] = {"power", "W", "of all pumps then"},
    [ENERGY] = {"energy_year", "J",
                "a year, for the water the present valves deliver in the hours stated"},
    [COST] = {"energy_cost", "1", "what that costs, in the case's money"},
};

static void put_numbers(struct writing *writing, struct sheet *sheet, int along)
{
    const ptrdiff_t rows = writing->count;
    double *numbers = take(writing, NUMBERS * (size_t)rows, sizeof *numbers);
    if (!numbers) {
        return;
    }
    for (int i = 0; i < writing->count; i++) {
        const struct valve_set *set = set_at(writing, i);
        numbers[SET * rows + i] = i + 1;
        numbers[RANK * rows + i] = i < writing->choose->set_count ? set->rank : 0;
        numbers[PRESENT * rows + i] = valve_set_is_same(set, &writing->choose->present);
        numbers[FAILED * rows + i] = set->failed_count;
        numbers[CASES * rows + i] = set->trip_count;
        numbers[HANDICAP * rows + i] = set->handicap;
        numbers[BAND * rows + i] = set->handicap_band;
        numbers[LOST * rows + i] = set->flow_lost;
        numbers[DELIVERED * rows + i] = set->delivered;
        numbers[POWER * rows + i] = set->power;
        numbers[ENERGY * rows + i] = set->energy_year;
        numbers[COST * rows + i] = set->cost_year;
    }
    for (int i = 0; i < NUMBERS; i++) {
        if (i < WHOLES) {
            sheet_wholes(sheet, number_heads[i], along, numbers + i * rows);
        } else {
            sheet_numbers(sheet, number_heads[i], along, numbers + i * rows);
        }
    }
}

/* Which valve each set has where, and how it shuts. */
static void put_places(struct writing *writing, struct sheet *sheet, int along)
{
    const int places = writing->choose->place_count;
    const size_t cells = (size_t)writing->count * (size_t)places;
    const int across = sheet_dimension(sheet, "place", (size_t)places);
    const char **names = take(writing, (size_t)places, sizeof *names);
    const char **valves = take(writing, cells, sizeof *valves);
    double *slam = take(writing, cells, sizeof *slam);
    double *at = take(writing, cells, sizeof *at);
    if (!names || !valves || !slam || !at) {
        return;
    }
    for (int i = 0; i < places; i++) {
        names[i] = place_name(writing, i);
    }
    for (int i = 0; i < writing->count; i++) {
        const struct valve_set *set = set_at(writing, i);
        for (int k = 0; k < places; k++) {
            char label[LABEL_SIZE];
            const ptrdiff_t cell = (ptrdiff_t)i * places + k;
            (void)snprintf(label, sizeof label, "%.80s DN%.0f", set->picks[k]->type,
                           1000.0 * set->picks[k]->valve.bore);
            valves[cell] = keep(writing, label);
            slam[cell] = set->trip_count > 0 ? set->places[k].measures.slam_head : (double)NAN;
            at[cell] = set->places[k].slam_at + 1;
        }
    }
    sheet_texts(sheet, (struct field_head){"place", "1", "valve whose place it is"}, across, names);
    sheet_field(sheet, &(struct field){.name = "valve",
                                       .units = "1",
                                       .long_name = "the valve of a set at a place",
                                       .kind = FIELD_TEXT,
                                       .rank = 2,
                                       .dimension = {along, across},
                                       .count = cells,
                                       .texts = valves});
    sheet_grid(sheet, (struct field_head){"slam_head", "m", "largest of all surge cases run"},
               along, across, slam);
    sheet_grid(sheet,
               (struct field_head){"slam_case", "1", "number of that surge case; 0: none shut"},
               along, across, at);
}

static void put_cases(struct writing *writing, struct sheet *sheet)
{
    const struct envelope *envelope = &writing->choose->envelope;
    const size_t steady = (size_t)envelope->condition_count;
    const size_t surge = (size_t)envelope->trip_count;
    const char **names = take(writing, steady, sizeof *names);
    const char **trips = take(writing, surge, sizeof *trips);
    if (!names || !trips) {
        return;
    }
    for (int i = 0; i < envelope->condition_count; i++) {
        names[i] = envelope->conditions[i].name;
    }
    for (int i = 0; i < envelope->trip_count; i++) {
        trips[i] = envelope->trips[i].name;
    }
    sheet_texts(sheet, (struct field_head){"steady_case", "1", "what was solved"},
                sheet_dimension(sheet, "steady_case", steady), names);
    if (surge > 0) {
        sheet_texts(sheet, (struct field_head){"surge_case", "1", "what was run"},
                    sheet_dimension(sheet, "surge_case", surge), trips);
    }
}

static void put_tally(const struct search_tally *tally, struct sheet *sheet)
{
    sheet_attribute_number(sheet, "sets", tally->all);
    sheet_attribute_number(sheet, "sets_not_refused_alone", tally->after_alone);
    sheet_attribute_number(sheet, "dropped_by_dirt_and_service", tally->by_fixed);
    sheet_attribute_number(sheet, "left_out_as_too_many", tally->by_count);
    sheet_attribute_number(sheet, "dropped_by_steady_flow", tally->by_steady);
    sheet_attribute_number(sheet, "dropped_during_surge", tally->by_surge);
    sheet_attribute_number(sheet, "judged_in_every_case", tally->judged);
    sheet_attribute_number(sheet, "surge_runs", tally->surge_runs);
}

bool choose_sets_sheet(const struct site *site, const struct choose *choose, struct sheet *sheet,
                       struct arena *arena, struct failure *failure)
{
    struct writing writing = {.site = site, .choose = choose, .arena = arena};
    char open[LABEL_SIZE];
    writing.count = choose->set_count;
    writing.count += choose->set_count > 0 && valve_set_find(choose->set_count, choose->sets,
                                                             &choose->present) == NETWORK_NONE;
    sheet_init(sheet, "/choose/sets");
    const int along = sheet_dimension(sheet, "set", (size_t)writing.count);
    put_numbers(&writing, sheet, along);
    put_texts(&writing, sheet, along);
    put_places(&writing, sheet, along);
    put_cases(&writing, sheet);
    put_tally(&choose->tally, sheet);
    choose_open_ranks(choose, sizeof open, open);
    sheet_attribute_text(sheet, "open_ranks", keep(&writing, open));
    return !writing.is_short || fail_memory(failure, "the results of the choice");
}
