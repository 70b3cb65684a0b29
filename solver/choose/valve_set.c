#include "solver/choose/valve_set.h"

#include "solver/choose/judge.h"

#include <math.h>
#include <string.h>

const struct choose_rule choose_rule_default = {
    .slam_weight = 0.5, .debris_grade = 2.0, .service_grade = 2.0, .part_open = 10.0};

static const double STILL = 1e-9; /* m3/s, less is no flow */

bool valve_set_take(struct valve_set *set, int place_count, struct arena *arena,
                    struct failure *failure)
{
    *set = (struct valve_set){.place_count = place_count};
    set->picks = arena_take(arena, (size_t)place_count, sizeof(struct candidate *));
    set->places = arena_take(arena, (size_t)place_count, sizeof *set->places);
    return (set->picks && set->places) || fail_memory(failure, "a set of valves");
}

void valve_set_copy(struct valve_set *to, const struct valve_set *from)
{
    const struct candidate **picks = to->picks;
    struct set_place *places = to->places;
    *to = *from;
    to->picks = picks;
    to->places = places;
    memcpy(picks, from->picks, (size_t)from->place_count * sizeof(struct candidate *));
    memcpy(places, from->places, (size_t)from->place_count * sizeof *places);
}

static int service_steps(enum non_return_service service)
{
    switch (service) {
    case SERVICE_UNIONS:
        return 0;
    case SERVICE_COVER:
    case SERVICE_FLANGES:
        return 1;
    case SERVICE_LIFT_OUT:
        return 2;
    case SERVICE_NONE:
        break;
    }
    return 3;
}

double valve_set_fixed(const struct choose_rule *rule, const struct non_return *valve)
{
    return rule->debris_grade * (double)(valve->debris - 1) +
           rule->service_grade * (double)service_steps(valve->service);
}

void valve_set_start(struct valve_set *set, const struct site *site, const struct choose_rule *rule)
{
    const double none = (double)NAN;
    set->flow_lost = 0.0;
    set->flow_lost_at = NETWORK_NONE;
    set->trip_count = 0;
    set->is_unjudged = false;
    set->rank = 0;
    set->handicap_band = none;
    set->delivered = set->power = set->energy_year = set->cost_year = none;
    for (int i = 0; i < set->place_count; i++) {
        struct set_place *place = &set->places[i];
        *place = (struct set_place){.slam_share = none, .slam_at = NETWORK_NONE, .slam_band = none};
        place->measures.back_head = none;
        for (int k = 0; k < REQUIREMENT_COUNT; k++) {
            place->judgements[k].at = NETWORK_NONE;
        }
        judge_alone(site, &set->picks[i]->valve, place->judgements);
    }
    valve_set_settle(set, rule);
}

static double least(double kept, double found)
{
    return !(kept <= found) && isfinite(found) ? found : kept;
}

/* A condition after the first: what the candidate shows is the worst of all. */
static void keep_steady(struct set_place *place, bool is_first, const struct measures *found)
{
    struct measures *kept = &place->measures;
    if (is_first) {
        const double back_head = kept->back_head;
        *kept = *found;
        kept->back_head = back_head;
        kept->opening = (double)NAN;
    }
    kept->suction_margin = least(kept->suction_margin, found->suction_margin);
    if (found->is_solved && found->flow > STILL) {
        kept->opening = least(kept->opening, found->opening);
        place->is_part_open = place->is_part_open || found->opening < non_return_fully_open;
    }
}

void valve_set_add_steady(struct valve_set *set, const struct site *site, const int places[],
                          int condition, const struct measures reference[],
                          const struct measures found[])
{
    double could = 0.0;
    double does = 0.0;
    for (int i = 0; i < set->place_count; i++) {
        keep_steady(&set->places[i], condition == 0, &found[i]);
        judge_flow(site, &site->valves[places[i]], &reference[i], &found[i], condition,
                   set->places[i].judgements);
        if (reference[i].is_solved && reference[i].flow > STILL) {
            could += reference[i].flow;
            does += found[i].is_solved ? fmax(found[i].flow, 0.0) : 0.0;
        }
    }
    const double lost = could > 0.0 ? 1.0 - does / could : 0.0;
    if (set->flow_lost_at == NETWORK_NONE || judge_is_more(lost, set->flow_lost)) {
        set->flow_lost = lost;
        set->flow_lost_at = condition;
    }
    if (condition == 0 && set->place_count > 0) {
        set->delivered = found[0].delivered;
        set->power = found[0].power;
    }
}

void valve_set_add_rest(struct valve_set *set, int site, int condition, const double back_head[])
{
    for (int i = 0; i < set->place_count; i++) {
        struct set_place *place = &set->places[i];
        place->measures.back_head = least(place->measures.back_head, back_head[i]);
        judge_rest(&set->picks[i]->in_water[site], back_head[i], condition, place->judgements);
    }
}

static void keep_surge(struct set_place *place, int trip, const struct measures *found)
{
    struct measures *kept = &place->measures;
    const double share = found->slam_head / found->allowed_head;
    kept->is_surged = true;
    if (isfinite(found->slam_head) && judge_is_more(found->slam_head, kept->slam_head)) {
        kept->reverse_velocity = found->reverse_velocity;
        kept->slam_head = found->slam_head;
        kept->shut_time = found->shut_time;
        kept->allowed_head = found->allowed_head;
        place->slam_at = trip;
    }
    if (!(place->slam_share >= share) && isfinite(share)) {
        place->slam_share = share;
    }
    if (!(kept->highest_share >= found->highest_share) && isfinite(found->highest_share)) {
        kept->highest_share = found->highest_share;
        kept->highest_head = found->highest_head;
    }
    if (!(kept->lowest_margin <= found->lowest_margin) && isfinite(found->lowest_margin)) {
        kept->lowest_margin = found->lowest_margin;
        kept->lowest_head = found->lowest_head;
    }
}

void valve_set_add_surge(struct valve_set *set, const struct site *site, int trip,
                         const struct measures reference[], const struct measures found[])
{
    set->trip_count++;
    for (int i = 0; i < set->place_count; i++) {
        if (!found[i].is_surged) {
            set->is_unjudged = true;
            continue;
        }
        keep_surge(&set->places[i], trip, &found[i]);
        judge_surge(site, reference ? &reference[i] : NULL, &found[i], trip,
                    set->places[i].judgements);
    }
}

/* Per cent. Above what the solver's residuals leave of a flow (1e-11 m, some 1e-9 of it), so that
 * sets whose water takes the same way are level, and their picks order them, not round-off. */
static const double HANDICAP_GRAIN = 1e-6;

void valve_set_settle(struct valve_set *set, const struct choose_rule *rule)
{
    double sum = 100.0 * fmax(set->flow_lost, 0.0);
    set->failed_count = 0;
    for (int i = 0; i < set->place_count; i++) {
        const struct set_place *place = &set->places[i];
        sum += valve_set_fixed(rule, &set->picks[i]->valve);
        sum += place->is_part_open ? rule->part_open : 0.0;
        sum += isfinite(place->slam_share) ? 100.0 * rule->slam_weight * place->slam_share : 0.0;
        set->failed_count += judge_failures(place->judgements, i == 0);
    }
    set->handicap = round(sum / HANDICAP_GRAIN) * HANDICAP_GRAIN;
}

/* The case's own first, then by form and size. */
static int compare_candidates(const struct candidate *a, const struct candidate *b)
{
    if (a->valve.form != b->valve.form) {
        return a->valve.form < b->valve.form ? -1 : 1;
    }
    if (a->valve.bore < b->valve.bore || a->valve.bore > b->valve.bore) {
        return a->valve.bore < b->valve.bore ? -1 : 1;
    }
    if (a->is_present != b->is_present) {
        return a->is_present ? -1 : 1;
    }
    return strcmp(a->type, b->type);
}

int valve_set_compare(const struct valve_set *a, const struct valve_set *b)
{
    if (a->failed_count != b->failed_count) {
        return a->failed_count < b->failed_count ? -1 : 1;
    }
    if (a->is_unjudged != b->is_unjudged) {
        return a->is_unjudged ? 1 : -1;
    }
    if (a->handicap < b->handicap || a->handicap > b->handicap) {
        return a->handicap < b->handicap ? -1 : 1;
    }
    for (int i = 0; i < a->place_count; i++) {
        const int order = compare_candidates(a->picks[i], b->picks[i]);
        if (order != 0) {
            return order;
        }
    }
    return 0;
}

bool valve_set_is_near(const struct valve_set *a, const struct valve_set *b)
{
    return fabs(a->handicap - b->handicap) < a->handicap_band + b->handicap_band;
}

bool valve_set_is_same(const struct valve_set *a, const struct valve_set *b)
{
    for (int i = 0; i < a->place_count; i++) {
        if (a->picks[i] != b->picks[i]) {
            return false;
        }
    }
    return true;
}

int valve_set_find(int count, const struct valve_set list[], const struct valve_set *set)
{
    for (int i = 0; i < count; i++) {
        if (valve_set_is_same(&list[i], set)) {
            return i;
        }
    }
    return NETWORK_NONE;
}
