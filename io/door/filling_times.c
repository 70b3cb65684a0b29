#include "io/door/filling_times.h"

#include "io/door/lost.h"
#include "io/door/table.h"
#include "models/draw_off.h"
#include "models/throttling.h"

#include <math.h>

static const char day_text[] = "24 h";

/* --- one course --- */

static bool check_course(struct draft *draft, struct place place, const char *subject,
                         const struct filling_course *course)
{
    for (int i = 0; i < course->count; i++) {
        if (course->time[i] < 0 || (i > 0 && course->time[i] < course->time[i - 1] + 1e-3)) {
            return draft_error(draft, place,
                               "%s: times must be at least 0 and rise; %.6g h is "
                               "the time number %d",
                               subject, course->time[i] / 3600, i + 1);
        }
        if (course->period > 0 && course->time[i] >= course->period) {
            return draft_error(draft, place,
                               "%s: time %.6g h is not before the course repeats, at %.6g h",
                               subject, course->time[i] / 3600, course->period / 3600);
        }
    }
    return true;
}

static bool make_course(struct draft *draft, struct place place, const char *subject,
                        const struct numbers *time, const struct numbers *value, double period,
                        struct filling_course *course)
{
    if (time->count != value->count || time->count == 0) {
        return draft_error(draft, place, "%s: %d times and %d values; there must be as many",
                           subject, time->count, value->count);
    }
    *course = (struct filling_course){
        .count = time->count, .time = time->value, .value = value->value, .period = period};
    return check_course(draft, place, subject, course);
}

/* --- draws --- */

struct draw_words {
    const char *from, *table;
    struct numbers times, flow;
    double repeats;
    int between;
};

#define FIELD(name) offsetof(struct draw_words, name)
static const struct key draw_keys[] = {
    {.name = "from",
     .kind = KEY_TEXT,
     .offset = FIELD(from),
     .is_required = true,
     .help = "a point, or a tank"},
    {.name = "times",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(times),
     .quantity = QUANTITY_TIME,
     .help = "of the clock, such as 0 6 9 17 22 h"},
    {.name = "flow",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(flow),
     .quantity = QUANTITY_FLOW,
     .help = "from each time on; below zero: fed in"},
    {.name = "table",
     .kind = KEY_TEXT,
     .offset = FIELD(table),
     .help = "instead of times and flow: a CSV file beside the case, columns time and flow"},
    {.name = "repeats",
     .kind = KEY_QUANTITY,
     .offset = FIELD(repeats),
     .quantity = QUANTITY_TIME,
     .range = RANGE_NOT_NEGATIVE,
     .help = "after so long; times: 24 h unless said, a table: never unless said"},
    {.name = "between",
     .kind = KEY_CHOICE,
     .offset = FIELD(between),
     .choices = "steps|straight lines",
     .fallback = "steps",
     .help = "how it goes from one time to the next"},
};
#undef FIELD

const struct section filling_draw_section = {"filling: draws",
                                             "what is taken over the day (a list)",
                                             sizeof draw_keys / sizeof *draw_keys, draw_keys};

static bool read_draw_table(struct draft *draft, const struct tree *node,
                            const struct draw_words *words, struct filling_course *course)
{
    static const struct column columns[] = {{"time", QUANTITY_TIME, false, PLAUSIBLE_BY_QUANTITY},
                                            {"flow", QUANTITY_FLOW, false, PLAUSIBLE_BY_QUANTITY}};
    struct table table;
    const struct place place = tree_find(node, "table")->place;
    const char *path = table_path(&draft->reader, draft->site->path, words->table, place);
    if (!path || !table_read(&draft->reader, path, 2, columns, &table)) {
        return false;
    }
    double *time = draft_take(draft, (size_t)table.row_count, sizeof *time);
    double *value = draft_take(draft, (size_t)table.row_count, sizeof *value);
    if (!time || !value) {
        return false;
    }
    for (int i = 0; i < table.row_count; i++) {
        time[i] = table.values[2 * (size_t)i];
        value[i] = table.values[2 * (size_t)i + 1];
    }
    *course = (struct filling_course){.count = table.row_count,
                                      .time = time,
                                      .value = value,
                                      .period = isfinite(words->repeats) ? words->repeats : 0};
    return check_course(draft, place, "filling draw", course);
}

static bool find_draw(struct draft *draft, const struct tree *node, const char *name,
                      struct filling_draw *draw)
{
    const struct network *network = draft->network;
    const int point = names_find(&draft->points, name);
    draw->point = draw->tank = NETWORK_NONE;
    if (point < 0) {
        return !is_lost(draft, name) &&
               draft_error(draft, tree_find(node, "from")->place,
                           "filling draw: there is no point and no tank '%.60s'", name);
    }
    const int tank = network->points[point].tank;
    if (tank != NETWORK_NONE && network->tanks[tank].point == point) {
        draw->tank = tank;
        return true;
    }
    draw->point = point;
    return !network->points[point].is_held ||
           draft_error(draft, tree_find(node, "from")->place,
                       "filling draw: '%.60s' has a fixed head and gives whatever flow is needed",
                       name);
}

/* Whoever gives the hours of such a draw so draws twice. */
static void doubt_second_draw(struct draft *draft, const struct filling_draw *draw)
{
    const struct network *network = draft->network;
    for (int i = 0; i < network->link_count && draw->point != NETWORK_NONE; i++) {
        const struct link *link = &network->links[i];
        if (link->element == &draw_off_element && link->from == draw->point) {
            draft_doubt(draft, draw->place,
                        "filling draw: the draw of '%s' that falls with pressure is taken all day "
                        "beside this one; a timer of '%s' gives it hours",
                        network->points[draw->point].name, link->name);
        }
    }
}

static bool read_draw(struct draft *draft, const struct tree *node, struct filling_draw *draw)
{
    struct draw_words words;
    const struct target targets[] = {{&filling_draw_section, &words}};
    if (!keys_read(&draft->reader, node, "filling draw", 1, targets) ||
        !find_draw(draft, node, words.from, draw)) {
        return false;
    }
    const double period = isfinite(words.repeats) ? words.repeats : 86400;
    const bool is_table = words.table != NULL;
    if (is_table == (words.times.count > 0 || words.flow.count > 0)) {
        return draft_error(draft, node->place,
                           "filling draw: either 'times' and 'flow' or a 'table' is expected");
    }
    if (is_table ? !read_draw_table(draft, node, &words, &draw->flow)
                 : !make_course(draft, node->place, "filling draw", &words.times, &words.flow,
                                period, &draw->flow)) {
        return false;
    }
    draw->flow.is_straight = words.between == 1;
    draw->place = node->place;
    doubt_second_draw(draft, draw);
    return true;
}

static bool is_list(struct draft *draft, const struct tree *node, const char *subject,
                    const char *example)
{
    return node && (node->kind == TREE_LIST ||
                    draft_error(draft, node->place, "%s: a list is expected, such as '- %s'",
                                subject, example));
}

void read_filling_draws(struct draft *draft, const struct tree *node)
{
    struct filling_plan *plan = &draft->site->filling;
    if (!is_list(draft, node, "filling: draws",
                 "{from: trough, times: 0 6 h, flow: 0.1 0.4 L/s}")) {
        return;
    }
    struct filling_draw *draws = draft_take(draft, (size_t)node->count, sizeof *draws);
    plan->draws = draws;
    for (const struct tree *child = node->first; draws && child; child = child->next) {
        if (read_draw(draft, child, &draws[plan->draw_count])) {
            plan->draw_count++;
        }
    }
}

/* --- timers --- */

struct timer_words {
    const char *what;
    struct numbers on, off, at, to;
    double repeats;
};

#define FIELD(name) offsetof(struct timer_words, name)
#define TIMES_KEY(word, field, what, text)                                                         \
    {                                                                                              \
        .name = (word), .kind = KEY_QUANTITIES, .offset = FIELD(field), .quantity = (what),        \
        .help = (text)                                                                             \
    }
static const struct key timer_keys[] = {
    {.name = "what",
     .kind = KEY_TEXT,
     .offset = FIELD(what),
     .is_required = true,
     .help = "an outlet, a pump, or any part of a run"},
    TIMES_KEY("on", on, QUANTITY_TIME,
              "times at which it opens, or the pump may run; in turns with off"),
    TIMES_KEY("off", off, QUANTITY_TIME, "times at which it shuts, or the pump is kept off"),
    TIMES_KEY("at", at, QUANTITY_TIME, "instead of on and off, for a throttling valve: times"),
    TIMES_KEY("to", to, QUANTITY_NUMBER, "the share open from each time on"),
    {.name = "repeats",
     .kind = KEY_QUANTITY,
     .offset = FIELD(repeats),
     .quantity = QUANTITY_TIME,
     .range = RANGE_NOT_NEGATIVE,
     .fallback = day_text,
     .help = "after so long; 0 h: never"},
};
#undef TIMES_KEY
#undef FIELD

const struct section filling_timer_section = {"filling: timers",
                                              "what opens and shuts by the clock (a list)",
                                              sizeof timer_keys / sizeof *timer_keys, timer_keys};

/* The link of a name; an outlet's is its mouth. */
static int find_link(struct draft *draft, const char *name)
{
    const int link = names_find(&draft->links, name);
    return link >= 0 ? link : names_find(&draft->links, draft_text(draft, "%s/mouth", name));
}

/* On and off must take turns, also from one round to the next: a second 'on' with no 'off' before
 * it would do nothing, and is a slip. */
static bool check_turns(struct draft *draft, const struct tree *node,
                        const struct filling_course *course)
{
    for (int i = course->period > 0 ? 0 : 1; i < course->count; i++) {
        const int before = i > 0 ? i - 1 : course->count - 1;
        const bool is_on = course->value[i] > 0;
        const char *word = is_on ? "on" : "off";
        if (is_on == (course->value[before] > 0)) {
            return draft_error(
                draft, node->place,
                "filling timer: '%s' at %.6g h follows '%s' at %.6g h with no '%s' between; "
                "give each time at which it opens one at which it shuts, or 'repeats: 0 h' where "
                "the last "
                "stays",
                word, course->time[i] / 3600.0, word, course->time[before] / 3600.0,
                is_on ? "off" : "on");
        }
    }
    return true;
}

/* On and off times as one course of 1 and 0. Before the first time of one that never repeats, the
 * opposite of what then comes holds. */
static bool merge(struct draft *draft, const struct tree *node, const struct timer_words *words,
                  struct filling_course *course)
{
    const int count = words->on.count + words->off.count;
    double *time = draft_take(draft, (size_t)count + 1, sizeof *time);
    double *value = draft_take(draft, (size_t)count + 1, sizeof *value);
    if (!time || !value) {
        return false;
    }
    int on = 0;
    int off = 0;
    while (on + off < count) {
        const int at = 1 + on + off;
        const bool is_on = off >= words->off.count ||
                           (on < words->on.count && words->on.value[on] < words->off.value[off]);
        time[at] = is_on ? words->on.value[on++] : words->off.value[off++];
        value[at] = is_on;
    }
    value[0] = 1 - value[1];
    const int begin = words->repeats > 0 || !(time[1] > 0) ? 1 : 0;
    *course = (struct filling_course){.count = count + 1 - begin,
                                      .time = time + begin,
                                      .value = value + begin,
                                      .period = words->repeats};
    return check_course(draft, node->place, "filling timer", course) &&
           check_turns(draft, node, course);
}

static bool is_pump(const struct draft *draft, int link)
{
    const struct filling_plan *plan = &draft->site->filling;
    for (int i = 0; i < plan->pump_count; i++) {
        if (plan->pumps[i].link == link) {
            return true;
        }
    }
    return false;
}

static bool read_timer(struct draft *draft, const struct tree *node, struct filling_timer *timer)
{
    struct timer_words words;
    const struct target targets[] = {{&filling_timer_section, &words}};
    if (!keys_read(&draft->reader, node, "filling timer", 1, targets)) {
        return false;
    }
    timer->link = find_link(draft, words.what);
    timer->place = node->place;
    if (timer->link < 0) {
        return !is_lost(draft, words.what) &&
               draft_error(draft, tree_find(node, "what")->place,
                           "filling timer: there is no outlet and no part '%.60s'", words.what);
    }
    const struct link *link = &draft->network->links[timer->link];
    const bool has_opening = words.at.count > 0 || words.to.count > 0;
    if (has_opening == (words.on.count > 0 || words.off.count > 0)) {
        return draft_error(draft, node->place,
                           "filling timer: either 'on' and 'off' or 'at' and 'to' are expected");
    }
    if (!has_opening) {
        timer->kind = is_pump(draft, timer->link) ? FILLING_TIMER_PUMP : FILLING_TIMER_PASSAGE;
        return merge(draft, node, &words, &timer->setting);
    }
    timer->kind = FILLING_TIMER_OPENING;
    return (link->element == &throttling_element ||
            draft_error(draft, node->place, "filling timer: '%s' is a %s and has no opening",
                        link->name, link->element->kind)) &&
           make_course(draft, node->place, "filling timer", &words.at, &words.to, words.repeats,
                       &timer->setting);
}

void read_filling_timers(struct draft *draft, const struct tree *node)
{
    struct filling_plan *plan = &draft->site->filling;
    if (!is_list(draft, node, "filling: timers", "{what: spray, on: 6 h, off: 6.5 h}")) {
        return;
    }
    struct filling_timer *timers = draft_take(draft, (size_t)node->count, sizeof *timers);
    plan->timers = timers;
    for (const struct tree *child = node->first; timers && child; child = child->next) {
        if (read_timer(draft, child, &timers[plan->timer_count])) {
            plan->timer_count++;
        }
    }
}

/* --- tariff --- */

struct tariff_words {
    struct numbers from, price;
};

#define FIELD(name) offsetof(struct tariff_words, name)
static const struct key tariff_keys[] = {
    {.name = "from",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(from),
     .quantity = QUANTITY_TIME,
     .is_required = true,
     .help = "times of the day, such as 7 23 h"},
    {.name = "price",
     .kind = KEY_QUANTITIES,
     .offset = FIELD(price),
     .quantity = QUANTITY_ENERGY_PRICE,
     .is_required = true,
     .help = "from each time on, such as 0.32 0.18 /kWh"},
};
#undef FIELD

const struct section filling_tariff_section = {"filling: tariff", "price of energy over the day",
                                               sizeof tariff_keys / sizeof *tariff_keys,
                                               tariff_keys};

void read_filling_tariff(struct draft *draft, const struct tree *node)
{
    static const double start[] = {0};
    struct tariff_words words;
    const struct target targets[] = {{&filling_tariff_section, &words}};
    struct filling_course *tariff = &draft->site->filling.tariff;
    if (!node) {
        const double *price = &draft->site->circumstances.energy_price;
        if (*price > 0) {
            *tariff = (struct filling_course){.count = 1, .time = start, .value = price};
        }
        return;
    }
    if (keys_read(&draft->reader, node, "filling: tariff", 1, targets) &&
        !make_course(draft, node->place, "filling: tariff", &words.from, &words.price, 86400,
                     tariff)) {
        tariff->count = 0; /* told */
    }
}
