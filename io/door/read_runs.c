#include "io/door/read_runs.h"

#include "io/door/elevation.h"
#include "io/door/part.h"
#include "io/door/read_ends.h"
#include "io/door/tank_mouths.h"
#include "io/nearest.h"

#include <math.h>
#include <string.h>

/* One run while it is read. */
struct row {
    const struct tree *node;
    struct run run;
    const char *subject;
    struct place from_place;
    struct place to_place;
    double start; /* m, elevation said where it leaves */
    bool is_suction_said;
    bool is_good;
    int count;
    struct part *parts; /* [count], with an entry and an exit that were added */
};

struct run_words {
    const char *from, *to;
    double start;
    int suction;
    const struct tree *parts;
};

#define FIELD(name) offsetof(struct run_words, name)
static const struct key run_keys[] = {
    {.name = "from",
     .kind = KEY_TEXT,
     .offset = FIELD(from),
     .is_required = true,
     .help = "the tank or point where it begins"},
    {.name = "to",
     .kind = KEY_TEXT,
     .offset = FIELD(to),
     .is_required = true,
     .help = "the tank, point or outlet where it ends"},
    {.name = "parts",
     .kind = KEY_NODE,
     .offset = FIELD(parts),
     .is_required = true,
     .help = "a list, in the order in which the water meets them"},
    {.name = "start",
     .kind = KEY_QUANTITY,
     .offset = FIELD(start),
     .quantity = QUANTITY_LENGTH,
     .help = "elevation where it leaves 'from'"},
    {.name = "suction",
     .kind = KEY_YES,
     .offset = FIELD(suction),
     .help = "it leads to a pump that stands in another run"},
};
#undef FIELD

const struct section run_section = {"runs", "rows of parts between two ends",
                                    sizeof run_keys / sizeof *run_keys, run_keys};

static int find_end(struct draft *draft, const struct row *row, const char *key, const char *name)
{
    const struct tree *child = tree_find(row->node, key);
    const int index = names_find(&draft->points, name);
    if (index >= 0) {
        return index;
    }
    struct nearest nearest;
    nearest_start(&nearest, name);
    for (int i = 0; i < draft->network->point_count; i++) {
        if (draft->network->points[i].is_named) {
            draft_offer_name(&nearest, draft->network->points[i].name);
        }
    }
    if (draft->has_lost_names && !nearest.found) {
        return NETWORK_NONE; /* most likely the one refused: told there */
    }
    (void)draft_error(draft, child->place, "%s: %s: no tank, point or outlet is called '%.60s'%s",
                      row->subject, key, name,
                      nearest_hint(&(struct hint){{0}}, nearest.found, ""));
    return NETWORK_NONE;
}

static const struct tank *tank_of(const struct draft *draft, int point)
{
    const int tank = draft->network->points[point].tank;
    return tank >= 0 ? &draft->network->tanks[tank] : NULL;
}

/* --- reading --- */

static bool read_ends(struct draft *draft, struct row *row, const struct run_words *words)
{
    row->from_place =
        tree_find(row->node, "from") ? tree_find(row->node, "from")->place : row->node->place;
    row->to_place =
        tree_find(row->node, "to") ? tree_find(row->node, "to")->place : row->node->place;
    row->run.from = words->from ? find_end(draft, row, "from", words->from) : NETWORK_NONE;
    row->run.to = words->to ? find_end(draft, row, "to", words->to) : NETWORK_NONE;
    if (row->run.from < 0 || row->run.to < 0) {
        return false;
    }
    if (row->run.from == row->run.to) {
        return draft_error(draft, row->to_place, "%s: it ends where it begins, at '%s'",
                           row->subject, words->to);
    }
    if (find_outlet(draft, row->run.from) >= 0) {
        return draft_error(draft, row->from_place,
                           "%s: a run cannot begin at an outlet; turn it "
                           "round",
                           row->subject);
    }
    return true;
}

static bool read_parts(struct draft *draft, struct row *row, const struct tree *list)
{
    bool is_good = true;
    if (list->kind != TREE_LIST || list->count == 0) {
        return draft_error(draft, list->place,
                           "%s: parts: a list with at least one part is expected, such as "
                           "'- {pipe: pvc-u 63 pn10, length: 2 m}'",
                           row->subject);
    }
    row->parts = draft_take(draft, (size_t)list->count + 2, sizeof *row->parts);
    if (!row->parts) {
        return false;
    }
    int count = 1; /* the first place is kept for an entry */
    for (const struct tree *child = list->first; child; child = child->next) {
        is_good = part_read(draft, row->run.name, child, &row->parts[count]) && is_good;
        count++;
    }
    row->parts++;
    row->count = count - 1;
    return is_good;
}

/* Puts in the losses at tanks that the list does not have, and the mouth above water. */
static void add_tank_losses(struct draft *draft, struct row *row)
{
    const struct tank *from = tank_of(draft, row->run.from);
    const struct tank *to = tank_of(draft, row->run.to);
    const bool pours = to && to->inlet_above;
    struct part *last = &row->parts[row->count - 1];
    if (pours && last->is_exit) {
        last->is_one_way = true;
    } else if (to && !last->is_exit && (pours || draft->losses.exit > 0)) {
        row->parts[row->count++] = fitting_part_at_tank(draft, true, pours, row->to_place);
    }
    if (from && !row->parts[0].is_entry && draft->losses.entry > 0) {
        row->parts--;
        row->count++;
        row->parts[0] = fitting_part_at_tank(draft, false, false, row->from_place);
    }
}

/* Notes the bores of the pipes on either side of each part. */
static void find_bores_beside(const struct row *row)
{
    double bore = NAN;
    for (int i = 0; i < row->count; i++) {
        row->parts[i].bore_before = bore;
        row->parts[i].reducer_before = i > 0 && row->parts[i - 1].kind == &reducer_part;
        bore = row->parts[i].is_pipe ? row->parts[i].bore : bore;
    }
    bore = NAN;
    for (int i = row->count - 1; i >= 0; i--) {
        row->parts[i].bore_after = bore;
        row->parts[i].reducer_after = i + 1 < row->count && row->parts[i + 1].kind == &reducer_part;
        bore = row->parts[i].is_pipe ? row->parts[i].bore : bore;
    }
}

/* Parts without a bore of their own take that of the pipe before, else of the one after; without
 * any pipe, of any part that says one. */
static bool settle_bores(struct draft *draft, struct row *row)
{
    double any = NAN;
    find_bores_beside(row);
    for (int i = 0; i < row->count; i++) {
        any = isfinite(row->parts[i].bore) ? row->parts[i].bore : any;
    }
    for (int i = 0; i < row->count; i++) {
        struct part *part = &row->parts[i];
        if (!isfinite(part->bore)) {
            part->bore = isfinite(part->bore_before)  ? part->bore_before
                         : isfinite(part->bore_after) ? part->bore_after
                                                      : any;
        }
    }
    return isfinite(row->parts[0].bore) ||
           draft_error(draft, row->node->key_place,
                       "%s: nothing in it says a bore; give one part a 'bore'", row->subject);
}

/* --- elevations --- */

static double tank_mouth(struct draft *draft, const struct row *row, const struct tank *tank,
                         double said, const char *what)
{
    static const double half = 0.5;
    if (isfinite(said)) {
        return said;
    }
    const double mouth = tank->floor + half * (tank->level - tank->floor);
    draft_assume(draft, what[0] == 'l' ? row->from_place : row->to_place,
                 "%s: it %s tank '%s' at %.4g m, halfway between floor and water", row->subject,
                 what, tank->name, mouth);
    return mouth;
}

static double start_elevation(struct draft *draft, const struct row *row)
{
    const struct point *from = &draft->network->points[row->run.from];
    const struct tank *tank = tank_of(draft, row->run.from);
    if (isfinite(row->start)) {
        return row->start;
    }
    if (isfinite(row->parts[0].start)) {
        return row->parts[0].start;
    }
    return tank ? tank_mouth(draft, row, tank, draft->tank_ends[from->tank].outlet_elevation,
                             "leaves")
                : from->elevation;
}

/* Elevation said last in the list with no pipe behind it, or NAN. */
static double last_said(const struct row *row)
{
    for (int i = row->count - 1; i >= 0; i--) {
        if (isfinite(row->parts[i].end)) {
            return row->parts[i].end;
        }
        if (row->parts[i].is_pipe) {
            break;
        }
    }
    return NAN;
}

/* Where a run pours in above the water: as said, if that is above it; else at the brim. */
static double pouring_elevation(struct draft *draft, const struct row *row, const struct tank *tank)
{
    const double said = draft->tank_ends[tank - draft->network->tanks].inlet_elevation;
    const double end = last_said(row);
    if (isfinite(said)) {
        if (said < tank->level) {
            draft_doubt(draft, tank->place,
                        "tank '%s': its inlet is above water, but its inlet elevation %.4g m is "
                        "below the level %.4g m",
                        tank->name, said, tank->level);
        }
        return said;
    }
    if (isfinite(end) && end >= tank->level) {
        return end;
    }
    draft_assume(draft, row->to_place, "%s: it pours into tank '%s' at its brim, %.4g m%s",
                 row->subject, tank->name, tank->brim,
                 isfinite(end) ? " (the pipe's end is said to be lower)" : "");
    return tank->brim;
}

static double end_elevation(struct draft *draft, const struct row *row)
{
    const struct tank *tank = tank_of(draft, row->run.to);
    const double said = last_said(row);
    if (!tank) {
        const struct point *to = &draft->network->points[row->run.to];
        if (isfinite(said) && fabs(said - to->elevation) > 0.05) {
            draft_doubt(draft, row->to_place,
                        "%s: its last part ends at %.4g m, but '%s' lies at %.4g m", row->subject,
                        said, to->name, to->elevation);
        }
        return to->elevation;
    }
    if (tank->inlet_above) {
        return pouring_elevation(draft, row, tank);
    }
    const double mouth =
        isfinite(said)
            ? said
            : tank_mouth(draft, row, tank,
                         draft->tank_ends[tank - draft->network->tanks].inlet_elevation, "enters");
    check_end_under_water(draft, row->subject, row->to_place, tank, mouth);
    return mouth;
}

/* --- links --- */

/* The name of a link: as said, or "run/word-number". */
static const char *link_name(struct draft *draft, const struct row *row, int index)
{
    const struct part *part = &row->parts[index];
    const char *word = part->node && part->node->kind == TREE_TEXT ? part->node->text : part->word;
    int number = 0;
    if (part->name) {
        return part->name;
    }
    if (!part->node) {
        return draft_text(draft, "%s/%s", row->run.name, word);
    }
    for (int i = 0; i <= index; i++) {
        const struct part *other = &row->parts[i];
        number += other->node && strcmp(other->word, part->word) == 0;
    }
    return draft_text(draft, "%s/%s-%d", row->run.name, word, number);
}

/* The point at the end of part `index`. */
static int end_point(struct draft *draft, const struct row *row, int index)
{
    const struct part *part = &row->parts[index];
    const struct tank *tank = tank_of(draft, row->run.to);
    if (index < row->count - 1) {
        const struct point point = {.name = draft_text(draft, "%s/%d", row->run.name, index + 1),
                                    .place = part->place,
                                    .elevation = part->elevation_to,
                                    .tank = NETWORK_NONE};
        return draft_add_point(draft, &point);
    }
    if (tank && tank->inlet_above) {
        const struct point point = {.name = draft_text(draft, "%s/mouth", row->run.name),
                                    .place = row->to_place,
                                    .elevation = part->elevation_to,
                                    .held_head = part->elevation_to,
                                    .is_held = true,
                                    .tank = draft->network->points[row->run.to].tank};
        return draft_add_point(draft, &point);
    }
    return row->run.to;
}

static bool make_links(struct draft *draft, struct row *row)
{
    int from = row->run.from;
    row->run.first_link = draft->network->link_count;
    for (int i = 0; i < row->count; i++) {
        struct part *part = &row->parts[i];
        const int to = end_point(draft, row, i);
        if (to < 0 || !part->kind->make(draft, part)) {
            row->is_good = false;
        } else {
            const struct link link = {.name = link_name(draft, row, i),
                                      .place = part->place,
                                      .from = from,
                                      .to = to,
                                      .run = draft->network->run_count,
                                      .area = part->area,
                                      .element = part->element,
                                      .data = part->data};
            part->link = draft_add_link(draft, &link);
            row->is_good = part->link >= 0 && row->is_good;
        }
        from = to >= 0 ? to : from;
    }
    row->run.to = from;
    row->run.link_count = draft->network->link_count - row->run.first_link;
    return row->is_good;
}

static void note_outlets(struct draft *draft, const struct row *row)
{
    const int outlet = find_outlet(draft, row->run.to);
    if (outlet >= 0) {
        draft->outlets[outlet].run_count++;
        if (row->count > 0) {
            draft->outlets[outlet].run_bore = row->parts[row->count - 1].bore;
        }
    }
}

/* --- places of valves and pumps --- */

static int first_pump(const struct row *row)
{
    for (int i = 0; i < row->count; i++) {
        if (row->parts[i].is_pump) {
            return i;
        }
    }
    return -1;
}

static double pipe_bore_beside(const struct part *part)
{
    return isfinite(part->bore_before)  ? part->bore_before
           : isfinite(part->bore_after) ? part->bore_after
                                        : part->bore;
}

static double straight_before(const struct row *row, int index)
{
    double length = 0;
    for (int i = index - 1; i >= 0 && (row->parts[i].is_pipe || row->parts[i].is_union); i--) {
        length += row->parts[i].length;
    }
    return length;
}

static bool add_valve(struct draft *draft, const struct row *row, int index)
{
    const int pump = first_pump(row);
    const struct part *part = &row->parts[index];
    struct valve_place place = {.link = part->link,
                                .pipe_bore = pipe_bore_beside(part),
                                .is_on_suction = row->run.is_suction && (pump < 0 || index < pump),
                                .straight_before = straight_before(row, index),
                                .pump_link = pump >= 0 ? row->parts[pump].link : NETWORK_NONE};
    valve_part_unions(part, &place.union_before, &place.union_after);
    place.union_before |= index > 0 && row->parts[index - 1].is_union;
    place.union_after |= index + 1 < row->count && row->parts[index + 1].is_union;
    return draft_add_valve_place(draft, &place);
}

static bool add_places(struct draft *draft, const struct row *row)
{
    bool is_good = true;
    for (int i = 0; i < row->count && is_good; i++) {
        if (row->parts[i].is_valve) {
            is_good = add_valve(draft, row, i);
        }
        if (row->parts[i].is_pump) {
            const struct pump_place place = {.link = row->parts[i].link,
                                             .from_tank =
                                                 draft->network->points[row->run.from].tank,
                                             .axis = row->parts[i].elevation_from};
            is_good = draft_add_pump_place(draft, &place);
        }
    }
    return is_good;
}

static void read_run(struct draft *draft, const struct tree *node)
{
    struct run_words words;
    struct row row = {.node = node, .run = {.name = node->key, .place = node->key_place}};
    const struct target targets[] = {{&run_section, &words}};
    row.subject = keys_subject(&draft->reader, "run", node->key);
    row.is_good = draft_check_name(draft, "run", node->key, node->key_place);
    row.is_good = keys_read(&draft->reader, node, row.subject, 1, targets) && row.is_good;
    if (node->kind != TREE_MAP) {
        return;
    }
    row.start = words.start;
    row.is_good = read_ends(draft, &row, &words) && row.is_good;
    row.is_good = words.parts && read_parts(draft, &row, words.parts) && row.is_good;
    if (row.run.to >= 0) {
        note_outlets(draft, &row);
    }
    if (!row.is_good) {
        return;
    }
    add_tank_losses(draft, &row);
    if (!settle_bores(draft, &row)) {
        return;
    }
    note_outlets(draft, &row);
    row.run.is_suction = words.suction == 1 || (words.suction < 0 && first_pump(&row) >= 0 &&
                                                tank_of(draft, row.run.from));
    const double first = start_elevation(draft, &row);
    elevation_settle(row.count, row.parts, first, end_elevation(draft, &row));
    if (make_links(draft, &row) && add_places(draft, &row)) {
        draft->network->runs[draft->network->run_count++] = row.run;
    }
}

void read_runs(struct draft *draft, const struct tree *node)
{
    if (!node) {
        return;
    }
    if (node->kind != TREE_MAP) {
        (void)draft_error(draft, node->place,
                          "runs: %s stands here; names are expected, such as "
                          "'main: {from: sump, to: header, parts: [...]}'",
                          tree_kind_name(node->kind));
        return;
    }
    draft->network->runs = draft_take(draft, (size_t)node->count, sizeof *draft->network->runs);
    for (const struct tree *child = node->first; draft->network->runs && child;
         child = child->next) {
        read_run(draft, child);
    }
}
