#include "io/door/read_measured.h"

#include "io/door/lost.h"
#include "io/door/table.h"
#include "io/nearest.h"

#include <string.h>

struct measured_words {
    const char *file, *gauge;
};

#define FIELD(name) offsetof(struct measured_words, name)
static const struct key measured_keys[] = {
    {.name = "file",
     .kind = KEY_TEXT,
     .offset = FIELD(file),
     .is_required = true,
     .help = "a CSV with the columns 'time [s]', from the run's start, and 'head [m]'"},
    {.name = "gauge",
     .kind = KEY_TEXT,
     .offset = FIELD(gauge),
     .is_required = true,
     .help = "where it was measured, one of 'gauges'"},
};
#undef FIELD

const struct section measured_section = {"surge: measured", "heads measured at a gauge",
                                         sizeof measured_keys / sizeof *measured_keys,
                                         measured_keys};

static const char *gauge_name(const struct draft *draft, int gauge)
{
    const struct surge_plan *plan = &draft->site->surge;
    const int at = plan->gauges[gauge];
    return plan->gauge_is_link[gauge] ? draft->network->links[at].name
                                      : draft->network->points[at].name;
}

/* The index of a gauge, or -1 (told, unless its name was lost). */
static int find_gauge(struct draft *draft, const char *name, struct place place)
{
    struct nearest nearest;
    nearest_start(&nearest, name);
    for (int i = 0; i < draft->site->surge.gauge_count; i++) {
        if (strcmp(gauge_name(draft, i), name) == 0) {
            return i;
        }
        nearest_offer(&nearest, gauge_name(draft, i));
    }
    if (is_lost(draft, name)) {
        return -1;
    }
    (void)draft_error(draft, place, "surge: measured: '%.60s' is not among the gauges%s", name,
                      nearest_hint(&(struct hint){{0}}, nearest.found, ""));
    return -1;
}

/* Splits the rows; false: told. */
static bool take_rows(struct draft *draft, const char *path, const struct table *table,
                      struct measured_trace *trace)
{
    double *time = draft_take(draft, (size_t)table->row_count, sizeof *time);
    double *head = draft_take(draft, (size_t)table->row_count, sizeof *head);
    if (!time || !head) {
        return false;
    }
    for (int i = 0; i < table->row_count; i++) {
        time[i] = table->values[2 * (size_t)i];
        head[i] = table->values[2 * (size_t)i + 1];
        if (i > 0 && time[i] <= time[i - 1]) {
            return draft_error(draft, (struct place){path, table->lines[i], 1},
                               "surge: measured: times must rise; %.6g s follows %.6g s", time[i],
                               time[i - 1]);
        }
    }
    trace->count = table->row_count;
    trace->time = time;
    trace->head = head;
    return true;
}

void read_measured(struct draft *draft, const struct tree *node)
{
    static const struct column columns[] = {
        {"time", QUANTITY_TIME, false, PLAUSIBLE_BY_QUANTITY},
        {"head", QUANTITY_LENGTH, false, PLAUSIBLE_BY_QUANTITY}};
    struct measured_words words;
    const struct target targets[] = {{&measured_section, &words}};
    struct table table;
    if (!node || !keys_read(&draft->reader, node, "surge: measured", 1, targets)) {
        return;
    }
    struct measured_trace trace = {
        .gauge = find_gauge(draft, words.gauge, tree_find(node, "gauge")->place)};
    const struct place place = tree_find(node, "file")->place;
    const char *path = table_path(&draft->reader, draft->site->path, words.file, place);
    if (!path || !table_read(&draft->reader, path, 2, columns, &table) || trace.gauge < 0) {
        return; /* told */
    }
    if (table.row_count == 0) {
        (void)draft_error(draft, place, "surge: measured: '%.80s' has no rows", words.file);
    } else if (take_rows(draft, path, &table, &trace)) {
        draft->site->surge.measured = trace;
    }
}
